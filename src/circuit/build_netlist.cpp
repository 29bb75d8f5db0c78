// SPDX-License-Identifier: Apache-2.0
// Loom -> nodes and elements. The rules are those of docs/formats/loom.md part 2, in its order: frames, studs, splices,
// plugs, wires, parts, modules.
#include <algorithm>
#include <cmath>
#include <map>

#include "base/check.h"
#include "circuit/bus_kinds.h"
#include "circuit/bus_wiring.h"
#include "circuit/metal.h"
#include "circuit/netlist.h"
#include "circuit/part_kinds.h"

namespace halfsplit::circuit {

namespace {

constexpr double kInsideOhm = 0.001;        // a module's pin to its internal supply or ground
constexpr double kWiperOhm = 0.001;         // of a potentiometer, on its track
constexpr double kUndrawnSupplyOhm = 0.05;  // a module whose supply pin is not drawn
constexpr double kBlockedOhm = 1.0e9;       // a load that is there only while its module is not alive
constexpr double kLinDiodeV = 0.7;          // in series with a LIN pull-up
constexpr double kLinDiodeOhm = 1.0;
constexpr double kCommanderOhm = 1000.0;  // ISO 17987-4: pull-up of the commander
constexpr double kLedKnee = 0.4;          // an LED lamp starts to conduct at this share of its rated volts
constexpr double kLooseTolerance = 0.9;   // contacts, lugs, crimps: spread of a clean one

class Builder {
 public:
  explicit Builder(const Loom& loom) : loom_(loom) {}

  Netlist build() {
    add_frames();
    add_studs();
    add_splices();
    collect_cavities();
    for (std::size_t i = 0; i < loom_.connectors.size(); ++i) add_connector(ConnectorId(i));
    for (std::size_t i = 0; i < loom_.wires.size(); ++i) add_wire(WireId(i));
    for (std::size_t i = 0; i < loom_.parts.size(); ++i) add_part(PartId(i));
    net_.modules.resize(loom_.modules.size());
    for (std::size_t i = 0; i < loom_.modules.size(); ++i) add_module(ModuleId(i));
    choose_reference();
    net_.buses = wire_buses(loom_, net_);
    for (const BusWiring& bus : net_.buses)
      for (std::size_t i = 0; i < bus.seats.size(); ++i) net_.transceivers[bus.seats[i]].place = i;
    mark_module_pins();
    return std::move(net_);
  }

 private:
  NodeId new_node(std::string name) {
    net_.node_names.push_back(std::move(name));
    return NodeId(net_.node_names.size() - 1);
  }

  ElementId add(Element element) {
    net_.elements.push_back(std::move(element));
    return ElementId(net_.elements.size() - 1);
  }

  Element make(ElementKind kind, std::string name, NodeId a, NodeId b, double ohm, double tolerance, Item item) {
    Element e;
    e.kind = kind;
    e.name = std::move(name);
    e.a = a;
    e.b = b;
    e.ohm = ohm;
    e.tolerance = tolerance;
    e.item = std::move(item);
    return e;
  }

  static Item item_of(Item::Kind kind, std::size_t index, std::string cavity = "") {
    return Item{kind, static_cast<std::uint32_t>(index), std::move(cavity)};
  }

  void add_point(Point point) {
    const auto [at, fresh] = net_.point_by_name.emplace(point.name, PointId(net_.points.size()));
    HS_CHECK(fresh, "two points named " + point.name);
    net_.points.push_back(std::move(point));
  }

  void add_frames() {
    for (const Frame& frame : loom_.frames) {
      const NodeId node = new_node(frame.name);
      net_.frame_nodes.push_back(node);
      Point point;
      point.name = frame.name;
      point.node = node;
      point.place = frame.place;
      add_point(std::move(point));
    }
  }

  void add_studs() {
    for (std::size_t i = 0; i < loom_.studs.size(); ++i) {
      const Stud& stud = loom_.studs[i];
      const NodeId node = new_node(stud.name);
      stud_nodes_.push_back(node);
      const double ohm = stud.ohm.value_or(loom_.defaults.stud_ohm);
      add(make(ElementKind::kJoint, stud.name, node, net_.frame_nodes.at(stud.frame.index()), ohm, kLooseTolerance,
               item_of(Item::Kind::kStud, i)));
      Point point;
      point.name = stud.name;
      point.node = node;
      point.place = stud.place;
      point.hazard = stud.hazard;
      add_point(std::move(point));
    }
  }

