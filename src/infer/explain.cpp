// SPDX-License-Identifier: Apache-2.0
// Leave one out. With W = prior times the likelihoods of all other evidence, and J = W times the likelihood of this
// piece, the chance of the piece under a set of rows, the rest given, is sum J / sum W over the set. A suspect's ratio
// is that for its own rows over that for all the others; added to its log odds without the piece it gives those with
// it, exactly. A mis-probe's chance is the share of wrong_share * broad in the likelihood, averaged over belief.
#include "infer/explain.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/check.h"
#include "infer/log_sum.h"

namespace halfsplit::infer {

namespace {

constexpr double kLogTwice = 0.6931471805599453;
constexpr double kLargestLogFactor = 20.72326583694641;  // a factor of 1e9 says enough
// ours: no hypothesis gives the reading even half of what chance would
constexpr double kUnexplainedShare = 0.5;
// ours: the rest of the evidence gives the reading a tenth of what chance would, so a mis-probe is already likely
constexpr double kSurprisingShare = 0.1;
constexpr double kLikelySlip = 0.5;
constexpr double kMuch = 0.2;  // ours: gain in probability

// LSE of all entries but one, for every entry.
std::vector<double> log_sum_of_others(const std::vector<double>& terms) {
  const std::size_t count = terms.size();
  std::vector<double> after(count + 1, kLogOfNothing);
  for (std::size_t k = count; k-- > 0;) after[k] = log_sum_exp(after[k + 1], terms[k]);
  std::vector<double> out(count);
  double before = kLogOfNothing;
  for (std::size_t k = 0; k < count; ++k) {
    out[k] = log_sum_exp(before, after[k + 1]);
    before = log_sum_exp(before, terms[k]);
  }
  return out;
}

// Log of the mass of each suspect, from that of the rows.
std::vector<double> by_suspect(const Posterior& posterior, const std::vector<double>& rows) {
  std::vector<double> out;
  out.reserve(posterior.suspects.size());
  std::vector<double> terms;
  for (const Suspect& suspect : posterior.suspects) {
    terms.clear();
    for (const std::size_t r : suspect.rows) terms.push_back(rows[r]);
    out.push_back(log_sum_exp(terms));
  }
  return out;
}

std::size_t largest_row(const Suspect& suspect, const std::vector<double>& row) {
  return *std::max_element(suspect.rows.begin(), suspect.rows.end(),
                           [&](std::size_t a, std::size_t b) { return row[a] < row[b]; });
}

// One column taken out: masses by suspect with and without it.
struct LeftOut {
  std::vector<double> with, without;                // log, by suspect
  std::vector<double> others_with, others_without;  // log, all the other suspects together
  double total_with = 0.0, total_without = 0.0;

