// SPDX-License-Identifier: Apache-2.0
// Names of a loom's things in the text of a test. Internal to the room.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "evidence/observable.h"

namespace halfsplit::evidence {

[[nodiscard]] std::string trimmed(std::string_view text);
// The names that may have been meant by what was typed: lugs only where it holds an @.
[[nodiscard]] std::vector<std::string> point_names(const circuit::Netlist& netlist, const std::string& typed);

template <class Thing>
std::vector<std::string> names_of(const std::vector<Thing>& things) {
  std::vector<std::string> names;
  for (const Thing& thing : things) names.push_back(thing.name);
  return names;
}

template <class Thing>
std::size_t index_of(const std::vector<Thing>& things, const std::string& name) {
  for (std::size_t i = 0; i < things.size(); ++i)
    if (things[i].name == name) return i;
  return things.size();
}

// test.unknown-name, with the nearest.
[[nodiscard]] base::Diagnostic unknown(const std::string& what, const std::string& name,
                                       const std::vector<std::string>& names);

// Into `point`. Error: test.unknown-point.
[[nodiscard]] base::Result<base::Done> parse_point(const circuit::Netlist& netlist, const std::string& text,
                                                   circuit::PointId& point);
// Into `red` and `black`. Errors: test.two-points, test.unknown-point.
[[nodiscard]] base::Result<base::Done> parse_two_points(const circuit::Netlist& netlist, const std::string& text,
                                                        Observable& observable);

}  // namespace halfsplit::evidence
