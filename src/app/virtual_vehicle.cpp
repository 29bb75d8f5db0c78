// SPDX-License-Identifier: Apache-2.0
#include "app/virtual_vehicle.h"

#include <algorithm>
#include <cmath>

#include "base/nearest.h"
#include "candidates/generate.h"
#include "predict/campaign.h"
#include "predict/observe.h"

namespace halfsplit::app {

namespace {

using evidence::Kind;
using evidence::Observable;
using evidence::Seen;

constexpr int kMostDraws = 200;

bool on_drawn_bus(const circuit::Loom& loom, const circuit::ModulePin& pin) {
  return !pin.bus.is_none() && loom.buses.at(pin.bus.index()).declared;
}

// Which modules of a drawn bus answer the reader, codes, live values, and looks of lamps and motors: what can be known
// before a tool is out.
std::vector<Observable> first_sight(const circuit::Loom& loom) {
  std::vector<Observable> all;
  Observable what;
  what.configuration = candidates::at_work(loom);
  what.kind = Kind::kAnswers;
  for (std::size_t i = 0; i < loom.modules.size(); ++i) {
    const std::vector<circuit::ModulePin>& pins = loom.modules[i].pins;
    if (std::none_of(pins.begin(), pins.end(), [&](const circuit::ModulePin& pin) { return on_drawn_bus(loom, pin); }))
      continue;
    what.module = circuit::ModuleId(i);
    all.push_back(what);
  }
  what.module = {};
  what.kind = Kind::kCode;
  for (std::size_t i = 0; i < loom.codes.size(); ++i) {
    what.code = circuit::CodeId(i);
    all.push_back(what);
  }
  what.code = {};
  what.kind = Kind::kLive;
  for (std::size_t i = 0; i < loom.lives.size(); ++i) {
    what.live = circuit::LiveId(i);
    all.push_back(what);
  }
  what.live = {};
  what.kind = Kind::kLook;
  for (std::size_t i = 0; i < loom.parts.size(); ++i) {
    const circuit::PartKind kind = loom.parts[i].kind;
    if (kind != circuit::PartKind::kLamp && kind != circuit::PartKind::kMotor && kind != circuit::PartKind::kSolenoid)
      continue;
    what.part = circuit::PartId(i);
    all.push_back(what);
  }
  return all;
}

base::Diagnostic no_symptom() {
  return base::make_error("rehearse.no-symptom",
                          "this fault shows nothing a driver or a code reader would notice: nobody would call",
                          "choose another fault or severity, or give the loom codes, live values or lamps");
}

bool is_in(const std::vector<fault::RepairId>& repaired, fault::RepairId id) {
  return std::find(repaired.begin(), repaired.end(), id) != repaired.end();
}

// Read with a probe held: these can slip.
bool is_probed(Kind kind) {
  return evidence::is_volts(kind) || kind == Kind::kOhms || kind == Kind::kClamp || kind == Kind::kContinuity ||
         kind == Kind::kTestLamp;
}

}  // namespace

base::Result<VirtualVehicle> VirtualVehicle::make(const LoadedLoom& loom, const VehicleOptions& options) {
  VirtualVehicle vehicle(loom, options);
  fault::FaultId named;
  if (!options.fault.empty()) {
    named = loom.universe.find(options.fault);
    if (named.is_none()) {
      std::vector<std::string> names;
      for (const fault::Fault& f : loom.universe.faults) names.push_back(f.name);
      return base::make_error("rehearse.unknown-fault", "there is no fault named \"" + options.fault + "\"",
                              base::did_you_mean(options.fault, names) + " `halfsplit faults` lists them");
    }
  }
  for (int i = 0; i < kMostDraws; ++i) {
    const fault::FaultId which = named.is_none() ? draw_fault(loom.universe, vehicle.rng_) : named;
    vehicle.trouble_.faults = {{which, options.severity >= 0.0 ? options.severity : vehicle.rng_.uniform()}};
    vehicle.spread_parts();
    vehicle.melt_fuses();
    if (vehicle.shows_anything()) return vehicle;
    if (!options.fault.empty() && options.severity >= 0.0) break;
  }
  return no_symptom();
}

base::Result<VirtualVehicle> VirtualVehicle::draw(const LoadedLoom& loom, const VehicleOptions& options,
                                                  const infer::PriorShares& shares, const Called& called) {
  VirtualVehicle vehicle(loom, options);
  for (int i = 0; i < kMostDraws; ++i) {
    vehicle.trouble_ = draw_trouble(loom, shares, vehicle.rng_);
    vehicle.spread_parts();
    vehicle.melt_fuses();
    vehicle.told_ = vehicle.look_first();
    if (called(vehicle.told_)) return vehicle;
  }
  return no_symptom();
}

// Each part's value drawn from its spread: half-width = three sigma.
void VirtualVehicle::spread_parts() {
  netlist_ = loom_->netlist;
  for (circuit::Element& e : netlist_.elements) {
    const double factor = std::max(0.05, 1.0 + e.tolerance / 3.0 * rng_.normal());
    const bool by_volt = e.kind == circuit::ElementKind::kSource || e.kind == circuit::ElementKind::kDiode ||
                         e.kind == circuit::ElementKind::kRail;
    if (by_volt)
      e.volt *= factor;
    else if (e.kind == circuit::ElementKind::kRatio)
      e.share *= factor;
    else
      e.ohm *= factor;
  }
}

bool VirtualVehicle::mended(const std::vector<fault::RepairId>& repaired) const {
  return trouble_.beyond.empty() && std::all_of(trouble_.faults.begin(), trouble_.faults.end(),
                                                [&](const auto& f) { return is_in(repaired, repair_of(f.first)); });
}

bool VirtualVehicle::whole(const std::vector<fault::RepairId>& repaired) const {
  return trouble_.beyond.empty() &&
         std::all_of(needs_.begin(), needs_.end(), [&](fault::RepairId r) { return is_in(repaired, r); });
}

// What is wrong and not mended; `present`: with what comes and goes.
std::vector<fault::Change> VirtualVehicle::wrong(const std::vector<fault::RepairId>& repaired, bool present) const {
  std::vector<fault::Change> changes = trouble_.beyond;
  for (const auto& [id, quantile] : trouble_.faults) {
    const fault::Fault& f = loom_->universe.faults[id.index()];
    if (is_in(repaired, f.repair) || (f.kind == fault::FaultKind::kIntermittent && !present)) continue;
    for (const fault::Change& change : fault::changes_of(netlist_, f, fault::severity_at(f, quantile)))
      changes.push_back(change);
  }
  return changes;
}

// What the fault melts at work is blown from then on: in moments in which the fault does not show as well, and after it
// is mended, until it is replaced.
void VirtualVehicle::melt_fuses() {
  blown_fuses_.clear();
  needs_.clear();
  for (const auto& [id, quantile] : trouble_.faults) needs_.push_back(repair_of(id));
  if (loom_->loom.in_use.empty()) return;
  electrical::Model model = electrical::make_model(loom_->loom, netlist_, candidates::at_work(loom_->loom));
  electrical::apply_changes(model, wrong({}, true));
  predict::SlowView view(std::move(model), loom_->loom.system_volts);
  std::vector<fault::Change> melted;
  predict::add_melted_fuses(predict::list_fuses(netlist_), view, melted);
  for (std::size_t i = 0; i < loom_->universe.faults.size(); ++i) {
    const fault::Fault& f = loom_->universe.faults[i];
    const bool own = std::any_of(trouble_.faults.begin(), trouble_.faults.end(),
                                 [&](const auto& entry) { return entry.first == fault::FaultId(i); });
    if (f.kind != fault::FaultKind::kBlown || own) continue;
    const bool its = std::any_of(melted.begin(), melted.end(), [&](const auto& c) { return c.element == f.element; });
    if (!its) continue;
    blown_fuses_.emplace_back(i);
    needs_.push_back(f.repair);
  }
}

std::vector<fault::Change> VirtualVehicle::blown(const std::vector<fault::RepairId>& repaired) const {
  std::vector<fault::Change> changes;
  for (const fault::FaultId id : blown_fuses_) {
    const fault::Fault& fuse = loom_->universe.faults[id.index()];
    if (is_in(repaired, fuse.repair) && mended(repaired)) continue;  // before, the new one melted as well
    for (const fault::Change& change : fault::changes_of(netlist_, fuse, 0.0)) changes.push_back(change);
  }
  return changes;
}

bool VirtualVehicle::comes_and_goes(const std::vector<fault::RepairId>& repaired) const {
  return std::any_of(trouble_.faults.begin(), trouble_.faults.end(), [&](const auto& f) {
    const fault::Fault& its = loom_->universe.faults[f.first.index()];
    return its.kind == fault::FaultKind::kIntermittent && !is_in(repaired, its.repair);
  });
}

predict::SlowView VirtualVehicle::circuit(const circuit::Configuration& configuration, bool shown,
                                          const std::vector<fault::RepairId>& repaired) const {
  std::vector<fault::Change> some = blown(repaired);
  for (const fault::Change& change : wrong(repaired, shown)) some.push_back(change);
  some = electrical::remaining_changes(netlist_, configuration, std::move(some));
  electrical::Model model = electrical::make_model(loom_->loom, netlist_, configuration);
  electrical::apply_changes(model, some);
  return {std::move(model), loom_->loom.system_volts, some};
}

std::vector<fault::Change> VirtualVehicle::changes(const std::vector<fault::RepairId>& repaired,
                                                   const circuit::Configuration& configuration) {
  std::vector<fault::Change> changes = blown(repaired);
  const bool drawn = !comes_and_goes(repaired) || rng_.chance(predict::kIntermittentPresent);
  const bool present = drawn || was_there_;
  for (const fault::Change& change : wrong(repaired, present)) changes.push_back(change);
  return electrical::remaining_changes(netlist_, configuration, std::move(changes));
}

// One probe on another point, or the jaws round another wire.
Observable VirtualVehicle::slipped(Observable what) {
  if (what.kind == Kind::kClamp)
    what.wire = circuit::WireId(rng_.below(loom_->loom.wires.size()));
  else
    (rng_.chance(0.5) ? what.red : what.black) = circuit::PointId(rng_.below(netlist_.points.size()));
  return what;
}

// Leads that touch nothing, jaws that do not close.
Seen VirtualVehicle::no_contact(const Observable& what) const {
  Seen seen;
  seen.over_range = what.kind == Kind::kOhms;
  if (!evidence::is_numeric(what.kind)) seen.category = static_cast<int>(evidence::categories(what.kind).size()) - 1;
  return seen;
}

// A word or a figure that has nothing to do with the vehicle.
Seen VirtualVehicle::misread(const Observable& what) {
  Seen seen;
  if (!evidence::is_numeric(what.kind)) {
    seen.category = static_cast<int>(rng_.below(evidence::categories(what.kind).size()));
    return seen;
  }
  const circuit::Live& live = loom_->loom.lives[what.live.index()];
  seen.value = std::round(10.0 * rng_.uniform(std::min(live.low, live.high), std::max(live.low, live.high))) / 10.0;
  return seen;
}

evidence::Seen VirtualVehicle::see(const Observable& what, const std::vector<fault::RepairId>& repaired) {
  if (is_probed(what.kind) && rng_.chance(mis_probe_))
    return rng_.chance(0.5) ? no_contact(what) : look(slipped(what), repaired);
  if (!is_probed(what.kind) && misread_ > 0.0 && rng_.chance(misread_)) return misread(what);
  return look(what, repaired);
}

evidence::Seen VirtualVehicle::look(const Observable& what, const std::vector<fault::RepairId>& repaired) {
  const std::vector<fault::Change> now_changes = changes(repaired, what.configuration);
  const predict::Scene scene{loom_->loom, netlist_, loom_->universe, meter_};
  const auto view_of = [&](const circuit::Configuration& configuration, const std::vector<fault::Change>& some) {
    electrical::Model model = electrical::make_model(loom_->loom, netlist_, configuration);
    electrical::apply_changes(model, some);
    return predict::SlowView(std::move(model), loom_->loom.system_volts, some);
  };
  predict::SlowView now = view_of(what.configuration, now_changes);
  // Stored codes come from moments at work when the fault was there.
  circuit::Configuration work = candidates::at_work(loom_->loom);
  std::vector<fault::Change> stored = blown(repaired);
  for (const fault::Change& change : wrong(repaired, true)) stored.push_back(change);
  predict::SlowView at_work = view_of(work, stored);
  std::vector<fault::FaultId> faults;
  for (const auto& [id, quantile] : trouble_.faults)
    if (!is_in(repaired, repair_of(id))) faults.push_back(id);
  return draw(what, predict::observe(scene, {now, at_work}, what, faults));
}

// By their weights; one alone asks for no chance.
const evidence::Component& VirtualVehicle::one_of(const std::vector<evidence::Component>& components) {
  if (components.size() == 1) return components.front();
  double at = rng_.uniform();
  for (const evidence::Component& c : components)
    if ((at -= c.weight) <= 0.0) return c;
  return components.back();
}

evidence::Seen VirtualVehicle::draw(const Observable& what, const evidence::Prediction& prediction) {
  Seen seen;
  const bool meter = evidence::is_volts(what.kind) || what.kind == Kind::kOhms || what.kind == Kind::kClamp;
  if (prediction.components.empty()) {
    seen.over_range = what.kind == Kind::kOhms || what.kind == Kind::kLive;
    seen.category = evidence::is_numeric(what.kind) ? -1 : static_cast<int>(evidence::categories(what.kind).size()) - 1;
    return seen;
  }
  const evidence::Component& c = one_of(prediction.components);
  if (!evidence::is_numeric(what.kind)) {
    double at = rng_.uniform();
    for (std::size_t i = 0; i < evidence::categories(what.kind).size(); ++i) {
      seen.category = static_cast<int>(i);
      at -= static_cast<double>(c.category[i]);
      if (at <= 0.0) break;
    }
    return seen;
  }
  seen.over_range = c.over_range;
  if (c.over_range) return seen;
  seen.value = c.mean + c.sigma * rng_.normal();
  if (what.kind == Kind::kOhms) seen.value = std::max(0.0, seen.value);
  if (meter) {
    const electrical::Instrument instrument = what.kind == Kind::kOhms    ? electrical::Instrument::kOhms
                                              : what.kind == Kind::kClamp ? electrical::Instrument::kClamp
                                                                          : electrical::Instrument::kVolts;
    seen.value = meters::displayed(meter_, instrument, seen.value);
  } else {
    seen.value = std::round(seen.value * 10.0) / 10.0;
    const circuit::Live& live = loom_->loom.lives[what.live.index()];
    seen.value = std::clamp(seen.value, std::min(live.low, live.high), std::max(live.low, live.high));
  }
  return seen;
}

// Who calls has seen it: what comes and goes was there when the driver looked, whatever the code reader finds now.
std::vector<evidence::Observation> VirtualVehicle::complaint() {
  if (!told_.empty()) return told_;
  std::vector<evidence::Observation> all;
  for (const Observable& what : first_sight(loom_->loom)) {
    was_there_ = what.kind == Kind::kLook || what.kind == Kind::kLive;
    all.push_back({what, see(what, {})});
  }
  was_there_ = false;
  return all;
}

std::vector<evidence::Observation> VirtualVehicle::look_first() {
  std::vector<evidence::Observation> all;
  for (const Observable& what : first_sight(loom_->loom)) all.push_back({what, see(what, {})});
  return all;
}

// Would anybody call? Some code, value or lamp at work differs from a vehicle in order.
bool VirtualVehicle::shows_anything() {
  const base::Rng kept = rng_;
  const predict::Scene scene{loom_->loom, netlist_, loom_->universe, meter_};
  electrical::Model healthy_model = electrical::make_model(loom_->loom, netlist_, candidates::at_work(loom_->loom));
  electrical::Model faulted_model = healthy_model;
  electrical::apply_changes(faulted_model, wrong({}, true));
  predict::SlowView faulted(std::move(faulted_model), loom_->loom.system_volts, wrong({}, true));
  predict::SlowView healthy(std::move(healthy_model), loom_->loom.system_volts);
  bool shows = false;
  for (const Observable& what : first_sight(loom_->loom)) {
    const evidence::Prediction f = predict::observe(scene, {faulted, faulted}, what, {});
    const evidence::Prediction h = predict::observe(scene, {healthy, healthy}, what, {});
    if (f.components.empty() || h.components.empty()) {
      shows = shows || f.components.empty() != h.components.empty();
      continue;
    }
    const evidence::Component& a = f.components.front();
    const evidence::Component& b = h.components.front();
    if (evidence::is_numeric(what.kind)) {
      shows = shows || a.over_range != b.over_range || std::abs(a.mean - b.mean) > 4.0 * b.sigma;
    } else {
      for (std::size_t i = 0; i < 3; ++i)
        shows = shows || std::abs(static_cast<double>(a.category[i] - b.category[i])) > 0.6;
    }
  }
  rng_ = kept;
  return shows;
}

}  // namespace halfsplit::app
