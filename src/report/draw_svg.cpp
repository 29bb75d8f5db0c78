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
#include "report/symbols.h"

namespace halfsplit::report {

namespace {

constexpr int kTop = 112;  // of what is drawn, below title and lane heads
constexpr int kLaneTop = 56;
constexpr int kLegend = 64;       // below the lanes
constexpr int kLeastWidth = 720;  // so that title and legend fit
constexpr int kMarker = 11;

double weight_of(double suspicion) {
  return suspicion < kLeastShown ? SvgWriter::kThin : SvgWriter::kThin + 5.0 * std::sqrt(std::min(1.0, suspicion));
}

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
    for (const Link& link : scene_.links) paint_link(link);
    for (const Box& box : scene_.boxes) paint_box(box);
    for (const Link& link : scene_.links) paint_label(link);
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

  // --- wires -------------------------------------------------------------------------------------------------------

  void paint_link(const Link& link) {
    out_.open_group("wire");
    out_.hint(link.hint);
    out_.path(link_route(scene_, link), weight_of(link.suspicion));
    out_.close_group();
  }

  void paint_label(const Link& link) {
    const Port& port = scene_.ports[link.end[link.label_end]];
    const Channel& channel = scene_.channels[scene_.boxes[port.box].column + (port.side == kRight ? 1 : 0)];
    const int x = port.side == kRight ? channel.left + 3 : channel.right - 3 - link_label_width(link);
    const int y = scene_.port_y(link.end[link.label_end]);
    const int half = static_cast<int>(std::ceil(weight_of(link.suspicion) / 2.0));
    out_.text({x, y - half - 2, kSmall}, link.above);
    out_.text({x, y + half + 8, kSmall, 's', false, true}, link.below);
    const int after = link.below.empty() ? 0 : text_width(link.below, kSmall) + 5;
    out_.text({x + after, y + half + 9, kNormal, 's', true}, percent_label(link.suspicion));
  }

  double link_weight(std::size_t port) const { return weight_of(scene_.links[scene_.ports[port].link].suspicion); }

  // --- boxes -------------------------------------------------------------------------------------------------------

  void paint_marker(const Box& box) {
    for (const Slot& slot : box.slots) {
      if (!slot.traced && !box.traced) continue;
      for (const std::size_t port : slot.ports)
        if (scene_.links[scene_.ports[port].link].traced || slot.traced)
          out_.marker({{scene_.port_x(port), scene_.port_y(port)}, {middle(box), scene_.port_y(port)}}, kMarker);
    }
  }

  static int middle(const Box& box) { return box.x + box.width / 2; }

  void paint_box(const Box& box) {
    if (box.kind == BoxKind::kPass) return;
    out_.open_group("box");
    if (!box.hint.empty()) out_.hint(box.hint);
    switch (box.kind) {
      case BoxKind::kPlug:
        paint_plug(box);
        break;
      case BoxKind::kModule:
      case BoxKind::kBlock:
        paint_block(box);
        break;
      case BoxKind::kPart:
        part_is_upright(box) ? paint_upright(box) : paint_level(box);
        break;
      default:
        paint_joint(box);
    }
    out_.close_group();
  }

  void paint_title(const Box& box, int x, int y, char anchor) {
    const std::string title = box_title(box), percent = percent_label(box.suspicion);
    const int width = bold_width(title, kNormal), all = box_title_width(box) - 4;
    const int left = anchor == 'm' ? x - all / 2 : anchor == 'e' ? x - all : x;
    out_.text({left, y, kNormal, 's', true}, title);
    out_.text({left + width + 5, y, kNormal, 's', true}, percent);
  }

  // From the box's edge to `x`, for every wire of the slot on that side; several are joined.
  void paint_stub(const Box& box, const Slot& slot, std::size_t side, int x) {
    int low = slot.y, high = slot.y;
    for (const std::size_t port : slot.ports) {
      if (scene_.ports[port].side != side) continue;
      const int y = scene_.ports[port].y;
      out_.line(scene_.port_x(port), box.y + y, x, box.y + y, link_weight(port));
      low = std::min(low, y);
      high = std::max(high, y);
    }
    if (high == low) return;
    out_.line(x, box.y + low, x, box.y + high);
    for (const std::size_t port : slot.ports)
      if (scene_.ports[port].side == side) out_.dot(x, scene_.port_y(port), 2);
  }

