// SPDX-License-Identifier: Apache-2.0
// Relevance goes by metal: a fault's element, and all that wires and contacts join to its ends. Points on that metal
// are read against grounds and supply, across joints and wires, and within a plug; each plug on it is also taken apart
// and both its sides read, live and dead.
#include "candidates/generate.h"
#include "candidates/bus_tests.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "circuit/metal_ways.h"
#include "circuit/part_kinds.h"
#include "fault/at_point.h"

namespace halfsplit::candidates {

namespace {

using circuit::Configuration;
using circuit::ConnectorId;
using circuit::Element;
using circuit::ElementKind;
using circuit::NodeId;
using circuit::PointId;
using evidence::Kind;
using evidence::Observable;

constexpr double kRelevant = 0.002;  // faults less probable than this are not followed up
constexpr double kWorthBypass = 0.01;
constexpr double kWorthProvoking = 0.01;
constexpr double kWorthLookingAt = 0.02;
constexpr double kLongLeadMinutes = 1.0;
constexpr double kReleaseMinutes = 5.0;  // of a live test in a zone that has to be released first; ours
constexpr double kFollowMinutes = 0.4;   // for each metre of a run followed by eye; ours
constexpr std::size_t kMostWithinPlug = 8;
constexpr double kTerminatorOhm = 120.0;  // ISO 11898-2

class Generator {
 public:
  explicit Generator(const GenerateInput& input)
      : in_(input), net_(circuit::label_nets(input.netlist)), ways_(input.netlist) {
    for (std::size_t i = 0; i < in_.loom.setups.size(); ++i)
      electrical_.push_back(is_electrical(in_.loom, circuit::SetupId(i)) ? 1 : 0);
    find_grounds();
    find_relevant();
  }

  std::vector<Candidate> run() {
    const Configuration work = at_work(in_.loom);
    const Configuration now = electrical_part(in_.loom, in_.now);
    meters_live(work);
    if (now != work) meters_live(now);
    meters_dead({});
    for (const ConnectorId plug : plugs_) {
      Configuration apart = work;
      apart.unplugged.insert(plug);
      plug_live(apart, plug);
      Configuration dead;
      dead.unplugged.insert(plug);
      plug_dead(dead, plug);
    }
    end_to_end();
    symptoms(work);
    stand_ins(work);
    bypasses(work);
    swaps(work);
    wiggles(work);
    heat_and_cold(work);
    inspections();
    runs_followed();
    clamps(work);
    buses(work);
    for (const evidence::Observation& read : in_.again) offer(read.what);
    return std::move(found_);
  }

 private:
  // ---- what matters
  // -----------------------------------------------------------------------------------------------------

  [[nodiscard]] std::size_t metal(NodeId node) const { return net_[node.index()]; }

  void find_grounds() {
    for (const NodeId frame : in_.netlist.frame_nodes) grounds_.insert(metal(frame));
    grounds_.insert(metal(in_.netlist.reference));
  }

  void mark(NodeId node) {
    if (!node.is_none()) relevant_nodes_.insert(node);
  }

  void find_relevant() {
    for (std::size_t i = 0; i < in_.universe.faults.size(); ++i) {
      if (in_.fault_weight[i] < kRelevant) continue;
      const fault::Fault& f = in_.universe.faults[i];
      for (const circuit::ElementId id : {f.element, f.other}) {
        if (id.is_none()) continue;
        const Element& e = in_.netlist.elements[id.index()];
        mark(e.a);
        mark(e.b);
      }
      mark(f.a);
      mark(f.b);
      if (!f.module.is_none())
        for (const NodeId node : in_.netlist.modules[f.module.index()].pin_node) mark(node);
    }
    std::set<std::size_t> nets;
    for (const NodeId node : relevant_nodes_)
      if (!grounds_.contains(metal(node))) nets.insert(metal(node));
    std::set<ConnectorId> plugs;
    for (std::size_t i = 0; i < in_.netlist.points.size(); ++i) {
      const circuit::Point& p = in_.netlist.points[i];
      const bool on_net = nets.contains(metal(p.node));
      const bool on_ground = grounds_.contains(metal(p.node)) && relevant_nodes_.contains(p.node);
      if (!p.probe || (!on_net && !on_ground)) continue;
      points_.emplace_back(i);
      if (!p.connector.is_none() && in_.loom.connectors[p.connector.index()].pluggable && harmless(p.connector))
        plugs.insert(p.connector);
    }
    plugs_.assign(plugs.begin(), plugs.end());
    for (std::size_t i = 0; i < in_.netlist.points.size(); ++i) {
      const circuit::Point& p = in_.netlist.points[i];
      if (p.connector.is_none() && !p.part.is_none() &&
          (p.node == in_.netlist.reference || p.node == in_.netlist.supply))
        posts_.emplace_back(i);
    }
    for (const circuit::Frame& frame : in_.loom.frames) frames_.push_back(in_.netlist.point_by_name.at(frame.name));
  }