  void add_splices() {
    for (const Splice& splice : loom_.splices) {
      const NodeId node = new_node(splice.name);
      splice_nodes_.push_back(node);
      Point point;
      point.name = splice.name;
      point.node = node;
      point.place = splice.place;
      point.hazard = splice.hazard;
      point.probe = splice.probe;
      add_point(std::move(point));
    }
  }

  // Cavities in use: those that wires end in, and every pin of a module or part plug.
  void collect_cavities() {
    cavities_.resize(loom_.connectors.size());
    const auto use = [&](const EndPoint& end) {
      if (end.kind == EndPoint::Kind::kCavity) note_cavity(end.connector, end.cavity);
    };
    for (const Wire& wire : loom_.wires) {
      use(wire.from);
      use(wire.to);
    }
    for (std::size_t i = 0; i < loom_.parts.size(); ++i) {
      if (loom_.parts[i].plug.is_none()) continue;
      for (const std::string_view terminal : part_kind(loom_.parts[i].kind).terminals)
        if (terminal != "87a") note_cavity(loom_.parts[i].plug, std::string(terminal));
    }
    for (const Module& module : loom_.modules)
      for (const ModulePin& pin : module.pins) note_cavity(pin.connector, pin.cavity);
  }

  void note_cavity(ConnectorId connector, const std::string& cavity) {
    std::vector<std::string>& list = cavities_.at(connector.index());
    if (std::find(list.begin(), list.end(), cavity) == list.end()) list.push_back(cavity);
  }

  void add_connector(ConnectorId id) {
    const Connector& connector = loom_.connectors[id.index()];
    const bool unit = !connector.module.is_none() || !connector.part.is_none();
    for (const std::string& cavity : cavities_[id.index()]) {
      const std::string base = connector.name + ":" + cavity;
      NodeId node[2];
      for (std::uint8_t side = 0; side < 2; ++side) {
        Point point;
        point.name = unit && side == 0 ? base : base + "@" + connector.sides[side];
        node[side] = new_node(point.name);
        point.node = node[side];
        point.place = connector.place[side];
        point.connector = id;
        point.side = side;
        point.cavity = cavity;
        point.needs_unplugged = !connector.backprobe || (unit && side == 1);
        point.probe = connector.pluggable || !point.needs_unplugged;
        point.part = connector.part;
        point.module = connector.module;
        point.hazard = connector.hazard;
        add_point(std::move(point));
      }
      cavity_nodes_[{id.value, cavity}] = {node[0], node[1]};
      Element contact = make(ElementKind::kContact, base, node[0], node[1],
                             connector.contact_ohm.value_or(loom_.defaults.contact_ohm), kLooseTolerance,
                             item_of(Item::Kind::kConnector, id.index(), cavity));
      contact.connector = id;
      add(std::move(contact));
    }
  }

  NodeId cavity_node(ConnectorId id, const std::string& cavity, std::size_t side) const {
    const auto found = cavity_nodes_.find({id.value, cavity});
    HS_CHECK(found != cavity_nodes_.end(), "cavity " + cavity + " was never made");
    return side == 0 ? found->second.first : found->second.second;
  }

  // The node of a part's terminal itself: the unit side of its plug, or the bare terminal.
  NodeId part_node(PartId id, const std::string& terminal) {
    const Part& part = loom_.parts[id.index()];
    if (!part.plug.is_none()) return cavity_node(part.plug, terminal, 1);
    const auto [at, fresh] = terminal_nodes_.try_emplace({id.value, terminal});
    if (fresh) {
      Point point;
      point.name = part.name + ":" + terminal;
      point.node = new_node(point.name);
      point.place = part.place;
      point.part = id;
      point.hazard = part.hazard;
      at->second = point.node;
      add_point(std::move(point));
    }
    return at->second;
  }

