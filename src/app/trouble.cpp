// SPDX-License-Identifier: Apache-2.0
#include "app/trouble.h"

#include <algorithm>
#include <optional>

#include "circuit/metal.h"

namespace halfsplit::app {

namespace {

using fault::Change;

constexpr int kMostTries = 50;

circuit::NodeId draw_node(const circuit::Netlist& netlist, base::Rng& rng) {
  return netlist.points[rng.below(netlist.points.size())].node;
}

bool some_fault_joins(const fault::Universe& universe, circuit::NodeId a, circuit::NodeId b) {
  return std::any_of(universe.faults.begin(), universe.faults.end(),
                     [&](const fault::Fault& f) { return (f.a == a && f.b == b) || (f.a == b && f.b == a); });
}

// Two points that are not one node and that no fault of the drawing joins.
std::optional<std::pair<circuit::NodeId, circuit::NodeId>> draw_strangers(const LoadedLoom& loom, base::Rng& rng) {
  if (loom.netlist.points.empty()) return {};
  for (int i = 0; i < kMostTries; ++i) {
    const circuit::NodeId a = draw_node(loom.netlist, rng);
    const circuit::NodeId b = draw_node(loom.netlist, rng);
    if (a != b && !some_fault_joins(loom.universe, a, b)) return std::make_pair(a, b);
  }
  return {};
}

Change fed(circuit::NodeId a, circuit::NodeId b, double volt, double ohm) {
  Change change = fault::make_branch(a, b, ohm);
  change.kind = Change::Kind::kSource;
  change.volt = volt;
  return change;
}

std::optional<std::size_t> draw_link(const circuit::Netlist& netlist, base::Rng& rng) {
  std::vector<std::size_t> links;
  for (std::size_t i = 0; i < netlist.elements.size(); ++i) {
    if (circuit::is_metal(netlist.elements[i].kind)) links.push_back(i);
  }
  if (links.empty()) return {};
  return links[rng.below(links.size())];
}

std::vector<Change> wired_otherwise(const circuit::Netlist& netlist, std::size_t link, circuit::NodeId to) {
  const circuit::Element& e = netlist.elements[link];
  Change open;
  open.kind = Change::Kind::kOhm;
  open.element = circuit::ElementId(link);
  open.value = fault::kOpenOhm;
  return {open, fault::make_branch(e.a, to, e.ohm)};
}

}  // namespace

std::string Trouble::name(const fault::Universe& universe) const {
  std::string name = beyond_name;
  for (const auto& [id, quantile] : faults) name += (name.empty() ? "" : " and ") + universe.faults.at(id.index()).name;
  return name;
}

std::string Trouble::kind(const fault::Universe& universe) const {
  if (!beyond.empty()) return "not on this drawing";
  if (faults.size() > 1) return "pair";
  return faults.empty() ? "nothing" : std::string(fault_kind_word(universe.faults.at(faults[0].first.index()).kind));
}

fault::FaultId draw_fault(const fault::Universe& universe, base::Rng& rng) {
  double total = 0.0;
  for (const fault::Fault& f : universe.faults) total += f.rate_per_year;
  double at = rng.uniform() * total;
  for (std::size_t i = 0; i < universe.faults.size(); ++i) {
    at -= universe.faults[i].rate_per_year;
    if (at <= 0.0) return fault::FaultId(i);
  }
  return fault::FaultId(universe.faults.size() - 1);
}

Trouble draw_beyond_drawing(const LoadedLoom& loom, base::Rng& rng) {
  Trouble trouble;
  const std::size_t what = rng.below(3);
  const auto strangers = draw_strangers(loom, rng);
  if (!strangers) return trouble;
  const auto [a, b] = *strangers;
  const std::optional<std::size_t> link = draw_link(loom.netlist, rng);
  if (what == 0 || (what == 2 && !link)) {
    trouble.beyond_name = "two points joined that nothing brings together";
    trouble.beyond = {fault::make_branch(a, b, rng.log_uniform(0.1, 1.0e4))};
  } else if (what == 1) {
    trouble.beyond_name = "fed from elsewhere";
    trouble.beyond = {fed(a, b, loom.loom.system_volts * rng.uniform(0.5, 1.0), rng.log_uniform(0.1, 1.0e3))};
  } else {
    trouble.beyond_name = "not wired as drawn";
    trouble.beyond = wired_otherwise(loom.netlist, *link, a);
  }
  return trouble;
}

Trouble draw_trouble(const LoadedLoom& loom, const infer::PriorShares& shares, base::Rng& rng) {
  const double at = rng.uniform();
  if (at < shares.not_drawn) {
    Trouble beyond = draw_beyond_drawing(loom, rng);
    if (!beyond.beyond.empty()) return beyond;
  }
  Trouble trouble;
  trouble.faults.emplace_back(draw_fault(loom.universe, rng), rng.uniform());
  if (loom.universe.faults.size() < 2 || at < shares.not_drawn || at >= shares.not_drawn + shares.pairs) return trouble;
  for (int i = 0; i < kMostTries; ++i) {  // unequal, in proportion to the product of the two rates
    trouble.faults = {{draw_fault(loom.universe, rng), rng.uniform()}, {draw_fault(loom.universe, rng), rng.uniform()}};
    if (trouble.faults[0].first != trouble.faults[1].first) return trouble;
  }
  trouble.faults.resize(1);
  return trouble;
}

}  // namespace halfsplit::app
