// SPDX-License-Identifier: Apache-2.0
#include "app/told_tap.h"

#include <vector>

#include "evidence/recorded_text.h"

namespace halfsplit::app {

base::Result<evidence::Observable> told_tap(const LoadedLoom& loom, std::string bus, const std::string& at) {
  const circuit::Loom& drawn = loom.loom;
  if (bus.empty()) {
    std::vector<std::string> with_reader, all;
    for (const circuit::Bus& one : drawn.buses) {
      all.push_back(one.name);
      if (one.reader_high) with_reader.push_back(one.name);
    }
    if (all.empty())
      return base::make_error("witness.no-bus", "this loom has no bus",
                              "draw it: docs/formats/buses.md, or sketch can-backbone");
    const std::vector<std::string>& likely = with_reader.size() == 1 ? with_reader : all;
    if (likely.size() != 1) {
      std::string names;
      for (const std::string& name : all) names += (names.empty() ? "" : ", ") + name;
      return base::make_error("witness.which-bus", "on which bus was it recorded: " + names + "?",
                              "halfsplit witness FILE --on " + all.front());
    }
    bus = likely.front();
  }
  std::string text = "heard on " + bus + (at.empty() ? "" : " at " + at);
  evidence::Observable tap;
  const base::Result<base::Done> done = evidence::take_bus(drawn, loom.netlist, text, tap);
  if (!done) return done.diagnostics();
  return tap;
}

}  // namespace halfsplit::app
