// SPDX-License-Identifier: Apache-2.0
#include "infer/isolation_score.h"

#include <algorithm>

#include "base/check.h"

namespace halfsplit::infer {

namespace {

std::size_t count_missing(std::span<const fault::FaultId> wanted, std::span<const fault::FaultId> there) {
  return static_cast<std::size_t>(std::count_if(wanted.begin(), wanted.end(), [&](fault::FaultId id) {
    return std::find(there.begin(), there.end(), id) == there.end();
  }));
}

// Share of all looks that are saved, when `bad` are to be found among `among`.
double saved(std::size_t bad, std::size_t among, std::size_t components) {
  const auto n = static_cast<double>(bad);
  return 1.0 - n * (static_cast<double>(among) + 1.0) / (static_cast<double>(components) * (n + 1.0));
}

}  // namespace

IsolationScore score_isolation(std::span<const fault::FaultId> said, std::span<const fault::FaultId> truth,
                               std::size_t components) {
  HS_CHECK(components > 0 && said.size() <= components, "what is said is among the components");
  const std::size_t unsaid = count_missing(truth, said);
  const std::size_t wrong = count_missing(said, truth);
  IsolationScore score;
  score.system_repair = saved(unsaid, components - said.size(), components);
  score.diagnosis_repair = saved(wrong, said.size(), components);
  score.utility = score.system_repair + score.diagnosis_repair - 1.0;
  score.errors = unsaid + wrong;
  return score;
}

}  // namespace halfsplit::infer
