// SPDX-License-Identifier: Apache-2.0
// Effects are differences from the healthy reading: in the unit for numbers, infinite for OL; for what is no number,
// one where the chance of it changes. Two faults rarely just add up (of two cuts in one path one is enough, a second
// resistance makes the first drop less), so everything from the lesser effect to the sum counts as within reach.
#include "infer/pair_guess.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/check.h"
#include "infer/likelihood.h"

namespace halfsplit::infer {

namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kOutOfReach = 0.01;  // ours: the drawing may be wrong about who bears on what
constexpr double kChanges = 0.05;     // ours: a change of chance that counts as an effect

// Chance of what was seen, for OL and words.
double chance_of_seen(const evidence::Prediction& prediction, const Reading& reading) {
  double chance = 0.0;
  for (const evidence::Component& component : prediction.components) {
    const bool is_word = !evidence::is_numeric(reading.kind);
    const double given = is_word
                             ? static_cast<double>(component.category[static_cast<std::size_t>(reading.seen.category)])
                             : (component.over_range ? 1.0 : 0.0);
    chance += component.weight * given;
  }
  return chance;
}

bool is_number(const Reading& reading) { return evidence::is_numeric(reading.kind) && !reading.seen.over_range; }

// Mean of the part without OL; infinite when all of it is OL.
double mean_of(const evidence::Prediction& prediction) {
  double weight = 0.0, sum = 0.0;
  for (const evidence::Component& component : prediction.components) {
    if (component.over_range) continue;
    weight += component.weight;
    sum += component.weight * component.mean;
  }
  return weight > 0.0 ? sum / weight : kInfinity;
}

double widest_sigma(const evidence::Prediction& prediction) {
  double sigma = 0.0;
  for (const evidence::Component& component : prediction.components) sigma = std::max(sigma, component.sigma);
  return sigma;
}

// How far the reading is from healthy; 0 when healthy is not known: then everything is within reach.
double away_from(const evidence::Prediction& healthy, const Reading& reading) {
  if (healthy.components.empty()) return 0.0;
  if (!is_number(reading)) return chance_of_seen(healthy, reading) > 0.5 ? 0.0 : 1.0;
  const double mean = mean_of(healthy);
  return std::isfinite(mean) ? reading.seen.value - mean : -kInfinity;
}

// The effect of a fault on a reading that is no number: 1 when the reading becomes much likelier or unlikelier. Where
// the reading is not the healthy one, any other change counts as well: with a second fault it may lead on.
double changes(const evidence::Prediction& cell, const evidence::Prediction& healthy, const Reading& reading) {
  const double before = chance_of_seen(healthy, reading);
  if (before > 0.5) return chance_of_seen(cell, reading) < 0.5 ? 1.0 : 0.0;
  Reading other = reading;
  const std::size_t words = evidence::categories(reading.kind).size();
  for (std::size_t k = 0; k < std::max<std::size_t>(words, 1); ++k) {
    other.seen.category = static_cast<int>(k);
    if (std::fabs(chance_of_seen(cell, other) - chance_of_seen(healthy, other)) > kChanges) return 1.0;
  }
  return 0.0;
}

// The effect in the unit; infinite towards OL.
double difference(const evidence::Prediction& cell, const evidence::Prediction& healthy) {
  const double now = mean_of(cell);
  const double before = mean_of(healthy);
  if (std::isfinite(before)) return now - before;
  return std::isfinite(now) ? -kInfinity : 0.0;
}

const Row* find_not_drawn(std::span<const Row> rows) {
  const auto row = std::find_if(rows.begin(), rows.end(), is_not_drawn);
  return row == rows.end() ? nullptr : &*row;
}

}  // namespace

PairGuess::PairGuess(std::span<const FaultRate> faults, std::span<const Row> rows, const evidence::ResponseTable& table,
                     const LikelihoodTable& likelihoods, std::span<const Reading> readings, const Noise& noise)
    : PairGuess(
          faults, rows, [&](std::size_t r, std::size_t c) -> const evidence::Prediction& { return table.at(r, c); },
          likelihoods, readings, noise) {}

