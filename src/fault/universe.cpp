// SPDX-License-Identifier: Apache-2.0
// Every single fault of a loom, in the order of its elements, then neighbours in plugs and bundles. An element of a
// kind meets the records of rates.h; an item's `rate` and its place's stress scale them.
#include <algorithm>
#include <map>
#include <numeric>
#include <set>

#include "base/check.h"
#include "circuit/part_kinds.h"
#include "fault/fault.h"
#include "fault/rates.h"

namespace halfsplit::fault {

namespace {

using circuit::Connector;
using circuit::ConnectorId;
using circuit::Element;
using circuit::ElementId;
using circuit::ElementKind;
using circuit::Item;
using circuit::Loom;
using circuit::Netlist;
using circuit::NodeId;
using circuit::Part;
using circuit::PlaceId;

// Nodes joined by metal alone: wires, contacts, joints.
class Nets {
 public:
  explicit Nets(const Netlist& netlist) : parent_(netlist.node_count()) {
    std::iota(parent_.begin(), parent_.end(), std::size_t{0});
    for (const Element& e : netlist.elements)
      if (e.kind == ElementKind::kWire || e.kind == ElementKind::kContact || e.kind == ElementKind::kJoint)
        parent_[find(e.a.index())] = find(e.b.index());
  }
  std::size_t find(std::size_t node) {
    while (parent_[node] != node) node = parent_[node] = parent_[parent_[node]];
    return node;
  }
  bool same(NodeId a, NodeId b) { return find(a.index()) == find(b.index()); }

 private:
  std::vector<std::size_t> parent_;
};

class Maker {
 public:
  Maker(const Loom& loom, const Netlist& netlist) : loom_(loom), net_(netlist), nets_(netlist) {}

  Universe make() {
    for (std::size_t i = 0; i < net_.elements.size(); ++i) add_element(ElementId(i), net_.elements[i]);
    for (std::size_t i = 0; i < loom_.connectors.size(); ++i) add_neighbours(ConnectorId(i));
    add_bundles();
    for (std::size_t i = 0; i < loom_.modules.size(); ++i) add_module(circuit::ModuleId(i));
    return std::move(universe_);
  }

 private:
  // ---- one fault
  // ------------------------------------------------------------------------------------------------------

  struct Site {
    std::string name;         // "J4:12"
    std::string description;  // "J4 cavity 12"
    Item item;
    PlaceId place;
    double rate = 1.0;
    std::string_view word;  // row of the tables
    RepairId repair;
  };

  Fault start(const Site& site, FaultKind kind, const std::string& suffix, const std::string& what) {
    const RateRecord& record = rate_of(site.word, kind);
    Fault fault;
    fault.name = site.name + " " + suffix;
    fault.description = site.description + ": " + what;
    fault.kind = kind;
    fault.item = site.item;
    fault.place = site.place;
    fault.repair = site.repair;
    const std::vector<circuit::Stress> none;
    fault.rate_per_year = record.per_year * site.rate *
                          stress_factor(kind, site.place.is_none() ? none : loom_.places[site.place.index()].stress);
    fault.low = record.low;
    fault.high = record.high;
    fault.logarithmic = record.logarithmic;
    fault.unit = record.unit;
    return fault;
  }

  void put(Fault fault) { universe_.faults.push_back(std::move(fault)); }

  void put(const Site& site, FaultKind kind, ElementId element, const std::string& suffix, const std::string& what) {
    Fault fault = start(site, kind, suffix, what);
    fault.element = element;
    put(std::move(fault));
  }

  void put_branch(const Site& site, FaultKind kind, NodeId a, NodeId b, const std::string& suffix,
                  const std::string& what, double share = 1.0) {
    Fault fault = start(site, kind, suffix, what);
    fault.a = a;
    fault.b = b;
    fault.rate_per_year *= share;
    put(std::move(fault));
  }

