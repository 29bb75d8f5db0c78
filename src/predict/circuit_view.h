// SPDX-License-Identifier: Apache-2.0
// One circuit, in one configuration, with one fault in it, as something that can be asked. Two kinds: on the fast path
// (a fault bench) for the suspects, and on the slow path (factorised anew) for the virtual vehicle and the checks. What
// an observable shows is worked out once, in observe.h, over either.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <unordered_map>
#include <utility>
#include <vector>

#include "electrical/near_states.h"
#include "electrical/operating_point.h"
#include "electrical/readings.h"
#include "electrical/transfers.h"
#include "predict/bus_memo.h"
#include "predict/bus_picture.h"

namespace halfsplit::electrical {
class FaultBench;
}

namespace halfsplit::predict {

// One way in which states near their thresholds may stand otherwise, within the parts' tolerances.
struct Way {
  double chance = 0.0;
  std::vector<std::pair<electrical::StateRef, bool>> states;  // on or off
  std::vector<fault::Change> held;                            // makes them stand so
};
struct Ways {
  double as_it_is = 1.0;
  std::vector<Way> others;  // all together at most 1; what is missing finds no rest
};

class CircuitView {
 public:
  virtual ~CircuitView() = default;
  // Of at most two states, those nearest to their thresholds; a view without tolerances knows none.
  [[nodiscard]] virtual const Ways& ways();
  // Everything asked until let_go is answered with those states held.
  virtual void hold(const Way& way);
  virtual void let_go();
  // Which states a fault has moved, as a number (electrical/near_states.h); what is held counts as it is held.
  [[nodiscard]] virtual std::uint32_t print();
  [[nodiscard]] virtual bool settled() = 0;
  [[nodiscard]] virtual bool alive(circuit::ModuleId module) = 0;
  // A fuse is whole, a driver is on.
  [[nodiscard]] virtual bool on(std::size_t branch) = 0;
  [[nodiscard]] virtual bool tripped(std::size_t branch) = 0;
  [[nodiscard]] virtual electrical::Predicted read(const electrical::Probe& probe) = 0;
  [[nodiscard]] virtual electrical::Predicted evaluate(const electrical::Functional& functional) = 0;
  // With its states as they stand.
  [[nodiscard]] virtual electrical::Transfers transfers(std::span<const electrical::Ends> asked,
                                                        std::span<const electrical::Ends> ports) = 0;
  // What the faults in it do on buses.
  [[nodiscard]] const BusFlags& flags() const { return flags_; }
  // What bus.h has worked out of a bus in this circuit; null until it has.
  [[nodiscard]] virtual std::shared_ptr<const BusPicture> picture(circuit::BusId bus);
  virtual void keep_picture(circuit::BusId bus, std::shared_ptr<const BusPicture> picture);
  // A picture whose messages arrive as they do in this circuit, be its levels a little off; null: none is known.
  [[nodiscard]] virtual std::shared_ptr<const BusPicture> picture_at_rest(circuit::BusId bus);
  // What has been worked out of messages (bus_delivery.cpp), by its own keys.
  [[nodiscard]] virtual std::unordered_map<std::uint64_t, std::vector<double>>& deliveries() { return deliveries_; }
  // The same with a tap elsewhere than at the drawn reader.
  struct Tapped {
    std::map<BusTap, std::shared_ptr<const BusPicture>> pictures;
    std::map<std::pair<BusTap, circuit::ModuleId>, double> heard;
  };
  [[nodiscard]] Tapped& tapped() { return tapped_; }

 protected:
  BusFlags flags_;
  void forget_buses();  // the circuit changes

  std::vector<std::shared_ptr<const BusPicture>> pictures_;  // by BusId, as far as asked
  std::unordered_map<std::uint64_t, std::vector<double>> deliveries_;
  Tapped tapped_;
};

// The fast path. Puts the fault in when made; the bench must have no other view at work.
class FastView final : public CircuitView {
 public:
  // `memo`: of this bench, when pictures of buses are worth keeping.
  FastView(electrical::FaultBench& bench, std::vector<fault::Change> changes, const electrical::Tolerances& tolerance,
           BusMemo* memo = nullptr);
  bool settled() override;
  bool alive(circuit::ModuleId module) override;
  bool on(std::size_t branch) override;
  bool tripped(std::size_t branch) override;
  electrical::Predicted read(const electrical::Probe& probe) override;
  electrical::Predicted evaluate(const electrical::Functional& functional) override;
  electrical::Transfers transfers(std::span<const electrical::Ends> asked,
                                  std::span<const electrical::Ends> ports) override;
  const Ways& ways() override;
  void hold(const Way& way) override;
  void let_go() override;
  std::uint32_t print() override;

 private:
  std::shared_ptr<const BusPicture> picture(circuit::BusId bus) override;
  void keep_picture(circuit::BusId bus, std::shared_ptr<const BusPicture> picture) override;
  std::shared_ptr<const BusPicture> picture_at_rest(circuit::BusId bus) override;
  std::unordered_map<std::uint64_t, std::vector<double>>& deliveries() override;
  [[nodiscard]] bool stays(circuit::BusId bus);  // as it is at rest, who reads whom on it
  [[nodiscard]] bool modules_stay();             // alive or dead as at rest
  [[nodiscard]] bool all_stay();
  void put(const std::vector<fault::Change>& extra);

  electrical::FaultBench& bench_;
  std::vector<fault::Change> changes_;
  const electrical::Tolerances& tolerance_;
  std::optional<Ways> ways_;
  const Way* held_ = nullptr;
  BusMemo* memo_;
  std::vector<std::optional<bool>> stays_;  // by BusId
  std::optional<bool> modules_stay_, all_stay_;
};

// The slow path: every question solves the circuit from the beginning. No tolerances: sigma is 0.
class SlowView final : public CircuitView {
 public:
  // `changes`: those that are in the model, for what they do on buses.
  SlowView(electrical::Model model, double system_volts, std::span<const fault::Change> changes = {});
  bool settled() override;
  bool alive(circuit::ModuleId module) override;
  bool on(std::size_t branch) override;
  bool tripped(std::size_t branch) override;
  electrical::Predicted read(const electrical::Probe& probe) override;
  electrical::Predicted evaluate(const electrical::Functional& functional) override;
  electrical::Transfers transfers(std::span<const electrical::Ends> asked,
                                  std::span<const electrical::Ends> ports) override;

 private:
  electrical::Model model_;
  double system_volts_;
  electrical::OperatingPoint point_;
  std::optional<sparse::Lu> lu_;  // when transfers are first asked for
};

}  // namespace halfsplit::predict
