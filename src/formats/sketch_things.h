// SPDX-License-Identifier: Apache-2.0
// What the templates of circuits ask alike: things with a place, plugs with their cavities, words, pins, curves. What
// is wrong is an error of the reader, and something usable comes back.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "formats/sketch_answers.h"

namespace halfsplit::formats {

// Something with a name and, perhaps, where it is.
struct SketchedThing {
  std::string name, place;
};

// A plug on the way and its cavities: one for each wire that goes through.
struct SketchedPlug {
  SketchedThing plug;
  std::vector<std::string> cavities;
};

using SketchedCurve = std::vector<std::pair<double, double>>;

// "P3 @ tank"; the name is not taken yet.
[[nodiscard]] SketchedThing split_place(AnswerReader& reader, std::string_view question, const std::string& text);
[[nodiscard]] SketchedThing read_thing(AnswerReader& reader, std::string_view question, std::string_view fallback);
[[nodiscard]] std::vector<SketchedThing> read_things(AnswerReader& reader, std::string_view question);
// The answer "plugs": "J4:5/6 @ bulkhead", each with `least` to `most` cavities; without any, they are counted from 1.
[[nodiscard]] std::vector<SketchedPlug> read_plugs(AnswerReader& reader, std::size_t least, std::size_t most = 2);
// One of these; the first when there is no answer.
[[nodiscard]] std::string read_word(AnswerReader& reader, std::string_view question,
                                    const std::vector<std::string>& words);
[[nodiscard]] bool read_yes(AnswerReader& reader, std::string_view question, bool fallback);
[[nodiscard]] std::string read_pin(AnswerReader& reader, std::string_view question, std::string_view fallback);
// "20=2500" at each point, sorted; at least two, each at another value. `unit`, `low` and `high` are of what comes out.
[[nodiscard]] SketchedCurve read_curve(AnswerReader& reader, base::Unit unit, double low, double high,
                                       std::string_view example);

}  // namespace halfsplit::formats
