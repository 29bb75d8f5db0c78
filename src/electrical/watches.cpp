// SPDX-License-Identifier: Apache-2.0
#include "electrical/watches.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>

namespace halfsplit::electrical {

namespace {

using circuit::ElementKind;
using sparse::Entry;
using sparse::Half;

constexpr std::size_t kHub = 12;  // a place where more states meet is a hub
// Of the rated volts. A filament that is not looked at keeps its tangent: 1 % off it is wrong by 2e-5 of its current,
// and what that makes of the nets all share is microvolts. One nearby is given a tenth of that by a meter.
constexpr double kFarLampMargin = 1.0e-2;
// A cold one has no tangent that holds for more than some hundred microvolts: its resistance rises from the first.
constexpr double kFarColdLampMargin = 1.0e-5;
constexpr double kColdLamp = 0.05;  // of the rated volts
constexpr double kLampMargin = 1.0e-3;
constexpr double kLeastMargin = 1.0e-9;
constexpr double kNeverMoves = std::numeric_limits<double>::infinity();

// Below pull-in a coil that is in could rest either way, and so could one that is out above drop-out.
double coil_margin(const Branch& b, double v, bool in) { return in ? v - b.volt : b.drop_out_v - v; }

double fast_margin(const Branch& b, bool on, std::size_t index, const Solution& s) {
  if (b.kind == ElementKind::kLamp) return kLampMargin * b.volt;
  if (on) return s.amperes(index);
  return b.force == 0 || !b.connected ? kNeverMoves : b.volt - (s.volts(b.a) - s.volts(b.b));
}

double middle_margin(const Branch& b, bool on, const Watch& w, const Solution& s) {
  const double v = s.between(w.a, w.b);
  if (b.kind == ElementKind::kRelayCoil) return b.force == 0 ? kNeverMoves : coil_margin(b, std::abs(v), on);
  if (b.kind == ElementKind::kRatio) return b.volt <= 0.0 ? kNeverMoves : std::abs(v - b.volt);
  return std::abs(v - b.follows_v);
}

double last_margin(const Branch& b, bool on, std::size_t index, const Solution& s) {
  const bool driver = b.kind == ElementKind::kDriver;
  if (!on || b.force == 0 || (driver && b.force == 1)) return kNeverMoves;
  return (driver ? b.limit_a : b.blow_a) - std::abs(s.amperes(index));
}

std::vector<Entry> volts_entries(NodeId a, NodeId b) {
  std::vector<Entry> entries;
  if (!a.is_none()) entries.push_back({a.index(), 1.0});
  if (!b.is_none()) entries.push_back({b.index(), -1.0});
  return entries;
}

// What the state hangs on, as a sum of unknowns.
std::vector<Entry> quantity(const Model& model, const OperatingPoint& rest, const Watch& w) {
  if (w.ampere) return {{rest.layout.current(w.index), 1.0}};
  if (w.kind != Watch::Kind::kFast) return volts_entries(w.a, w.b);
  return volts_entries(model.branches[w.index].a, model.branches[w.index].b);
}

Watch make_watch(const Model& model, const States& states, Watch::Kind kind, std::size_t index) {
  Watch w;
  w.kind = kind;
  w.index = index;
  if (kind == Watch::Kind::kModule) {
    w.a = (*model.modules)[index].supply;
    w.b = (*model.modules)[index].ground;
    return w;
  }
  const Branch& b = model.branches[index];
  w.ampere = kind == Watch::Kind::kLast ||
             (kind == Watch::Kind::kFast && b.kind == ElementKind::kDiode && states.on[index] != 0);
  if (kind == Watch::Kind::kMiddle) {
    const bool coil = b.kind == ElementKind::kRelayCoil;
    w.a = coil ? b.a : b.c;
    w.b = coil ? b.b : b.d;
  }
  return w;
}

}  // namespace

double margin_of(const Model& model, const States& states, const Solution& solution, const Watch& w) {
  if (w.kind == Watch::Kind::kModule) {
    if (model.dead[w.index] != 0) return kNeverMoves;
    return std::abs(solution.between(w.a, w.b) - (*model.modules)[w.index].alive_above_v);
  }
  const Branch& b = model.branches[w.index];
  const bool on = states.on[w.index] != 0;
  switch (w.kind) {
    case Watch::Kind::kFast:
      return fast_margin(b, on, w.index, solution);
    case Watch::Kind::kLast:
      return last_margin(b, on, w.index, solution);
    default:
      return middle_margin(b, on, w, solution);
  }
}

bool margin_is_current(const Model& model, const States& states, const Watch& w) {
  if (w.kind == Watch::Kind::kLast) return true;
  return w.kind == Watch::Kind::kFast && model.branches[w.index].kind == ElementKind::kDiode && states.on[w.index] != 0;
}

Watches::Watches(const Model& model, const Stateful& stateful, const OperatingPoint& rest, sparse::HalfSolver& halves) {
  const auto add = [&](Watch::Kind kind, std::size_t index) {
    Watch w = make_watch(model, rest.states, kind, index);
    w.margin = std::max(margin_of(model, rest.states, rest, w), kLeastMargin);
    if (const Branch& b = model.branches[index]; kind == Watch::Kind::kFast && b.kind == ElementKind::kLamp) {
      const bool cold = std::abs(rest.states.lamp_v[index]) < kColdLamp * b.volt;
      w.margin = (cold ? kFarColdLampMargin : kFarLampMargin) * b.volt;
    }
    half_.push_back(halves.right(quantity(model, rest, w)));
    double& least = w.ampere ? least_ampere_ : least_volt_;
    least = std::min(least, w.margin);
    all_.push_back(w);
  };
  for (const std::size_t i : stateful.fast) add(Watch::Kind::kFast, i);
  for (const std::size_t i : stateful.middle)
    if (model.branches[i].kind != ElementKind::kDriver || !model.branches[i].c.is_none())  // else its module's alone
      add(Watch::Kind::kMiddle, i);
  for (const std::size_t i : stateful.last) add(Watch::Kind::kLast, i);
  for (const circuit::ModuleId m : stateful.modules) add(Watch::Kind::kModule, m.index());
  list_places(halves.size());
}

void Watches::list_places(std::size_t places) {
  start_.assign(places + 1, 0);
  hub_start_.assign(places + 1, 0);
  for (const Half& h : half_)
    for (const std::uint32_t place : h.index) ++start_[place + 1];
  for (std::size_t place = 0; place < places; ++place) {
    if (start_[place + 1] > kHub) std::swap(start_[place + 1], hub_start_[place + 1]);
    start_[place + 1] += start_[place];
    hub_start_[place + 1] += hub_start_[place];
  }
  list_.resize(start_.back());
  at_hub_.resize(hub_start_.back());
  std::vector<std::uint32_t> at(start_.begin(), start_.end() - 1);
  std::vector<std::uint32_t> hub_at(hub_start_.begin(), hub_start_.end() - 1);
  for (std::uint32_t w = 0; w < half_.size(); ++w)
    for (std::size_t k = 0; k < half_[w].size(); ++k) {
      const std::uint32_t place = half_[w].index[k];
      if (start_[place + 1] > start_[place])
        list_[at[place]++] = w;
      else
        at_hub_[hub_at[place]++] = {static_cast<double>(std::abs(half_[w].value[k])) / all_[w].margin, w};
    }
  for (std::size_t place = 0; place < places; ++place)
    std::sort(
        at_hub_.begin() + hub_start_[place], at_hub_.begin() + hub_start_[place + 1],
        [](const AtHub& a, const AtHub& b) { return a.share != b.share ? a.share > b.share : a.watch < b.watch; });
}

void Watches::meet(const Half& left, std::vector<std::uint32_t>& near) const {
  for (const std::uint32_t place : left.index)
    near.insert(near.end(), list_.begin() + start_[place], list_.begin() + start_[place + 1]);
}

// A state moves by the sum over the hubs it shares with the change. If it moves by more than `share`, one of the hubs
// gives it more than its part of that.
void Watches::move(const sparse::Spread& change, const std::vector<char>& noted, double share,
                   std::vector<std::uint32_t>& moved) const {
  std::size_t hubs = 0;
  for (const std::uint32_t place : change.touched()) hubs += hub_start_[place + 1] > hub_start_[place] ? 1U : 0U;
  std::vector<std::uint32_t> asked;
  for (const std::uint32_t place : change.touched()) {
    const double here = std::abs(static_cast<double>(change[place])) * static_cast<double>(hubs);
    for (std::uint32_t k = hub_start_[place]; k < hub_start_[place + 1] && here * at_hub_[k].share > share; ++k) {
      const std::uint32_t w = at_hub_[k].watch;
      if (noted[w] == 0) asked.push_back(w);
    }
  }
  // Most stand at many hubs at once.
  std::sort(asked.begin(), asked.end());
  asked.erase(std::unique(asked.begin(), asked.end()), asked.end());
  std::copy_if(asked.begin(), asked.end(), std::back_inserter(moved),
               [&](std::uint32_t w) { return std::abs(shift(w, change)) > share * all_[w].margin; });
}

}  // namespace halfsplit::electrical
