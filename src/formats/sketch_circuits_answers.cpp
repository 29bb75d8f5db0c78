// SPDX-License-Identifier: Apache-2.0
// Answers as they are typed to single circuits: "P3 @ tank", "J4:3/5 @ bulkhead", "-40=50k, 20=2500, 120=120".
#include <algorithm>

#include "base/nearest.h"
#include "base/number.h"
#include "formats/sketch_answers.h"
#include "formats/sketch_circuits.h"

namespace halfsplit::formats {

namespace {

constexpr std::string_view kNeverInPlace = "@[]></\\\"':.";
constexpr std::string_view kNeverInCavity = "@[]></\\\"': ";

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

// Each with one cavity, or with two: for the wire there and the wire back.
std::vector<SketchedPlug> read_plugs(AnswerReader& reader, std::size_t least) {
  std::vector<SketchedPlug> plugs;
  for (const std::string& text : reader.list("plugs")) {
    const SketchedThing whole = split_place(reader, "plugs", text);
    const std::size_t colon = whole.name.find(':');
    SketchedPlug plug{{trim(std::string_view(whole.name).substr(0, colon)), whole.place}, {}};
    const std::string cavities =
        colon == std::string::npos ? "1/2" : trim(std::string_view(whole.name).substr(colon + 1));
    const std::size_t slash = cavities.find('/');
    plug.cavities.push_back(trim(std::string_view(cavities).substr(0, slash)));
    if (slash != std::string::npos) plug.cavities.push_back(trim(std::string_view(cavities).substr(slash + 1)));
    const bool fits = plug.cavities.size() >= least &&
                      (slash == std::string::npos || plug.cavities[0] != plug.cavities[1]) &&
                      std::all_of(plug.cavities.begin(), plug.cavities.end(), [](const std::string& cavity) {
                        return !cavity.empty() && cavity.find_first_of(kNeverInCavity) == std::string::npos;
                      });
    if (!fits)
      reader.error("sketch.bad-answer", "plugs: \"" + text + "\" does not name its cavities",
                   least > 1 ? "for example: J4:5/6, signal and return"
                             : "for example: J4:3, or J4:3/5 when the ground goes through it too");
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

std::string read_pin(AnswerReader& reader, std::string_view question, std::string_view fallback) {
  const std::string pin = reader.one(question, fallback);
  if (pin.find_first_of(kNeverInCavity) != std::string::npos || pin == "+" || pin == "-")
    reader.error("sketch.bad-answer", std::string(question) + ": \"" + pin + "\" is not a cavity of the module's plug",
                 "for example: 14");
  return pin;
}

// "20=2500" at each point; what it senses must rise.
void read_curve(AnswerReader& reader, SensorSketch& sketch) {
  for (const std::string& text : reader.list("curve")) {
    const std::size_t equals = text.find('=');
    if (equals == std::string::npos) {
      reader.error("sketch.bad-answer", "curve: \"" + text + "\" is no point",
                   "for example: -40=50k, 20=2500, 120=120");
      continue;
    }
    sketch.curve.emplace_back(
        reader.number_of("curve", trim(std::string_view(text).substr(0, equals)), 0.0, base::Unit::kCelsius, -1e6, 1e6),
        reader.number_of("curve", trim(std::string_view(text).substr(equals + 1)), 1.0, base::Unit::kOhm, 0.001, 1e9));
  }
  std::sort(sketch.curve.begin(), sketch.curve.end());
  const bool twice = std::adjacent_find(sketch.curve.begin(), sketch.curve.end(), [](const auto& a, const auto& b) {
                       return a.first == b.first;
                     }) != sketch.curve.end();
  if (reader.told("curve") && (sketch.curve.size() < 2 || twice))
    reader.error("sketch.bad-answer", "curve: two points at least, each at another value",
                 "for example: 0=50, 100=190");
  if (sketch.curve.size() < 2) sketch.curve = {{0.0, 1.0}, {1.0, 2.0}};
}

std::string or_usual(const std::string& name, const std::string& usual) { return name.empty() ? usual : name; }

}  // namespace

base::Result<Sketched> draw_feed(const SketchAnswers& answers) {
  AnswerReader reader(answers);
  FeedSketch sketch;
  sketch.load = read_thing(reader, "load", "");
  sketch.load_kind = read_word(reader, "load-kind", {"motor", "lamp", "solenoid", "heater"});
  sketch.fuse = read_thing(reader, "fuse", "F1");
  sketch.button = read_thing(reader, "switch", "S1");
  sketch.relay = read_thing(reader, "relay", "");
  sketch.ground = read_thing(reader, "ground", "G1");
  sketch.plugs = read_plugs(reader, 1);
  sketch.system_volts = reader.number("volts", 24.0, base::Unit::kVolt, 6.0, 48.0);
  sketch.watt = reader.number("watt", 60.0, base::Unit::kWatt, 0.1, 10000.0);
  sketch.rating_a = reader.number("rating", 10.0, base::Unit::kAmpere, 0.1, 500.0);
  sketch.wire_mm2 = reader.number("size", 1.5, base::Unit::kSquareMillimetre, 0.1, 120.0);
  sketch.metres = reader.number("length", 8.0, base::Unit::kMetre, 0.1, 200.0);
  sketch.name = or_usual(reader.one("name"), "Feed of " + sketch.load.name);
  sketch.vehicle = reader.one("vehicle");
  if (!reader.errors().empty()) return reader.errors();
  return write_feed_sketch(sketch, reader);
}

base::Result<Sketched> draw_two_wire_sensor(const SketchAnswers& answers) {
  AnswerReader reader(answers);
  SensorSketch sketch;
  sketch.module = read_thing(reader, "module", "");
  sketch.sensor = read_thing(reader, "sensor", "");
  sketch.signal_pin = read_pin(reader, "signal-pin", "1");
  sketch.return_pin = read_pin(reader, "return-pin", "2");
  if (sketch.signal_pin == sketch.return_pin)
    reader.error("sketch.bad-answer", "return-pin: \"" + sketch.return_pin + "\" is the signal's pin as well",
                 "name two cavities");
  sketch.plugs = read_plugs(reader, 2);
  read_curve(reader, sketch);
  const double low = sketch.curve.front().first, high = sketch.curve.back().first;
  sketch.at = reader.number("at", low + 0.5 * (high - low), base::Unit::kNone, -1e6, 1e6);
  sketch.at_tolerance = (reader.told("at") ? 0.05 : 0.5) * (high - low);
  sketch.unit = reader.one("unit");
  sketch.pull_up_ohm = reader.number("pull-up", 2200.0, base::Unit::kOhm, 1.0, 1e7);
  sketch.code_high = reader.one("code-high");
  sketch.code_low = reader.one("code-low");
  if (!sketch.code_high.empty() && sketch.code_high == sketch.code_low)
    reader.error("sketch.same-name", "code-low: it is the code for too high as well", "each code stands once");
  sketch.system_volts = reader.number("volts", 24.0, base::Unit::kVolt, 6.0, 48.0);
  sketch.metres = reader.number("length", 8.0, base::Unit::kMetre, 0.1, 200.0);
  sketch.name = or_usual(reader.one("name"), "Sensor " + sketch.sensor.name);
  sketch.vehicle = reader.one("vehicle");
  if (!reader.errors().empty()) return reader.errors();
  return write_sensor_sketch(sketch, reader);
}

}  // namespace halfsplit::formats