  // Airbag and high-voltage plugs are not taken apart, moved or swapped on this program's advice.
  bool harmless(ConnectorId id) const { return harmless(circuit::Item{circuit::Item::Kind::kConnector, id.value, ""}); }
  template <class Thing>  // a point, an item
  bool harmless(const Thing& thing) const {
    return !carries(in_.loom, thing, circuit::Hazard::kAirbag) &&
           !carries(in_.loom, thing, circuit::Hazard::kHighVoltage);
  }

  const circuit::Point& point(PointId id) const { return in_.netlist.points[id.index()]; }
  bool bare(PointId id) const { return !point(id).needs_unplugged; }

  // What must be made to get there may also move the circuit: the test is taken with it.
  void add_access(Observable& what) {
    for (const Act& act : make_candidate(in_.loom, in_.netlist, what).needs)
      if (act.kind == Act::Kind::kSetup && electrical_[act.setup.index()] != 0)
        what.configuration.made.insert(act.setup);
  }

  // ---- one test
  // ----------------------------------------------------------------------------------------------------------

  void offer(Observable what) {
    add_access(what);
    const auto again = std::find_if(in_.again.begin(), in_.again.end(),
                                    [&](const evidence::Observation& read) { return read.what == what; });
    const bool second = again != in_.again.end();
    if (!second && std::find(in_.already.begin(), in_.already.end(), what) != in_.already.end()) return;
    if (!seen_.insert(what).second || !why_not_proposed(in_, what).empty()) return;
    Candidate candidate = make_candidate(in_.loom, in_.netlist, what);
    if (candidate.long_lead && !in_.roll.long_lead) return;
    if (second) candidate.before = again->seen;
    if (needs_release(in_.loom, in_.netlist, candidate.what)) candidate.minutes += kReleaseMinutes;
    found_.push_back(std::move(candidate));
  }

  void offer(Kind kind, const Configuration& configuration, PointId red, PointId black) {
    if (red == black || point(red).node == point(black).node) return;
    Observable what;
    what.kind = kind;
    what.red = red;
    what.black = black;
    what.configuration = configuration;
    offer(std::move(what));
  }

  void offer_live(const Configuration& c, PointId red, PointId black) {
    if (in_.roll.meter) offer(Kind::kVolts, c, red, black);
  }

  // Ohms with the supply off: from nothing made; or, where that leaves volts, with one setup that takes them away.
  void offer_dead(const Configuration& base, PointId red, PointId black) {
    if (!in_.roll.meter || red == black) return;
    Configuration configuration = base;
    configuration.made.clear();
    if (!is_live(in_, configuration, red, black)) return offer(Kind::kOhms, configuration, red, black);
    for (std::size_t s = 0; s < in_.loom.setups.size(); ++s) {
      if (in_.loom.setups[s].sets.empty()) continue;
      configuration.made = {circuit::SetupId(s)};
      if (!is_live(in_, configuration, red, black)) return offer(Kind::kOhms, configuration, red, black);
    }
  }

  bool beside(PointId a, PointId b) const {
    return !point(a).connector.is_none() && point(a).connector == point(b).connector;
  }

  // ---- meters on a vehicle that is together
  // --------------------------------------------------------------------------------

