// SPDX-License-Identifier: Apache-2.0
// Columns. Lanes stand in a line; a plug whose sides lie in two lanes stands on the border behind the left one. Lanes
// and borders are zones, numbered from the left: lane i is zone 2i, the border behind it 2i+1. Within a lane, a box
// stands as far from the lane's left edge as there are hops to what leads left, and as far from its right edge as there
// are hops to what leads right. Every wire end then looks to the side on which the other end lies, and a wire that
// passes columns gets a pass in each: the layered drawing of Sugiyama, Tagawa and Toda (1981).
#include <algorithm>
#include <deque>

#include "report/lane_depths.h"
#include "report/lane_order.h"
#include "report/scene.h"

namespace halfsplit::report {

namespace {

constexpr std::size_t kFar = 1000;  // hops; "not reached"

class Columns {
 public:
  explicit Columns(Scene& scene) : scene_(scene) {}

  void arrange() {
    find_neighbours();
    sort_lanes();
    set_zones();
    for (std::size_t lane = 0; lane < scene_.lanes.size(); ++lane) set_depths(lane);
    number_columns();
    turn_plugs();
    choose_sides();
    for (std::size_t i = 0; i < scene_.links.size(); ++i) lead(i);
    for (std::size_t i = 0; i < scene_.boxes.size(); ++i) order_slots(scene_.boxes[i]);
    for (std::size_t i = 0; i < scene_.boxes.size(); ++i) arrange_box(scene_, i);
  }

 private:
  std::size_t box_at(std::size_t link, std::size_t end) const { return scene_.ports[scene_.links[link].end[end]].box; }

  void find_neighbours() {
    neighbours_.resize(scene_.boxes.size());
    for (std::size_t i = 0; i < scene_.links.size(); ++i) {
      const std::size_t a = box_at(i, 0), b = box_at(i, 1);
      if (a == b) continue;
      neighbours_[a].push_back(b);
      neighbours_[b].push_back(a);
    }
  }

  // The lane on which a wire end lies.
  std::size_t lane_of_port(std::size_t port) const {
    const Port& p = scene_.ports[port];
    return scene_.boxes[p.box].place[scene_.boxes[p.box].kind == BoxKind::kPlug ? p.plug_side : 0];
  }

  // Lanes without anything in them go; the others are put in a line.
  void sort_lanes() {
    const std::size_t all = scene_.lanes.size();
    std::vector<std::size_t> number(all, kNoIndex), kept;
    for (const Box& box : scene_.boxes)
      for (const std::size_t lane : box.place)
        if (number[lane] == kNoIndex) number[lane] = 0;
    for (std::size_t lane = 0; lane < all; ++lane)
      if (number[lane] != kNoIndex) {
        number[lane] = kept.size();
        kept.push_back(lane);
      }
    std::vector<std::vector<int>> weights(kept.size(), std::vector<int>(kept.size(), 0));
    const auto join = [&](std::size_t a, std::size_t b, int weight) {
      if (a == b) return;
      weights[number[a]][number[b]] += weight;
      weights[number[b]][number[a]] += weight;
    };
    for (const Link& link : scene_.links) join(lane_of_port(link.end[0]), lane_of_port(link.end[1]), 1);
    for (const Box& box : scene_.boxes)
      if (box.kind == BoxKind::kPlug) join(box.place[0], box.place[1], 2 + static_cast<int>(box.slots.size()));
    const std::size_t first = scene_.front == kNoIndex ? kNoIndex : number[scene_.boxes[scene_.front].place[0]];
    const std::vector<std::size_t> order = arrange_in_line(weights, first);
    std::vector<std::size_t> position(kept.size());
    std::vector<Lane> lanes;
    for (std::size_t i = 0; i < order.size(); ++i) {
      position[order[i]] = i;
      lanes.push_back(scene_.lanes[kept[order[i]]]);
    }
    scene_.lanes = std::move(lanes);
    for (Box& box : scene_.boxes)
      for (std::size_t& lane : box.place) lane = position[number[lane]];
  }

  bool on_border(const Box& box) const { return box.place[0] != box.place[1]; }

