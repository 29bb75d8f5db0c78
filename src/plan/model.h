// SPDX-License-Identifier: Apache-2.0
// A problem in the form the search works on: dense arrays, numbered faults, nothing by name. Made once, read only.
// Tests and repairs keep their numbers. Faults do not: those with prior 0 are left out, and those that no test tells
// apart and the same repairs mend become one. Faults of one class (mended by the same repairs) stand side by side. Owns
// copies of all it needs; may be shared between searches. Only this room includes it.
#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>
#include <vector>

#include "plan/problem.h"
#include "plan/setups.h"

namespace halfsplit::plan {

using FaultNumber = std::uint16_t;
inline constexpr FaultNumber kNoFault = 0xFFFF;

struct ModelTest {
  double minutes = 0.0;  // with extras
  ConditionNumber condition = 0;
  std::uint32_t outcomes = 0;
  std::size_t table = 0;       // P(o | f) at Model::table[table + f * outcomes + o]
  bool sure = false;           // every outcome is certain given the fault
  bool dominated = false;      // another sure test tells as much, is no dearer and asks for no more
  double capacity_bits = 0.0;  // no prior makes it tell more about the fault
};

struct ModelRepair {
  double minutes = 0.0;  // with extras, without the check
  ConditionNumber condition = 0;
};

struct Model {
  Goal goal = Goal::kRepair;
  std::size_t fault_count = 0;
  std::vector<FaultNumber> fault_of;    // by Problem fault; kNoFault when left out
  std::vector<std::uint16_t> class_of;  // by fault: same repairs
  std::vector<std::uint16_t> group_of;  // by fault: could be together at the end of a job (coarser than classes)
  bool groups_are_classes = true;
  std::vector<std::uint32_t> repairs_begin;  // by fault, fault_count + 1 entries into repair_list
  std::vector<std::uint16_t> repair_list;

  std::vector<ModelTest> tests;
  std::vector<double> table;
  // log2 of the table in whole steps of 2^-36, so that sums do not depend on their order; 0 where it is 0. Not in a
  // relaxed problem.
  std::vector<std::int64_t> log_steps;
  std::vector<double> noise_bits;          // [test][fault]: entropy of the row
  std::vector<std::uint8_t> sure_outcome;  // [test][fault], for sure tests
  // Only in a relaxed problem (relaxed.h): the chance, by [test][fault], that a sure test tells the fault itself. Its
  // row in `table` lacks that much. What it costs to have a fault told that way, by trying again and again.
  std::vector<double> leak;
  double leak_minutes = std::numeric_limits<double>::infinity();
  std::vector<ModelRepair> repairs;
  std::vector<std::uint8_t> mends;  // [repair][fault]

  std::vector<Setup> setups;
  bool undo_at_end = true;
  std::vector<Conditions> conditions;
  ConditionNumber check_condition = 0;
  double check_minutes = 0.0;

  [[nodiscard]] double likelihood(std::size_t t, FaultNumber f, std::size_t o) const {
    return table[tests[t].table + f * tests[t].outcomes + o];
  }
  [[nodiscard]] bool does_mend(std::size_t r, FaultNumber f) const { return mends[r * fault_count + f] != 0; }
};

[[nodiscard]] Model make_model(const Problem& problem);

// Weights by Problem fault -> weights by Model fault.
[[nodiscard]] std::vector<double> fold_weights(const Model& model, const std::vector<double>& weights);

}  // namespace halfsplit::plan