  void meters_live(const Configuration& c) {
    for (const PointId p : points_) {
      if (!reachable(c, p)) continue;
      for (const PointId frame : frames_) offer_live(c, p, frame);
      for (const PointId post : posts_) offer_live(c, p, post);
      if (in_.roll.test_lamp)
        for (const PointId ground : {frames_.front()}) offer(Kind::kTestLamp, c, p, ground);
    }
    across([&](PointId a, PointId b) {
      if (reachable(c, a) && reachable(c, b)) offer_live(c, a, b);
    });
  }

  void meters_dead(const Configuration& c) {
    across([&](PointId a, PointId b) {
      if (reachable(c, a) && reachable(c, b)) offer_dead(c, a, b);
    });
    for (const PointId p : points_)
      if (reachable(c, p))
        for (const PointId frame : frames_) offer_dead(c, p, frame);
  }

  bool reachable(const Configuration& c, PointId p) const {
    return bare(p) || c.unplugged.contains(point(p).connector);
  }

  // Pairs that bracket something: the two sides of a joint, the ends of a wire or a part, cavities of one side of a
  // plug.
  template <class Use>
  void across(Use use) {
    for (std::size_t i = 0; i < points_.size(); ++i)
      for (std::size_t j = i + 1; j < points_.size(); ++j) {
        const circuit::Point& a = point(points_[i]);
        const circuit::Point& b = point(points_[j]);
        const bool joint = beside(points_[i], points_[j]) && a.cavity == b.cavity;
        const bool side = beside(points_[i], points_[j]) && a.side == b.side && small(a.connector);
        const bool part = !a.part.is_none() && a.part == b.part;
        const bool lugs = !a.lug.is_none() || !b.lug.is_none();
        if (joint || side || (part && !lugs) || wired(a.node, b.node)) use(points_[i], points_[j]);
      }
  }

  bool small(ConnectorId id) const {
    return static_cast<std::size_t>(std::count_if(points_.begin(), points_.end(), [&](PointId p) {
             return point(p).connector == id && point(p).side == 0;
           })) <= kMostWithinPlug;
  }

  // The two ends of one wire, with the lugs and crimps between or without; a post and a lug on it.
  bool wired(NodeId a, NodeId b) {
    if (wire_ends_.empty()) find_wire_ends();
    return wire_ends_.contains({std::min(a, b), std::max(a, b)});
  }

  void find_wire_ends() {
    const auto beyond = [&](NodeId node) {
      for (const Element& e : in_.netlist.elements)
        if (e.kind == ElementKind::kJoint && e.a == node) return e.b;
      return node;
    };
    for (const circuit::ElementId id : in_.netlist.wire_elements) {
      const NodeId near = in_.netlist.elements[id.index()].a;
      const NodeId far = in_.netlist.elements[id.index()].b;
      for (const NodeId a : {near, beyond(near)})
        for (const NodeId b : {far, beyond(far)}) wire_ends_.insert({std::min(a, b), std::max(a, b)});
      for (const NodeId end : {near, far})
        if (beyond(end) != end) wire_ends_.insert({std::min(end, beyond(end)), std::max(end, beyond(end))});
    }
    if (wire_ends_.empty()) wire_ends_.insert({NodeId(), NodeId()});
  }

  // ---- a plug taken apart
  // ----------------------------------------------------------------------------------------------------

  std::vector<PointId> side_points(ConnectorId plug, std::uint8_t side) const {
    std::vector<PointId> list;
    for (const PointId p : points_)
      if (point(p).connector == plug && point(p).side == side) list.push_back(p);
    return list;
  }

  template <class Use>
  void each_side(ConnectorId plug, Use use) {
    for (std::uint8_t side = 0; side < 2; ++side) {
      const std::vector<PointId> list = side_points(plug, side);
      for (std::size_t i = 0; i < list.size(); ++i) {
        for (const PointId frame : frames_) use(list[i], frame);
        for (std::size_t j = i + 1; j < list.size() && list.size() <= kMostWithinPlug; ++j) use(list[i], list[j]);
      }
    }
  }

  void plug_live(const Configuration& c, ConnectorId plug) {
    each_side(plug, [&](PointId a, PointId b) { offer_live(c, a, b); });
  }
  void plug_dead(const Configuration& c, ConnectorId plug) {
    each_side(plug, [&](PointId a, PointId b) { offer_dead(c, a, b); });
  }

