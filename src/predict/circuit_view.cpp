// SPDX-License-Identifier: Apache-2.0
#include "predict/circuit_view.h"

#include <utility>

#include "electrical/fault_bench.h"
#include "predict/bus.h"
#include "predict/ways.h"

namespace halfsplit::predict {

using electrical::Functional;
using electrical::Predicted;
using electrical::Probe;
using electrical::StateRef;
using electrical::Status;

FastView::FastView(electrical::FaultBench& bench, std::vector<fault::Change> changes,
                   const std::vector<double>& tolerance, BusMemo* memo)
    : bench_(bench), changes_(std::move(changes)), tolerance_(tolerance), memo_(memo) {
  flags_ = bus_flags(changes_);
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

void FastView::put(const std::vector<fault::Change>& extra) {
  forget_buses();
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
