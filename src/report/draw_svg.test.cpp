// SPDX-License-Identifier: Apache-2.0
#include "report/draw_svg.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "report/box_size.h"
#include "report/random_loom.h"
#include "report/scene.h"
#include "report/thing_painter.h"
#include "report/xml_check.h"

namespace halfsplit::report {
namespace {

// Battery - fuse - inline plug - lamp - stud, in three places.
class DrawTest : public ::testing::Test {
 protected:
  DrawTest() {
    loom_.name = "Lamp <test> & \"more\"";
    loom_.vehicle = "Demo (invented)";
    for (const char* name : {"box", "frame", "rear"}) {
      loom_.places.push_back({});
      loom_.places.back().name = name;
    }
    loom_.frames.push_back({});
    loom_.frames.back().name = "chassis";
    add_part("B1", circuit::PartKind::kBattery, 0, {24.0, 0.01, 2.0});
    add_part("F<1>", circuit::PartKind::kFuse, 0, {10.0, 0.01, 20.0});
    add_part("L1", circuit::PartKind::kLamp, 2, {21.0, 24.0, 8.0});
    loom_.connectors.push_back({});
    loom_.connectors.back().name = "J4";
    loom_.connectors.back().sides[0] = "cab";
    loom_.connectors.back().sides[1] = "rear";
    loom_.connectors.back().place[0] = circuit::PlaceId(1);
    loom_.connectors.back().place[1] = circuit::PlaceId(2);
    for (const char* name : {"G1", "G2"}) {
      loom_.studs.push_back({});
      loom_.studs.back().name = name;
      loom_.studs.back().place = circuit::PlaceId(name[1] == '1' ? 0 : 2);
      loom_.studs.back().frame = circuit::FrameId(0);
    }
    add_wire("minus", terminal(0, "-"), stud(0));
    add_wire("feed.1", terminal(0, "+"), terminal(1, "1"));
    add_wire("feed.2", terminal(1, "2"), cavity(0));
    add_wire("feed.3", cavity(1), terminal(2, "1"));
    add_wire("ground", terminal(2, "2"), stud(1));
    netlist_ = circuit::build_netlist(loom_);
  }

  void add_part(const char* name, circuit::PartKind kind, std::size_t place, std::vector<double> values) {
    circuit::Part part;
    part.name = name;
    part.kind = kind;
    part.place = circuit::PlaceId(place);
    part.values = std::move(values);
    loom_.parts.push_back(part);
  }

  void add_wire(const char* name, const circuit::EndPoint& from, const circuit::EndPoint& to) {
    circuit::Wire wire;
    wire.name = name;
    wire.from = from;
    wire.to = to;
    wire.colour = "RD/WH";
    wire.size_mm2 = 0.75;
    wire.length_m = 2.0;
    loom_.wires.push_back(wire);
  }

  static circuit::EndPoint terminal(std::size_t part, const char* name) {
    circuit::EndPoint end;
    end.kind = circuit::EndPoint::Kind::kTerminal;
    end.part = circuit::PartId(part);
    end.cavity = name;
    return end;
  }
  static circuit::EndPoint cavity(std::uint8_t side) {
    circuit::EndPoint end;
    end.connector = circuit::ConnectorId(0);
    end.side = side;
    end.cavity = "12";
    return end;
  }
  static circuit::EndPoint stud(std::size_t index) {
    circuit::EndPoint end;
    end.kind = circuit::EndPoint::Kind::kStud;
    end.stud = circuit::StudId(index);
    return end;
  }

  circuit::ElementId element(const std::string& name) const {
    for (std::size_t i = 0; i < netlist_.elements.size(); ++i)
      if (netlist_.elements[i].name == name) return circuit::ElementId(i);
    ADD_FAILURE() << "no element " << name;
    return {};
  }

  std::vector<double> suspect(const std::string& name, double share) const {
    std::vector<double> suspicion(netlist_.elements.size(), 0.0);
    suspicion[element(name).index()] = share;
    return suspicion;
  }

  [[nodiscard]] DrawRequest request() const { return {loom_, netlist_}; }

  static std::size_t count(const std::string& text, const std::string& what) {
    std::size_t found = 0;
    for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++found;
    return found;
  }

  // The texts of a drawing, decoded.
  static std::vector<std::string> texts(const std::string& svg) {
    XmlCheck check(svg);
    EXPECT_EQ(check.run(), "");
    return check.texts();
  }
  static bool shows(const std::string& svg, const std::string& text) {
    const std::vector<std::string> all = texts(svg);
    return std::find(all.begin(), all.end(), text) != all.end();
  }

