// SPDX-License-Identifier: Apache-2.0
#include "tests/oracle/comparison.h"

#include <algorithm>
#include <cmath>
#include <iostream>
#include <iterator>

#include "circuit/part_kinds.h"
#include "tests/oracle/random_loom.h"

namespace halfsplit::oracle {

namespace {

using electrical::Instrument;
using electrical::Measured;

// A share of what is allowed: one part in a million of the reading, and for readings near nothing a hundredth of the
// finest digit (0.1 mV, 0.1 ohm) or a thousandth (10 mA). With filaments too: both sides solve them to the end.
double allowed(Instrument instrument, double value) {
  const double floor = instrument == Instrument::kOhms ? 1.0e-3 : instrument == Instrument::kClamp ? 1.0e-5 : 1.0e-6;
  return std::max(floor, 1.0e-6 * std::abs(value));
}

double difference(Instrument instrument, const Measured& ours, const Answer& theirs) {
  const bool unsettled = theirs.kind == Answer::Kind::kUnsettled;
  if (unsettled || !ours.settled) return unsettled && !ours.settled ? 0.0 : HUGE_VAL;
  if ((theirs.kind == Answer::Kind::kOverRange) != ours.over_range) return HUGE_VAL;
  if (ours.over_range) return 0.0;
  return std::abs(ours.value - theirs.value) / allowed(instrument, theirs.value);
}

std::string words(const Measured& m) {
  return !m.settled ? "unsettled" : m.over_range ? "OL" : std::to_string(m.value);
}
std::string words(const Answer& a) {
  if (a.kind == Answer::Kind::kUnsettled) return "unsettled";
  return a.kind == Answer::Kind::kOverRange ? "OL" : std::to_string(a.value);
}

bool leaves_something(const evidence::Prediction& prediction) {
  double sum = 0.0;
  for (const evidence::Component& component : prediction.components) sum += component.weight;
  return sum < 1.0 - 1.0e-9;
}

const char* word(Instrument instrument) {
  constexpr const char* kInstruments[] = {"volts", "ohms", "clamp", "test lamp"};
  return kInstruments[static_cast<std::size_t>(instrument)];
}

}  // namespace

Comparison::Comparison(Ngspice& spice, std::uint64_t seed, Tally& tally, bool show)
    : spice_(spice),
      seed_(seed),
      rng_(seed),
      loom_(make_random_loom(rng_)),
      netlist_(circuit::build_netlist(loom_)),
      universe_(fault::make_universe(loom_, netlist_)),
      campaign_(loom_, netlist_, universe_),
      tally_(tally),
      show_(show) {
  for (std::size_t i = 0; i < universe_.faults.size(); ++i)
    by_subject_[{subject_of(loom_, netlist_, universe_.faults[i]), universe_.faults[i].kind}].emplace_back(i);
}

void Comparison::run() {
  for (const circuit::Part& part : loom_.parts) tally_.met.note_part(std::string(circuit::part_kind(part.kind).word));
  for (int c = 0; c < 2; ++c) {
    Trial trial;
    trial.configuration = make_random_configuration(rng_, loom_, netlist_);
    electrical::FaultBench bench(electrical::make_model(loom_, netlist_, trial.configuration), loom_.system_volts);
    for (int f = 0; f < 3; ++f) {
      if (f > 0) choose_faults(trial);
      trial.meter = make_random_meter(rng_, netlist_);
      compare(trial, bench);
    }
  }
}

// ---- what is wrong
// --------------------------------------------------------------------------------------------------------------

void Comparison::choose_faults(Trial& trial) {
  trial.faults.assign(1, choose_fault());
  if (!rng_.chance(0.15)) return;
  const Trial::Wrong second = choose_fault();
  if (!(second.fault->item == trial.faults[0].fault->item)) trial.faults.push_back(second);
}

// What it sits on and its kind first, so that the rare ones come up.
Trial::Wrong Comparison::choose_fault() {
  auto at = by_subject_.begin();
  std::advance(at, static_cast<long>(rng_.below(by_subject_.size())));
  Trial::Wrong wrong;
  wrong.id = at->second[rng_.below(at->second.size())];
  wrong.fault = &universe_.faults[wrong.id.index()];
  wrong.quantile = rng_.uniform();
  wrong.severity = fault::severity_at(*wrong.fault, wrong.quantile);
  tally_.met.note_fault(at->first.first, at->first.second);
  return wrong;
}

std::vector<fault::Change> Comparison::changes_of(const Trial& trial) const {
  std::vector<fault::Change> all;
  for (const Trial::Wrong& wrong : trial.faults)
    for (const fault::Change& change : fault::changes_of(netlist_, *wrong.fault, wrong.severity)) all.push_back(change);
  return electrical::remaining_changes(netlist_, trial.configuration, std::move(all));
}

// ---- both solving paths
// ---------------------------------------------------------------------------------------------------------

void Comparison::compare(const Trial& trial, electrical::FaultBench& bench) {
  const Instrument instrument = trial.meter.instrument;
  const electrical::Probe probe{instrument, trial.meter.red, trial.meter.black, trial.meter.wire.index()};
  const std::vector<fault::Change> changes = changes_of(trial);
  electrical::Model model = electrical::make_model(loom_, netlist_, trial.configuration);
  electrical::apply_changes(model, changes);
  const Measured slow = electrical::measure(model, probe, loom_.system_volts);
  bench.put_fault(changes);
  const Measured fast = bench.read(probe, {}).measured;

  SpiceOracle oracle(spice_, loom_, netlist_, trial.configuration);
  for (const Trial::Wrong& wrong : trial.faults) oracle.put_fault(*wrong.fault, wrong.severity);
  Answer theirs = oracle.read(trial.meter);
  if (theirs.kind == Answer::Kind::kNoAnswer || difference(instrument, slow, theirs) > 1.0 ||
      difference(instrument, fast, theirs) > 1.0) {
    ++tally_.solved_finer;
    oracle.be_fine();
    theirs = oracle.read(trial.meter);
  }
  if (theirs.kind == Answer::Kind::kNoAnswer) return say_no_answer(oracle);
  count(trial, oracle, theirs);
  const double slow_difference = difference(instrument, slow, theirs);
  // What from power-up goes round in a circle may rest in use: the fast path may then show where.
  double fast_difference = slow.settled ? difference(instrument, fast, theirs) : 0.0;
  if (slow_difference <= 1.0 && fast_difference > 1.0 && rests_there_too(model, probe, bench, fast)) {
    ++tally_.latched;
    return;
  }
  tally_.worst_slow = std::max(tally_.worst_slow, slow_difference);
  tally_.worst_fast = std::max(tally_.worst_fast, fast_difference);
  if (slow_difference <= 1.0 && fast_difference <= 1.0) return compare_prediction(trial, oracle, theirs);
  ++tally_.apart;
  std::cout << "apart: " << describe(trial) << ": ngspice " << words(theirs) << ", slow " << words(slow) << ", fast "
            << words(fast) << "\n";
  if (show_) show(oracle, model);
}

// Few circuits rest in two ways (a driver that holds its own module's supply up, say): the slow path and ngspice say
// where they come to rest from power-up, the fast path where they stay in use. Both must be rests of the same
// circuit.
bool Comparison::rests_there_too(electrical::Model model, const electrical::Probe& probe,
                                 const electrical::FaultBench& bench, const Measured& fast) const {
  if (!fast.settled || fast.over_range) return false;
  double ampere = 1.0;
  if (probe.instrument == Instrument::kOhms) {
    ampere = meters::test_current(*probe.meter, meters::range_of(*probe.meter, probe.instrument, fast.value));
    model.branches.push_back(electrical::test_current_branch(probe, ampere));
  } else if (probe.instrument != Instrument::kClamp) {
    model.branches.push_back(electrical::meter_branch(probe, loom_.system_volts));
  }
  electrical::States in_use = bench.states();
  in_use.on.resize(model.branches.size(), 0);
  in_use.tripped.resize(model.branches.size(), 0);
  in_use.lamp_v.resize(model.branches.size(), 0.0);
  const electrical::OperatingPoint rest = electrical::solve_operating_point(model, in_use);
  if (rest.status != electrical::Status::kSettled) return false;
  const double value = probe.instrument == Instrument::kClamp
                           ? rest.amperes(probe.branch)
                           : (rest.volts(probe.red) - rest.volts(probe.black)) / ampere;
  return std::abs(value - fast.value) <=
         std::max(probe.instrument == Instrument::kOhms ? 1.0e-3 : 1.0e-6, 1.0e-6 * std::abs(value));
}

// ---- the campaign
// ---------------------------------------------------------------------------------------------------------------

// The page, section 8: what melts at work with these faults in, nothing swapped, is open in every other state.
std::vector<circuit::ElementId> Comparison::melted_at_work(const Trial& trial) {
  if (trial.faults.empty() || loom_.in_use.empty()) return {};
  circuit::Configuration work;
  work.made.insert(loom_.in_use.begin(), loom_.in_use.end());
  SpiceOracle oracle(spice_, loom_, netlist_, work);
  for (const Trial::Wrong& wrong : trial.faults) oracle.put_fault(*wrong.fault, wrong.severity);
  return oracle.melted_at_rest();
}

// A meter at points of the drawing; none where an element's end has no point, and no test lamp (its answer is a word).
bool Comparison::observable_of(const Trial& trial, evidence::Observable& what) const {
  const auto point_at = [&](circuit::NodeId node) {
    for (std::size_t i = 0; i < netlist_.points.size(); ++i)
      if (netlist_.points[i].node == node) return circuit::PointId(i);
    return circuit::PointId();
  };
  what.configuration = trial.configuration;
  if (trial.meter.instrument == Instrument::kClamp) {
    what.kind = evidence::Kind::kClamp;
    const auto at = std::find(netlist_.wire_elements.begin(), netlist_.wire_elements.end(), trial.meter.wire);
    what.wire = circuit::WireId(static_cast<std::size_t>(at - netlist_.wire_elements.begin()));
    return true;
  }
  what.kind = trial.meter.instrument == Instrument::kOhms ? evidence::Kind::kOhms : evidence::Kind::kVolts;
  what.red = point_at(trial.meter.red);
  what.black = point_at(trial.meter.black);
  return trial.meter.instrument != Instrument::kTestLamp && !what.red.is_none() && !what.black.is_none();
}

void Comparison::compare_prediction(const Trial& trial, const SpiceOracle& oracle, const Answer& theirs) {
  evidence::Observable what;
  if (!observable_of(trial, what)) return;
  Answer melted = theirs;
  SpiceOracle again = oracle;
  bool open = false;
  for (const circuit::ElementId fuse : melted_at_work(trial)) open = again.open_for_good(fuse) || open;
  if (open) {
    tally_.met.note_state("fuse melted at work");
    again.be_fine();
    melted = again.read(trial.meter);
    if (melted.kind == Answer::Kind::kNoAnswer) return say_no_answer(again);
  }
  predict::Case which;
  for (const Trial::Wrong& wrong : trial.faults) which.faults.emplace_back(wrong.id, wrong.quantile);
  const evidence::Prediction predicted = campaign_.predict_one(which, what);
  // Of a fault that comes and goes, the moment in which it is there comes first.
  Measured ours;
  ours.settled = predicted.settled && !predicted.components.empty();
  if (ours.settled) ours.over_range = predicted.components.front().over_range;
  if (ours.settled) ours.value = predicted.components.front().mean;
  // A moment without rest is what the parts of a mixture leave over. What from power-up goes round in a circle may rest
  // in use.
  if (melted.kind == Answer::Kind::kUnsettled && predicted.settled && leaves_something(predicted)) return;
  if (melted.kind == Answer::Kind::kUnsettled && predicted.settled) return void(++tally_.rests_in_use);
  const double apart = difference(trial.meter.instrument, ours, melted);
  ++tally_.predicted;
  tally_.worst_predicted = std::max(tally_.worst_predicted, apart);
  if (apart <= 1.0) return;
  ++tally_.apart;
  std::cout << "prediction apart: " << describe(trial) << ": ngspice " << words(melted)
            << (open ? " (fuse melted)" : "") << ", campaign " << words(ours) << "\n";
}

// ---- what is told
// ---------------------------------------------------------------------------------------------------------------

void Comparison::count(const Trial& trial, const SpiceOracle& oracle, const Answer& theirs) {
  Coverage& met = tally_.met;
  if (theirs.kind == Answer::Kind::kValue) ++tally_.values;
  if (theirs.kind == Answer::Kind::kOverRange) ++tally_.over_range;
  if (theirs.kind == Answer::Kind::kUnsettled) ++tally_.unsettled;
  met.note_configuration(trial.configuration);
  met.note_state(word(trial.meter.instrument));
  if (theirs.kind == Answer::Kind::kOverRange) met.note_state("ohms OL");
  if (trial.faults.size() > 1) met.note_state("two faults");
  if (theirs.kind == Answer::Kind::kUnsettled) return met.note_state("no rest");
  oracle.note_states(met);
}

std::string Comparison::describe(const Trial& trial) const {
  const Meter& m = trial.meter;
  std::string text = "seed " + std::to_string(seed_) + ", ";
  for (const Trial::Wrong& wrong : trial.faults)
    text += wrong.fault->name + " severity " + std::to_string(wrong.severity) + ", ";
  text += std::string(word(m.instrument)) + " ";
  if (m.instrument == Instrument::kClamp) return text + netlist_.elements[m.wire.index()].name;
  return text + netlist_.node_names[m.red.index()] + " / " + netlist_.node_names[m.black.index()];
}

void Comparison::say_no_answer(const SpiceOracle& oracle) {
  ++tally_.without_answer;
  std::cout << "no answer from ngspice: seed " << seed_ << "\n";
  if (!show_) return;
  std::cout << spice_.said() << "\n";
  for (const std::string& line : oracle.lines()) std::cout << "    " << line << "\n";
}

// What stands otherwise in our circuit at rest, and the circuit of the other side.
void Comparison::show(const SpiceOracle& oracle, const electrical::Model& model) const {
  const electrical::OperatingPoint rest = electrical::solve_operating_point(model);
  for (std::size_t i = 0; i < netlist_.elements.size(); ++i)
    if (oracle.carries(circuit::ElementId(i)) != rest.laws.at(i).conducts())
      std::cout << "    without the meter, ours " << (rest.laws[i].conducts() ? "carries " : "does not carry ")
                << netlist_.elements[i].name << "\n";
  for (const std::string& line : oracle.lines()) std::cout << "    " << line << "\n";
}

}  // namespace halfsplit::oracle
