// SPDX-License-Identifier: Apache-2.0
// What an action tells: bits about the repair class, edges cut between classes, and whether it tells anything at all.
// All figures are weighted by mass (bits times the belief's mass), so that they add up over outcomes. No setups, no
// minutes. Only bits about the class count: telling apart faults that share a repair is worth nothing.
#pragma once

#include <vector>

#include "plan/belief.h"

namespace halfsplit::plan {

class Gain {
 public:
  explicit Gain(const Model& model);

  // The belief the other calls are about; it must stay where it is meanwhile.
  void look_at(const Belief& belief);

  [[nodiscard]] double class_bits() const { return class_bits_; }  // entropy over classes times mass
  [[nodiscard]] double group_bits() const { return group_bits_; }  // the same over groups (model.h)

  // Faults of one class that are left, side by side in the belief.
  struct Run {
    std::uint32_t begin = 0;
    std::uint32_t end = 0;
    double mass = 0.0;
    FaultNumber first = 0;
  };
  [[nodiscard]] const std::vector<Run>& runs() const { return runs_; }
  // The repairs that may mend, by number.
  [[nodiscard]] const std::vector<std::uint16_t>& touched() const { return touched_; }

  // Does it change any weight against another?
  [[nodiscard]] bool splits(std::size_t test) const;
  // Expected fall of class_bits(); never below 0.
  [[nodiscard]] double bits(std::size_t test);
  // The same for a repair with its check; a repair that mends ends the job.
  [[nodiscard]] double repair_bits(std::size_t repair) const;
  [[nodiscard]] double mended_mass(std::size_t repair) const { return mended_mass_[repair]; }

  // Edges join every pair of faults of different classes, weight p times p; a test's outcome cuts the edges of faults
  // it rules out. Expected weight cut, as a share of mass squared. Noise that tells nothing cuts nothing.
  [[nodiscard]] double edges() const;
  [[nodiscard]] double edges_cut(std::size_t test);

 private:
  void find_runs();
  void add_up_repairs();
  [[nodiscard]] double find_group_bits();

  const Model* model_;
  Belief belief_;
  std::vector<Run> runs_;
  bool single_ = false;  // each class has one fault left
  double class_bits_ = 0.0;
  double group_bits_ = 0.0;
  double mass_bits_ = 0.0;                // sum over classes of m log m
  double total_bits_ = 0.0;               // M log M
  std::vector<double> mended_mass_;       // by repair
  std::vector<double> mended_mass_bits_;  // by repair: its classes' m log m
  std::vector<std::uint16_t> touched_;    // repairs with mended_mass_ set
  std::vector<double> outcome_mass_;
  std::vector<double> part_mass_;
  std::vector<double> group_mass_;
};

}  // namespace halfsplit::plan
