// SPDX-License-Identifier: Apache-2.0
// Messages over buses and the gateways between them.
#include <algorithm>
#include <vector>

#include "predict/bus.h"

namespace halfsplit::predict {

namespace {

using circuit::BusId;
using circuit::Transceiver;

// Best chance of a message, by module, when each in `start` has it; over buses and the gateways between.
class Delivery {
 public:
  Delivery(const Scene& scene, CircuitView& view) : scene_(scene), view_(view), best_(scene.loom.modules.size(), 0.0) {}

  // All seats of a bus hear what one of its seats sends; the reader is seat number BusPicture::seats.
  void send(BusId bus, std::size_t seat, double chance, bool with_reader) {
    const std::shared_ptr<const BusPicture> kept = bus_picture(scene_, view_, bus);
    const BusPicture& picture = *kept;
    const circuit::BusWiring& wiring = scene_.netlist.buses[bus.index()];
    const std::vector<double>& arrives = with_reader ? picture.arrives_with_reader : picture.arrives;
    const std::size_t n = picture.seats + (with_reader ? 1 : 0);
    for (std::size_t r = 0; r < picture.seats; ++r) {
      double& best = best_[scene_.netlist.transceivers[wiring.seats[r]].module.index()];
      const double now = chance * arrives[seat * n + r];
      if (r == seat || now <= best) continue;
      best = now;
      changed_ = true;
    }
    if (with_reader && seat != picture.seats) reader_ = std::max(reader_, chance * arrives[seat * n + picture.seats]);
  }

  void send_from(circuit::ModuleId module, BusId only, double chance, bool as_gateway, BusId reader_bus) {
    const circuit::Module& drawn = scene_.loom.modules[module.index()];
    for (std::size_t b = 0; b < scene_.netlist.buses.size(); ++b) {
      if (!only.is_none() && only != BusId(b)) continue;
      if (as_gateway && std::find(drawn.gateway.begin(), drawn.gateway.end(), BusId(b)) == drawn.gateway.end())
        continue;
      const circuit::BusWiring& wiring = scene_.netlist.buses[b];
      for (std::size_t i = 0; i < wiring.seats.size(); ++i)
        if (scene_.netlist.transceivers[wiring.seats[i]].module == module)
          send(BusId(b), i, chance, reader_bus == BusId(b));
    }
  }

  void through_gateways(BusId reader_bus) {
    for (std::size_t round = 0; round <= scene_.netlist.buses.size() && changed_; ++round) {
      changed_ = false;
      for (std::size_t m = 0; m < best_.size(); ++m) {
        const circuit::ModuleId module(m);
        if (scene_.loom.modules[m].gateway.empty() || best_[m] <= 0.0) continue;
        if (!view_.alive(module) || view_.flags().pass_nothing.contains(module)) continue;
        send_from(module, {}, best_[m], true, reader_bus);
      }
    }
  }

  [[nodiscard]] double at(circuit::ModuleId module) const { return best_[module.index()]; }
  [[nodiscard]] double at_reader() const { return reader_; }
  [[nodiscard]] bool& changed() { return changed_; }

 private:
  const Scene& scene_;
  CircuitView& view_;
  std::vector<double> best_;
  double reader_ = 0.0;
  bool changed_ = true;
};

bool has_seat(const Scene& scene, circuit::ModuleId module) {
  return std::any_of(scene.netlist.transceivers.begin(), scene.netlist.transceivers.end(),
                     [&](const Transceiver& seat) { return seat.module == module; });
}

}  // namespace

double arrival(const Scene& scene, CircuitView& view, circuit::ModuleId from, circuit::ModuleId to, BusId bus) {
  if (!view.alive(from) || !view.alive(to)) return 0.0;
  if (from == to || !has_seat(scene, from) || !has_seat(scene, to)) return 1.0;
  Delivery way(scene, view);
  way.send_from(from, bus, 1.0, false, {});
  way.through_gateways({});
  return way.at(to);
}

double reader_reaches(const Scene& scene, CircuitView& view, circuit::ModuleId module) {
  if (!view.alive(module)) return 0.0;
  if (scene.netlist.transceivers.empty() || !has_seat(scene, module)) return 1.0;
  for (std::size_t b = 0; b < scene.netlist.buses.size(); ++b) {
    if (scene.netlist.buses[b].reader_high.is_none()) continue;
    Delivery question(scene, view);
    question.send(BusId(b), scene.netlist.buses[b].seats.size(), 1.0, true);
    question.through_gateways(BusId(b));
    Delivery answer(scene, view);
    answer.send_from(module, {}, 1.0, false, BusId(b));
    answer.through_gateways(BusId(b));
    return question.at(module) * answer.at_reader();
  }
  const circuit::ModuleId host = scene.netlist.transceivers.front().module;
  if (host == module || !view.alive(host)) return 1.0;
  return arrival(scene, view, host, module) * arrival(scene, view, module, host);
}

}  // namespace halfsplit::predict
