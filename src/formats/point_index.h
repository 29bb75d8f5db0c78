// SPDX-License-Identifier: Apache-2.0
// Finds what a point's text means in a loom: names to things, and a point's pieces to an EndPoint with the nearest
// names when they do not fit. Used while a loom is read (connectors may still gain cavities) and afterwards.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <unordered_set>
#include <utility>
#include <variant>
#include <vector>

#include "circuit/loom.h"
#include "formats/text_problem.h"

namespace halfsplit::formats {

struct Thing {
  enum class Kind : std::uint8_t { kConnector, kSplice, kStud, kFrame, kPart, kModule };
  Kind kind = Kind::kConnector;
  std::size_t index = 0;
};

// The pieces of "BCM.A:14@unit". Offsets are bytes in the text they came from.
struct PointPieces {
  std::string head;    // before the ':': "BCM.A", "J4"
  std::string cavity;  // "14"; of a hop through a part, "85/86" has `cavity` 85 and `out` 86
  std::string out;
  std::string side;
  bool has_cavity = false, has_out = false, has_side = false;
  std::size_t head_at = 0, cavity_at = 0, out_at = 0, side_at = 0;
};

// `offset` is added to every place. Problem: bad-point. "85/86" is taken apart only when `through`.
[[nodiscard]] std::variant<PointPieces, TextProblem> split_point(std::string_view text, std::size_t offset = 0,
                                                                 bool through = false);

struct FoundPoint {
  circuit::EndPoint end;
  bool side_given = true;
};

class PointIndex {
 public:
  explicit PointIndex(const circuit::Loom& loom);

  // What stands before the ':': a thing, and for "BCM.A" the connector of that plug.
  struct Head {
    Thing thing;
    circuit::ConnectorId plug;  // of a module's named or unnamed plug, of a part with a plug
  };
  [[nodiscard]] std::variant<Head, TextProblem> find_head(const PointPieces& pieces) const;
  [[nodiscard]] std::variant<FoundPoint, TextProblem> find_point(const PointPieces& pieces);

  // Cavities that are not listed are taken in and remembered.
  void open(circuit::ConnectorId connector) { open_.insert(connector.index()); }
  [[nodiscard]] bool is_open(circuit::ConnectorId connector) const { return open_.count(connector.index()) > 0; }
  // Cavity known, or taken in.
  [[nodiscard]] bool take_cavity(circuit::ConnectorId connector, const std::string& cavity);
  [[nodiscard]] const std::vector<std::pair<circuit::ConnectorId, std::string>>& taken() const { return taken_; }

  [[nodiscard]] std::optional<Thing> find_thing(std::string_view name) const;
  [[nodiscard]] std::optional<std::uint8_t> find_side(circuit::ConnectorId connector, std::string_view side) const;
  // False: nearest names are not worked out (there are more errors than will be shown).
  void set_hints(bool hints) { hints_ = hints; }
  // Problems that name the nearest names.
  [[nodiscard]] TextProblem unknown_point(const PointPieces& pieces) const;
  [[nodiscard]] TextProblem unknown_cavity(circuit::ConnectorId connector, const PointPieces& pieces) const;
  [[nodiscard]] TextProblem unknown_side(circuit::ConnectorId connector, const PointPieces& pieces) const;

  [[nodiscard]] const circuit::Loom& loom() const { return loom_; }

 private:
  [[nodiscard]] std::variant<Head, TextProblem> find_module_plug(const PointPieces& pieces, std::size_t dot) const;
  [[nodiscard]] std::variant<FoundPoint, TextProblem> find_plug_point(const Head& head, const PointPieces& pieces);
  [[nodiscard]] std::variant<FoundPoint, TextProblem> find_terminal(std::size_t part, const PointPieces& pieces) const;
  [[nodiscard]] std::variant<FoundPoint, TextProblem> find_bare(const Thing& thing, const PointPieces& pieces) const;
  [[nodiscard]] std::vector<std::string> plug_names(std::size_t module) const;

  const circuit::Loom& loom_;
  std::unordered_map<std::string, Thing> things_;
  std::unordered_map<std::string, circuit::ConnectorId> plugs_;  // "BCM.A", "BCM", "B7"
  std::unordered_set<std::string> cavities_;                     // connector index and cavity
  std::unordered_set<std::size_t> open_;
  std::vector<std::pair<circuit::ConnectorId, std::string>> taken_;
  bool hints_ = true;
  mutable std::size_t hint_budget_ = 500'000;  // names compared, over all hints
};

}  // namespace halfsplit::formats
