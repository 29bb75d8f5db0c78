// SPDX-License-Identifier: Apache-2.0
// Being alike is not transitive, so chains of near neighbours are not joined: everyone is compared with the leader.
#include "infer/groups.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include "base/check.h"
#include "infer/log_sum.h"

namespace halfsplit::infer {

namespace {

std::vector<fault::RepairId> repairs_of(const Row& row, std::span<const fault::RepairId> repair_of) {
  std::vector<fault::RepairId> repairs;
  for (const fault::FaultId id : faults_of(row)) {
    HS_CHECK(id.index() < repair_of.size(), "every fault has its repair");
    repairs.push_back(repair_of[id.index()]);
  }
  std::sort(repairs.begin(), repairs.end());
  repairs.erase(std::unique(repairs.begin(), repairs.end()), repairs.end());
  return repairs;
}

double total_variation(const std::vector<double>& a, const std::vector<double>& b) {
  if (a.empty() || b.empty()) return 0.0;
  HS_CHECK(a.size() == b.size(), "one test has the same outcomes for all");
  double sum = 0.0;
  for (std::size_t k = 0; k < a.size(); ++k) sum += std::fabs(a[k] - b[k]);
  return 0.5 * sum;
}

std::vector<std::size_t> by_probability(std::span<const double> probabilities) {
  std::vector<std::size_t> order(probabilities.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return probabilities[a] > probabilities[b]; });
  return order;
}

}  // namespace

std::vector<RepairGroup> group_by_repair(const Posterior& posterior, std::span<const fault::RepairId> repair_of) {
  std::vector<RepairGroup> groups;
  std::map<std::vector<fault::RepairId>, std::size_t> position;
  for (const std::size_t s : rank_suspects(posterior)) {
    std::vector<fault::RepairId> repairs = repairs_of(posterior.suspects[s].faults, repair_of);
    const auto [entry, is_new] = position.emplace(repairs, groups.size());
    if (is_new) groups.push_back({std::move(repairs), {}, 0.0});
    groups[entry->second].suspects.push_back(s);
    groups[entry->second].probability += posterior.suspects[s].probability;
  }
  std::stable_sort(groups.begin(), groups.end(),
                   [](const RepairGroup& a, const RepairGroup& b) { return a.probability > b.probability; });
  return groups;
}

double distance(const Outcomes& a, const Outcomes& b) {
  HS_CHECK(a.size() == b.size(), "the same tests for all");
  double largest = 0.0;
  for (std::size_t t = 0; t < a.size(); ++t) largest = std::max(largest, total_variation(a[t], b[t]));
  return largest;
}

std::vector<AlikeGroup> group_alike(std::span<const double> probabilities, std::span<const Outcomes> outcomes,
                                    double threshold) {
  HS_CHECK(probabilities.size() == outcomes.size(), "one table of outcomes per hypothesis");
  std::vector<AlikeGroup> groups;
  for (const std::size_t h : by_probability(probabilities)) {
    const auto home = std::find_if(groups.begin(), groups.end(), [&](const AlikeGroup& group) {
      return distance(outcomes[group.leader], outcomes[h]) <= threshold;
    });
    AlikeGroup& group = home != groups.end() ? *home : groups.emplace_back(AlikeGroup{h, {}, 0.0});
    group.members.push_back(h);
    group.probability += probabilities[h];
  }
  for (AlikeGroup& group : groups) std::sort(group.members.begin(), group.members.end());
  return groups;
}

}  // namespace halfsplit::infer