  RepairId repair(std::string_view word, const std::string& name, PlaceId place, const Item& item,
                  std::optional<double> minutes, std::optional<double> money, const std::string& part = "",
                  ConnectorId unplugs = {}) {
    const RepairRecord& record = repair_of(word);
    const std::string full = std::string(record.verb) + " " + name;
    const auto [at, fresh] = repairs_.try_emplace(full, RepairId(universe_.repairs.size()));
    if (fresh)
      universe_.repairs.push_back(
          {full, minutes.value_or(record.minutes), money.value_or(record.part_money), part, place, unplugs, item});
    return at->second;
  }

  // ---- by element
  // -----------------------------------------------------------------------------------------------------

  void add_element(ElementId id, const Element& e) {
    switch (e.item.kind) {
      case Item::Kind::kConnector:
        return add_contact(id, e);
      case Item::Kind::kSplice:
        return add_splice_joint(id, e);
      case Item::Kind::kStud:
        return add_stud_joint(id, e);
      case Item::Kind::kWire:
        return add_wire(id, e);
      case Item::Kind::kPart:
        return e.kind == ElementKind::kJoint ? add_clamp(id, e) : add_part(id, e);
      case Item::Kind::kModule:
        return add_inside(id, e);
      case Item::Kind::kNone:
        return;
    }
  }

  Site contact_site(ConnectorId id, const std::string& cavity) {
    const Connector& c = loom_.connectors[id.index()];
    Site site{c.name + ":" + cavity,
              c.name + " cavity " + cavity,
              Item{Item::Kind::kConnector, id.value, cavity},
              c.place[0],
              c.rate,
              "contact",
              {}};
    site.repair = repair("contact", site.name, site.place, site.item, c.repair_minutes, c.part_money, "terminal", id);
    return site;
  }

  void add_contact(ElementId id, const Element& e) {
    const Site site = contact_site(ConnectorId(e.item.index), e.item.cavity);
    put(site, FaultKind::kOpen, id, "open", "contact spread or backed out (open)");
    put(site, FaultKind::kHighResistance, id, "high", "contact corroded or loose (resistance)");
    put(site, FaultKind::kIntermittent, id, "comes and goes", "contact that comes and goes");
  }

  void add_joint_faults(const Site& site, ElementId id) {
    put(site, FaultKind::kOpen, id, "open", "loose or broken (open)");
    put(site, FaultKind::kHighResistance, id, "high", "corroded (resistance)");
    put(site, FaultKind::kIntermittent, id, "comes and goes", "joint that comes and goes");
  }

  void add_splice_joint(ElementId id, const Element& e) {
    const circuit::Splice& splice = loom_.splices[e.item.index];
    Site site{e.name, "splice " + e.name, e.item, splice.place, splice.rate, "splice", {}};
    site.repair = repair("splice", splice.name, splice.place, e.item, splice.repair_minutes, std::nullopt, "splice");
    add_joint_faults(site, id);
  }

  void add_stud_joint(ElementId id, const Element& e) {
    const circuit::Stud& stud = loom_.studs[e.item.index];
    const bool whole = e.name == stud.name;
    Site site{e.name,    (whole ? "ground stud " : "lug at ground stud ") + e.name,
              e.item,    stud.place,
              stud.rate, whole ? "stud" : "lug",
              {}};
    site.repair = repair("stud", stud.name, stud.place, e.item, stud.repair_minutes, std::nullopt, "");
    add_joint_faults(site, id);
  }

  void add_clamp(ElementId id, const Element& e) {
    const Part& part = loom_.parts[e.item.index];
    Site site{e.name, "clamp or lug " + e.name, e.item, part.place, part.rate, "lug", {}};
    site.repair = repair("lug", e.name, part.place, e.item, std::nullopt, std::nullopt, "");
    add_joint_faults(site, id);
  }

  PlaceId end_place(const circuit::EndPoint& end) const {
    using Kind = circuit::EndPoint::Kind;
    switch (end.kind) {
      case Kind::kCavity:
        return loom_.connectors[end.connector.index()].place[end.side];
      case Kind::kSplice:
        return loom_.splices[end.splice.index()].place;
      case Kind::kStud:
        return loom_.studs[end.stud.index()].place;
      case Kind::kTerminal:
        return loom_.parts[end.part.index()].place;
      case Kind::kFrame:
        return loom_.frames[end.frame.index()].place;
    }
    return {};
  }

