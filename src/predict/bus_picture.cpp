// SPDX-License-Identifier: Apache-2.0
// From levels to yes and no, at five thresholds, and through the protocol's rules to what arrives.
#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <utility>

#include "predict/bus.h"
#include "predict/bus_heard.h"

namespace halfsplit::predict {

namespace {

using circuit::BusId;
using circuit::BusKindRecord;
using circuit::BusReading;
using circuit::Transceiver;

// Yes or no at a threshold so many sigmas up, over all ways of reading. `seats`: the first so many.
can::Hearing hearing_at(const std::vector<Heard>& ways, double up, std::size_t all, std::size_t seats) {
  can::Hearing hearing;
  hearing.nodes = seats;
  hearing.rests.assign(seats, 0);
  hearing.dominant.assign(seats * seats, 0);
  hearing.returns.assign(seats * seats, 0);
  for (const Heard& way : ways)
    for (std::size_t r = 0; r < seats; ++r) {
      if (way.rests[r] + up <= kLeastSigmas) continue;
      hearing.rests[r] = 1;
      for (std::size_t s = 0; s < seats; ++s) {
        if (way.dominant[s * all + r] - up <= kLeastSigmas) continue;
        hearing.dominant[s * seats + r] = 1;
        if (way.returns[s * all + r] + up > kLeastSigmas) hearing.returns[s * seats + r] = 1;
      }
    }
  // What is not read as dominant need not return.
  for (std::size_t i = 0; i < seats * seats; ++i)
    if (hearing.dominant[i] == 0) hearing.returns[i] = 1;
  return hearing;
}

bool all_good(const Heard& way, const std::vector<char>& takes_part, std::size_t all) {
  for (std::size_t s = 0; s < all; ++s)
    for (std::size_t r = 0; r < all; ++r)
      if (takes_part[s] != 0 && takes_part[r] != 0 &&
          std::min({way.rests[r], way.dominant[s * all + r], way.returns[s * all + r]}) <= kLeastSigmas)
        return false;
  return true;
}

can::Traffic traffic_over(const std::vector<Heard>& ways, const std::vector<char>& takes_part,
                          const std::vector<char>& babbles, std::size_t all, std::size_t seats) {
  can::Traffic sum;
  can::Hearing before;
  can::Traffic last;
  for (const Shift& shift : kShifts) {
    can::Hearing hearing = hearing_at(ways, shift.sigmas, all, seats);
    hearing.takes_part.assign(takes_part.begin(), takes_part.begin() + static_cast<std::ptrdiff_t>(seats));
    hearing.babbles.assign(babbles.begin(), babbles.begin() + static_cast<std::ptrdiff_t>(seats));
    const bool same = before.nodes == seats && seats != 0 && hearing.rests == before.rests &&
                      hearing.dominant == before.dominant && hearing.returns == before.returns;
    if (!same) last = can::traffic_of(hearing);
    before = std::move(hearing);
    if (sum.standing.empty()) {
      sum.standing = last.standing;
      sum.arrives.assign(last.arrives.size(), 0.0);
      sum.busy.assign(last.busy.size(), 0.0);
    }
    for (std::size_t i = 0; i < sum.arrives.size(); ++i) sum.arrives[i] += shift.weight * last.arrives[i];
    for (std::size_t i = 0; i < sum.busy.size(); ++i) sum.busy[i] += shift.weight * last.busy[i];
  }
  for (double& share : sum.arrives) share = std::min(1.0, share);
  return sum;
}

BusPicture draw_picture(const Scene& scene, CircuitView& view, BusId bus, const BusTap* tap) {
  const circuit::BusWiring& wiring = scene.netlist.buses.at(bus.index());
  const BusKindRecord& kind = circuit::bus_kind(wiring.kind);
  BusPicture picture;
  picture.seats = wiring.seats.size();
  picture.reader = tap != nullptr || !wiring.reader_high.is_none();
  if (picture.seats == 0) return picture;
  const std::size_t all = picture.seats + (picture.reader ? 1 : 0);
  std::vector<char> takes_part(all, 1);
  std::vector<char> babbles(all, 0);
  for (std::size_t i = 0; i < picture.seats; ++i) {
    const Transceiver& seat = scene.netlist.transceivers[wiring.seats[i]];
    takes_part[i] = view.alive(seat.module) && !view.flags().mute.contains({seat.module, bus}) ? 1 : 0;
    babbles[i] = view.flags().babbles.contains({seat.module, bus}) ? 1 : 0;
  }
  std::vector<Heard> ways;
  for (const BusReading& reading : kind.readings) {
    BusLevels levels = bus_levels(scene, view, bus, reading, tap);
    ways.push_back(heard_of(scene, bus, levels, reading));
    if (ways.size() == 1) picture.levels = std::move(levels);
    if (ways.size() == 1 && all_good(ways.front(), takes_part, all)) break;
  }
  can::Traffic traffic = traffic_over(ways, takes_part, babbles, all, picture.seats);
  picture.standing = std::move(traffic.standing);
  picture.busy = std::move(traffic.busy);
  picture.arrives = std::move(traffic.arrives);
  if (picture.reader) picture.arrives_with_reader = traffic_over(ways, takes_part, babbles, all, all).arrives;
  picture.margin.assign(picture.seats * picture.seats, -1.0e9);
  for (const Heard& way : ways)
    for (std::size_t s = 0; s < picture.seats; ++s)
      for (std::size_t r = 0; r < picture.seats; ++r) {
        double& best = picture.margin[s * picture.seats + r];
        best = std::max(best, std::min(way.dominant[s * all + r], way.returns[s * all + r]) * way.spread);
      }
  return picture;
}

}  // namespace

BusFlags bus_flags(std::span<const fault::Change> changes) {
  BusFlags flags;
  for (const fault::Change& change : changes) {
    const BusId bus(static_cast<std::size_t>(std::max(0.0, change.value)));
    if (change.kind == fault::Change::Kind::kMute) flags.mute.insert({change.module, bus});
    if (change.kind == fault::Change::Kind::kBabbles) flags.babbles.insert({change.module, bus});
    if (change.kind == fault::Change::Kind::kPassesNothing) flags.pass_nothing.insert(change.module);
  }
  return flags;
}

std::shared_ptr<const BusPicture> bus_picture(const Scene& scene, CircuitView& view, BusId bus, const BusTap* tap) {
  if (tap != nullptr) {
    std::shared_ptr<const BusPicture>& at = view.tapped().pictures[*tap];
    if (at == nullptr) at = std::make_shared<const BusPicture>(draw_picture(scene, view, bus, tap));
    return at;
  }
  std::shared_ptr<const BusPicture> kept = view.picture(bus);
  if (kept != nullptr) return kept;
  kept = std::make_shared<const BusPicture>(draw_picture(scene, view, bus, nullptr));
  view.keep_picture(bus, kept);
  return kept;
}

}  // namespace halfsplit::predict
