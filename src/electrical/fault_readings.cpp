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
  if (fault_status_ != Status::kSettled) {
    if (probe.instrument == Instrument::kOhms || probe.instrument == Instrument::kClamp)
      return {{false, false, 0.0}, 0.0};
    if (probe.red == probe.black) return {};
    const Branch meter = meter_branch(probe, system_volts_);  // it may settle the circuit
    return updates_.empty() ? read_anew(meter, probe, tolerance) : read_with(meter, probe, tolerance);
  }
  prepare();
  switch (probe.instrument) {
    case Instrument::kClamp:
      return evaluate({{}, {}, probe.branch, true}, tolerance);
    case Instrument::kOhms:
      if (const std::optional<Predicted> quick = read_ohms_quickly(probe, tolerance)) return *quick;
      return read_ohms(probe, tolerance);
    default:
      if (probe.red == probe.black) return {};
      if (const std::optional<Predicted> quick = read_volts_quickly(probe, tolerance)) return *quick;
      return read_with(meter_branch(probe, system_volts_), probe, tolerance);
  }
}

// ---- as a source behind a resistance
// -------------------------------------------------------------------------------------------

std::optional<FaultBench::Thevenin> FaultBench::look_into(NodeId red, NodeId black) {
  const View view(*this);
  if (!view.together(red, black)) return std::nullopt;
  Thevenin into;
  into.port = &rest_.injection(red, black);
  const sparse::Half& across = rest_.across(red, black);
  const std::size_t k = updates_.size();
  into.open_volts = view.volts(red) - view.volts(black);
  const std::vector<long double>& inverse = this->inverse();
  std::vector<long double> column(k, 0.0L);
  into.row.assign(k, 0.0);
  work_.clear();
  work_.add(into.port->left, 1.0);
  long double ohm = work_.dot(across);
  for (std::size_t i = 0; i < k; ++i) {
    const long double law = law_on(updates_[i], work_);
    if (law == 0.0L) continue;
    for (std::size_t j = 0; j < k; ++j) column[j] += inverse[j * k + i] * law;
  }
  work_.clear();
  work_.add(across, 1.0);
  for (std::size_t j = 0; j < k; ++j) {
    const long double u = work_.dot(updates_[j].port->left);
    if (u == 0.0L) continue;
    ohm -= column[j] * u;
    for (std::size_t i = 0; i < k; ++i) into.row[i] += static_cast<double>(u * inverse[j * k + i]);
  }
  work_.clear();
  into.column.assign(column.begin(), column.end());
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
// exceed; where that is too much for one, by what the change does to each.
bool FaultBench::harmless(const Thevenin& into, double volt, double ampere) {
  measure_margins();
  const Watches& watches = rest_.watches();
  const auto too_much = [&](std::uint32_t w) {
    return watch_noted_[w] == 0 && (watches[w].ampere ? ampere : volt) > kNearAllowed * watches[w].margin;
  };
  const bool surely = volt <= least_volt_ && ampere <= least_ampere_ &&
                      (all_noted_ || std::none_of(into.port->near.begin(), into.port->near.end(), too_much));
  if (surely && all_noted_) return true;
  if (surely && volt < kNearAllowed * watches.least_volt() && ampere < kNearAllowed * watches.least_ampere())
    return true;
  // No more flows than the volts drive through what the probes see.
  const double flows = into.ohm > 0.0 ? std::min(ampere, volt / into.ohm) : ampere;
  work_.clear();
  work_.add(into.port->left, flows);
  for (std::size_t j = 0; j < updates_.size(); ++j)
    if (into.column[j] != 0.0) work_.add(updates_[j].port->left, -flows * into.column[j]);
  moved_.clear();
  const auto moves = [&](std::uint32_t w) {
    const double most = is_lamp(w) ? still_volts(w) : kNearAllowed * watches[w].margin;
    return too_much(w) && std::abs(watches.shift(w, work_)) > most;
  };
  const bool near_stay =
      surely || (near_states_stay(volt, ampere) && std::none_of(into.port->near.begin(), into.port->near.end(), moves));
  if (near_stay && !all_noted_) watches.move(work_, watch_noted_, kFarAllowedToMeter, moved_);
  work_.clear();
  return near_stay && moved_.empty();
}

// Of the states looked at: does the change laid out in work_ leave each within half its margin?
bool FaultBench::near_states_stay(double volt, double ampere) {
  const View view(*this);
  return std::all_of(noted_watches_.begin(), noted_watches_.end(), [&](std::uint32_t w) {
    const Watch& watch = rest_.watches()[w];
    const bool current = margin_is_current(model_, states_, watch);
    const double margin = std::max(0.0, margin_of(model_, states_, view, watch));
    if ((current ? ampere : volt) <= margin) return true;
    if (is_lamp(w)) return std::abs(rest_.watches().shift(w, work_)) <= still_volts(w);
    if (current == watch.ampere) return std::abs(rest_.watches().shift(w, work_)) <= kNearAllowed * margin;
    const Branch& b = model_.branches[watch.index];
    const sparse::Half& half = current ? rest_.current(watch.index) : rest_.across(b.a, b.b);
    return std::abs(static_cast<double>(work_.dot(half))) <= kNearAllowed * margin;
  });
}

std::optional<Predicted> FaultBench::read_volts_quickly(const Probe& probe, const Tolerances& tolerance) {
  const Branch meter = meter_branch(probe, system_volts_);
  if (meter.kind != ElementKind::kResistor) return std::nullopt;
  const std::optional<Thevenin> into = look_into(probe.red, probe.black);
  if (!into || !std::isfinite(into->ohm) || into->ohm < 0.0) return std::nullopt;
  const double ampere = into->open_volts / (meter.ohm + into->ohm);
  if (!harmless(*into, 2.0 * std::abs(ampere) * into->ohm, 2.0 * std::abs(ampere))) return std::nullopt;
  Predicted predicted;
  predicted.measured.value = ampere * meter.ohm;
  if (!tolerance.empty()) predicted.sigma = spread_with(*into, meter, probe, tolerance);
  return predicted;
}

std::optional<Predicted> FaultBench::read_ohms_quickly(const Probe& probe, const Tolerances& tolerance) {
  if (probe.red == probe.black) return Predicted{{true, false, probe.meter->lead_ohm}, 0.0};
  const std::optional<Thevenin> into = look_into(probe.red, probe.black);
  if (!into) return Predicted{{true, true, 0.0}, 0.0};
  if (std::abs(into->open_volts) > probe.meter->live_v) return Predicted{{true, true, 0.0}, 0.0};
  if (!std::isfinite(into->ohm) || into->ohm < 0.0) return std::nullopt;
  const MeterProfile& meter = *probe.meter;
  const double most_volt = meter.full_scale_v + meter.live_v;
  if (!harmless(*into, most_volt, meters::test_current(meter, meter.ohms.front()))) return std::nullopt;
  for (const MeterRange& range : meter.ohms) {
    const double ampere = meters::test_current(meter, range);
    const double ohm = into->ohm + into->open_volts / ampere + meter.lead_ohm;
    const bool last = range == meter.ohms.back();
    if (ohm > range.up_to && !last) continue;
    Predicted predicted;
    predicted.measured.over_range = ohm > range.up_to;
    (predicted.measured.over_range ? predicted.measured.ohm_over_range : predicted.measured.value) = ohm;
    if (!tolerance.empty() && ohm < kFarOver * range.up_to)
      predicted.sigma = spread_with(*into, test_current_branch(probe, ampere), probe, tolerance) / ampere;
    return predicted;
  }
  return std::nullopt;
}

// The spread of the volts between the probes with the meter in, its branch joined to the small system for the moment.
double FaultBench::spread_with(const Thevenin& into, const Branch& meter, const Probe& probe,
                               const Tolerances& tolerance) {
  const std::size_t k = updates_.size();
  const std::vector<long double> inverse = this->inverse();
  const Vector coefficients = coefficients_;
  // Of the bordered matrix [W d; u s]: a voltmeter's law is volts - ohm * I = 0, a test current's is I = inject.
  const long double pivot = meter.source ? -1.0L : static_cast<long double>(meter.ohm) + into.ohm;
  const double own = meter.source ? meter.inject_a : static_cast<double>(-into.open_volts / pivot);
  inverse_.assign((k + 1) * (k + 1), 0.0L);
  for (std::size_t i = 0; i < k; ++i) {
    for (std::size_t j = 0; j < k; ++j)
      inverse_[i * (k + 1) + j] =
          inverse[i * k + j] + (meter.source ? 0.0L : into.column[i] * static_cast<long double>(into.row[j]) / pivot);
    inverse_[i * (k + 1) + k] = -into.column[i] / pivot;
    inverse_[k * (k + 1) + i] = meter.source ? 0.0L : -into.row[i] / pivot;
  }
  inverse_[k * (k + 1) + k] = 1.0L / pivot;
  for (std::size_t i = 0; i < k; ++i) coefficients_[i] -= into.column[i] * own;
  coefficients_.push_back(own);
  model_.branches.push_back(meter);
  Update update;
  update.kind = Update::Kind::kInjection;
  update.index = model_.branches.size() - 1;
  update.law = meter.source ? Law{0.0, 0.0, 1.0, -meter.inject_a} : Law{1.0, 0.0, -meter.ohm, 0.0};
  update.a = probe.red;
  update.b = probe.black;
  update.port = into.port;
  updates_.push_back(update);
  const double sigma = spread({probe.red, probe.black, 0, false}, tolerance);
  updates_.pop_back();
  model_.branches.pop_back();
  inverse_ = inverse;
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
  const bool settled = settle();
  goes_on_ = false;
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
