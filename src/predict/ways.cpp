// SPDX-License-Identifier: Apache-2.0
#include "predict/ways.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "electrical/fault_bench.h"
#include "predict/normal.h"

namespace halfsplit::predict {

namespace {

using electrical::FaultBench;
using electrical::Functional;
using electrical::StateRef;

constexpr double kFarSigmas = 3.0;
constexpr double kLeastChance = 1.0e-3;
constexpr std::size_t kMostStates = 2;

// A state near its threshold. It has moved when it no longer stands as at power-up.
struct Near {
  StateRef ref;
  bool on = false;            // as it stands
  double z = 0.0;             // margin to move, in sigmas
  double moved = 0.0;         // chance
  double stays = 1.0;         // share of that in which it can stay there
  std::vector<double> moves;  // of its margin, by element
  std::vector<fault::Change> other;
};

double norm(const std::vector<double>& moves) {
  return std::sqrt(std::inner_product(moves.begin(), moves.end(), moves.begin(), 0.0));
}

class Finder {
 public:
  Finder(FaultBench& bench, const std::vector<fault::Change>& changes, const electrical::Tolerances& tolerance)
      : bench_(bench), changes_(changes), tolerance_(tolerance) {}

  Ways run() {
    std::vector<Near> near;
    for (const StateRef& ref : bench_.near_states()) look_at(ref, near);
    std::stable_sort(near.begin(), near.end(),
                     [](const Near& a, const Near& b) { return std::abs(a.z) < std::abs(b.z); });
    if (near.size() > kMostStates) near.resize(kMostStates);
    if (near.empty()) return {};
    return near.size() == 1 ? one(near[0]) : two(near[0], near[1]);
  }

 private:
  struct Here {
    double value = 0.0;
    std::vector<double> moves;
    bool settled = false;
  };

  // The state's quantity in the circuit as it is in the bench now.
  Here read(const StateRef& ref) {
    const electrical::Quantity q = electrical::quantity_of(bench_.model(), ref);
    const Functional functional{q.red, q.black, q.branch, q.current};
    const electrical::Predicted p = bench_.evaluate(functional, {});
    Here here{p.measured.value, {}, p.measured.settled};
    if (!here.settled) return here;
    here.moves = bench_.moves(functional, tolerance_);
    const bool size_only = q.current || ref.kind == StateRef::Kind::kCoil;
    if (!size_only || here.value >= 0.0) return here;
    here.value = -here.value;
    for (double& move : here.moves) move = -move;
    return here;
  }

  Here read_held(const StateRef& ref, const std::vector<fault::Change>& held) {
    std::vector<fault::Change> all = changes_;
    all.insert(all.end(), held.begin(), held.end());
    bench_.put_fault(all);
    const Here here = read(ref);
    bench_.put_fault(changes_);
    return here;
  }

  void look_at(const StateRef& ref, std::vector<Near>& near) {
    Near n;
    n.ref = ref;
    n.on = electrical::stands_on(bench_.states(), ref);
    n.other = electrical::holding(bench_.model(), ref, !n.on);
    if (n.other.empty()) return;
    const bool moved = n.on != electrical::starts_on(ref);
    const Here now = read(ref);
    if (!moved && far(ref, now)) return;
    const Here then = read_held(ref, n.other);
    const Here& before = moved ? then : now;
    const Here& after = moved ? now : then;
    if (!before.settled || far(ref, before)) return;
    const electrical::Model& model = bench_.model();
    n.moves = before.moves;
    if (electrical::margin_to_move(model, ref, before.value + 1.0) <
        electrical::margin_to_move(model, ref, before.value))
      for (double& move : n.moves) move = -move;
    const double sigma = norm(n.moves);
    n.z = electrical::margin_to_move(model, ref, before.value) / sigma;
    if (moved && n.z < 0.0) return;  // it moved on the way, by what is no more: its chance is not to be had from here
    n.moved = normal_below(n.z);
    if (!electrical::starts_on(ref)) {
      const double stays =
          after.settled ? normal_below(electrical::margin_to_stay(model, ref, after.value) / sigma) : 0.0;
      n.stays = std::min(1.0, stays / std::max(n.moved, 1.0e-300));
    }
    near.push_back(std::move(n));
  }

  [[nodiscard]] bool far(const StateRef& ref, const Here& here) const {
    const double margin = std::abs(electrical::margin_to_move(bench_.model(), ref, here.value));
    return !(margin < kFarSigmas * norm(here.moves));
  }

  static void add(Ways& ways, double chance, std::initializer_list<const Near*> otherwise) {
    if (otherwise.size() == 0) {
      ways.as_it_is = chance;
      return;
    }
    if (chance < kLeastChance) {
      ways.as_it_is += chance;
      return;
    }
    Way way;
    way.chance = chance;
    for (const Near* n : otherwise) {
      way.states.emplace_back(n->ref, !n->on);
      way.held.insert(way.held.end(), n->other.begin(), n->other.end());
    }
    ways.others.push_back(std::move(way));
  }

  static bool has_moved(const Near& n) { return n.on != electrical::starts_on(n.ref); }

  static Ways one(const Near& n) {
    Ways ways;
    const double moved = n.moved * n.stays;
    const double not_moved = 1.0 - n.moved;
    add(ways, has_moved(n) ? moved : not_moved, {});
    add(ways, has_moved(n) ? not_moved : moved, {&n});
    return ways;
  }

  static Ways two(const Near& a, const Near& b) {
    const double together =
        std::inner_product(a.moves.begin(), a.moves.end(), b.moves.begin(), 0.0) / (norm(a.moves) * norm(b.moves));
    const double both = both_below(a.z, b.z, together);
    const auto chance = [&](bool a_moved, bool b_moved) {
      const double p =
          a_moved ? (b_moved ? both : a.moved - both) : (b_moved ? b.moved - both : 1.0 - a.moved - b.moved + both);
      return std::max(0.0, p) * (a_moved ? a.stays : 1.0) * (b_moved ? b.stays : 1.0);
    };
    const bool am = has_moved(a);
    const bool bm = has_moved(b);
    Ways ways;
    add(ways, chance(am, bm), {});
    add(ways, chance(!am, bm), {&a});
    add(ways, chance(am, !bm), {&b});
    add(ways, chance(!am, !bm), {&a, &b});
    return ways;
  }

  FaultBench& bench_;
  const std::vector<fault::Change>& changes_;
  const electrical::Tolerances& tolerance_;
};

}  // namespace

Ways find_ways(FaultBench& bench, const std::vector<fault::Change>& changes, const electrical::Tolerances& tolerance) {
  if (tolerance.empty()) return {};
  return Finder(bench, changes, tolerance).run();
}

}  // namespace halfsplit::predict
