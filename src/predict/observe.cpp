// SPDX-License-Identifier: Apache-2.0
#include "predict/observe.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "base/check.h"
#include "circuit/part_kinds.h"
#include "predict/bus.h"
#include "predict/inspect.h"
#include "predict/normal.h"
#include "predict/provoke.h"
#include "predict/recorded.h"

namespace halfsplit::predict {

namespace {

using circuit::ModuleId;
using electrical::Functional;
using electrical::Instrument;
using electrical::Predicted;
using evidence::Component;
using evidence::Kind;
using evidence::Prediction;

constexpr double kEyeSpread = 0.05;  // of rated: where an eye calls a lamp dim
constexpr double kWeakBelow = 0.7;   // loads: share of rated current that still works
constexpr double kDeadBelow = 0.25;
constexpr double kAnswerChance = 0.99;      // a live module answers the reader (ours)
constexpr double kPastKept = 0.9;           // a code that set once is still stored (ours)
constexpr double kShiftSpread = 1.0 / 3.0;  // of what traffic does to a mean
constexpr double kDriverSpread = 0.12;      // of what a transmitter does to a level
constexpr double kAlike = 0.1;              // of a spread: two ways of standing that differ by less read the same
constexpr double kLeastShare = 1.0e-3;      // of a mixture; less is left out

Prediction unsettled() {
  Prediction prediction;
  prediction.settled = false;
  return prediction;
}

// `anew`: the part of sigma that each reading draws anew.
Prediction numeric(double mean, double sigma, double anew) {
  Component component;
  component.mean = mean;
  component.sigma = std::hypot(sigma, anew);
  component.anew = anew;
  return {{component}, true};
}

Prediction over_range() {
  Component component;
  component.over_range = true;
  return {{component}, true};
}

Prediction categories(double first, double second, double third = 0.0) {
  Component component;
  const double sum = first + second + third;
  component.category = {static_cast<float>(first / sum), static_cast<float>(second / sum),
                        static_cast<float>(third / sum)};
  return {{component}, true};
}

// Bright, dim, dark from a share of the rated value with soft edges.
Prediction graded(double share, double sigma, double upper, double lower) {
  const double spread = std::hypot(sigma, kEyeSpread);
  const double top = normal_above(share, upper, spread);
  const double dark = 1.0 - normal_above(share, lower, spread);
  return categories(top, std::max(0.0, 1.0 - top - dark), dark);
}

// An ohms reading near the top of the last range may also be OL. Resistances spread by shares of themselves: the chance
// is taken in the logarithm.
Prediction ohms(const meters::MeterProfile& meter, const Predicted& p) {
  const double ohm = p.measured.over_range ? p.measured.ohm_over_range : p.measured.value;
  const double top = meter.ohms.back().up_to;
  if (p.measured.over_range && !(ohm < 2.0 * top)) return over_range();
  const double anew = std::hypot(meters::meter_sigma(meter, Instrument::kOhms, ohm), meter.lead_spread_ohm / 3.0);
  const double sigma = std::hypot(p.sigma, anew);
  const Below within = ohm > 0.5 * top ? cut_off_above(std::log(top / ohm) * ohm / sigma) : Below{};
  if (within.share > 1.0 - kLeastShare) return numeric(ohm, p.sigma, anew);
  if (within.share < kLeastShare) return over_range();
  Prediction both = numeric(ohm * std::exp(within.mean * sigma / ohm), 0.0, 0.0);
  Component& read = both.components.front();
  read.sigma = read.mean * within.sigma * sigma / ohm;
  read.anew = std::min(read.sigma, anew);
  read.weight = within.share;
  both.components.push_back(over_range().components.front());
  both.components.back().weight = 1.0 - within.share;
  if (within.share < 0.5) std::swap(both.components.front(), both.components.back());
  return both;
}

// Modules talk while they live: a meter shows the mean, one that holds peaks the highest and the lowest.
Prediction volts_while_talking(const Scene& scene, CircuitView& view, Kind kind, const electrical::Probe& probe,
                               const Predicted& p) {
  const Talking shift = view.settled() ? talking(scene, view, probe.red, probe.black) : Talking{};
  const double by = kind == Kind::kVolts ? shift.mean : kind == Kind::kHighest ? shift.highest : shift.lowest;
  const double value = p.measured.value + by;
  const double meter = meters::meter_sigma(scene.meter, probe.instrument, value);
  const double spread = (kind == Kind::kVolts ? kShiftSpread : kDriverSpread) * std::abs(by);
  return numeric(value, p.sigma, std::hypot(meter, spread));
}

Prediction observe_meter(const Scene& scene, CircuitView& view, const evidence::Observable& observable) {
  const electrical::Probe probe = probe_of(scene, observable);
  const Predicted p = view.read(probe);
  if (!p.measured.settled) return unsettled();
  const double meter = meters::meter_sigma(scene.meter, probe.instrument, p.measured.value);
  switch (observable.kind) {
    case Kind::kVolts:
    case Kind::kHighest:
    case Kind::kLowest:
      return volts_while_talking(scene, view, observable.kind, probe, p);
    case Kind::kClamp:
      return numeric(p.measured.value, p.sigma, meter);
    case Kind::kOhms:
      return ohms(scene.meter, p);
    case Kind::kContinuity: {
      if (p.measured.over_range) return categories(0.0, 1.0);
      const double silent = normal_above(p.measured.value, scene.meter.continuity_ohm,
                                         std::hypot(p.sigma, scene.meter.continuity_spread_ohm / 3.0));
      return categories(1.0 - silent, silent);
    }
    default:
      return graded(std::abs(p.measured.value) / scene.loom.system_volts, p.sigma / scene.loom.system_volts,
                    electrical::kDimBelow, electrical::kDarkBelow);
  }
}

// ---- codes
// ----------------------------------------------------------------------------------------------------------------

Functional pin_volts(const Scene& scene, ModuleId module, std::size_t pin) {
  const circuit::ModuleWiring& wiring = scene.netlist.modules.at(module.index());
  return {wiring.pin_node.at(pin), wiring.ground, 0, false};
}

bool needs_made(const std::vector<circuit::SetupId>& needs, const std::set<circuit::SetupId>& made) {
  return std::all_of(needs.begin(), needs.end(), [&](circuit::SetupId s) { return made.contains(s); });
}

// Chance of the condition at work; over all ways the states may stand there when that is another circuit than the one
// looked at.
double stored_chance(const Scene& scene, Views views, const circuit::Code& code) {
  CircuitView& work = views.in_use;
  if (!work.settled()) return 0.0;
  if (&work == &views.now) return condition_chance(scene, work, code);
  const Ways& ways = work.ways();
  double chance = ways.as_it_is * condition_chance(scene, work, code);
  for (const Way& way : ways.others) {
    work.hold(way);
    if (work.settled()) chance += way.chance * condition_chance(scene, work, code);
    work.let_go();
  }
  return chance;
}

Prediction observe_code(const Scene& scene, Views views, const evidence::Observable& observable) {
  const circuit::Code& code = scene.loom.codes.at(observable.code.index());
  if (!views.now.settled()) return unsettled();
  constexpr double kUnread = 0.002;  // a code of a module that cannot be read
  if (!views.now.alive(code.module)) return categories(kUnread, kUnread, 1.0 - 2.0 * kUnread);
  const bool runs = needs_made(code.needs, observable.configuration.made);
  const bool displayed = scene.loom.modules.at(code.module.index()).shows_codes;
  const double reach = displayed ? 1.0 : reader_reaches(scene, views.now, code.module);
  const double active = runs ? code.chance * condition_chance(scene, views.now, code) : 0.0;
  const double stored = code.chance * stored_chance(scene, views, code);
  const double past = kPastKept * std::max(0.0, stored - active);
  constexpr double kStray = 0.004;  // a code set for some other reason
  const double absent = std::max(0.0, 1.0 - active - past) + kStray;
  const double sum = active + past + absent + 3.0 * kStray;
  return categories(reach * (active + kStray) / sum + (1.0 - reach) * kUnread,
                    reach * (past + 2.0 * kStray) / sum + (1.0 - reach) * kUnread,
                    reach * absent / sum + (1.0 - reach) * (1.0 - 2.0 * kUnread));
}

// ---- live values
// ------------------------------------------------------------------------------------------------------------

Prediction observe_live(const Scene& scene, CircuitView& view, const evidence::Observable& observable) {
  const circuit::Live& live = scene.loom.lives.at(observable.live.index());
  if (!view.settled()) return unsettled();
  if (!view.alive(live.module)) return over_range();  // the reader shows no value
  const Predicted p = view.evaluate(pin_volts(scene, live.module, live.pin));
  const double value = live_value(scene, live, p.measured.value);
  const double step = std::max(p.sigma, 0.005);
  const double slope =
      std::abs(live_value(scene, live, p.measured.value + step) - live_value(scene, live, p.measured.value - step)) /
      2.0;
  return numeric(value, slope, live.percent / 100.0 * (live.high - live.low) / 3.0);
}

// ---- what eyes and ears tell
// -------------------------------------------------------------------------------------------------

std::size_t element_of_part(const Scene& scene, circuit::PartId part) {
  for (std::size_t i = 0; i < scene.netlist.elements.size(); ++i) {
    const circuit::Element& e = scene.netlist.elements[i];
    if (e.part == part && e.kind != circuit::ElementKind::kJoint) return i;
  }
  base::fail_check(__FILE__, __LINE__, "a part without an element");
}

Prediction observe_look(const Scene& scene, CircuitView& view, const evidence::Observable& observable) {
  if (!view.settled()) return unsettled();
  const std::size_t branch = element_of_part(scene, observable.part);
  const circuit::Element& e = scene.netlist.elements[branch];
  const Predicted current = view.evaluate({{}, {}, branch, true});
  const Predicted volts = view.evaluate({e.a, e.b, 0, false});
  const double ampere = std::abs(current.measured.value);
  if (e.kind == circuit::ElementKind::kLamp) {
    // Share of rated volts by the power taken: P goes with the 1.5th power of V for this filament.
    const double share = std::pow(ampere * std::abs(volts.measured.value) / e.watt, 2.0 / 3.0);
    return graded(share, volts.sigma / e.volt, electrical::kDimBelow, electrical::kDarkBelow);
  }
  const double rated = e.kind == circuit::ElementKind::kDiode ? (scene.loom.system_volts - e.volt) / e.ohm
                                                              : scene.loom.system_volts / e.ohm;
  return graded(ampere / rated, current.sigma / rated, kWeakBelow, kDeadBelow);
}

Prediction observe_answers(const Scene& scene, CircuitView& view, const evidence::Observable& observable) {
  if (!view.settled()) return unsettled();
  const circuit::Module& module = scene.loom.modules.at(observable.module.index());
  if (!module.answers || !view.alive(observable.module)) return categories(1.0 - kAnswerChance, kAnswerChance);
  const double heard = reader_reaches(scene, view, observable.module);
  const double yes = (1.0 - kAnswerChance) + (2.0 * kAnswerChance - 1.0) * heard;
  return categories(yes, 1.0 - yes);
}

}  // namespace

electrical::Probe probe_of(const Scene& scene, const evidence::Observable& observable) {
  electrical::Probe probe;
  probe.meter = &scene.meter;
  switch (observable.kind) {
    case Kind::kClamp:
      probe.instrument = Instrument::kClamp;
      probe.branch = scene.netlist.wire_elements.at(observable.wire.index()).index();
      return probe;
    case Kind::kOhms:
    case Kind::kContinuity:
      probe.instrument = Instrument::kOhms;
      break;
    case Kind::kTestLamp:
      probe.instrument = Instrument::kTestLamp;
      break;
    default:
      probe.instrument = Instrument::kVolts;
  }
  probe.red = scene.netlist.points.at(observable.red.index()).node;
  probe.black = scene.netlist.points.at(observable.black.index()).node;
  return probe;
}

double condition_chance(const Scene& scene, CircuitView& view, const circuit::Code& code) {
  using Monitor = circuit::Code::Monitor;
  if (!view.alive(code.module)) return 0.0;
  const circuit::ModuleWiring& wiring = scene.netlist.modules.at(code.module.index());
  const auto above = [&](const Predicted& p, double floor) {
    return normal_above(p.measured.value, code.threshold, std::hypot(p.sigma, floor));
  };
  switch (code.monitor) {
    case Monitor::kPinAbove:
      return above(view.evaluate(pin_volts(scene, code.module, code.pin)), 0.01);
    case Monitor::kPinBelow:
      return 1.0 - above(view.evaluate(pin_volts(scene, code.module, code.pin)), 0.01);
    case Monitor::kSupplyAbove:
      return above(view.evaluate({wiring.supply, wiring.ground, 0, false}), 0.05);
    case Monitor::kSupplyBelow:
      return 1.0 - above(view.evaluate({wiring.supply, wiring.ground, 0, false}), 0.05);
    case Monitor::kDriverOpen:
    case Monitor::kDriverOver: {
      const circuit::ElementId driver = wiring.pin_element.at(code.pin);
      if (driver.is_none()) return 0.0;
      const bool on = view.on(driver.index());
      // A driver that has switched itself off has seen too much; one that is commanded off sees nothing.
      if (!on) return code.monitor == Monitor::kDriverOver && view.tripped(driver.index()) ? 1.0 : 0.0;
      Predicted p = view.evaluate({{}, {}, driver.index(), true});
      p.measured.value = std::abs(p.measured.value);
      return code.monitor == Monitor::kDriverOver ? above(p, 0.01) : 1.0 - above(p, 0.01);
    }
    case Monitor::kLost:
      return 1.0 - arrival(scene, view, code.lost, code.module,
                           code.lost_message.is_none() ? circuit::BusId()
                                                       : scene.loom.messages.at(code.lost_message.index()).bus);
  }
  return 0.0;
}

double live_value(const Scene& scene, const circuit::Live& live, double pin_volts_now) {
  const circuit::ModulePin& pin = scene.loom.modules.at(live.module.index()).pins.at(live.pin);
  const circuit::Part& part = scene.loom.parts.at(live.part.index());
  const bool ratio = pin.pull_up_ohm <= 0.0;
  const auto limit = [&](double v) {
    return std::clamp(v, std::min(live.low, live.high), std::max(live.low, live.high));
  };
  double measured = pin_volts_now / pin.pull_up_v;  // share of the reference
  if (part.kind == circuit::PartKind::kPotentiometer) return limit(live.low + (live.high - live.low) * measured);
  if (!ratio) {
    const double headroom = pin.pull_up_v - pin_volts_now;
    measured = headroom <= 1.0e-6 * pin.pull_up_v ? 1.0e12 : std::max(0.0, pin.pull_up_ohm * pin_volts_now / headroom);
  }
  if (const std::optional<double> value = circuit::sensor_value(part, measured)) return limit(*value);
  // Off the curve: the end of the scale whose own figure is nearer.
  const auto at_end = [&](double x) {
    circuit::Part moved = part;
    moved.values[circuit::field_index(part.kind, "at")] = x;
    return ratio ? circuit::curve_value(part.curve, x) : circuit::sensor_ohm(moved);
  };
  const double low = at_end(live.low);
  const double high = at_end(live.high);
  const auto off = [&](double end) {
    return ratio ? std::abs(measured - end) : std::abs(std::log(std::max(measured, 1e-3) / std::max(end, 1e-3)));
  };
  return off(low) < off(high) ? live.low : live.high;
}

namespace {

Prediction observe_as_it_is(const Scene& scene, Views views, const evidence::Observable& observable,
                            const std::vector<fault::FaultId>& faults) {
  switch (observable.kind) {
    case Kind::kCode:
      return observe_code(scene, views, observable);
    case Kind::kLive:
      return observe_live(scene, views.now, observable);
    case Kind::kLook:
      return observe_look(scene, views.now, observable);
    case Kind::kAnswers:
      return observe_answers(scene, views.now, observable);
    case Kind::kWiggle:
    case Kind::kHeat:
    case Kind::kCool: {
      const double changes = chance_to_provoke(scene, observable, faults);
      return categories(changes, 1.0 - changes);
    }
    case Kind::kInspect: {
      const double marked = chance_to_be_marked(scene, observable, faults);
      return categories(marked, 1.0 - marked);
    }
    case Kind::kHeard:
    case Kind::kQuiet:
    case Kind::kHears: {
      if (!views.now.settled()) return unsettled();
      const RecordedChances chances = recorded_chances(scene, views.now, observable, faults);
      return categories(chances.first, chances.second, chances.third);
    }
    default:
      return observe_meter(scene, views.now, observable);
  }
}

// The same reading to everybody who looks.
bool alike(const Component& a, const Component& b) {
  if (a.over_range != b.over_range) return false;
  const double widest = kAlike * std::max(a.sigma, b.sigma);
  if (std::abs(a.mean - b.mean) > widest || std::abs(a.sigma - b.sigma) > widest) return false;
  for (std::size_t i = 0; i < a.category.size(); ++i)
    if (std::abs(a.category[i] - b.category[i]) > 1.0e-3F) return false;
  return true;
}

void add_way(Prediction& prediction, const Prediction& other, double chance) {
  for (Component component : other.components) {
    component.weight *= chance;
    const auto same = std::find_if(prediction.components.begin(), prediction.components.end(),
                                   [&](const Component& c) { return alike(c, component); });
    if (same != prediction.components.end())
      same->weight += component.weight;
    else
      prediction.components.push_back(component);
  }
}

}  // namespace

std::vector<Prediction> observe_all(const Scene& scene, Views views,
                                    std::span<const evidence::Observable* const> observables,
                                    const std::vector<fault::FaultId>& faults) {
  std::vector<Prediction> all;
  std::uint32_t states = views.now.print();
  const auto look = [&](const evidence::Observable& observable) {
    Prediction prediction = observe_as_it_is(scene, views, observable, faults);
    for (Component& component : prediction.components) component.states = states;
    return prediction;
  };
  for (const evidence::Observable* observable : observables) all.push_back(look(*observable));
  const Ways& ways = views.now.ways();
  if (ways.others.empty() && ways.as_it_is > 1.0 - 1.0e-9) return all;
  const auto hangs_on_states = [&](std::size_t i) { return evidence::asks_the_circuit(observables[i]->kind); };
  for (std::size_t i = 0; i < all.size(); ++i)
    for (Component& component : all[i].components) component.weight *= hangs_on_states(i) ? ways.as_it_is : 1.0;
  for (const Way& way : ways.others) {
    views.now.hold(way);
    states = views.now.print();
    for (std::size_t i = 0; i < all.size(); ++i)
      if (hangs_on_states(i)) add_way(all[i], look(*observables[i]), way.chance);
    views.now.let_go();
  }
  return all;
}

Prediction observe(const Scene& scene, Views views, const evidence::Observable& observable,
                   const std::vector<fault::FaultId>& faults) {
  const evidence::Observable* one[] = {&observable};
  return observe_all(scene, views, one, faults).front();
}

}  // namespace halfsplit::predict
