// SPDX-License-Identifier: Apache-2.0
#include "predict/circuit_view.h"

#include <algorithm>
#include <utility>

#include "electrical/fault_bench.h"
#include "predict/bus.h"
#include "predict/bus_steady.h"
#include "predict/ways.h"

namespace halfsplit::predict {

using electrical::Functional;
using electrical::Predicted;
using electrical::Probe;
using electrical::StateRef;
using electrical::Status;

FastView::FastView(electrical::FaultBench& bench, std::vector<fault::Change> changes,
                   const electrical::Tolerances& tolerance, BusMemo* memo)
    : bench_(bench), changes_(std::move(changes)), tolerance_(tolerance), memo_(memo) {
  flags_ = bus_flags(changes_);
  bench_.expect(tolerance_);
  bench_.put_fault(changes_);
}

bool FastView::settled() { return bench_.fault_status() == Status::kSettled; }
bool FastView::alive(circuit::ModuleId module) { return bench_.states().alive.at(module.index()) != 0; }

bool FastView::on(std::size_t branch) {
  if (held_ != nullptr)
    for (const auto& [ref, on] : held_->states)
      if (ref.kind != StateRef::Kind::kModule && ref.kind != StateRef::Kind::kCoil && ref.index == branch) return on;
  return bench_.states().on.at(branch) != 0;
}

bool FastView::tripped(std::size_t branch) {
  if (held_ != nullptr)
    for (const auto& [ref, on] : held_->states)
      if (ref.kind == StateRef::Kind::kLimit && ref.index == branch) return !on;
  return bench_.states().tripped.at(branch) != 0;
}

Predicted FastView::read(const Probe& probe) { return bench_.read(probe, tolerance_); }
Predicted FastView::evaluate(const Functional& functional) { return bench_.evaluate(functional, tolerance_); }

electrical::Transfers FastView::transfers(std::span<const electrical::Ends> asked,
                                          std::span<const electrical::Ends> ports) {
  return bench_.transfers(asked, ports);
}

std::shared_ptr<const BusPicture> FastView::picture(circuit::BusId bus) {
  std::shared_ptr<const BusPicture> own = CircuitView::picture(bus);
  if (own != nullptr || memo_ == nullptr || held_ != nullptr) return own;
  std::shared_ptr<const BusPicture> kept = memo_->find(changes_, bus);
  if (kept != nullptr) CircuitView::keep_picture(bus, kept);
  return kept;
}

void FastView::keep_picture(circuit::BusId bus, std::shared_ptr<const BusPicture> picture) {
  if (memo_ != nullptr && held_ == nullptr) memo_->keep(changes_, bus, picture);
  CircuitView::keep_picture(bus, std::move(picture));
}

// Nobody on it has come alive or died, nobody falls silent or babbles, and its levels stay clear of where anybody would
// read them otherwise.
bool FastView::stays(circuit::BusId bus) {
  const BusesAtRest::One& rest = memo_->rest->buses[bus.index()];
  if (!rest.steadiness || !settled()) return false;
  const Steadiness& steady = *rest.steadiness;
  const auto on_it = [&](const auto& entry) { return entry.second == bus; };
  if (std::any_of(flags_.mute.begin(), flags_.mute.end(), on_it) ||
      std::any_of(flags_.babbles.begin(), flags_.babbles.end(), on_it))
    return false;
  const electrical::MostMoved moved = bench_.most_moved(steady.ends);
  return !moved.apart && moved.ohm <= steady.most_ohm &&
         steady.per_volt * moved.volts + steady.per_ohm * moved.ohm <= steady.margin_v;
}

std::shared_ptr<const BusPicture> FastView::picture_at_rest(circuit::BusId bus) {
  if (memo_ == nullptr || memo_->rest == nullptr) return nullptr;
  stays_.resize(memo_->rest->buses.size());
  std::optional<bool>& known = stays_[bus.index()];
  if (!known) known = modules_stay() && stays(bus);
  return *known ? memo_->rest->buses[bus.index()].picture : nullptr;
}

bool FastView::modules_stay() {
  if (!modules_stay_) {
    const std::vector<char>& at_rest = memo_->rest->alive;
    const std::vector<char>& now = bench_.states().alive;
    modules_stay_ = std::equal(at_rest.begin(), at_rest.end(), now.begin(), now.end(),
                               [](char a, char b) { return (a != 0) == (b != 0); });
  }
  return *modules_stay_;
}

bool FastView::all_stay() {
  if (!all_stay_) {
    all_stay_ = memo_ != nullptr && memo_->rest != nullptr && flags_.pass_nothing.empty();
    for (std::size_t b = 0; *all_stay_ && b < memo_->rest->buses.size(); ++b)
      all_stay_ = picture_at_rest(circuit::BusId(b)) != nullptr;
  }
  return *all_stay_;
}

std::unordered_map<std::uint64_t, std::vector<double>>& FastView::deliveries() {
  return all_stay() ? memo_->rest->deliveries : CircuitView::deliveries();
}

void FastView::put(const std::vector<fault::Change>& extra) {
  forget_buses();
  stays_.clear();
  all_stay_.reset();
  modules_stay_.reset();
  std::vector<fault::Change> all = changes_;
  all.insert(all.end(), extra.begin(), extra.end());
  bench_.put_fault(all);
}

void FastView::hold(const Way& way) {
  held_ = &way;
  put(way.held);
}

void FastView::let_go() {
  held_ = nullptr;
  put({});
}

std::uint32_t FastView::print() {
  std::uint32_t print = bench_.print();
  if (held_ == nullptr) return print;
  for (const auto& [ref, on] : held_->states)
    if (electrical::stands_on(bench_.states(), ref) != on) print ^= electrical::print_of(ref);
  return print;
}

const Ways& FastView::ways() {
  if (!ways_) ways_ = find_ways(bench_, changes_, tolerance_);
  return *ways_;
}

// ---- a view without tolerances

std::shared_ptr<const BusPicture> CircuitView::picture(circuit::BusId bus) {
  return bus.index() < pictures_.size() ? pictures_[bus.index()] : nullptr;
}
void CircuitView::keep_picture(circuit::BusId bus, std::shared_ptr<const BusPicture> picture) {
  if (pictures_.size() <= bus.index()) pictures_.resize(bus.index() + 1);
  pictures_[bus.index()] = std::move(picture);
}
std::shared_ptr<const BusPicture> CircuitView::picture_at_rest(circuit::BusId) { return nullptr; }
void CircuitView::forget_buses() {
  pictures_.clear();
  deliveries_.clear();
  tapped_ = {};
}
const Ways& CircuitView::ways() {
  static const Ways only;
  return only;
}
void CircuitView::hold(const Way&) {}
void CircuitView::let_go() {}
std::uint32_t CircuitView::print() { return 0; }

namespace {

Predicted ask(const electrical::OperatingPoint& point, const Functional& functional) {
  Predicted predicted;
  predicted.measured.settled = point.status == Status::kSettled;
  if (!predicted.measured.settled) return predicted;
  predicted.measured.value = functional.current ? point.amperes(functional.branch)
                                                : point.volts(functional.red) - point.volts(functional.black);
  return predicted;
}

}  // namespace

SlowView::SlowView(electrical::Model model, double system_volts, std::span<const fault::Change> changes)
    : model_(std::move(model)), system_volts_(system_volts), point_(electrical::solve_operating_point(model_)) {
  flags_ = bus_flags(changes);
}

bool SlowView::settled() { return point_.status == Status::kSettled; }
bool SlowView::alive(circuit::ModuleId module) { return point_.states.alive.at(module.index()) != 0; }
bool SlowView::on(std::size_t branch) { return point_.states.on.at(branch) != 0; }
bool SlowView::tripped(std::size_t branch) { return point_.states.tripped.at(branch) != 0; }
Predicted SlowView::read(const Probe& probe) {
  return {electrical::measure(model_, point_, probe, system_volts_), 0.0};
}
Predicted SlowView::evaluate(const Functional& functional) { return ask(point_, functional); }

electrical::Transfers SlowView::transfers(std::span<const electrical::Ends> asked,
                                          std::span<const electrical::Ends> ports) {
  if (!lu_) {
    lu_.emplace();
    point_ = electrical::solve_operating_point(model_, std::nullopt, &*lu_);
  }
  return electrical::transfers_of(point_, *lu_, asked, ports);
}

}  // namespace halfsplit::predict
