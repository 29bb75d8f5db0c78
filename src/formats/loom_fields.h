// SPDX-License-Identifier: Apache-2.0
// The loom's tables and keys as data: one record per key with its type, unit, default, limits and help. The reader
// checks against it and the JSON Schema is made from it, so the two cannot disagree. Part kinds add their own fields
// (circuit/part_kinds.h); part_table(kind) holds both.
#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "base/number.h"
#include "circuit/part_kinds.h"

namespace halfsplit::formats {

enum class FieldType : std::uint8_t {
  kText,          // any text
  kName,          // a name that is declared nowhere: a bundle, a twisted pair
  kNumber,        // a number, or text with a unit
  kWhole,         // a whole number
  kFlag,          // true or false
  kWord,          // one of `words`
  kWords,         // a list of them
  kReference,     // the name of something declared (`target`)
  kReferences,    // a list of them
  kPaths,         // a list of file names
  kSides,         // two names
  kSidePlaces,    // a place, or a table side -> place
  kCavities,      // "1-24", "1,2,5-8" or a list of names
  kRows,          // a list of lists of names
  kColour,        // IEC 60757
  kPoint,         // "J4:12@cab"
  kPoints,        // one, or a list of two
  kIdentifier,    // a whole number, or text in hexadecimal
  kPinName,       // "A:14": a pin of the module at hand
  kPinPair,       // a list of two of them
  kCurve,         // a list of [x, y], x rising
  kSwitchStates,  // a table: switch -> "open" or "closed"
  kPlug,          // true, false or a table of kPlug
  kPlugs,         // a table: plug name -> table of kPlug
  kPins,          // a table: pin -> role, or a table of kPin
  kInside,        // a list of tables of kInside
  kSection,       // a table: name -> a table of its own kind
  kRuns,          // a table: name -> text or list of texts
};

enum class FieldTarget : std::uint8_t { kNone, kPlace, kSetup, kFrame, kPart, kModule, kBus, kModuleOrMessage };

struct LoomField {
  std::string_view key;
  FieldType type = FieldType::kText;
  base::Unit unit = base::Unit::kNone;
  double fallback = 0.0;         // numbers; NaN: none, flags: 0 or 1
  double low = 0.0, high = 0.0;  // numbers, inclusive
  bool required = false;
  FieldTarget target = FieldTarget::kNone;
  std::vector<std::string_view> words;     // kWord, kWords
  std::vector<std::string_view> only_for;  // roles or part kinds the key belongs to; empty: all
  std::string_view help;
  std::string_view unit_word;  // when the unit is not one of base::Unit: "K", "share", "of the curve", "money"
};

enum class TableKind : std::uint8_t {
  kTop,
  kDefaults,
  kPlace,
  kSetup,
  kConnector,
  kSplice,
  kStud,
  kFrame,
  kPart,
  kPlug,
  kModule,
  kPin,
  kInside,
  kWire,
  kCode,
  kLive,
  kBus,
  kMessage
};

struct LoomTable {
  std::string_view name;  // "place": what one such table is called
  std::string_view help;
  std::vector<LoomField> fields;

  [[nodiscard]] const LoomField* find(std::string_view key) const;
};

[[nodiscard]] const LoomTable& loom_table(TableKind kind);
// The common fields of parts and those of one kind.
[[nodiscard]] const LoomTable& part_table(circuit::PartKind kind);

// Sections of the file: "places" -> kPlace, ... in the order of the reference.
struct LoomSection {
  std::string_view key;
  TableKind table;
};
[[nodiscard]] const std::vector<LoomSection>& loom_sections();
// All names of top-level tables, sections and others.
[[nodiscard]] const std::vector<std::string_view>& top_table_names();

}  // namespace halfsplit::formats