  // How probable it is that something is wrong on the metal between two points while these plugs are apart; 0 where no
  // metal leads from one to the other.
  double suspected_between(PointId a, PointId b, const std::set<ConnectorId>& apart = {}) {
    if (weight_.empty()) weigh_elements();
    const auto way = ways_.between(point(a).node, point(b).node, apart);
    double sum = 0.0;
    if (way)
      for (const circuit::ElementId id : *way) sum += weight_[id.index()];
    return sum;
  }

  void weigh_elements() {
    weight_.assign(in_.netlist.elements.size(), 0.0);
    for (std::size_t i = 0; i < in_.universe.faults.size(); ++i) {
      const fault::Fault& f = in_.universe.faults[i];
      for (const circuit::ElementId id : {f.element, f.other})
        if (!id.is_none()) weight_[id.index()] += in_.fault_weight[i];
    }
  }

  // One conductor from plug to plug, both apart, with a long lead.
  void end_to_end() {
    for (std::size_t i = 0; i < points_.size(); ++i)
      for (std::size_t j = i + 1; j < points_.size(); ++j) {
        const circuit::Point& a = point(points_[i]);
        const circuit::Point& b = point(points_[j]);
        if (a.connector.is_none() || b.connector.is_none() || a.connector == b.connector ||
            metal(a.node) != metal(b.node))
          continue;
        if (!in_.loom.connectors[a.connector.index()].pluggable || !in_.loom.connectors[b.connector.index()].pluggable)
          continue;
        Configuration c;
        c.unplugged = {a.connector, b.connector};
        if (suspected_between(points_[i], points_[j], c.unplugged) < kWorthBypass) continue;
        offer_dead(c, points_[i], points_[j]);
      }
  }

  // ---- watching, replacing, moving
  // ----------------------------------------------------------------------------------------

  void watch(const Configuration& c) {
    for (const Observable& symptom : in_.symptoms) {
      Observable what = symptom;
      what.configuration = c;
      offer(std::move(what));
    }
  }

  void symptoms(const Configuration& work) {
    const auto all = [&](Kind kind, auto member, std::size_t count, auto relevant) {
      for (std::size_t i = 0; i < count; ++i) {
        if (!relevant(i)) continue;
        Observable what;
        what.kind = kind;
        what.*member = std::remove_reference_t<decltype(what.*member)>(i);
        what.configuration = work;
        offer(std::move(what));
      }
    };
    const auto always = [](std::size_t) { return true; };
    if (in_.roll.reader) {
      all(Kind::kCode, &Observable::code, in_.loom.codes.size(), always);
      all(Kind::kLive, &Observable::live, in_.loom.lives.size(), always);
      all(Kind::kAnswers, &Observable::module, in_.loom.modules.size(),
          [&](std::size_t i) { return in_.loom.modules[i].answers; });
    }
    all(Kind::kLook, &Observable::part, in_.loom.parts.size(), [&](std::size_t i) {
      const circuit::PartKind kind = in_.loom.parts[i].kind;
      return kind == circuit::PartKind::kLamp || kind == circuit::PartKind::kMotor ||
             kind == circuit::PartKind::kSolenoid;
    });
  }

  double weight_of_part(circuit::PartId part) const {
    double sum = 0.0;
    for (std::size_t i = 0; i < in_.universe.faults.size(); ++i) {
      const circuit::Item& item = in_.universe.faults[i].item;
      if (item.kind == circuit::Item::Kind::kPart && item.index == part.value) sum += in_.fault_weight[i];
    }
    return sum;
  }

