// SPDX-License-Identifier: Apache-2.0
// The fast path: one circuit in one configuration, factorised once; every fault, meter and change of state is a
// low-rank update on the rows of the branches it touches, exact for opens and shorts. What an update cannot decide
// safely (a coil between drop-out and pull-in, too many changes, an ill-placed pivot) is factorised anew, never
// guessed. Not for several threads at once. The model's netlist must outlive the bench.
#pragma once

#include <map>
#include <memory>
#include <unordered_map>
#include <utility>
#include <vector>

#include "electrical/meter.h"
#include "electrical/operating_point.h"

namespace halfsplit::electrical {

// A linear reading of the solution: sum of coefficient * unknown.
struct Functional {
  NodeId red, black;  // + volts(red) - volts(black); none: 0 V
  std::size_t branch = 0;
  bool current = false;  // amperes of `branch` instead
};

struct Predicted {
  Measured measured;
  double sigma = 0.0;  // of the circuit's tolerances alone, first order
};

struct BenchCounts {
  std::size_t solves = 0, factors = 0, updates = 0, refactored = 0;
};

class FaultBench {
 public:
  FaultBench(Model model, double system_volts);
  ~FaultBench();
  FaultBench(const FaultBench&) = delete;
  FaultBench& operator=(const FaultBench&) = delete;

  [[nodiscard]] const OperatingPoint& healthy() const { return base_; }
  [[nodiscard]] Status status() const { return base_.status; }

  // Puts a fault in until the next put_fault or clear. Relative half-widths of tolerance by branch come from
  // `tolerance`.
  void put_fault(const std::vector<fault::Change>& changes);
  void clear();
  [[nodiscard]] Status fault_status() const { return fault_status_; }

  // Of the circuit with the fault now in it.
  [[nodiscard]] double volts(NodeId node) const;
  [[nodiscard]] double amperes(std::size_t branch) const;
  [[nodiscard]] const States& states() const;
  [[nodiscard]] bool together(NodeId a, NodeId b) const;
  // `tolerance`: relative half-width (three sigma) by branch; empty: sigma is not worked out.
  [[nodiscard]] Predicted read(const Probe& probe, const std::vector<double>& tolerance);
  [[nodiscard]] Predicted evaluate(const Functional& functional, const std::vector<double>& tolerance);

  [[nodiscard]] BenchCounts counts() const;

 private:
  using Vector = std::vector<double>;

  // One low-rank update: unknown `coefficient` times `response` is added to the base solution so that `law` holds.
  struct Update {
    enum class Kind : std::uint8_t { kRow, kInjection, kTie, kRelease };
    Kind kind = Kind::kRow;
    std::size_t index = 0;  // branch, or tie of the base for kRelease
    Law law;
    NodeId a, b, c, d;
    const Vector* response = nullptr;
  };
  // Islands of a changed circuit, and what its ties need.
  struct Topology {
    Islands islands;
    std::vector<NodeId> add;
    std::vector<std::size_t> release;
  };
  class View;

  void restore();
  [[nodiscard]] bool settle_surely();
  [[nodiscard]] bool settle();
  [[nodiscard]] bool settle_middle();
  [[nodiscard]] bool settle_fast();
  [[nodiscard]] bool solve_updates();
  void collect_updates();
  void add_update(Update::Kind kind, std::size_t index, const Law& law);
  const Topology* find_topology(const std::vector<std::uint64_t>& key);
  [[nodiscard]] bool update_coefficients();
  [[nodiscard]] double law_on(const Update& update, const Vector& z) const;
  void make_whole();
  [[nodiscard]] bool holds_itself();
  [[nodiscard]] bool stop_drivers(circuit::ModuleId module);
  void fall_back();

  void push_meter(const Branch& branch);
  void pop_meter();
  Predicted read_ohms(const Probe& probe, const std::vector<double>& tolerance);
  Predicted read_with(const Branch& branch, const Probe& probe, const std::vector<double>& tolerance);
  Predicted read_anew(const Branch& branch, const Probe& probe, const std::vector<double>& tolerance);

  const Vector& row_response(std::size_t row);
  const Vector& injection_response(NodeId a, NodeId b);
  const Vector& adjoint_volts(NodeId a, NodeId b);
  const Vector& adjoint_unknown(std::size_t index);
  [[nodiscard]] double spread(const Functional& functional, const std::vector<double>& tolerance);
  void add_adjoint(Vector& sum, double factor, const Update& update);
  [[nodiscard]] double law_slope(std::size_t branch) const;

  Model model_;  // patched in place by put_fault and by meters, put back by restore
  double system_volts_;
  std::size_t base_branches_;
  Stateful stateful_;
  std::vector<std::size_t> movable_;  // branches whose law depends on a state
  sparse::Lu lu_;
  OperatingPoint base_;

  std::vector<std::pair<std::size_t, Branch>> saved_;
  std::vector<char> saved_dead_;
  States states_;
  std::vector<Update> updates_;
  std::vector<long double> inverse_;
  std::vector<double> coefficients_;
  const Topology* topology_ = nullptr;  // none: as the base
  Status fault_status_ = Status::kSettled;
  std::unique_ptr<FaultBench> own_;  // when the fault got a factorisation of its own

  std::unordered_map<std::size_t, Vector> row_cache_, unknown_cache_;
  std::map<std::pair<std::uint32_t, std::uint32_t>, Vector> injection_cache_, adjoint_cache_;
  std::map<std::vector<std::uint64_t>, Topology> topology_cache_;
  BenchCounts counts_;
};

}  // namespace halfsplit::electrical
