// SPDX-License-Identifier: Apache-2.0
// A vehicle to practise on: a hidden fault with a severity, parts within their tolerances, a meter with noise, now and
// then a mis-probe - all from a seed. Every answer comes from factorising the faulted circuit anew, never from the
// suspects' fast path, so that it also checks that path.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "app/loaded_loom.h"
#include "base/rng.h"
#include "evidence/observable.h"
#include "evidence/prediction.h"
#include "meters/meter_profile.h"

namespace halfsplit::app {

struct VehicleOptions {
  std::uint64_t seed = 1;
  std::string fault;       // name; empty: drawn by its rate
  double severity = -1.0;  // quantile 0 to 1; negative: drawn
  double mis_probe = 0.0;  // share of meter readings that are nonsense
  meters::MeterProfile meter = {};
};

class VirtualVehicle {
 public:
  // Errors: rehearse.unknown-fault, rehearse.no-symptom (the chosen fault shows nothing at work).
  [[nodiscard]] static base::Result<VirtualVehicle> make(const LoadedLoom& loom, const VehicleOptions& options);

  // What is seen now; `repaired` repairs have been done. Draws noise: asking twice may show two values.
  [[nodiscard]] evidence::Seen see(const evidence::Observable& what, const std::vector<fault::RepairId>& repaired);
  // What the driver and the code reader tell at the beginning: codes, live values, looks, in the vehicle at work.
  [[nodiscard]] std::vector<evidence::Observation> complaint();
  // Is the hidden fault repaired? Fuses that it melted may still be blown.
  [[nodiscard]] bool mended(const std::vector<fault::RepairId>& repaired) const;
  // All that must be repaired: the fault, and the fuses that it melted at work.
  [[nodiscard]] const std::vector<fault::RepairId>& needs() const { return needs_; }
  [[nodiscard]] bool whole(const std::vector<fault::RepairId>& repaired) const;
  [[nodiscard]] const fault::Fault& hidden() const { return loom_->universe.faults[fault_.index()]; }
  [[nodiscard]] double severity() const { return severity_; }

 private:
  VirtualVehicle(const LoadedLoom& loom, const VehicleOptions& options)
      : loom_(&loom), meter_(options.meter), rng_(options.seed), mis_probe_(options.mis_probe) {}
  void spread_parts();
  void melt_fuses();
  [[nodiscard]] std::vector<fault::Change> blown(const std::vector<fault::RepairId>& repaired) const;
  [[nodiscard]] std::vector<fault::Change> changes(const std::vector<fault::RepairId>& repaired,
                                                   const circuit::Configuration& configuration);
  [[nodiscard]] const evidence::Component& one_of(const std::vector<evidence::Component>& components);
  [[nodiscard]] evidence::Seen draw(const evidence::Observable& what, const evidence::Prediction& prediction);
  [[nodiscard]] bool shows_anything();

  const LoadedLoom* loom_;
  meters::MeterProfile meter_;
  circuit::Netlist netlist_;  // with its parts within their tolerances
  base::Rng rng_;
  double mis_probe_;
  fault::FaultId fault_;
  double severity_ = 0.5;                    // quantile
  std::vector<fault::FaultId> blown_fuses_;  // melted at work by the hidden fault, as their "blown" faults
  std::vector<fault::RepairId> needs_;
};

}  // namespace halfsplit::app
