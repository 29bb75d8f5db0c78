// SPDX-License-Identifier: Apache-2.0
// Low-rank updates in branch-current form. With base A x = b and z = A^-1 u for an update direction u, the changed
// circuit has x' = x + sum of c_j z_j, and the c_j follow from the changed laws holding at x' (Sherman and Morrison
// 1950; Woodbury 1950; for circuits: Temes 1977). The law is evaluated at x' directly - an open asks for I' = 0, where
// z gives the current per volt put in series - so nothing cancels when a near-bridge opens. Islands come from the
// graph: a part cut off gets a tie, a part joined on loses its own.
#include "electrical/fault_bench.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "base/check.h"
#include "sparse/dense.h"

namespace halfsplit::electrical {

namespace {

using circuit::ElementKind;

constexpr std::size_t kMostUpdates = 48;
// Measured (tests/oracle/accuracy.test.cpp, pairs of faults, 7.5e5 values): 1e-10 lets 5.6e-6 V through, 1e-8 4e-7 V,
// 1e-7 6e-8 V, and none of them sends more than 1.4 % of the single faults of random looms to a factorisation of their
// own.
constexpr long double kPivotFloor = 1.0e-7L;
constexpr std::size_t kMostTopologies = 4096;
constexpr int kFastRounds = 60;
constexpr int kOneAtATime = 10;
constexpr int kMiddleRounds = 30;
constexpr int kLastRounds = 20;

bool law_moves(ElementKind kind) {
  switch (kind) {
    case ElementKind::kRelayContact:
    case ElementKind::kDiode:
    case ElementKind::kLamp:
    case ElementKind::kFuse:
    case ElementKind::kDriver:
    case ElementKind::kRatio:
    case ElementKind::kRail:
      return true;
    default:
      return false;
  }
}

double at(const std::vector<double>& z, NodeId node) { return node.is_none() ? 0.0 : z[node.index()]; }

}  // namespace

// The changed solution, asked entry by entry.
class FaultBench::View final : public Solution {
 public:
  explicit View(const FaultBench& bench) : bench_(bench) {}
  [[nodiscard]] double volts(NodeId node) const override {
    if (node.is_none()) return 0.0;
    double v = bench_.base_.x[node.index()];
    for (std::size_t j = 0; j < bench_.updates_.size(); ++j)
      v += bench_.coefficients_[j] * (*bench_.updates_[j].response)[node.index()];
    return v;
  }
  [[nodiscard]] double amperes(std::size_t branch) const override {
    if (branch >= bench_.base_branches_) {
      for (std::size_t j = 0; j < bench_.updates_.size(); ++j)
        if (bench_.updates_[j].kind == Update::Kind::kInjection && bench_.updates_[j].index == branch)
          return -bench_.coefficients_[j];
      return 0.0;
    }
    const std::size_t k = bench_.base_.layout.current(branch);
    double i = bench_.base_.x[k];
    for (std::size_t j = 0; j < bench_.updates_.size(); ++j)
      i += bench_.coefficients_[j] * (*bench_.updates_[j].response)[k];
    return i;
  }
  [[nodiscard]] bool together(NodeId a, NodeId b) const override {
    return bench_.topology_ != nullptr ? bench_.topology_->islands.together(a, b) : bench_.base_.islands.together(a, b);
  }