  void set_zones() {
    zone_.resize(scene_.boxes.size());
    for (std::size_t i = 0; i < scene_.boxes.size(); ++i) {
      const Box& box = scene_.boxes[i];
      zone_[i] = 2 * std::min(box.place[0], box.place[1]) + (on_border(box) ? 1 : 0);
    }
    depth_.assign(scene_.boxes.size(), 0);
    zone_columns_.assign(2 * scene_.lanes.size(), 0);
    for (const std::size_t zone : zone_)
      if (zone % 2 == 1) zone_columns_[zone] = 1;
  }

  // Hops within the zone from the boxes that have a neighbour beyond it, left (-1) or right (+1).
  std::vector<std::size_t> hops_from(std::size_t zone, const std::vector<std::size_t>& members, int direction) const {
    std::vector<std::size_t> hops(scene_.boxes.size(), kFar);
    std::deque<std::size_t> queue;
    for (const std::size_t box : members)
      for (const std::size_t other : neighbours_[box])
        if ((direction < 0 ? zone_[other] < zone : zone_[other] > zone) && hops[box] == kFar) {
          hops[box] = 1;
          queue.push_back(box);
        }
    flood(zone, hops, queue);
    return hops;
  }

  void flood(std::size_t zone, std::vector<std::size_t>& hops, std::deque<std::size_t>& queue) const {
    while (!queue.empty()) {
      const std::size_t box = queue.front();
      queue.pop_front();
      for (const std::size_t other : neighbours_[box]) {
        if (zone_[other] != zone || hops[other] != kFar) continue;
        hops[other] = hops[box] + 1;
        queue.push_back(other);
      }
    }
  }

  // What leads nowhere beyond its lane begins at its own first box: the front if it is there.
  void start_islands(std::size_t zone, const std::vector<std::size_t>& members, const std::vector<std::size_t>& right,
                     std::vector<std::size_t>& left) const {
    std::deque<std::size_t> queue;
    const auto start = [&](std::size_t box) {
      if (left[box] != kFar || right[box] != kFar) return;
      left[box] = 1;
      queue.push_back(box);
      flood(zone, left, queue);
    };
    if (scene_.front != kNoIndex && zone_[scene_.front] == zone) start(scene_.front);
    for (const std::size_t box : members) start(box);
  }

  void set_depths(std::size_t lane) {
    const std::size_t zone = 2 * lane;
    std::vector<std::size_t> members;
    for (std::size_t i = 0; i < zone_.size(); ++i)
      if (zone_[i] == zone) members.push_back(i);
    if (members.empty()) return;
    std::vector<std::size_t> left = hops_from(zone, members, -1);
    const std::vector<std::size_t> right = hops_from(zone, members, +1);
    start_islands(zone, members, right, left);
    std::size_t columns = 1;
    for (const std::size_t box : members) {
      const bool both = left[box] != kFar && right[box] != kFar;
      columns = std::max(columns, both ? left[box] + right[box] - 1 : std::min(left[box], right[box]));
    }
    for (const std::size_t box : members) {
      if (right[box] == kFar)
        depth_[box] = left[box] - 1;
      else if (left[box] == kFar)
        depth_[box] = columns - right[box];
      else
        depth_[box] =
            left[box] + right[box] == 2
                ? columns / 2
                : ((left[box] - 1) * (columns - 1) + (left[box] + right[box] - 2) / 2) / (left[box] + right[box] - 2);
    }
    spread(zone, members);
  }

  // Improves the depths by hops (lane_depths.h).
  void spread(std::size_t zone, const std::vector<std::size_t>& members) {
    std::vector<std::size_t> position(scene_.boxes.size(), kNoIndex), start;
    std::vector<DepthBox> boxes;
    for (const std::size_t box : members) {
      position[box] = boxes.size();
      boxes.push_back(depth_box(scene_.boxes[box]));
      start.push_back(depth_[box]);
    }
    std::vector<DepthWire> wires;
    for (const Link& link : scene_.links)
      for (const std::size_t e : {0U, 1U}) {
        const Port& here = scene_.ports[link.end[e]];
        const Port& there = scene_.ports[link.end[1 - e]];
        if (zone_[here.box] != zone || here.box == there.box) continue;
        const bool inside = zone_[there.box] == zone;
        if (inside && e == 1) continue;  // already taken from its other end
        const std::size_t out = zone_[there.box] < zone ? kLeftOut : kRightOut;
        wires.push_back({{position[here.box], inside ? position[there.box] : out}, {end_slot(here), end_slot(there)}});
      }
    const std::vector<std::size_t> depths = spread_lane(boxes, wires, std::move(start));
    for (std::size_t i = 0; i < members.size(); ++i) {
      depth_[members[i]] = depths[i];
      zone_columns_[zone] = std::max(zone_columns_[zone], depths[i] + 1);
    }
  }

