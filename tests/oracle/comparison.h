// SPDX-License-Identifier: Apache-2.0
// One random loom after another: faults, states of the vehicle and meters are drawn, and what our paths read is
// compared with ngspice. Three sides: the slow path (factorised anew), the fault bench, and the campaign, which also
// opens the fuses that melt at work.
#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "base/rng.h"
#include "electrical/fault_bench.h"
#include "predict/campaign.h"
#include "tests/oracle/coverage.h"
#include "tests/oracle/spice_oracle.h"

namespace halfsplit::oracle {

struct Tally {
  std::size_t values = 0, over_range = 0, unsettled = 0, without_answer = 0, solved_finer = 0, latched = 0,
              rests_in_use = 0, apart = 0, predicted = 0;
  double worst_slow = 0.0, worst_fast = 0.0, worst_predicted = 0.0;  // as shares of what is allowed
  Coverage met;
};

// What is wrong (nothing, one thing, now and then two on different items), one meter, in one configuration.
struct Trial {
  struct Wrong {
    fault::FaultId id;
    const fault::Fault* fault = nullptr;
    double quantile = 0.5, severity = 0.0;
  };
  circuit::Configuration configuration;
  std::vector<Wrong> faults;
  Meter meter;
};

class Comparison {
 public:
  // `show`: differences print their circuit as SPICE text.
  Comparison(Ngspice& spice, std::uint64_t seed, Tally& tally, bool show);
  void run();

 private:
  void note_parts();
  void choose_faults(Trial& trial);
  Trial::Wrong choose_fault();
  [[nodiscard]] std::vector<fault::Change> changes_of(const Trial& trial) const;
  void compare(const Trial& trial, electrical::FaultBench& bench);
  [[nodiscard]] bool rests_there_too(electrical::Model model, const electrical::Probe& probe,
                                     const electrical::FaultBench& bench, const electrical::Measured& fast) const;
  // Does the circuit find no rest in the moment in which what comes and goes is whole?
  void compare_prediction(const Trial& trial, const SpiceOracle& oracle, const Answer& theirs);
  [[nodiscard]] std::vector<circuit::ElementId> melted_at_work(const Trial& trial);
  [[nodiscard]] bool observable_of(const Trial& trial, evidence::Observable& what) const;
  void count(const Trial& trial, const SpiceOracle& oracle, const Answer& theirs);
  [[nodiscard]] std::string describe(const Trial& trial) const;
  void say_no_answer(const SpiceOracle& oracle);
  void show(const SpiceOracle& oracle, const electrical::Model& model) const;

  Ngspice& spice_;
  std::uint64_t seed_;
  base::Rng rng_;
  circuit::Loom loom_;
  circuit::Netlist netlist_;
  fault::Universe universe_;
  std::map<std::pair<std::string, fault::FaultKind>, std::vector<fault::FaultId>> by_subject_;
  predict::Campaign campaign_;
  Tally& tally_;
  bool show_;
};

}  // namespace halfsplit::oracle
