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

  // By fault: the least a plan pays from this set of setups if this is the fault and the repair is known.
  // Goal kIsolate: undoing what is made. Good until the next call.
  [[nodiscard]] const double* unavoidable(SetNumber made);
  [[nodiscard]] double unavoidable(const Belief& belief, SetNumber made);

  // Mass-weighted minutes beyond the unavoidable ones, from the entropy alone: quick.
  [[nodiscard]] double finding_out(double mass, double group_bits, SetNumber made);
  // The same looking at the belief and the tests left: sharper, some hundred times slower.
  [[nodiscard]] double finding_out(const Belief& belief, double group_bits, SetNumber made, TestList tests);

 private:
  struct SharpTest;
  [[nodiscard]] double cost_through(SetNumber made, std::size_t repair);
  void choose_prices();
  [[nodiscard]] double log_repairs(double price) const;
  [[nodiscard]] double log_tests(double price, const SetupSet& made) const;
  [[nodiscard]] const std::vector<double>& free_bits(SetNumber made);
  double fill_to(double ceiling, double mass);
  [[nodiscard]] double gain_left(const Belief& belief, const SharpTest& test, double price);
  [[nodiscard]] double sharp_at(const Belief& belief, double group_bits, std::vector<SharpTest>& tests, double price);

  const Model* model_;
  SetupMoves* moves_;
  std::vector<std::vector<double>> unavoidable_;  // [set][fault], filled when asked for
  SetupSet needed_by_any_repair_;
  std::vector<SetupSet> needed_by_fault_;       // by any repair that mends it, or by the check
  std::vector<SetupSet> needed_by_test_;        // closed
  std::vector<std::uint16_t> charged_to_;       // by test: the dearest setup only tests need; kNobody
  std::vector<double> round_trip_;              // by setup: make and undo
  std::vector<double> prices_;                  // bits per minute tried
  std::vector<double> log_repairs_;             // by price
  std::vector<std::vector<double>> free_bits_;  // [set][price]
  std::vector<double> law_;
};

}  // namespace halfsplit::plan
