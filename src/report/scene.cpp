// SPDX-License-Identifier: Apache-2.0
// Loom -> boxes, slots, ports and links; suspicion of elements is added up on what is drawn for them.
#include "report/scene.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "base/check.h"
#include "circuit/part_kinds.h"
#include "report/scene_labels.h"
#include "text/natural_order.h"

namespace halfsplit::report {

namespace {

using circuit::EndPoint;
using circuit::Item;

class Maker {
 public:
  explicit Maker(const DrawRequest& request) : loom_(request.loom), net_(request.netlist), request_(request) {}

  Scene make() {
    for (const circuit::Place& place : loom_.places) add_lane(place.name, lane_detail(loom_, place));
    add_lane("place not given", "");
    find_used();
    add_plugs();
    add_modules();
    add_parts();
    add_joints();
    for (std::size_t i = 0; i < loom_.wires.size(); ++i) add_link(i);
    mark_probes();
    mark_elements();
    find_front();
    return std::move(scene_);
  }

 private:
  using Cavity = std::pair<std::uint32_t, std::string>;  // connector, cavity

  void add_lane(std::string name, std::string detail) {
    Lane lane;
    lane.name = std::move(name);
    lane.detail = std::move(detail);
    scene_.lanes.push_back(std::move(lane));
  }

  // Cavities that a wire ends in or a probe touches; frames likewise. Others are not drawn.
  void find_used() {
    used_frames_.assign(loom_.frames.size(), false);
    for (const circuit::Wire& wire : loom_.wires)
      for (const EndPoint* end : {&wire.from, &wire.to}) {
        if (end->kind == EndPoint::Kind::kCavity) used_.insert({end->connector.value, end->cavity});
        if (end->kind == EndPoint::Kind::kFrame) used_frames_.at(end->frame.index()) = true;
      }
    for (const circuit::PointId probe : {request_.red, request_.black}) {
      if (probe.is_none()) continue;
      const circuit::Point& point = net_.points.at(probe.index());
      if (!point.connector.is_none()) used_.insert({point.connector.value, point.cavity});
      for (std::size_t i = 0; i < loom_.frames.size(); ++i)
        if (loom_.frames[i].name == point.name) used_frames_[i] = true;
    }
  }

  std::size_t lane_of(circuit::PlaceId place) const { return place.is_none() ? loom_.places.size() : place.index(); }

  std::size_t add_box(BoxKind kind, std::size_t index, std::string name, circuit::PlaceId place) {
    Box box;
    box.kind = kind;
    box.index = index;
    box.name = std::move(name);
    box.place[0] = box.place[1] = lane_of(place);
    scene_.boxes.push_back(std::move(box));
    return scene_.boxes.size() - 1;
  }

  std::size_t add_slot(std::size_t box, std::string label, bool contact = false) {
    Slot slot;
    slot.label = std::move(label);
    slot.contact = contact;
    scene_.boxes[box].slots.push_back(std::move(slot));
    return scene_.boxes[box].slots.size() - 1;
  }

  void add_plugs() {
    std::map<std::uint32_t, std::vector<std::string>> cavities;
    for (const auto& [connector, cavity] : used_) cavities[connector].push_back(cavity);
    for (std::size_t i = 0; i < loom_.connectors.size(); ++i) {
      const circuit::Connector& plug = loom_.connectors[i];
      if (!plug.module.is_none() || !plug.part.is_none()) continue;
      std::vector<std::string>& names = cavities[static_cast<std::uint32_t>(i)];
      if (names.empty()) continue;  // nothing leads through it
      std::sort(names.begin(), names.end(), text::natural_less);
      const std::size_t box = add_box(BoxKind::kPlug, i, with_hazard(plug.name, plug.hazard), plug.place[0]);
      scene_.boxes[box].place[1] = lane_of(plug.place[1]);
      for (const std::size_t side : {0U, 1U}) scene_.boxes[box].side_names[side] = plug.sides[side];
      scene_.boxes[box].hint = plug_hint(loom_, plug);
      for (const std::string& name : names)
        cavity_slot_[{static_cast<std::uint32_t>(i), name}] = {box, add_slot(box, name, true)};
    }
  }

  static std::string with_hazard(const std::string& name, circuit::Hazard hazard) {
    if (hazard == circuit::Hazard::kNone) return name;
    return name + " (" + std::string(circuit::hazard_word(hazard)) + ")";
  }

  void add_modules() {
    for (std::size_t i = 0; i < loom_.modules.size(); ++i) {
      const circuit::Module& module = loom_.modules[i];
      const std::size_t box = add_box(BoxKind::kModule, i, with_hazard(module.name, module.hazard), module.place);
      scene_.boxes[box].hint = module_hint(loom_, module);
      module_box_.push_back(box);
      for (std::size_t p = 0; p < module.pins.size(); ++p) {
        const circuit::ModulePin& pin = module.pins[p];
        if (!used_.contains({pin.connector.value, pin.cavity})) continue;
        const std::string label = pin.plug.empty() ? pin.cavity : pin.plug + ":" + pin.cavity;
        cavity_slot_[{pin.connector.value, pin.cavity}] = {box, add_slot(box, label, true)};
      }
    }
  }

