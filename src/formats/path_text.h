// SPDX-License-Identifier: Apache-2.0
// A path as somebody types it while reading a drawing: "F3 -> S1 -[RD 1mm2 2m]-> J4:3 > E1 (lamp 21W)". Freer than a
// run of a loom: hops may be parted by -> or -[..]->, by > or a comma, a kind may stand in brackets, and what is not
// said is guessed from the letter or the word in the name (F a fuse, K a relay, J or X a plug: common practice on
// drawings).
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace halfsplit::formats {

enum class HopKind : std::uint8_t { kPlug, kSplice, kStud, kFrame, kModule, kPart };

struct PathHop {
  std::string name;    // "J4", "BCM" of BCM.A:14
  std::string plug;    // "A" of BCM.A:14
  std::string cavity;  // "12"; of a part its terminals: "1", "30/87"
  std::string side;    // "cab" of J4:12@cab
  std::string word;    // in brackets: "lamp"
  std::string value;   // behind it: "21W"
  HopKind kind = HopKind::kSplice;
  std::string part_kind;   // kPart: "fuse", "lamp", "sender" ...
  bool kind_told = false;  // by its brackets; else by letter, word or place in the path
  std::size_t offset = 0;  // into the text, bytes
};

struct PathProblem {
  std::string message, hint;
  std::size_t offset = 0;
};

struct PathText {
  std::vector<PathHop> hops;
  std::vector<std::string> links;  // attributes of the wire behind hop i: "RD 1mm2 2m"; one less than hops, or as many
                                   // when the text ends in a link
  bool ends_in_link = false;
  std::vector<PathProblem> problems;
};

// The form and the kinds of one path. Hops that come without a name are problems; an empty text has no hops.
[[nodiscard]] PathText parse_path(std::string_view text);

// Several paths in one text: lines and semicolons part them. Empty ones are left out.
[[nodiscard]] std::vector<std::string> split_paths(std::string_view text);

// "sensor", "lamp", "plug", as brackets and people say it.
[[nodiscard]] std::string_view hop_word(const PathHop& hop);
// Words that may stand in brackets.
[[nodiscard]] std::vector<std::string> hop_words();
// Terminals of a part kind in and out when a path goes through it: "30", "87" of a relay.
struct PartEnds {
  std::string_view in, out;
};
[[nodiscard]] PartEnds part_ends(std::string_view part_kind);
[[nodiscard]] bool is_load(std::string_view part_kind);

}  // namespace halfsplit::formats
