// SPDX-License-Identifier: Apache-2.0
// Tables written by hand, for the tests of this room and of what stands on it. Not part of the library.
#pragma once

#include <utility>
#include <vector>

#include "evidence/prediction.h"
#include "infer/noise.h"
#include "infer/prior.h"

namespace halfsplit::infer::test {

inline fault::FaultId id(std::size_t index) { return fault::FaultId(index); }

inline evidence::Prediction number(double mean, double sigma) { return {{{1.0, false, mean, sigma, {}}}, true}; }
inline evidence::Prediction over_range() { return {{{1.0, true, 0.0, 0.0, {}}}, true}; }
inline evidence::Prediction unknown() { return {}; }
inline evidence::Prediction words(double first, double second, double third = 0.0) {
  return {{{1.0, false, 0.0, 0.0, {static_cast<float>(first), static_cast<float>(second), static_cast<float>(third)}}},
          true};
}
inline evidence::Prediction surely(int category) {
  return words(category == 0 ? 1.0 : 0.0, category == 1 ? 1.0 : 0.0, category == 2 ? 1.0 : 0.0);
}

inline Reading saw(evidence::Kind kind, double value, Scale scale = {}) { return {kind, {false, value, -1}, scale}; }
inline Reading saw_word(evidence::Kind kind, int category) { return {kind, {false, 0.0, category}, {}}; }
inline Reading saw_over_range(evidence::Kind kind) { return {kind, {true, 0.0, -1}, {}}; }

inline Row row_of(std::vector<fault::FaultId> faults, double log_prior) {
  Row row;
  if (!faults.empty()) row.first = faults[0];
  if (faults.size() > 1) row.second = faults[1];
  if (faults.size() > 2) row.more.assign(faults.begin() + 2, faults.end());
  row.log_prior = log_prior;
  return row;
}

// lines[row][column]
inline evidence::ResponseTable table_of(const std::vector<std::vector<evidence::Prediction>>& lines) {
  evidence::ResponseTable table(lines.size(), lines.empty() ? 0 : lines.front().size());
  for (std::size_t r = 0; r < lines.size(); ++r)
    for (std::size_t c = 0; c < lines[r].size(); ++c) table.at(r, c) = lines[r][c];
  return table;
}

// Nobody slips or misreads: pure logic.
inline Noise no_noise() {
  Noise noise;
  noise.mis_probe = 0.0;
  noise.misread = 0.0;
  return noise;
}

}  // namespace halfsplit::infer::test