  // Where a wire's end lands; lugs, crimps and clamps get a joint of their own, and on what is open to a probe a point
  // beyond it.
  NodeId wire_end(const EndPoint& end, WireId id) {
    const std::string& wire = loom_.wires[id.index()].name;
    switch (end.kind) {
      case EndPoint::Kind::kCavity:
        return cavity_node(end.connector, end.cavity, end.side);
      case EndPoint::Kind::kFrame:
        return net_.frame_nodes.at(end.frame.index());
      case EndPoint::Kind::kSplice:
        return joint_end(loom_.splices.at(end.splice.index()).name, splice_nodes_.at(end.splice.index()), wire,
                         loom_.defaults.splice_ohm, item_of(Item::Kind::kSplice, end.splice.index()));
      case EndPoint::Kind::kStud: {
        const Stud& stud = loom_.studs.at(end.stud.index());
        const NodeId node = joint_end(stud.name, stud_nodes_.at(end.stud.index()), wire, loom_.defaults.stud_ohm,
                                      item_of(Item::Kind::kStud, end.stud.index()));
        Point point;
        point.place = stud.place;
        point.hazard = stud.hazard;
        add_lug(std::move(point), stud.name, node, id);
        return node;
      }
      case EndPoint::Kind::kTerminal: {
        const Part& part = loom_.parts.at(end.part.index());
        const std::string name = part.name + ":" + end.cavity;
        const NodeId node = joint_end(name, part_node(end.part, end.cavity), wire, loom_.defaults.stud_ohm,
                                      item_of(Item::Kind::kPart, end.part.index(), end.cavity));
        Point point;
        point.place = part.place;
        point.part = end.part;
        point.hazard = part.hazard;
        add_lug(std::move(point), name, node, id);
        return node;
      }
    }
    base::fail_check(__FILE__, __LINE__, "unknown kind of wire end");
  }

  void add_lug(Point point, const std::string& at, NodeId node, WireId wire) {
    point.name = at + "@" + loom_.wires[wire.index()].name;
    if (net_.point_by_name.contains(point.name)) return;  // a wire with both ends here
    if (point.hazard == Hazard::kNone) point.hazard = loom_.wires[wire.index()].hazard;
    point.node = node;
    point.lug = wire;
    add_point(std::move(point));
  }

  NodeId joint_end(const std::string& at, NodeId node, const std::string& wire, double ohm, Item item) {
    const NodeId end = new_node(wire + " at " + at);
    add(make(ElementKind::kJoint, at + " to " + wire, end, node, ohm, kLooseTolerance, std::move(item)));
    return end;
  }

  void add_wire(WireId id) {
    const Wire& wire = loom_.wires[id.index()];
    const Defaults& d = loom_.defaults;
    const double ohm = wire.ohm ? *wire.ohm
                                : copper_ohm(wire.size_mm2.value_or(d.wire_size_mm2),
                                             wire.length_m.value_or(d.wire_length_m), loom_.ambient_c);
    const bool known = wire.ohm || (wire.size_mm2 && wire.length_m);
    const NodeId a = wire_end(wire.from, id);
    const NodeId b = wire_end(wire.to, id);
    net_.wire_elements.push_back(
        add(make(ElementKind::kWire, wire.name, a, b, ohm, known ? 0.1 : 0.5, item_of(Item::Kind::kWire, id.index()))));
  }

  Element part_element(PartId id, ElementKind kind, std::string name, std::string_view from, std::string_view to,
                       double ohm) {
    const Part& part = loom_.parts[id.index()];
    Element e = make(kind, std::move(name), part_node(id, std::string(from)), part_node(id, std::string(to)), ohm,
                     part_value(part, "tolerance_percent") / 100.0, item_of(Item::Kind::kPart, id.index()));
    e.part = id;
    return e;
  }

