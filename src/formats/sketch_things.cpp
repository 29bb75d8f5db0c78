// SPDX-License-Identifier: Apache-2.0
#include "formats/sketch_things.h"

#include <algorithm>

#include "base/nearest.h"

namespace halfsplit::formats {

namespace {

constexpr std::string_view kNeverInPlace = "@[]></\\\"':.";
constexpr std::string_view kNeverInCavity = "@[]></\\\"': ";

std::vector<std::string> split_cavities(std::string_view text) {
  std::vector<std::string> cavities;
  for (std::size_t from = 0; from <= text.size();) {
    const std::size_t slash = std::min(text.find('/', from), text.size());
    cavities.push_back(trim(text.substr(from, slash - from)));
    from = slash + 1;
  }
  return cavities;
}

bool are_cavities(std::vector<std::string> cavities) {
  const bool named = std::all_of(cavities.begin(), cavities.end(), [](const std::string& cavity) {
    return !cavity.empty() && cavity.find_first_of(kNeverInCavity) == std::string::npos;
  });
  std::sort(cavities.begin(), cavities.end());
  return named && std::adjacent_find(cavities.begin(), cavities.end()) == cavities.end();
}

}  // namespace

SketchedThing split_place(AnswerReader& reader, std::string_view question, const std::string& text) {
  const std::size_t at = text.find('@');
  SketchedThing thing{trim(std::string_view(text).substr(0, at)),
                      at == std::string::npos ? "" : trim(std::string_view(text).substr(at + 1))};
  if (thing.place.find_first_of(kNeverInPlace) != std::string::npos)
    reader.error("sketch.bad-name", std::string(question) + ": \"" + thing.place + "\" cannot be the name of a place",
                 "none of . : @ [ ] > < / \\ \" '");
  return thing;
}

SketchedThing read_thing(AnswerReader& reader, std::string_view question, std::string_view fallback) {
  SketchedThing thing = split_place(reader, question, reader.one(question, fallback));
  if (!thing.name.empty()) reader.take_name(question, thing.name);
  return thing;
}

std::vector<SketchedThing> read_things(AnswerReader& reader, std::string_view question) {
  std::vector<SketchedThing> things;
  for (const std::string& text : reader.list(question)) {
    SketchedThing thing = split_place(reader, question, text);
    if (reader.take_name(question, thing.name)) things.push_back(std::move(thing));
  }
  return things;
}

std::vector<SketchedPlug> read_plugs(AnswerReader& reader, std::size_t least, std::size_t most) {
  constexpr const char* kExamples[] = {"", "for example: J4:3, or J4:3/5 when the ground goes through it too",
                                       "for example: J4:5/6, signal and return",
                                       "for example: J4:5/6/7, supply, signal and ground"};
  std::vector<SketchedPlug> plugs;
  for (const std::string& text : reader.list("plugs")) {
    const SketchedThing whole = split_place(reader, "plugs", text);
    const std::size_t colon = whole.name.find(':');
    SketchedPlug plug{{trim(std::string_view(whole.name).substr(0, colon)), whole.place}, {}};
    if (colon == std::string::npos)
      for (std::size_t i = 1; i <= most; ++i) plug.cavities.push_back(std::to_string(i));
    else
      plug.cavities = split_cavities(std::string_view(whole.name).substr(colon + 1));
    if (!are_cavities(plug.cavities) || plug.cavities.size() < least || plug.cavities.size() > most)
      reader.error("sketch.bad-answer", "plugs: \"" + text + "\" does not name its cavities", kExamples[least]);
    else if (reader.take_name("plugs", plug.plug.name))
      plugs.push_back(std::move(plug));
  }
  return plugs;
}

std::string read_word(AnswerReader& reader, std::string_view question, const std::vector<std::string>& words) {
  const std::string word = reader.one(question, words.front());
  if (std::find(words.begin(), words.end(), word) != words.end()) return word;
  std::string all;
  for (const std::string& one : words) all += (all.empty() ? "" : ", ") + one;
  const std::string near = base::did_you_mean(word, words);
  reader.error("sketch.bad-answer", std::string(question) + ": \"" + word + "\" is none of its words",
               near.empty() ? "say one of: " + all : near);
  return words.front();
}

bool read_yes(AnswerReader& reader, std::string_view question, bool fallback) {
  const std::string word = reader.one(question, fallback ? "yes" : "no");
  if (word == "yes" || word == "no" || word == "true") return word != "no";  // true: a flag of JSON
  reader.error("sketch.bad-answer", std::string(question) + ": \"" + word + "\" is neither yes nor no", "yes or no");
  return fallback;
}

std::string read_pin(AnswerReader& reader, std::string_view question, std::string_view fallback) {
  const std::string pin = reader.one(question, fallback);
  if (pin.find_first_of(kNeverInCavity) != std::string::npos || pin == "+" || pin == "-")
    reader.error("sketch.bad-answer", std::string(question) + ": \"" + pin + "\" is not a cavity of the module's plug",
                 "for example: 14");
  return pin;
}

SketchedCurve read_curve(AnswerReader& reader, base::Unit unit, double low, double high, std::string_view example) {
  SketchedCurve curve;
  for (const std::string& text : reader.list("curve")) {
    const std::size_t equals = text.find('=');
    if (equals == std::string::npos) {
      reader.error("sketch.bad-answer", "curve: \"" + text + "\" is no point", "for example: " + std::string(example));
      continue;
    }
    curve.emplace_back(
        reader.number_of("curve", trim(std::string_view(text).substr(0, equals)), 0.0, base::Unit::kCelsius, -1e6, 1e6),
        reader.number_of("curve", trim(std::string_view(text).substr(equals + 1)), low, unit, low, high));
  }
  std::sort(curve.begin(), curve.end());
  const bool twice = std::adjacent_find(curve.begin(), curve.end(),
                                        [](const auto& a, const auto& b) { return a.first == b.first; }) != curve.end();
  if (reader.told("curve") && (curve.size() < 2 || twice))
    reader.error("sketch.bad-answer", "curve: two points at least, each at another value",
                 "for example: 0=50, 100=190");
  if (curve.size() < 2) curve = {{0.0, low}, {1.0, high}};
  return curve;
}

}  // namespace halfsplit::formats
