// SPDX-License-Identifier: Apache-2.0
// Local search: each box in turn goes to the column where the whole costs least, a fresh column in front or behind
// included, until no move helps. Prices are ours, set by looking at drawings.
#include "report/lane_depths.h"

#include <algorithm>

namespace halfsplit::report {

namespace {

constexpr double kSameColumn = 14.0;  // a wire that turns back into its column
constexpr double kPassedColumn = 10.0;
constexpr double kColumn = 8.0;
constexpr double kHeight = 6.0;  // per square of kFairHeight
constexpr double kFairHeight = 240.0;
constexpr int kMostRounds = 30;

using Depths = std::vector<long>;

// To which sides the wires of a box lead.
struct Leaning {
  int left[2] = {0, 0}, right[2] = {0, 0};  // of slots 0 and 1
  int other = 0;                            // of its further slots, left and right
  [[nodiscard]] int lean(std::size_t slot) const { return right[slot] - left[slot]; }
};

class Search {
 public:
  Search(const std::vector<DepthBox>& boxes, const std::vector<DepthWire>& wires) : boxes_(boxes), wires_(wires) {}

  Depths run(Depths depths) const {
    double best = cost(depths);
    bool better = true;
    for (int round = 0; round < kMostRounds && better; ++round) {
      better = false;
      for (std::size_t box = 0; box < boxes_.size(); ++box) better = move_best(depths, box, best) || better;
    }
    return compact(depths);
  }

 private:
  bool move_best(Depths& depths, std::size_t box, double& best) const {
    const auto [low, high] = std::minmax_element(depths.begin(), depths.end());
    const long first = *low - 1, last = *high + 1;
    long at = depths[box];
    bool better = false;
    for (long depth = first; depth <= last; ++depth) {
      depths[box] = depth;
      const double now = cost(depths);
      if (now >= best - 1e-9) continue;
      best = now;
      at = depth;
      better = true;
    }
    depths[box] = at;
    depths = compact(depths);
    return better;
  }

  // Columns without boxes go.
  static Depths compact(const Depths& depths) {
    Depths used = depths;
    std::sort(used.begin(), used.end());
    used.erase(std::unique(used.begin(), used.end()), used.end());
    Depths result;
    for (const long depth : depths) result.push_back(std::lower_bound(used.begin(), used.end(), depth) - used.begin());
    return result;
  }

  double cost(const Depths& loose) const {
    const Depths depths = compact(loose);
    const long columns = *std::max_element(depths.begin(), depths.end()) + 1;
    double sum = kColumn * static_cast<double>(columns);
    std::vector<Leaning> leaning(boxes_.size());
    for (const DepthWire& wire : wires_) sum += wire_cost(wire, depths, columns, leaning);
    for (std::size_t i = 0; i < boxes_.size(); ++i) sum += turn_price(boxes_[i], leaning[i]);
    std::vector<double> height(static_cast<std::size_t>(columns), 0.0);
    for (std::size_t i = 0; i < boxes_.size(); ++i) height[static_cast<std::size_t>(depths[i])] += boxes_[i].height;
    for (const double h : height) sum += kHeight * (h / kFairHeight) * (h / kFairHeight);
    return sum;
  }

  double wire_cost(const DepthWire& wire, const Depths& depths, long columns, std::vector<Leaning>& leaning) const {
    const long from = depths[wire.box[0]];
    long to = 0;
    if (wire.box[1] == kLeftOut)
      to = -1;
    else if (wire.box[1] == kRightOut)
      to = columns;
    else
      to = depths[wire.box[1]];
    lean(leaning[wire.box[0]], wire.slot[0], to - from);
    if (wire.box[1] < boxes_.size()) lean(leaning[wire.box[1]], wire.slot[1], from - to);
    if (from == to) return kSameColumn;
    return kPassedColumn * static_cast<double>(std::max(from, to) - std::min(from, to) - 1);
  }

  // A wire within its column leads to neither side.
  static void lean(Leaning& leaning, std::size_t slot, long direction) {
    if (slot > 1)
      ++leaning.other;
    else if (direction != 0)
      ++(direction < 0 ? leaning.left : leaning.right)[slot];
  }

  static double turn_price(const DepthBox& box, const Leaning& by) {
    const int left = by.left[0] + by.left[1], right = by.right[0] + by.right[1];
    const bool one_side = left + right > 1 && by.other == 0 && (left == 0 || right == 0);
    const int round = std::min(by.right[0] + by.left[1], by.left[0] + by.right[1]);
    return (by.lean(0) * by.lean(1) > 0 ? box.turned : 0.0) + (one_side ? box.one_sided : 0.0) + box.detour * round;
  }

  const std::vector<DepthBox>& boxes_;
  const std::vector<DepthWire>& wires_;
};

}  // namespace

std::vector<std::size_t> spread_lane(const std::vector<DepthBox>& boxes, const std::vector<DepthWire>& wires,
                                     std::vector<std::size_t> start) {
  if (boxes.empty()) return start;
  const Depths depths = Search(boxes, wires).run(Depths(start.begin(), start.end()));
  return std::vector<std::size_t>(depths.begin(), depths.end());
}

}  // namespace halfsplit::report