  void paint_plug(const Box& box) {
    const int centre = middle(box);
    const int top = box.y + 26, height = box.height - 26;
    const int left = centre - box.gap / 2 - box.face, right = centre + box.gap / 2;
    paint_title(box, centre, box.y + 10, 'm');
    for (const std::size_t side : {kLeft, kRight}) {
      const int x = side == kLeft ? left : right;
      const std::string name = fit_text(box.side_names[side], kSmall, kSideNameWidth);
      out_.text({x + box.face / 2, box.y + 22, kSmall, 'm', false, true}, name);
      for (const std::size_t i : box.order[side])
        paint_stub(box, box.slots[i], side, side == kLeft ? left : right + box.face);
      out_.box(x, top, box.face, height);
    }
    for (const Slot& slot : box.slots) {
      const int y = box.y + slot.y;
      const double weight = weight_of(slot.suspicion);
      out_.text({left + box.face / 2, y + 3, kSmall, 'm'}, slot_label(slot));
      out_.text({right + box.face / 2, y + 3, kSmall, 'm'}, slot_label(slot));
      out_.line(left + box.face, y, right, y, weight);
      const int half = static_cast<int>(std::ceil(weight / 2.0));
      out_.text({centre, y - half - 2, kSmall, 'm', true}, percent_label(slot.suspicion));
    }
  }

  // The stub of one slot with the mark of its contact; returns nothing, ends at `inner`.
  void paint_terminal(const Box& box, const Slot& slot, std::size_t side, int inner) {
    const bool left = side == kLeft;
    const int y = box.y + slot.y;
    if (!slot.contact) {
      paint_stub(box, slot, side, inner);
      if (slot.ports.empty()) out_.line(left ? inner - 6 : inner, y, left ? inner : inner + 6, y);
      return;
    }
    const int mark = left ? inner - 9 : inner + 9;
    const int socket = left ? mark - 5 : mark + 5;
    const double weight = weight_of(slot.suspicion);
    paint_stub(box, slot, side, socket);
    draw_contact(out_, mark, y, left, weight);
    out_.line(mark, y, inner, y, weight);
    const std::string percent = percent_label(slot.suspicion);
    const int half = static_cast<int>(std::ceil(weight / 2.0));
    const bool tagged = (slot.probes[0] | slot.probes[1]) != 0;  // then the tag stands above
    out_.text({left ? socket - 2 : socket + 2, tagged ? y + half + 10 : y - half - 4, kSmall, left ? 'e' : 's', true},
              percent);
  }

  void paint_block(const Box& box) {
    const int left = box.x + box.stub[kLeft], right = box.x + box.width - box.stub[kRight];
    for (const std::size_t side : {kLeft, kRight})
      for (const std::size_t i : box.order[side]) paint_terminal(box, box.slots[i], side, side == kLeft ? left : right);
    out_.box(left, box.y, right - left, box.height, weight_of(box.suspicion));
    paint_title(box, (left + right) / 2, box.y + 14, 'm');
    if (box.kind == BoxKind::kBlock) out_.text({(left + right) / 2, box.y + 26, kSmall, 'm', false, true}, box.value);
    for (const std::size_t side : {kLeft, kRight})
      for (const std::size_t i : box.order[side])
        out_.text({side == kLeft ? left + 5 : right - 5, box.y + box.slots[i].y + 3, kSmall, side == kLeft ? 's' : 'e'},
                  slot_label(box.slots[i]));
  }

  const circuit::Part& part(const Box& box) const { return request_.loom.parts.at(box.index); }

  void paint_symbol(const Box& box, int x, int y, int degrees) {
    out_.open_turned(x, y, degrees);
    draw_symbol(out_, part(box), weight_of(box.suspicion));
    out_.close_group();
    out_.text({x, y + 4, kNormal, 'm', true}, symbol_letter(part(box)));
  }

  void paint_level(const Box& box) {
    const int x = middle(box), y = box.y + box.slots[0].y;
    for (const std::size_t side : {kLeft, kRight})
      for (const std::size_t i : box.order[side])
        paint_terminal(box, box.slots[i], side, side == kLeft ? x - kSymbolReach : x + kSymbolReach);
    paint_symbol(box, x, y, box.order[kLeft].front() == 0 ? 0 : 180);
    paint_title(box, x, y - 14, 'm');
    out_.text({x, y + 18, kSmall, 'm', false, true}, box.value);
  }

