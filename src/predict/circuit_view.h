// SPDX-License-Identifier: Apache-2.0
// One circuit, in one configuration, with one fault in it, as something that can be asked. Two kinds: on the fast path
// (a fault bench) for the suspects, and on the slow path (factorised anew) for the virtual vehicle and the checks. What
// an observable shows is worked out once, in observe.h, over either.
#pragma once

#include <vector>

#include "electrical/fault_bench.h"
#include "electrical/meter.h"
#include "electrical/operating_point.h"

namespace halfsplit::predict {

class CircuitView {
 public:
  virtual ~CircuitView() = default;
  [[nodiscard]] virtual bool settled() = 0;
  [[nodiscard]] virtual bool alive(circuit::ModuleId module) = 0;
  // A fuse is whole, a driver is on.
  [[nodiscard]] virtual bool on(std::size_t branch) = 0;
  [[nodiscard]] virtual bool tripped(std::size_t branch) = 0;
  [[nodiscard]] virtual electrical::Predicted read(const electrical::Probe& probe) = 0;
  [[nodiscard]] virtual electrical::Predicted evaluate(const electrical::Functional& functional) = 0;
  // With more put in, for this one question (a transmitter that holds the bus).
  [[nodiscard]] virtual electrical::Predicted evaluate_with(const std::vector<fault::Change>& extra,
                                                            const electrical::Functional& functional) = 0;
};

// The fast path. Puts the fault in when made; the bench must have no other view at work.
class FastView final : public CircuitView {
 public:
  FastView(electrical::FaultBench& bench, std::vector<fault::Change> changes, const std::vector<double>& tolerance);
  bool settled() override;
  bool alive(circuit::ModuleId module) override;
  bool on(std::size_t branch) override;
  bool tripped(std::size_t branch) override;
  electrical::Predicted read(const electrical::Probe& probe) override;
  electrical::Predicted evaluate(const electrical::Functional& functional) override;
  electrical::Predicted evaluate_with(const std::vector<fault::Change>& extra,
                                      const electrical::Functional& functional) override;

 private:
  electrical::FaultBench& bench_;
  std::vector<fault::Change> changes_;
  const std::vector<double>& tolerance_;
};

// The slow path: every question solves the circuit from the beginning. No tolerances: sigma is 0.
class SlowView final : public CircuitView {
 public:
  SlowView(electrical::Model model, double system_volts);
  bool settled() override;
  bool alive(circuit::ModuleId module) override;
  bool on(std::size_t branch) override;
  bool tripped(std::size_t branch) override;
  electrical::Predicted read(const electrical::Probe& probe) override;
  electrical::Predicted evaluate(const electrical::Functional& functional) override;
  electrical::Predicted evaluate_with(const std::vector<fault::Change>& extra,
                                      const electrical::Functional& functional) override;

 private:
  electrical::Model model_;
  double system_volts_;
  electrical::OperatingPoint point_;
};

}  // namespace halfsplit::predict
