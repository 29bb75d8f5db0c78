// SPDX-License-Identifier: Apache-2.0
// Routes. Between two columns lies a channel: labels beside the columns, and in the middle tracks on which wires change
// their height. The order of the bends is improved by moving one at a time to where fewest lines cross and none run on
// top of each other; bends that do not get in each other's way share a track (channel routing: Hashimoto, Stevens
// 1971).
#include <algorithm>

#include "report/box_size.h"
#include "report/scene.h"
#include "report/svg.h"

namespace halfsplit::report {

namespace {

constexpr int kTrack = 7;        // from one track to the next
constexpr int kMargin = 16;      // left and right of everything
constexpr int kBendRoom = 8;     // beside the tracks
constexpr long kOnTop = 10'000;  // two lines on top of each other
constexpr int kRounds = 12;

struct Bend {
  std::size_t segment = 0;
  int y[2] = {0, 0};
  std::size_t edge[2] = {kLeft, kLeft};
  int low = 0, high = 0;
};

// What it costs when a's bend lies left of b's.
long cost_of(const Bend& a, const Bend& b) {
  long cost = 0;
  for (const std::size_t i : {0U, 1U}) {
    if (a.edge[i] == kRight && a.y[i] > b.low && a.y[i] < b.high) ++cost;
    if (b.edge[i] == kLeft && b.y[i] > a.low && b.y[i] < a.high) ++cost;
    for (const std::size_t k : {0U, 1U})
      if (a.edge[i] == kRight && b.edge[k] == kLeft && a.y[i] == b.y[k]) cost += kOnTop;
  }
  return cost;
}

bool may_share(const Bend& a, const Bend& b) {
  return (a.high + 6 <= b.low || b.high + 6 <= a.low) && cost_of(a, b) == cost_of(b, a);
}

// Moves bend `from` to its best place; true when that saved something.
bool move_best(std::vector<Bend>& bends, std::size_t from) {
  const Bend one = bends[from];
  long cost = 0, least = 0;
  std::size_t best = from;
  for (std::size_t to = from; to-- > 0;) {  // leftwards: it now stands before bends[to]
    cost += cost_of(one, bends[to]) - cost_of(bends[to], one);
    if (cost < least) {
      least = cost;
      best = to;
    }
  }
  cost = 0;
  for (std::size_t to = from + 1; to < bends.size(); ++to) {
    cost += cost_of(bends[to], one) - cost_of(one, bends[to]);
    if (cost < least) {
      least = cost;
      best = to;
    }
  }
  if (best == from) return false;
  bends.erase(bends.begin() + static_cast<std::ptrdiff_t>(from));
  bends.insert(bends.begin() + static_cast<std::ptrdiff_t>(best), one);
  return true;
}

class Routes {
 public:
  explicit Routes(Scene& scene) : scene_(scene) {}

  void arrange() {
    for (std::size_t i = 0; i < scene_.channels.size(); ++i) set_tracks(i);
    for (std::size_t i = 0; i < scene_.links.size(); ++i) make_label_room(i);
    set_x();
    for (std::size_t i = 0; i < scene_.lanes.size(); ++i)
      if (widen_lane(i)) set_x();
    for (Segment& segment : scene_.segments) {
      segment.x = track_x(segment, segment.track);
      if (segment.second != kNoIndex) segment.second_x = track_x(segment, segment.second);
    }
    scene_.height = 0;
    for (const Box& box : scene_.boxes) scene_.height = std::max(scene_.height, box.y + box.height);
  }

 private:
  [[nodiscard]] int track_x(const Segment& segment, std::size_t track) const {
    const Channel& channel = scene_.channels[segment.channel];
    return channel.left + channel.label_width[kLeft] + channel.padding + kBendRoom + static_cast<int>(track) * kTrack;
  }

  void set_tracks(std::size_t channel) {
    std::vector<Bend> bends;
    for (std::size_t i = 0; i < scene_.segments.size(); ++i) {
      if (scene_.segments[i].channel != channel) continue;
      const Bend bend = make_bend(i);
      scene_.segments[i].bends = bend.y[0] != bend.y[1];
      if (scene_.segments[i].bends) bends.push_back(bend);
    }
    std::stable_sort(bends.begin(), bends.end(), [](const Bend& a, const Bend& b) { return a.low < b.low; });
    bool better = true;
    for (int round = 0; round < kRounds && better; ++round) {
      better = false;
      for (std::size_t i = 0; i < bends.size(); ++i) better = move_best(bends, i) || better;
    }
    for (std::size_t i = 0; i < bends.size(); ++i) {
      std::size_t track = 0;
      for (std::size_t k = 0; k < i; ++k)
        if (!may_share(bends[k], bends[i])) track = std::max(track, scene_.segments[bends[k].segment].track + 1);
      scene_.segments[bends[i].segment].track = track;
      scene_.channels[channel].tracks = std::max(scene_.channels[channel].tracks, track + 1);
    }
    part_lines(channel, bends);
  }

  // When two wires change places, no order of their bends keeps them apart: the left one then bends twice, the second
  // time on a track of its own behind all others. Its middle stretch runs at a height that no port has.
  void part_lines(std::size_t channel, const std::vector<Bend>& bends) {
    int between = 3;
    for (std::size_t i = 0; i < bends.size(); ++i)
      for (std::size_t k = i + 1; k < bends.size(); ++k) {
        Segment& segment = scene_.segments[bends[i].segment];
        if (cost_of(bends[i], bends[k]) < kOnTop || segment.second != kNoIndex) continue;
        segment.second = scene_.channels[channel].tracks++;
        segment.between_y = bends[i].low + between;
        between += 6;
      }
  }