  void stand_ins(const Configuration& work) {
    for (std::size_t i = 0; i < in_.loom.parts.size(); ++i) {
      const circuit::Part& part = in_.loom.parts[i];
      const bool sender = part.kind == circuit::PartKind::kNtc || part.kind == circuit::PartKind::kPtc ||
                          part.kind == circuit::PartKind::kSender;
      if (!sender || part.plug.is_none() || !plug_matters(part.plug)) continue;
      const auto one = in_.netlist.point_by_name.find(part.name + ":1");
      const auto two = in_.netlist.point_by_name.find(part.name + ":2");
      if (one == in_.netlist.point_by_name.end() || two == in_.netlist.point_by_name.end()) continue;
      if (!in_.roll.resistors_ohm.empty()) {
        const double ohm = nearest_on_roll(circuit::sensor_ohm(part));
        fit(work, part.plug,
            {circuit::Fitted::Kind::kStandIn, std::min(one->second, two->second), std::max(one->second, two->second),
             ohm});
      }
      fit(work, part.plug,
          {circuit::Fitted::Kind::kLead, std::min(one->second, two->second), std::max(one->second, two->second), 0.0});
    }
  }

  bool plug_matters(ConnectorId plug) const { return std::find(plugs_.begin(), plugs_.end(), plug) != plugs_.end(); }

  double nearest_on_roll(double ohm) const {
    return *std::min_element(in_.roll.resistors_ohm.begin(), in_.roll.resistors_ohm.end(), [&](double a, double b) {
      return std::abs(std::log(a / ohm)) < std::abs(std::log(b / ohm));
    });
  }

  void fit(const Configuration& work, ConnectorId plug, const circuit::Fitted& fitted) {
    Configuration c = work;
    if (!plug.is_none()) c.unplugged.insert(plug);
    // Along a conductor it carries no more than the conductor does: no circuit is solved to know that.
    const bool bypass = plug.is_none() && fitted.kind == circuit::Fitted::Kind::kLead;
    if (!bypass && !refusal_to_fit(in_, c, fitted).empty()) return;
    c.fitted.insert(fitted);
    watch(c);
  }

  // A lead beside a wire, a joint or the whole way between two points of the same conductor.
  void bypasses(const Configuration& work) {
    if (!in_.roll.long_lead) return;
    std::set<std::pair<PointId, PointId>> pairs;
    for (const std::size_t net : nets_worth(kWorthBypass)) {
      std::vector<PointId> on;
      for (const PointId p : points_)
        if (metal(point(p).node) == net && bare(p) && point(p).lug.is_none()) on.push_back(p);
      for (std::size_t i = 0; i < on.size(); ++i)
        for (std::size_t j = i + 1; j < on.size(); ++j)
          if (pairs.size() < 200 && suspected_between(on[i], on[j]) >= kWorthBypass)
            pairs.insert({std::min(on[i], on[j]), std::max(on[i], on[j])});
    }
    for (const auto& [a, b] : pairs)
      if (bypass_allowed(work, a, b)) fit(work, {}, {circuit::Fitted::Kind::kLead, a, b, 0.0});
  }

  bool bypass_allowed(const Configuration& work, PointId a, PointId b) const {
    const auto safe = [&](PointId p) { return hazards_at(in_.loom, point(p)).empty(); };
    const auto reaches = [&](circuit::Hazard hazard) { return within_reach(in_, work, a, b, hazard); };
    return safe(a) && safe(b) && !reaches(circuit::Hazard::kAirbag) && !reaches(circuit::Hazard::kHighVoltage);
  }

  std::set<std::size_t> nets_worth(double least) {
    std::set<std::size_t> nets;
    for (std::size_t i = 0; i < in_.universe.faults.size(); ++i) {
      const fault::Fault& f = in_.universe.faults[i];
      if (in_.fault_weight[i] < least || f.element.is_none() ||
          !circuit::is_metal(in_.netlist.elements[f.element.index()].kind))
        continue;
      nets.insert(metal(in_.netlist.elements[f.element.index()].a));
    }
    return nets;
  }

  void swaps(const Configuration& work) {
    for (std::size_t i = 0; i < in_.loom.parts.size(); ++i) {
      const circuit::PartKind kind = in_.loom.parts[i].kind;
      const bool at_hand =
          kind == circuit::PartKind::kFuse || kind == circuit::PartKind::kRelay || kind == circuit::PartKind::kLamp;
      if (!at_hand || weight_of_part(circuit::PartId(i)) < kWorthBypass ||
          !harmless(circuit::Item{circuit::Item::Kind::kPart, static_cast<std::uint32_t>(i), ""}))
        continue;
      Configuration c = work;
      c.swapped_parts.insert(circuit::PartId(i));
      watch(c);
    }
  }

