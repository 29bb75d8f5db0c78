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
constexpr double kSurelyGone = 2.0;  // times that, as it was when it went
constexpr double kLeastChance = 1.0e-3;
constexpr std::size_t kMostStates = 2;
// Elements; with more, how far each moves is worked out only where two states ask for it, and so many states are looked
// at.
constexpr std::size_t kWholeVehicle = 1000;
constexpr std::size_t kMostLookedAt = 12;

// A state near its threshold. It has moved when it no longer stands as at power-up.
struct Near {
  StateRef ref;
  bool on = false;            // as it stands
  double z = 0.0;             // margin to move, in sigmas
  double sigma = 0.0;         // of it
  double sense = 1.0;         // of the margin, for the quantity moving up
  double moved = 0.0;         // chance
  double stays = 1.0;         // share of that in which it can stay there
  std::vector<double> moves;  // of the quantity, by element; empty: not worked out
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
    for (const StateRef& ref : nearest()) look_at(ref, near);
    std::stable_sort(near.begin(), near.end(),
                     [](const Near& a, const Near& b) { return std::abs(a.z) < std::abs(b.z); });
    if (near.size() > kMostStates) near.resize(kMostStates);
    if (near.empty()) return {};
    for (Near& n : near) look_whether_it_stays(n);
    return near.size() == 1 ? one(near[0]) : two(near[0], near[1]);
  }

 private:
  struct Here {
    double value = 0.0, sigma = 0.0;
    double sense = 1.0;  // of the value: a size stands for what runs the other way
    std::vector<double> moves;
    bool settled = false;
  };

  // A short that pulls the whole vehicle's volts down leaves dozens near; the nearest will be among a few by their
  // spreads. What has melted is looked at first.
  std::vector<StateRef> nearest() {
    const std::vector<StateRef> all = bench_.near_states();
    if (tolerance_.size() <= kWholeVehicle || all.size() <= kMostLookedAt) return all;
    std::vector<std::pair<double, StateRef>> order;
    for (const StateRef& ref : all) {
      const Here now = read(ref, tolerance_);
      const double margin = std::abs(electrical::margin_to_move(bench_.model(), ref, now.value));
      const bool melted = electrical::starts_on(ref) && !electrical::stands_on(bench_.states(), ref);
      order.emplace_back(melted ? 0.0 : margin / std::max(now.sigma, 1.0e-300), ref);
    }
    std::stable_sort(order.begin(), order.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    std::vector<StateRef> some;
    for (std::size_t k = 0; k < kMostLookedAt; ++k) some.push_back(order[k].second);
    std::sort(some.begin(), some.end());
    return some;
  }

  Functional functional_of(const StateRef& ref) {
    const electrical::Quantity q = electrical::quantity_of(bench_.model(), ref);
    return {q.red, q.black, q.branch, q.current};
  }

  // The state's quantity in the circuit as it is in the bench now.
  Here read(const StateRef& ref, const electrical::Tolerances& tolerance) {
    const Functional functional = functional_of(ref);
    const bool whole = tolerance.size() > kWholeVehicle;
    const electrical::Predicted p = bench_.evaluate(functional, whole ? tolerance : electrical::Tolerances());
    Here here{p.measured.value, p.sigma, 1.0, {}, p.measured.settled};
    if (!whole && !tolerance.empty() && here.settled) {
      here.moves = bench_.moves(functional, tolerance);
      here.sigma = norm(here.moves);
    }
    if ((electrical::starts_on(ref) || ref.kind == StateRef::Kind::kCoil) && here.value < 0.0) {
      here.value = -here.value;
      here.sense = -1.0;
    }
    return here;
  }

  // With the state held the other way than it stands.
  template <class Look>
  auto held(const Near& n, Look look) {
    std::vector<fault::Change> all = changes_;
    all.insert(all.end(), n.other.begin(), n.other.end());
    bench_.put_fault(all);
    auto seen = look();
    bench_.put_fault(changes_);
    return seen;
  }

  void look_at(const StateRef& ref, std::vector<Near>& near) {
    Near n;
    n.ref = ref;
    n.on = electrical::stands_on(bench_.states(), ref);
    n.other = electrical::holding(bench_.model(), ref, !n.on);
    if (n.other.empty()) return;
    const bool moved = n.on != electrical::starts_on(ref);
    if (moved && electrical::starts_on(ref) &&
        electrical::sigmas_when_gone(bench_.states(), ref.index) >= kSurelyGone * kFarSigmas)
      return;
    // Where it moved, what moved it is seen with the state held as it starts.
    const auto look = [&] { return read(ref, tolerance_); };
    const Here before = moved ? held(n, look) : look();
    if (!before.settled) return;
    const electrical::Model& model = bench_.model();
    const double margin = electrical::margin_to_move(model, ref, before.value);
    if (!(std::abs(margin) < kFarSigmas * before.sigma)) return;
    if (moved && margin < 0.0)
      return;  // it moved on the way, by what is no more: its chance is not to be had from here
    const bool falls = electrical::margin_to_move(model, ref, before.value + 1.0) < margin;
    n.sense = falls ? -before.sense : before.sense;
    n.sigma = before.sigma;
    n.moves = before.moves;
    n.z = margin / n.sigma;
    n.moved = normal_below(n.z);
    near.push_back(std::move(n));
  }

  // Of one that can move back: can it stay where it has moved?
  void look_whether_it_stays(Near& n) {
    if (electrical::starts_on(n.ref)) return;
    const auto look = [&] { return read(n.ref, {}); };
    const Here after = has_moved(n) ? look() : held(n, look);
    const double margin = electrical::margin_to_stay(bench_.model(), n.ref, after.value);
    const double stays = after.settled ? normal_below(margin / n.sigma) : 0.0;
    n.stays = std::min(1.0, stays / std::max(n.moved, 1.0e-300));
  }

  // Of its margin, by element, where it stands as it starts.
  std::vector<double> moves_of(const Near& n) {
    if (!n.moves.empty()) return n.moves;
    const auto look = [&] { return bench_.moves(functional_of(n.ref), tolerance_); };
    return has_moved(n) ? held(n, look) : look();
  }

  double together(const Near& a, const Near& b) {
    const std::vector<double> of_a = moves_of(a);
    const std::vector<double> of_b = moves_of(b);
    const double least = 1.0e-300;
    return a.sense * b.sense * std::inner_product(of_a.begin(), of_a.end(), of_b.begin(), 0.0) /
           std::max(norm(of_a) * norm(of_b), least);
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

  Ways two(const Near& a, const Near& b) {
    const double both = both_below(a.z, b.z, together(a, b));
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