  void add_part(PartId id) {
    const Part& part = loom_.parts[id.index()];
    switch (part.kind) {
      case PartKind::kFuse: {
        Element e = part_element(id, ElementKind::kFuse, part.name, "1", "2", part_value(part, "ohm"));
        e.blow_a = kFuseBlowFactor * part_value(part, "rating_a");
        add(std::move(e));
        return;
      }
      case PartKind::kSwitch: {
        Element e = part_element(id, ElementKind::kSwitch, part.name, "1", "2", part_value(part, "ohm"));
        e.normally_closed = part.normally_closed;
        add(std::move(e));
        return;
      }
      case PartKind::kRelay:
        return add_relay(id, part);
      case PartKind::kDiode: {
        Element e = part_element(id, ElementKind::kDiode, part.name, "A", "K", part_value(part, "ohm"));
        e.volt = part_value(part, "forward_v");
        add(std::move(e));
        return;
      }
      case PartKind::kLamp:
        return add_lamp(id, part);
      case PartKind::kPotentiometer:
        return add_potentiometer(id, part);
      case PartKind::kThreeWireSensor:
        return add_three_wire(id, part);
      case PartKind::kBattery:
      case PartKind::kAlternator:
        return add_source(id, part);
      case PartKind::kNtc:
      case PartKind::kPtc:
      case PartKind::kSender: {
        Element e = part_element(id, ElementKind::kResistor, part.name, "1", "2", sensor_ohm(part));
        e.tolerance = sensor_tolerance(part);
        add(std::move(e));
        return;
      }
      case PartKind::kMotor:
      case PartKind::kSolenoid:
      case PartKind::kHeater:
      case PartKind::kResistor:
      case PartKind::kTerminator:
        add(part_element(id, ElementKind::kResistor, part.name, "1", "2", part_value(part, "ohm")));
        return;
    }
  }

  void add_relay(PartId id, const Part& part) {
    Element coil =
        part_element(id, ElementKind::kRelayCoil, part.name + " coil", "85", "86", part_value(part, "coil_ohm"));
    coil.volt = part_value(part, "pull_in_v");
    coil.drop_out_v = part_value(part, "drop_out_v");
    const ElementId control = add(std::move(coil));
    Element make_contact =
        part_element(id, ElementKind::kRelayContact, part.name + ":30-87", "30", "87", part_value(part, "ohm"));
    make_contact.control = control;
    make_contact.tolerance = 0.5;
    add(std::move(make_contact));
    const bool change_over = part.plug.is_none() ? terminal_nodes_.contains({id.value, "87a"})
                                                 : cavity_nodes_.contains({part.plug.value, "87a"});
    if (!change_over) return;
    Element rest =
        part_element(id, ElementKind::kRelayContact, part.name + ":30-87a", "30", "87a", part_value(part, "ohm"));
    rest.control = control;
    rest.normally_closed = true;
    rest.tolerance = 0.5;
    add(std::move(rest));
  }

  void add_lamp(PartId id, const Part& part) {
    const double volt = part_value(part, "volt");
    const double watt = part_value(part, "watt");
    if (part.led) {
      Element e = part_element(id, ElementKind::kDiode, part.name, "1", "2", (1.0 - kLedKnee) * volt * volt / watt);
      e.volt = kLedKnee * volt;
      add(std::move(e));
      return;
    }
    Element e = part_element(id, ElementKind::kLamp, part.name, "1", "2", volt * volt / watt);
    e.volt = volt;
    e.watt = watt;
    add(std::move(e));
  }

  void add_potentiometer(PartId id, const Part& part) {
    const double ohm = part_value(part, "ohm");
    const double at = part_value(part, "at");
    const double spread = part_value(part, "at_tolerance");
    const NodeId under_wiper = new_node(part.name + " under the wiper");
    const auto resistor = [&](const char* name, NodeId from, NodeId to, double value, double tolerance) {
      Element e = make(ElementKind::kResistor, part.name + name, from, to, value, tolerance,
                       item_of(Item::Kind::kPart, id.index()));
      e.part = id;
      add(std::move(e));
    };
    const auto track = [&](const char* name, NodeId from, NodeId to, double share) {
      resistor(
          name, from, to, std::max(kLeastTrackOhm, ohm * share),
          std::min(0.9, std::hypot(part_value(part, "tolerance_percent") / 100.0, spread / std::max(share, 0.01))));
    };
    track(":1-2", part_node(id, "1"), under_wiper, at);
    track(":2-3", under_wiper, part_node(id, "3"), 1.0 - at);
    resistor(":wiper", under_wiper, part_node(id, "2"), kWiperOhm, 0.0);
  }

