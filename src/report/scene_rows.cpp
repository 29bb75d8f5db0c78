// SPDX-License-Identifier: Apache-2.0
// Rows. First the order within each column: sweeps from left to right and back, each box going to the mean of what it
// is joined to in the column before, then swaps of neighbours while they save crossings (Sugiyama, Tagawa, Toda 1981;
// the swaps: Gansner, Koutsofios, North, Vo 1993). Then every y: sweeps in which a column is placed as near as it gets
// to its neighbours (stack.h), so that most wires run straight. Deterministic: ties keep the order they had.
#include <algorithm>
#include <array>
#include <cstdlib>
#include <numeric>

#include "report/scene.h"
#include "report/stack.h"

namespace halfsplit::report {

namespace {

constexpr int kOrderSweeps = 16;
constexpr int kSwapRounds = 6;
constexpr int kPlaceSweeps = 24;
constexpr int kGrid = 6;

class Rows {
 public:
  explicit Rows(Scene& scene)
      : scene_(scene), segment_of_(scene.ports.size(), kNoIndex), in_channel_(scene.channels.size()) {
    for (std::size_t i = 0; i < scene_.segments.size(); ++i) {
      in_channel_[scene_.segments[i].channel].push_back(i);
      for (const std::size_t port : scene_.segments[i].port) segment_of_[port] = i;
    }
  }

  void arrange() {
    for (std::size_t c = 0; c < scene_.columns.size(); ++c) pack(c);
    find_order();
    find_places();
  }

 private:
  // Everything that an order consists of.
  struct Order {
    std::vector<std::vector<std::size_t>> columns;
    std::vector<Box> boxes;
    std::vector<Port> ports;
  };

  [[nodiscard]] Order remember() const { return {scene_.columns, scene_.boxes, scene_.ports}; }
  void recall(const Order& order) {
    scene_.columns = order.columns;
    scene_.boxes = order.boxes;
    scene_.ports = order.ports;
  }

  [[nodiscard]] int gap(std::size_t above, std::size_t below) const {
    const bool pass = scene_.boxes[above].kind == BoxKind::kPass || scene_.boxes[below].kind == BoxKind::kPass;
    return pass ? 0 : 12;
  }

  void pack(std::size_t column) {
    int y = 0;
    const std::vector<std::size_t>& boxes = scene_.columns[column];
    for (std::size_t i = 0; i < boxes.size(); ++i) {
      if (i > 0) y += scene_.boxes[boxes[i - 1]].height + gap(boxes[i - 1], boxes[i]);
      scene_.boxes[boxes[i]].y = y;
    }
  }

  // The port at the other end of the segment that begins here.
  [[nodiscard]] std::size_t across(std::size_t port) const {
    return scene_.across(scene_.segments[segment_of_[port]], port);
  }

  // --- order -------------------------------------------------------------------------------------------------------

  void find_order() {
    Order best = remember();
    long least = count_crossings();
    for (int sweep = 0; sweep < kOrderSweeps && least > 0; ++sweep) {
      const std::size_t side = sweep % 2 == 0 ? kLeft : kRight;
      const std::size_t columns = scene_.columns.size();
      for (std::size_t i = 0; i < columns; ++i) sort_column(side == kLeft ? i : columns - 1 - i, side);
      swap_neighbours();
      const long crossings = count_crossings();
      if (crossings >= least) continue;
      least = crossings;
      best = remember();
    }
    recall(best);
  }

