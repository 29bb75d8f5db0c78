// SPDX-License-Identifier: Apache-2.0
#include "electrical/watches.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace halfsplit::electrical {

namespace {

using circuit::ElementKind;
using sparse::Entry;
using sparse::Half;

constexpr std::size_t kHub = 12;  // a place where more states meet is a hub
constexpr double kLampMargin =
    1.0e-4;  // of the rated volts: a filament's tangent is good that far, to 1e-8 of its current
constexpr double kLeastMargin = 1.0e-9;
constexpr double kNever = std::numeric_limits<double>::infinity();

double between(const Solution& s, NodeId a, NodeId b) { return s.together(a, b) ? s.volts(a) - s.volts(b) : 0.0; }

// Below pull-in a coil that is in could rest either way, and so could one that is out above drop-out.
double coil_margin(const Branch& b, double v, bool in) { return in ? v - b.volt : b.drop_out_v - v; }

double fast_margin(const Branch& b, bool on, std::size_t index, const Solution& s) {
  if (b.kind == ElementKind::kLamp) return kLampMargin * b.volt;
  if (on) return s.amperes(index);
  return b.force == 0 || !b.connected ? kNever : b.volt - (s.volts(b.a) - s.volts(b.b));
}

double middle_margin(const Branch& b, bool on, const Watch& w, const Solution& s) {
  const double v = between(s, w.a, w.b);
  if (b.kind == ElementKind::kRelayCoil) return b.force == 0 ? kNever : coil_margin(b, std::abs(v), on);
  return std::abs(v - (b.kind == ElementKind::kRatio ? b.volt : b.follows_v));
}

double last_margin(const Branch& b, bool on, std::size_t index, const Solution& s) {
  const bool driver = b.kind == ElementKind::kDriver;
  if (!on || b.force == 0 || (driver && b.force == 1)) return kNever;
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
    if (model.dead[w.index] != 0) return kNever;
    return std::abs(between(solution, w.a, w.b) - (*model.modules)[w.index].alive_above_v);
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

Watches::Watches(const Model& model, const Stateful& stateful, const OperatingPoint& rest,
                 const sparse::HalfSolver& halves) {
  std::vector<Half> half;
  const auto add = [&](Watch::Kind kind, std::size_t index) {
    Watch w = make_watch(model, rest.states, kind, index);
    w.margin = std::max(margin_of(model, rest.states, rest, w), kLeastMargin);
    half.push_back(halves.right(quantity(model, rest, w)));
    all_.push_back(w);
  };
  for (const std::size_t i : stateful.fast) add(Watch::Kind::kFast, i);
  for (const std::size_t i : stateful.middle)
    if (model.branches[i].kind != ElementKind::kDriver || !model.branches[i].c.is_none())  // else its module's alone
      add(Watch::Kind::kMiddle, i);
  for (const std::size_t i : stateful.last) add(Watch::Kind::kLast, i);
  for (const circuit::ModuleId m : stateful.modules) add(Watch::Kind::kModule, m.index());
  start_.assign(halves.size() + 1, 0);
  hub_share_.assign(halves.size(), 0.0);
  for (const Half& h : half)
    for (const std::uint32_t place : h.index) ++start_[place + 1];
  std::vector<char> hub(halves.size(), 0);
  for (std::size_t place = 0; place < halves.size(); ++place) {
    if (start_[place + 1] > kHub) {
      hub[place] = 1;
      start_[place + 1] = 0;
    }
    start_[place + 1] += start_[place];
  }
  list_.resize(start_.back());
  std::vector<std::uint32_t> at(start_.begin(), start_.end() - 1);
  for (std::size_t w = 0; w < half.size(); ++w)
    for (std::size_t k = 0; k < half[w].size(); ++k) {
      const std::uint32_t place = half[w].index[k];
      if (hub[place] != 0)
        hub_share_[place] =
            std::max(hub_share_[place], static_cast<double>(std::abs(half[w].value[k])) / all_[w].margin);
      else
        list_[at[place]++] = static_cast<std::uint32_t>(w);
    }
}

void Watches::meet(const Half& left, std::vector<std::uint32_t>& near) const {
  for (const std::uint32_t place : left.index)
    near.insert(near.end(), list_.begin() + start_[place], list_.begin() + start_[place + 1]);
}

double Watches::far_share(const Half& left) const {
  double sum = 0.0;
  for (std::size_t k = 0; k < left.size(); ++k)
    sum += static_cast<double>(std::abs(left.value[k])) * hub_share_[left.index[k]];
  return sum;
}

}  // namespace halfsplit::electrical
