// SPDX-License-Identifier: Apache-2.0
// The attributes of a run's link, put into a wire: -[RD/WH 0.5mm2 2.1m bundle=rear place=frame]->.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "circuit/loom.h"
#include "formats/loom_draft.h"
#include "formats/run_text.h"
#include "formats/text_problem.h"

namespace halfsplit::formats {

// Fills `wire` and, when name= is given, its name.
// Problems: bad-attribute, unknown-colour, bad-number, bad-unit, out-of-range, bad-name, bad-word; unknown-place is
// reported by the draft.
class WireAttributes {
 public:
  WireAttributes(LoomDraft& draft, const TomlValue& run) : draft_(draft), run_(run) {}
  void read(const RunLink& link, circuit::Wire& wire);

 private:
  // Each returns what it sets ("size"), so that a second one is seen; empty when that cannot be told.
  std::string_view read_one(const RunAttribute& attribute, circuit::Wire& wire);
  std::string_view read_colour(const RunAttribute& attribute, circuit::Wire& wire);
  std::string_view read_quantity(const RunAttribute& attribute, circuit::Wire& wire);
  void read_place(const RunAttribute& attribute, circuit::Wire& wire);
  void read_word(const RunAttribute& attribute, circuit::Wire& wire);
  void read_name(const RunAttribute& attribute, std::string& name, bool dots);
  // The number within the limits of a field of [wires.NAME]; the problem is reported.
  std::optional<double> within(const RunAttribute& attribute, std::string_view field, double value);
  void problem(const RunAttribute& attribute, std::string code, std::string message, std::string hint);

  LoomDraft& draft_;
  const TomlValue& run_;
};

}  // namespace halfsplit::formats