  // A part of two terminals is read best in its run, a splice between its wires; a plug has a side for each direction.
  static DepthBox depth_box(const Box& box) {
    DepthBox result;
    result.height = rough_height(box);
    if (box.kind == BoxKind::kPart) result.turned = 12.0;
    if (box.kind == BoxKind::kSplice) result.one_sided = 11.0;
    if (box.kind == BoxKind::kPlug) result.detour = 22.0;
    return result;
  }

  std::size_t end_slot(const Port& port) const {
    return scene_.boxes[port.box].kind == BoxKind::kPlug ? port.plug_side : port.slot;
  }

  // Before ports have sides.
  static int rough_height(const Box& box) {
    const int rows = static_cast<int>(box.slots.size());
    return box.kind == BoxKind::kModule || box.kind == BoxKind::kPlug ? 40 + 24 * rows : 60;
  }

  void number_columns() {
    std::vector<std::size_t> first(zone_columns_.size(), 0);
    std::size_t columns = 0;
    for (std::size_t zone = 0; zone < zone_columns_.size(); ++zone) {
      first[zone] = columns;
      columns += zone_columns_[zone];
    }
    for (std::size_t lane = 0; lane < scene_.lanes.size(); ++lane) {
      scene_.lanes[lane].first_column = first[2 * lane];
      scene_.lanes[lane].column_count = zone_columns_[2 * lane];
    }
    scene_.columns.assign(columns, {});
    scene_.channels.assign(columns + 1, {});
    for (const std::size_t box : reading_order()) {
      scene_.boxes[box].column = first[zone_[box]] + depth_[box];
      scene_.columns[scene_.boxes[box].column].push_back(box);
    }
  }

  // Boxes as one meets them when following the wires from the front: a good order to start from.
  std::vector<std::size_t> reading_order() const {
    std::vector<std::size_t> order, stack;
    std::vector<bool> seen(scene_.boxes.size(), false);
    const auto follow = [&](std::size_t from) {
      stack.push_back(from);
      while (!stack.empty()) {
        const std::size_t box = stack.back();
        stack.pop_back();
        if (seen[box]) continue;
        seen[box] = true;
        order.push_back(box);
        for (auto other = neighbours_[box].rbegin(); other != neighbours_[box].rend(); ++other) stack.push_back(*other);
      }
    };
    if (scene_.front != kNoIndex) follow(scene_.front);
    for (std::size_t box = 0; box < scene_.boxes.size(); ++box) follow(box);
    return order;
  }

  std::size_t column_of_port(std::size_t port) const { return scene_.boxes[scene_.ports[port].box].column; }

  std::size_t other_end(std::size_t port) const {
    const Link& link = scene_.links[scene_.ports[port].link];
    return link.end[link.end[0] == port ? 1 : 0];
  }

  // -1, 0 or +1: where the other end of a wire lies.
  int direction(std::size_t port) const {
    const std::size_t here = column_of_port(port), there = column_of_port(other_end(port));
    return there < here ? -1 : there > here ? 1 : 0;
  }

  [[nodiscard]] bool is_plug(std::size_t port) const {
    return scene_.boxes[scene_.ports[port].box].kind == BoxKind::kPlug;
  }
  [[nodiscard]] std::size_t plug_edge(std::size_t port) const {
    const Port& p = scene_.ports[port];
    return (p.plug_side == 0) != scene_.boxes[p.box].swapped ? kLeft : kRight;
  }

  // The side to look to: towards the other end; within a column, the side that a plug there looks to.
  int wanted_side(std::size_t port) const {
    const int towards = direction(port);
    if (towards != 0 || !is_plug(other_end(port))) return towards;
    return plug_edge(other_end(port)) == kLeft ? -1 : 1;
  }

