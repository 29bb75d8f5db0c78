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

// Codes, live values, and looks of lamps and motors: what can be known before a tool is out.
std::vector<Observable> first_sight(const circuit::Loom& loom) {
  std::vector<Observable> all;
  Observable what;
  what.configuration = candidates::at_work(loom);
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

fault::FaultId draw_fault(const fault::Universe& universe, base::Rng& rng) {
  double total = 0.0;
  for (const fault::Fault& f : universe.faults) total += f.rate_per_year;
  double at = rng.uniform() * total;
  for (std::size_t i = 0; i < universe.faults.size(); ++i) {
    at -= universe.faults[i].rate_per_year;
    if (at <= 0.0) return fault::FaultId(i);
  }
  return fault::FaultId(universe.faults.size() - 1);
}

}  // namespace

base::Result<VirtualVehicle> VirtualVehicle::make(const LoadedLoom& loom, const VehicleOptions& options) {
  VirtualVehicle vehicle(loom, options);
  if (!options.fault.empty()) {
    vehicle.fault_ = loom.universe.find(options.fault);
    if (vehicle.fault_.is_none()) {
      std::vector<std::string> names;
      for (const fault::Fault& f : loom.universe.faults) names.push_back(f.name);
      return base::make_error("rehearse.unknown-fault", "there is no fault named \"" + options.fault + "\"",
                              base::did_you_mean(options.fault, names) + " `halfsplit faults` lists them");
    }
  }
  for (int i = 0; i < kMostDraws; ++i) {
    if (options.fault.empty()) vehicle.fault_ = draw_fault(loom.universe, vehicle.rng_);
    vehicle.severity_ = options.severity >= 0.0 ? options.severity : vehicle.rng_.uniform();
    vehicle.spread_parts();
    vehicle.melt_fuses();
    if (vehicle.shows_anything()) return vehicle;
    if (!options.fault.empty() && options.severity >= 0.0) break;
  }
  return base::make_error("rehearse.no-symptom",
                          "this fault shows nothing a driver or a code reader would notice: nobody would call",
                          "choose another fault or severity, or give the loom codes, live values or lamps");
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
  return std::find(repaired.begin(), repaired.end(), hidden().repair) != repaired.end();
}

bool VirtualVehicle::whole(const std::vector<fault::RepairId>& repaired) const {
  return std::all_of(needs_.begin(), needs_.end(), [&](fault::RepairId r) {
    return std::find(repaired.begin(), repaired.end(), r) != repaired.end();
  });
}

// What the fault melts at work is blown from then on: in moments in which the fault does not show as well, and after it
// is mended, until it is replaced.
void VirtualVehicle::melt_fuses() {
  blown_fuses_.clear();
  needs_ = {hidden().repair};
  if (loom_->loom.in_use.empty()) return;
  const std::vector<fault::Change> own = fault::changes_of(netlist_, hidden(), fault::severity_at(hidden(), severity_));
  electrical::Model model = electrical::make_model(loom_->loom, netlist_, candidates::at_work(loom_->loom));
  electrical::apply_changes(model, own);
  predict::SlowView view(std::move(model), loom_->loom.system_volts);
  std::vector<fault::Change> melted;
  predict::add_melted_fuses({loom_->loom, netlist_, loom_->universe}, view, melted);
  for (std::size_t i = 0; i < loom_->universe.faults.size(); ++i) {
    const fault::Fault& f = loom_->universe.faults[i];
    if (f.kind != fault::FaultKind::kBlown || fault::FaultId(i) == fault_) continue;
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
    const bool replaced = std::find(repaired.begin(), repaired.end(), fuse.repair) != repaired.end();
    if (replaced && mended(repaired)) continue;  // before, the new one melted as well
    for (const fault::Change& change : fault::changes_of(netlist_, fuse, 0.0)) changes.push_back(change);
  }
  return changes;
}

std::vector<fault::Change> VirtualVehicle::changes(const std::vector<fault::RepairId>& repaired,
                                                   const circuit::Configuration& configuration) {
  std::vector<fault::Change> changes = blown(repaired);
  const bool shows = !mended(repaired) &&
                     (hidden().kind != fault::FaultKind::kIntermittent || rng_.chance(predict::kIntermittentPresent));
  if (shows)
    for (const fault::Change& change : fault::changes_of(netlist_, hidden(), fault::severity_at(hidden(), severity_)))
      changes.push_back(change);
  return electrical::remaining_changes(netlist_, configuration, std::move(changes));
}

evidence::Seen VirtualVehicle::see(const Observable& what, const std::vector<fault::RepairId>& repaired) {
  const std::vector<fault::Change> now_changes = changes(repaired, what.configuration);
  const predict::Scene scene{loom_->loom, netlist_, loom_->universe, meter_};
  const auto view_of = [&](const circuit::Configuration& configuration, const std::vector<fault::Change>& some) {
    electrical::Model model = electrical::make_model(loom_->loom, netlist_, configuration);
    electrical::apply_changes(model, some);
    return predict::SlowView(std::move(model), loom_->loom.system_volts);
  };
  predict::SlowView now = view_of(what.configuration, now_changes);
  // Stored codes come from moments at work when the fault was there.
  circuit::Configuration work = candidates::at_work(loom_->loom);
  std::vector<fault::Change> stored = blown(repaired);
  if (!mended(repaired))
    for (const fault::Change& change : fault::changes_of(netlist_, hidden(), fault::severity_at(hidden(), severity_)))
      stored.push_back(change);
  predict::SlowView at_work = view_of(work, stored);
  const std::vector<fault::FaultId> faults =
      mended(repaired) ? std::vector<fault::FaultId>{} : std::vector<fault::FaultId>{fault_};
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
  const bool meter = what.kind == Kind::kVolts || what.kind == Kind::kOhms || what.kind == Kind::kClamp;
  if (meter && rng_.chance(mis_probe_)) {
    seen.over_range = what.kind == Kind::kOhms && rng_.chance(0.5);
    seen.value = what.kind == Kind::kOhms ? rng_.log_uniform(0.2, 1.0e6) : rng_.uniform(0.0, loom_->loom.system_volts);
    return seen;
  }
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

std::vector<evidence::Observation> VirtualVehicle::complaint() {
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
  std::vector<fault::Change> some = fault::changes_of(netlist_, hidden(), fault::severity_at(hidden(), severity_));
  electrical::apply_changes(faulted_model, some);
  predict::SlowView faulted(std::move(faulted_model), loom_->loom.system_volts);
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