  // How probable it is that something comes and goes here. `inside`: of parts and modules only, or of all else.
  double loose(const circuit::Item& item, bool inside) const {
    double sum = 0.0;
    for (std::size_t i = 0; i < in_.universe.faults.size(); ++i) {
      const fault::Fault& f = in_.universe.faults[i];
      if (f.kind != fault::FaultKind::kIntermittent || f.item.kind != item.kind || f.item.index != item.index) continue;
      const bool joint = !f.element.is_none() && in_.netlist.elements[f.element.index()].kind == ElementKind::kJoint;
      if (joint != inside) sum += in_.fault_weight[i];
    }
    return sum;
  }

  void provoke(Kind kind, const Configuration& work, Observable what) {
    what.kind = kind;
    what.configuration = work;
    offer(std::move(what));
  }

  void wiggles(const Configuration& work) {
    for (const ConnectorId plug : plugs_) {
      Observable what;
      what.connector = plug;
      provoke(Kind::kWiggle, work, what);
    }
    for (std::size_t w = 0; w < in_.loom.wires.size(); ++w) {
      const circuit::Item item{circuit::Item::Kind::kWire, static_cast<std::uint32_t>(w), ""};
      if (loose(item, true) < kWorthProvoking || !harmless(item)) continue;
      Observable what;
      what.wire = circuit::WireId(w);
      provoke(Kind::kWiggle, work, what);
    }
  }

  // Is it probable enough that something sits there?
  template <class SitsThere>
  bool worth_looking(SitsThere sits_there) const {
    double worth = 0.0;
    for (std::size_t i = 0; i < in_.universe.faults.size(); ++i)
      if (in_.fault_weight[i] >= kRelevant && sits_there(in_.universe.faults[i])) worth += in_.fault_weight[i];
    return worth >= kWorthLookingAt;
  }

  // Contacts, lugs, studs and splices where something suspected would show; of a contact the side first drawn. What is
  // known to be marked or clean stays so.
  void inspections() {
    for (const PointId p : points_) {
      const circuit::Point& at = point(p);
      const bool plug = !at.connector.is_none();
      const bool frame = std::find(frames_.begin(), frames_.end(), p) != frames_.end();
      if (frame) continue;  // what is bolted to it has points of its own
      if (!harmless(at)) continue;
      if (plug && (at.side != 0 || !plug_matters(at.connector))) continue;
      if (!worth_looking([&](const fault::Fault& f) { return fault::sits_at_point(in_.netlist, p, f); })) continue;
      Observable what;
      what.kind = Kind::kInspect;
      what.red = p;
      place_in(in_.loom, in_.netlist, {}, what);
      offer(std::move(what));
    }
  }

  // Wires on whose run something suspected would show.
  void runs_followed() {
    for (std::size_t w = 0; w < in_.loom.wires.size(); ++w) {
      const circuit::WireId id(w);
      if (!harmless(circuit::Item{circuit::Item::Kind::kWire, id.value, ""})) continue;
      if (!worth_looking([&](const fault::Fault& f) { return fault::sits_on_wire(in_.netlist, id, f); })) continue;
      Observable what;
      what.kind = Kind::kInspect;
      what.wire = id;
      offer(std::move(what));
    }
  }

  // Parts and modules that may come and go inside. A part that senses heat answers to it in order as well.
  void heat_and_cold(const Configuration& work) {
    const auto both = [&](const Observable& what) {
      if (in_.roll.heat_gun) provoke(Kind::kHeat, work, what);
      if (in_.roll.cold_spray) provoke(Kind::kCool, work, what);
    };
    for (std::size_t i = 0; i < in_.loom.parts.size(); ++i) {
      const circuit::PartKind kind = in_.loom.parts[i].kind;
      if (kind == circuit::PartKind::kNtc || kind == circuit::PartKind::kPtc) continue;
      const circuit::Item item{circuit::Item::Kind::kPart, static_cast<std::uint32_t>(i), ""};
      Observable what;
      what.part = circuit::PartId(i);
      if (loose(item, true) >= kWorthProvoking) both(what);
    }
    for (std::size_t i = 0; i < in_.loom.modules.size(); ++i) {
      const circuit::Item item{circuit::Item::Kind::kModule, static_cast<std::uint32_t>(i), ""};
      Observable what;
      what.module = circuit::ModuleId(i);
      if (loose(item, true) >= kWorthProvoking) both(what);
    }
  }

