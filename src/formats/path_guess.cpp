// SPDX-License-Identifier: Apache-2.0
#include "formats/path_guess.h"

#include <algorithm>
#include <set>

#include "circuit/netlist.h"
#include "formats/path_text.h"
#include "text/blanks.h"
#include "text/natural_order.h"

namespace halfsplit::formats {

namespace {

bool is_digit_at(std::string_view text, std::size_t at) {
  return at < text.size() && text[at] >= '0' && text[at] <= '9';
}

// "J7" -> "J8", "A9" -> "A10", "12" -> "13"; a text without a number at its end gets none.
std::string next_in_number(const std::string& text) {
  std::size_t from = text.size();
  while (from > 0 && is_digit_at(text, from - 1)) --from;
  if (from == text.size() || text.size() - from > 8) return "";
  return text.substr(0, from) + std::to_string(std::stol(text.substr(from)) + 1);
}

std::string letters_of(const std::string& name) {
  std::size_t end = 0;
  while (end < name.size() && ((name[end] >= 'A' && name[end] <= 'Z') || (name[end] >= 'a' && name[end] <= 'z'))) ++end;
  return name.substr(0, end);
}

std::string whole_hop(const PathHop& hop) {
  std::string text = hop.name + (hop.plug.empty() ? "" : "." + hop.plug);
  if (!hop.cavity.empty()) text += ":" + hop.cavity;
  return text;
}

// The last line of a text of paths: the one that goes on.
std::string_view last_line(std::string_view text) {
  const std::size_t start = text.find_last_of(";\n");
  return start == std::string_view::npos ? text : text.substr(start + 1);
}

// Things that are drawn or typed already: names, and cavities in use of each.
struct Known {
  std::set<std::string> names;
  std::set<std::string> cavities;  // "J5:3"
  std::vector<std::string> plugs;  // inline, in the order met
  std::vector<std::string> pins;   // of modules: "HCU.A:7"

  void add(const PathHop& hop) {
    names.insert(hop.name);
    if (hop.kind == HopKind::kPlug && std::find(plugs.begin(), plugs.end(), hop.name) == plugs.end())
      plugs.push_back(hop.name);
    if (hop.cavity.empty()) return;
    cavities.insert(whole_hop(hop));
    if (hop.kind == HopKind::kModule) pins.push_back(whole_hop(hop));
  }

  void add(const circuit::Loom& loom) {
    for (const circuit::Connector& one : loom.connectors) {
      if (!one.part.is_none() || !one.module.is_none()) continue;
      names.insert(one.name);
      plugs.push_back(one.name);
    }
    for (const auto& one : loom.parts) names.insert(one.name);
    for (const auto& one : loom.modules) names.insert(one.name);
    for (const auto& one : loom.splices) names.insert(one.name);
    for (const auto& one : loom.studs) names.insert(one.name);
    for (const circuit::Wire& wire : loom.wires)
      for (const circuit::EndPoint* end : {&wire.from, &wire.to}) {
        const std::string point = circuit::end_point_name(loom, *end);
        if (point.find(':') == std::string::npos) continue;
        cavities.insert(point.substr(0, point.find('@')));
        const bool module = end->kind == circuit::EndPoint::Kind::kCavity &&
                            !loom.connectors.at(end->connector.index()).module.is_none();
        if (module) pins.push_back(point.substr(0, point.find('@')));
      }
  }

  // The first free name with that letter: "J1".
  [[nodiscard]] std::string fresh(const std::string& letter) const {
    int number = 1;
    while (names.contains(letter + std::to_string(number))) ++number;
    return letter + std::to_string(number);
  }

  // The cavity wanted, or the next in number that has no wire yet.
  [[nodiscard]] std::string free_cavity(const std::string& plug, std::string cavity) const {
    for (int tries = 0; tries < 100 && cavities.contains(plug + ":" + cavity); ++tries) {
      cavity = next_in_number(cavity);
      if (cavity.empty()) return "";
    }
    return cavity;
  }
};

class Guesser {
 public:
  Guesser(std::string_view text, const circuit::Loom* loom) {
    const std::string_view line = last_line(text);
    const std::string_view before = text.substr(0, text.size() - line.size());
    if (loom != nullptr) known_.add(*loom);
    for (const std::string& path : split_paths(before)) {
      before_.push_back(parse_path(path));
      for (const PathHop& hop : before_.back().hops) known_.add(hop);
    }
    path_ = parse_path(line);
    for (const PathHop& hop : path_.hops) known_.add(hop);
    if (path_.hops.empty()) lead_ = line.empty() || line.back() == ' ' || before.empty() ? "" : " ";
  }

  std::vector<PathGuess> run(std::size_t most) {
    if (path_.hops.empty())
      begin();
    else if (is_begun())
      complete(path_.hops.back().name);
    else
      go_on(path_.hops.back());
    double sum = 0.0;
    std::stable_sort(list_.begin(), list_.end(), [](const auto& a, const auto& b) { return a.weight > b.weight; });
    if (list_.size() > most) list_.resize(most);
    for (const PathGuess& one : list_) sum += one.weight;
    for (PathGuess& one : list_) one.weight /= sum;
    return std::move(list_);
  }