  circuit::Loom loom_;
  circuit::Netlist netlist_;
};

TEST_F(DrawTest, NamesEverythingAndEscapesIt) {
  const std::string svg = draw_svg(request());
  for (const char* word : {"Lamp <test> & \"more\"", "box", "frame", "rear", "B1", "F<1>", "10 A", "L1", "21 W", "J4",
                           "cab", "12", "G1", "G2", "RD/WH 0.75", "2 m", "24 V"})
    EXPECT_TRUE(shows(svg, word)) << word;
}

TEST_F(DrawTest, IsTheSameEveryTime) { EXPECT_EQ(draw_svg(request()), draw_svg(request())); }

TEST_F(DrawTest, LanesFollowThePathFromTheSupply) {
  const std::string svg = draw_svg(request());
  EXPECT_LT(svg.find(">box<"), svg.find(">frame<"));
  EXPECT_LT(svg.find(">frame<"), svg.find(">rear<"));
}

TEST_F(DrawTest, APlugFacesTheLanesOfItsSides) {
  std::swap(loom_.connectors[0].place[0], loom_.connectors[0].place[1]);  // side "cab" now lies at the rear
  for (int turn = 0; turn < 2; ++turn) {
    Scene scene = make_scene({loom_, netlist_});
    arrange_columns(scene);
    for (const Box& box : scene.boxes) {
      if (box.kind != BoxKind::kPlug) continue;
      const std::size_t left = box.swapped ? 1 : 0;
      EXPECT_LT(box.place[left], box.place[1 - left]);
      EXPECT_EQ(box.side_names[kLeft], loom_.connectors[0].sides[left]);
    }
    std::swap(loom_.connectors[0].place[0], loom_.connectors[0].place[1]);
  }
}

TEST_F(DrawTest, SuspicionIsWeightAndPercent) {
  DrawRequest plain = request(), wire = request(), contact = request(), part = request(), ground = request();
  wire.suspicion = suspect("feed.3", 0.34);
  contact.suspicion = suspect("J4:12", 0.22);
  part.suspicion = suspect("L1", 0.13);
  ground.suspicion = suspect("G2", 0.07);
  EXPECT_FALSE(shows(draw_svg(plain), "34 %"));
  EXPECT_TRUE(shows(draw_svg(wire), "34 %"));
  EXPECT_TRUE(shows(draw_svg(contact), "22 %"));
  EXPECT_TRUE(shows(draw_svg(part), "13 %"));
  EXPECT_TRUE(shows(draw_svg(ground), "7 %"));
  EXPECT_GT(count(draw_svg(wire), "stroke-width=\"4.12\""), count(draw_svg(plain), "stroke-width=\"4.12\""));
}

TEST_F(DrawTest, CertaintyIsNeverShown) {
  DrawRequest sure = request();
  sure.suspicion = suspect("feed.3", 1.0);
  const std::string svg = draw_svg(sure);
  EXPECT_TRUE(shows(svg, ">99 %"));
  EXPECT_FALSE(shows(svg, "100 %"));
}

// Both lugs of a wire count for the stud they sit on.
TEST_F(DrawTest, SuspicionOfOneThingAddsUp) {
  DrawRequest both = request();
  both.suspicion = suspect("G2", 0.1);
  both.suspicion[element("G2 to ground").index()] = 0.15;
  EXPECT_TRUE(shows(draw_svg(both), "25 %"));
}

TEST_F(DrawTest, WhatIsNotOnTheDrawingIsSaid) {
  DrawRequest elsewhere = request();
  elsewhere.elsewhere = 0.07;
  EXPECT_TRUE(shows(draw_svg(elsewhere), "not on this drawing: 7 %"));
}

TEST_F(DrawTest, ProbesStandAtTheirPoints) {
  DrawRequest probed = request();
  probed.red = *circuit::find_point(netlist_, "J4:12@rear");
  probed.black = *circuit::find_point(netlist_, "G2");
  const std::string svg = draw_svg(probed);
  EXPECT_TRUE(shows(svg, "red"));
  EXPECT_TRUE(shows(svg, "black"));
  const Scene scene = make_scene(probed);
  for (const Box& box : scene.boxes) {
    if (box.name == "J4") {
      EXPECT_EQ(box.slots[0].probes[0], 0U);
      EXPECT_EQ(box.slots[0].probes[1], 1U);
    }
    if (box.name == "G2") {
      EXPECT_EQ(box.slots[0].probes[0], 2U);
    }
  }
}

// Several wires on one stud: each lug where its own wire arrives.
TEST_F(DrawTest, ALugIsTouchedWhereItsWireArrives) {
  Scene scene = make_scene(request());
  arrange_columns(scene);
  arrange_rows(scene);
  arrange_routes(scene);
  std::size_t lugs = 0;
  for (const Box& box : scene.boxes)
    for (std::size_t i = 0; i < box.slots.size(); ++i)
      for (const std::size_t side : {0U, 1U})
        for (const circuit::PointId id : box.slots[i].points[side]) {
          const circuit::Point& point = netlist_.points[id.index()];
          if (point.lug.is_none()) continue;
          ++lugs;
          const Link& link = scene.links[point.lug.index()];
          const std::pair<int, int> spot = probe_spot(scene, box, i, side, point);
          const auto end = [&](std::size_t e) {
            return std::pair{scene.port_x(link.end[e]), scene.port_y(link.end[e])};
          };
          EXPECT_TRUE(spot == end(0) || spot == end(1)) << point.name;
        }
  EXPECT_GE(lugs, 4U);
}

TEST_F(DrawTest, EveryPointCanBeProbed) {
  for (std::size_t i = 0; i < netlist_.points.size(); ++i) {
    DrawRequest probed = request();
    probed.red = probed.black = circuit::PointId(i);
    EXPECT_TRUE(shows(draw_svg(probed), "black")) << netlist_.points[i].name;
  }
}

TEST_F(DrawTest, ASymbolInItsRunStaysLevelWhenProbed) {
  DrawRequest probed = request();
  probed.black = *circuit::find_point(netlist_, "F<1>:2");
  Scene scene = make_scene(probed);
  arrange_columns(scene);
  for (const Box& box : scene.boxes)
    if (box.name == "F<1>") {
      ASSERT_FALSE(part_is_upright(box));
      EXPECT_EQ(box.slots[0].y, box.slots[1].y);
    }
}

TEST_F(DrawTest, ATracedPathIsBroughtOut) {
  DrawRequest traced = request();
  traced.traced = {element("feed.2"), element("J4:12"), element("feed.3")};
  EXPECT_GT(count(draw_svg(traced), "stroke-linejoin"), count(draw_svg(request()), "stroke-linejoin") + 2);
}

TEST_F(DrawTest, DarkDiffersInInkOnly) {
  DrawRequest dark = request();
  dark.dark = true;
  const std::string night = draw_svg(dark), day = draw_svg(request());
  EXPECT_NE(night, day);
  EXPECT_EQ(texts(night), texts(day));
}

TEST_F(DrawTest, StrangeWordsDoNoHarm) {
  loom_.wires[0].colour = std::string(300, 'W');
  loom_.parts[0].name = "\xE6\x97\xA5\xE6\x9C\xAC <&> " + std::string(60, '\'');
  loom_.parts[0].caution = "one\ntwo\x01";
  DrawRequest strange = request();
  strange.title = "]]> <script>alert(1)</script> \xFF \xC3\xA4";
  strange.note = std::string(5000, 'n');
  const std::string svg = draw_svg(strange);
  EXPECT_EQ(XmlCheck(svg).run(), "");
  EXPECT_EQ(svg.find("<script"), std::string::npos);
}

TEST(Draw, RandomLoomsAreWellFormed) {
  for (std::uint64_t seed = 1; seed <= 25; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    const circuit::Loom loom = RandomLoom(seed).make(seed * 2);
    const circuit::Netlist netlist = circuit::build_netlist(loom);
    DrawRequest request{loom, netlist};
    request.suspicion.assign(netlist.elements.size(), 0.02);
    for (std::size_t i = 0; i < netlist.elements.size(); i += 2) request.traced.push_back(circuit::ElementId(i));
    request.red = circuit::PointId(seed % netlist.points.size());
    const std::string svg = draw_svg(request);
    EXPECT_EQ(XmlCheck(svg).run(), "");
    for (const circuit::Part& part : loom.parts)
      EXPECT_NE(svg.find(">" + part.name + "<"), std::string::npos) << part.name;
  }
}

TEST(Draw, AnEmptyLoomIsAnEmptyDrawing) {
  circuit::Loom loom;
  loom.name = "nothing";
  loom.frames.push_back({});
  loom.frames.back().name = "chassis";
  const circuit::Netlist netlist = circuit::build_netlist(loom);
  EXPECT_EQ(XmlCheck(draw_svg({loom, netlist})).run(), "");
}

}  // namespace
}  // namespace halfsplit::report
