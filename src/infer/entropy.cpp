// SPDX-License-Identifier: Apache-2.0
#include "infer/entropy.h"

#include <cmath>

#include "base/check.h"
#include "infer/log_sum.h"

namespace halfsplit::infer {

namespace {

double sum_of(std::span<const double> terms) {
  CompensatedSum sum;
  for (const double term : terms) sum.add(term);
  return sum.value();
}

void check_table(std::span<const double> p, std::span<const std::vector<double>> table) {
  HS_CHECK(!p.empty() && p.size() == table.size(), "one line of outcomes per hypothesis");
  for (const std::vector<double>& line : table)
    HS_CHECK(line.size() == table.front().size(), "every hypothesis has the same outcomes");
}

}  // namespace

double entropy_bits(std::span<const double> probabilities) {
  const double total = sum_of(probabilities);
  CompensatedSum bits;
  for (const double p : probabilities)
    if (p > 0.0) bits.add(-p / total * std::log2(p / total));
  return bits.value();
}

std::vector<double> outcome_chances(std::span<const double> p, std::span<const std::vector<double>> table) {
  check_table(p, table);
  const double total = sum_of(p);
  std::vector<double> out(table.front().size());
  for (std::size_t k = 0; k < out.size(); ++k) {
    CompensatedSum sum;
    for (std::size_t h = 0; h < p.size(); ++h) sum.add(p[h] / total * table[h][k]);
    out[k] = sum.value();
  }
  return out;
}

double expected_entropy_bits(std::span<const double> p, std::span<const std::vector<double>> table) {
  const std::vector<double> chances = outcome_chances(p, table);
  CompensatedSum bits;
  std::vector<double> after(p.size());
  for (std::size_t k = 0; k < chances.size(); ++k) {
    if (chances[k] <= 0.0) continue;
    for (std::size_t h = 0; h < p.size(); ++h) after[h] = p[h] * table[h][k];
    bits.add(chances[k] * entropy_bits(after));
  }
  return bits.value();
}

double expected_gain_bits(std::span<const double> p, std::span<const std::vector<double>> table) {
  return entropy_bits(p) - expected_entropy_bits(p, table);
}

}  // namespace halfsplit::infer