  void add_wire(ElementId id, const Element& e) {
    const circuit::Wire& wire = loom_.wires[e.item.index];
    const PlaceId place = !wire.place.is_none() ? wire.place : end_place(wire.from);
    Site site{wire.name, "wire " + wire.name, e.item, place, wire.rate, "wire", {}};
    site.repair = repair("wire", wire.name, place, e.item, wire.repair_minutes, wire.part_money, "wire");
    put(site, FaultKind::kOpen, id, "open", "broken (open)");
    put(site, FaultKind::kHighResistance, id, "high", "strands broken or corroded (resistance)");
    put(site, FaultKind::kIntermittent, id, "comes and goes", "break that comes and goes");
    const NodeId frame = net_.frame_nodes.front();
    bool ground = nets_.same(e.a, net_.reference);
    for (const NodeId node : net_.frame_nodes) ground = ground || nets_.same(e.a, node);
    if (!ground) put_branch(site, FaultKind::kToGround, e.a, frame, "to ground", "chafed to ground");
    if (!net_.supply.is_none() && !nets_.same(e.a, net_.supply))
      put_branch(site, FaultKind::kToSupply, e.a, net_.supply, "to supply", "chafed to a live wire");
  }

  Site part_site(const Element& e) {
    const Part& part = loom_.parts[e.item.index];
    const std::string_view word = part_item_word(part);
    const std::string kind(circuit::part_kind(part.kind).word);
    Site site{part.name, kind + " " + part.name, e.item, part.place, part.rate, word, {}};
    const std::string name = word == "load" ? kind + " " + part.name : part.name;
    site.repair =
        repair(word, name, part.place, e.item, part.repair_minutes, part.part_money,
               kind + " " + part.name + (part.part_number.empty() ? "" : " (" + part.part_number + ")"), part.plug);
    return site;
  }

  void add_part(ElementId id, const Element& e) {
    const Site site = part_site(e);
    switch (loom_.parts[e.item.index].kind) {
      case circuit::PartKind::kFuse:
        return put(site, FaultKind::kBlown, id, "blown", "open without an overload (age, surge)");
      case circuit::PartKind::kSwitch:
        put(site, FaultKind::kStuckOpen, id, "stuck open", "never closes");
        put(site, FaultKind::kStuckClosed, id, "stuck closed", "never opens");
        return put(site, FaultKind::kBurnt, id, "burnt", "contact burnt (resistance)");
      case circuit::PartKind::kRelay:
        return add_relay(site, id, e);
      case circuit::PartKind::kDiode:
        put(site, FaultKind::kOpen, id, "open", "open");
        return put_branch(site, FaultKind::kShorted, e.a, e.b, "shorted", "shorted");
      case circuit::PartKind::kLamp:
        put(site, FaultKind::kOpen, id, "open", "filament or unit open");
        return put_branch(site, FaultKind::kShorted, e.a, e.b, "shorted", "shorted");
      case circuit::PartKind::kMotor:
      case circuit::PartKind::kSolenoid:
      case circuit::PartKind::kHeater:
        put(site, FaultKind::kOpen, id, "open", "winding or element open");
        put_branch(site, FaultKind::kShorted, e.a, e.b, "shorted", "shorted");
        return put(site, FaultKind::kWrongValue, id, "wrong value", "winding or element off its resistance");
      case circuit::PartKind::kResistor:
        put(site, FaultKind::kOpen, id, "open", "open");
        return put(site, FaultKind::kWrongValue, id, "wrong value", "off its value");
      case circuit::PartKind::kTerminator:
        return add_terminator(site, id, e);
      case circuit::PartKind::kPotentiometer:
      case circuit::PartKind::kNtc:
      case circuit::PartKind::kPtc:
      case circuit::PartKind::kSender:
        return add_sensor(site, id, e);
      case circuit::PartKind::kThreeWireSensor:
        if (e.kind != ElementKind::kRatio) return;
        put(site, FaultKind::kOpen, id, "dead", "output open");
        return put(site, FaultKind::kStuck, id, "stuck", "output stuck or drifted");
      case circuit::PartKind::kBattery:
        put(site, FaultKind::kFlat, id, "flat", "discharged");
        return put(site, FaultKind::kWeak, id, "weak", "high internal resistance");
      case circuit::PartKind::kAlternator:
        return put(site, FaultKind::kNoCharge, id, "no charge", "gives no current");
    }
  }