  void clamps(const Configuration& work) {
    if (!in_.roll.clamp) return;
    for (std::size_t w = 0; w < in_.loom.wires.size(); ++w) {
      const Element& e = in_.netlist.elements[in_.netlist.wire_elements[w].index()];
      if (!relevant_nodes_.contains(e.a) && !relevant_nodes_.contains(e.b)) continue;
      Observable what;
      what.kind = Kind::kClamp;
      what.wire = circuit::WireId(w);
      what.configuration = work;
      offer(std::move(what));
    }
  }

  // ---- buses
  // -----------------------------------------------------------------------------------------------------------------

  void buses(const Configuration& work) {
    const bool terminate = !in_.roll.resistors_ohm.empty() && worth_terminating();
    for (const BusPlug& plug : find_bus_plugs(in_, points_)) {
      for (const BusPlug::Pair& pair : plug.pairs) {
        if (!reachable(work, pair.high)) continue;
        offer_live(work, pair.high, pair.low);
        if (in_.roll.scope) levels(work, pair);
        if (reachable({}, pair.high)) offer_dead({}, pair.high, pair.low);
        if (terminate && bypass_allowed(work, pair.high, pair.low))
          fit(work, {},
              {circuit::Fitted::Kind::kStandIn, std::min(pair.high, pair.low), std::max(pair.high, pair.low),
               nearest_on_roll(kTerminatorOhm)});
      }
      if (!plug.parts_bus || !harmless(plug.connector)) continue;
      // Who comes back, and to what level, with this plug apart?
      Configuration apart = work;
      apart.unplugged.insert(plug.connector);
      watch(apart);
      for (const BusPlug::Pair& pair : plug.elsewhere) {
        if (!reachable(apart, pair.high)) continue;
        offer_live(apart, pair.high, pair.low);
        if (in_.roll.scope) levels(apart, pair);
        Configuration dead;
        dead.unplugged.insert(plug.connector);
        offer_dead(dead, pair.high, pair.low);
      }
    }
  }

  void levels(const Configuration& c, const BusPlug::Pair& pair) {
    offer(Kind::kHighest, c, pair.high, pair.low);
    offer(Kind::kHighest, c, pair.high, frames_.front());
    offer(Kind::kLowest, c, pair.low, frames_.front());
  }

  // Is a missing terminator among what is suspected?
  bool worth_terminating() const {
    double sum = 0.0;
    for (std::size_t i = 0; i < in_.universe.faults.size(); ++i)
      if (in_.universe.faults[i].kind == fault::FaultKind::kMissing) sum += in_.fault_weight[i];
    return sum >= kWorthBypass;
  }

