// SPDX-License-Identifier: Apache-2.0
// Paints a scene once it is laid out (scene.h): lanes, the traced path, wires, boxes, words, probes, a legend. From
// bottom to top, so that words stay readable.
#include "report/draw_svg.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "report/box_size.h"
#include "report/scene.h"
#include "report/svg.h"
#include "report/thing_painter.h"

namespace halfsplit::report {

namespace {

constexpr int kTop = 112;  // of what is drawn, below title and lane heads
constexpr int kLaneTop = 56;
constexpr int kLegend = 64;       // below the lanes
constexpr int kLeastWidth = 720;  // so that title and legend fit
constexpr int kMarker = 11;

class Painter {
 public:
  Painter(const DrawRequest& request, Scene scene) : request_(request), scene_(std::move(scene)), out_(request.dark) {
    for (Box& box : scene_.boxes) box.y += kTop;
  }

  std::string paint() {
    const std::string title = fit_text(request_.title.empty() ? request_.loom.name : request_.title, 17.0, 1200);
    width_ = std::max({scene_.width, kLeastWidth, bold_width(title, 17.0) + 48});
    bottom_ = kTop + scene_.height + 24;
    paint_lanes();
    paint_head(title);
    for (const Link& link : scene_.links)
      if (link.traced) out_.marker(link_route(scene_, link), kMarker);
    for (const Box& box : scene_.boxes) paint_marker(box);
    paint_things();
    for (const Box& box : scene_.boxes) paint_probes(box);
    paint_legend();
    return out_.document(width_, bottom_ + (is_suspected() ? kLegend : 32), title,
                         "Line weight and percentages say how likely a fault is at each place.");
  }

 private:
  // --- around the drawing ------------------------------------------------------------------------------------------

  void paint_lanes() {
    for (std::size_t i = 0; i < scene_.lanes.size(); ++i) {
      const Lane& lane = scene_.lanes[i];
      const int right = i + 1 == scene_.lanes.size() ? width_ : lane.right;
      out_.band(lane.left, kLaneTop, right - lane.left, bottom_ - kLaneTop, i % 2 == 0);
      const int middle = (lane.left + right) / 2;
      out_.text({middle, kLaneTop + 18, kLaneText, 'm', true, false}, lane.name);
      out_.text({middle, kLaneTop + 32, kSmall, 'm', false, true}, lane.detail);
    }
    out_.line(0, kLaneTop, width_, kLaneTop);
    out_.line(0, bottom_, width_, bottom_);
  }

  void paint_head(const std::string& title) {
    out_.text({24, 26, 17.0, 's', true, false}, title);
    std::string line = request_.note;
    if (line.empty()) line = request_.loom.vehicle + (request_.loom.note.empty() ? "" : "  -  " + request_.loom.note);
    out_.text({24, 44, 11.0, 's', false, true}, fit_text(line, 11.0, width_ - 48));
  }

  void paint_legend() {
    int y = bottom_ + 20;
    out_.text(
        {24, y, kSmall, 's', false, true},
        "beside a wire: colour (IEC 60757), size in mm\xC2\xB2, length; at the head of a lane: minutes to reach the "
        "place, and what must be done first");
    if (!is_suspected()) return;
    y += 18;
    paint_weights(y);
    if (request_.elsewhere >= kLeastShown)
      out_.text({24, y + 18, kNormal, 's', true, false}, "not on this drawing: " + percent_label(request_.elsewhere));
  }

  [[nodiscard]] bool is_suspected() const {
    return request_.elsewhere >= kLeastShown ||
           std::any_of(request_.suspicion.begin(), request_.suspicion.end(), [](double s) { return s >= kLeastShown; });
  }

  void paint_weights(int y) {
    int x = 24;
    const auto word = [&](std::string_view text) {
      out_.text({x, y, kSmall, 's', false, true}, text);
      x += text_width(text, kSmall) + 8;
    };
    word("how likely the fault is there:");
    for (const double share : {0.0, 0.1, 0.5, 0.9}) {
      out_.line(x, y - 3, x + 34, y - 3, weight_of(share));
      x += 40;
      word(share == 0.0 ? "unlikely" : percent_label(share));
      x += 10;
    }
  }

  // --- what is drawn ---------------------------------------------------------------------------------------------

  void paint_things() {
    ThingPainter things(request_.loom, scene_, out_);
    for (const Link& link : scene_.links) {
      out_.open_group("wire");
      out_.hint(link.hint);
      things.paint_link(link);
      out_.close_group();
    }
    for (const Box& box : scene_.boxes) {
      if (box.kind == BoxKind::kPass) continue;
      out_.open_group("box");
      if (!box.hint.empty()) out_.hint(box.hint);
      things.paint_box(box);
      out_.close_group();
    }
    for (const Link& link : scene_.links) things.paint_label(link);
  }

  void paint_marker(const Box& box) {
    for (const Slot& slot : box.slots) {
      if (!slot.traced && !box.traced) continue;
      for (const std::size_t port : slot.ports)
        if (scene_.links[scene_.ports[port].link].traced || slot.traced)
          out_.marker({{scene_.port_x(port), scene_.port_y(port)}, {box.x + box.width / 2, scene_.port_y(port)}},
                      kMarker);
    }
  }

  // --- probes ------------------------------------------------------------------------------------------------------

  void paint_probes(const Box& box) {
    for (std::size_t i = 0; i < box.slots.size(); ++i)
      for (const std::size_t side : {0U, 1U}) {
        const unsigned bits = box.slots[i].probes[side];
        const int apart = bits == 3U ? 17 : 0;
        if ((bits & 1U) != 0) paint_probe(box, i, side, true, -apart);
        if ((bits & 2U) != 0) paint_probe(box, i, side, false, apart);
      }
  }

  void paint_probe(const Box& box, std::size_t slot, std::size_t side, bool red, int aside) {
    const circuit::PointId id = red ? request_.red : request_.black;
    const auto [x, y] = probe_spot(scene_, box, slot, side, request_.netlist.points[id.index()]);
    out_.probe(x + aside, y, red);
  }

  const DrawRequest& request_;
  Scene scene_;
  SvgWriter out_;
  int width_ = 0;
  int bottom_ = 0;
};

}  // namespace

std::string draw_svg(const DrawRequest& request) {
  Scene scene = make_scene(request);
  arrange_columns(scene);
  arrange_rows(scene);
  arrange_routes(scene);
  return Painter(request, std::move(scene)).paint();
}

}  // namespace halfsplit::report