 private:
  const FaultBench& bench_;
};

FaultBench::FaultBench(Model model, double system_volts)
    : model_(std::move(model)),
      system_volts_(system_volts),
      base_branches_(model_.branches.size()),
      stateful_(find_stateful(model_)) {
  for (std::size_t i = 0; i < base_branches_; ++i)
    if (law_moves(model_.branches[i].kind)) movable_.push_back(i);
  base_ = solve_operating_point(model_, std::nullopt, &lu_);
  // The last round of a settled solve moved no state, but its filaments' tangents may have moved by a hair: the base
  // laws are those that the factors hold.
  states_ = base_.states;
  saved_dead_ = model_.dead;
  fault_status_ = base_.status;
}

FaultBench::~FaultBench() = default;

void FaultBench::restore() {
  for (auto entry = saved_.rbegin(); entry != saved_.rend(); ++entry) model_.branches[entry->first] = entry->second;
  saved_.clear();
  model_.branches.resize(base_branches_);
  model_.dead = saved_dead_;
  states_ = base_.states;
  updates_.clear();
  coefficients_.clear();
  inverse_.clear();
  topology_ = nullptr;
  own_.reset();
  fault_status_ = base_.status;
}

void FaultBench::clear() { restore(); }

void FaultBench::put_fault(const std::vector<fault::Change>& changes) {
  restore();
  for (const fault::Change& change : changes)
    if (!change.element.is_none())
      saved_.emplace_back(change.element.index(), model_.branches.at(change.element.index()));
  apply_changes(model_, changes);
  if (base_.status != Status::kSettled) return fall_back();
  states_.on.resize(model_.branches.size(), 0);
  states_.tripped.resize(model_.branches.size(), 0);
  states_.lamp_v.resize(model_.branches.size(), 0.0);
  make_whole();
  if (settle_surely()) return;
  fall_back();
}

bool FaultBench::settle_surely() {
  return settle() && !undecided_state(model_, stateful_, View(*this)) && !holds_itself();
}

// A relay may hold its own coil through its own contact (also by way of the module that it feeds), a driver its own
// module's supply: in use it stays, from power-up it never comes. Each is let go once; what would not come again held
// itself.
bool FaultBench::holds_itself() {
  const States before = states_;
  bool held = false;
  bool looked = false;
  const auto let_go = [&](NodeId a, NodeId b, double comes_at) {
    looked = true;
    held = !solve_updates();
    const View view(*this);
    held = held || !view.together(a, b) || std::abs(view.volts(a) - view.volts(b)) < comes_at;
    states_ = before;
  };
  for (const std::size_t i : stateful_.middle) {
    const Branch& b = model_.branches[i];
    if (held || b.kind != ElementKind::kRelayCoil || before.on[i] == 0) continue;
    states_.on[i] = 0;
    let_go(b.a, b.b, b.volt);
  }
  for (std::size_t m = 0; m < before.alive.size(); ++m) {
    if (held || before.alive[m] == 0 || !stop_drivers(circuit::ModuleId(m))) continue;
    const circuit::ModuleWiring& wiring = (*model_.modules)[m];
    states_.alive[m] = 0;
    let_go(wiring.supply, wiring.ground, wiring.alive_above_v);
  }
  return held || (looked && !solve_updates());
}

// False when none was on.
bool FaultBench::stop_drivers(circuit::ModuleId module) {
  bool any = false;
  for (const std::size_t i : stateful_.middle) {
    if (model_.branches[i].kind != ElementKind::kDriver || model_.branches[i].module != module || states_.on[i] == 0)
      continue;
    states_.on[i] = 0;
    any = true;
  }
  return any;
}

// What switched off for good in one circuit need not have done so in the next.
void FaultBench::make_whole() {
  for (const std::size_t i : stateful_.last) {
    if (model_.branches[i].kind == ElementKind::kFuse) states_.on[i] = 1;
    states_.tripped[i] = 0;
  }
}

void FaultBench::fall_back() {
  ++counts_.refactored;
  updates_.clear();
  coefficients_.clear();
  topology_ = nullptr;
  own_ = std::make_unique<FaultBench>(model_, system_volts_);
  fault_status_ = own_->status();
}

// ---- settling: the order of states.h
// ------------------------------------------------------------------------------------

bool FaultBench::settle() {
  for (int last = 0; last < kLastRounds; ++last) {
    if (!settle_middle()) return false;
    if (!move_last(model_, stateful_, View(*this), states_)) return true;
  }
  return false;
}

bool FaultBench::settle_middle() {
  for (int round = 0; round < kMiddleRounds; ++round) {
    if (!settle_fast()) return false;
    if (!move_middle(model_, stateful_, View(*this), states_)) return true;
    if (undecided_state(model_, stateful_, View(*this))) return false;
  }
  return false;
}

bool FaultBench::settle_fast() {
  for (int round = 0; round < kFastRounds; ++round) {
    if (!solve_updates()) return false;
    if (!move_fast(model_, stateful_, View(*this), states_, round > kOneAtATime)) return true;
  }
  return false;
}

bool FaultBench::solve_updates() {
  collect_updates();
  return updates_.size() <= kMostUpdates && update_coefficients();
}

// ---- which laws differ from the base, and what that does to the islands
// ---------------------------------------------------

void FaultBench::add_update(Update::Kind kind, std::size_t index, const Law& law) {
  Update update;
  update.kind = kind;
  update.index = index;
  update.law = law;
  if (kind == Update::Kind::kRow || kind == Update::Kind::kInjection) {
    const Branch& b = model_.branches[index];
    update.a = b.a;
    update.b = b.b;
    update.c = b.c;
    update.d = b.d;
    update.response =
        kind == Update::Kind::kRow ? &row_response(base_.layout.current(index)) : &injection_response(b.a, b.b);
  } else if (kind == Update::Kind::kTie) {
    update.a = NodeId(index);
    update.response = &injection_response(update.a, NodeId());
  } else {
    update.response = &row_response(base_.layout.tie(index));
  }
  updates_.push_back(update);
}

void FaultBench::collect_updates() {
  updates_.clear();
  std::vector<std::uint64_t> key;
  const auto compare = [&](std::size_t i) {
    const Law law = law_of(model_, states_, i);
    if (law == base_.laws[i]) return;
    add_update(Update::Kind::kRow, i, law);
    if (law.conducts() != base_.laws[i].conducts())
      key.push_back(static_cast<std::uint64_t>(i) << 1U | (law.conducts() ? 1U : 0U));
  };
  std::set<std::size_t> done;
  for (const auto& [index, before] : saved_)
    if (done.insert(index).second) compare(index);
  for (const std::size_t i : movable_)
    if (!done.contains(i)) compare(i);
  std::sort(key.begin(), key.end());
  std::vector<std::uint64_t> joined;  // what is added may hold together what was opened
  bool joins = false;
  for (std::size_t i = base_branches_; i < model_.branches.size(); ++i) {
    const Law law = law_of(model_, states_, i);
    const Branch& b = model_.branches[i];
    if (!law.conducts() && !b.source) continue;
    if (b.a != b.b) add_update(Update::Kind::kInjection, i, law);
    if (!law.conducts()) continue;
    joined.push_back(1ULL << 63U | static_cast<std::uint64_t>(std::min(b.a.value, b.b.value)) << 31U |
                     std::max(b.a.value, b.b.value));
    joins = joins || !base_.islands.together(b.a, b.b);
  }
  if (joins || !key.empty()) key.insert(key.end(), joined.begin(), joined.end());
  topology_ = key.empty() ? nullptr : find_topology(key);
  if (topology_ == nullptr) return;
  for (const NodeId node : topology_->add) add_update(Update::Kind::kTie, node.index(), {1.0, 0.0, 0.0, 0.0});
  for (const std::size_t tie : topology_->release) add_update(Update::Kind::kRelease, tie, {0.0, 0.0, 1.0, 0.0});
}

const FaultBench::Topology* FaultBench::find_topology(const std::vector<std::uint64_t>& key) {
  const auto found = topology_cache_.find(key);
  if (found != topology_cache_.end()) return &found->second;
  if (topology_cache_.size() >= kMostTopologies) topology_cache_.clear();
  std::vector<char> conducts(model_.branches.size());
  for (std::size_t i = 0; i < base_branches_; ++i) conducts[i] = base_.laws[i].conducts() ? 1 : 0;
  for (const std::uint64_t entry : key)
    if ((entry >> 63U) == 0) conducts[entry >> 1U] = static_cast<char>(entry & 1U);
  for (std::size_t i = base_branches_; i < model_.branches.size(); ++i)
    conducts[i] = law_of(model_, states_, i).conducts() ? 1 : 0;
  Topology topology;
  topology.islands = find_islands(model_, conducts);
  std::vector<char> tied(model_.nodes, 0);
  const std::vector<NodeId>& ties = base_.layout.ties;
  for (std::size_t t = 0; t < ties.size(); ++t) {
    char& has = tied[topology.islands.label[ties[t].index()]];
    if (has != 0) topology.release.push_back(t);
    has = 1;
  }
  for (std::size_t n = 0; n < model_.nodes; ++n)
    if (topology.islands.label[n] == n && tied[n] == 0) topology.add.emplace_back(n);
  return &topology_cache_.emplace(key, std::move(topology)).first->second;
}

// ---- the small system
// -----------------------------------------------------------------------------------------------------

double FaultBench::law_on(const Update& update, const Vector& z) const {
  if (update.kind == Update::Kind::kRelease) return z[base_.layout.tie(update.index)];
  double value = 0.0;
  if (update.law.alpha != 0.0) value += update.law.alpha * (at(z, update.a) - at(z, update.b));
  if (update.law.kappa != 0.0) value += update.law.kappa * (at(z, update.c) - at(z, update.d));
  if (update.kind == Update::Kind::kRow) value += update.law.beta * z[base_.layout.current(update.index)];
  return value;
}

bool FaultBench::update_coefficients() {
  const std::size_t k = updates_.size();
  ++counts_.updates;
  coefficients_.assign(k, 0.0);
  inverse_.assign(k * k, 0.0L);
  if (k == 0) return true;
  for (std::size_t i = 0; i < k; ++i) {
    for (std::size_t j = 0; j < k; ++j) inverse_[i * k + j] = law_on(updates_[i], *updates_[j].response);
    if (updates_[i].kind == Update::Kind::kInjection) inverse_[i * k + i] -= updates_[i].law.beta;
  }
  std::vector<long double> scale(k, 0.0L);  // columns scaled to one, as invert_small does with rows
  for (std::size_t j = 0; j < k; ++j) {
    for (std::size_t i = 0; i < k; ++i) scale[j] = std::max(scale[j], std::fabs(inverse_[i * k + j]));
    if (!(scale[j] > 0.0L)) return false;
    for (std::size_t i = 0; i < k; ++i) inverse_[i * k + j] /= scale[j];
  }
  if (!sparse::invert_small(inverse_, k, kPivotFloor)) return false;
  for (std::size_t i = 0; i < k; ++i)
    for (std::size_t j = 0; j < k; ++j) inverse_[i * k + j] /= scale[i];
  for (std::size_t j = 0; j < k; ++j) {
    const long double rest = static_cast<long double>(updates_[j].law.gamma) - law_on(updates_[j], base_.x);
    for (std::size_t i = 0; i < k; ++i)
      coefficients_[i] = static_cast<double>(coefficients_[i] + inverse_[i * k + j] * rest);
  }
  return std::all_of(coefficients_.begin(), coefficients_.end(), [](double c) { return std::isfinite(c); });
}

// ---- responses, made when first asked for
// -----------------------------------------------------------------------------------

const FaultBench::Vector& FaultBench::row_response(std::size_t row) {
  const auto found = row_cache_.find(row);
  if (found != row_cache_.end()) return found->second;
  Vector z(base_.layout.size(), 0.0);
  z[row] = 1.0;
  lu_.solve(z);
  ++counts_.solves;
  return row_cache_.emplace(row, std::move(z)).first->second;
}

const FaultBench::Vector& FaultBench::injection_response(NodeId a, NodeId b) {
  const auto key = std::make_pair(a.value, b.value);
  const auto found = injection_cache_.find(key);
  if (found != injection_cache_.end()) return found->second;
  Vector z(base_.layout.size(), 0.0);
  if (!a.is_none()) z[a.index()] += 1.0;
  if (!b.is_none()) z[b.index()] -= 1.0;
  lu_.solve(z);
  ++counts_.solves;
  return injection_cache_.emplace(key, std::move(z)).first->second;
}

const FaultBench::Vector& FaultBench::adjoint_volts(NodeId a, NodeId b) {
  const auto key = std::make_pair(a.value, b.value);
  const auto found = adjoint_cache_.find(key);
  if (found != adjoint_cache_.end()) return found->second;
  Vector w(base_.layout.size(), 0.0);
  if (!a.is_none()) w[a.index()] += 1.0;
  if (!b.is_none()) w[b.index()] -= 1.0;
  lu_.solve_transposed(w);
  ++counts_.solves;
  return adjoint_cache_.emplace(key, std::move(w)).first->second;
}

const FaultBench::Vector& FaultBench::adjoint_unknown(std::size_t index) {
  const auto found = unknown_cache_.find(index);
  if (found != unknown_cache_.end()) return found->second;
  Vector w(base_.layout.size(), 0.0);
  w[index] = 1.0;
  lu_.solve_transposed(w);
  ++counts_.solves;
  return unknown_cache_.emplace(index, std::move(w)).first->second;
}

// ---- readings
// ---------------------------------------------------------------------------------------------------------------

double FaultBench::volts(NodeId node) const { return own_ ? own_->volts(node) : View(*this).volts(node); }
double FaultBench::amperes(std::size_t branch) const {
  return own_ ? own_->amperes(branch) : View(*this).amperes(branch);
}
const States& FaultBench::states() const { return own_ ? own_->states() : states_; }

bool FaultBench::together(NodeId a, NodeId b) const { return own_ ? own_->together(a, b) : View(*this).together(a, b); }

void FaultBench::push_meter(const Branch& branch) {
  model_.branches.push_back(branch);
  states_.on.push_back(0);
  states_.tripped.push_back(0);
  states_.lamp_v.push_back(0.0);
  if (branch.kind == ElementKind::kLamp) stateful_.fast.push_back(model_.branches.size() - 1);
}

void FaultBench::pop_meter() {
  if (model_.branches.back().kind == ElementKind::kLamp) stateful_.fast.pop_back();
  model_.branches.pop_back();
}

Predicted FaultBench::evaluate(const Functional& functional, const std::vector<double>& tolerance) {
  if (own_) return own_->evaluate(functional, tolerance);
  Predicted predicted;
  predicted.measured.settled = fault_status_ == Status::kSettled;
  if (!predicted.measured.settled) return predicted;
  predicted.measured.value =
      functional.current ? amperes(functional.branch) : volts(functional.red) - volts(functional.black);
  if (!tolerance.empty()) predicted.sigma = spread(functional, tolerance);
  return predicted;
}

Predicted FaultBench::read(const Probe& probe, const std::vector<double>& tolerance) {
  if (own_) return own_->read(probe, tolerance);
  if (fault_status_ != Status::kSettled) {
    if (probe.instrument == Instrument::kOhms || probe.instrument == Instrument::kClamp)
      return {{false, false, 0.0}, 0.0};
    if (probe.red == probe.black) return {};
    return read_anew(meter_branch(probe, system_volts_), probe, tolerance);  // the meter may settle it
  }
  switch (probe.instrument) {
    case Instrument::kClamp:
      return evaluate({{}, {}, probe.branch, true}, tolerance);
    case Instrument::kOhms:
      return read_ohms(probe, tolerance);
    default:
      if (probe.red == probe.black) return {};
      return read_with(meter_branch(probe, system_volts_), probe, tolerance);
  }
}

Predicted FaultBench::read_with(const Branch& branch, const Probe& probe, const std::vector<double>& tolerance) {
  const States before = states_;
  push_meter(branch);
  make_whole();
  Predicted predicted;
  if (settle_surely()) {
    const View view(*this);
    predicted.measured.value = view.volts(probe.red) - view.volts(probe.black);
    if (!tolerance.empty()) predicted.sigma = spread({probe.red, probe.black, 0, false}, tolerance);
    pop_meter();
  } else {
    pop_meter();
    predicted = read_anew(branch, probe, tolerance);
  }
  states_ = before;
  HS_CHECK(solve_updates(), "a solved fault must solve again");
  return predicted;
}

// The circuit with the meter in it gets a factorisation of its own.
Predicted FaultBench::read_anew(const Branch& branch, const Probe& probe, const std::vector<double>& tolerance) {
  ++counts_.refactored;
  Model with = model_;
  with.branches.push_back(branch);
  return FaultBench(std::move(with), system_volts_).evaluate({probe.red, probe.black, 0, false}, tolerance);
}

Predicted FaultBench::read_ohms(const Probe& probe, const std::vector<double>& tolerance) {
  if (probe.red == probe.black) return {};
  if (!together(probe.red, probe.black)) return {{true, true, 0.0}, 0.0};
  if (std::abs(volts(probe.red) - volts(probe.black)) > kLiveVolt) return {{true, true, 0.0}, 0.0};
  for (double range = kLowestOhmsRange; range <= kHighestOhmsRange; range *= 10.0) {
    const double ampere = kOhmsFullScaleVolt / range;
    Predicted predicted = read_with(test_current_branch(probe, ampere), probe, tolerance);
    predicted.measured.value /= ampere;
    predicted.sigma /= ampere;
    if (!predicted.measured.settled || predicted.measured.value <= range) return predicted;
  }
  return {{true, true, 0.0}, 0.0};
}

// ---- tolerances: the adjoint of the changed circuit
// ---------------------------------------------------------------------------

// How far the branch's law moves for its main value moving by its whole self: d law / d ln(value).
double FaultBench::law_slope(std::size_t index) const {
  const Branch& b = model_.branches[index];
  const Law law = law_of(model_, states_, index);
  if (!law.conducts()) return 0.0;
  const View view(*this);
  switch (b.kind) {
    case ElementKind::kSource:
    case ElementKind::kDiode:
      return -b.volt;
    case ElementKind::kRail:
      return states_.alive[b.module.index()] != 0 ? -b.volt : -view.amperes(index);
    case ElementKind::kRatio:
      return -b.share * (view.volts(b.c) - view.volts(b.d));
    case ElementKind::kLamp:
      return -view.amperes(index);
    default:
      return view.amperes(index) * law.beta;
  }
}

void FaultBench::add_adjoint(Vector& sum, double factor, const Update& update) {
  const auto add = [&](double scale, const Vector& w) {
    for (std::size_t i = 0; i < sum.size(); ++i) sum[i] += scale * w[i];
  };
  if (update.kind == Update::Kind::kRelease) return add(factor, adjoint_unknown(base_.layout.tie(update.index)));
  if (update.law.alpha != 0.0) add(factor * update.law.alpha, adjoint_volts(update.a, update.b));
  if (update.law.kappa != 0.0) add(factor * update.law.kappa, adjoint_volts(update.c, update.d));
  if (update.kind == Update::Kind::kRow)
    add(factor * update.law.beta, adjoint_unknown(base_.layout.current(update.index)));
}

double FaultBench::spread(const Functional& functional, const std::vector<double>& tolerance) {
  const std::size_t k = updates_.size();
  const auto ask = [&](const Vector& z) {
    return functional.current ? z[base_.layout.current(functional.branch)]
                              : at(z, functional.red) - at(z, functional.black);
  };
  std::vector<double> q(k, 0.0);
  for (std::size_t j = 0; j < k; ++j) {
    const double reach = ask(*updates_[j].response);
    for (std::size_t i = 0; i < k; ++i) q[i] += reach * static_cast<double>(inverse_[j * k + i]);
  }
  Vector weight = functional.current ? adjoint_unknown(base_.layout.current(functional.branch))
                                     : adjoint_volts(functional.red, functional.black);
  for (std::size_t i = 0; i < k; ++i)
    if (q[i] != 0.0) add_adjoint(weight, -q[i], updates_[i]);
  std::vector<double> own(base_branches_, std::nan(""));  // branches whose law was replaced answer through their update
  for (std::size_t i = 0; i < k; ++i)
    if (updates_[i].kind == Update::Kind::kRow) own[updates_[i].index] = q[i];
  double sum = 0.0;
  for (std::size_t e = 0; e < base_branches_ && e < tolerance.size(); ++e) {
    if (tolerance[e] <= 0.0) continue;
    const double reach = std::isnan(own[e]) ? weight[base_.layout.current(e)] : own[e];
    if (reach == 0.0) continue;
    const double move = reach * law_slope(e) * tolerance[e] / 3.0;
    sum += move * move;
  }
  return std::sqrt(sum);
}

BenchCounts FaultBench::counts() const {
  BenchCounts counts = counts_;
  counts.factors = lu_.factors();
  return counts;
}

}  // namespace halfsplit::electrical