  const GenerateInput& in_;
  std::vector<char> electrical_;  // by setup: does it change the circuit?
  std::vector<std::size_t> net_;
  circuit::MetalWays ways_;
  std::vector<double> weight_;  // by element: how probable a fault there is
  std::set<std::size_t> grounds_;
  std::set<NodeId> relevant_nodes_;
  std::vector<PointId> points_, frames_, posts_;
  std::vector<ConnectorId> plugs_;
  std::set<std::pair<NodeId, NodeId>> wire_ends_;
  std::set<Observable> seen_;
  std::vector<Candidate> found_;
};

void add_need(std::vector<Act>& needs, const Act& act) {
  if (std::find(needs.begin(), needs.end(), act) == needs.end()) needs.push_back(act);
}

void add_place(const circuit::Loom& loom, circuit::PlaceId place, Candidate& candidate,
               std::set<circuit::PlaceId>& places) {
  if (place.is_none() || !places.insert(place).second) return;
  candidate.minutes += loom.places.at(place.index()).minutes;
  for (const circuit::SetupId setup : access(loom, place)) {
    Act act;
    act.setup = setup;
    add_need(candidate.needs, act);
  }
}

circuit::PlaceId place_of_wire(const circuit::Loom& loom, const circuit::Netlist& netlist, circuit::WireId id) {
  const circuit::Wire& wire = loom.wires.at(id.index());
  if (!wire.place.is_none()) return wire.place;
  const auto point = netlist.point_by_name.find(circuit::end_point_name(loom, wire.from));
  return point == netlist.point_by_name.end() ? circuit::PlaceId() : netlist.points[point->second.index()].place;
}

double reading_minutes(Kind kind) {
  switch (kind) {
    case Kind::kVolts:
    case Kind::kHighest:
    case Kind::kLowest:
    case Kind::kOhms:
    case Kind::kContinuity:
      return 0.5;
    case Kind::kClamp:
    case Kind::kTestLamp:
      return 0.7;
    case Kind::kCode:
    case Kind::kWiggle:
      return 1.0;
    case Kind::kLive:
    case Kind::kAnswers:
      return 0.6;
    case Kind::kLook:
    case Kind::kInspect:
      return 0.4;
    case Kind::kHeat:
      return 3.0;
    case Kind::kCool:
      return 1.5;
    case Kind::kHeard:
    case Kind::kQuiet:
    case Kind::kHears:
      return 3.0;  // a recording of two minutes, and plugging in
  }
  return 1.0;
}

}  // namespace

Configuration at_work(const circuit::Loom& loom) {
  Configuration work;
  work.made.insert(loom.in_use.begin(), loom.in_use.end());
  return work;
}

bool needs_release(const circuit::Loom& loom, const circuit::Netlist& netlist, const Observable& what) {
  const bool wiggled = what.kind == Kind::kWiggle || what.kind == Kind::kClamp;
  const bool live = what.kind == Kind::kVolts || what.kind == Kind::kHighest || what.kind == Kind::kLowest ||
                    what.kind == Kind::kTestLamp || wiggled;
  if (!live) return false;
  const auto dangerous = [&](const auto& thing) { return carries(loom, thing, circuit::Hazard::kDangerousGoods); };
  for (const PointId p : {what.red, what.black})
    if (!p.is_none() && dangerous(netlist.points.at(p.index()))) return true;
  using ItemKind = circuit::Item::Kind;
  return (!what.wire.is_none() && dangerous(circuit::Item{ItemKind::kWire, what.wire.value, ""})) ||
         (!what.connector.is_none() && dangerous(circuit::Item{ItemKind::kConnector, what.connector.value, ""}));
}

Candidate make_candidate(const circuit::Loom& loom, const circuit::Netlist& netlist, const Observable& what) {
  Candidate candidate;
  candidate.what = what;
  for (const Act& act : acts_of(what.configuration)) {
    for (const Act& need : describe(loom, netlist, act).needs) add_need(candidate.needs, need);
    add_need(candidate.needs, act);
  }
  candidate.minutes = reading_minutes(what.kind);
  std::set<circuit::PlaceId> places;
  for (const PointId p : {what.red, what.black})
    if (!p.is_none()) add_place(loom, netlist.points.at(p.index()).place, candidate, places);
  candidate.long_lead = places.size() > 1;
  if (candidate.long_lead) candidate.minutes += kLongLeadMinutes;
  if (!what.connector.is_none())
    add_place(loom, loom.connectors.at(what.connector.index()).place[0], candidate, places);
  if (!what.wire.is_none()) add_place(loom, place_of_wire(loom, netlist, what.wire), candidate, places);
  if (what.kind == Kind::kInspect && !what.wire.is_none())
    candidate.minutes +=
        kFollowMinutes * loom.wires.at(what.wire.index()).length_m.value_or(loom.defaults.wire_length_m);
  if (evidence::provokes(what.kind) && !what.part.is_none())
    add_place(loom, loom.parts.at(what.part.index()).place, candidate, places);
  if (evidence::provokes(what.kind) && !what.module.is_none())
    add_place(loom, loom.modules.at(what.module.index()).place, candidate, places);
  return candidate;
}

std::vector<Candidate> generate(const GenerateInput& input) { return Generator(input).run(); }

}  // namespace halfsplit::candidates
