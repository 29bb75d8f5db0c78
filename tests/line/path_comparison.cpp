// SPDX-License-Identifier: Apache-2.0
#include "tests/line/path_comparison.h"

#include <algorithm>
#include <cmath>

#include "candidates/generate.h"
#include "evidence/observable_text.h"

namespace halfsplit::test {

namespace {

using circuit::Configuration;
using evidence::Component;
using evidence::Observable;
using evidence::Prediction;

constexpr double kSure = 0.9;  // of a word: nearer to a threshold the slow path, which knows no spread, is too sure

std::string number(double value) {
  char buffer[32];
  std::snprintf(buffer, sizeof buffer, "%.9g", value);
  return buffer;
}

std::string told(const Observable& what, const Prediction& p) {
  if (!p.settled) return "no rest";
  std::string text;
  for (const Component& c : p.components) {
    text += text.empty() ? "" : " or ";
    if (c.over_range) {
      text += "OL";
    } else if (evidence::is_numeric(what.kind)) {
      text += number(c.mean);
    } else {
      for (std::size_t i = 0; i < evidence::categories(what.kind).size(); ++i)
        text += std::string(evidence::categories(what.kind)[i]) + " " + number(c.category[i]) + " ";
    }
  }
  return text;
}

bool surely_another_word(const Component& one, const Component& other) {
  const auto top = [](const Component& c) {
    return std::max_element(std::begin(c.category), std::end(c.category)) - std::begin(c.category);
  };
  return top(one) != top(other) && one.category[static_cast<std::size_t>(top(one))] > kSure &&
         other.category[static_cast<std::size_t>(top(other))] > kSure;
}

bool alike(const Observable& what, const Component& f, const Component& s) {
  if (f.over_range || s.over_range) return f.over_range == s.over_range;
  if (!evidence::is_numeric(what.kind)) return !surely_another_word(f, s);
  return std::abs(f.mean - s.mean) <= 1e-5 + 1e-6 * std::abs(s.mean);
}

// The slow path knows one way of standing where tolerances allow several: each of its readings must be among the fast
// path's, which has no others unless they are said to be other ways (weights tell).
bool alike(const Observable& what, const Prediction& fast, const Prediction& slow) {
  if (fast.settled != slow.settled) return false;
  if (!fast.settled) return true;
  if (fast.components.size() < slow.components.size()) return false;
  double likeliest = 0.0;
  for (const Component& f : fast.components) likeliest = std::max(likeliest, f.weight);
  if (fast.components.size() > slow.components.size() && likeliest > 0.9999) return false;
  return std::all_of(slow.components.begin(), slow.components.end(), [&](const Component& s) {
    return std::any_of(fast.components.begin(), fast.components.end(),
                       [&](const Component& f) { return alike(what, f, s); });
  });
}

}  // namespace

PathComparison::PathComparison(const ExampleLoom& loom, std::string loom_file)
    : loom_(loom),
      loom_file_(std::move(loom_file)),
      scene_{loom.loom, loom.netlist, loom.universe},
      campaign_(loom.loom, loom.netlist, loom.universe) {}

void PathComparison::compare(const std::vector<predict::Case>& cases, const std::vector<Observable>& tests) {
  const evidence::ResponseTable table = campaign_.predict(cases, tests);
  for (std::size_t row = 0; row < cases.size(); ++row) {
    std::vector<const Prediction*> fast;
    for (std::size_t column = 0; column < tests.size(); ++column) fast.push_back(&table.at(row, column));
    compare_case(cases[row], tests, fast);
  }
}

// A fault that comes and goes: the moment in which it is there, then the other.
std::vector<PathComparison::Moment> PathComparison::moments_of(const predict::Case& which) const {
  const auto moment = [&](bool there, double weight) {
    Moment made;
    made.weight = weight;
    for (const auto& [id, quantile] : which.faults) {
      const fault::Fault& fault = loom_.universe.faults[id.index()];
      if (fault.kind == fault::FaultKind::kIntermittent && !there) continue;
      for (const fault::Change& c : fault::changes_of(loom_.netlist, fault, fault::severity_at(fault, quantile)))
        made.changes.push_back(c);
    }
    return made;
  };
  const auto melts = [&](const Moment& made) {
    std::vector<fault::Change> fuses;
    if (made.changes.empty() || loom_.loom.in_use.empty()) return fuses;
    predict::SlowView work = view_of(made, candidates::at_work(loom_.loom));
    predict::add_melted_fuses(predict::list_fuses(loom_.netlist), work, fuses);
    return fuses;
  };
  const auto blow = [](Moment& made, const std::vector<fault::Change>& fuses) {
    made.changes.insert(made.changes.end(), fuses.begin(), fuses.end());
  };
  const bool comes_and_goes = std::any_of(which.faults.begin(), which.faults.end(), [&](const auto& f) {
    return loom_.universe.faults[f.first.index()].kind == fault::FaultKind::kIntermittent;
  });
  if (!comes_and_goes) {
    Moment always = moment(true, 1.0);
    blow(always, melts(always));
    return {always};
  }
  Moment shown = moment(true, predict::kIntermittentPresent);
  Moment gone = moment(false, 1.0 - predict::kIntermittentPresent);
  const std::vector<fault::Change> by_shown = melts(shown);
  const std::vector<fault::Change> by_gone = melts(gone);
  for (Moment* one : {&shown, &gone}) {
    blow(*one, by_shown);
    blow(*one, by_gone);
  }
  return {shown, gone};
}

predict::SlowView PathComparison::view_of(const Moment& moment, const Configuration& configuration) const {
  electrical::Model model = electrical::make_model(loom_.loom, loom_.netlist, configuration);
  const std::vector<fault::Change> left = electrical::remaining_changes(loom_.netlist, configuration, moment.changes);
  electrical::apply_changes(model, left);
  return {std::move(model), loom_.loom.system_volts, left};
}

void PathComparison::compare_case(const predict::Case& which, const std::vector<Observable>& tests,
                                  const std::vector<const Prediction*>& fast) {
  std::vector<fault::FaultId> faults;
  for (const auto& entry : which.faults) faults.push_back(entry.first);
  std::vector<Prediction> slow(tests.size());
  for (const Moment& moment : moments_of(which)) {
    std::map<Configuration, predict::SlowView> views;
    const auto view = [&](const Configuration& c) -> predict::SlowView& {
      const auto found = views.find(c);
      return found != views.end() ? found->second : views.emplace(c, view_of(moment, c)).first->second;
    };
    for (std::size_t i = 0; i < tests.size(); ++i) {
      Configuration work = candidates::at_work(loom_.loom);
      work.swapped_parts = tests[i].configuration.swapped_parts;
      work.swapped_modules = tests[i].configuration.swapped_modules;
      predict::SlowView& now = view(tests[i].configuration);
      const bool asks_work = tests[i].kind == evidence::Kind::kCode;
      const Prediction some = predict::observe(scene_, {now, asks_work ? view(work) : now}, tests[i], faults);
      slow[i].settled = (slow[i].settled && !slow[i].components.empty()) || some.settled;
      slow[i].components.insert(slow[i].components.end(), some.components.begin(), some.components.end());
    }
  }
  for (std::size_t i = 0; i < tests.size(); ++i) {
    ++compared_;
    ++by_kind_[std::string(evidence::kind_word(tests[i].kind))];
    if (fast[i]->settled && !slow[i].settled)
      rests_fast_only_.insert(which.faults.empty() ? "none" : loom_.universe.faults[faults.front().index()].name);
    else if (!alike(tests[i], *fast[i], slow[i]))
      apart_.push_back(line_of(which, tests[i]) + "\n    fast " + told(tests[i], *fast[i]) + "\n    slow " +
                       told(tests[i], slow[i]));
  }
}

std::string PathComparison::line_of(const predict::Case& which, const Observable& what) const {
  const auto point = [&](circuit::PointId id) { return loom_.netlist.points[id.index()].name; };
  std::string line = "halfsplit expect --loom " + loom_file_ + " \"" +
                     evidence::format_observable(loom_.loom, loom_.netlist, what) + "\"";
  const auto with = [&](const std::string& deed) { line += " --with \"" + deed + "\""; };
  const Configuration& c = what.configuration;
  for (const circuit::SetupId id : c.made) with(loom_.loom.setups[id.index()].name);
  for (const circuit::ConnectorId id : c.unplugged) with("unplug " + loom_.loom.connectors[id.index()].name);
  for (const circuit::Fitted& f : c.fitted)
    with("fit " + (f.kind == circuit::Fitted::Kind::kStandIn ? number(f.ohm) : std::string("lead")) + " at " +
         point(f.a) + " " + point(f.b));
  for (const circuit::PartId id : c.swapped_parts) with("swap " + loom_.loom.parts[id.index()].name);
  for (const circuit::ModuleId id : c.swapped_modules) with("swap " + loom_.loom.modules[id.index()].name);
  for (const auto& [id, quantile] : which.faults)
    line += " --if \"" + loom_.universe.faults[id.index()].name + "@" + number(quantile) + "\"";
  return line;
}

// ---- tests to take
// --------------------------------------------------------------------------------------------------------------

TestsNearby::TestsNearby(const ExampleLoom& loom)
    : loom_(loom), elements_at_(loom.netlist.node_count()), nearest_point_(loom.netlist.node_count()) {
  for (std::size_t i = 0; i < loom.netlist.elements.size(); ++i) {
    elements_at_[loom.netlist.elements[i].a.index()].push_back(i);
    elements_at_[loom.netlist.elements[i].b.index()].push_back(i);
  }
  // Every node's nearest point, in steps of elements.
  std::vector<circuit::NodeId> wave;
  for (std::size_t i = 0; i < loom.netlist.points.size(); ++i) {
    const circuit::NodeId node = loom.netlist.points[i].node;
    if (!nearest_point_[node.index()].is_none()) continue;
    nearest_point_[node.index()] = circuit::PointId(i);
    wave.push_back(node);
  }
  for (std::size_t next = 0; next < wave.size(); ++next)
    for (const std::size_t e : elements_at_[wave[next].index()])
      for (const circuit::NodeId node : {loom.netlist.elements[e].a, loom.netlist.elements[e].b}) {
        if (!nearest_point_[node.index()].is_none()) continue;
        nearest_point_[node.index()] = nearest_point_[wave[next].index()];
        wave.push_back(node);
      }
}

// An end of what one of the faults sits on, or a few elements away from it.
circuit::NodeId TestsNearby::node_near(base::Rng& rng, const std::vector<fault::FaultId>& near) const {
  const fault::Fault& f = loom_.universe.faults[near[rng.below(near.size())].index()];
  circuit::NodeId node = f.a;
  if (!f.element.is_none()) node = loom_.netlist.elements[f.element.index()].a;
  if (node.is_none()) node = circuit::NodeId(rng.below(loom_.netlist.node_count()));
  for (std::size_t steps = rng.below(6); steps > 0; --steps) {
    const std::vector<std::size_t>& at = elements_at_[node.index()];
    const circuit::Element& e = loom_.netlist.elements[at[rng.below(at.size())]];
    node = e.a == node ? e.b : e.a;
  }
  return node;
}

circuit::PointId TestsNearby::point_near(base::Rng& rng, const std::vector<fault::FaultId>& near) const {
  return nearest_point_[node_near(rng, near).index()];
}

Configuration TestsNearby::state(base::Rng& rng, const std::vector<fault::FaultId>& near) const {
  Configuration c;
  const double which = rng.uniform();
  if (which < 0.45) c = candidates::at_work(loom_.loom);
  if (which > 0.75)
    for (std::size_t i = 0; i < loom_.loom.setups.size(); ++i)
      if (rng.chance(0.7)) c.made.insert(circuit::SetupId(i));
  if (rng.chance(0.25)) {
    const circuit::NodeId node = node_near(rng, near);
    for (const std::size_t e : elements_at_[node.index()])
      if (loom_.netlist.elements[e].kind == circuit::ElementKind::kContact)
        c.unplugged.insert(loom_.netlist.elements[e].connector);
  }
  if (rng.chance(0.15)) {
    circuit::Fitted f;
    f.a = point_near(rng, near);
    f.b = point_near(rng, near);
    if (f.b < f.a) std::swap(f.a, f.b);
    if (rng.chance(0.6)) f.kind = circuit::Fitted::Kind::kStandIn;
    if (rng.chance(0.6)) f.ohm = rng.log_uniform(10.0, 10000.0);
    if (f.kind != circuit::Fitted::Kind::kStandIn) f.ohm = 0.0;
    if (f.a != f.b) c.fitted.insert(f);
  }
  if (rng.chance(0.1)) {
    const fault::Fault& f = loom_.universe.faults[near[rng.below(near.size())].index()];
    if (f.item.kind == circuit::Item::Kind::kPart) c.swapped_parts.insert(circuit::PartId(f.item.index));
    if (f.item.kind == circuit::Item::Kind::kModule) c.swapped_modules.insert(circuit::ModuleId(f.item.index));
  }
  return c;
}

std::vector<Observable> TestsNearby::draw(base::Rng& rng, const std::vector<fault::FaultId>& near,
                                          std::size_t count) const {
  const Configuration configuration = state(rng, near);
  std::vector<Observable> tests;
  while (tests.size() < count) {
    tests.push_back(one(rng, near));
    tests.back().configuration = configuration;
  }
  return tests;
}

// A code or live value of the module met on a walk from the faults, or any.
template <class Owned>
std::size_t TestsNearby::of_module(base::Rng& rng, const std::vector<fault::FaultId>& near,
                                   const std::vector<Owned>& all) const {
  for (int tries = 0; tries < 8; ++tries)
    for (const std::size_t e : elements_at_[node_near(rng, near).index()]) {
      const std::size_t start = rng.below(all.size());
      for (std::size_t i = 0; i < all.size(); ++i)
        if (all[(start + i) % all.size()].module == loom_.netlist.elements[e].module) return (start + i) % all.size();
    }
  return rng.below(all.size());
}

circuit::PartId TestsNearby::load_near(base::Rng& rng, const std::vector<fault::FaultId>& near) const {
  using circuit::PartKind;
  circuit::PartId found(rng.below(loom_.loom.parts.size()));
  const auto is_load = [&](circuit::PartId id) {
    const PartKind kind = loom_.loom.parts[id.index()].kind;
    return kind == PartKind::kLamp || kind == PartKind::kMotor || kind == PartKind::kSolenoid ||
           kind == PartKind::kHeater || kind == PartKind::kRelay;
  };
  for (int tries = 0; tries < 200 && !is_load(found); ++tries) {
    for (const std::size_t e : elements_at_[node_near(rng, near).index()])
      if (!loom_.netlist.elements[e].part.is_none()) found = loom_.netlist.elements[e].part;
    if (tries > 20) found = circuit::PartId(rng.below(loom_.loom.parts.size()));
  }
  return found;
}

Observable TestsNearby::one(base::Rng& rng, const std::vector<fault::FaultId>& near) const {
  using evidence::Kind;
  constexpr Kind kKinds[] = {Kind::kVolts,  Kind::kVolts,  Kind::kVolts, Kind::kVolts,    Kind::kOhms,
                             Kind::kOhms,   Kind::kClamp,  Kind::kCode,  Kind::kTestLamp, Kind::kContinuity,
                             Kind::kLive,   Kind::kLook,   Kind::kLook,  Kind::kAnswers,  Kind::kCode,
                             Kind::kWiggle, Kind::kInspect};
  const circuit::Loom& loom = loom_.loom;
  Observable what;
  what.kind = kKinds[rng.below(std::size(kKinds))];
  if (what.kind == Kind::kCode && loom.codes.empty()) what.kind = Kind::kVolts;
  if (what.kind == Kind::kLive && loom.lives.empty()) what.kind = Kind::kVolts;
  if (what.kind == Kind::kAnswers && loom.modules.empty()) what.kind = Kind::kVolts;
  switch (what.kind) {
    case Kind::kVolts:
    case Kind::kHighest:
    case Kind::kLowest:
    case Kind::kOhms:
    case Kind::kContinuity:
    case Kind::kTestLamp:
      what.red = point_near(rng, near);
      what.black = rng.chance(0.6) ? point_near(rng, near) : nearest_point_[loom_.netlist.reference.index()];
      break;
    case Kind::kInspect:
      what.red = point_near(rng, near);
      break;
    case Kind::kClamp:
    case Kind::kWiggle:
    case Kind::kHeat:
    case Kind::kCool: {
      what.wire = circuit::WireId(rng.below(loom.wires.size()));
      for (int tries = 0; tries < 5; ++tries)
        for (const std::size_t e : elements_at_[node_near(rng, near).index()])
          if (loom_.netlist.elements[e].item.kind == circuit::Item::Kind::kWire)
            what.wire = circuit::WireId(loom_.netlist.elements[e].item.index);
      break;
    }
    case Kind::kCode:
      what.code = circuit::CodeId(of_module(rng, near, loom.codes));
      break;
    case Kind::kLive:
      what.live = circuit::LiveId(of_module(rng, near, loom.lives));
      break;
    case Kind::kHeard:
    case Kind::kQuiet:
    case Kind::kHears:  // not among the kinds drawn: predicted through what kAnswers asks
    case Kind::kAnswers:
      what.module = circuit::ModuleId(rng.below(loom.modules.size()));
      break;
    case Kind::kLook:
      what.part = load_near(rng, near);
      break;
  }
  return what;
}

}  // namespace halfsplit::test
