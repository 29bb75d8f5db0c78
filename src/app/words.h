// SPDX-License-Identifier: Apache-2.0
// Pieces of text and JSON that several operations share: percentages, minutes, predictions, configurations, wrapped
// lines.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "app/session.h"

namespace halfsplit::app {

[[nodiscard]] std::string percent(double probability);   // "62 %", "<1 %", ">99 %": never certain
[[nodiscard]] std::string minutes_text(double minutes);  // "4.5 min", "1 h 10 min"
// Wrapped at 78 columns, every line after the first indented by `indent`.
[[nodiscard]] std::string wrap(const std::string& text, std::size_t indent);
[[nodiscard]] std::string padded(std::string text, std::size_t width);
[[nodiscard]] std::size_t display_width(std::string_view text);  // UTF-8 characters

// "121 ohm (119 to 123)", "OL", "OL 80 %, else 4.7 kohm", "dim 70 %, dark 28 %".
[[nodiscard]] std::string prediction_text(const circuit::Loom& loom, const evidence::Observable& what,
                                          const evidence::Prediction& prediction);
[[nodiscard]] Json prediction_json(const evidence::Observable& what, const evidence::Prediction& prediction);

// Fuses that a fault melts, given as their "blown" faults: "; blows F3 at work", and nothing when there are none.
[[nodiscard]] std::string melted_text(const LoadedLoom& loom, const std::vector<fault::FaultId>& melted);
[[nodiscard]] Json seen_json(const evidence::Observable& what, const evidence::Seen& seen);
[[nodiscard]] Json melted_json(const LoadedLoom& loom, const std::vector<fault::FaultId>& melted);  // their names

// The state of the vehicle as an outside program needs it: made, unplugged, fitted, swapped, and what conducts.
[[nodiscard]] Json configuration_json(const LoadedLoom& loom, const circuit::Configuration& configuration);
[[nodiscard]] std::string configuration_text(const LoadedLoom& loom, const circuit::Configuration& configuration);
// An entry as status and the book tell it; the line ends the line.
[[nodiscard]] Json entry_json(const job::Entry& entry);
[[nodiscard]] std::string entry_line(const job::Entry& entry);
[[nodiscard]] Json kit_json(const job::Kit& kit);
[[nodiscard]] Json point_json(const LoadedLoom& loom, circuit::PointId id);
[[nodiscard]] std::string point_text(const LoadedLoom& loom,
                                     circuit::PointId id);  // "J4 cavity 12, cab side (bulkhead)"
[[nodiscard]] Json observable_json(const LoadedLoom& loom, const evidence::Observable& what);
// "meter on ohms, supply off"
[[nodiscard]] std::string instrument_text(const evidence::Observable& what, const meters::MeterProfile& meter);

// Everything made, unplugged, fitted or swapped that must still be undone, with the minutes it takes.
struct LeftBehind {
  std::string name, undo_name, caution;
  double minutes = 0.0;
};
[[nodiscard]] std::vector<LeftBehind> left_behind(const Session& session);
[[nodiscard]] std::string left_behind_text(const std::vector<LeftBehind>& left);
[[nodiscard]] Json left_behind_json(const std::vector<LeftBehind>& left);

[[nodiscard]] Json diagnostics_json(const std::vector<base::Diagnostic>& diagnostics);

// A name as the beginning of a file's name: small letters, digits, hyphens; `otherwise` when nothing is left.
[[nodiscard]] std::string slug(const std::string& name, const std::string& otherwise);

}  // namespace halfsplit::app
