// SPDX-License-Identifier: Apache-2.0
// First-order spread by the adjoint (Director and Rohrer, "The generalized adjoint network and network sensitivities",
// IEEE Trans. Circuit Theory 16, 1969): how far a reading moves for each element's law moving is one transposed solve
// for the base circuit, corrected by the same low-rank updates as the reading itself. States are held. On a circuit of
// more than a thousand elements only those that matter to the reading at rest, or stand near the probes or the changes,
// are followed under a fault; the others keep the share they have at rest.
#include <algorithm>
#include <cmath>
#include <utility>

#include "electrical/fault_bench.h"

namespace halfsplit::electrical {

namespace {

using circuit::ElementKind;

constexpr std::uint32_t kNoPlace = 0xffffffffU;
constexpr std::size_t kWholeSpread = 1000;  // elements: up to here all are added up
constexpr std::size_t kWeighty = 24;
constexpr std::size_t kAround = 24;
constexpr std::size_t kAroundChange = 8;
constexpr std::size_t kCrossing = 8;
constexpr std::size_t kLayOutAfter = 4;  // readings of one fault, and as many more as it has changes

std::uint64_t key_of(const Functional& functional) {
  return functional.current ? 1ULL << 63U | functional.branch
                            : static_cast<std::uint64_t>(functional.red.value) << 32U | functional.black.value;
}

void sort_out(std::vector<std::uint32_t>& places) {
  std::sort(places.begin(), places.end());
  places.erase(std::unique(places.begin(), places.end()), places.end());
}

}  // namespace

void FaultBench::list_elements(const Tolerances& tolerance) {
  if (tolerance.same_as(tolerance_)) return;
  tolerance_ = tolerance;
  elements_ = {};
  ampere_at_rest_.clear();
  reach_volts_.clear();
  reach_unknown_.clear();
  flow_.clear();
  weighty_.clear();
  laid_out_ = {};
  spread_at_rest_.clear();
  for (auto& readings : at_rest_) readings.clear();
  elements_.place.assign(base_branches_, kNoPlace);
  for (std::size_t e = 0; e < base_branches_ && e < tolerance.size(); ++e) {
    if (tolerance[e] <= 0.0) continue;
    elements_.place[e] = static_cast<std::uint32_t>(elements_.branch.size());
    elements_.branch.push_back(static_cast<std::uint32_t>(e));
    elements_.third.push_back(tolerance[e] / 3.0);
  }
}

// The entries of the listed elements' currents, or of their laws: both stand in the same places.
FaultBench::Vector FaultBench::taken(const Vector& whole) const {
  Vector some(elements_.branch.size());
  for (std::size_t k = 0; k < some.size(); ++k) some[k] = whole[rest_.point().layout.current(elements_.branch[k])];
  return some;
}

// The difference of two nodes' volts as a sum of unknowns; a current from one to the other as a right-hand side.
FaultBench::Vector FaultBench::between(NodeId a, NodeId b) const {
  Vector sum(rest_.point().layout.size(), 0.0);
  if (!a.is_none()) sum[a.index()] += 1.0;
  if (!b.is_none()) sum[b.index()] -= 1.0;
  return sum;
}

const FaultBench::Vector& FaultBench::reach_of_volts(NodeId a, NodeId b) {
  const std::uint64_t key = static_cast<std::uint64_t>(a.value) << 32U | b.value;
  const auto found = reach_volts_.find(key);
  if (found != reach_volts_.end()) return found->second;
  Vector w = between(a, b);
  rest_.lu().solve_transposed(w);
  return reach_volts_.emplace(key, taken(w)).first->second;
}

const FaultBench::Vector& FaultBench::reach_of_unknown(std::size_t index) {
  const auto found = reach_unknown_.find(index);
  if (found != reach_unknown_.end()) return found->second;
  Vector w(rest_.point().layout.size(), 0.0);
  w[index] = 1.0;
  rest_.lu().solve_transposed(w);
  return reach_unknown_.emplace(index, taken(w)).first->second;
}

// The elements' currents in the response to an update's port.
FaultBench::Vector FaultBench::response_to(const Update& update) const {
  const Layout& layout = rest_.point().layout;
  const bool equation = update.kind == Update::Kind::kRow || update.kind == Update::Kind::kUntie;
  Vector z = equation ? Vector(layout.size(), 0.0) : between(update.a, update.b);
  if (update.kind == Update::Kind::kRow) z[layout.current(update.index)] = 1.0;
  if (update.kind == Update::Kind::kUntie) z[layout.tie(update.index)] = 1.0;
  rest_.lu().solve(z, 0);
  return taken(z);
}

const FaultBench::Vector& FaultBench::flow_of(const Update& update) {
  const auto found = flow_.find(update.port);
  if (found != flow_.end()) return found->second;
  return flow_.emplace(update.port, response_to(update)).first->second;
}

// How far the update's law moves for each element's law moving.
FaultBench::Vector FaultBench::reach_of_law(const Update& update) const {
  const Layout& layout = rest_.point().layout;
  Vector w(layout.size(), 0.0);
  const auto add = [&](NodeId node, double factor) {
    if (!node.is_none()) w[node.index()] += factor;
  };
  if (update.kind == Update::Kind::kUntie) {
    w[layout.tie(update.index)] = 1.0;
  } else {
    add(update.a, update.law.alpha);
    add(update.b, -update.law.alpha);
    if (update.law.kappa != 0.0) add(update.c, update.law.kappa);
    if (update.law.kappa != 0.0) add(update.d, -update.law.kappa);
    if (update.kind == Update::Kind::kRow) w[layout.current(update.index)] += update.law.beta;
  }
  rest_.lu().solve_transposed(w);
  return taken(w);
}

void FaultBench::add_reach(Vector& sum, double factor, const Update& update) {
  const auto add = [&](double scale, const Vector& w) {
    for (std::size_t i = 0; i < sum.size(); ++i) sum[i] += scale * w[i];
  };
  if (update.kind == Update::Kind::kUntie) return add(factor, reach_of_unknown(rest_.point().layout.tie(update.index)));
  if (update.law.alpha != 0.0) add(factor * update.law.alpha, reach_of_volts(update.a, update.b));
  if (update.law.kappa != 0.0) add(factor * update.law.kappa, reach_of_volts(update.c, update.d));
  if (update.kind == Update::Kind::kRow)
    add(factor * update.law.beta, reach_of_unknown(rest_.point().layout.current(update.index)));
}

const FaultBench::Vector& FaultBench::currents_at_rest() {
  if (ampere_at_rest_.size() != elements_.branch.size()) ampere_at_rest_ = taken(rest_.point().x);
  return ampere_at_rest_;
}

namespace {

// How far a law moves for its main value moving by its whole self: d law / d ln(value). `across`: of a ratio's control.
double slope_of(const Law& law, ElementKind kind, double ampere, double across) {
  if (!law.conducts()) return 0.0;
  switch (kind) {
    case ElementKind::kSource:
    case ElementKind::kDiode:
      return -law.gamma;
    case ElementKind::kRail:
      return law.gamma != 0.0 ? -law.gamma : ampere * law.beta;
    case ElementKind::kRatio:
      return law.kappa * across;
    default:
      return ampere * law.beta;
  }
}

}  // namespace

double FaultBench::law_slope(std::size_t index, double ampere) {
  const Branch& b = model_.branches[index];
  const bool noted = index < branch_noted_.size() && branch_noted_[index] != 0;
  const Law law = noted ? law_of(model_, states_, index) : rest_.point().laws[index];
  double across = 0.0;
  if (b.kind == ElementKind::kRatio) {
    across = rest_.point().volts(b.c) - rest_.point().volts(b.d);
    for (std::size_t j = 0; j < updates_.size(); ++j)
      across += coefficients_[j] * static_cast<double>(sparse::dot(rest_.across(b.c, b.d), updates_[j].port->left));
  }
  return slope_of(law, b.kind, ampere, across);
}

double FaultBench::move_at_rest(std::uint32_t place, double reach) {
  const std::size_t branch = elements_.branch[place];
  const Branch& b = model_.branches[branch];
  const double across = b.kind == ElementKind::kRatio ? rest_.point().volts(b.c) - rest_.point().volts(b.d) : 0.0;
  return reach * slope_of(rest_.point().laws[branch], b.kind, currents_at_rest()[place], across) *
         elements_.third[place];
}

// ---- on a whole vehicle: the elements that matter
// ------------------------------------------------------------------------------

// Up to `most` listed elements around a node, not across nodes where many meet.
void FaultBench::gather_around(NodeId node, std::size_t most, std::vector<std::uint32_t>& places) {
  if (node.is_none()) return;
  if (elements_.around_start.empty()) list_around();
  std::vector<std::uint32_t> nodes{node.value};
  const std::size_t limit = places.size() + most;
  for (std::size_t at = 0; at < nodes.size() && places.size() < limit; ++at) {
    const std::uint32_t begin = elements_.around_start[nodes[at]];
    const std::uint32_t end = elements_.around_start[nodes[at] + 1];
    if (end - begin > kCrossing && at > 0) continue;
    for (std::uint32_t k = begin; k < end && k - begin < kCrossing; ++k) {
      const std::uint32_t place = elements_.around[k];
      places.push_back(place);
      const Branch& b = model_.branches[elements_.branch[place]];
      for (const NodeId next : {b.a, b.b})
        if (std::find(nodes.begin(), nodes.end(), next.value) == nodes.end()) nodes.push_back(next.value);
    }
  }
}

void FaultBench::list_around() {
  elements_.around_start.assign(model_.nodes + 1, 0);
  const auto each = [&](auto use) {
    for (std::uint32_t place = 0; place < elements_.branch.size(); ++place) {
      const Branch& b = model_.branches[elements_.branch[place]];
      use(b.a.index(), place);
      if (b.b != b.a) use(b.b.index(), place);
    }
  };
  each([&](std::size_t node, std::uint32_t) { ++elements_.around_start[node + 1]; });
  for (std::size_t n = 0; n < model_.nodes; ++n) elements_.around_start[n + 1] += elements_.around_start[n];
  elements_.around.resize(elements_.around_start.back());
  std::vector<std::uint32_t> at(elements_.around_start.begin(), elements_.around_start.end() - 1);
  each([&](std::size_t node, std::uint32_t place) { elements_.around[at[node]++] = place; });
}

// Of one reading at rest: the elements that make most of its variance, and the variance of the others.
const FaultBench::Weighty& FaultBench::weighty(const Functional& functional) {
  const std::uint64_t key = key_of(functional);
  const auto found = weighty_.find(key);
  if (found != weighty_.end()) return found->second;
  Vector w = between(functional.red, functional.black);
  if (functional.current) {
    w.assign(w.size(), 0.0);
    w[rest_.point().layout.current(functional.branch)] = 1.0;
  }
  rest_.lu().solve_transposed(w);
  const Vector reach = taken(w);
  std::vector<std::pair<double, std::uint32_t>> parts;
  Weighty made;
  for (std::uint32_t place = 0; place < reach.size(); ++place) {
    const double move = move_at_rest(place, reach[place]);
    if (move == 0.0) continue;
    parts.emplace_back(move * move, place);
    made.rest_variance += move * move;
  }
  const std::size_t count = std::min(kWeighty, parts.size());
  std::partial_sort(
      parts.begin(), parts.begin() + static_cast<std::ptrdiff_t>(count), parts.end(),
      [](const auto& a, const auto& b) { return a.first != b.first ? a.first > b.first : a.second < b.second; });
  for (std::size_t k = 0; k < count; ++k) made.places.push_back(parts[k].second);
  if (!functional.current) {
    gather_around(functional.red, kAround, made.places);
    gather_around(functional.black, kAround, made.places);
  }
  sort_out(made.places);
  for (const std::uint32_t place : made.places) {
    const double move = move_at_rest(place, reach[place]);
    made.rest_variance -= move * move;
    made.reach.push_back(reach[place]);
  }
  made.rest_variance = std::max(0.0, made.rest_variance);
  if (!functional.current) {
    Vector z = between(functional.red, functional.black);
    rest_.lu().solve(z, 0);
    for (const std::uint32_t place : made.places)
      made.meter.push_back(z[rest_.point().layout.current(elements_.branch[place])]);
  }
  return weighty_.emplace(key, std::move(made)).first->second;
}

// The elements around the changes, a meter's aside: it stands where the reading has its own.
std::vector<std::uint32_t> FaultBench::places_near_changes(std::size_t changes) {
  std::vector<std::uint32_t> places;
  for (std::size_t i = 0; i < changes; ++i) {
    const Update& u = updates_[i];
    if (u.kind == Update::Kind::kRow && elements_.place[u.index] != kNoPlace)
      places.push_back(elements_.place[u.index]);
    gather_around(u.a, kAroundChange, places);
    gather_around(u.b, kAroundChange, places);
  }
  sort_out(places);
  return places;
}

// Of many readings of one fault each would ask for the same again: what every element's law does to the changes, and
// what the changes do to every element's current, is laid out then.
bool FaultBench::lay_out_changes(std::size_t changes) {
  const std::span<const Update> now = std::span(updates_).first(changes);
  if (std::equal(now.begin(), now.end(), laid_out_.updates.begin(), laid_out_.updates.end())) {
    if (!laid_out_.reach.empty() || changes == 0) return true;
  } else {
    laid_out_ = {};
    laid_out_.updates.assign(now.begin(), now.end());
    laid_out_.near = places_near_changes(changes);
  }
  if (++laid_out_.asked <= kLayOutAfter + changes) return false;
  for (std::size_t i = 0; i < changes; ++i) {
    laid_out_.reach.push_back(reach_of_law(updates_[i]));
    laid_out_.flow.push_back(response_to(updates_[i]));
  }
  return true;
}

// The elements that matter at rest and those around the probes and the changes; the others as at rest.
double FaultBench::spread_of_some(const Functional& functional, const std::vector<double>& q) {
  const Weighty& at_rest = weighty(functional);
  const OperatingPoint& rest = rest_.point();
  const std::size_t k = updates_.size();
  // The meter's own branch comes last, between the probes.
  const bool metered = k > 0 && !functional.current && updates_.back().kind == Update::Kind::kInjection &&
                       updates_.back().a == functional.red && updates_.back().b == functional.black &&
                       updates_.back().index + 1 == model_.branches.size();
  const std::size_t changes = metered ? k - 1 : k;
  const bool laid_out = lay_out_changes(changes);
  const sparse::Half& asked =
      functional.current ? rest_.current(functional.branch) : rest_.across(functional.red, functional.black);
  rough_rest_.add(asked, 1.0);
  if (!laid_out) {
    for (std::size_t i = 0; i < changes; ++i) {
      const Update& u = updates_[i];
      rough_flow_.add(u.port->left, coefficients_[i]);
      if (q[i] == 0.0) continue;
      if (u.kind == Update::Kind::kUntie) {
        rough_reach_.add(rest_.unknown(rest.layout.tie(u.index)), -q[i]);
        continue;
      }
      if (u.law.alpha != 0.0) rough_reach_.add(rest_.across(u.a, u.b), -q[i] * u.law.alpha);
      if (u.law.kappa != 0.0) rough_reach_.add(rest_.across(u.c, u.d), -q[i] * u.law.kappa);
      if (u.kind == Update::Kind::kRow) rough_reach_.add(rest_.current(u.index), -q[i] * u.law.beta);
    }
  }
  if (metered) rough_meter_.add(updates_.back().port->left, 1.0);
  const double own = metered ? 1.0 - q.back() * updates_.back().law.alpha : 1.0;
  double sum = at_rest.rest_variance;
  const double meter_ampere = metered ? coefficients_.back() : 0.0;
  const auto add = [&](std::uint32_t place, double base, double meter) {
    const std::size_t branch = elements_.branch[place];
    double reach = base * own;
    double ampere = rest.amperes(branch) + meter_ampere * meter;
    if (laid_out) {
      for (std::size_t i = 0; i < changes; ++i) {
        reach -= q[i] * laid_out_.reach[i][place];
        ampere += coefficients_[i] * laid_out_.flow[i][place];
      }
    } else if (changes > 0) {
      reach += rough_reach_.dot(rest_.row(branch).left);
      ampere += rough_flow_.dot(rest_.current(branch));
    }
    for (std::size_t i = 0; i < changes; ++i)
      if (updates_[i].kind == Update::Kind::kRow && updates_[i].index == branch) reach = q[i];
    if (reach == 0.0) return;
    const double move = reach * law_slope(branch, ampere) * elements_.third[place];
    sum += move * move;
  };
  for (std::size_t at = 0; at < at_rest.places.size(); ++at)
    add(at_rest.places[at], at_rest.reach[at], metered ? at_rest.meter[at] : 0.0);
  for (const std::uint32_t place : laid_out_.near) {
    if (std::binary_search(at_rest.places.begin(), at_rest.places.end(), place)) continue;
    const double base = rough_rest_.dot(rest_.row(elements_.branch[place]).left);
    const double move = move_at_rest(place, base);
    sum -= move * move;
    add(place, base, metered ? rough_meter_.dot(rest_.current(elements_.branch[place])) : 0.0);
  }
  for (sparse::RoughSpread* spread : {&rough_rest_, &rough_reach_, &rough_flow_, &rough_meter_}) spread->clear();
  return std::sqrt(std::max(0.0, sum));
}

// How far the reading moves for each update's response.
std::vector<long double> FaultBench::reach_of_updates(const Functional& functional) {
  std::vector<long double> reach;
  if (updates_.empty()) return reach;
  work_.clear();
  work_.add(functional.current ? rest_.current(functional.branch) : rest_.across(functional.red, functional.black),
            1.0);
  for (const Update& update : updates_) reach.push_back(work_.dot(update.port->left));
  work_.clear();
  return reach;
}

// ... and for each update's law moving.
FaultBench::Vector FaultBench::reach_unmixed(std::vector<long double> reach) {
  if (std::any_of(reach.begin(), reach.end(), [](long double x) { return x != 0.0L; })) unmix_transposed(reach);
  return {reach.begin(), reach.end()};
}

// The reading's move for one sigma of each listed element.
FaultBench::Vector FaultBench::move_each(const Functional& functional, const Vector& q) {
  const std::size_t k = updates_.size();
  Vector weight = functional.current ? reach_of_unknown(rest_.point().layout.current(functional.branch))
                                     : reach_of_volts(functional.red, functional.black);
  Vector ampere = currents_at_rest();
  for (std::size_t i = 0; i < k; ++i) {
    if (q[i] != 0.0) add_reach(weight, -q[i], updates_[i]);
    const Vector& flow = flow_of(updates_[i]);
    for (std::size_t e = 0; e < flow.size(); ++e) ampere[e] += coefficients_[i] * flow[e];
  }
  for (std::size_t i = 0; i < k; ++i)  // branches whose law was replaced answer through their update
    if (updates_[i].kind == Update::Kind::kRow && elements_.place[updates_[i].index] != kNoPlace)
      weight[elements_.place[updates_[i].index]] = q[i];
  for (std::size_t e = 0; e < weight.size(); ++e)
    if (weight[e] != 0.0) weight[e] *= law_slope(elements_.branch[e], ampere[e]) * elements_.third[e];
  return weight;
}

double FaultBench::spread(const Functional& functional, const Tolerances& tolerance) {
  list_elements(tolerance);
  std::vector<long double> reach = reach_of_updates(functional);
  if (unreached(reach)) return spread_at_rest(functional);
  return spread_reaching(functional, reach_unmixed(std::move(reach)));
}

double FaultBench::spread_reaching(const Functional& functional, const Vector& q) {
  if (elements_.branch.size() > kWholeSpread) {
    prepare();
    return spread_of_some(functional, q);
  }
  double sum = 0.0;
  for (const double move : move_each(functional, q)) sum += move * move;
  return std::sqrt(sum);
}

double FaultBench::spread_at_rest(const Functional& functional) {
  const auto [kept, fresh] = spread_at_rest_.try_emplace(key_of(functional), 0.0);
  if (!fresh) return kept->second;
  double sum = 0.0;
  const auto add = [&](std::uint32_t place, double reach) {
    const double move = move_at_rest(place, reach);
    sum += move * move;
  };
  if (elements_.branch.size() > kWholeSpread) {
    const Weighty& at_rest = weighty(functional);
    sum = at_rest.rest_variance;
    for (std::size_t k = 0; k < at_rest.places.size(); ++k) add(at_rest.places[k], at_rest.reach[k]);
  } else {
    const Vector& reach = functional.current ? reach_of_unknown(rest_.point().layout.current(functional.branch))
                                             : reach_of_volts(functional.red, functional.black);
    for (std::uint32_t place = 0; place < reach.size(); ++place) add(place, reach[place]);
  }
  return kept->second = std::sqrt(sum);
}

std::vector<double> FaultBench::moves(const Functional& functional, const Tolerances& tolerance) {
  if (own_) return own_->moves(functional, tolerance);
  if (fault_status_ != Status::kSettled) return {};
  prepare();
  list_elements(tolerance);
  return move_each(functional, reach_unmixed(reach_of_updates(functional)));
}

}  // namespace halfsplit::electrical
