// SPDX-License-Identifier: Apache-2.0
#include "app/standing.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "app/words.h"
#include "candidates/generate.h"
#include "candidates/state.h"
#include "electrical/latches.h"
#include "electrical/rests.h"
#include "predict/circuit_view.h"
#include "predict/observe.h"

namespace halfsplit::app {

namespace {

using circuit::Configuration;
using circuit::ElementKind;
using electrical::Model;
using electrical::Moving;
using electrical::OperatingPoint;
using electrical::Status;

// What may be spent: solves times branches, by check in all and by expect on one reading. A large vehicle gets fewer
// states and fewer starts in each.
constexpr std::size_t kEffortOfCheck = 100000;
constexpr std::size_t kEffortOfReading = 30000;
constexpr std::size_t kLeastStates = 2;  // of the vehicle: at work, parked
constexpr std::size_t kMostStates = 24;
constexpr std::size_t kStartsEach = 8;

std::size_t solves_for(std::size_t effort, std::size_t branches) { return effort / std::max<std::size_t>(branches, 1); }

std::size_t most_turned_over(const Model& model) {
  return std::min(electrical::kMostTurnedOver, solves_for(kEffortOfReading, model.branches.size()));
}

Model model_of(const LoadedLoom& loom, const Configuration& configuration, const std::vector<fault::Change>& changes) {
  Model model = electrical::make_model(loom.loom, loom.netlist, configuration);
  electrical::apply_changes(model, electrical::remaining_changes(loom.netlist, configuration, changes));
  return model;
}

struct Effort {
  std::size_t states, starts;
};
// Where nothing on the drawing may hold itself, no other rest is looked for.
Effort effort_of_check(const LoadedLoom& loom) {
  const std::size_t branches = loom.netlist.elements.size();
  const Model work = model_of(loom, candidates::at_work(loom.loom), {});
  const std::size_t solves = solves_for(kEffortOfCheck, branches);
  const std::size_t states = std::clamp(solves / kStartsEach, kLeastStates, kMostStates);
  if (!electrical::Latches(work).anything_may_hold()) return {states, 0};
  return {states, std::min(electrical::kMostTurnedOver, solves / states)};
}

// What moves, by the drawing's name. Empty: a driver whose module moves as well, which says it all.
std::string name_of(const LoadedLoom& loom, const Moving& moving, std::size_t branch) {
  const circuit::Element& e = loom.netlist.elements.at(branch);
  if (e.kind != ElementKind::kDriver) return loom.loom.parts.at(e.part.index()).name;
  const bool with_module = std::find(moving.modules.begin(), moving.modules.end(), e.module) != moving.modules.end();
  return with_module ? "" : e.name;
}

std::string joined(const std::vector<std::string>& list) {
  std::string text;
  for (std::size_t i = 0; i < list.size(); ++i) text += (i == 0 ? "" : i + 1 == list.size() ? " and " : ", ") + list[i];
  return text;
}

bool is_relay(const LoadedLoom& loom, std::size_t branch) {
  return loom.netlist.elements.at(branch).kind == ElementKind::kRelayCoil;
}

// How `other` stands where it differs: "K1 is already in and ECU is already awake".
std::string when_text(const LoadedLoom& loom, const Moving& moving, const electrical::States& other) {
  std::vector<std::string> parts;
  for (const std::size_t i : moving.branches) {
    const std::string name = name_of(loom, moving, i);
    const bool on = other.on[i] != 0;
    if (!name.empty())
      parts.push_back(name + (is_relay(loom, i) ? (on ? " is already in" : " is out")
                              : on              ? " is already on"
                                                : " is off"));
  }
  for (const circuit::ModuleId m : moving.modules)
    parts.push_back(loom.loom.modules.at(m.index()).name +
                    (other.alive[m.index()] != 0 ? " is already awake" : " is asleep"));
  return joined(parts);
}

std::string going_round(const LoadedLoom& loom, const Moving& moving) {
  std::vector<std::string> parts;
  for (const std::size_t i : moving.branches)
    if (const std::string name = name_of(loom, moving, i); !name.empty())
      parts.push_back(name + (is_relay(loom, i) ? " goes in and out" : " goes on and off"));
  for (const circuit::ModuleId m : moving.modules)
    parts.push_back(loom.loom.modules.at(m.index()).name + " wakes and drops out");
  return joined(parts);
}

// Do two predictions read the same, as far as anybody could see?
bool reads_alike(const evidence::Observable& what, const evidence::Prediction& one, const evidence::Prediction& two) {
  if (one.settled != two.settled || one.components.empty() != two.components.empty()) return false;
  if (one.components.empty()) return true;
  const evidence::Component& a = one.components.front();
  const evidence::Component& b = two.components.front();
  if (!evidence::is_numeric(what.kind)) {
    for (std::size_t i = 0; i < a.category.size(); ++i)
      if (std::abs(a.category[i] - b.category[i]) > 0.05F) return false;
    return true;
  }
  if (a.over_range != b.over_range) return false;
  return a.over_range || std::abs(a.mean - b.mean) <= std::max(2.0 * b.sigma, 0.01 * std::abs(a.mean));
}

// States of the vehicle worth a look: parked, at work, at work without one of its setups, each setup alone.
std::vector<Configuration> states_to_check(const LoadedLoom& loom, std::size_t most) {
  const Configuration work = candidates::at_work(loom.loom);
  std::vector<Configuration> states{work};
  const auto add = [&](const Configuration& state) {
    if (states.size() < most && std::find(states.begin(), states.end(), state) == states.end()) states.push_back(state);
  };
  add({});
  for (const circuit::SetupId setup : loom.loom.in_use) {
    Configuration without = work;
    without.made.erase(setup);
    add(without);
  }
  for (std::size_t i = 0; i < loom.loom.setups.size(); ++i) {
    Configuration alone;
    alone.made = {circuit::SetupId(i)};
    if (candidates::is_electrical(loom.loom, circuit::SetupId(i))) add(alone);
  }
  return states;
}

const base::Span& span_of(const LoadedLoom& loom, const Moving& moving) {
  if (moving.branches.empty()) return loom.loom.modules.at(moving.modules.front().index()).where;
  const circuit::Element& e = loom.netlist.elements.at(moving.branches.front());
  return e.kind == ElementKind::kDriver ? loom.loom.modules.at(e.module.index()).where
                                        : loom.loom.parts.at(e.part.index()).where;
}

base::Diagnostic odd(const LoadedLoom& loom, const Moving& moving, const std::string& code, const std::string& message,
                     const std::string& hint) {
  base::Diagnostic d = base::make_warning(code, message, hint);
  d.where = span_of(loom, moving);
  return d;
}

// What goes off for good in a vehicle in order: fuses that melt, drivers that trip.
std::vector<base::Diagnostic> find_lost_in_order(const LoadedLoom& loom, const OperatingPoint& point,
                                                 const std::string& where, std::set<std::string>& said) {
  std::vector<base::Diagnostic> found;
  for (std::size_t i = 0; i < loom.netlist.elements.size(); ++i) {
    const circuit::Element& e = loom.netlist.elements[i];
    const bool fuse = e.kind == ElementKind::kFuse && point.states.on[i] == 0;
    const bool driver = e.kind == ElementKind::kDriver && point.states.tripped[i] != 0;
    if (!fuse && !driver) continue;
    Moving it;
    it.branches.push_back(i);
    const std::string what = fuse ? "fuse " + name_of(loom, it, i) + " melts" : "driver " + e.name + " trips";
    if (said.insert(what).second)
      found.push_back(odd(loom, it, "odd.melts-in-order", what + " with nothing wrong (" + where + ")",
                          std::string(fuse ? "check its rating" : "check its limit") +
                              ", and what hangs on it; until then every reading is predicted with it off"));
  }
  return found;
}

}  // namespace

std::vector<OtherRest> find_other_readings(BeliefEngine& engine, const predict::Case& which,
                                           const evidence::Observable& what, const evidence::Prediction& shown) {
  std::vector<OtherRest> found;
  const LoadedLoom& loom = engine.loom();
  if (!evidence::asks_the_circuit(what.kind)) return found;
  if (!engine.campaign().may_rest_otherwise(which, what.configuration)) return found;
  const std::vector<fault::Change> changes = engine.campaign().changes_of(which);
  const Model model = model_of(loom, what.configuration, changes);
  const OperatingPoint first = electrical::solve_operating_point(model);
  if (first.status != Status::kSettled) return found;
  Configuration at_work = candidates::at_work(loom.loom);
  at_work.swapped_parts = what.configuration.swapped_parts;
  at_work.swapped_modules = what.configuration.swapped_modules;
  const Model work = model_of(loom, at_work, changes);
  std::vector<fault::FaultId> faults;
  for (const auto& entry : which.faults) faults.push_back(entry.first);
  std::vector<electrical::States> starts;
  if (at_work != what.configuration) starts.push_back(electrical::solve_operating_point(work).states);
  const std::vector<OperatingPoint> others =
      electrical::find_other_rests(model, first, starts, most_turned_over(model));
  if (others.empty()) return found;
  predict::SlowView in_use(work, loom.loom.system_volts, changes);
  for (const OperatingPoint& other : others) {
    Model standing = model;
    standing.stood = other.states;
    predict::SlowView now(standing, loom.loom.system_volts, changes);
    OtherRest rest;
    rest.prediction = predict::observe(engine.campaign().scene(), {now, in_use}, what, faults);
    if (reads_alike(what, shown, rest.prediction)) continue;
    rest.when = when_text(loom, electrical::find_differences(model, first.states, other.states), other.states);
    found.push_back(std::move(rest));
  }
  return found;
}

std::string buzzing_text(BeliefEngine& engine, const predict::Case& which, const Configuration& configuration) {
  const LoadedLoom& loom = engine.loom();
  const Model model = model_of(loom, configuration, engine.campaign().changes_of(which));
  const OperatingPoint point = electrical::solve_operating_point(model);
  return point.status == Status::kUnsettled ? going_round(loom, electrical::find_buzzing(model, point)) : "";
}

std::vector<base::Diagnostic> find_odd_rests(const LoadedLoom& loom) {
  std::vector<base::Diagnostic> found;
  std::set<std::string> said;
  const Effort effort = effort_of_check(loom);
  for (const Configuration& state : states_to_check(loom, effort.states)) {
    const Model model = model_of(loom, state, {});
    const OperatingPoint first = electrical::solve_operating_point(model);
    const std::string where = configuration_text(loom, state);
    for (base::Diagnostic& d : find_lost_in_order(loom, first, where, said)) found.push_back(std::move(d));
    if (const Moving round = electrical::find_buzzing(model, first); !round.empty()) {
      const std::string what = going_round(loom, round);
      if (said.insert(what).second)
        found.push_back(odd(loom, round, "odd.no-rest", "the circuit finds no rest: " + what + " (" + where + ")",
                            "a coil on its own rest contact, or a module that starves itself? no reading can be "
                            "predicted in that state"));
    }
    if (effort.starts == 0) continue;
    for (const OperatingPoint& other : electrical::find_other_rests(model, first, {}, effort.starts)) {
      const Moving moving = electrical::find_differences(model, first.states, other.states);
      const std::string when = when_text(loom, moving, other.states);
      if (said.insert(when).second)
        found.push_back(odd(loom, moving, "odd.two-rests",
                            "the circuit can rest in two ways: as from power-up, or when " + when + " (" + where + ")",
                            "readings are predicted as from power-up; `expect` says what the other rest reads"));
    }
  }
  return found;
}

}  // namespace halfsplit::app
