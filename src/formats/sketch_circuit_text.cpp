// SPDX-License-Identifier: Apache-2.0
#include "formats/sketch_circuit_text.h"

#include <algorithm>

#include "base/number.h"

namespace halfsplit::formats {

void CircuitText::head(const std::string& name, const std::string& vehicle, double volts,
                       const std::vector<std::string>& in_use) {
  out.remark("Made by halfsplit sketch. Lines that end in \"assumed\" were not told: put in what the drawing says.");
  out.line("loom", "1");
  out.text("name", name);
  if (!vehicle.empty()) out.text("vehicle", vehicle);
  out.text("note", "Sketched from answers; what is marked as assumed was not told.");
  out.number("system_volts", volts);
  out.line("in_use", toml_list(in_use));
}

void CircuitText::setup(const std::string& name, const std::vector<std::string>& closes,
                        const std::vector<std::string>& needs) {
  out.table("setups", name);
  out.number("do", 0.2, true);
  out.number("undo", 0.1, true);
  if (!needs.empty()) out.line("needs", toml_list(needs));
  std::string sets;
  for (const std::string& one : closes) sets += (sets.empty() ? "" : ", ") + toml_key(one) + " = \"closed\"";
  if (!sets.empty()) out.line("sets", "{ " + sets + " }");
}

std::string CircuitText::place_of(const SketchedThing& thing) {
  const std::string name = thing.place.empty() ? "at " + thing.name : thing.place;
  if (std::find(places_.begin(), places_.end(), name) == places_.end()) places_.push_back(name);
  return name;
}

void CircuitText::places() {
  for (const std::string& place : places_) {
    out.table("places", place);
    out.number("minutes", 1.0, true);
    if (const auto caution = cautions_.find(place); caution != cautions_.end()) out.text("caution", caution->second);
  }
}

void CircuitText::plugs(const std::vector<SketchedPlug>& plugs, const std::string& from, const std::string& to) {
  for (std::size_t i = 0; i < plugs.size(); ++i) {
    out.table("connectors", plugs[i].plug.name);
    const std::string before = i == 0 ? from : plugs[i - 1].plug.name;
    const std::string behind = i + 1 == plugs.size() ? to : plugs[i + 1].plug.name;
    out.line("sides", toml_list({before, behind}));
    out.text("place", place_of(plugs[i].plug), plugs[i].plug.place.empty());
    out.line("rows", "[" + toml_list(plugs[i].cavities) + "]");
  }
}

void CircuitText::part(const SketchedThing& thing, const std::string& kind, std::string_view comment) {
  out.table("parts", thing.name, comment);
  out.text("kind", kind);
  out.text("place", place_of(thing), thing.place.empty());
}

void CircuitText::stud(const SketchedThing& thing, const std::string& frame) {
  out.table("studs", thing.name);
  out.text("place", place_of(thing), thing.place.empty());
  if (!frame.empty()) out.text("frame", frame);
}

void CircuitText::frame(const std::string& name) { out.table("frames", name); }

std::string CircuitText::path(const std::string& from, const std::vector<SketchedPlug>& plugs, std::size_t which,
                              const std::string& to, const std::string& attributes, bool back) const {
  std::vector<std::string> hops;
  for (std::size_t i = 0; i < plugs.size(); ++i) {
    if (which >= plugs[i].cavities.size()) continue;
    // Away from the plugs' first sides each hop says on which side it comes in: the one that leads to what is next.
    const std::string side =
        !back ? "" : "@" + (i + 1 == plugs.size() ? from.substr(0, from.find(':')) : plugs[i + 1].plug.name);
    hops.push_back(plugs[i].plug.name + ":" + plugs[i].cavities[which] + side);
  }
  if (back) std::reverse(hops.begin(), hops.end());
  const std::string metres = base::format_significant(metres_ / static_cast<double>(hops.size() + 1), 3) + "m";
  std::string run = from;
  for (const std::string& hop : hops) run += " -[" + attributes + " " + metres + "]-> " + hop;
  return run + " -[" + attributes + " " + metres + "]-> " + to;
}

}  // namespace halfsplit::formats