  void add_relay(const Site& site, ElementId id, const Element& e) {
    if (e.kind == ElementKind::kRelayCoil) return put(site, FaultKind::kCoilOpen, id, "coil open", "coil open");
    if (e.normally_closed) return;
    put(site, FaultKind::kStuckOpen, id, "stuck open", "contact never closes");
    put(site, FaultKind::kStuckClosed, id, "stuck closed", "contact welded");
    put(site, FaultKind::kBurnt, id, "burnt", "contact burnt (resistance)");
  }

  void add_terminator(const Site& site, ElementId id, const Element& e) {
    put(site, FaultKind::kMissing, id, "missing", "terminator missing or open");
    put(site, FaultKind::kWrongValue, id, "wrong value", "terminator off its value");
    add_doubled(site, e);
  }

  // Once for each pair of lines, at its first terminator.
  void add_doubled(const Site& site, const Element& e) {
    const std::size_t one = nets_.find(e.a.index());
    const std::size_t other = nets_.find(e.b.index());
    if (!doubled_.insert({std::min(one, other), std::max(one, other)}).second) return;
    Fault fault = start(site, FaultKind::kDoubled, "doubled", "one terminator too many on this bus");
    fault.a = e.a;
    fault.b = e.b;
    fault.low = fault.high = e.ohm;
    put(std::move(fault));
  }

  void add_sensor(const Site& site, ElementId id, const Element& e) {
    const bool second = e.name.ends_with(":2-3");
    const std::string where = second ? "2-3 " : e.name.ends_with(":1-2") ? "1-2 " : "";
    put(site, FaultKind::kOpen, id, where + "open", where + "open inside");
    put_branch(site, FaultKind::kShorted, e.a, e.b, where + "shorted", where + "shorted inside");
    if (!second) put(site, FaultKind::kWrongValue, id, where + "wrong value", where + "off its curve");
  }

  // ---- modules
  // --------------------------------------------------------------------------------------------------------

  Site module_site(circuit::ModuleId id) {
    const circuit::Module& module = loom_.modules[id.index()];
    Site site{module.name,
              "module " + module.name,
              Item{Item::Kind::kModule, id.value, ""},
              module.place,
              module.rate,
              "module",
              {}};
    site.repair = repair("module", module.name, module.place, site.item, module.repair_minutes, module.part_money,
                         "module " + module.name + (module.part_number.empty() ? "" : " (" + module.part_number + ")"));
    return site;
  }

  // Terminators, references and drivers inside a module.
  void add_inside(ElementId id, const Element& e) {
    const Site site = module_site(e.module);
    Site inner = site;
    inner.name = e.name;
    inner.description = "module " + loom_.modules[e.module.index()].name + ", inside, " + e.name;
    if (e.kind == ElementKind::kDriver) {
      put(inner, FaultKind::kOutputDead, id, "output dead", "output never on");
      put(inner, FaultKind::kOutputStuckOn, id, "output stuck on", "output never off");
    } else if (e.name.ends_with(" terminator")) {
      inner.word = "terminator";
      put(inner, FaultKind::kMissing, id, "missing", "terminator inside open");
      add_doubled(inner, e);
    } else if (e.name.ends_with(" reference") || e.name.ends_with(" return")) {
      put(inner, FaultKind::kOpen, id, "open inside", "open inside the module");
    } else if (e.name.ends_with(" input")) {
      put_branch(inner, FaultKind::kInputDamaged, e.a, e.b, "damaged", "input leaks inside the module");
    }
  }

  void add_module(circuit::ModuleId id) {
    Fault fault = start(module_site(id), FaultKind::kDead, "dead", "does nothing, though powered");
    fault.module = id;
    put(std::move(fault));
  }

  // ---- neighbours
  // -----------------------------------------------------------------------------------------------------