  void add_three_wire(PartId id, const Part& part) {
    const double draw = part_value(part, "draw_a");
    if (draw > 0.0) add(part_element(id, ElementKind::kResistor, part.name + " supply", "+", "-", 5.0 / draw));
    Element e = part_element(id, ElementKind::kRatio, part.name, "S", "-", part_value(part, "ohm"));
    e.c = part_node(id, "+");
    e.d = part_node(id, "-");
    e.volt = part_value(part, "alive_above_v");
    e.share = curve_value(part.curve, part_value(part, "at"));
    const double spread = part_value(part, "at_tolerance");
    const double swing = std::abs(curve_value(part.curve, part_value(part, "at") + spread) -
                                  curve_value(part.curve, part_value(part, "at") - spread)) /
                         2.0;
    e.tolerance =
        std::min(0.9, std::hypot(part_value(part, "tolerance_percent") / 100.0, swing) / std::max(e.share, 0.05));
    add(std::move(e));
  }

  void add_source(PartId id, const Part& part) {
    const double volt = part_value(part, "volt");
    if (part.kind == PartKind::kBattery) {
      Element e = part_element(id, ElementKind::kSource, part.name, "+", "-", part_value(part, "ohm"));
      e.volt = volt;
      add(std::move(e));
      return;
    }
    // Feeds only: a diode from "-" to "+" whose knee is minus the regulated volts.
    Element e = part_element(id, ElementKind::kDiode, part.name, "-", "+", part_value(part, "ohm"));
    e.volt = -volt;
    e.on_with = part.runs_with;
    add(std::move(e));
  }

  static double sensor_tolerance(const Part& part) {
    const double own = part_value(part, "tolerance_percent") / 100.0;
    const double spread = part_value(part, "at_tolerance");
    if (spread <= 0.0) return own;
    Part warm = part;
    Part cold = part;
    const std::size_t at = field_index(part.kind, "at");
    warm.values[at] += spread;
    cold.values[at] -= spread;
    const double swing = std::abs(sensor_ohm(warm) - sensor_ohm(cold)) / 2.0;
    return std::min(0.9, std::hypot(own, swing / std::max(sensor_ohm(part), 1.0e-3)));
  }

  // ---- modules ------------------------------------------------------------------------------------------------------

  Element module_element(ModuleId id, ElementKind kind, std::string name, NodeId a, NodeId b, double ohm,
                         double tolerance) {
    Element e = make(kind, std::move(name), a, b, ohm, tolerance, item_of(Item::Kind::kModule, id.index()));
    e.module = id;
    return e;
  }

  void add_module(ModuleId id) {
    const Module& module = loom_.modules[id.index()];
    ModuleWiring& wiring = net_.modules[id.index()];
    wiring.supply = new_node(module.name + " internal supply");
    wiring.ground = new_node(module.name + " internal ground");
    wiring.alive_above_v = module.alive_above_v > 0.0 ? module.alive_above_v : 0.625 * loom_.system_volts;
    rails_.clear();
    double draw_a = 0.0;
    for (const ModulePin& pin : module.pins) {
      wiring.pin_node.push_back(cavity_node(pin.connector, pin.cavity, 1));
      wiring.pin_element.emplace_back();
    }
    for (std::size_t i = 0; i < module.pins.size(); ++i) {
      draw_a += module.pins[i].draw_a;
      add_pin(id, i);
    }
    if (draw_a > 0.0)
      add(module_element(id, ElementKind::kResistor, module.name + " own draw", wiring.supply, wiring.ground,
                         loom_.system_volts / draw_a, 0.3));
    add_undrawn(id, module);
    add_seats(id, module);
    for (const ModuleInside& inside : module.inside)
      add(module_element(id, ElementKind::kResistor,
                         module.name + (inside.kind == PartKind::kTerminator ? " terminator" : " resistor"),
                         wiring.pin_node.at(inside.pin_a), wiring.pin_node.at(inside.pin_b), inside.ohm,
                         inside.tolerance_percent / 100.0));
  }

