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
constexpr std::size_t kManyTrials = 24;
constexpr std::size_t kMostKeptEntries = 4'000'000;  // of halves: 110 MB
constexpr std::size_t kMostKeptReach = 8'000'000;    // 64 MB
constexpr double kNeverComesIn = 1.0e9;              // V
constexpr int kMostSetsOff = 6;                      // as more and more states are found to move
constexpr double kSensorOutputA = 0.01;
constexpr double kGross = 10.0;           // times the current that melts a fuse: it will, whatever else moves
constexpr std::size_t kManyStates = 100;  // with fewer, nothing is gained by not following them down
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
  if (bench_.parted_) return bench_.parted_->together(a, b);
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
  for (std::size_t i = 0; i < base_branches_; ++i) {
    const Branch& b = model_.branches[i];
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
    if (!watch.a.is_none() && !watch.b.is_none() && !rest_.point().together(watch.a, watch.b)) apart_.push_back(w);
  }
  list_near_at_rest();
  list_holders();
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
  parted_.reset();
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
  for (const fault::Change& change : changes) {
    if (!change.element.is_none())
      saved_.emplace_back(change.element.index(), model_.branches.at(change.element.index()));
    if (change.kind == fault::Change::Kind::kDead && model_.dead.at(change.module.index()) == 0)
      saved_dead_.push_back(change.module.index());
  }
  apply_changes(model_, changes);
  if (status() != Status::kSettled) return fall_back();
  states_.on.resize(model_.branches.size(), 0);
  states_.tripped.resize(model_.branches.size(), 0);
  states_.lamp_v.resize(model_.branches.size(), 0.0);
  for (const auto& [i, before] : saved_) {
    note_branch(i);
    if (const auto watched = watch_of_.find(i); watched != watch_of_.end())
      for (const std::uint32_t w : watched->second) note_watch(w);
    if (model_.branches[i].kind == ElementKind::kDriver) note_watch(module_watch_[model_.branches[i].module.index()]);
    if (model_.branches[i].kind == ElementKind::kRelayContact)
      for (const std::uint32_t w : watch_of_[model_.branches[i].control]) note_watch(w);
  }
  for (const std::size_t m : saved_dead_) note_watch(module_watch_[m]);
  make_whole();
  may_carry_ = true;
  const bool surely = settle_surely();
  may_carry_ = false;
  if (surely && (carried_.empty() || set_down() || stand_apart())) return;
  hand_over_carried();
  if (settle_from_off()) return;
  fall_back();
}

// From the moment before the supply comes, for the states that the fault can move: what is not among them stands as at
// rest, at every step on the way by the bounds of watches.h. That the way through those other states has no say in the
// outcome is tried without the fault: the circuit must come to its rest in the same manner.
bool FaultBench::settle_from_off() {
  if (model_.stood) return false;
  goes_on_ = true;
  bool found = false;
  for (int round = 0; round < kMostSetsOff; ++round) {
    const std::size_t noted = noted_watches_.size();
    if (!rest_comes_from_off()) break;
    if (noted_watches_.size() != noted) continue;
    switch_off();
    const bool settled = settle();
    if (noted_watches_.size() != noted) continue;
    found = settled || circled_;
    fault_status_ = settled ? Status::kSettled : Status::kUnsettled;
    break;
  }
  goes_on_ = false;
  return found;
}

void FaultBench::switch_off() {
  for (const std::vector<std::size_t>* some : {&near_.fast, &near_.middle, &near_.last})
    for (const std::size_t i : *some) {
      states_.on[i] = model_.branches[i].kind == ElementKind::kFuse ? 1 : 0;
      states_.tripped[i] = 0;
      states_.lamp_v[i] = 0.0;
    }
  for (const circuit::ModuleId m : near_.modules) states_.alive[m.index()] = 0;
}

