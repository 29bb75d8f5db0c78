// SPDX-License-Identifier: Apache-2.0
// The same faults are put in for every reading, and the worst of them take thirty small systems, or a power-up of the
// whole, until they rest. Where a fault came to stand - what it was found able to move, and how that stands - is kept:
// put in again it is one small system, the same as the last one then was, to the last bit. What was powered up as a
// whole is brought back to updates where these can hold it.
#include <algorithm>
#include <cmath>

#include "electrical/fault_bench.h"

namespace halfsplit::electrical {

namespace {

using circuit::ElementKind;

constexpr std::size_t kMostLandingBytes = 24'000'000;  // by bench

}  // namespace

std::size_t FaultBench::Landing::bytes() const {
  constexpr std::size_t kItself = 400;  // and the changes by which it is found
  return kItself + watches.size() * sizeof(std::uint32_t) + moved.size() * sizeof(Moved) +
         (modules.size() + filaments.size() + gone.size()) * 2 * sizeof(double);
}

void FaultBench::keep_landing() {
  if (landing_bytes_ > kMostLandingBytes) return;
  Landing landing{fault_status_, all_noted_, noted_watches_, {}, {}, {}, states_.gone};
  const States& rest = rest_.point().states;
  for (const std::size_t i : noted_branches_)
    if (states_.on[i] != rest.on[i] || states_.tripped[i] != rest.tripped[i])
      landing.moved.push_back({static_cast<std::uint32_t>(i), states_.on[i], states_.tripped[i]});
  for (const circuit::ModuleId m : near_.modules)
    if (states_.alive[m.index()] != rest.alive[m.index()])
      landing.modules.emplace_back(m.value, states_.alive[m.index()]);
  for (const std::size_t i : near_.fast)
    if (model_.branches[i].kind == ElementKind::kLamp)
      landing.filaments.emplace_back(static_cast<std::uint32_t>(i), states_.lamp_v[i]);
  landing_bytes_ += landing.bytes();
  landings_.insert_or_assign(changes_, std::move(landing));
}

bool FaultBench::land_again() {
  const auto found = landings_.find(changes_);
  if (found == landings_.end()) return false;
  stand_at(found->second);
  only_nearby_ = true;  // what else it can move was looked at when it first stood so
  const bool solved = solve_updates();
  only_nearby_ = false;
  if (solved) {
    ++counts_.landed;
    return true;
  }
  landings_.erase(found);
  restore();
  patch_model();
  return false;
}

void FaultBench::stand_at(const Landing& landing) {
  note_patched();
  for (const std::uint32_t w : landing.watches) note_watch(w);
  all_noted_ = landing.all_noted;
  for (const Landing::Moved& moved : landing.moved) move_branch(moved.branch, moved.on, moved.tripped);
  for (const auto& [module, alive] : landing.modules) states_.alive[module] = alive;
  for (const auto& [branch, volts] : landing.filaments) {
    states_.lamp_v[branch] = volts;
    near_.fast.push_back(branch);
  }
  std::erase_if(still_lamps_, [&](std::uint32_t w) {
    return std::any_of(landing.filaments.begin(), landing.filaments.end(),
                       [&](const auto& entry) { return entry.first == rest_.watches()[w].index; });
  });
  states_.gone = landing.gone;
  fault_status_ = landing.status;
}

void FaultBench::move_branch(std::size_t branch, char on, char tripped) {
  note_branch(branch);
  states_.on[branch] = on;
  states_.tripped[branch] = tripped;
}

// From a power-up of the whole: its states, held against the circuit at rest, as they will be when they are put so
// again. Where they do not rest as updates, the power-up stays.
void FaultBench::come_back() {
  std::unique_ptr<FaultBench> own = std::move(own_);
  const States& there = own->states();
  restore();
  patch_model();
  note_patched();
  note_moved(there);
  states_.gone = there.gone;
  if (settle_middle() && !move_last(model_, near_, View(*this), states_) && stands_as(there)) {
    keep_landing();
    restore();
    patch_model();
    if (land_again()) return;
  }
  forget_updates();
  own_ = std::move(own);
  fault_status_ = own_->status();
}

void FaultBench::note_moved(const States& there) {
  const States& rest = rest_.point().states;
  for (std::size_t i = 0; i < base_branches_; ++i) {
    if (there.on[i] == rest.on[i] && there.tripped[i] == rest.tripped[i]) continue;
    if (const auto watched = watch_of_.find(i); watched != watch_of_.end())
      for (const std::uint32_t w : watched->second) note_watch(w);
    move_branch(i, there.on[i], there.tripped[i]);
  }
  for (std::size_t m = 0; m < rest.alive.size(); ++m) {
    if (there.alive[m] == rest.alive[m]) continue;
    note_watch(module_watch_[m]);
    states_.alive[m] = there.alive[m];
  }
  const Watches& watches = rest_.watches();
  for (std::uint32_t w = 0; w < watches.all().size(); ++w) {
    if (!is_lamp(w)) continue;
    const std::size_t i = watches[w].index;
    if (!is_patched(i) && std::abs(there.lamp_v[i] - rest.lamp_v[i]) <= still_volts(w)) continue;
    note_watch(w);
    std::erase(still_lamps_, w);
    near_.fast.push_back(i);
    states_.lamp_v[i] = there.lamp_v[i];
  }
}

bool FaultBench::stands_as(const States& there) const {
  for (std::size_t i = 0; i < base_branches_; ++i)
    if (states_.on[i] != there.on[i] || states_.tripped[i] != there.tripped[i]) return false;
  return states_.alive == there.alive;
}

}  // namespace halfsplit::electrical
