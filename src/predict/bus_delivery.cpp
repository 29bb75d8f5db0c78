// SPDX-License-Identifier: Apache-2.0
// Messages over buses and the gateways between them. What one sender's messages come to is worked out once for each
// circuit, whoever asks.
#include <algorithm>
#include <cstdint>
#include <vector>

#include "predict/bus.h"

namespace halfsplit::predict {

namespace {

using circuit::BusId;
using circuit::ModuleId;
using circuit::Transceiver;

// Best chance of a message, by module, over buses and the gateways between; at the end the reader's.
class Delivery {
 public:
  // `reader_bus`: on which the reader takes part; none: on no bus.
  Delivery(const Scene& scene, CircuitView& view, BusId reader_bus, const BusTap* tap = nullptr)
      : scene_(scene), view_(view), reader_bus_(reader_bus), tap_(tap), best_(scene.loom.modules.size() + 1, 0.0) {}

  // All seats of a bus hear what one of its seats sends; the reader is seat number BusPicture::seats.
  void send(BusId bus, std::size_t seat, double chance) {
    const bool with_reader = bus == reader_bus_;
    const std::shared_ptr<const BusPicture> kept = picture_of(bus, with_reader ? tap_ : nullptr);
    const BusPicture& picture = *kept;
    const circuit::BusWiring& wiring = scene_.netlist.buses[bus.index()];
    const std::size_t n = picture.seats + (with_reader ? 1 : 0);
    const double* arrives = (with_reader ? picture.arrives_with_reader : picture.arrives).data() + seat * n;
    for (std::size_t r = 0; r < n; ++r) {
      if (r == seat) continue;
      const bool module = r < picture.seats;
      better(module ? scene_.netlist.transceivers[wiring.seats[r]].module.index() : best_.size() - 1,
             chance * arrives[r]);
    }
  }

  void send_from(ModuleId module, BusId only) {
    for (const std::size_t s : scene_.netlist.modules[module.index()].seats) {
      const Transceiver& seat = scene_.netlist.transceivers[s];
      if (only.is_none() || only == seat.bus) send(seat.bus, seat.place, 1.0);
    }
  }

  std::vector<double> through_gateways() {
    while (!changed_.empty()) {
      const ModuleId module(changed_.back());
      changed_.pop_back();
      if (!view_.alive(module) || view_.flags().pass_nothing.contains(module)) continue;
      const std::vector<BusId>& passes = scene_.loom.modules[module.index()].gateway;
      for (const std::size_t s : scene_.netlist.modules[module.index()].seats) {
        const Transceiver& seat = scene_.netlist.transceivers[s];
        if (std::find(passes.begin(), passes.end(), seat.bus) != passes.end())
          send(seat.bus, seat.place, best_[module.index()]);
      }
    }
    return std::move(best_);
  }

 private:
  std::shared_ptr<const BusPicture> picture_of(BusId bus, const BusTap* tap) {
    std::shared_ptr<const BusPicture> at_rest = tap == nullptr ? view_.picture_at_rest(bus) : nullptr;
    return at_rest != nullptr ? at_rest : bus_picture(scene_, view_, bus, tap);
  }

  void better(std::size_t at, double chance) {
    if (chance <= best_[at]) return;
    best_[at] = chance;
    if (at + 1 < best_.size() && !scene_.loom.modules[at].gateway.empty()) changed_.push_back(at);
  }

  const Scene& scene_;
  CircuitView& view_;
  BusId reader_bus_;
  const BusTap* tap_;  // null: where the reader is drawn
  std::vector<double> best_;
  std::vector<std::size_t> changed_;  // gateways that have it, or have it better
};

bool has_seat(const Scene& scene, ModuleId module) { return !scene.netlist.modules.at(module.index()).seats.empty(); }

// Of what `from` sends; `bus` none: on all its buses.
const std::vector<double>& delivery_of(const Scene& scene, CircuitView& view, ModuleId from, BusId bus,
                                       BusId reader_bus) {
  const std::uint64_t key =
      (std::uint64_t{from.value} << 32U) | (std::uint64_t{bus.value & 0xFFFFU} << 16U) | (reader_bus.value & 0xFFFFU);
  const auto found = view.deliveries().find(key);
  if (found != view.deliveries().end()) return found->second;
  Delivery way(scene, view, reader_bus);
  way.send_from(from, bus);
  return view.deliveries().emplace(key, way.through_gateways()).first->second;
}

// Of what the reader asks.
const std::vector<double>& questions(const Scene& scene, CircuitView& view, BusId bus) {
  constexpr std::uint64_t kReader = ~std::uint64_t{0};
  const auto found = view.deliveries().find(kReader);
  if (found != view.deliveries().end()) return found->second;
  Delivery way(scene, view, bus);
  way.send(bus, scene.netlist.buses[bus.index()].seats.size(), 1.0);
  return view.deliveries().emplace(kReader, way.through_gateways()).first->second;
}

}  // namespace

double arrival(const Scene& scene, CircuitView& view, ModuleId from, ModuleId to, BusId bus) {
  if (!view.alive(from) || !view.alive(to)) return 0.0;
  if (from == to || !has_seat(scene, from) || !has_seat(scene, to)) return 1.0;
  return delivery_of(scene, view, from, bus, {})[to.index()];
}

double heard_at(const Scene& scene, CircuitView& view, ModuleId from, const BusTap& tap) {
  if (!view.alive(from)) return 0.0;
  const auto key = std::make_pair(tap, from);
  if (const auto found = view.tapped().heard.find(key); found != view.tapped().heard.end()) return found->second;
  const circuit::BusWiring& wiring = scene.netlist.buses.at(tap.bus.index());
  const bool drawn = tap.high == wiring.reader_high && tap.low == wiring.reader_low;
  Delivery way(scene, view, tap.bus, drawn ? nullptr : &tap);
  way.send_from(from, {});
  const double chance = way.through_gateways().back();
  return view.tapped().heard[key] = chance;
}

double reader_reaches(const Scene& scene, CircuitView& view, ModuleId module) {
  if (!view.alive(module)) return 0.0;
  if (scene.netlist.transceivers.empty() || !has_seat(scene, module)) return 1.0;
  for (std::size_t b = 0; b < scene.netlist.buses.size(); ++b) {
    if (scene.netlist.buses[b].reader_high.is_none()) continue;
    const double asked = questions(scene, view, BusId(b))[module.index()];
    return asked * delivery_of(scene, view, module, {}, BusId(b)).back();
  }
  const ModuleId host = scene.netlist.transceivers.front().module;
  if (host == module || !view.alive(host)) return 1.0;
  return arrival(scene, view, host, module) * arrival(scene, view, module, host);
}

}  // namespace halfsplit::predict
