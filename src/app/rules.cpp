// SPDX-License-Identifier: Apache-2.0
#include "app/rules.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <string>
#include <tuple>

#include "app/hops.h"
#include "app/named_parts.h"
#include "plan/situation.h"

namespace halfsplit::app {

namespace {

constexpr double kFar = std::numeric_limits<double>::infinity();
constexpr double kHardlyASuspect = 0.01;
constexpr double kAnyMinutes = std::numeric_limits<double>::infinity();
constexpr double kNoTests = -1.0;     // minutes: fewer than any test takes
constexpr double kLeastSplit = 0.02;  // a share nearer to nothing or to all parts nothing

Advice to_prove() {
  Advice advice;
  advice.kind = Advice::Kind::kProve;
  return advice;
}

Advice told(Session& session, const Outlook& outlook, const plan::Action& action) {
  const plan::Problem& problem = outlook.built.problem;
  return advice_for(session, outlook, plan::way_to(problem, plan::start_of(problem), action));
}

struct Leader {
  plan::Action repair{plan::ActionKind::kRepair, 0};
  double mends = 0.0;  // the share it would mend
};

// The repair needed with the largest share; of equals the first. One that would mend all that and more, done beside
// another, is not meant.
Leader leading_repair(const Outlook& outlook) {
  const plan::Problem& problem = outlook.built.problem;
  Leader leader;
  double most = -1.0;
  for (std::size_t r = 0; r < problem.repairs.size(); ++r) {
    double needed = 0.0;
    double mends = 0.0;
    for (const plan::FaultId f : problem.repairs[r].mends) {
      const double share = problem.faults[f.index()].prior;
      mends += share;
      if (outlook.suspects[f.index()].repairs.size() == outlook.built.repairs[r].size()) needed += share;
    }
    if (needed <= most) continue;
    most = needed;
    leader.repair.index = r;
    leader.mends = mends;
  }
  return leader;
}

double mended_share(const Outlook& outlook) {
  double share = 0.0;
  for (const candidates::SuspectRows& suspect : outlook.suspects) share += suspect.mended ? suspect.probability : 0.0;
  return share;
}

const candidates::Test& test_at(const Outlook& outlook, std::size_t index) {
  return outlook.tests[outlook.built.test_of[index]];
}

// The telling test for which `merit` is largest, of equals that with most bits; kStop when none tells or `merit` is
// negative for all.
template <class Merit>
plan::Action best_test(const Outlook& outlook, Merit merit) {
  plan::Action best;
  double best_merit = 0.0;
  double best_bits = 0.0;
  for (std::size_t t = 0; t < outlook.built.problem.tests.size(); ++t) {
    const candidates::Test& test = test_at(outlook, t);
    if (test.bits < kLeastTellingBits) continue;
    const double its = merit(test);
    if (its < 0.0) continue;
    const bool better = best.kind == plan::ActionKind::kStop || its > best_merit + 1e-9 ||
                        (its > best_merit - 1e-9 && test.bits > best_bits);
    if (!better) continue;
    best = {plan::ActionKind::kTest, t};
    best_merit = its;
    best_bits = test.bits;
  }
  return best;
}

plan::Action telling_most(const Outlook& outlook) {
  return best_test(outlook, [](const candidates::Test& test) { return test.bits; });
}

// Stops testing by the rules' common measure, else takes what `choose` says.
template <class Choose>
Advice test_or_repair(Context& context, Session& session, Choose choose) {
  if (proof_is_next(context, session)) return to_prove();
  const Outlook outlook = look_ahead(context, session, kAnyMinutes, Mended::kWeighed);
  const Leader leader = leading_repair(outlook);
  if (leader.mends >= kRuleStopsAt) return told(session, outlook, leader.repair);
  const plan::Action test = choose(outlook);
  return told(session, outlook, test.kind == plan::ActionKind::kTest ? test : leader.repair);
}

// Where a fault sits: the ends of its element, the nodes it joins, or its module's supply.
std::vector<circuit::NodeId> nodes_of(const LoadedLoom& loom, const fault::Fault& fault) {
  std::vector<circuit::NodeId> nodes;
  if (!fault.element.is_none()) {
    const circuit::Element& e = loom.netlist.elements[fault.element.index()];
    nodes = {e.a, e.b};
  } else if (!fault.a.is_none()) {
    nodes = {fault.a};
  } else if (!fault.module.is_none()) {
    nodes = {loom.netlist.modules[fault.module.index()].supply};
  }
  std::erase_if(nodes, [](circuit::NodeId node) { return node.is_none(); });
  return nodes;
}

// By suspect of the outlook; empty for "not on this drawing".
std::vector<std::vector<circuit::NodeId>> suspect_nodes(Context& context, Session& session, const Outlook& outlook) {
  BeliefEngine& engine = *session.engine;
  const Belief& belief = engine.update(session.evidence, context.cancel);
  std::map<std::string, infer::Row> faults;
  for (const std::size_t s : belief.ranked)
    faults.try_emplace(engine.suspect_name(belief.posterior.suspects[s]), belief.posterior.suspects[s].faults);
  std::vector<std::vector<circuit::NodeId>> nodes(outlook.suspects.size());
  for (std::size_t s = 0; s < outlook.suspects.size(); ++s) {
    const auto found = faults.find(outlook.suspects[s].name);
    if (found == faults.end()) continue;
    const std::vector<fault::FaultId> its = infer::faults_of(found->second);
    if (!its.empty()) nodes[s] = nodes_of(session.loom(), session.loom().universe.faults[its.front().index()]);
  }
  return nodes;
}

// Ground is reached but not passed: otherwise everything lies next to everything.
std::vector<circuit::NodeId> ground_nodes(const circuit::Netlist& netlist) {
  std::vector<circuit::NodeId> ground = netlist.frame_nodes;
  ground.push_back(netlist.reference);
  return ground;
}

bool is_ground(const circuit::Netlist& netlist, circuit::NodeId node) {
  const std::vector<circuit::NodeId> ground = ground_nodes(netlist);
  return std::find(ground.begin(), ground.end(), node) != ground.end();
}

double position_of(const Hops& hops, const std::vector<circuit::NodeId>& nodes) {
  if (nodes.empty()) return kFar;
  double sum = 0.0;
  for (const circuit::NodeId node : nodes) sum += hops.cost[node.index()];
  return sum / static_cast<double>(nodes.size());
}

// An outlook without tests in which one suspect is left, the one that needs these repairs.
Outlook needing(Context& context, Session& session, const std::vector<fault::RepairId>& repairs) {
  const Belief& belief = session.engine->update(session.evidence, context.cancel);
  Outlook outlook;
  outlook.roll = roll_of(session.job.kit);
  candidates::SuspectRows suspect;
  suspect.name = "what is wrong";
  suspect.probability = 1.0;
  suspect.repairs = repairs;
  outlook.suspects = {suspect};
  const candidates::GenerateInput input = generate_input(session, outlook.roll, belief);
  const job::Kit& kit = session.job.kit;
  outlook.built = candidates::build_problem({input, outlook.candidates, outlook.tests, outlook.suspects,
                                             kit.money_per_hour, kit.fetch_minutes, return_minutes(kit)});
  return outlook;
}

}  // namespace

// Twice across: the suspect farthest from the likeliest is one end of the way, and hops are counted from there.
Positions positions_along(Context& context, Session& session, const Outlook& outlook) {
  const circuit::Netlist& netlist = session.loom().netlist;
  const std::vector<std::vector<circuit::NodeId>> nodes = suspect_nodes(context, session, outlook);
  Positions positions{std::vector<double>(nodes.size(), kFar), std::vector<double>(netlist.node_count(), kFar), {}};
  for (const candidates::SuspectRows& suspect : outlook.suspects) positions.weight.push_back(suspect.probability);
  const auto first =
      std::find_if(nodes.begin(), nodes.end(), [](const std::vector<circuit::NodeId>& its) { return !its.empty(); });
  if (first == nodes.end()) return positions;
  const std::vector<circuit::NodeId> closed = ground_nodes(netlist);
  const Hops across = hops_from(netlist, first->front(), closed);
  circuit::NodeId end = first->front();
  for (std::size_t s = 0; s < nodes.size(); ++s)
    for (const circuit::NodeId node : nodes[s]) {
      const double cost = across.cost[node.index()];
      const bool counts = outlook.suspects[s].probability >= kHardlyASuspect && std::isfinite(cost);
      if (counts && cost > across.cost[end.index()] && !is_ground(netlist, node)) end = node;
    }
  const Hops along = hops_from(netlist, end, closed);
  for (std::size_t s = 0; s < nodes.size(); ++s) positions.suspect[s] = position_of(along, nodes[s]);
  positions.node = along.cost;
  return positions;
}

Positions places_alike(Positions positions, const Outlook& outlook) {
  std::map<double, std::size_t> places;  // how many suspects at each
  const auto counts = [&](std::size_t s) {
    return outlook.suspects[s].probability >= kHardlyASuspect && std::isfinite(positions.suspect[s]);
  };
  for (std::size_t s = 0; s < positions.suspect.size(); ++s)
    if (counts(s)) ++places[positions.suspect[s]];
  for (std::size_t s = 0; s < positions.suspect.size(); ++s)
    positions.weight[s] = counts(s) ? 1.0 / static_cast<double>(places.size() * places.at(positions.suspect[s])) : 0.0;
  return positions;
}

double share_between(const Session& session, const Positions& positions, const evidence::Observable& what) {
  if (what.red.is_none() || what.black.is_none()) return -1.0;
  const circuit::Netlist& netlist = session.loom().netlist;
  const auto place = [&](circuit::PointId point) {
    const circuit::NodeId node = netlist.points[point.index()].node;
    return is_ground(netlist, node) ? kFar : positions.node[node.index()];
  };
  double near = place(what.red);
  double far = place(what.black);
  if (near > far) std::swap(near, far);
  if (!std::isfinite(near)) return -1.0;
  if (!std::isfinite(far)) {  // against ground: all up to the probe
    far = near;
    near = -1.0;
  }
  double share = 0.0;
  for (std::size_t s = 0; s < positions.suspect.size(); ++s)
    if (positions.suspect[s] > near && positions.suspect[s] < far) share += positions.weight[s];
  return share;
}

namespace {

plan::Action halving(const Session& session, const Outlook& outlook, const Positions& positions) {
  const plan::Action middle = best_test(outlook, [&](const candidates::Test& test) {
    const double share = share_between(session, positions, outlook.candidates[test.candidate].what);
    const bool parts = share > kLeastSplit && share < 1.0 - kLeastSplit;
    return parts ? 0.5 - std::fabs(share - 0.5) : -1.0;
  });
  return middle.kind == plan::ActionKind::kTest ? middle : telling_most(outlook);
}

}  // namespace

Advice half_split(Context& context, Session& session) {
  return test_or_repair(context, session, [&](const Outlook& outlook) {
    return halving(session, outlook, places_alike(positions_along(context, session, outlook), outlook));
  });
}

Advice half_split_by_likelihood(Context& context, Session& session) {
  return test_or_repair(context, session, [&](const Outlook& outlook) {
    return halving(session, outlook, positions_along(context, session, outlook));
  });
}

Advice knowing(Context& context, Session& session, const std::vector<fault::RepairId>& needs) {
  if (proof_is_next(context, session)) return to_prove();
  const auto done = [&](fault::RepairId id) {
    return std::find(session.repaired.begin(), session.repaired.end(), id) != session.repaired.end();
  };
  std::vector<fault::RepairId> open;
  std::copy_if(needs.begin(), needs.end(), std::back_inserter(open), [&](fault::RepairId id) { return !done(id); });
  if (open.empty()) {
    Advice advice;
    advice.kind = Advice::Kind::kLeave;
    advice.repair_probability = 1.0;
    return advice;
  }
  const Outlook outlook = needing(context, session, open);
  return told(session, outlook, {plan::ActionKind::kRepair, 0});
}

Advice most_bits(Context& context, Session& session) {
  return test_or_repair(context, session, [](const Outlook& outlook) { return telling_most(outlook); });
}

Advice codes_first(Context& context, Session& session) {
  if (proof_is_next(context, session)) return to_prove();
  const Outlook outlook = look_ahead(context, session, kNoTests, Mended::kWeighed);
  if (mended_share(outlook) >= kRuleStopsAt)
    return told(session, outlook, {plan::ActionKind::kRepair, outlook.built.leave});
  const NamedItems named = items_named(session);
  plan::Action action{plan::ActionKind::kRepair, 0};
  using Order = std::tuple<int, double, double>;  // how early, one thing before several, rate
  Order best{-1, 0.0, 0.0};
  for (std::size_t r = 0; r < outlook.built.repairs.size(); ++r) {
    if (r == outlook.built.leave) continue;
    const std::vector<fault::RepairId>& repairs = outlook.built.repairs[r];
    const Order its{named.rank(session.loom(), repairs), -static_cast<double>(repairs.size()),
                    prior_rate(session.loom(), repairs)};
    if (its <= best) continue;
    best = its;
    action.index = r;
  }
  return told(session, outlook, action);
}

}  // namespace halfsplit::app