  void add_undrawn(ModuleId id, const Module& module) {
    ModuleWiring& wiring = net_.modules[id.index()];
    if (!wiring.ground_drawn)
      add(module_element(id, ElementKind::kResistor, module.name + " ground (not drawn)", wiring.ground,
                         net_.frame_nodes.at(module.frame.is_none() ? 0 : module.frame.index()), kInsideOhm, 0.0));
    if (wiring.supply_drawn) return;
    Element e = module_element(id, ElementKind::kSource, module.name + " supply (not drawn)", wiring.supply,
                               wiring.ground, kUndrawnSupplyOhm, 0.05);
    e.volt = loom_.system_volts;
    e.on_with = module.powered_with;
    add(std::move(e));
  }

  NodeId rail(ModuleId id, double volt) {
    const auto found = rails_.find(volt);
    if (found != rails_.end()) return found->second;
    const Module& module = loom_.modules[id.index()];
    const NodeId node = new_node(module.name + " internal rail " + std::to_string(volt).substr(0, 4) + " V");
    Element e = module_element(id, ElementKind::kRail, module.name + " rail", node, net_.modules[id.index()].ground,
                               kInsideOhm, 0.01);
    e.volt = volt;
    e.off_ohm = loom_.defaults.off_ohm;
    add(std::move(e));
    rails_[volt] = node;
    return node;
  }

  void add_pin(ModuleId id, std::size_t index) {
    const ModulePin& pin = loom_.modules[id.index()].pins[index];
    ModuleWiring& wiring = net_.modules[id.index()];
    const NodeId node = wiring.pin_node[index];
    const std::string name = loom_.connectors.at(pin.connector.index()).name + ":" + pin.cavity;
    const Defaults& d = loom_.defaults;
    const auto resistor = [&](const char* what, NodeId a, NodeId b, double ohm, double tolerance) {
      add(module_element(id, ElementKind::kResistor, name + " " + what, a, b, ohm, tolerance));
    };
    switch (pin.role) {
      case PinRole::kSupply:
        wiring.supply_drawn = true;
        return resistor("supply", node, wiring.supply, kInsideOhm, 0.0);
      case PinRole::kGround:
        wiring.ground_drawn = true;
        return resistor("ground", node, wiring.ground, kInsideOhm, 0.0);
      case PinRole::kInput:
        if (pin.pull_up_ohm > 0.0) resistor("pull-up", rail(id, pin.pull_up_v), node, pin.pull_up_ohm, 0.02);
        if (pin.pull_down_ohm > 0.0) resistor("pull-down", node, wiring.ground, pin.pull_down_ohm, 0.02);
        return resistor("input", node, wiring.ground, pin.input_ohm > 0.0 ? pin.input_ohm : d.input_ohm, 0.2);
      case PinRole::kReturn:
        return resistor("return", node, wiring.ground, pin.ohm > 0.0 ? pin.ohm : d.return_ohm, 0.5);
      case PinRole::kReference:
        return resistor("reference", rail(id, pin.volt), node, pin.ohm > 0.0 ? pin.ohm : d.reference_ohm, 0.5);
      case PinRole::kHighSide:
      case PinRole::kLowSide:
        return add_driver(id, index, name);
      case PinRole::kCanHigh:
      case PinRole::kCanLow:
      case PinRole::kBusWire:
        return add_bus_pin(id, index, name);
      case PinRole::kUnknown:
        return;
    }
  }

  // ---- buses (docs/formats/buses.md, "Circuit") --------------------------------------------------------------------

  [[nodiscard]] const BusKindRecord& kind_of(BusId bus) const {
    return bus_kind(bus.is_none() ? BusKind::kCan : loom_.buses.at(bus.index()).kind);
  }

  // Modules with a pin of this role on the bus.
  [[nodiscard]] std::size_t count_seats(BusId bus, PinRole role) const {
    const auto sits = [&](const Module& m) {
      return std::any_of(m.pins.begin(), m.pins.end(),
                         [&](const ModulePin& p) { return p.role == role && p.bus == bus; });
    };
    return static_cast<std::size_t>(std::count_if(loom_.modules.begin(), loom_.modules.end(), sits));
  }

