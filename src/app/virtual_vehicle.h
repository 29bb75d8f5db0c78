// SPDX-License-Identifier: Apache-2.0
// A vehicle to practise on: a hidden fault with a severity, parts within their tolerances, a meter with noise, now and
// then a mis-probe - all from a seed. Every answer comes from factorising the faulted circuit anew, never from the
// suspects' fast path, so that it also checks that path.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "app/trouble.h"
#include "base/rng.h"
#include "evidence/observable.h"
#include "evidence/prediction.h"
#include "meters/meter_profile.h"
#include "predict/circuit_view.h"
#include "predict/observe.h"

namespace halfsplit::app {

struct VehicleOptions {
  std::uint64_t seed = 1;
  std::string fault;       // name; empty: drawn by its rate
  double severity = -1.0;  // quantile 0 to 1; negative: drawn
  // Share of readings by meter or test lamp that tell nothing: half of them no contact, half a probe on another point.
  double mis_probe = 0.0;
  meters::MeterProfile meter = {};
  double misread = 0.0;  // share of all other readings that tell nothing: any word, any figure of the scale
};

class VirtualVehicle {
 public:
  // Errors: rehearse.unknown-fault, rehearse.no-symptom (the chosen fault shows nothing at work).
  [[nodiscard]] static base::Result<VirtualVehicle> make(const LoadedLoom& loom, const VehicleOptions& options);

  // Would anybody call with this complaint? Looks at nothing but what was seen.
  using Called = std::function<bool(const std::vector<evidence::Observation>&)>;
  // Trouble in the shares that belief starts from (trouble.h), drawn until somebody calls; `options.fault` and
  // `.severity` are not looked at. Errors: rehearse.no-symptom (nobody calls).
  [[nodiscard]] static base::Result<VirtualVehicle> draw(const LoadedLoom& loom, const VehicleOptions& options,
                                                         const infer::PriorShares& shares, const Called& called);

  // What is seen now; `repaired` repairs have been done. Draws noise: asking twice may show two values.
  [[nodiscard]] evidence::Seen see(const evidence::Observable& what, const std::vector<fault::RepairId>& repaired);
  // What the driver and the code reader tell at the beginning: codes, live values, looks, in the vehicle at work. Looks
  // and values are of a moment in which something was wrong.
  [[nodiscard]] std::vector<evidence::Observation> complaint();
  // Is all that is hidden repaired? Fuses that it melted may still be blown.
  [[nodiscard]] bool mended(const std::vector<fault::RepairId>& repaired) const;
  // All that must be repaired: the faults, and the fuses that they melted at work. What is not on the drawing is none
  // of the drawing's repairs.
  [[nodiscard]] const std::vector<fault::RepairId>& needs() const { return needs_; }
  [[nodiscard]] bool whole(const std::vector<fault::RepairId>& repaired) const;
  // The circuit as it stands, with what comes and goes in it or not; solved anew whenever it is asked.
  [[nodiscard]] predict::SlowView circuit(const circuit::Configuration& configuration, bool shown,
                                          const std::vector<fault::RepairId>& repaired) const;
  // With its own parts, within their tolerances.
  [[nodiscard]] predict::Scene scene() const { return {loom_->loom, netlist_, loom_->universe, meter_}; }
  [[nodiscard]] bool comes_and_goes(const std::vector<fault::RepairId>& repaired) const;
  [[nodiscard]] const Trouble& hidden() const { return trouble_; }
  [[nodiscard]] std::string name() const { return trouble_.name(loom_->universe); }
  [[nodiscard]] std::string kind() const { return trouble_.kind(loom_->universe); }

 private:
  VirtualVehicle(const LoadedLoom& loom, const VehicleOptions& options)
      : loom_(&loom),
        meter_(options.meter),
        rng_(options.seed),
        mis_probe_(options.mis_probe),
        misread_(options.misread) {}
  void spread_parts();
  void melt_fuses();
  [[nodiscard]] std::vector<fault::Change> blown(const std::vector<fault::RepairId>& repaired) const;
  [[nodiscard]] std::vector<fault::Change> changes(const std::vector<fault::RepairId>& repaired,
                                                   const circuit::Configuration& configuration);
  [[nodiscard]] fault::RepairId repair_of(fault::FaultId id) const { return loom_->universe.faults[id.index()].repair; }
  [[nodiscard]] std::vector<fault::Change> wrong(const std::vector<fault::RepairId>& repaired, bool present) const;
  [[nodiscard]] evidence::Observable slipped(evidence::Observable what);
  [[nodiscard]] evidence::Seen no_contact(const evidence::Observable& what) const;
  [[nodiscard]] evidence::Seen misread(const evidence::Observable& what);
  [[nodiscard]] evidence::Seen look(const evidence::Observable& what, const std::vector<fault::RepairId>& repaired);
  [[nodiscard]] std::vector<evidence::Observation> look_first();
  [[nodiscard]] const evidence::Component& one_of(const std::vector<evidence::Component>& components);
  [[nodiscard]] evidence::Seen draw(const evidence::Observable& what, const evidence::Prediction& prediction);
  [[nodiscard]] bool shows_anything();

  const LoadedLoom* loom_;
  meters::MeterProfile meter_;
  circuit::Netlist netlist_;  // with its parts within their tolerances
  base::Rng rng_;
  double mis_probe_;
  double misread_;
  Trouble trouble_;
  bool was_there_ = false;                   // while the driver tells: what comes and goes was there
  std::vector<evidence::Observation> told_;  // the complaint, where it was drawn beforehand
  std::vector<fault::FaultId> blown_fuses_;  // melted at work by the hidden faults, as their "blown" faults
  std::vector<fault::RepairId> needs_;
};

}  // namespace halfsplit::app