 private:
  // A name that is not whole yet: letters alone, of which some name that is known or usual goes on.
  [[nodiscard]] bool is_begun() const {
    const PathHop& last = path_.hops.back();
    return !path_.ends_in_link && last.cavity.empty() && last.word.empty() && last.name.size() <= 2 &&
           letters_of(last.name) == last.name;
  }

  void complete(const std::string& begun) {
    const auto add = [&](const std::string& hop, double weight, const std::string& because) {
      const std::size_t before = list_.size();
      propose(hop, weight, because);
      if (list_.size() > before) list_.back().append = hop.substr(begun.size());
    };
    for (const std::string& plug : known_.plugs) {
      const std::string free = plug.starts_with(begun) ? known_.free_cavity(plug, "1") : "";
      if (!free.empty()) add(plug + ":" + free, 3.0, "a plug that is drawn, next free cavity");
    }
    for (const std::string& name : known_.names)
      if (name.starts_with(begun) && name != begun) add(name, 1.5, "it is drawn");
    add(known_.fresh(begun), 2.0, "the first such that is not drawn");
  }

  // A hop once only, with its highest weight.
  void propose(const std::string& hop, double weight, const std::string& because) {
    if (hop.empty() || (!path_.hops.empty() && hop == whole_hop(path_.hops.back()))) return;
    for (PathGuess& one : list_)
      if (one.hop == hop) return;
    const PathText parsed = parse_path("x -> " + hop);
    if (!parsed.problems.empty() || parsed.hops.size() != 2) return;
    list_.push_back({hop, link_before() + hop, parsed.hops.empty() ? "" : std::string(hop_word(parsed.hops.back())),
                     because, weight});
  }

  // The wire as the one before it: the same colour and size go on through a plug.
  [[nodiscard]] std::string link_before() const {
    if (path_.hops.empty()) return lead_;
    if (path_.ends_in_link) return " ";
    const std::string attributes = path_.links.empty() ? "" : path_.links.back();
    return attributes.empty() ? " -> " : " -[" + attributes + "]-> ";
  }

  void begin() {
    if (!before_.empty()) {
      const PathHop& first = before_.back().hops.front();
      const PathHop& last = before_.back().hops.back();
      const std::string next = next_in_number(first.cavity);
      if (first.kind == HopKind::kModule && !next.empty())
        propose(first.name + (first.plug.empty() ? "" : "." + first.plug) + ":" + next, 5.0,
                "the pin beside the one before");
      if (last.kind == HopKind::kPart) propose(last.name, 4.0, "back from where the last path came to");
    }
    if (!known_.pins.empty()) {
      const std::string& pin = known_.pins.back();
      const std::size_t colon = pin.rfind(':');
      propose(pin.substr(0, colon + 1) + next_in_number(pin.substr(colon + 1)), 3.0, "the pin beside a known one");
    }
    propose(known_.fresh("F"), 2.0, "a feed begins at its fuse");
    propose("battery", 1.5, "a feed begins at the battery");
    propose(known_.fresh("A") + ":1", 1.0, "a signal begins at a module's pin");
  }

  // As in an earlier path that went the same way, a cavity further: J2:5 -> J5:2 before, J2:6 now, so J5:3.
  void go_as_before(const PathHop& last) {
    for (auto path = before_.rbegin(); path != before_.rend(); ++path) {
      for (std::size_t i = 0; i < path->hops.size(); ++i) {
        if (path->hops[i].name != last.name) continue;
        const bool forward = i + 1 < path->hops.size() && !came_from(*path, i + 1);
        if (forward) follow(path->hops[i + 1], "the way of a path before, next cavity");
        if (i > 0 && !came_from(*path, i - 1)) follow(path->hops[i - 1], "back the way of a path before, next cavity");
      }
    }
  }

  [[nodiscard]] bool came_from(const PathText& path, std::size_t i) const {
    return path_.hops.size() > 1 && path_.hops[path_.hops.size() - 2].name == path.hops[i].name;
  }

  void follow(const PathHop& to, const std::string& because) {
    const std::string owner = to.name + (to.plug.empty() ? "" : "." + to.plug);
    if (to.cavity.empty()) return propose(to.kind == HopKind::kPart ? to.name + ":2" : to.name, 6.0, because);
    const bool part = to.kind == HopKind::kPart;
    const std::string cavity = part ? next_in_number(to.cavity) : known_.free_cavity(owner, to.cavity);
    if (!cavity.empty()) propose(owner + ":" + cavity, 8.0, because);
  }

