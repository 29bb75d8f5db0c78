// SPDX-License-Identifier: Apache-2.0
// Low-rank updates in branch-current form. With base A x = b and z = A^-1 u for an update direction u, the changed
// circuit has x' = x + sum of c_j z_j, and the c_j follow from the changed laws holding at x' (Sherman and Morrison
// 1950; Woodbury 1950; for circuits: Temes 1977). The law is evaluated at x' directly - an open asks for I' = 0, where
// z gives the current per volt put in series - so nothing cancels when a near-bridge opens. Of z only the entries that
// are asked for are worked out (sparse/half_solver.h). Islands come from the graph: a part cut off gets a tie, a part
// joined on loses its own.
#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "electrical/fault_bench.h"
#include "sparse/dense.h"

namespace halfsplit::electrical {

namespace {

constexpr std::size_t kMostUpdates = 320;
// On the way up from off, and with a meter in, whose spread is asked as well: a factorisation is cheaper there.
constexpr std::size_t kMostGoingOn = 96;
// Measured (tests/oracle/accuracy.test.cpp, pairs of faults, 7.5e5 values): 1e-10 lets 5.6e-6 V through, 1e-8 4e-7 V,
// 1e-7 6e-8 V, and none of them sends more than 1.4 % of the single faults of random looms to a factorisation of their
// own.
constexpr long double kPivotFloor = 1.0e-7L;
constexpr std::uint32_t kNoFilament = 0xffffffffU;
constexpr std::size_t kManyFilaments = 24;
constexpr std::size_t kMostFilaments = 512;  // 13 MB of what they see of one another
constexpr double kFarAllowed = 0.5;          // of the margin of a state that is not looked at

}  // namespace

bool FaultBench::solve_updates() {
  collect_updates();
  // Asked again with nothing moved: as it is.
  if (updates_ != solved_ || updates_.empty()) {
    solved_.clear();
    if (updates_.size() > (goes_on_ ? kMostGoingOn : kMostUpdates) || !factor_updates() || !solve_coefficients())
      return false;
    sum_up();
    solved_ = updates_;
  }
  least_volt_ = least_ampere_ = -1.0;
  if (only_nearby_) return true;
  do {
    if (!follow_carried()) return false;
    if (all_noted_) continue;
    moved_.clear();
    rest_.watches().move(sum_, watch_noted_, kFarAllowed, moved_);
    for (const std::uint32_t w : moved_) note_watch(w);
  } while (wake_lamps());
  return true;
}

// ---- which laws differ from the base, and what that does to the islands
// --------------------------------------------------------

void FaultBench::add_update(Update::Kind kind, std::size_t index, const Law& law) {
  Update update;
  update.kind = kind;
  update.index = index;
  update.law = law;
  switch (kind) {
    case Update::Kind::kRow:
    case Update::Kind::kInjection: {
      const Branch& b = model_.branches[index];
      update.a = b.a;
      update.b = b.b;
      update.c = b.c;
      update.d = b.d;
      update.port = kind == Update::Kind::kRow ? &rest_.row(index) : &rest_.injection(b.a, b.b);
      break;
    }
    case Update::Kind::kTie:
      update.a = NodeId(index);
      update.port = &rest_.tie(update.a);
      break;
    case Update::Kind::kUntie:
      update.port = &rest_.untie(index);
  }
  if (!all_noted_)
    for (const std::uint32_t w : update.port->near) note_watch(w);
  updates_.push_back(update);
}

void FaultBench::compare_branch(std::size_t branch) {
  // A filament where it was: its tangent at rest stands, to the hair by which the last round moved it.
  const Branch& b = model_.branches[branch];
  if (b.kind == circuit::ElementKind::kLamp && states_.lamp_v[branch] == rest_.point().states.lamp_v[branch] &&
      !is_patched(branch))
    return;
  const Law law = law_of(model_, states_, branch);
  const Law& base = rest_.point().laws[branch];
  if (law == base) return;
  add_update(Update::Kind::kRow, branch, law);
  if (law.conducts() == base.conducts()) return;
  if (law.conducts())
    joined_.emplace_back(model_.branches[branch].a, model_.branches[branch].b);
  else
    opened_.push_back(branch);
}

void FaultBench::collect_updates() {
  updates_.clear();
  opened_.clear();
  joined_.clear();
  for (std::size_t k = 0; k < noted_branches_.size(); ++k) compare_branch(noted_branches_[k]);  // the list may grow
  bool across = !opened_.empty() || !joined_.empty();
  for (std::size_t i = base_branches_; i < model_.branches.size(); ++i) {
    const Law law = law_of(model_, states_, i);
    const Branch& b = model_.branches[i];
    if (!law.conducts() && !b.source) continue;
    if (b.a != b.b) add_update(Update::Kind::kInjection, i, law);
    if (!law.conducts()) continue;
    joined_.emplace_back(b.a, b.b);
    across = across || !rest_.point().together(b.a, b.b);
  }
  if (!across) {
    pieces_.reset();
    opened_before_.clear();
    joined_before_.clear();
    return;
  }
  part_islands();
  for (const NodeId node : pieces_->tie_at()) add_update(Update::Kind::kTie, node.index(), {1.0, 0.0, 0.0, 0.0});
  for (const std::size_t t : pieces_->untie()) add_update(Update::Kind::kUntie, t, {0.0, 0.0, 1.0, 0.0});
}

void FaultBench::part_islands() {
  if (pieces_ && opened_ == opened_before_ && joined_ == joined_before_) return;
  opened_before_ = opened_;
  joined_before_ = joined_;
  pieces_.emplace(rest_.tree(), model_, opened_, joined_, rest_.point().layout.ties, rest_.tie_of_island());
  note_parted();
}

// States that ask whether two nodes are on one island, where the answer may have changed: one of the two hangs on a
// cut.
void FaultBench::note_parted() {
  if (all_noted_) return;
  const CutTree& tree = rest_.tree();
  const std::vector<Watch>& all = rest_.watches().all();
  std::vector<std::uint32_t> asking;
  for (const NodeId cut : pieces_->cuts()) {
    const auto before = [](const auto& end, std::uint32_t place) { return end.first < place; };
    auto end = std::lower_bound(watch_ends_.begin(), watch_ends_.end(), tree.place(cut), before);
    for (; end != watch_ends_.end() && end->first <= tree.last_below(cut); ++end) {
      const Watch& watch = all[end->second];
      if (!tree.hangs_on(watch.a, cut) || !tree.hangs_on(watch.b, cut)) asking.push_back(end->second);
    }
  }
  std::sort(asking.begin(), asking.end());
  if (!joined_.empty())
    for (const std::uint32_t w : apart_) note_watch(w);
  for (const std::uint32_t w : asking) note_watch(w);
}

// ---- the small system
// ----------------------------------------------------------------------------------------------------------

// The law's left side, of what it sees: see(where in Seen) gives the volts across it, across its control, its current.
template <class See>
long double FaultBench::law_of_seen(const Update& update, See see) {
  if (update.kind == Update::Kind::kUntie) return see(&Seen::current);
  long double value = 0.0L;
  if (update.law.alpha != 0.0) value += update.law.alpha * see(&Seen::across);
  if (update.law.kappa != 0.0) value += update.law.kappa * see(&Seen::control);
  if (update.kind == Update::Kind::kRow) value += update.law.beta * see(&Seen::current);
  return value;
}

const sparse::Half& FaultBench::half_of(const Update& update, long double Seen::*what) {
  if (update.kind == Update::Kind::kUntie) return rest_.unknown(rest_.point().layout.tie(update.index));
  if (what == &Seen::across) return rest_.across(update.a, update.b);
  return what == &Seen::control ? rest_.across(update.c, update.d) : rest_.current(update.index);
}

long double FaultBench::law_on(const Update& update, const sparse::Spread& response) {
  return law_of_seen(update, [&](long double Seen::*what) { return response.dot(half_of(update, what)); });
}

// As law_on, of another update's response, which is laid out in full only for what was not asked before.
long double FaultBench::law_seen(const Update& update, const Update& response, Seen& seen, bool& spread) {
  return law_of_seen(update, [&](long double Seen::*what) {
    if (std::isnan(seen.*what)) {
      if (!spread) {
        work_.clear();
        work_.add(response.port->left, 1.0);
        spread = true;
      }
      seen.*what = work_.dot(half_of(update, what));
    }
    return seen.*what;
  });
}

double FaultBench::law_at_rest(const Update& update) const {
  const OperatingPoint& rest = rest_.point();
  if (update.kind == Update::Kind::kUntie) return rest.x[rest.layout.tie(update.index)];
  double value = 0.0;
  if (update.law.alpha != 0.0) value += update.law.alpha * (rest.volts(update.a) - rest.volts(update.b));
  if (update.law.kappa != 0.0) value += update.law.kappa * (rest.volts(update.c) - rest.volts(update.d));
  if (update.kind == Update::Kind::kRow) value += update.law.beta * rest.amperes(update.index);
  return value;
}

// Takes over from the last small system what the two have in common.
void FaultBench::remember_seen() {
  const std::size_t k = updates_.size();
  const std::size_t before = seen_.updates.size();
  std::vector<std::size_t> place(k, before);
  bool in_step = k == before;
  for (std::size_t i = 0; i < k; ++i) {
    std::size_t at = i < before && updates_[i].stands_where(seen_.updates[i]) ? i : 0;
    while (at < before && !updates_[i].stands_where(seen_.updates[at])) ++at;
    place[i] = at;
    in_step = in_step && at == i;
  }
  if (in_step) return;
  constexpr long double kNotAsked = std::numeric_limits<long double>::quiet_NaN();
  std::vector<Seen> seen(k * k, {kNotAsked, kNotAsked, kNotAsked});
  for (std::size_t i = 0; i < k; ++i)
    for (std::size_t j = 0; j < k && place[i] < before; ++j)
      if (place[j] < before) seen[i * k + j] = seen_.seen[place[i] * before + place[j]];
  seen_ = {updates_, std::move(seen)};
}

// Which of the circuit's filaments each update is, where many are: what these see of one another is kept from fault to
// fault.
std::vector<std::uint32_t> FaultBench::filaments_updated() {
  std::vector<std::uint32_t> filament(updates_.size(), kNoFilament);
  if (updates_.size() < kManyFilaments || filaments_ > kMostFilaments) return filament;
  std::size_t count = 0;
  for (std::size_t i = 0; i < updates_.size(); ++i) {
    if (updates_[i].kind != Update::Kind::kRow) continue;
    filament[i] = filament_of_[updates_[i].index];
    count += filament[i] != kNoFilament ? 1 : 0;
  }
  if (count < kManyFilaments) {
    filament.assign(updates_.size(), kNoFilament);
  } else if (seen_by_filaments_.empty()) {
    constexpr long double kNotAsked = std::numeric_limits<long double>::quiet_NaN();
    seen_by_filaments_.assign(filaments_ * filaments_, {kNotAsked, kNotAsked, kNotAsked});
  }
  return filament;
}

bool FaultBench::factor_updates() {
  const std::size_t k = updates_.size();
  ++counts_.updates;
  inverse_.clear();
  unmixed_ = 0;
  if (k == 0) return true;
  std::vector<long double> laws(k * k);
  remember_seen();
  const std::vector<std::uint32_t> filament = filaments_updated();
  const auto seen = [&](std::size_t i, std::size_t j) -> Seen& {
    if (filament[i] == kNoFilament || filament[j] == kNoFilament) return seen_.seen[i * k + j];
    return seen_by_filaments_[filament[i] * filaments_ + filament[j]];
  };
  for (std::size_t j = 0; j < k; ++j) {
    bool spread = false;
    for (std::size_t i = 0; i < k; ++i) laws[i * k + j] = law_seen(updates_[i], updates_[j], seen(i, j), spread);
    if (updates_[j].kind == Update::Kind::kInjection) laws[j * k + j] -= updates_[j].law.beta;
  }
  work_.clear();
  return small_.factor(std::move(laws), k, kPivotFloor);
}

bool FaultBench::solve_coefficients() {
  const std::size_t k = updates_.size();
  coefficients_.assign(k, 0.0);
  if (k == 0) return true;
  std::vector<long double> rest(k);
  for (std::size_t j = 0; j < k; ++j) {
    rest[j] = static_cast<long double>(updates_[j].law.gamma) - law_at_rest(updates_[j]);
    if (!carried_.empty()) rest[j] -= law_on(updates_[j], carried_sum_);
  }
  small_.solve(rest);
  for (std::size_t i = 0; i < k; ++i) coefficients_[i] = static_cast<double>(rest[i]);
  return std::all_of(coefficients_.begin(), coefficients_.end(), [](double c) { return std::isfinite(c); });
}

// Of the small system; worked out when a meter or a spread first asks.
const std::vector<long double>& FaultBench::inverse() {
  if (inverse_.empty() && !updates_.empty()) inverse_ = small_.inverse();
  return inverse_;
}

// The inverse is as many solves as there are updates, and then each of these is several times as quick.
bool FaultBench::by_inverse() {
  if (inverse_.empty() && 2 * ++unmixed_ <= updates_.size()) return false;
  static_cast<void>(inverse());
  return true;
}

void FaultBench::unmix(std::vector<long double>& x) {
  if (!by_inverse()) return small_.solve(x);
  const std::size_t k = x.size();
  const std::vector<long double> from = std::exchange(x, std::vector<long double>(k, 0.0L));
  for (std::size_t i = 0; i < k; ++i)
    for (std::size_t j = 0; j < k && from[i] != 0.0L; ++j) x[j] += inverse_[j * k + i] * from[i];
}

void FaultBench::unmix_transposed(std::vector<long double>& x) {
  if (!by_inverse()) return small_.solve_transposed(x);
  const std::size_t k = x.size();
  const std::vector<long double> from = std::exchange(x, std::vector<long double>(k, 0.0L));
  for (std::size_t j = 0; j < k; ++j)
    for (std::size_t i = 0; i < k && from[j] != 0.0L; ++i) x[i] += from[j] * inverse_[j * k + i];
}

void FaultBench::sum_up() {
  sum_.clear();
  for (const Carried& c : carried_) sum_.add(rest_.row(c.branch).left, c.source);
  for (std::size_t j = 0; j < updates_.size(); ++j) sum_.add(updates_[j].port->left, coefficients_[j]);
}

}  // namespace halfsplit::electrical
