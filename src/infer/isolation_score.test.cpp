// SPDX-License-Identifier: Apache-2.0
#include "infer/isolation_score.h"

#include <gtest/gtest.h>

#include <string_view>
#include <vector>

namespace halfsplit::infer {
namespace {

std::vector<fault::FaultId> set_of(std::string_view letters) {
  std::vector<fault::FaultId> out;
  for (const char letter : letters) out.emplace_back(static_cast<std::size_t>(letter - 'a'));
  return out;
}

// Eight parts a to h, true {a, b}: values of the published formula, recomputed by a separate program.
TEST(ScoreIsolation, EightPartsOfWhichTwoAreBad) {
  struct Line {
    const char* said;
    double system, diagnosis, utility;
    std::size_t errors;
  };
  const Line lines[] = {{"ab", 1, 1, 1, 0},        {"a", 0.5, 1, 0.5, 1},
                        {"abc", 1, 0.75, 0.75, 1}, {"cd", 0.416667, 0.75, 0.166667, 4},
                        {"", 0.25, 1, 0.25, 2},    {"abcdefgh", 1, 0.035714, 0.035714, 6}};
  for (const Line& line : lines) {
    const IsolationScore score = score_isolation(set_of(line.said), set_of("ab"), 8);
    EXPECT_NEAR(score.system_repair, line.system, 5e-7) << line.said;
    EXPECT_NEAR(score.diagnosis_repair, line.diagnosis, 5e-7) << line.said;
    EXPECT_NEAR(score.utility, line.utility, 5e-7) << line.said;
    EXPECT_EQ(score.errors, line.errors) << line.said;
  }
}

}  // namespace
}  // namespace halfsplit::infer