  void add_parts() {
    for (std::size_t i = 0; i < loom_.parts.size(); ++i) {
      const circuit::Part& part = loom_.parts[i];
      std::vector<std::string> terminals;
      for (const std::string_view terminal : circuit::part_kind(part.kind).terminals)
        if (terminal != "87a" || is_wired(circuit::PartId(i), "87a")) terminals.emplace_back(terminal);
      const BoxKind kind = terminals.size() == 2 ? BoxKind::kPart : BoxKind::kBlock;
      const std::size_t box = add_box(kind, i, with_hazard(part.name, part.hazard), part.place);
      scene_.boxes[box].value = part_value_label(part);
      if (kind == BoxKind::kBlock)
        scene_.boxes[box].value = std::string(circuit::part_kind(part.kind).word) + " " + scene_.boxes[box].value;
      scene_.boxes[box].hint = part_hint(loom_, part);
      part_box_.push_back(box);
      for (const std::string& terminal : terminals) {
        const std::size_t slot = add_slot(box, terminal, !part.plug.is_none());
        terminal_slot_[{static_cast<std::uint32_t>(i), terminal}] = {box, slot};
        if (!part.plug.is_none()) cavity_slot_[{part.plug.value, terminal}] = {box, slot};
      }
    }
  }

  bool is_wired(circuit::PartId id, const std::string& terminal) const {
    const circuit::ConnectorId plug = loom_.parts[id.index()].plug;
    if (!plug.is_none()) return used_.contains({plug.value, terminal});
    for (const circuit::Wire& wire : loom_.wires)
      for (const EndPoint* end : {&wire.from, &wire.to})
        if (end->kind == EndPoint::Kind::kTerminal && end->part == id && end->cavity == terminal) return true;
    return false;
  }

  void add_joints() {
    for (std::size_t i = 0; i < loom_.splices.size(); ++i) {
      splice_box_.push_back(add_box(BoxKind::kSplice, i, loom_.splices[i].name, loom_.splices[i].place));
      add_slot(splice_box_.back(), "");
    }
    for (std::size_t i = 0; i < loom_.studs.size(); ++i) {
      const circuit::Stud& stud = loom_.studs[i];
      stud_box_.push_back(add_box(BoxKind::kStud, i, stud.name, stud.place));
      add_slot(stud_box_.back(), "");
      if (loom_.frames.size() > 1) scene_.boxes.back().value = loom_.frames.at(stud.frame.index()).name;
    }
    for (std::size_t i = 0; i < loom_.frames.size(); ++i) {
      frame_box_.push_back(kNoIndex);
      if (!used_frames_[i]) continue;
      frame_box_.back() = add_box(BoxKind::kFrame, i, loom_.frames[i].name, loom_.frames[i].place);
      add_slot(frame_box_.back(), "");
    }
  }

  using BoxSlot = std::pair<std::size_t, std::size_t>;

  BoxSlot find_end(const EndPoint& end) const {
    switch (end.kind) {
      case EndPoint::Kind::kCavity:
        return find(cavity_slot_, {end.connector.value, end.cavity});
      case EndPoint::Kind::kTerminal:
        return find(terminal_slot_, {end.part.value, end.cavity});
      case EndPoint::Kind::kSplice:
        return {splice_box_.at(end.splice.index()), 0};
      case EndPoint::Kind::kStud:
        return {stud_box_.at(end.stud.index()), 0};
      case EndPoint::Kind::kFrame:
        return {frame_box_.at(end.frame.index()), 0};
    }
    base::fail_check(__FILE__, __LINE__, "unknown kind of wire end");
  }

  static BoxSlot find(const std::map<Cavity, BoxSlot>& slots, const Cavity& cavity) {
    const auto found = slots.find(cavity);
    HS_CHECK(found != slots.end(), "no box has the terminal " + cavity.second);
    return found->second;
  }

  void add_link(std::size_t wire_index) {
    const circuit::Wire& wire = loom_.wires[wire_index];
    Link link;
    link.above = wire_label_above(wire);
    link.below = wire_label_below(wire);
    link.hint = wire_hint(loom_, wire);
    for (const std::size_t e : {0U, 1U}) {
      const EndPoint& end = e == 0 ? wire.from : wire.to;
      const auto [box, slot] = find_end(end);
      Port port;
      port.box = box;
      port.slot = slot;
      port.link = scene_.links.size();
      port.plug_side = end.side;
      scene_.boxes[box].slots[slot].ports.push_back(scene_.ports.size());
      link.end[e] = scene_.ports.size();
      scene_.ports.push_back(port);
    }
    scene_.links.push_back(std::move(link));
  }

  // The battery that counts as the supply, else the first battery.
  void find_front() {
    for (std::size_t i = 0; i < loom_.parts.size() && scene_.front == kNoIndex; ++i)
      if (loom_.parts[i].kind == circuit::PartKind::kBattery) scene_.front = part_box_[i];
    if (!loom_.supply.is_none()) scene_.front = part_box_.at(loom_.supply.index());
  }

