// SPDX-License-Identifier: Apache-2.0
// What all sketched circuits write alike: head, setups, places, plugs, parts, and wires that go from plug to plug.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "formats/sketch_text.h"
#include "formats/sketch_things.h"

namespace halfsplit::formats {

class CircuitText {
 public:
  // `metres` of wire from end to end of each path(), plugs or not.
  explicit CircuitText(double metres) : metres_(metres) {}

  void head(const std::string& name, const std::string& vehicle, double volts, const std::vector<std::string>& in_use);
  void setup(const std::string& name, const std::vector<std::string>& closes,
             const std::vector<std::string>& needs = {});
  // The place of a thing; one of its own when it told none. All are written by places().
  std::string place_of(const SketchedThing& thing);
  void places();
  // What to mind there; written with the place.
  void caution_at(const std::string& place, const std::string& words) { cautions_[place] = words; }
  // Inline, in order; the first one's first side leads to `from`, the last one's second to `to`.
  void plugs(const std::vector<SketchedPlug>& plugs, const std::string& from, const std::string& to);
  // Its head, kind and place; the caller goes on with what belongs to its kind.
  void part(const SketchedThing& thing, const std::string& kind, std::string_view comment = "");
  void stud(const SketchedThing& thing, const std::string& frame = "");
  void frame(const std::string& name);
  // FROM, through cavity `which` of each plug that has it, to TO: equal lengths. `back`: the plugs are met from their
  // second sides.
  [[nodiscard]] std::string path(const std::string& from, const std::vector<SketchedPlug>& plugs, std::size_t which,
                                 const std::string& to, const std::string& attributes, bool back = false) const;

  SketchText out;

 private:
  double metres_;
  std::vector<std::string> places_;
  std::map<std::string, std::string> cautions_;
};

}  // namespace halfsplit::formats