  Bend make_bend(std::size_t segment) const {
    Bend bend;
    bend.segment = segment;
    for (const std::size_t i : {0U, 1U}) {
      const std::size_t port = scene_.segments[segment].port[i];
      bend.y[i] = scene_.port_y(port);
      bend.edge[i] = 1 - scene_.ports[port].side;
    }
    bend.low = std::min(bend.y[0], bend.y[1]);
    bend.high = std::max(bend.y[0], bend.y[1]);
    return bend;
  }

  // A label stands right of the left column when one end lies there.
  void make_label_room(std::size_t index) {
    Link& link = scene_.links[index];
    link.label_end = scene_.ports[link.end[0]].side == kLeft && scene_.ports[link.end[1]].side == kRight ? 1 : 0;
    const Port& port = scene_.ports[link.end[link.label_end]];
    const std::size_t channel = scene_.boxes[port.box].column + (port.side == kRight ? 1 : 0);
    int& room = scene_.channels[channel].label_width[1 - port.side];
    room = std::max(room, link_label_width(link) + 6);
  }

  void set_x() {
    int x = kMargin;
    for (std::size_t i = 0; i < scene_.channels.size(); ++i) {
      Channel& channel = scene_.channels[i];
      channel.left = x;
      x += channel.label_width[kLeft] + channel.padding + channel.label_width[kRight];
      if (channel.tracks > 0) x += 2 * kBendRoom + static_cast<int>(channel.tracks - 1) * kTrack;
      if (channel.tracks == 0 && i > 0 && i + 1 < scene_.channels.size()) x += kBendRoom;
      channel.right = x;
      if (i < scene_.columns.size()) x += set_column(i, x);
    }
    scene_.width = x + kMargin;
    set_borders();
  }

  int set_column(std::size_t column, int x) {
    int width = 0;
    for (const std::size_t box : scene_.columns[column]) width = std::max(width, scene_.boxes[box].width);
    for (const std::size_t box : scene_.columns[column])
      scene_.boxes[box].x = x + (width - scene_.boxes[box].width) / 2;
    return width;
  }

  // Is there a column of plugs behind the lane?
  [[nodiscard]] bool has_border(std::size_t lane) const {
    return lane + 1 < scene_.lanes.size() && border(lane) < scene_.lanes[lane + 1].first_column;
  }
  [[nodiscard]] std::size_t border(std::size_t lane) const {
    return scene_.lanes[lane].first_column + scene_.lanes[lane].column_count;
  }

  void set_borders() {
    int left = 0;
    for (std::size_t i = 0; i < scene_.lanes.size(); ++i) {
      Lane& lane = scene_.lanes[i];
      lane.left = left;
      const Channel& before = scene_.channels[border(i)];
      if (i + 1 == scene_.lanes.size())
        lane.right = scene_.width;
      else if (has_border(i))
        lane.right = (before.right + scene_.channels[border(i) + 1].left) / 2;
      else
        lane.right = (before.left + before.right) / 2;
      left = lane.right;
    }
  }

  // Makes room for the words at the head of a lane.
  bool widen_lane(std::size_t index) {
    const Lane& lane = scene_.lanes[index];
    const int wanted = std::max(bold_width(lane.name, kLaneText), text_width(lane.detail, kSmall)) + 20;
    const int missing = wanted - (lane.right - lane.left);
    if (missing <= 0) return false;
    const bool inside = index == 0 || has_border(index - 1);
    scene_.channels[lane.first_column].padding += inside ? missing : 2 * missing;
    return true;
  }

  Scene& scene_;
};

}  // namespace

int link_label_width(const Link& link) {
  const std::string percent = percent_label(link.suspicion);
  const int below =
      text_width(link.below, kSmall) + (link.below.empty() || percent.empty() ? 0 : 5) + bold_width(percent, kNormal);
  return std::max(text_width(link.above, kSmall), below);
}

std::vector<std::pair<int, int>> link_route(const Scene& scene, const Link& link) {
  std::vector<std::pair<int, int>> points = {{scene.port_x(link.end[0]), scene.port_y(link.end[0])}};
  std::size_t at = link.end[0];
  for (const std::size_t index : link.segments) {
    const Segment& segment = scene.segments[index];
    const std::size_t other = scene.across(segment, at);
    const int from = scene.port_y(at), to = scene.port_y(other);
    if (segment.bends && segment.second == kNoIndex) {
      points.insert(points.end(), {{segment.x, from}, {segment.x, to}});
    } else if (segment.bends) {
      const bool rightward = scene.ports[at].side == kRight;  // leaves its box to the right: enters from the left
      const int first = rightward ? segment.x : segment.second_x, last = rightward ? segment.second_x : segment.x;
      points.insert(points.end(), {{first, from}, {first, segment.between_y}, {last, segment.between_y}, {last, to}});
    }
    const Box& box = scene.boxes[scene.ports[other].box];
    at = box.kind == BoxKind::kPass ? box.slots[0].ports[box.slots[0].ports[0] == other ? 1 : 0] : other;
  }
  points.emplace_back(scene.port_x(link.end[1]), scene.port_y(link.end[1]));
  return points;
}

void arrange_routes(Scene& scene) { Routes(scene).arrange(); }

}  // namespace halfsplit::report
