// SPDX-License-Identifier: Apache-2.0
// Sizes on which the layout of a box and its painting must agree. Pixels.
#pragma once

#include <string>

#include "report/scene.h"

namespace halfsplit::report {

inline constexpr double kNormal = 11.0;  // text sizes
inline constexpr double kSmall = 10.0;
inline constexpr double kLaneText = 13.0;  // bold

inline constexpr int kPitch = 24;         // from one port to the next
inline constexpr int kUprightPitch = 48;  // between the two terminals of a symbol that stands upright
inline constexpr int kContactRoom = 18;   // at an edge: the mark of a plug's contact
inline constexpr int kProbeWidth = 38;
inline constexpr int kProbeHeight = 18;
inline constexpr int kSymbolWidth = 40;
inline constexpr int kPlugHead = 30, kModuleHead = 24, kBlockHead = 30, kPartHead = 12;
inline constexpr int kUprightText = 20;  // from an upright symbol to its words
inline constexpr int kPlugGap = 14;      // between the two sides of a plug
inline constexpr int kTitleWidth = 150;  // longer names are cut
inline constexpr int kSlotLabelWidth = 60;
inline constexpr int kSideNameWidth = 56;

[[nodiscard]] std::string slot_label(const Slot& slot);
[[nodiscard]] std::string box_title(const Box& box);
[[nodiscard]] int box_title_width(const Box& box);  // with its percentage
// Both terminals of a two-terminal part look to the same side.
[[nodiscard]] bool part_is_upright(const Box& box);

[[nodiscard]] int link_label_width(const Link& link);

}  // namespace halfsplit::report