  void go_on(const PathHop& last) {
    go_as_before(last);
    const std::string cavity = last.cavity.empty() || last.kind == HopKind::kPart ? "1" : last.cavity;
    const bool from_module = path_.hops.front().kind == HopKind::kModule;
    switch (last.kind) {
      case HopKind::kModule:
        propose_plugs(cavity, 4.0);
        propose_sensor(1.5);
        return propose(known_.fresh("SP"), 1.0, "a splice on the way");
      case HopKind::kPlug:
        propose(next_plug(last.name, cavity), plugs_passed() < 2 ? 4.0 : 1.5, "the next plug, same cavity");
        propose_plugs(cavity, plugs_passed() < 2 ? 2.5 : 1.4);
        propose_sensor(from_module ? 2.0 : 0.8);
        propose(known_.fresh("E"), 1.8, "a lamp at the end");
        propose(known_.fresh("M"), 1.6, "a motor at the end");
        propose(known_.fresh("SP"), 1.0, "a splice on the way");
        return propose(known_.fresh("G"), 0.9, "a ground stud");
      case HopKind::kSplice:
        propose_plugs("1", 3.0);
        propose(known_.fresh("E"), 2.0, "a lamp behind the splice");
        return propose(known_.fresh("G"), 1.0, "a ground stud");
      case HopKind::kStud:
        return propose("chassis", 3.0, "a stud sits on the frame");
      case HopKind::kFrame:
        return propose("BAT:-", 2.0, "the battery's ground cable");
      case HopKind::kPart:
        return go_on_from_part(last, cavity);
    }
  }

  void go_on_from_part(const PathHop& last, const std::string& cavity) {
    const std::string& kind = last.part_kind;
    if (is_load(kind) || kind == "sender") {
      propose_way_back();
      propose_plugs(cavity, 2.0);
      propose(known_.fresh("G"), 3.0, "the load's ground stud");
      return propose("chassis", 1.5, "bare to the frame");
    }
    if (kind == "battery") {
      if (path_.hops.size() > 1) return;
      propose(known_.fresh("F"), 4.0, "the battery feeds fuses");
      return propose(known_.fresh("S"), 2.0, "the key switch");
    }
    if (kind == "fuse") {
      propose(known_.fresh("S"), 3.0, "a fuse feeds a switch");
      propose(known_.fresh("K"), 2.5, "... or a relay");
    }
    propose_plugs(cavity, 3.5);
    propose(known_.fresh("E"), 2.0, "a lamp");
    propose(known_.fresh("M"), 1.5, "a motor");
    propose(known_.fresh("SP"), 1.0, "a splice on the way");
  }

  // Paths pass one plug or two as a rule (common practice); the load comes next.
  [[nodiscard]] std::size_t plugs_passed() const {
    return static_cast<std::size_t>(std::count_if(path_.hops.begin(), path_.hops.end(),
                                                  [](const PathHop& hop) { return hop.kind == HopKind::kPlug; }));
  }

  // A load's ground in the same loom: through the plug it came by.
  void propose_way_back() {
    if (path_.hops.size() < 2 || path_.hops[path_.hops.size() - 2].kind != HopKind::kPlug) return;
    const PathHop& plug = path_.hops[path_.hops.size() - 2];
    const std::string free = known_.free_cavity(plug.name, plug.cavity);
    if (!free.empty()) propose(plug.name + ":" + free, 2.5, "back through the plug it came by, next free cavity");
  }

  [[nodiscard]] std::string next_plug(const std::string& name, const std::string& cavity) const {
    const std::string next = next_in_number(name);
    const std::string free = next.empty() ? "" : known_.free_cavity(next, cavity);
    return free.empty() ? "" : next + ":" + free;
  }

  // Plugs drawn or typed already, those of this path aside; else a first one.
  void propose_plugs(const std::string& cavity, double weight) {
    const std::string letter = known_.plugs.empty() ? "J" : letters_of(known_.plugs.back());
    for (auto plug = known_.plugs.rbegin(); plug != known_.plugs.rend(); ++plug) {
      const bool here =
          std::any_of(path_.hops.begin(), path_.hops.end(), [&](const PathHop& hop) { return hop.name == *plug; });
      const std::string free = here ? "" : known_.free_cavity(*plug, cavity);
      if (!free.empty()) propose(*plug + ":" + free, weight, "a plug that is drawn, next free cavity");
      weight *= 0.8;
    }
    propose(known_.fresh(letter.empty() ? "J" : letter) + ":" + cavity, weight * 0.9, "a new plug, same cavity");
  }

  void propose_sensor(double weight) { propose(known_.fresh("B"), weight, "a sensor at the end"); }

  Known known_;
  std::vector<PathText> before_;
  PathText path_;
  std::string lead_;
  std::vector<PathGuess> list_;
};

}  // namespace

std::vector<PathGuess> guess_path(std::string_view text, const circuit::Loom* loom, std::size_t most) {
  return Guesser(text, loom).run(most);
}

bool usually_ends(std::string_view text) {
  const PathText path = parse_path(last_line(text));
  if (path.hops.size() < 2 || path.ends_in_link) return false;
  const PathHop& last = path.hops.back();
  return last.kind == HopKind::kFrame || last.part_kind == "battery" || last.part_kind == "sender" ||
         (last.kind == HopKind::kModule && !last.cavity.empty());
}

}  // namespace halfsplit::formats
