// SPDX-License-Identifier: Apache-2.0
// Meters on a circuit with a fault in it. A meter sees the circuit as a source behind a resistance (Thevenin); where
// its own effect cannot move any state, the reading follows from those two numbers. Everywhere else the meter becomes a
// branch like any other and the states go on from where they stand.
//
// No change at the probes moves any volts by more than it moves the probes' own, nor any current by more than flows in
// them: a resistive circuit does not amplify. An ohmmeter that reads within its range holds the probes below its full
// scale; so where every state nearby is further than that from moving, the circuit answers as a plain resistance.
#include <algorithm>
#include <cmath>
#include <utility>

#include "base/check.h"
#include "electrical/fault_bench.h"

namespace halfsplit::electrical {

namespace {

using circuit::ElementKind;

constexpr double kFarAllowedToMeter = 0.25;  // of the margin of states that are not looked at, by the meter alone
constexpr double kNearAllowed = 0.5;
constexpr std::size_t kManyUpdates = 64;
constexpr std::size_t kManyReads = 12;
constexpr double kFarOver = 2.0;  // of the last range: a spread that far above it is not asked for
constexpr int kFilamentSteps = 60;
constexpr double kFilamentSlack = 1.0e-13;  // of the rated volts

}  // namespace

double FaultBench::volts(NodeId node) const { return own_ ? own_->volts(node) : View(*this).volts(node); }
double FaultBench::amperes(std::size_t branch) const {
  return own_ ? own_->amperes(branch) : View(*this).amperes(branch);
}
const States& FaultBench::states() const { return own_ ? own_->states() : states_; }
bool FaultBench::together(NodeId a, NodeId b) const { return own_ ? own_->together(a, b) : View(*this).together(a, b); }

Predicted FaultBench::evaluate(const Functional& functional, const Tolerances& tolerance) {
  if (own_) return own_->evaluate(functional, tolerance);
  Predicted predicted;
  predicted.measured.settled = fault_status_ == Status::kSettled;
  if (!predicted.measured.settled) return predicted;
  if (functional.current) {
    predicted.measured.value = amperes(functional.branch);
  } else {
    const bool apart =
        !functional.red.is_none() && !functional.black.is_none() && !together(functional.red, functional.black);
    if (apart) return predicted;
    predicted.measured.value = volts(functional.red) - volts(functional.black);
  }
  if (!tolerance.empty()) predicted.sigma = spread(functional, tolerance);
  return predicted;
}

Predicted FaultBench::read(const Probe& probe, const Tolerances& tolerance) {
  // A fault of many updates that is asked again and again is worth a factorisation of its own.
  if (!own_ && fault_status_ == Status::kSettled && updates_.size() > kManyUpdates && ++reads_ == kManyReads)
    static_cast<void>(stand_apart());
  if (own_) return own_->read(probe, tolerance);
  if (fault_status_ != Status::kSettled) return {{false, false, 0.0}, 0.0};
  prepare();
  const bool ohms = probe.instrument == Instrument::kOhms;
  if (probe.instrument == Instrument::kClamp) return evaluate({{}, {}, probe.branch, true}, tolerance);
  if (probe.red == probe.black) return {{true, false, ohms ? probe.meter->lead_ohm : 0.0}, 0.0};
  if (!together(probe.red, probe.black)) {
    if (ohms) return {{true, true, 0.0}, 0.0};
    if (stay_apart(probe.red, probe.black)) return {};
    return read_with(meter_branch(probe, system_volts_), probe, tolerance);
  }
  const Thevenin into = look_into(probe.red, probe.black);
  if (const Predicted* same = as_at_rest(into, probe, tolerance)) return *same;
  meter_moved_ = false;
  std::optional<Predicted> predicted;
  if (std::isfinite(into.ohm) && into.ohm >= 0.0) predicted = read_quickly(into, probe, tolerance);
  if (!predicted)
    predicted = ohms ? read_ohms(probe, tolerance) : read_with(meter_branch(probe, system_volts_), probe, tolerance);
  keep_at_rest(into, probe, tolerance, *predicted);
  return *predicted;
}

// A meter between two islands carries no current, and shows nothing - but by the meter the one is held against the
// other, and a diode or a module between them may come to carry something.
bool FaultBench::stay_apart(NodeId red, NodeId black) const {
  const View view(*this);
  const auto at_probe = [&](NodeId node) { return view.together(node, red) || view.together(node, black); };
  const auto spans = [&](NodeId a, NodeId b) {
    return !a.is_none() && !b.is_none() && !view.together(a, b) && (at_probe(a) || at_probe(b));
  };
  const auto watch_spans = [&](std::uint32_t w) { return spans(rest_.watches()[w].a, rest_.watches()[w].b); };
  return std::none_of(stateful_.fast.begin(), stateful_.fast.end(),
                      [&](std::size_t i) {
                        const Branch& b = model_.branches[i];
                        return b.kind == ElementKind::kDiode && spans(b.a, b.b);
                      }) &&
         std::none_of(apart_.begin(), apart_.end(), watch_spans) &&
         std::none_of(noted_watches_.begin(), noted_watches_.end(), watch_spans);
}

// ---- as a source behind a resistance
// -------------------------------------------------------------------------------------------

// Of nodes of one island.
FaultBench::Thevenin FaultBench::look_into(NodeId red, NodeId black) {
  const View view(*this);
  Thevenin into;
  into.port = &rest_.injection(red, black);
  const sparse::Half& across = rest_.across(red, black);
  const std::size_t k = updates_.size();
  into.open_volts = view.volts(red) - view.volts(black);
  std::vector<long double> column(k, 0.0L), row(k, 0.0L);
  const auto any = [](const std::vector<long double>& some) {
    return std::any_of(some.begin(), some.end(), [](long double x) { return x != 0.0L; });
  };
  work_.clear();
  work_.add(into.port->left, 1.0);
  long double ohm = work_.dot(across);
  for (std::size_t i = 0; i < k; ++i) column[i] = law_on(updates_[i], work_);
  if (any(column)) unmix(column);
  work_.clear();
  work_.add(across, 1.0);
  for (std::size_t j = 0; j < k; ++j) {
    row[j] = work_.dot(updates_[j].port->left);
    ohm -= column[j] * row[j];
  }
  work_.clear();
  if (any(row)) unmix_transposed(row);
  into.column.assign(column.begin(), column.end());
  into.row.assign(row.begin(), row.end());
  into.ohm = static_cast<double>(ohm);
  return into;
}

void FaultBench::measure_margins() {
  if (least_volt_ >= 0.0) return;
  least_volt_ = least_ampere_ = 1.0e300;
  const View view(*this);
  for (const std::uint32_t w : noted_watches_) {
    const Watch& watch = rest_.watches()[w];
    const double margin = std::max(0.0, margin_of(model_, states_, view, watch));
    double& least = margin_is_current(model_, states_, watch) ? least_ampere_ : least_volt_;
    least = std::min(least, margin);
  }
}

// Does a change at the probes of so many volts and amperes leave every state where it is? First by what no state can
// exceed; where that is too much for one, by what the change does to each. A test lamp draws enough for each filament
// nearby to be looked at.
bool FaultBench::harmless(const Thevenin& into, double volt, double ampere, bool each_filament) {
  measure_margins();
  const Watches& watches = rest_.watches();
  const auto too_much = [&](std::uint32_t w) {
    return watch_noted_[w] == 0 && (watches[w].ampere ? ampere : volt) > kNearAllowed * watches[w].margin;
  };
  const bool surely = volt <= least_volt_ && ampere <= least_ampere_ &&
                      (all_noted_ || std::none_of(into.port->near.begin(), into.port->near.end(), too_much));
  if (surely && all_noted_ && !each_filament) return true;
  if (surely && !each_filament && volt < kNearAllowed * watches.least_volt() &&
      ampere < kNearAllowed * watches.least_ampere())
    return true;
  // No more flows than the volts drive through what the probes see.
  const double flows = into.ohm > 0.0 ? std::min(ampere, volt / into.ohm) : ampere;
  work_.clear();
  work_.add(into.port->left, flows);
  for (std::size_t j = 0; j < updates_.size(); ++j)
    if (into.column[j] != 0.0) work_.add(updates_[j].port->left, -flows * into.column[j]);
  moved_.clear();
  const auto moves = [&](std::uint32_t w) {
    const bool lamp = is_lamp(w);
    const double most = lamp ? still_volts(w) : kNearAllowed * watches[w].margin;
    const bool asked = watch_noted_[w] == 0 && (lamp && each_filament);
    return (asked || too_much(w)) && std::abs(watches.shift(w, work_)) > most;
  };
  const bool near_stay =
      (surely && !each_filament) || (near_states_stay(volt, ampere, each_filament) &&
                                     std::none_of(into.port->near.begin(), into.port->near.end(), moves));
  if (near_stay && !all_noted_) watches.move(work_, watch_noted_, kFarAllowedToMeter, moved_);
  work_.clear();
  return near_stay && moved_.empty();
}

// Of the states looked at: does the change laid out in work_ leave each within half its margin?
bool FaultBench::near_states_stay(double volt, double ampere, bool each_filament) {
  const View view(*this);
  return std::all_of(noted_watches_.begin(), noted_watches_.end(), [&](std::uint32_t w) {
    const Watch& watch = rest_.watches()[w];
    const bool current = margin_is_current(model_, states_, watch);
    const double margin = std::max(0.0, margin_of(model_, states_, view, watch));
    const bool lamp = is_lamp(w);
    if ((current ? ampere : volt) <= margin && !(lamp && each_filament)) return true;
    if (lamp) return std::abs(rest_.watches().shift(w, work_)) <= still_volts(w);
    if (current == watch.ampere) return std::abs(rest_.watches().shift(w, work_)) <= kNearAllowed * margin;
    const Branch& b = model_.branches[watch.index];
    const sparse::Half& half = current ? rest_.current(watch.index) : rest_.across(b.a, b.b);
    return std::abs(static_cast<double>(work_.dot(half))) <= kNearAllowed * margin;
  });
}

std::optional<Predicted> FaultBench::read_quickly(const Thevenin& into, const Probe& probe,
                                                  const Tolerances& tolerance) {
  switch (probe.instrument) {
    case Instrument::kOhms:
      return read_ohms_quickly(into, probe, tolerance);
    case Instrument::kTestLamp:
      return read_lamp_quickly(into, probe, tolerance);
    default:
      return read_volts_quickly(into, probe, tolerance);
  }
}

std::optional<Predicted> FaultBench::read_volts_quickly(const Thevenin& into, const Probe& probe,
                                                        const Tolerances& tolerance) {
  const Branch meter = meter_branch(probe, system_volts_);
  const double ampere = into.open_volts / (meter.ohm + into.ohm);
  if (!harmless(into, 2.0 * std::abs(ampere) * into.ohm, 2.0 * std::abs(ampere))) return std::nullopt;
  Predicted predicted;
  predicted.measured.value = ampere * meter.ohm;
  if (!tolerance.empty())
    predicted.sigma =
        spread_with(into, {meter, {1.0, 0.0, -meter.ohm, 0.0}, -ampere, meter.ohm + into.ohm}, probe, tolerance);
  return predicted;
}

// A filament behind a resistance: v + ohm * I(v) = open volts. I bends downwards, so that Newton's steps from zero come
// from one side.
std::optional<Predicted> FaultBench::read_lamp_quickly(const Thevenin& into, const Probe& probe,
                                                       const Tolerances& tolerance) {
  const Branch lamp = meter_branch(probe, system_volts_);
  double v = 0.0;
  for (int step = 0; step < kFilamentSteps; ++step) {
    const double error = into.open_volts - v - into.ohm * lamp_current(lamp, v);
    v += error / (1.0 + into.ohm * lamp_slope(lamp, v));
    if (std::abs(error) <= kFilamentSlack * lamp.volt) break;
  }
  const double ampere = lamp_current(lamp, v);
  if (!harmless(into, 2.0 * std::abs(ampere) * into.ohm, 2.0 * std::abs(ampere), true)) return std::nullopt;
  Predicted predicted;
  predicted.measured.value = v;
  if (tolerance.empty()) return predicted;
  const double ohm = 1.0 / lamp_slope(lamp, v);  // of its tangent there
  predicted.sigma =
      spread_with(into, {lamp, {1.0, 0.0, -ohm, v - ohm * ampere}, -ampere, ohm + into.ohm}, probe, tolerance);
  return predicted;
}

std::optional<Predicted> FaultBench::read_ohms_quickly(const Thevenin& into, const Probe& probe,
                                                       const Tolerances& tolerance) {
  if (std::abs(into.open_volts) > probe.meter->live_v) return Predicted{{true, true, 0.0}, 0.0};
  const MeterProfile& meter = *probe.meter;
  const double most_volt = meter.full_scale_v + meter.live_v;
  if (!harmless(into, most_volt, meters::test_current(meter, meter.ohms.front()))) return std::nullopt;
  for (const MeterRange& range : meter.ohms) {
    const double ampere = meters::test_current(meter, range);
    const double ohm = into.ohm + into.open_volts / ampere + meter.lead_ohm;
    const bool last = range == meter.ohms.back();
    if (ohm > range.up_to && !last) continue;
    Predicted predicted;
    predicted.measured.over_range = ohm > range.up_to;
    (predicted.measured.over_range ? predicted.measured.ohm_over_range : predicted.measured.value) = ohm;
    if (!tolerance.empty() && ohm < kFarOver * range.up_to) {
      const MeterIn in{test_current_branch(probe, ampere), {0.0, 0.0, 1.0, -ampere}, ampere, -1.0L};
      predicted.sigma = spread_with(into, in, probe, tolerance) / ampere;
    }
    return predicted;
  }
  return std::nullopt;
}

// The spread of the volts between the probes with the meter in, its branch joined to the small system for the moment.
double FaultBench::spread_with(const Thevenin& into, const MeterIn& meter, const Probe& probe,
                               const Tolerances& tolerance) {
  const std::size_t k = updates_.size();
  const Vector coefficients = coefficients_;
  for (std::size_t i = 0; i < k; ++i) coefficients_[i] -= into.column[i] * meter.own;
  coefficients_.push_back(meter.own);
  model_.branches.push_back(meter.branch);
  Update update;
  update.kind = Update::Kind::kInjection;
  update.index = model_.branches.size() - 1;
  update.law = meter.law;
  update.a = probe.red;
  update.b = probe.black;
  update.port = into.port;
  updates_.push_back(update);
  // The volts' reach through the bordered matrix [W d; u s], by its inverse in blocks: a voltmeter's law is
  // volts - ohm * I = 0, a test current's is I = inject, which volts do not move.
  const double seen = static_cast<double>(into.ohm / meter.pivot);
  Vector q = into.row;
  if (!meter.branch.source)
    for (double& each : q) each *= 1.0 - seen;
  q.push_back(seen);
  list_elements(tolerance);
  const double sigma = spread_reaching({probe.red, probe.black, 0, false}, q);
  updates_.pop_back();
  model_.branches.pop_back();
  coefficients_ = coefficients;
  return sigma;
}

// ---- as a branch of the circuit
// ------------------------------------------------------------------------------------------------

void FaultBench::push_meter(const Branch& branch) {
  model_.branches.push_back(branch);
  states_.on.push_back(0);
  states_.tripped.push_back(0);
  states_.lamp_v.push_back(0.0);
  if (branch.kind == ElementKind::kLamp) near_.fast.push_back(model_.branches.size() - 1);
}

void FaultBench::pop_meter() {
  std::erase(near_.fast, model_.branches.size() - 1);
  model_.branches.pop_back();
}

Predicted FaultBench::read_with(const Branch& branch, const Probe& probe, const Tolerances& tolerance) {
  ++counts_.general_reads;
  const States before = states_;
  push_meter(branch);
  Predicted predicted;
  goes_on_ = true;
  metered_ = fault_status_ == Status::kSettled;
  const bool settled = settle();
  goes_on_ = metered_ = false;
  note_moved_by_meter(before);
  if (settled) {
    const View view(*this);
    predicted.measured.value = view.volts(probe.red) - view.volts(probe.black);
    if (!tolerance.empty()) predicted.sigma = spread({probe.red, probe.black, 0, false}, tolerance);
    pop_meter();
  } else if (circled_ && fault_status_ == Status::kUnsettled) {
    pop_meter();  // it goes round with the meter as well
    predicted.measured.settled = false;
  } else {
    pop_meter();
    states_ = before;
    predicted = read_anew(branch, probe, tolerance);
  }
  states_ = before;
  HS_CHECK(solve_updates(), "a solved fault must solve again");
  return predicted;
}

// The circuit with the meter in it gets a factorisation of its own; its states go on from where they stand.
Predicted FaultBench::read_anew(const Branch& branch, const Probe& probe, const Tolerances& tolerance) {
  ++counts_.refactored;
  Model with = model_;
  with.branches.push_back(branch);
  with.stood = fitted_to(with, states_);
  return FaultBench(std::move(with), system_volts_).evaluate({probe.red, probe.black, 0, false}, tolerance);
}

Predicted FaultBench::read_ohms(const Probe& probe, const Tolerances& tolerance) {
  Predicted predicted;
  for (const MeterRange& range : probe.meter->ohms) {
    const double ampere = meters::test_current(*probe.meter, range);
    predicted = read_with(test_current_branch(probe, ampere), probe, tolerance);
    predicted.measured.value = predicted.measured.value / ampere + probe.meter->lead_ohm;
    predicted.sigma /= ampere;
    if (!predicted.measured.settled || predicted.measured.value <= range.up_to) return predicted;
  }
  predicted.measured.over_range = true;
  predicted.measured.ohm_over_range = std::exchange(predicted.measured.value, 0.0);
  return predicted;
}

}  // namespace halfsplit::electrical