  [[nodiscard]] double rest_ohm(const ModulePin& pin, const BusLine& line) const {
    if (pin.input_ohm > 0.0) return pin.input_ohm;
    switch (kind_of(pin.bus).kind) {
      case BusKind::kCan:
        return loom_.defaults.can_input_ohm;
      case BusKind::kCanFaultTolerant:  // all together about 100 ohm a line
        return std::clamp(100.0 * static_cast<double>(count_seats(pin.bus, pin.role)), 500.0, 16000.0);
      case BusKind::kLin:
        return pin.commander ? kCommanderOhm : line.rest_ohm;
      default:
        return line.rest_ohm;
    }
  }

  void add_bus_pin(ModuleId id, std::size_t index, const std::string& name) {
    const ModulePin& pin = loom_.modules[id.index()].pins[index];
    ModuleWiring& wiring = net_.modules[id.index()];
    const NodeId node = wiring.pin_node[index];
    const BusKindRecord& kind = kind_of(pin.bus);
    const BusLine& line = pin.role == PinRole::kCanLow ? kind.low : kind.high;
    const double rest_v = bus_volts(kind, line.rest_v, loom_.system_volts);
    const bool lin = kind.kind == BusKind::kLin;
    NodeId from;
    if (lin) {
      from = new_node(name + " pull-up");
      Element diode =
          module_element(id, ElementKind::kDiode, name + " pull-up diode", wiring.supply, from, kLinDiodeOhm, 0.1);
      diode.volt = kLinDiodeV;
      add(std::move(diode));
    } else {
      from = rail(id, rest_v);
    }
    const double tolerance = kind.kind == BusKind::kCan || lin ? 0.5 : 0.1;
    wiring.pin_element[index] =
        add(module_element(id, ElementKind::kResistor, name + " receiver", from, node, rest_ohm(pin, line), tolerance));
    if (pin.unpowered_ohm <= 0.0) return;
    Element load =
        module_element(id, ElementKind::kRail, name + " unpowered load", node, wiring.ground, kBlockedOhm, 0.0);
    load.volt = rest_v;
    load.off_ohm = pin.unpowered_ohm;
    add(std::move(load));
  }

  // A seat for each bus of which the module has all lines; of several pins of one role the last counts.
  void add_seats(ModuleId id, const Module& module) {
    for (std::size_t b = 0; b < loom_.buses.size(); ++b) {
      const BusKindRecord& kind = kind_of(BusId(b));
      std::size_t high = module.pins.size();
      std::size_t low = module.pins.size();
      for (std::size_t i = 0; i < module.pins.size(); ++i) {
        if (module.pins[i].bus != BusId(b)) continue;
        if (module.pins[i].role == (kind.two_wires ? PinRole::kCanHigh : PinRole::kBusWire)) high = i;
        if (kind.two_wires && module.pins[i].role == PinRole::kCanLow) low = i;
      }
      if (high == module.pins.size() || (kind.two_wires && low == module.pins.size())) continue;
      const ModuleWiring& wiring = net_.modules[id.index()];
      Transceiver seat;
      seat.module = id;
      seat.bus = BusId(b);
      seat.high = wiring.pin_node[high];
      seat.bias_high = wiring.pin_element[high];
      if (kind.kind == BusKind::kLin) seat.pull_up_diode = ElementId(seat.bias_high.index() - 1);  // made just before
      seat.drive_high = rail(id, bus_volts(kind, kind.high.drive_v, loom_.system_volts));
      if (kind.two_wires) {
        seat.low = wiring.pin_node[low];
        seat.bias_low = wiring.pin_element[low];
        seat.drive_low = rail(id, bus_volts(kind, kind.low.drive_v, loom_.system_volts));
      }
      net_.modules[id.index()].seats.push_back(net_.transceivers.size());
      net_.transceivers.push_back(seat);
    }
  }