  void paint_upright(const Box& box) {
    const std::size_t side = box.order[kLeft].empty() ? kRight : kLeft;
    const bool left = side == kLeft;
    const int x = left ? box.x + box.stub[side] + 14 : box.x + box.width - box.stub[side] - 14;
    const Slot& upper = box.slots[box.order[side][0]];
    const Slot& lower = box.slots[box.order[side][1]];
    const int y = box.y + (upper.y + lower.y) / 2;
    for (const Slot* slot : {&upper, &lower}) {
      const int inner = left ? x - 8 : x + 8;
      paint_terminal(box, *slot, side, inner);
      const int end = slot == &upper ? y - kSymbolReach : y + kSymbolReach;
      out_.path({{inner, box.y + slot->y}, {x, box.y + slot->y}, {x, end}}, SvgWriter::kThin);
    }
    paint_symbol(box, x, y, box.order[side][0] == 0 ? 90 : -90);
    paint_title(box, left ? x + kUprightText : x - kUprightText, y - 1, left ? 's' : 'e');
    out_.text({left ? x + kUprightText : x - kUprightText, y + 11, kSmall, left ? 's' : 'e', false, true}, box.value);
  }

  void paint_joint(const Box& box) {
    const int x = middle(box);
    const double weight = weight_of(box.suspicion);
    int low = box.slots[0].y, high = low;
    for (const std::size_t port : box.slots[0].ports) {
      const int y = scene_.ports[port].y;
      out_.line(scene_.port_x(port), box.y + y, x, box.y + y, link_weight(port));
      low = std::min(low, y);
      high = std::max(high, y);
    }
    if (high > low) out_.line(x, box.y + low, x, box.y + high, weight);
    for (const std::size_t port : box.slots[0].ports)
      out_.dot(x, scene_.port_y(port), 2 + static_cast<int>(weight / 2.0));
    if (box.kind == BoxKind::kSplice) return paint_title(box, x, box.y + low - 5, 'm');
    const int foot = box.y + high;
    box.kind == BoxKind::kStud ? draw_earth(out_, x, foot, weight) : draw_frame(out_, x, foot, weight);
    paint_title(box, x, foot + 30, 'm');
    out_.text({x, foot + 41, kSmall, 'm', false, true}, box.value);
  }

  // --- probes ------------------------------------------------------------------------------------------------------

  void paint_probes(const Box& box) {
    for (std::size_t i = 0; i < box.slots.size(); ++i)
      for (const std::size_t side : {0U, 1U}) {
        const unsigned bits = box.slots[i].probes[side];
        if (bits == 0) continue;
        const int x = probe_x(box, i, side), y = box.y + box.slots[i].y;
        const int apart = bits == 3U ? 17 : 0;
        if ((bits & 1U) != 0) out_.probe(x - apart, y, true);
        if ((bits & 2U) != 0) out_.probe(x + apart, y, false);
      }
  }

  int probe_x(const Box& box, std::size_t slot, std::size_t side) const {
    if (box.kind == BoxKind::kSplice || box.kind == BoxKind::kStud || box.kind == BoxKind::kFrame) return middle(box);
    const int outer = kProbeWidth / 2 - 2;
    if (box.kind == BoxKind::kPlug) {
      const bool left = (side == 0) != box.swapped;
      return left ? middle(box) - box.gap / 2 - box.face - outer : middle(box) + box.gap / 2 + box.face + outer;
    }
    const bool left = std::find(box.order[kLeft].begin(), box.order[kLeft].end(), slot) != box.order[kLeft].end();
    const bool inside = side == 1 && box.slots[slot].contact;
    if (box.kind == BoxKind::kPart && !part_is_upright(box)) {
      const int reach = inside ? kSymbolReach + 2 : kSymbolReach + (box.slots[slot].contact ? 14 : 0) + outer;
      return left ? middle(box) - reach : middle(box) + reach;
    }
    const int stub = box.stub[left ? kLeft : kRight];
    const int reach = inside ? stub - 2 : outer;
    return left ? box.x + reach : box.x + box.width - reach;
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
