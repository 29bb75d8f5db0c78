// SPDX-License-Identifier: Apache-2.0
// For tests: a loom made in code, as short as on paper. Parts get the defaults of their kind, worked-out values as the
// reader of loom files works them out (docs/formats/loom.md); the caller keeps what it makes valid.
#pragma once

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "circuit/netlist.h"
#include "circuit/part_kinds.h"

namespace halfsplit::circuit::test {

using Values = std::initializer_list<std::pair<std::string_view, double>>;

class LoomMaker {
 public:
  Loom loom;

  explicit LoomMaker(double system_volts = 24.0) {
    loom.name = "made in code for a test";
    loom.system_volts = system_volts;
    frame("chassis");
  }

  FrameId frame(std::string name) { return push<FrameId>(loom.frames, std::move(name)); }
  PlaceId place(std::string name) { return push<PlaceId>(loom.places, std::move(name)); }
  SetupId setup(std::string name) { return push<SetupId>(loom.setups, std::move(name)); }
  SpliceId splice(std::string name) { return push<SpliceId>(loom.splices, std::move(name)); }
  StudId stud(std::string name, FrameId on = FrameId(0)) {
    const StudId id = push<StudId>(loom.studs, std::move(name));
    loom.studs.back().frame = on;
    return id;
  }

  // An inline connector whose cavities stand in one row.
  ConnectorId plug(std::string name, std::vector<std::string> cavities, std::string first = "a",
                   std::string second = "b") {
    const ConnectorId id = push<ConnectorId>(loom.connectors, std::move(name));
    Connector& connector = loom.connectors.back();
    connector.sides[0] = std::move(first);
    connector.sides[1] = std::move(second);
    connector.rows.push_back(std::move(cavities));
    return id;
  }

  PartId part(PartKind kind, std::string name, Values values = {}) {
    return part(kind, std::move(name), values, part_kind(kind).plug);
  }
  PartId part(PartKind kind, std::string name, Values values, bool in_plug) {
    const PartId id = push<PartId>(loom.parts, name);
    Part& made = loom.parts.back();
    made.kind = kind;
    for (const PartField& field : part_kind(kind).fields)
      made.values.push_back(std::isfinite(field.fallback) ? field.fallback : field.low);
    for (const auto& [field, value] : values) made.values.at(field_index(kind, field)) = value;
    work_out(made, values);
    if (in_plug) {
      const ConnectorId own = unit_plug(std::move(name));
      loom.connectors[own.index()].part = id;
      std::vector<std::string> cavities(part_kind(kind).terminals.begin(), part_kind(kind).terminals.end());
      std::sort(cavities.begin(), cavities.end());  // as the reader does when nothing is said
      loom.connectors[own.index()].rows.push_back(std::move(cavities));
      loom.parts[id.index()].plug = own;
    }
    return id;
  }

  ModuleId module(std::string name) {
    const ModuleId id = push<ModuleId>(loom.modules, std::move(name));
    loom.modules.back().alive_above_v = 0.625 * loom.system_volts;
    return id;
  }
  // Adds a pin to the module's plug ("" when it has one unnamed plug) and makes the plug when it is new.
  std::size_t pin(ModuleId module, std::string plug, std::string cavity, ModulePin pin) {
    const std::string name = loom.modules[module.index()].name + (plug.empty() ? "" : "." + plug);
    ConnectorId id;
    for (std::size_t i = 0; i < loom.connectors.size(); ++i)
      if (loom.connectors[i].module == module && loom.connectors[i].name == name) id = ConnectorId(i);
    if (id.is_none()) {
      id = unit_plug(name);
      loom.connectors[id.index()].module = module;
      loom.connectors[id.index()].rows.emplace_back();
    }
    loom.connectors[id.index()].rows.front().push_back(cavity);
    pin.plug = std::move(plug);
    pin.cavity = std::move(cavity);
    pin.connector = id;
    loom.modules[module.index()].pins.push_back(std::move(pin));
    return loom.modules[module.index()].pins.size() - 1;
  }
  std::size_t pin(ModuleId module, std::string cavity, PinRole role) {
    ModulePin made;
    made.role = role;
    return pin(module, "", std::move(cavity), made);
  }

  // ---- ends ---------------------------------------------------------------------------------------------------------

