// SPDX-License-Identifier: Apache-2.0
// Looms sketched of trailer sockets against tests/data/facts/trailer_sockets.csv (sources in each row): every pin that
// is not free has a wire of its colour and at least its size on both sides of the socket, and says its function.
#include <gtest/gtest.h>

#include <algorithm>
#include <set>
#include <string>

#include "circuit/netlist.h"
#include "formats/loom_text.h"
#include "formats/sketch.h"
#include "formats/trailer_sockets.h"
#include "tests/oracle/facts.h"

namespace halfsplit::oracle {
namespace {

std::string without_slash(std::string text) {
  std::erase(text, '/');
  return text;
}

circuit::Loom sketched(std::string_view socket) {
  const auto made =
      formats::sketch_loom(*formats::find_sketch_template("trailer-socket"), {{"socket", {std::string(socket)}}});
  EXPECT_TRUE(made.ok());
  auto loom = formats::read_loom("t", [&](const std::string&) -> base::Result<std::string> { return made->text; });
  EXPECT_TRUE(loom.ok()) << base::format_diagnostics(loom.diagnostics());
  return std::move(loom).value();
}

const formats::TrailerSocket& socket_of(const std::string& standard) {
  const auto sockets = formats::trailer_sockets();
  const auto at =
      std::find_if(sockets.begin(), sockets.end(), [&](const auto& one) { return one.standard == standard; });
  EXPECT_NE(at, sockets.end()) << standard;
  return *at;
}

// Wires that end in a cavity of X1, on either side.
std::vector<const circuit::Wire*> wires_at(const circuit::Loom& loom, const std::string& cavity) {
  std::vector<const circuit::Wire*> found;
  for (const circuit::Wire& wire : loom.wires)
    for (const circuit::EndPoint* end : {&wire.from, &wire.to})
      if (circuit::end_point_name(loom, *end).starts_with("X1:" + cavity + "@")) found.push_back(&wire);
  return found;
}

TEST(TrailerSockets, AreThoseOfTheTable) {
  std::set<std::string> standards;
  for (const FactRow& row : read_facts("trailer_sockets.csv")) {
    SCOPED_TRACE(row.text("standard") + " pin " + row.text("pin"));
    standards.insert(row.text("standard"));
    const formats::TrailerSocket& socket = socket_of(row.text("standard"));
    EXPECT_EQ(socket.volts, row.number("nominal_V"));
    const auto pin = std::find_if(socket.pins.begin(), socket.pins.end(),
                                  [&](const auto& one) { return one.cavity == row.text("pin"); });
    ASSERT_NE(pin, socket.pins.end());
    EXPECT_EQ(pin->function, row.text("function_own_words"));
    EXPECT_EQ(without_slash(std::string(pin->colour)), row.text("colour_iec60757"));
    EXPECT_GE(pin->mm2, row.number("min_area_mm2"));
  }
  EXPECT_EQ(standards.size(), formats::trailer_sockets().size());
}

TEST(TrailerSockets, TheLoomHasEachPinsWireOnBothSides) {
  for (const formats::TrailerSocket& socket : formats::trailer_sockets()) {
    const circuit::Loom loom = sketched(socket.name);
    EXPECT_EQ(loom.system_volts, socket.volts);
    for (const FactRow& row : read_facts("trailer_sockets.csv")) {
      if (row.text("standard") != socket.standard || row.text("function_own_words").find("free") == 0) continue;
      if (row.text("function_own_words").ends_with("free")) continue;
      SCOPED_TRACE(row.text("standard") + " pin " + row.text("pin"));
      const auto wires = wires_at(loom, row.text("pin"));
      ASSERT_EQ(wires.size(), 2U);
      for (const circuit::Wire* wire : wires) {
        EXPECT_EQ(without_slash(wire->colour), row.text("colour_iec60757"));
        EXPECT_GE(wire->size_mm2.value_or(0.0), row.number("min_area_mm2"));
      }
    }
  }
}

}  // namespace
}  // namespace halfsplit::oracle