  // Every point that is drawn stands in its slot; the probes' points are marked as well, and have to be there.
  void mark_probes() {
    for (std::size_t i = 0; i < loom_.frames.size(); ++i) joint_[loom_.frames[i].name] = frame_box_[i];
    for (std::size_t i = 0; i < loom_.studs.size(); ++i) joint_[loom_.studs[i].name] = stud_box_[i];
    for (std::size_t i = 0; i < loom_.splices.size(); ++i) joint_[loom_.splices[i].name] = splice_box_[i];
    for (std::size_t i = 0; i < net_.points.size(); ++i) {
      const circuit::PointId id(i);
      const auto [at, side] = find_touch(net_.points[i]);
      const bool drawn = at.first != kNoIndex;
      if (drawn) scene_.boxes[at.first].slots[at.second].points[side].push_back(id);
      const unsigned bits = (id == request_.red ? 1U : 0U) | (id == request_.black ? 2U : 0U);
      HS_CHECK(drawn || bits == 0, "the probe's point " + net_.points[i].name + " is not on the drawing");
      if (bits != 0) scene_.boxes[at.first].slots[at.second].probes[side] |= bits;
    }
  }

  // The slot and side where a probe touches it; kNoIndex: it is not drawn.
  std::pair<BoxSlot, std::size_t> find_touch(const circuit::Point& point) const {
    constexpr BoxSlot kNowhere{kNoIndex, 0};
    const auto slot_of = [&](const std::map<Cavity, BoxSlot>& slots, const Cavity& cavity) {
      const auto found = slots.find(cavity);
      return found == slots.end() ? kNowhere : found->second;
    };
    if (!point.connector.is_none()) return {slot_of(cavity_slot_, {point.connector.value, point.cavity}), point.side};
    const std::string post = point.lug.is_none() ? point.name : point.name.substr(0, point.name.find('@'));
    if (!point.part.is_none())
      return {slot_of(terminal_slot_, {point.part.value, post.substr(post.rfind(':') + 1)}), 1};
    const auto found = joint_.find(post);
    return {found == joint_.end() ? kNowhere : BoxSlot{found->second, 0}, 0};
  }

  // --- suspicion and the traced path -------------------------------------------------------------------------------

  void mark_elements() {
    for (std::size_t i = 0; i < std::min(request_.suspicion.size(), net_.elements.size()); ++i) {
      const double suspicion = request_.suspicion[i];
      if (std::isfinite(suspicion) && suspicion > 0.0) mark(net_.elements[i].item, suspicion, false);
    }
    for (const circuit::ElementId element : request_.traced) mark(net_.elements.at(element.index()).item, 0.0, true);
  }

  template <class Thing>
  static void mark_thing(Thing& thing, double suspicion, bool traced) {
    thing.suspicion = std::min(1.0, thing.suspicion + suspicion);
    thing.traced = thing.traced || traced;
  }

  void mark(const Item& item, double suspicion, bool traced) {
    switch (item.kind) {
      case Item::Kind::kNone:
        return;
      case Item::Kind::kWire:
        return mark_thing(scene_.links.at(item.index), suspicion, traced);
      case Item::Kind::kConnector:
        return mark_contact(item, suspicion, traced);
      case Item::Kind::kSplice:
        return mark_thing(scene_.boxes.at(splice_box_.at(item.index)), suspicion, traced);
      case Item::Kind::kStud:
        return mark_thing(scene_.boxes.at(stud_box_.at(item.index)), suspicion, traced);
      case Item::Kind::kPart:
        return mark_thing(scene_.boxes.at(part_box_.at(item.index)), suspicion, traced);
      case Item::Kind::kModule:
        return mark_thing(scene_.boxes.at(module_box_.at(item.index)), suspicion, traced);
    }
  }

  // A contact that is not drawn (a pin without a wire) counts for its module or part.
  void mark_contact(const Item& item, double suspicion, bool traced) {
    const auto found = cavity_slot_.find({item.index, item.cavity});
    if (found != cavity_slot_.end())
      return mark_thing(scene_.boxes[found->second.first].slots[found->second.second], suspicion, traced);
    const circuit::Connector& plug = loom_.connectors.at(item.index);
    if (!plug.module.is_none()) mark_thing(scene_.boxes.at(module_box_.at(plug.module.index())), suspicion, traced);
  }

  const circuit::Loom& loom_;
  const circuit::Netlist& net_;
  const DrawRequest& request_;
  Scene scene_;
  std::set<Cavity> used_;
  std::vector<bool> used_frames_;
  std::map<Cavity, BoxSlot> cavity_slot_, terminal_slot_;
  std::map<std::string, std::size_t> joint_;  // splices, studs and frames by name: their box
  std::vector<std::size_t> module_box_, part_box_, splice_box_, stud_box_, frame_box_;
};

}  // namespace

std::string percent_label(double suspicion) {
  if (suspicion < kLeastShown) return "";
  if (suspicion > 0.99) return ">99 %";
  return std::to_string(static_cast<int>(std::lround(suspicion * 100.0))) + " %";
}

Scene make_scene(const DrawRequest& request) { return Maker(request).make(); }

}  // namespace halfsplit::report