  [[nodiscard]] EndPoint at(PartId id, std::string terminal) const {
    const ConnectorId own = loom.parts.at(id.index()).plug;
    if (!own.is_none()) return at(own, 0, std::move(terminal));
    EndPoint end;
    end.kind = EndPoint::Kind::kTerminal;
    end.part = id;
    end.cavity = std::move(terminal);
    return end;
  }
  [[nodiscard]] EndPoint at(ModuleId id, std::size_t pin) const {
    const ModulePin& found = loom.modules.at(id.index()).pins.at(pin);
    return at(found.connector, 0, found.cavity);
  }
  [[nodiscard]] EndPoint at(ConnectorId id, std::uint8_t side, std::string cavity) const {
    EndPoint end;
    end.connector = id;
    end.side = side;
    end.cavity = std::move(cavity);
    return end;
  }
  [[nodiscard]] EndPoint at(SpliceId id) const {
    EndPoint end;
    end.kind = EndPoint::Kind::kSplice;
    end.splice = id;
    return end;
  }
  [[nodiscard]] EndPoint at(StudId id) const {
    EndPoint end;
    end.kind = EndPoint::Kind::kStud;
    end.stud = id;
    return end;
  }
  [[nodiscard]] EndPoint at(FrameId id) const {
    EndPoint end;
    end.kind = EndPoint::Kind::kFrame;
    end.frame = id;
    return end;
  }
  [[nodiscard]] EndPoint chassis() const { return at(FrameId(0)); }

  // ---- wires --------------------------------------------------------------------------------------------------------

  WireId wire(EndPoint from, EndPoint to) {
    const WireId id = push<WireId>(loom.wires, "w" + std::to_string(loom.wires.size()));
    loom.wires.back().from = std::move(from);
    loom.wires.back().to = std::move(to);
    return id;
  }
  WireId wire(EndPoint from, EndPoint to, double ohm) {
    const WireId id = wire(std::move(from), std::move(to));
    loom.wires.back().ohm = ohm;
    return id;
  }
  WireId wire(EndPoint from, EndPoint to, double size_mm2, double length_m) {
    const WireId id = wire(std::move(from), std::move(to));
    loom.wires.back().size_mm2 = size_mm2;
    loom.wires.back().length_m = length_m;
    return id;
  }

  // Joints, contacts and wires that say nothing else get this: for circuits off a page, whose wires have no ohms.
  void make_joints(double ohm) { loom.defaults.contact_ohm = loom.defaults.stud_ohm = loom.defaults.splice_ohm = ohm; }

 private:
  template <class IdType, class T>
  IdType push(std::vector<T>& list, std::string name) {
    list.emplace_back();
    list.back().name = std::move(name);
    return IdType(list.size() - 1);
  }

  ConnectorId unit_plug(std::string name) {
    const ConnectorId id = push<ConnectorId>(loom.connectors, std::move(name));
    loom.connectors.back().sides[0] = "loom";
    loom.connectors.back().sides[1] = "unit";
    return id;
  }

  static bool has(Values values, std::string_view field) {
    for (const auto& [name, value] : values)
      if (name == field) return true;
    return false;
  }

  void work_out(Part& part, Values given) const {
    const double volts = loom.system_volts;
    const auto fill = [&](std::string_view field, double value) {
      if (!has(given, field)) part.values.at(field_index(part.kind, field)) = value;
    };
    switch (part.kind) {
      case PartKind::kFuse:
        return fill("ohm", 0.1 / part_value(part, "rating_a"));
      case PartKind::kRelay:
        fill("pull_in_v", 0.67 * volts);
        return fill("drop_out_v", 0.2 * volts);
      case PartKind::kLamp:
        return fill("volt", volts);
      case PartKind::kMotor:
      case PartKind::kSolenoid:
      case PartKind::kHeater:
        fill("volt", volts);
        if (has(given, "watt"))
          fill("ohm", part_value(part, "volt") * part_value(part, "volt") / part_value(part, "watt"));
        return;
      case PartKind::kBattery:
        return fill("volt", 1.05 * volts);
      case PartKind::kAlternator:
        return fill("volt", 1.18 * volts);
      default:
        return;
    }
  }
};

}  // namespace halfsplit::circuit::test