  void add_neighbours(ConnectorId id) {
    const Connector& connector = loom_.connectors[id.index()];
    if (!connector.part.is_none()) return;  // its shorts are the part's own
    std::map<std::string, ElementId> contacts;
    for (std::size_t i = 0; i < net_.elements.size(); ++i) {
      const Element& e = net_.elements[i];
      if (e.kind == ElementKind::kContact && e.connector == id) contacts[e.item.cavity] = ElementId(i);
    }
    for (std::size_t r = 0; r < connector.rows.size(); ++r)
      for (std::size_t c = 0; c < connector.rows[r].size(); ++c) {
        if (c + 1 < connector.rows[r].size()) join(id, contacts, connector.rows[r][c], connector.rows[r][c + 1]);
        if (r + 1 < connector.rows.size() && c < connector.rows[r + 1].size())
          join(id, contacts, connector.rows[r][c], connector.rows[r + 1][c]);
      }
  }

  void join(ConnectorId id, const std::map<std::string, ElementId>& contacts, const std::string& one,
            const std::string& two) {
    const auto first = contacts.find(one);
    const auto second = contacts.find(two);
    if (first == contacts.end() || second == contacts.end()) return;
    const Element& e = net_.elements[first->second.index()];
    const Element& f = net_.elements[second->second.index()];
    if (nets_.same(e.a, f.a) || nets_.same(e.b, f.b)) return;
    const Connector& connector = loom_.connectors[id.index()];
    Site site = contact_site(id, one);
    site.name = connector.name + ":" + one + "+" + two;
    site.description = connector.name + " cavities " + one + " and " + two;
    Fault swapped = start(site, FaultKind::kSwapped, "swapped", "pins exchanged");
    swapped.element = first->second;
    swapped.other = second->second;
    put(std::move(swapped));
    put_branch(site, FaultKind::kTouches, e.a, f.a, "touch", "joined (bent pin, strand, swarf)");
    site.repair = repair("plug", connector.name, connector.place[0], Item{Item::Kind::kConnector, id.value, ""},
                         std::nullopt, std::nullopt, "seal", id);
    put_branch(site, FaultKind::kWater, e.a, f.a, "water", "leakage between them (water, corrosion)");
  }

  void add_bundles() {
    std::map<std::string, std::vector<std::size_t>> bundles;
    for (std::size_t i = 0; i < loom_.wires.size(); ++i)
      if (!loom_.wires[i].bundle.empty()) bundles[loom_.wires[i].bundle].push_back(i);
    for (const auto& [name, wires] : bundles)
      for (std::size_t i = 0; i < wires.size(); ++i)
        for (std::size_t j = i + 1; j < wires.size(); ++j)
          chafe(wires[i], wires[j], 2.0 / static_cast<double>(wires.size()));
  }

  void chafe(std::size_t one, std::size_t two, double share) {
    const Element& e = net_.elements[net_.wire_elements[one].index()];
    const Element& f = net_.elements[net_.wire_elements[two].index()];
    if (nets_.same(e.a, f.a)) return;
    const circuit::Wire& wire = loom_.wires[one];
    const PlaceId place = !wire.place.is_none() ? wire.place : end_place(wire.from);
    Site site{wire.name + "+" + loom_.wires[two].name,
              "wires " + wire.name + " and " + loom_.wires[two].name,
              e.item,
              place,
              wire.rate,
              "wire",
              {}};
    site.repair = repair("wire", wire.name, place, e.item, wire.repair_minutes, wire.part_money, "wire");
    put_branch(site, FaultKind::kTouches, e.a, f.a, "touch", "chafed into each other", share);
  }

  const Loom& loom_;
  const Netlist& net_;
  Nets nets_;
  Universe universe_;
  std::map<std::string, RepairId> repairs_;
  std::set<std::pair<std::size_t, std::size_t>> doubled_;  // pairs of lines that have theirs
};

}  // namespace

Universe make_universe(const Loom& loom, const Netlist& netlist) { return Maker(loom, netlist).make(); }

FaultId Universe::find(std::string_view name) const {
  for (std::size_t i = 0; i < faults.size(); ++i)
    if (faults[i].name == name) return FaultId(i);
  return {};
}

}  // namespace halfsplit::fault
