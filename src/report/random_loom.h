// SPDX-License-Identifier: Apache-2.0
// Random looms for tests of drawings: legal for build_netlist, electrically meaningless. The same seed gives the same
// loom.
#pragma once

#include <cstdint>
#include <string>

#include "base/rng.h"
#include "circuit/loom.h"
#include "circuit/part_kinds.h"

namespace halfsplit::report {

class RandomLoom {
 public:
  explicit RandomLoom(std::uint64_t seed) : rng_(seed) {}

  // About `size` parts, and half as many wires again.
  circuit::Loom make(std::size_t size) {
    loom_.name = "random";
    loom_.frames.push_back({.name = "chassis", .place = {}, .where = {}});
    for (std::size_t i = 0, count = 1 + rng_.below(6); i < count; ++i) add_place("place " + std::to_string(i));
    for (std::size_t i = 0; i < size; ++i) add_part(i);
    for (std::size_t i = 0; i < size / 6; ++i) add_plug(i);
    for (std::size_t i = 0; i < size / 8; ++i) add_module(i);
    for (std::size_t i = 0; i < size / 5; ++i) add_joints(i);
    for (std::size_t i = 0; i < size + size / 2; ++i) add_wire(i);
    return loom_;
  }

 private:
  circuit::PlaceId some_place() {
    return rng_.chance(0.1) ? circuit::PlaceId() : circuit::PlaceId(rng_.below(loom_.places.size()));
  }

  void add_place(const std::string& name) {
    circuit::Place place;
    place.name = name;
    loom_.places.push_back(place);
  }

  void add_part(std::size_t number) {
    const auto& kinds = circuit::part_kinds();
    circuit::Part part;
    const circuit::PartKindInfo& kind = kinds[rng_.below(kinds.size())];
    part.kind = kind.kind;
    part.name = "P" + std::to_string(number);
    part.place = some_place();
    for (const circuit::PartField& field : kind.fields) part.values.push_back(field.name == "at" ? 0.5 : 10.0);
    if (kind.curve_allowed) part.curve.points = {{0.0, 0.1}, {1.0, 0.9}};
    if (kind.plug) part.plug = add_unit_plug(part.name, part.place, circuit::PartId(loom_.parts.size()), {});
    for (const std::string_view terminal : kind.terminals) {
      if (terminal == "87a") continue;
      circuit::EndPoint end;
      end.kind = kind.plug ? circuit::EndPoint::Kind::kCavity : circuit::EndPoint::Kind::kTerminal;
      end.connector = part.plug;
      end.part = circuit::PartId(loom_.parts.size());
      end.cavity = std::string(terminal);
      ends_.push_back(end);
    }
    loom_.parts.push_back(part);
  }

  circuit::ConnectorId add_unit_plug(const std::string& name, circuit::PlaceId place, circuit::PartId part,
                                     circuit::ModuleId module) {
    circuit::Connector plug;
    plug.name = name;
    plug.sides[0] = "loom";
    plug.sides[1] = "unit";
    plug.place[0] = plug.place[1] = place;
    plug.part = part;
    plug.module = module;
    loom_.connectors.push_back(plug);
    return circuit::ConnectorId(loom_.connectors.size() - 1);
  }

  void add_plug(std::size_t number) {
    circuit::Connector plug;
    plug.name = "J" + std::to_string(number);
    plug.sides[0] = "front";
    plug.sides[1] = "rear";
    plug.place[0] = some_place();
    plug.place[1] = rng_.chance(0.3) ? plug.place[0] : some_place();
    for (std::size_t cavity = 1, count = 1 + rng_.below(8); cavity <= count; ++cavity)
      for (const std::uint8_t side : {std::uint8_t{0}, std::uint8_t{1}}) {
        circuit::EndPoint end;
        end.connector = circuit::ConnectorId(loom_.connectors.size());
        end.side = side;
        end.cavity = std::to_string(cavity);
        ends_.push_back(end);
      }
    loom_.connectors.push_back(plug);
  }

  void add_module(std::size_t number) {
    circuit::Module module;
    module.name = "M" + std::to_string(number);
    module.place = some_place();
    module.frame = circuit::FrameId(0);
    const circuit::ModuleId id(loom_.modules.size());
    const circuit::ConnectorId plug = add_unit_plug(module.name, module.place, {}, id);
    for (std::size_t pin = 1, count = 1 + rng_.below(10); pin <= count; ++pin) {
      circuit::ModulePin one;
      one.cavity = std::to_string(pin);
      one.connector = plug;
      module.pins.push_back(one);
      circuit::EndPoint end;
      end.connector = plug;
      end.cavity = one.cavity;
      ends_.push_back(end);
    }
    loom_.modules.push_back(module);
  }

  void add_joints(std::size_t number) {
    circuit::EndPoint end;
    if (rng_.chance(0.5)) {
      loom_.splices.push_back({});
      loom_.splices.back().name = "S" + std::to_string(number);
      loom_.splices.back().place = some_place();
      end.kind = circuit::EndPoint::Kind::kSplice;
      end.splice = circuit::SpliceId(loom_.splices.size() - 1);
    } else {
      loom_.studs.push_back({});
      loom_.studs.back().name = "G" + std::to_string(number);
      loom_.studs.back().place = some_place();
      loom_.studs.back().frame = circuit::FrameId(0);
      end.kind = circuit::EndPoint::Kind::kStud;
      end.stud = circuit::StudId(loom_.studs.size() - 1);
    }
    for (int i = 0; i < 3; ++i) ends_.push_back(end);
  }

  void add_wire(std::size_t number) {
    circuit::Wire wire;
    wire.name = "w" + std::to_string(number);
    wire.from = ends_[rng_.below(ends_.size())];
    wire.to = ends_[rng_.below(ends_.size())];
    if (rng_.chance(0.05)) {
      wire.to = {};
      wire.to.kind = circuit::EndPoint::Kind::kFrame;
      wire.to.frame = circuit::FrameId(0);
    }
    if (rng_.chance(0.9)) wire.colour = rng_.chance(0.5) ? "RD/WH" : "BN";
    if (rng_.chance(0.9)) wire.size_mm2 = 0.75;
    if (rng_.chance(0.9)) wire.length_m = rng_.uniform(0.1, 9.0);
    loom_.wires.push_back(wire);
  }

  base::Rng rng_;
  circuit::Loom loom_;
  std::vector<circuit::EndPoint> ends_;
};

}  // namespace halfsplit::report
