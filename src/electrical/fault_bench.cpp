// SPDX-License-Identifier: Apache-2.0
// What a change can move is found by halves of solves (watches.h): the states noted are moved in the order of states.h,
// and each branch whose law has changed becomes an update, until nothing moves. States not noted are bounded; where the
// bound does not hold, all are noted.
#include "electrical/fault_bench.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <utility>

namespace halfsplit::electrical {

namespace {

using circuit::ElementKind;

constexpr int kFastRounds = 60;
constexpr int kOneAtATime = 10;
constexpr int kMiddleRounds = 30;
constexpr int kLastRounds = 20;
constexpr std::size_t kMostKeptEntries = 4'000'000;  // of halves: 110 MB
constexpr std::size_t kMostKeptReach = 8'000'000;    // 64 MB
constexpr double kGross = 10.0;           // times the current that melts a fuse: it will, whatever else moves
constexpr double kPulledDown = 3.0;       // and that so many times less, when all else has moved: generously
constexpr std::size_t kManyStates = 100;  // with fewer, nothing is gained by not following them down
constexpr std::size_t kQuickly = 2;       // small systems: with no more, it is there as quickly as by being remembered
constexpr std::uint32_t kNoWatch = 0xffffffffU;

}  // namespace

double FaultBench::View::volts(NodeId node) const {
  if (node.is_none()) return 0.0;
  if (bench_.updates_.empty()) return bench_.rest_.point().volts(node);
  return static_cast<double>(bench_.rest_.point().x[node.index()] + bench_.sum_.dot(bench_.rest_.volts(node)));
}

double FaultBench::View::amperes(std::size_t branch) const {
  if (branch >= bench_.base_branches_) {
    for (std::size_t j = 0; j < bench_.updates_.size(); ++j)
      if (bench_.updates_[j].kind == Update::Kind::kInjection && bench_.updates_[j].index == branch)
        return -bench_.coefficients_[j];
    return 0.0;
  }
  if (bench_.updates_.empty()) return bench_.rest_.point().amperes(branch);
  return static_cast<double>(bench_.rest_.point().amperes(branch) + bench_.sum_.dot(bench_.rest_.current(branch)));
}

bool FaultBench::View::together(NodeId a, NodeId b) const {
  return bench_.pieces_ ? bench_.pieces_->together(a, b) : bench_.rest_.point().together(a, b);
}

FaultBench::FaultBench(Model model, double system_volts)
    : model_(std::move(model)),
      system_volts_(system_volts),
      base_branches_(model_.branches.size()),
      stateful_(find_stateful(model_)),
      rest_(model_),
      latches_(model_),
      states_(rest_.point().states),
      sum_(0),
      work_(0),
      carried_sum_(0),
      rough_rest_(0),
      rough_reach_(0),
      rough_flow_(0),
      rough_meter_(0),
      fault_status_(rest_.point().status) {}

FaultBench::~FaultBench() = default;

void FaultBench::prepare() {
  if (prepared_ || status() != Status::kSettled) return;
  prepared_ = true;
  rest_.prepare(model_, stateful_);
  sum_ = sparse::Spread(rest_.point().layout.size());
  work_ = sparse::Spread(rest_.point().layout.size());
  carried_sum_ = sparse::Spread(rest_.point().layout.size());
  for (sparse::RoughSpread* spread : {&rough_rest_, &rough_reach_, &rough_flow_, &rough_meter_})
    *spread = sparse::RoughSpread(rest_.point().layout.size());
  hangs_on_module_.resize(model_.dead.size());
  module_watch_.assign(model_.dead.size(), kNoWatch);
  filament_of_.assign(base_branches_, kNoWatch);
  for (std::size_t i = 0; i < base_branches_; ++i) {
    const Branch& b = model_.branches[i];
    if (b.kind == ElementKind::kLamp) filament_of_[i] = filaments_++;
    if (b.kind == ElementKind::kRelayContact) contacts_[b.control].push_back(static_cast<std::uint32_t>(i));
    if (b.kind == ElementKind::kRail || b.kind == ElementKind::kDriver)
      hangs_on_module_[b.module.index()].push_back(static_cast<std::uint32_t>(i));
    const bool melted = b.kind == ElementKind::kFuse && states_.on[i] == 0;
    if (melted || states_.tripped[i] != 0) off_for_good_.push_back(i);
  }
  const Watches& watches = rest_.watches();
  for (std::uint32_t w = 0; w < watches.all().size(); ++w) {
    const Watch& watch = watches[w];
    if (watch.kind == Watch::Kind::kModule)
      module_watch_[watch.index] = w;
    else
      watch_of_[watch.index].push_back(w);
    if (watch.a.is_none() || watch.b.is_none()) continue;
    if (!rest_.point().together(watch.a, watch.b)) apart_.push_back(w);
    watch_ends_.emplace_back(rest_.tree().place(watch.a), w);
    watch_ends_.emplace_back(rest_.tree().place(watch.b), w);
  }
  std::sort(watch_ends_.begin(), watch_ends_.end());
  list_near_at_rest();
  list_holders();
  list_fed_early();
  list_idle_at_rest();
  watch_noted_.assign(watches.all().size(), 0);
  branch_noted_.assign(base_branches_, 0);
}

// ---- what a change can move
// ---------------------------------------------------------------------------------------------------

void FaultBench::note_branch(std::size_t branch) {
  if (branch >= base_branches_ || branch_noted_[branch] != 0) return;
  branch_noted_[branch] = 1;
  noted_branches_.push_back(branch);
}

void FaultBench::note_module(std::size_t module) {
  for (const std::uint32_t i : hangs_on_module_[module]) {
    note_branch(i);
    if (model_.branches[i].kind != ElementKind::kDriver) continue;
    const auto watched = watch_of_.find(i);
    bool middle = false;
    if (watched != watch_of_.end())
      for (const std::uint32_t w : watched->second) {
        note_watch(w);
        middle = middle || rest_.watches()[w].kind == Watch::Kind::kMiddle;
      }
    // A driver that only its module moves has no watch of its own.
    if (!middle && std::find(near_.middle.begin(), near_.middle.end(), i) == near_.middle.end())
      near_.middle.push_back(i);
  }
}

void FaultBench::note_watch(std::uint32_t w) {
  if (watch_noted_[w] != 0) return;
  watch_noted_[w] = 1;
  noted_watches_.push_back(w);
  least_volt_ = least_ampere_ = -1.0;
  const Watch& watch = rest_.watches()[w];
  switch (watch.kind) {
    case Watch::Kind::kFast:
      if (model_.branches[watch.index].kind == ElementKind::kLamp)
        still_lamps_.push_back(w);
      else
        near_.fast.push_back(watch.index);
      return note_branch(watch.index);
    case Watch::Kind::kLast:
      near_.last.push_back(watch.index);
      note_branch(watch.index);
      if (model_.branches[watch.index].kind == ElementKind::kDriver)
        note_watch(module_watch_[model_.branches[watch.index].module.index()]);
      return;
    case Watch::Kind::kModule:
      near_.modules.emplace_back(watch.index);
      return note_module(watch.index);
    case Watch::Kind::kMiddle:
      near_.middle.push_back(watch.index);
      note_branch(watch.index);
      if (const auto contacts = contacts_.find(watch.index); contacts != contacts_.end())
        for (const std::uint32_t i : contacts->second) note_branch(i);
  }
}

void FaultBench::note_all() {
  if (all_noted_) return;
  all_noted_ = true;
  for (std::uint32_t w = 0; w < watch_noted_.size(); ++w) note_watch(w);
}

// ---- putting a fault in
// ------------------------------------------------------------------------------------------------------

void FaultBench::restore() {
  for (auto entry = saved_.rbegin(); entry != saved_.rend(); ++entry) model_.branches[entry->first] = entry->second;
  saved_.clear();
  for (const std::size_t m : saved_dead_) model_.dead[m] = 0;
  saved_dead_.clear();
  model_.branches.resize(base_branches_);
  const States& rest = rest_.point().states;
  const auto put_back = [&](std::size_t i) {
    states_.on[i] = rest.on[i];
    states_.tripped[i] = rest.tripped[i];
    states_.lamp_v[i] = rest.lamp_v[i];
  };
  states_.on.resize(base_branches_);
  states_.tripped.resize(base_branches_);
  states_.lamp_v.resize(base_branches_);
  for (const std::size_t i : noted_branches_) {
    put_back(i);
    branch_noted_[i] = 0;
  }
  for (const circuit::ModuleId m : near_.modules) states_.alive[m.index()] = rest.alive[m.index()];
  states_.gone = rest.gone;
  for (const std::uint32_t w : noted_watches_) watch_noted_[w] = 0;
  noted_branches_.clear();
  noted_watches_.clear();
  still_lamps_.clear();
  carried_.clear();
  carried_sum_.clear();
  near_ = {};
  all_noted_ = false;
  updates_.clear();
  coefficients_.clear();
  solved_.clear();
  inverse_.clear();
  sum_.clear();
  opened_before_.clear();
  joined_before_.clear();
  pieces_.reset();
  least_volt_ = least_ampere_ = -1.0;
  laid_out_ = {};
  own_.reset();
  reads_ = 0;
  fault_status_ = rest_.point().status;
}

void FaultBench::clear() {
  restore();
  changes_.clear();
}

void FaultBench::put_fault(const std::vector<fault::Change>& changes) {
  prepare();
  if (changes == changes_ && !changes.empty()) return;
  restore();
  forget_kept();
  changes_ = changes;
  if (changes.empty()) return;
  patch_model();
  if (status() != Status::kSettled) return fall_back();
  if (land_again()) return;
  const std::size_t updates = counts_.updates;
  settle_with_fault();
  if (remembers_ && !own_ && counts_.updates > updates + kQuickly) keep_landing();
}

void FaultBench::patch_model() {
  for (const fault::Change& change : changes_) {
    if (!change.element.is_none())
      saved_.emplace_back(change.element.index(), model_.branches.at(change.element.index()));
    if (change.kind == fault::Change::Kind::kDead && model_.dead.at(change.module.index()) == 0)
      saved_dead_.push_back(change.module.index());
  }
  apply_changes(model_, changes_);
  states_.on.resize(model_.branches.size(), 0);
  states_.tripped.resize(model_.branches.size(), 0);
  states_.lamp_v.resize(model_.branches.size(), 0.0);
}

void FaultBench::note_patched() {
  for (const auto& [i, before] : saved_) {
    note_branch(i);
    if (const auto watched = watch_of_.find(i); watched != watch_of_.end())
      for (const std::uint32_t w : watched->second) note_watch(w);
    if (model_.branches[i].kind == ElementKind::kDriver) note_watch(module_watch_[model_.branches[i].module.index()]);
    if (model_.branches[i].kind == ElementKind::kRelayContact)
      for (const std::uint32_t w : watch_of_[model_.branches[i].control]) note_watch(w);
  }
  for (const std::size_t m : saved_dead_) note_watch(module_watch_[m]);
}

void FaultBench::settle_with_fault() {
  note_patched();
  make_whole();
  if (is_fed_early()) return fall_back();
  may_carry_ = true;
  const bool surely = settle_surely();
  may_carry_ = false;
  if (surely && (carried_.empty() || set_down() || stand_apart())) return;
  hand_over_carried();
  if (settle_from_off()) return;
  fall_back();
}

// What switched off for good in one circuit need not have done so in the next.
void FaultBench::make_whole() {
  for (const std::size_t i : off_for_good_) {
    for (const std::uint32_t w : watch_of_[i]) note_watch(w);
    if (model_.branches[i].kind == ElementKind::kDriver) note_watch(module_watch_[model_.branches[i].module.index()]);
  }
  for (const std::size_t i : noted_branches_) {
    if (model_.branches[i].kind == ElementKind::kFuse) states_.on[i] = 1;
    states_.tripped[i] = 0;
  }
}

// Settled states are those of a power-up only where nothing is held up by having been up before.
bool FaultBench::settle_surely() { return settle() && idle_diodes_come_again() && !held_up(); }

void FaultBench::fall_back() {
  forget_updates();
  own_ = std::make_unique<FaultBench>(model_, system_volts_);
  fault_status_ = own_->status();
  if (remembers_ && fault_status_ == Status::kSettled && status() == Status::kSettled) come_back();
}

// Of a fault that is settled: its states go on from where they stand.
bool FaultBench::stand_apart() {
  Model as_it_stands = model_;
  as_it_stands.stood = fitted_to(as_it_stands, states_);
  auto own = std::make_unique<FaultBench>(std::move(as_it_stands), system_volts_);
  if (own->status() != Status::kSettled) return false;
  forget_updates();
  own_ = std::move(own);
  return true;
}

// What the circuit at rest was asked for is kept for the faults to come, but not all that a whole vehicle's faults ask.
void FaultBench::forget_kept() {
  if (rest_.kept_entries() > kMostKeptEntries) {
    rest_.forget();
    seen_ = {};
    flow_.clear();
    rest_transfers_.clear();
  }
  if ((reach_volts_.size() + reach_unknown_.size() + flow_.size()) * elements_.branch.size() > kMostKeptReach) {
    reach_volts_.clear();
    reach_unknown_.clear();
    flow_.clear();
  }
}

void FaultBench::forget_updates() {
  ++counts_.refactored;
  updates_.clear();
  coefficients_.clear();
  solved_.clear();
  sum_.clear();
  pieces_.reset();
}

// ---- settling: the order of states.h
// -----------------------------------------------------------------------------------------

// A dead short pulls the whole vehicle's volts down until its fuse melts or its driver trips. A vehicle with many
// states need not be followed down there.
bool FaultBench::melts_grossly() {
  only_nearby_ = true;
  const bool settled = settle_fast();
  only_nearby_ = false;
  if (!settled) return false;
  const View view(*this);
  std::size_t worst = base_branches_;
  double most = kGross;
  for (const std::size_t i : near_.last) {
    const Branch& b = model_.branches[i];
    const bool driver = b.kind == ElementKind::kDriver;
    if (states_.on[i] == 0 || b.force == 0 || (driver && b.force == 1)) continue;
    const double ratio = std::abs(view.amperes(i)) / (driver ? b.limit_a : b.blow_a);
    if (ratio <= most) continue;
    most = ratio;
    worst = i;
  }
  if (worst == base_branches_) return false;
  const double sigmas = sigmas_over(worst, kPulledDown);
  states_.on[worst] = 0;
  if (model_.branches[worst].kind == ElementKind::kDriver) states_.tripped[worst] = 1;
  states_.gone.emplace_back(worst, sigmas);
  return true;
}

bool FaultBench::settle() {
  for (int last = 0; last < kLastRounds; ++last) {
    // No meter melts anything grossly.
    if (!metered_ && stateful_.fast.size() + stateful_.middle.size() > kManyStates && melts_grossly()) continue;
    if (!settle_middle()) return false;
    if (!move_last(model_, near_, View(*this), states_)) return true;
    // Looked at while it still carries what it did.
    const std::size_t gone = states_.gone.back().first;
    const bool driver = model_.branches[gone].kind == ElementKind::kDriver;
    states_.on[gone] = 1;
    if (driver) states_.tripped[gone] = 0;
    states_.gone.back().second = sigmas_over(gone, 1.0);
    states_.on[gone] = 0;
    if (driver) states_.tripped[gone] = 1;
  }
  return false;
}

// By how many sigmas a branch carries more than it bears, if it carried so many times less.
double FaultBench::sigmas_over(std::size_t branch, double times) {
  if (tolerance_.empty() || metered_) return 0.0;
  const Branch& b = model_.branches[branch];
  const Functional functional{{}, {}, branch, true};
  const double bears = b.kind == ElementKind::kDriver ? b.limit_a : b.blow_a;
  const double over = std::abs(View(*this).amperes(branch)) - times * bears;
  return over / std::max(spread(functional, tolerance_), 1.0e-300);
}

void FaultBench::expect(const Tolerances& tolerance) {
  prepare();
  if (status() != Status::kSettled) return;
  if (!tolerance.same_as(tolerance_)) {
    landings_.clear();
    landing_bytes_ = 0;
  }
  list_elements(tolerance);
}

// The same set of states met twice is a circle.
bool FaultBench::settle_middle() {
  std::vector<std::vector<char>> met;
  circled_ = false;
  for (int round = 0; round < kMiddleRounds; ++round) {
    if (!settle_fast()) return false;
    if (!move_middle(model_, near_, View(*this), states_)) return true;
    if (!goes_on_ && passes_by()) return false;
    std::vector<char> now;
    for (const std::size_t i : near_.middle) now.push_back(states_.on[i]);
    for (const circuit::ModuleId m : near_.modules) now.push_back(states_.alive[m.index()]);
    if (std::find(met.begin(), met.end(), now) != met.end()) {  // more states noted: another length
      circled_ = true;
      return false;
    }
    met.push_back(std::move(now));
  }
  return false;
}

bool FaultBench::settle_fast() {
  for (int round = 0; round < kFastRounds; ++round) {
    if (!solve_updates()) return false;
    if (!move_fast(model_, near_, View(*this), states_, round > kOneAtATime)) return true;
  }
  return false;
}

bool FaultBench::settle_diodes() {
  for (int round = 0; round < kFastRounds; ++round) {
    if (!solve_updates()) return false;
    Stateful diodes;
    std::copy_if(near_.fast.begin(), near_.fast.end(), std::back_inserter(diodes.fast),
                 [&](std::size_t i) { return model_.branches[i].kind == ElementKind::kDiode; });
    if (!move_fast(model_, diodes, View(*this), states_, round > kOneAtATime)) return true;
  }
  return false;
}

BenchCounts FaultBench::counts() const {
  BenchCounts counts = counts_;
  counts.solves = rest_.solves();
  counts.factors = rest_.lu().factors();
  if (holders_off_) {
    const BenchCounts more = holders_off_->counts();
    counts.solves += more.solves;
    counts.factors += more.factors;
    counts.updates += more.updates;
    counts.refactored += more.refactored;
    counts.general_reads += more.general_reads;
    counts.as_at_rest += more.as_at_rest;
  }
  return counts;
}

}  // namespace halfsplit::electrical
