// SPDX-License-Identifier: Apache-2.0
// What no plan can avoid, in minutes: the right repair with its setups and proof (known per fault), and on top of it
// the minutes that must go into finding out which it is. Lower bounds: valid for every plan, never an estimate. Figures
// marked "mass-weighted" are times the belief's mass. Belongs to one caller, like the SetupMoves it uses.
#pragma once

#include <span>
#include <vector>

#include "plan/belief.h"
#include "plan/setups.h"

namespace halfsplit::plan {

using TestList = std::span<const std::uint16_t>;  // numbers of tests left

class Bounds {
 public:
  Bounds(const Model& model, SetupMoves& moves);

  // The least a plan pays from this set of setups if this is the fault and the repair is known.
  // Goal kIsolate: undoing what is made. The same for all faults of a class.
  [[nodiscard]] double unavoidable(FaultNumber fault, SetNumber made);
  [[nodiscard]] double unavoidable(const Belief& belief, SetNumber made);  // mass-weighted

  // Mass-weighted minutes beyond the unavoidable ones, from the entropy alone: quick.
  [[nodiscard]] double finding_out(double mass, double group_bits, SetNumber made);
  // The same looking at the belief and the tests left: sharper, some hundred times slower.
  [[nodiscard]] double finding_out(const Belief& belief, double group_bits, SetNumber made, TestList tests);

 private:
  struct SharpTest;
  struct Way {
    SetupSet wanted;               // by the repair's conditions and the check's
    std::vector<SetupId> members;  // of wanted
    std::vector<double> minutes;   // by which of the members are made; NaN until worked out
  };
  [[nodiscard]] double way_minutes(ConditionNumber condition, SetNumber made);
  [[nodiscard]] double work_out_way(ConditionNumber condition, const SetupSet& made) const;
  void prepare_ways();
  void charge_tests();
  void choose_prices();
  [[nodiscard]] double log_repairs(double price) const;
  void add_up_gains();
  [[nodiscard]] const std::vector<double>& free_bits(SetNumber made);
  double fill_to(double ceiling, double mass);
  [[nodiscard]] double gain_left(const Belief& belief, const SharpTest& test, double price);
  [[nodiscard]] double sharp_at(const Belief& belief, double group_bits, std::vector<SharpTest>& tests, double price);

  const Model* model_;
  SetupMoves* moves_;
  std::vector<Way> ways_;  // by condition
  SetupSet needed_by_any_repair_;
  std::vector<SetupSet> needed_by_fault_;  // by any repair that mends it, or by the check
  std::vector<SetupSet> needed_by_test_;   // closed
  std::vector<std::uint16_t> charged_to_;  // by test: the dearest setup only tests need; kNobody
  std::vector<double> round_trip_;         // by setup: make and undo
  std::vector<double> prices_;             // bits per minute tried
  std::vector<double> free_at_start_;      // by price: log of repairs and of tests when nothing is made
  std::vector<std::vector<double>>
      freed_;  // by setup, by price: more when it is made; empty when no test is charged to it
  std::vector<std::vector<double>> free_bits_;  // [set][price], filled when asked for
  std::vector<double> law_;
};

}  // namespace halfsplit::plan