  void sort_column(std::size_t column, std::size_t side) {
    for (const std::size_t box : scene_.columns[column]) sort_slots(box, side);
    std::vector<std::pair<double, std::size_t>> keyed;
    for (const std::size_t box : scene_.columns[column]) keyed.emplace_back(wanted_middle(box, side), box);
    std::stable_sort(keyed.begin(), keyed.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    for (std::size_t i = 0; i < keyed.size(); ++i) scene_.columns[column][i] = keyed[i].second;
    pack(column);
  }

  // The mean height of what a box is joined to on one side; its own when there is nothing.
  [[nodiscard]] double wanted_middle(std::size_t box, std::size_t side) const {
    const Box& b = scene_.boxes[box];
    double sum = 0.0;
    int count = 0;
    for (const Slot& slot : b.slots)
      for (const std::size_t port : slot.ports) {
        if (scene_.ports[port].side != side) continue;
        const std::size_t other = across(port);
        if (scene_.boxes[scene_.ports[other].box].column == b.column) continue;
        sum += scene_.port_y(other) - scene_.ports[port].y + b.height / 2.0;
        ++count;
      }
    return count > 0 ? sum / count : b.y + b.height / 2.0;
  }

  // Those of one side among themselves; the others keep their turns.
  void sort_ports(Slot& slot, std::size_t side) const {
    std::vector<std::size_t> turns, ports;
    for (std::size_t i = 0; i < slot.ports.size(); ++i) {
      if (scene_.ports[slot.ports[i]].side != side) continue;
      turns.push_back(i);
      ports.push_back(slot.ports[i]);
    }
    std::stable_sort(ports.begin(), ports.end(),
                     [&](std::size_t p, std::size_t q) { return scene_.port_y(across(p)) < scene_.port_y(across(q)); });
    for (std::size_t i = 0; i < turns.size(); ++i) slot.ports[turns[i]] = ports[i];
  }

  void sort_slots(std::size_t box, std::size_t side) {
    Box& b = scene_.boxes[box];
    for (Slot& slot : b.slots) sort_ports(slot, side);
    std::vector<std::size_t>& order = b.order[side];
    std::vector<double> middle(b.slots.size(), 0.0);
    double last = -1.0e9;  // a slot without wires stays behind the one it follows
    for (const std::size_t i : order) {
      double sum = 0.0;
      int count = 0;
      for (const std::size_t port : b.slots[i].ports) {
        if (scene_.ports[port].side != side) continue;
        sum += scene_.port_y(across(port));
        ++count;
      }
      middle[i] = count > 0 ? sum / count : last;
      last = middle[i];
    }
    std::stable_sort(order.begin(), order.end(), [&](std::size_t p, std::size_t q) { return middle[p] < middle[q]; });
    if (b.kind == BoxKind::kPlug) b.order[1 - side] = order;
    arrange_box(scene_, box);
  }

  void swap_neighbours() {
    for (int round = 0; round < kSwapRounds; ++round) {
      bool better = false;
      for (std::size_t column = 0; column < scene_.columns.size(); ++column) {
        for (std::size_t i = 1; i < scene_.columns[column].size(); ++i) better = swap_saves(column, i) || better;
        pack(column);
      }
      if (!better) return;
    }
  }

  // Only the wires of the two cross each other more or less often when the two change places.
  bool swap_saves(std::size_t column, std::size_t i) {
    std::size_t& above = scene_.columns[column][i - 1];
    std::size_t& below = scene_.columns[column][i];
    const long before = count_between(above, below);
    if (before == 0) return false;
    const int top = scene_.boxes[above].y, bottom = scene_.boxes[below].y + scene_.boxes[below].height;
    const int old_below = scene_.boxes[below].y;
    scene_.boxes[below].y = top;
    scene_.boxes[above].y = bottom - scene_.boxes[above].height;
    if (count_between(above, below) < before) {
      std::swap(above, below);
      return true;
    }
    scene_.boxes[above].y = top;
    scene_.boxes[below].y = old_below;
    return false;
  }

  [[nodiscard]] long count_between(std::size_t a, std::size_t b) const {
    long count = 0;
    for (const Slot& one : scene_.boxes[a].slots)
      for (const std::size_t p : one.ports)
        for (const Slot& other : scene_.boxes[b].slots)
          for (const std::size_t q : other.ports) {
            const std::size_t s = segment_of_[p], t = segment_of_[q];
            if (s != t && scene_.segments[s].channel == scene_.segments[t].channel) count += cross(s, t) ? 1 : 0;
          }
    return count;
  }

  [[nodiscard]] long count_crossings() const {
    long count = 0;
    for (std::size_t channel = 0; channel < in_channel_.size(); ++channel) count += count_channel(channel);
    return count;
  }

  // Of big channels every pair counts, so that each end is looked up once.
  [[nodiscard]] long count_channel(std::size_t channel) const {
    const std::vector<std::size_t>& segments = in_channel_[channel];
    std::vector<std::array<long, 2>> at(segments.size());
    for (std::size_t i = 0; i < segments.size(); ++i) at[i] = turns(segments[i]);
    long count = 0;
    for (std::size_t i = 0; i < at.size(); ++i) {
      const auto [low, high] = std::minmax(at[i][0], at[i][1]);
      int crossing = 0;
      for (std::size_t k = i + 1; k < at.size(); ++k) {
        const int first = static_cast<int>(at[k][0] > low) & static_cast<int>(at[k][0] < high);
        const int second = static_cast<int>(at[k][1] > low) & static_cast<int>(at[k][1] < high);
        crossing += first ^ second;
      }
      count += crossing;
    }
    return count;
  }

  struct Ends {
    int y[2];
    std::size_t edge[2];  // of the channel: kLeft or kRight
  };

  [[nodiscard]] Ends ends(std::size_t segment) const {
    Ends e{};
    for (const std::size_t i : {0U, 1U}) {
      const std::size_t port = scene_.segments[segment].port[i];
      e.y[i] = scene_.port_y(port);
      e.edge[i] = 1 - scene_.ports[port].side;  // a right port looks into the channel from its left edge
    }
    return e;
  }

  // Where its ends lie, going once round the channel.
  [[nodiscard]] std::array<long, 2> turns(std::size_t segment) const {
    const Ends e = ends(segment);
    std::array<long, 2> at{};
    for (const std::size_t i : {0U, 1U})
      at[i] = e.edge[i] == kLeft ? static_cast<long>(e.y[i]) : 1'000'000'000L - e.y[i];
    return at;
  }

  // The ends of two wires that must cross take turns.
  [[nodiscard]] bool cross(std::size_t a, std::size_t b) const {
    const std::array<long, 2> x = turns(a), y = turns(b);
    const long low = std::min(x[0], x[1]), high = std::max(x[0], x[1]);
    const auto inside = [&](long at) { return at > low && at < high; };
    return inside(y[0]) != inside(y[1]);
  }

  // --- places ------------------------------------------------------------------------------------------------------

  void find_places() {
    Order best = remember();
    long least = count_bends();
    const std::size_t columns = scene_.columns.size();
    for (int sweep = 0; sweep < kPlaceSweeps; ++sweep) {
      const bool rightward = sweep % 2 == 0;
      const bool both = sweep >= kPlaceSweeps / 2;
      for (std::size_t i = 0; i < columns; ++i)
        place_column(rightward ? i : columns - 1 - i, rightward ? kLeft : kRight, both);
      const long bends = count_bends();
      if (bends >= least) continue;
      least = bends;
      best = remember();
    }
    recall(best);
    int top = 1'000'000'000;
    for (const Box& box : scene_.boxes) top = std::min(top, box.y);
    for (Box& box : scene_.boxes) box.y -= top;
  }

  void place_column(std::size_t column, std::size_t side, bool both) {
    const std::vector<std::size_t>& boxes = scene_.columns[column];
    std::vector<StackItem> items(boxes.size());
    for (std::size_t i = 0; i < boxes.size(); ++i) {
      if (i > 0) items[i].below = scene_.boxes[boxes[i - 1]].height + gap(boxes[i - 1], boxes[i]);
      add_wishes(boxes[i], side, both, items[i].wishes);
      if (items[i].wishes.empty() && !both) add_wishes(boxes[i], 1 - side, false, items[i].wishes);
    }
    const std::vector<int> tops = place_stack(items);
    for (std::size_t i = 0; i < boxes.size(); ++i) scene_.boxes[boxes[i]].y = tops[i];
  }

  void add_wishes(std::size_t box, std::size_t side, bool both, std::vector<std::pair<int, int>>& wishes) const {
    for (const Slot& slot : scene_.boxes[box].slots)
      for (const std::size_t port : slot.ports) {
        if (!both && scene_.ports[port].side != side) continue;
        const std::size_t other = across(port);
        if (scene_.boxes[scene_.ports[other].box].column == scene_.boxes[box].column) continue;
        wishes.emplace_back(scene_.port_y(other) - scene_.ports[port].y, weight(port, other));
      }
  }

  // Long wires are to be straight above all.
  [[nodiscard]] int weight(std::size_t port, std::size_t other) const {
    const auto pass = [&](std::size_t p) { return scene_.boxes[scene_.ports[p].box].kind == BoxKind::kPass ? 1 : 0; };
    return 2 + 2 * (pass(port) + pass(other));
  }

  // A bend costs more than the length it spans.
  [[nodiscard]] long count_bends() const {
    long cost = 0;
    for (const Segment& segment : scene_.segments) {
      const int height = std::abs(scene_.port_y(segment.port[0]) - scene_.port_y(segment.port[1]));
      cost += height == 0 ? 0 : 10 + height / kGrid;
    }
    return cost;
  }

  Scene& scene_;
  std::vector<std::size_t> segment_of_;
  std::vector<std::vector<std::size_t>> in_channel_;
};

}  // namespace

void arrange_rows(Scene& scene) { Rows(scene).arrange(); }

}  // namespace halfsplit::report
