// SPDX-License-Identifier: Apache-2.0
// What a drawing consists of before and while it is laid out: boxes (everything that is drawn at a place), ports (where
// one end of one wire meets a box) and links (wires). Each step of the layout fills in its part and reads the parts of
// the steps before: scene (what), lanes (columns and sides), rows (order and y), routes (x and bends). Pixels, y down.
#pragma once

#include <array>
#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include "report/draw_svg.h"

namespace halfsplit::report {

inline constexpr std::size_t kNoIndex = static_cast<std::size_t>(-1);
inline constexpr std::size_t kLeft = 0, kRight = 1;

enum class BoxKind {
  kPlug,    // an inline connector: two facing sides, a row for each cavity
  kModule,  // a block with pins
  kBlock,   // a part of more than two terminals: a block with pins
  kPart,    // a part of two terminals: a symbol
  kSplice,
  kStud,
  kFrame,
  kPass,  // nothing to see: keeps a row free for a wire that passes through a column
};

// Where one end of one link meets a box.
struct Port {
  std::size_t box = kNoIndex, slot = kNoIndex, link = kNoIndex;
  std::size_t side = kLeft;
  std::size_t plug_side = 0;  // of an inline connector: which of its sides the wire ends in
  int y = 0;                  // below the top of its box
};

// A terminal, a pin, a cavity. Splices, studs and frames have one.
struct Slot {
  std::string label;
  std::vector<std::size_t> ports;  // indices into Scene::ports
  double suspicion = 0.0;          // of its contact
  bool contact = false;            // a plug's contact is drawn here
  bool traced = false;
  // Probes that touch it, as bits (1 red, 2 black): on the loom side or side 0; on the unit's side or side 1.
  unsigned probes[2] = {0, 0};
  std::vector<circuit::PointId> points[2];  // that a probe can touch here, by the same sides
  int y = 0;                                // of its first row, below the top of its box
};

struct Box {
  BoxKind kind = BoxKind::kPart;
  std::size_t index = 0;                  // into the loom's vector of that kind
  std::string name, value;                // value: small, below; of a kBlock: below its name
  std::array<std::string, 2> side_names;  // kPlug, left and right once sides are settled
  std::string hint;                       // all there is to say, shown by a browser
  double suspicion = 0.0;
  bool traced = false;
  std::vector<Slot> slots;
  std::size_t place[2] = {0, 0};  // lane numbers of its sides before sorting: index into Scene::lanes
  bool swapped = false;           // kPlug: side 1 is drawn left

  std::size_t column = 0;
  std::array<std::vector<std::size_t>, 2>
      order;  // slots from top to bottom at the left and right edge; of a kPlug: both alike
  int width = 0, height = 0;
  int stub[2] = {0, 0};   // from the box's edge to its symbol, left and right
  int face = 0, gap = 0;  // kPlug: width of a side, and of what is between the two
  int x = 0, y = 0;
};

// A stretch of a link between two columns: both ports touch the same channel. Channel c lies left of column c.
struct Segment {
  std::size_t channel = 0, link = 0;
  std::size_t port[2] = {kNoIndex, kNoIndex};
  bool bends = false;
  std::size_t track = 0;
  int x = 0;                        // of its bend
  std::size_t second = kNoIndex;    // track of a second bend, further right
  int second_x = 0, between_y = 0;  // where that lies, and the height between the two
};

struct Link {
  std::string above, below;  // the two halves of its label
  std::string hint;
  double suspicion = 0.0;
  bool traced = false;
  std::size_t end[2] = {kNoIndex, kNoIndex};  // ports
  std::vector<std::size_t> segments;          // from end 0 to end 1
  std::size_t label_end = 0;                  // beside which of its ends the label stands
};

struct Lane {
  std::string name, detail;
  std::size_t first_column = 0, column_count = 0;  // its own columns, without the plugs at its edges
  int left = 0, right = 0;
};

struct Channel {
  int left = 0, right = 0;      // edges of the columns beside it
  int label_width[2] = {0, 0};  // room for labels beside the left and the right column
  std::size_t tracks = 0;
  int padding = 0;
};

struct Scene {
  std::vector<Box> boxes;
  std::vector<Port> ports;
  std::vector<Link> links;
  std::vector<Segment> segments;
  std::vector<Lane> lanes;                        // from left to right once sorted
  std::vector<std::vector<std::size_t>> columns;  // boxes from top to bottom
  std::vector<Channel> channels;                  // one more than columns
  std::size_t front = kNoIndex;                   // the box to read from: the supply
  int width = 0, height = 0;

  [[nodiscard]] int port_x(std::size_t port) const {
    const Box& box = boxes[ports[port].box];
    return ports[port].side == kLeft ? box.x : box.x + box.width;
  }
  [[nodiscard]] int port_y(std::size_t port) const { return boxes[ports[port].box].y + ports[port].y; }
  // The other port of a segment that ends at `port`.
  [[nodiscard]] std::size_t across(const Segment& segment, std::size_t port) const {
    return segment.port[segment.port[0] == port ? 1 : 0];
  }
};

// Suspicion below this is not labelled.
inline constexpr double kLeastShown = 0.005;
// "12 %", ">99 %"; empty below kLeastShown.
[[nodiscard]] std::string percent_label(double suspicion);

// What is drawn and joined to what; nothing is placed yet.
[[nodiscard]] Scene make_scene(const DrawRequest& request);
// The order of lanes, a column for every box, a side for every port, passes for long links, segments.
void arrange_columns(Scene& scene);
// Sizes of boxes, ports in them. Called again after every change of order.
void arrange_box(Scene& scene, std::size_t box);
// The order within columns and every y.
void arrange_rows(Scene& scene);
// Bends, label room and every x.
void arrange_routes(Scene& scene);

// The corners of a wire from its end 0 to its end 1.
[[nodiscard]] std::vector<std::pair<int, int>> link_route(const Scene& scene, const Link& link);

}  // namespace halfsplit::report
