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

}  // namespace

void FaultBench::list_elements(const std::vector<double>& tolerance) {
  if (tolerance == tolerance_) return;
  tolerance_ = tolerance;
  elements_ = {};
  ampere_at_rest_.clear();
  reach_volts_.clear();
  reach_unknown_.clear();
  flow_.clear();
  weighty_.clear();
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

const FaultBench::Vector& FaultBench::reach_of_volts(NodeId a, NodeId b) {
  const std::uint64_t key = static_cast<std::uint64_t>(a.value) << 32U | b.value;
  const auto found = reach_volts_.find(key);
  if (found != reach_volts_.end()) return found->second;
  Vector w(rest_.point().layout.size(), 0.0);
  if (!a.is_none()) w[a.index()] += 1.0;
  if (!b.is_none()) w[b.index()] -= 1.0;
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
const FaultBench::Vector& FaultBench::flow_of(const Update& update) {
  const auto found = flow_.find(update.port);
  if (found != flow_.end()) return found->second;
  const Layout& layout = rest_.point().layout;
  Vector z(layout.size(), 0.0);
  switch (update.kind) {
    case Update::Kind::kRow:
      z[layout.current(update.index)] = 1.0;
      break;
    case Update::Kind::kUntie:
      z[layout.tie(update.index)] = 1.0;
      break;
    default:
      z[update.a.index()] += 1.0;
      if (!update.b.is_none()) z[update.b.index()] -= 1.0;
  }
  rest_.lu().solve(z, 0);
  return flow_.emplace(update.port, taken(z)).first->second;
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

// How far the branch's law moves for its main value moving by its whole self: d law / d ln(value).
double FaultBench::law_slope(std::size_t index, double ampere) {
  const Branch& b = model_.branches[index];
  const bool noted = index < branch_noted_.size() && branch_noted_[index] != 0;
  const Law law = noted ? law_of(model_, states_, index) : rest_.point().laws[index];
  if (!law.conducts()) return 0.0;
  switch (b.kind) {
    case ElementKind::kSource:
    case ElementKind::kDiode:
      return -b.volt;
    case ElementKind::kRail:
      return states_.alive[b.module.index()] != 0 ? -b.volt : -ampere;
    case ElementKind::kRatio: {
      double across = rest_.point().volts(b.c) - rest_.point().volts(b.d);
      for (std::size_t j = 0; j < updates_.size(); ++j)
        across += coefficients_[j] * static_cast<double>(sparse::dot(rest_.across(b.c, b.d), updates_[j].port->left));
      return -b.share * across;
    }
    case ElementKind::kLamp:
      return -ampere;
    default:
      return ampere * law.beta;
  }
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
  const std::uint64_t key = functional.current
                                ? 1ULL << 63U | functional.branch
                                : static_cast<std::uint64_t>(functional.red.value) << 31U | functional.black.value;
  const auto found = weighty_.find(key);
  if (found != weighty_.end()) return found->second;
  Vector w(rest_.point().layout.size(), 0.0);
  if (functional.current) {
    w[rest_.point().layout.current(functional.branch)] = 1.0;
  } else {
    if (!functional.red.is_none()) w[functional.red.index()] += 1.0;
    if (!functional.black.is_none()) w[functional.black.index()] -= 1.0;
  }
  rest_.lu().solve_transposed(w);
  const Vector reach = taken(w);
  const Vector& ampere = currents_at_rest();
  std::vector<std::pair<double, std::uint32_t>> parts;
  Weighty made;
  for (std::uint32_t place = 0; place < reach.size(); ++place) {
    const double move = reach[place] * law_slope(elements_.branch[place], ampere[place]) * elements_.third[place];
    if (move == 0.0) continue;
    parts.emplace_back(move * move, place);
    made.rest_variance += move * move;
  }
  const std::size_t count = std::min(kWeighty, parts.size());
  std::partial_sort(
      parts.begin(), parts.begin() + static_cast<std::ptrdiff_t>(count), parts.end(),
      [](const auto& a, const auto& b) { return a.first != b.first ? a.first > b.first : a.second < b.second; });
  for (std::size_t k = 0; k < count; ++k) {
    made.places.push_back(parts[k].second);
    made.rest_variance = std::max(0.0, made.rest_variance - parts[k].first);
  }
  if (!functional.current) {
    gather_around(functional.red, kAround, made.places);
    gather_around(functional.black, kAround, made.places);
  }
  return weighty_.emplace(key, std::move(made)).first->second;
}

// The elements that matter at rest and those around the probes and the changes, each by halves; the others as at rest.
double FaultBench::spread_of_some(const Functional& functional, const std::vector<double>& q) {
  const Weighty& at_rest = weighty(functional);
  std::vector<std::uint32_t> places = at_rest.places;
  for (const Update& u : updates_) {
    if (u.kind == Update::Kind::kRow && elements_.place[u.index] != kNoPlace)
      places.push_back(elements_.place[u.index]);
    gather_around(u.a, kAroundChange, places);
    gather_around(u.b, kAroundChange, places);
  }
  std::sort(places.begin(), places.end());
  places.erase(std::unique(places.begin(), places.end()), places.end());
  const OperatingPoint& rest = rest_.point();
  work_.clear();
  work_.add(functional.current ? rest_.current(functional.branch) : rest_.across(functional.red, functional.black),
            1.0L);
  flow_sum_.clear();
  for (std::size_t i = 0; i < updates_.size(); ++i) {
    const Update& u = updates_[i];
    flow_sum_.add(u.port->left, coefficients_[i]);
    if (q[i] == 0.0) continue;
    if (u.kind == Update::Kind::kUntie) {
      work_.add(rest_.unknown(rest.layout.tie(u.index)), -q[i]);
      continue;
    }
    if (u.law.alpha != 0.0) work_.add(rest_.across(u.a, u.b), -q[i] * u.law.alpha);
    if (u.law.kappa != 0.0) work_.add(rest_.across(u.c, u.d), -q[i] * u.law.kappa);
    if (u.kind == Update::Kind::kRow) work_.add(rest_.current(u.index), -q[i] * u.law.beta);
  }
  double sum = at_rest.rest_variance;
  for (const std::uint32_t place : places) {
    const std::size_t branch = elements_.branch[place];
    double reach = 0.0;
    bool replaced = false;
    for (std::size_t i = 0; i < updates_.size(); ++i)
      if (updates_[i].kind == Update::Kind::kRow && updates_[i].index == branch) {
        reach = q[i];
        replaced = true;
      }
    if (!replaced) reach = static_cast<double>(work_.dot(rest_.row(branch).left));
    if (reach == 0.0) continue;
    const double ampere = rest.amperes(branch) + static_cast<double>(flow_sum_.dot(rest_.current(branch)));
    const double move = reach * law_slope(branch, ampere) * elements_.third[place];
    sum += move * move;
  }
  work_.clear();
  flow_sum_.clear();
  return std::sqrt(sum);
}

double FaultBench::spread(const Functional& functional, const std::vector<double>& tolerance) {
  list_elements(tolerance);
  const std::size_t k = updates_.size();
  const Layout& layout = rest_.point().layout;
  const bool whole = elements_.branch.size() <= kWholeSpread;
  Vector weight;
  if (whole)
    weight = functional.current ? reach_of_unknown(layout.current(functional.branch))
                                : reach_of_volts(functional.red, functional.black);
  std::vector<double> q(k, 0.0);
  if (k > 0) {
    const std::vector<long double>& inverse = this->inverse();
    work_.clear();
    work_.add(functional.current ? rest_.current(functional.branch) : rest_.across(functional.red, functional.black),
              1.0);
    for (std::size_t j = 0; j < k; ++j) {
      const auto reach = static_cast<double>(work_.dot(updates_[j].port->left));
      if (reach == 0.0) continue;
      for (std::size_t i = 0; i < k; ++i) q[i] += reach * static_cast<double>(inverse[j * k + i]);
    }
    work_.clear();
  }
  if (!whole) {
    prepare();
    return spread_of_some(functional, q);
  }
  Vector ampere = currents_at_rest();
  for (std::size_t i = 0; i < k; ++i) {
    if (q[i] != 0.0) add_reach(weight, -q[i], updates_[i]);
    const Vector& flow = flow_of(updates_[i]);
    for (std::size_t e = 0; e < flow.size(); ++e) ampere[e] += coefficients_[i] * flow[e];
  }
  for (std::size_t i = 0; i < k; ++i)  // branches whose law was replaced answer through their update
    if (updates_[i].kind == Update::Kind::kRow && elements_.place[updates_[i].index] != kNoPlace)
      weight[elements_.place[updates_[i].index]] = q[i];
  double sum = 0.0;
  for (std::size_t e = 0; e < weight.size(); ++e) {
    if (weight[e] == 0.0) continue;
    const double move = weight[e] * law_slope(elements_.branch[e], ampere[e]) * elements_.third[e];
    sum += move * move;
  }
  return std::sqrt(sum);
}

}  // namespace halfsplit::electrical