PairGuess::PairGuess(std::span<const FaultRate> faults, std::span<const Row> rows, const Shown& shown,
                     const LikelihoodTable& likelihoods, std::span<const Reading> readings, const Noise& noise)
    : faults_(faults.size()), levels_(readings.size()), singles_(faults.size() * readings.size()) {
  HS_CHECK(readings.size() == likelihoods.columns() && rows.size() == likelihoods.rows(),
           "rows and columns are in step");
  for (Single& single : singles_) single = {-kInfinity, kInfinity, -kInfinity};
  std::vector<std::size_t> position_of;
  for (std::size_t i = 0; i < faults.size(); ++i) {
    const std::size_t id = faults[i].fault.index();
    if (position_of.size() <= id) position_of.resize(id + 1, faults_);
    position_of[id] = i;
  }
  const Row* not_drawn = find_not_drawn(rows);
  const evidence::Prediction unknown;
  for (std::size_t c = 0; c < readings.size(); ++c) {
    const evidence::Prediction& healthy =
        not_drawn == nullptr ? unknown : shown(static_cast<std::size_t>(not_drawn - rows.data()), c);
    const double log_broad = std::log(broad_density(readings[c], noise));
    levels_[c] = {away_from(healthy, readings[c]), infer::log_likelihood(healthy, Neighbours{}, readings[c], noise),
                  log_broad, log_broad + std::log(kOutOfReach)};
    for (std::size_t r = 0; r < rows.size(); ++r) {
      const bool is_single = !is_not_drawn(rows[r]) && rows[r].second.is_none();
      const std::size_t id = rows[r].first.index();
      if (is_single && id < position_of.size() && position_of[id] < faults_)
        add_row(position_of[id], c, shown(r, c), likelihoods.at(r, c), healthy, readings[c]);
    }
  }
  for (const Single& single : singles_)
    HS_CHECK(single.log_likelihood > -kInfinity, "every fault has a row of its own");
}

void PairGuess::add_row(std::size_t fault, std::size_t column, const evidence::Prediction& cell, double log_likelihood,
                        const evidence::Prediction& healthy, const Reading& reading) {
  Single& single = singles_[fault * columns() + column];
  single.log_likelihood = std::max(single.log_likelihood, log_likelihood);
  double low = -kInfinity;
  double high = kInfinity;
  if (!healthy.components.empty() && !cell.components.empty()) {
    const double effect = is_number(reading) ? difference(cell, healthy) : changes(cell, healthy, reading);
    const double margin = is_number(reading) ? 3.0 * std::max(widest_sigma(cell), smallest_sigma(reading)) : 0.0;
    low = effect - margin;
    high = effect + margin;
  }
  single.low = std::min(single.low, low);
  single.high = std::max(single.high, high);
}

// An effect that is infinite at every severity (a cut path) is not made less by a second fault.
bool PairGuess::is_within(const Level& level, const Single& a, const Single& b) {
  const double sum_low = a.low + b.low;
  const double low = sum_low == kInfinity ? sum_low : std::min({a.low, b.low, sum_low});
  return level.away >= low && level.away <= std::max({a.high, b.high, a.high + b.high});
}

double PairGuess::log_likelihood(std::size_t i, std::size_t j) const {
  const Single* a = &singles_[i * columns()];
  const Single* b = &singles_[j * columns()];
  double sum = 0.0;
  for (std::size_t c = 0; c < columns(); ++c) {
    const double floor = is_within(levels_[c], a[c], b[c]) ? levels_[c].within : levels_[c].outside;
    sum += std::max({a[c].log_likelihood, b[c].log_likelihood, floor});
  }
  return sum;
}

double PairGuess::log_likelihood_alone(std::size_t i) const {
  const Single* a = &singles_[i * columns()];
  double sum = 0.0;
  for (std::size_t c = 0; c < columns(); ++c)
    sum += std::max({a[c].log_likelihood, levels_[c].healthy, levels_[c].outside});
  return sum;
}

double PairGuess::log_likelihood_of_none() const {
  double sum = 0.0;
  for (const Level& level : levels_) sum += std::max(level.healthy, level.outside);
  return sum;
}

}  // namespace halfsplit::infer
