// SPDX-License-Identifier: Apache-2.0
// From candidates and their predictions to a planning problem: each numeric test is cut into outcomes where the
// predictions leave a gap, each act becomes a setup, each repair an action with its part's price as minutes. Keeps the
// way back, so that a decision can be told in the drawing's words.
#pragma once

#include <limits>
#include <string>
#include <vector>

#include "candidates/generate.h"
#include "evidence/prediction.h"
#include "infer/noise.h"
#include "plan/problem.h"

namespace halfsplit::candidates {

// A hypothesis with the table rows that stand for it.
struct SuspectRows {
  std::string name;
  double probability = 0.0;
  std::vector<fault::RepairId> repairs;              // none: "not on this drawing", or mended
  std::vector<std::pair<std::size_t, double>> rows;  // row of the table, weight; weights sum to 1
  bool mended = false;                               // by the repairs done: nothing is left to repair
};

// One outcome of a test: a range of values, OL, or a category.
struct Outcome {
  std::string name;
  bool over_range = false;
  int category = -1;
  double low = -std::numeric_limits<double>::infinity();
  double high = std::numeric_limits<double>::infinity();
  double middle = 0.0;  // where most of it lies
};

struct Test {
  std::size_t candidate = 0;
  std::vector<Outcome> outcomes;
  std::vector<double> chance;  // chance[suspect * outcomes.size() + outcome]
  double bits = 0.0;           // about which repair is needed
  double rough_minutes = 0.0;  // from the present state, undoing counted in full
};

// Splits one candidate's column into outcomes and works out their chances under every suspect. `again`: the candidate's
// kind and scale, and what the same test showed before.
[[nodiscard]] Test make_test(const circuit::Loom& loom, const Candidate& candidate, std::size_t index,
                             const evidence::ResponseTable& table, std::size_t column,
                             const std::vector<SuspectRows>& suspects, std::size_t healthy_row,
                             const infer::Noise& noise, const infer::Reading& again = {});

struct ProblemInput {
  const GenerateInput& generate;
  const std::vector<Candidate>& candidates;
  const std::vector<Test>& tests;  // chosen ones
  const std::vector<SuspectRows>& suspects;
  double money_per_hour = 90.0;
  double fetch_minutes = 0.0;   // for a repair that needs a part dearer than a quarter of an hour
  double return_minutes = 0.0;  // a second visit, where the vehicle was left and is not mended after all
};

inline constexpr std::size_t kNoLeaving = std::numeric_limits<std::size_t>::max();

struct BuiltProblem {
  plan::Problem problem;
  std::vector<Act> acts;             // by setup of the problem
  std::vector<std::size_t> test_of;  // by test of the problem: index into ProblemInput::tests
  // By repair of the problem; empty: look beyond the drawing, or leave it.
  std::vector<std::vector<fault::RepairId>> repairs;
  // The repair that is none: to leave the vehicle, taking it to be mended. It is right where that is so. The problem
  // knows no price for being wrong, so it pays a second visit always; whoever is mended can end no other way, so
  // `shift_minutes`, taken off every expectation, makes it the price of being wrong.
  std::size_t leave = kNoLeaving;
  double shift_minutes = 0.0;
};

// At most `most`: first those that part suspects no other parts, for their minutes; then the most telling for their
// minutes. Those that tell the same are kept once (the cheapest).
[[nodiscard]] std::vector<Test> choose_tests(std::vector<Test> tests, const std::vector<SuspectRows>& suspects,
                                             std::size_t most);
[[nodiscard]] BuiltProblem build_problem(const ProblemInput& input);

// Minutes of a test from the present state, everything it asks for made and undone again.
[[nodiscard]] double rough_minutes(const GenerateInput& input, const Candidate& candidate);

}  // namespace halfsplit::candidates