  void add_driver(ModuleId id, std::size_t index, const std::string& name) {
    const Module& module = loom_.modules[id.index()];
    const ModulePin& pin = module.pins[index];
    ModuleWiring& wiring = net_.modules[id.index()];
    const bool high = pin.role == PinRole::kHighSide;
    Element e = module_element(id, ElementKind::kDriver, name, high ? wiring.supply : wiring.pin_node[index],
                               high ? wiring.pin_node[index] : wiring.ground,
                               pin.ohm > 0.0 ? pin.ohm : loom_.defaults.driver_ohm, 0.5);
    e.limit_a = pin.limit_a;
    e.on_with = pin.on_with;
    e.always_commanded = false;
    if (!pin.follows.empty()) {
      for (std::size_t other = 0; other < module.pins.size(); ++other) {
        const ModulePin& p = module.pins[other];
        if ((p.plug.empty() ? p.cavity : p.plug + ":" + p.cavity) == pin.follows) e.c = wiring.pin_node[other];
      }
      HS_CHECK(!e.c.is_none(), "driver follows a pin that does not exist: " + pin.follows);
      e.d = wiring.ground;
      e.follows_v = pin.follows_v > 0.0 ? pin.follows_v : loom_.system_volts / 2.0;
      e.follows_below = pin.follows_below;
    }
    wiring.pin_element[index] = add(std::move(e));
  }

  void choose_reference() {
    PartId battery = loom_.supply;
    for (std::size_t i = 0; i < loom_.parts.size() && battery.is_none(); ++i)
      if (loom_.parts[i].kind == PartKind::kBattery) battery = PartId(i);
    if (!battery.is_none()) {
      net_.supply = part_node(battery, "+");
      net_.reference = part_node(battery, "-");
      return;
    }
    HS_CHECK(!net_.frame_nodes.empty(), "a loom has at least one frame");
    net_.reference = net_.frame_nodes.front();
  }

  // A test lamp draws amperes: never on a pin of a module that is not a supply, a ground or a driver, nor on what leads
  // to one without a load between. Here: the plug of the pin itself and everything joined to it by wires and contacts,
  // up to what is bolted or wired to a frame without a plug between: a pin strapped to ground takes nothing from a
  // lamp.
  void mark_module_pins() {
    std::vector<char> grounded(net_.node_count(), 0);
    for (const NodeId frame : net_.frame_nodes) grounded[frame.index()] = 1;
    spread(grounded, [](const Element& e) { return e.kind == ElementKind::kWire || e.kind == ElementKind::kJoint; });
    std::vector<char> signal(net_.node_count(), 0);
    for (std::size_t m = 0; m < loom_.modules.size(); ++m)
      for (std::size_t i = 0; i < loom_.modules[m].pins.size(); ++i) {
        const PinRole role = loom_.modules[m].pins[i].role;
        const bool sturdy = role == PinRole::kSupply || role == PinRole::kGround || role == PinRole::kHighSide ||
                            role == PinRole::kLowSide;
        if (!sturdy) signal[net_.modules[m].pin_node[i].index()] = 1;
      }
    spread(signal, [&](const Element& e) {
      return is_metal(e.kind) && grounded[e.a.index()] == 0 && grounded[e.b.index()] == 0;
    });
    for (Point& point : net_.points) point.module_pin = signal[point.node.index()] != 0;
  }

  template <class Over>
  void spread(std::vector<char>& mark, const Over& over) const {
    for (bool more = true; more;) {
      more = false;
      for (const Element& e : net_.elements) {
        if (mark[e.a.index()] == mark[e.b.index()] || !over(e)) continue;
        mark[e.a.index()] = mark[e.b.index()] = 1;
        more = true;
      }
    }
  }

  const Loom& loom_;
  Netlist net_;
  std::vector<NodeId> stud_nodes_, splice_nodes_;
  std::vector<std::vector<std::string>> cavities_;
  std::map<std::pair<std::uint32_t, std::string>, std::pair<NodeId, NodeId>> cavity_nodes_;
  std::map<std::pair<std::uint32_t, std::string>, NodeId> terminal_nodes_;
  std::map<double, NodeId> rails_;
};

}  // namespace

Netlist build_netlist(const Loom& loom) { return Builder(loom).build(); }

}  // namespace halfsplit::circuit
