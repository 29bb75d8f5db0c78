// SPDX-License-Identifier: Apache-2.0
// Why a suspect stands where it stands: for each piece of evidence what it predicts, and by which factor that piece
// moved its odds against all the others, everything else being known. Also which evidence nothing explains, and which
// contradicts the rest and is worth repeating. Numbers only; words belong to the report.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "evidence/prediction.h"
#include "infer/likelihood_table.h"
#include "infer/posterior.h"

namespace halfsplit::infer {

enum class Verdict { kFits, kNeutral, kSpeaksAgainst };

// A prediction in short.
struct Forecast {
  bool known = false;
  bool settled = true;
  double over_range = 0.0;  // chance of OL
  double mean = 0.0;        // numeric, over the rest
  double sigma = 0.0;
  int category = -1;  // the likeliest
  double category_chance = 0.0;
};
[[nodiscard]] Forecast forecast(const evidence::Prediction& prediction, evidence::Kind kind);

struct Reason {
  std::size_t column = 0;
  Forecast predicted;  // of the suspect's most probable severity
  double log_ratio =
      0.0;              // log of: chance of the reading under this suspect / under the others, rest of evidence given
  double factor = 1.0;  // the same for people: its odds went up by this ("x 40") or, below 1, down
  Verdict verdict = Verdict::kNeutral;  // neutral between a half and twice
};

struct Explanation {
  std::size_t suspect = 0;      // in Posterior::suspects
  std::vector<Reason> reasons;  // by column
};

// A reading that contradicts the rest: the rest gives it a small chance, and either belief hangs on it or it is more
// likely a slip than not (belief then sets it aside, and whoever took it should know).
struct Doubt {
  std::size_t column = 0;
  bool belief_hangs_on_it = false;       // without it another suspect leads, or the leader is much surer
  double chance_of_mis_probe = 0.0;      // given everything
  std::size_t top_without = 0;           // the first suspect when it is left out
  double top_without_probability = 0.0;  // ... and its probability then
  double top_without_now = 0.0;          // ... and now
};

struct Explanations {
  std::vector<Explanation> suspects;
  std::vector<std::size_t> unexplained;  // columns: known to some, likely under no hypothesis of the drawing
  std::vector<Doubt> worth_repeating;
};

struct ExplainInput {
  std::span<const Row> rows;
  const evidence::ResponseTable* table = nullptr;  // as many rows as `rows`
  const LikelihoodTable* likelihoods = nullptr;
  std::span<const Reading> readings;
  Noise noise;
  const Posterior* posterior = nullptr;
};

// Explains the suspects asked for (positions in Posterior::suspects).
[[nodiscard]] Explanations explain(const ExplainInput& input, std::span<const std::size_t> suspects);

}  // namespace halfsplit::infer
