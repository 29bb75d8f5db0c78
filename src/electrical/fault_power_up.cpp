// SPDX-License-Identifier: Apache-2.0
// Does a fault leave the circuit as a power-up would? Settled states are that only where nothing is held up by having
// been up before. What may hold itself (latches.h) is let go on trial; where it does not come again, the states that
// the fault can move start from off.
#include <algorithm>
#include <cmath>
#include <utility>

#include "electrical/fault_bench.h"

namespace halfsplit::electrical {

namespace {

using circuit::ElementKind;

constexpr std::size_t kManyTrials = 24;
constexpr double kNeverComesIn = 1.0e9;  // V
constexpr int kMostSetsOff = 6;          // as more and more states are found to move
constexpr double kSensorOutputA = 0.01;
constexpr int kIdleRounds = 4;
constexpr double kIdleMoved = 0.1;  // of the volts at rest at its ends

}  // namespace

// A diode that is on and carries nothing joins two islands. Whether it is on hangs on the volts before it was
// (states.h), so that those which stand so are put off and come on again as they would.
bool FaultBench::idle_diodes_come_again() {
  note_idle_at_rest();
  for (int round = 0; round < kIdleRounds; ++round) {
    const View view(*this);
    std::vector<std::size_t> idle;
    for (const std::size_t i : near_.fast)
      if (is_idle_diode(model_, view, states_, i)) idle.push_back(i);
    if (idle.empty()) return true;
    for (const std::size_t i : idle) states_.on[i] = 0;
    if (!settle_diodes()) return false;
    if (std::all_of(idle.begin(), idle.end(), [&](std::size_t i) { return states_.on[i] != 0; })) return true;
    if (!settle()) return false;
  }
  return false;
}

// One that carries nothing at rest - the pull-up of a LIN line at its supply's volts - shows no change of current by
// which it would be looked at when that supply is lost.
void FaultBench::list_idle_at_rest() {
  for (const std::size_t i : stateful_.fast)
    if (is_idle_diode(model_, rest_.point(), states_, i)) idle_at_rest_.push_back(i);
}

void FaultBench::note_idle_at_rest() {
  const View view(*this);
  const auto moved = [&](NodeId node) {
    const double at_rest = rest_.point().volts(node);
    return std::abs(view.volts(node) - at_rest) > kIdleMoved * std::abs(at_rest);
  };
  for (const std::size_t i : idle_at_rest_)
    if (branch_noted_[i] == 0 && (moved(model_.branches[i].a) || moved(model_.branches[i].b)))
      for (const std::uint32_t w : watch_of_[i]) note_watch(w);
}

// In the moment before any relay comes in, a contact that is closed at rest of its coil feeds what it does not feed
// later: a short there melts a fuse first. Nothing of that is seen from the vehicle at work.
void FaultBench::list_fed_early() {
  for (std::size_t i = 0; i < base_branches_; ++i) {
    const Branch& b = model_.branches[i];
    if (b.kind != ElementKind::kRelayContact || !b.normally_closed || b.force >= 0 || states_.on[b.control] == 0)
      continue;
    if (fed_early_.empty()) fed_early_.assign(model_.nodes, 0);
    latches_.mark_metal(b.a, fed_early_);
    latches_.mark_metal(b.b, fed_early_);
  }
}

bool FaultBench::is_fed_early() {
  return !fed_early_.empty() &&
         fault_touches([&](NodeId node) { return !node.is_none() && fed_early_[node.index()] != 0; });
}

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
    const auto bears = [&](NodeId node) {
      return model_.branches[watch.index].kind == ElementKind::kDriver ? latches_.bears_on_input(watch.index, node)
                                                                       : latches_.bears_on_coil(watch.index, node);
    };
    if (watch.kind == Watch::Kind::kModule ? bears_on(watch.index) : fault_touches(bears)) note_watch(w);
  }
}

void FaultBench::list_holders() {
  const std::vector<Watch>& all = rest_.watches().all();
  for (std::uint32_t w = 0; w < all.size(); ++w) {
    const std::size_t i = all[w].index;
    if (all[w].kind == Watch::Kind::kModule) {
      if (states_.alive[i] != 0 && drives(i) && latches_.module_may_hold(i)) holders_.push_back(w);
    } else if (all[w].kind == Watch::Kind::kMiddle && states_.on[i] != 0) {
      const ElementKind kind = model_.branches[i].kind;
      const bool holds =
          kind == ElementKind::kRelayCoil
              ? latches_.coil_may_hold(i)
              : kind == ElementKind::kDriver && !model_.branches[i].commanded && latches_.driver_may_hold(i);
      if (holds) holders_.push_back(w);
    }
  }
}

bool FaultBench::may_be_held(std::size_t i, bool anew) {
  const Branch& b = model_.branches[i];
  const View view(*this);
  if (b.kind == ElementKind::kRatio)  // little current holds it only by a fault in its own supply
    return b.force != 0 && (anew || std::abs(view.amperes(i)) > kSensorOutputA ||
                            fault_touches([&](NodeId node) { return latches_.bears_on_input(i, node); }));
  if (b.kind == ElementKind::kDriver)
    return !b.commanded && !b.c.is_none() && (anew || latches_.driver_may_hold(i, fault_joins_));
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

// Does it give anything now: by an output that is on, or by a rail where a fault joins something?
bool FaultBench::drives(std::size_t module) const {
  const std::vector<std::uint32_t>& hangs = hangs_on_module_[module];
  return std::any_of(hangs.begin(), hangs.end(), [&](std::uint32_t i) {
    return model_.branches[i].kind == ElementKind::kRail ? !fault_joins_.empty() : states_.on[i] != 0;
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
  if (b.kind == ElementKind::kDriver) {
    if (in.states().alive[b.module.index()] == 0) return false;
    const double v = in.together(b.c, b.d) ? in.volts(b.c) - in.volts(b.d) : 0.0;
    return b.follows_below ? v < b.follows_v : v > b.follows_v;
  }
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
      if (watch.kind == Watch::Kind::kModule) {
        off.dead[watch.index] = 1;
        continue;
      }
      if (off.branches[watch.index].kind == ElementKind::kDriver)
        off.branches[watch.index].c = {};  // follows nothing
      else
        off.branches[watch.index].volt = off.branches[watch.index].drop_out_v = kNeverComesIn;  // it draws its current
    }
    holders_off_ = std::make_unique<FaultBench>(std::move(off), system_volts_);
  }
  return holders_off_->status() == Status::kSettled;
}

// ---- from off
// ---------------------------------------------------------------------------------------------------

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

}  // namespace halfsplit::electrical