  // The left side of a plug is the one in the left lane; within one lane, the one whose wires lead left.
  void turn_plugs() {
    for (Box& box : scene_.boxes) {
      if (box.kind != BoxKind::kPlug) continue;
      int leaning = 0;
      for (const Slot& slot : box.slots)
        for (const std::size_t port : slot.ports)
          leaning += direction(port) * (scene_.ports[port].plug_side == 0 ? 1 : -1);
      box.swapped = on_border(box) ? box.place[0] > box.place[1] : leaning > 0;
      if (box.swapped) std::swap(box.side_names[0], box.side_names[1]);
    }
  }

  void choose_sides() {
    for (Box& box : scene_.boxes)
      for (Slot& slot : box.slots) choose_sides(box, slot);
  }

  void choose_sides(const Box& box, const Slot& slot) {
    int leaning = 0;
    for (const std::size_t port : slot.ports) leaning += wanted_side(port);
    const bool joint = box.kind == BoxKind::kSplice || box.kind == BoxKind::kStud || box.kind == BoxKind::kFrame;
    for (const std::size_t port : slot.ports) {
      std::size_t& side = scene_.ports[port].side;
      if (box.kind == BoxKind::kPlug)
        side = plug_edge(port);
      else
        side = (joint ? wanted_side(port) : leaning) < 0 ? kLeft : kRight;
    }
  }

  std::size_t channel_of(std::size_t port) const {
    return column_of_port(port) + (scene_.ports[port].side == kRight ? 1 : 0);
  }

  // Cuts a link into segments, with a pass in every column between the channels of its ends.
  void lead(std::size_t link) {
    std::size_t begin = scene_.links[link].end[0], end = scene_.links[link].end[1];
    const bool rightward = channel_of(begin) <= channel_of(end);
    if (!rightward) std::swap(begin, end);
    std::vector<std::size_t> parts;
    std::size_t at = begin;
    for (std::size_t channel = channel_of(begin); channel < channel_of(end); ++channel) {
      const std::size_t pass = add_pass(link, channel);
      parts.push_back(add_segment(link, channel, at, pass));
      at = pass + 1;
    }
    parts.push_back(add_segment(link, channel_of(end), at, end));
    if (!rightward) std::reverse(parts.begin(), parts.end());
    scene_.links[link].segments = std::move(parts);
  }

  // Returns the left port; the right one follows it.
  std::size_t add_pass(std::size_t link, std::size_t column) {
    Box box;
    box.kind = BoxKind::kPass;
    box.column = column;
    box.slots.resize(1);
    for (const std::size_t side : {kLeft, kRight}) {
      Port port;
      port.box = scene_.boxes.size();
      port.slot = 0;
      port.link = link;
      port.side = side;
      box.slots[0].ports.push_back(scene_.ports.size());
      scene_.ports.push_back(port);
    }
    scene_.columns[column].push_back(scene_.boxes.size());
    scene_.boxes.push_back(std::move(box));
    return scene_.ports.size() - 2;
  }

  std::size_t add_segment(std::size_t link, std::size_t channel, std::size_t from, std::size_t to) {
    Segment segment;
    segment.channel = channel;
    segment.link = link;
    segment.port[0] = from;
    segment.port[1] = to;
    scene_.segments.push_back(segment);
    return scene_.segments.size() - 1;
  }

  // A slot stands on the side its wires leave from; one without wires takes the side that is free.
  void order_slots(Box& box) {
    for (std::size_t i = 0; i < box.slots.size(); ++i) {
      bool used[2] = {box.kind == BoxKind::kPlug, box.kind == BoxKind::kPlug};
      for (const std::size_t port : box.slots[i].ports) used[scene_.ports[port].side] = true;
      if (!used[kLeft] && !used[kRight]) used[free_side(box)] = true;
      for (const std::size_t side : {kLeft, kRight})
        if (used[side]) box.order[side].push_back(i);
    }
  }

  std::size_t free_side(const Box& box) const {
    int right = 0, left = 0;
    for (const Slot& slot : box.slots)
      for (const std::size_t port : slot.ports) ++(scene_.ports[port].side == kRight ? right : left);
    return right > left || (right == left && box.order[kRight].size() > box.order[kLeft].size()) ? kLeft : kRight;
  }

  Scene& scene_;
  std::vector<std::vector<std::size_t>> neighbours_;
  std::vector<std::size_t> zone_, depth_, zone_columns_;
};

}  // namespace

void arrange_columns(Scene& scene) { Columns(scene).arrange(); }

}  // namespace halfsplit::report
