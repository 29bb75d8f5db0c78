// SPDX-License-Identifier: Apache-2.0
// The integral over a stretch by the trapezoid rule, its nodes where the sharpest readings rise and fall; running
// products at the nodes give the integral after each reading.
#include "infer/one_severity.h"

#include <algorithm>
#include <cmath>

#include "infer/beyond_drawing.h"
#include "infer/likelihood.h"
#include "infer/log_sum.h"
#include "infer/robust_normal.h"

namespace halfsplit::infer {

namespace {

constexpr std::size_t kSharpest = 6;  // readings whose turns become nodes
constexpr double kPlain[] = {-1.0, -0.75, -0.5, -0.25, 0.0, 0.25, 0.5, 0.75, 1.0};

struct Node {
  double place, weight;
  double density = 1.0;  // of the readings so far, scaled
};

std::vector<Node> make_nodes(const std::vector<Stretch>& stretches) {
  std::vector<const Stretch*> sharp;
  for (const Stretch& s : stretches)
    if (s.runs()) sharp.push_back(&s);
  std::stable_sort(sharp.begin(), sharp.end(),
                   [](const Stretch* a, const Stretch* b) { return a->sharpness() > b->sharpness(); });
  std::vector<double> places(std::begin(kPlain), std::end(kPlain));
  for (std::size_t i = 0; i < sharp.size() && i < kSharpest; ++i) sharp[i]->add_turns(places);
  std::sort(places.begin(), places.end());
  places.erase(std::unique(places.begin(), places.end()), places.end());
  std::vector<Node> nodes;
  for (std::size_t k = 0; k < places.size(); ++k) {
    const double before = k == 0 ? places[k] : places[k - 1];
    const double after = k + 1 == places.size() ? places[k] : places[k + 1];
    nodes.push_back({places[k], 0.25 * (after - before)});  // half of a stretch of length 2
  }
  return nodes;
}

// Weighs the nodes with one more reading; what it adds to those before it, as a density.
double take_in(const Stretch& stretch, std::vector<Node>& nodes) {
  double sum = 0.0;
  for (Node& node : nodes) {
    node.density *= stretch.density(node.place);
    sum += node.weight * node.density;
  }
  sum = std::max(sum, kLeastDensity);
  for (Node& node : nodes) node.density /= sum;
  return sum;
}

double lean_of(const std::vector<Node>& nodes) {
  double sum = 0.0;
  for (const Node& node : nodes) sum += node.weight * node.density * node.place;
  return std::clamp(sum, -1.0, 1.0);
}

void join_beyond(const evidence::ResponseTable& table, std::size_t row, std::span<const Reading> readings,
                 const Noise& noise, std::vector<std::vector<double>>& columns, Joined& joined) {
  std::vector<const evidence::Prediction*> healthy;
  for (std::size_t c = 0; c < readings.size(); ++c) healthy.push_back(&table.at(row, c));
  const BeyondDrawing beyond = weigh_beyond_drawing(healthy, readings, noise);
  for (std::size_t c = 0; c < readings.size(); ++c) columns[c][row] = beyond.log_likelihoods[c];
  joined.healthy_beyond = beyond.healthy;
}

}  // namespace

Joined join_severities(std::span<const Row> rows, const evidence::ResponseTable& table,
                       std::span<const Reading> readings, const Noise& noise, LikelihoodTable& likelihoods) {
  Joined joined{Leans(rows.size(), 0.0), noise.healthy_beyond_drawing};
  if (readings.empty()) return joined;
  std::vector<Levels> levels;
  for (const Reading& reading : readings) levels.push_back(compute_levels(reading, noise));
  const std::vector<double> joint = log_joint(rows, likelihoods);
  const double least = log_sum_exp(joint) + std::log(kWorthJoining);
  std::vector<std::vector<double>> columns(readings.size());
  for (std::size_t c = 0; c < readings.size(); ++c)
    columns[c].assign(likelihoods.column(c).begin(), likelihoods.column(c).end());
  std::vector<Stretch> stretches;
  std::vector<Reading> own(readings.size());
  for (std::size_t r = 0; r < rows.size(); ++r) {
    if (is_not_drawn(rows[r])) {
      join_beyond(table, r, readings, noise, columns, joined);
      continue;
    }
    stretches.clear();
    std::size_t running = 0;
    double most = joint[r];  // were each reading just where the others put it
    for (std::size_t c = 0; c < readings.size(); ++c) {
      stretches.emplace_back(table.at(r, c), neighbours_of(rows, table, r, c),
                             reading_for(rows[r], readings[c], own[c]), noise, levels[c]);
      if (!stretches.back().runs()) continue;
      ++running;
      most += std::max(0.0, std::log(stretches.back().highest()) - likelihoods.at(r, c));
    }
    if (running == 0 || most < least) continue;
    std::vector<Node> nodes = make_nodes(stretches);
    bool first = true;  // the first that runs stays as it was: its average is exact
    for (std::size_t c = 0; c < readings.size(); ++c) {
      if (!stretches[c].runs()) continue;
      const double added = take_in(stretches[c], nodes);
      if (!first) columns[c][r] = std::log(added);
      first = false;
    }
    joined.leans[r] = lean_of(nodes);
  }
  for (std::size_t c = 0; c < readings.size(); ++c) likelihoods.replace_column(c, std::move(columns[c]));
  return joined;
}

double quantile_at(std::span<const Row> rows, std::size_t row, double place) {
  const Row& own = rows[row];
  const double half = 0.5 * own.quantile_weight;  // rows of a range stand in its middle
  return std::clamp(own.first_quantile + place * half, 0.0, 1.0);
}

}  // namespace halfsplit::infer