bool FaultBench::rest_comes_from_off() {
  std::vector<Branch> added(model_.branches.begin() + static_cast<std::ptrdiff_t>(base_branches_),
                            model_.branches.end());
  std::vector<char> dead;
  const auto exchange = [&](auto& entry) { std::swap(model_.branches[entry.first], entry.second); };
  model_.branches.resize(base_branches_);
  std::for_each(saved_.rbegin(), saved_.rend(), exchange);
  for (const std::size_t m : saved_dead_) dead.push_back(std::exchange(model_.dead[m], 0));
  switch_off();
  const States& rest = rest_.point().states;
  const auto stands = [&](std::size_t i) {
    return states_.on[i] == rest.on[i] && states_.tripped[i] == rest.tripped[i];
  };
  const bool same = settle() && std::all_of(noted_branches_.begin(), noted_branches_.end(), stands) &&
                    std::all_of(near_.modules.begin(), near_.modules.end(),
                                [&](circuit::ModuleId m) { return states_.alive[m.index()] == rest.alive[m.index()]; });
  for (std::size_t k = 0; k < dead.size(); ++k) model_.dead[saved_dead_[k]] = dead[k];
  std::for_each(saved_.begin(), saved_.end(), exchange);
  model_.branches.insert(model_.branches.end(), added.begin(), added.end());
  return same;
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
bool FaultBench::settle_surely() { return settle() && !held_up(); }

// A relay may hold its own coil through its own contact (also by way of the module that it feeds), a module its own
// supply through its own driver, a sensor itself by the current it gives: in use it stays, from power-up it never
// comes. So does a coil between its drop-out and its pull-in volts. Those that may are let go on trial; true where one
// would not come again.
bool FaultBench::held_up() {
  // What a fault joins, or breaks in the nets that everything shares, may hold what the drawing does not.
  bool anew = false;
  for (const auto& [i, branch] : saved_) anew = anew || latches_.on_post_net(i);
  fault_joins_.clear();
  for (std::size_t i = base_branches_; i < model_.branches.size(); ++i)
    fault_joins_.emplace_back(model_.branches[i].a, model_.branches[i].b);
  note_holders();
  trials_.clear();
  for (const std::size_t i : near_.middle) {
    if (stands_between(model_, View(*this), states_, i)) return true;
    if (states_.on[i] != 0 && may_be_held(i, anew)) trials_.push_back({i, false});
  }
  for (const circuit::ModuleId m : near_.modules)
    if (states_.alive[m.index()] != 0 && model_.dead[m.index()] != kHeldAlive && drives(m.index()) &&
        (anew || (latches_.module_may_hold(m.index(), fault_joins_) && bears_on(m.index()))))
      trials_.push_back({m.index(), true});
  return !trials_.empty() && !come_again();
}

// All of them are let go together, and come as their volts do: one that does not was held by itself or by the others.
// Diodes follow: one that carried its current must not pass on what others feed.
bool FaultBench::come_again() {
  if (trials_.size() > kManyTrials && all_come_at_once()) return true;
  std::vector<std::pair<std::size_t, bool>> off = trials_;
  std::vector<std::vector<std::pair<std::size_t, char>>> before(off.size());
  for (std::size_t t = 0; t < off.size(); ++t) release(off[t].first, off[t].second, before[t]);
  while (!off.empty()) {
    if (!settle_diodes()) return false;
    std::vector<std::size_t> come;
    for (std::size_t t = 0; t < off.size(); ++t)
      if (comes_again(off[t].first, off[t].second, *this)) come.push_back(t);
    if (come.empty()) return false;
    for (; !come.empty(); come.pop_back()) {
      const std::size_t t = come.back();
      for (const auto& [i, on] : before[t]) states_.on[i] = on;
      if (off[t].second) states_.alive[off[t].first] = 1;
      off.erase(off.begin() + static_cast<std::ptrdiff_t>(t));
      before.erase(before.begin() + static_cast<std::ptrdiff_t>(t));
    }
  }
  return settle_diodes();
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

// On the way to rest a coil stands between its drop-out and its pull-in volts: whether it is in hangs on the way.
bool FaultBench::passes_by() const {
  const View view(*this);
  return std::any_of(near_.middle.begin(), near_.middle.end(), [&](std::size_t i) {
    const Branch& b = model_.branches[i];
    if (b.kind != ElementKind::kRelayCoil || b.force == 0 || !view.together(b.a, b.b)) return false;
    const double v = std::abs(view.volts(b.a) - view.volts(b.b));
    return v >= b.drop_out_v && v < b.volt;
  });
}

// Does the fault touch any node for which that is so, or a piece of a source's net next to one?
template <class Bears>
bool FaultBench::fault_touches(Bears bears) {
  const auto touches = [&](const Branch& b) { return bears(b.a) || bears(b.b) || bears(b.c) || bears(b.d); };
  const auto breaks = [&](const auto& entry) {
    const std::vector<NodeId>& hanging = latches_.hanging_on(entry.first);
    return touches(entry.second) || std::any_of(hanging.begin(), hanging.end(), bears);
  };
  return std::any_of(saved_.begin(), saved_.end(), breaks) ||
         std::any_of(model_.branches.begin() + static_cast<std::ptrdiff_t>(base_branches_), model_.branches.end(),
                     touches) ||
         std::any_of(saved_dead_.begin(), saved_dead_.end(),
                     [&](std::size_t dead) { return bears((*model_.modules)[dead].supply); });
}

// Elsewhere than in what feeds a module while its drivers are off a fault leaves its power-up as it is at rest.
bool FaultBench::bears_on(std::size_t module) {
  return fault_touches([&](NodeId node) { return latches_.bears_on_supply(module, node); });
}

// What holds itself at rest need not move at all when the way breaks by which it came.
void FaultBench::note_holders() {
  for (const std::uint32_t w : holders_) {
    if (watch_noted_[w] != 0) continue;
    const Watch& watch = rest_.watches()[w];
    const bool touched = watch.kind == Watch::Kind::kModule
                             ? bears_on(watch.index)
                             : fault_touches([&](NodeId node) { return latches_.bears_on_coil(watch.index, node); });
    if (touched) note_watch(w);
  }
}

void FaultBench::list_holders() {
  const std::vector<Watch>& all = rest_.watches().all();
  for (std::uint32_t w = 0; w < all.size(); ++w) {
    const std::size_t i = all[w].index;
    if (all[w].kind == Watch::Kind::kModule) {
      if (states_.alive[i] != 0 && drives(i) && latches_.module_may_hold(i)) holders_.push_back(w);
    } else if (all[w].kind == Watch::Kind::kMiddle && model_.branches[i].kind == ElementKind::kRelayCoil) {
      if (states_.on[i] != 0 && latches_.coil_may_hold(i)) holders_.push_back(w);
    }
  }
}

bool FaultBench::may_be_held(std::size_t i, bool anew) {
  const Branch& b = model_.branches[i];
  const View view(*this);
  if (b.kind == ElementKind::kRatio) return b.force != 0 && std::abs(view.amperes(i)) > kSensorOutputA;
  if (b.kind != ElementKind::kRelayCoil) return false;
  return anew || latches_.coil_may_hold(i, fault_joins_) || std::abs(view.volts(b.a) - view.volts(b.b)) < b.volt;
}

bool FaultBench::may_rest_otherwise() {
  if (fault_status_ != Status::kSettled) return false;
  if (own_) return own_->may_rest_otherwise();
  if (latches_.anything_may_hold()) return true;
  prepare();
  const View view(*this);
  return std::any_of(stateful_.middle.begin(), stateful_.middle.end(),
                     [&](std::size_t i) { return stands_between(model_, view, states_, i); });
}

bool FaultBench::drives(std::size_t module) const {
  const std::vector<std::uint32_t>& hangs = hangs_on_module_[module];
  return std::any_of(hangs.begin(), hangs.end(), [&](std::uint32_t i) {
    return model_.branches[i].kind == ElementKind::kDriver && states_.on[i] != 0;
  });
}

void FaultBench::release(std::size_t index, bool module, std::vector<std::pair<std::size_t, char>>& before) {
  const auto off = [&](std::size_t i) {
    before.emplace_back(i, states_.on[i]);
    states_.on[i] = 0;
  };
  if (!module) return off(index);
  for (const std::uint32_t i : hangs_on_module_[index])
    if (model_.branches[i].kind == ElementKind::kDriver && states_.on[i] != 0) off(i);
  states_.alive[index] = 0;
}

bool FaultBench::comes_again(std::size_t index, bool module, const FaultBench& in) const {
  const auto reaches = [&](NodeId a, NodeId b, double volt) {
    return in.together(a, b) && std::abs(in.volts(a) - in.volts(b)) >= volt;
  };
  if (module) {
    const circuit::ModuleWiring& wiring = (*model_.modules)[index];
    return reaches(wiring.supply, wiring.ground, wiring.alive_above_v);
  }
  const Branch& b = model_.branches[index];
  if (b.kind == ElementKind::kRatio) return b.volt <= 0.0 || reaches(b.c, b.d, b.volt);
  return reaches(b.a, b.b, b.volt);
}

// Of many that would be a large system of updates: the same fault put into the circuit in which all is off that may
// hold itself at rest. Where each of these has its volts there, they come whoever is first. What else is on trial and
// does not come there - a coil whose volts lie below its pull-in - stays off, and the states go on from that. No: they
// may come one after the other.
bool FaultBench::all_come_at_once() {
  if (holders_.empty() || !rests_with_holders_off()) return false;
  std::vector<fault::Change> changes = changes_;
  for (const std::size_t i : noted_branches_)
    if (model_.branches[i].kind == ElementKind::kFuse && states_.on[i] == 0 && rest_.point().states.on[i] != 0)
      changes.push_back({fault::Change::Kind::kOhm, ElementId(i), {}, {}, {}, fault::kOpenOhm, 0.0});
  holders_off_->put_fault(changes);
  bool all_come = holders_off_->fault_status() == Status::kSettled;
  std::vector<std::pair<std::size_t, bool>> stay;
  for (const auto& [index, module] : trials_) {
    if (!all_come) break;
    if (is_holder(index, module)) {
      all_come = comes_again(index, module, *holders_off_);
    } else {
      const States& there = holders_off_->states();
      if ((module ? there.alive[index] : there.on[index]) == 0) stay.emplace_back(index, module);
    }
  }
  holders_off_->clear();
  return all_come && (stay.empty() || settle_without(stay));
}

bool FaultBench::is_holder(std::size_t index, bool module) const {
  return std::any_of(holders_.begin(), holders_.end(), [&](std::uint32_t w) {
    const Watch& watch = rest_.watches()[w];
    return watch.index == index && (watch.kind == Watch::Kind::kModule) == module;
  });
}

bool FaultBench::settle_without(const std::vector<std::pair<std::size_t, bool>>& off) {
  States before = states_;
  std::vector<std::pair<std::size_t, char>> released;
  for (const auto& [index, module] : off) release(index, module, released);
  goes_on_ = true;
  const bool settled = settle();
  goes_on_ = false;
  const bool stay = std::none_of(off.begin(), off.end(), [&](const auto& entry) {
    return (entry.second ? states_.alive[entry.first] : states_.on[entry.first]) != 0;
  });
  if (settled && stay) return true;
  states_ = std::move(before);
  return false;
}

bool FaultBench::rests_with_holders_off() {
  if (!holders_off_) {
    Model off = model_;
    off.branches.resize(base_branches_);
    for (auto entry = saved_.rbegin(); entry != saved_.rend(); ++entry) off.branches[entry->first] = entry->second;
    for (const std::size_t m : saved_dead_) off.dead[m] = 0;
    for (const std::uint32_t w : holders_) {
      const Watch& watch = rest_.watches()[w];
      if (watch.kind == Watch::Kind::kModule)
        off.dead[watch.index] = 1;
      else
        off.branches[watch.index].volt = off.branches[watch.index].drop_out_v = kNeverComesIn;  // it draws its current
    }
    holders_off_ = std::make_unique<FaultBench>(std::move(off), system_volts_);
  }
  return holders_off_->status() == Status::kSettled;
}

void FaultBench::fall_back() {
  forget_updates();
  own_ = std::make_unique<FaultBench>(model_, system_volts_);
  fault_status_ = own_->status();
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
  parted_.reset();
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
  states_.on[worst] = 0;
  if (model_.branches[worst].kind == ElementKind::kDriver) states_.tripped[worst] = 1;
  return true;
}

bool FaultBench::settle() {
  for (int last = 0; last < kLastRounds; ++last) {
    if (stateful_.fast.size() + stateful_.middle.size() > kManyStates && melts_grossly()) continue;
    if (!settle_middle()) return false;
    if (!move_last(model_, near_, View(*this), states_)) return true;
  }
  return false;
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

BenchCounts FaultBench::counts() const {
  BenchCounts counts = counts_;
  counts.solves = rest_.solves();
  counts.factors = rest_.lu().factors();
  return counts;
}

}  // namespace halfsplit::electrical