  [[nodiscard]] double log_ratio(std::size_t s) const {
    const double ratio = (with[s] - without[s]) - (others_with[s] - others_without[s]);
    return std::isfinite(ratio) ? ratio : 0.0;  // there are no others
  }
  [[nodiscard]] std::size_t top_without() const {
    return static_cast<std::size_t>(std::max_element(without.begin(), without.end()) - without.begin());
  }
};

LeftOut leave_out(const ExplainInput& input, const std::vector<double>& with, std::size_t column) {
  LeftOut out;
  out.with = with;
  out.without = by_suspect(*input.posterior, log_joint(input.rows, *input.likelihoods, column));
  out.others_with = log_sum_of_others(out.with);
  out.others_without = log_sum_of_others(out.without);
  out.total_with = log_sum_exp(out.with);
  out.total_without = log_sum_exp(out.without);
  return out;
}

Verdict verdict_of(double log_ratio) {
  if (log_ratio > kLogTwice) return Verdict::kFits;
  return log_ratio < -kLogTwice ? Verdict::kSpeaksAgainst : Verdict::kNeutral;
}

Reason make_reason(const ExplainInput& input, const LeftOut& left_out, std::size_t suspect, std::size_t column) {
  const std::size_t row = largest_row(input.posterior->suspects[suspect], input.posterior->row);
  Reason reason;
  reason.column = column;
  reason.predicted = forecast(input.table->at(row, column), input.readings[column].kind);
  reason.log_ratio = left_out.log_ratio(suspect);
  reason.factor = std::exp(std::clamp(reason.log_ratio, -kLargestLogFactor, kLargestLogFactor));
  reason.verdict = verdict_of(reason.log_ratio);
  return reason;
}

bool is_unexplained(const ExplainInput& input, std::size_t column, double log_broad) {
  double best = kLogOfNothing;
  for (std::size_t r = 0; r < input.rows.size(); ++r)
    if (!is_not_drawn(input.rows[r]) && !input.table->at(r, column).components.empty())
      best = std::max(best, input.likelihoods->at(r, column));
  return best > kLogOfNothing && best < log_broad + std::log(kUnexplainedShare);
}

double mis_probe_chance(const ExplainInput& input, std::size_t column, double log_broad) {
  const double wrong = wrong_share(input.readings[column].kind, input.noise);
  CompensatedSum sum;
  for (std::size_t r = 0; r < input.rows.size(); ++r)
    sum.add(input.posterior->row[r] * wrong * std::exp(log_broad - input.likelihoods->at(r, column)));
  return std::min(sum.value(), 1.0);
}

bool is_surprising(const LeftOut& left_out, double log_broad) {
  return left_out.total_with - left_out.total_without < log_broad + std::log(kSurprisingShare);
}

Doubt make_doubt(const ExplainInput& input, const LeftOut& left_out, std::size_t column, std::size_t top_now,
                 double log_broad) {
  Doubt doubt;
  doubt.column = column;
  doubt.chance_of_mis_probe = mis_probe_chance(input, column, log_broad);
  doubt.top_without = left_out.top_without();
  doubt.top_without_probability = std::exp(left_out.without[doubt.top_without] - left_out.total_without);
  doubt.top_without_now = input.posterior->suspects[doubt.top_without].probability;
  doubt.belief_hangs_on_it =
      doubt.top_without != top_now || doubt.top_without_probability - doubt.top_without_now >= kMuch;
  return doubt;
}

void check(const ExplainInput& input) {
  HS_CHECK(input.table != nullptr && input.likelihoods != nullptr && input.posterior != nullptr,
           "explain needs predictions, likelihoods and belief");
  HS_CHECK(input.readings.size() == input.likelihoods->columns() && input.rows.size() == input.likelihoods->rows() &&
               (input.readings.empty() ||
                (input.table->rows() == input.rows.size() && input.table->columns() == input.readings.size())),
           "rows, table, likelihoods and readings are in step");
}

Forecast forecast_category(const evidence::Prediction& prediction, std::size_t words) {
  Forecast out;
  for (std::size_t k = 0; k < words; ++k) {
    double chance = 0.0;
    for (const evidence::Component& component : prediction.components)
      chance += component.weight * static_cast<double>(component.category[k]);
    if (chance > out.category_chance) {
      out.category = static_cast<int>(k);
      out.category_chance = chance;
    }
  }
  return out;
}

// Mean and spread of the mixture without its OL part.
Forecast forecast_number(const evidence::Prediction& prediction) {
  Forecast out;
  double weight = 0.0, first = 0.0, second = 0.0;
  for (const evidence::Component& component : prediction.components) {
    if (component.over_range) {
      out.over_range += component.weight;
      continue;
    }
    weight += component.weight;
    first += component.weight * component.mean;
  }
  if (weight <= 0.0) return out;
  out.mean = first / weight;
  for (const evidence::Component& component : prediction.components) {
    const double off = component.mean - out.mean;
    if (!component.over_range) second += component.weight * (component.sigma * component.sigma + off * off);
  }
  out.sigma = std::sqrt(second / weight);
  return out;
}

}  // namespace

Forecast forecast(const evidence::Prediction& prediction, evidence::Kind kind) {
  Forecast out = evidence::is_numeric(kind) ? forecast_number(prediction)
                                            : forecast_category(prediction, evidence::categories(kind).size());
  out.known = !prediction.components.empty();
  out.settled = prediction.settled;
  return out;
}

Explanations explain(const ExplainInput& input, std::span<const std::size_t> suspects) {
  check(input);
  Explanations out;
  for (const std::size_t suspect : suspects) out.suspects.push_back({suspect, {}});
  const std::vector<double> with = by_suspect(*input.posterior, log_joint(input.rows, *input.likelihoods));
  const std::size_t top_now = rank_suspects(*input.posterior).front();
  for (std::size_t c = 0; c < input.readings.size(); ++c) {
    const double log_broad = std::log(broad_density(input.readings[c], input.noise));
    const LeftOut left_out = leave_out(input, with, c);
    for (Explanation& explanation : out.suspects)
      explanation.reasons.push_back(make_reason(input, left_out, explanation.suspect, c));
    if (is_unexplained(input, c, log_broad)) out.unexplained.push_back(c);
    if (!is_surprising(left_out, log_broad)) continue;
    const Doubt doubt = make_doubt(input, left_out, c, top_now, log_broad);
    if (doubt.belief_hangs_on_it || doubt.chance_of_mis_probe >= kLikelySlip) out.worth_repeating.push_back(doubt);
  }
  return out;
}

}  // namespace halfsplit::infer
