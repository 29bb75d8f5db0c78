// SPDX-License-Identifier: Apache-2.0
#include "report/thing_painter.h"

#include <algorithm>
#include <cmath>

#include "report/box_size.h"
#include "report/svg.h"
#include "report/symbols.h"

namespace halfsplit::report {

namespace {

int middle(const Box& box) { return box.x + box.width / 2; }

}  // namespace

double weight_of(double suspicion) {
  return suspicion < kLeastShown ? Pen::kThin : Pen::kThin + 5.0 * std::sqrt(std::min(1.0, suspicion));
}

void ThingPainter::paint_link(const Link& link) { out_.path(link_route(scene_, link), weight_of(link.suspicion)); }

void ThingPainter::paint_label(const Link& link) {
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

double ThingPainter::link_weight(std::size_t port) const {
  return weight_of(scene_.links[scene_.ports[port].link].suspicion);
}

void ThingPainter::paint_box(const Box& box) {
  if (box.kind == BoxKind::kPass) return;
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
}

void ThingPainter::paint_title(const Box& box, int x, int y, char anchor) {
  const std::string title = box_title(box), percent = percent_label(box.suspicion);
  const int width = bold_width(title, kNormal), all = box_title_width(box) - 4;
  const int left = anchor == 'm' ? x - all / 2 : anchor == 'e' ? x - all : x;
  out_.text({left, y, kNormal, 's', true}, title);
  out_.text({left + width + 5, y, kNormal, 's', true}, percent);
}

// From the box's edge to `x`, for every wire of the slot on that side; several are joined.
void ThingPainter::paint_stub(const Box& box, const Slot& slot, std::size_t side, int x) {
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

void ThingPainter::paint_plug(const Box& box) {
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
void ThingPainter::paint_terminal(const Box& box, const Slot& slot, std::size_t side, int inner) {
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

void ThingPainter::paint_block(const Box& box) {
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

const circuit::Part& ThingPainter::part(const Box& box) const { return loom_.parts.at(box.index); }

void ThingPainter::paint_symbol(const Box& box, int x, int y, int degrees) {
  out_.open_turned(x, y, degrees);
  draw_symbol(out_, part(box), weight_of(box.suspicion));
  out_.close_group();
  out_.text({x, y + 4, kNormal, 'm', true}, symbol_letter(part(box)));
}

void ThingPainter::paint_level(const Box& box) {
  const int x = middle(box), y = box.y + box.slots[0].y;
  for (const std::size_t side : {kLeft, kRight})
    for (const std::size_t i : box.order[side])
      paint_terminal(box, box.slots[i], side, side == kLeft ? x - kSymbolReach : x + kSymbolReach);
  paint_symbol(box, x, y, box.order[kLeft].front() == 0 ? 0 : 180);
  paint_title(box, x, y - 14, 'm');
  out_.text({x, y + 18, kSmall, 'm', false, true}, box.value);
}

void ThingPainter::paint_upright(const Box& box) {
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
    out_.path({{inner, box.y + slot->y}, {x, box.y + slot->y}, {x, end}}, Pen::kThin);
  }
  paint_symbol(box, x, y, box.order[side][0] == 0 ? 90 : -90);
  paint_title(box, left ? x + kUprightText : x - kUprightText, y - 1, left ? 's' : 'e');
  out_.text({left ? x + kUprightText : x - kUprightText, y + 11, kSmall, left ? 's' : 'e', false, true}, box.value);
}

void ThingPainter::paint_joint(const Box& box) {
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

int probe_x(const Box& box, std::size_t slot, std::size_t side) {
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

std::pair<int, int> probe_spot(const Scene& scene, const Box& box, std::size_t slot, std::size_t side,
                               const circuit::Point& point) {
  if (!point.lug.is_none())
    for (const std::size_t port : box.slots[slot].ports)
      if (scene.ports[port].link == point.lug.index()) return {scene.port_x(port), scene.port_y(port)};
  return {probe_x(box, slot, side), box.y + box.slots[slot].y};
}

}  // namespace halfsplit::report
