// SPDX-License-Identifier: Apache-2.0
// How large each kind of box is and where its ports lie. Every y is a multiple of 6, so that wires can run straight.
#include <algorithm>

#include "report/box_size.h"
#include "report/scene.h"
#include "report/svg.h"

namespace halfsplit::report {

namespace {

class Arranger {
 public:
  Arranger(Scene& scene, std::size_t box) : scene_(scene), box_(scene.boxes[box]) {}

  void arrange() {
    for (const std::size_t side : {kLeft, kRight}) box_.stub[side] = stub_width(side);
    switch (box_.kind) {
      case BoxKind::kPass:
        return set_pass();
      case BoxKind::kPlug:
        return set_plug();
      case BoxKind::kModule:
      case BoxKind::kBlock:
        return set_block();
      case BoxKind::kPart:
        return set_part();
      case BoxKind::kSplice:
        return set_joint(12, 0);
      case BoxKind::kStud:
      case BoxKind::kFrame:
        return set_joint(6, 36);
    }
  }

 private:
  [[nodiscard]] static bool is_probed(const Slot& slot) { return (slot.probes[0] | slot.probes[1]) != 0; }

  // Room at an edge for the mark of a contact, its percentage and a probe.
  [[nodiscard]] int stub_width(std::size_t side) const {
    int width = 8;
    for (const std::size_t i : box_.order[side]) {
      const Slot& slot = box_.slots[i];
      int outer = is_probed(slot) ? kProbeWidth : 0;
      if (box_.kind != BoxKind::kPlug && slot.contact)
        outer = std::max(outer, bold_width(percent_label(slot.suspicion), kSmall) + 2);
      width = std::max(width, outer + (slot.contact && box_.kind != BoxKind::kPlug ? kContactRoom : 8));
    }
    return width;
  }

  // Puts the ports of one side below `top`, `pitch` apart; returns the bottom. `tags`: with room for a probe's tag.
  int set_ports(std::size_t side, int top, int pitch, bool tags = true) {
    for (const std::size_t i : box_.order[side]) {
      Slot& slot = box_.slots[i];
      if (tags && is_probed(slot)) top += kProbeHeight;
      const int begin = top;
      slot.y = top + kPitch / 2;
      for (const std::size_t port : slot.ports) {
        if (scene_.ports[port].side != side) continue;
        scene_.ports[port].y = top + kPitch / 2;
        top += pitch;
      }
      if (top == begin) top += pitch;
    }
    return top;
  }

  void set_pass() {
    for (const std::size_t port : box_.slots[0].ports) scene_.ports[port].y = 6;
    box_.width = 0;
    box_.height = 12;
  }

  // Both sides of a cavity lie at the same height.
  void set_plug() {
    int top = kPlugHead;
    int label = 14;
    int gap = kPlugGap;
    for (const std::size_t i : box_.order[kLeft]) {
      Slot& slot = box_.slots[i];
      label = std::max(label, text_width(slot_label(slot), kSmall));
      if (slot.suspicion >= kLeastShown) gap = std::max(gap, bold_width(percent_label(slot.suspicion), kSmall) + 8);
      if (is_probed(slot)) top += kProbeHeight;
      slot.y = top + kPitch / 2;
      int rows[2] = {0, 0};
      for (const std::size_t port : slot.ports) {
        Port& p = scene_.ports[port];
        p.y = top + kPitch / 2 + kPitch * rows[p.side]++;
      }
      top += kPitch * std::max({1, rows[0], rows[1]});
    }
    for (const std::string& name : box_.side_names)
      label = std::max(label, std::min(text_width(name, kSmall), kSideNameWidth));
    box_.face = label + 8;
    box_.gap = gap;
    // The middle of the gap is the middle of the box.
    box_.width = std::max(2 * (std::max(box_.stub[0], box_.stub[1]) + box_.face) + gap, box_title_width(box_));
    box_.height = top + 6;
  }

  [[nodiscard]] int label_width(std::size_t side) const {
    int width = 0;
    for (const std::size_t i : box_.order[side]) width = std::max(width, text_width(slot_label(box_.slots[i]), kSmall));
    return width;
  }

  void set_block() {
    const int head = box_.kind == BoxKind::kBlock ? kBlockHead : kModuleHead;
    const int bottom = std::max(set_ports(kLeft, head, kPitch), set_ports(kRight, head, kPitch));
    const int words = std::max(box_title_width(box_), text_width(box_.value, kSmall));
    const int inner = std::max(words + 12, label_width(kLeft) + label_width(kRight) + 28);
    box_.width = box_.stub[0] + std::max(inner, 48) + box_.stub[1];
    box_.height = bottom + 6;
  }

  void set_part() {
    const bool upright = part_is_upright(box_);
    if (!upright) {
      // Both terminals lie at the same height.
      const bool probed = std::any_of(box_.slots.begin(), box_.slots.end(), is_probed);
      const int head = kPartHead + (probed ? kProbeHeight : 0);
      const int bottom = std::max(set_ports(kLeft, head, kPitch, false), set_ports(kRight, head, kPitch, false));
      const int text = std::max(box_title_width(box_), text_width(box_.value, kSmall));
      box_.width = std::max(box_.stub[0] + kSymbolWidth + box_.stub[1], text);
      box_.height = bottom + 6;
      return;
    }
    const std::size_t side = box_.order[kLeft].empty() ? kRight : kLeft;
    box_.height = std::max(set_ports(side, 0, kUprightPitch), 2 * kUprightPitch - kPitch) + 6;
    box_.height -= kUprightPitch - kPitch;  // the last port needs no more than its row
    const int text = std::max(box_title_width(box_), text_width(box_.value, kSmall));
    box_.width = box_.stub[side] + 14 + kUprightText + text;
  }

  void set_joint(int head, int foot) {
    if (is_probed(box_.slots[0])) head += kProbeHeight;
    int rows[2] = {0, 0};
    box_.slots[0].y = head + kPitch / 2;
    for (const std::size_t port : box_.slots[0].ports) {
      Port& p = scene_.ports[port];
      p.y = head + kPitch / 2 + kPitch * rows[p.side]++;
    }
    box_.width = std::max({24, box_title_width(box_), text_width(box_.value, kSmall)});
    if (!box_.value.empty() && foot > 0) foot += 12;
    box_.height = head + kPitch * std::max({1, rows[0], rows[1]}) + foot;
  }

  Scene& scene_;
  Box& box_;
};

}  // namespace

std::string slot_label(const Slot& slot) { return fit_text(slot.label, kSmall, kSlotLabelWidth); }

std::string box_title(const Box& box) { return fit_text(box.name, kNormal, kTitleWidth); }

int box_title_width(const Box& box) {
  const std::string percent = percent_label(box.suspicion);
  return bold_width(box_title(box), kNormal) + (percent.empty() ? 0 : 5 + bold_width(percent, kNormal)) + 4;
}

bool part_is_upright(const Box& box) {
  return box.kind == BoxKind::kPart && (box.order[kLeft].empty() || box.order[kRight].empty());
}

void arrange_box(Scene& scene, std::size_t box) { Arranger(scene, box).arrange(); }

}  // namespace halfsplit::report
