// SPDX-License-Identifier: Apache-2.0
// Two circuits are solved: with what comes and goes, and without. Time is cut into spells of the two; each module's
// messages are laid along it and kept as far as they arrive. At the end frames are put one behind the other, as a bus
// does.
#include "app/virtual_bus.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <optional>
#include <string>

#include "base/rng.h"
#include "can/j1939_groups.h"
#include "can/j1939_id.h"
#include "can/j1939_name.h"
#include "can/parameters.h"
#include "can/trouble_codes.h"
#include "circuit/code_names.h"
#include "predict/bus.h"
#include "predict/recorded.h"

namespace halfsplit::app {

namespace {

using circuit::ModuleId;

// All ours.
constexpr double kLeastSpell_s = 0.4, kMostSpell_s = 3.5;   // there
constexpr double kLeastRest_s = 4.0, kMostRest_s = 20.0;    // gone
constexpr double kLeastStart_s = 0.15, kMostStart_s = 0.6;  // from supply to address claim
constexpr double kCodeAfter_s = 1.0;                        // a monitor waits before it says so, and before it lets go
constexpr double kJitter = 0.04;                            // of a period, one sigma, held within a quarter
constexpr double kHeartbeat_s = 1.0;                        // of a module whose messages the drawing leaves out
constexpr double kAskEvery_s = 5.0;                         // messages sent on request
constexpr double kAnswer_s = 0.02;
constexpr double kPacketGap_s = 0.05;  // of a broadcast in packets (SAE J1939-21)
constexpr std::uint32_t kHeartbeatPgn = 0xFF00, kDrawnPgn = 0xFF80, kSupplyPgn = 65271;

std::uint32_t id_of(std::uint32_t pgn, std::uint8_t source, std::uint8_t destination = can::kGlobalAddress,
                    std::uint8_t priority = 6) {
  return can::join_j1939_id(can::make_j1939_id(pgn, source, destination, priority));
}

std::int64_t us(double seconds) { return std::llround(seconds * 1.0e6); }

// One kind of moment.
struct Circuit {
  std::vector<char> alive;
  std::vector<double> heard;  // by module: share that arrives at the tap
  std::vector<double> supply_v;
  std::vector<char> active;     // by code
  std::vector<double> answers;  // by message on request: question and answer between the two
};

struct Spell {
  double from_s = 0.0, to_s = 0.0;
  bool shown = false;
};

can::TroubleCode reported(const circuit::SpnFmi& code) {
  can::TroubleCode told;
  told.spn = code.spn;
  told.fmi = static_cast<std::uint8_t>(code.fmi);
  told.occurrences = 1;
  return told;
}

class BusTapper {
 public:
  BusTapper(const VirtualVehicle& vehicle, const TapOptions& options, const std::vector<fault::RepairId>& repaired)
      : vehicle_(vehicle), options_(options), loom_(vehicle.scene().loom), rng_(options.seed) {
    for (const circuit::Code& code : loom_.codes) fitted_.push_back(rng_.chance(code.chance) ? 1 : 0);
    tap_ = predict::tap_of(vehicle.scene(), options.tap);
    gone_ = solve(false, repaired);
    shown_ = vehicle.comes_and_goes(repaired) ? solve(true, repaired) : gone_;
    draw_spells(vehicle.comes_and_goes(repaired));
  }

  TappedBus record() {
    for (std::size_t m = 0; m < loom_.modules.size(); ++m) {
      find_uptimes(ModuleId(m));
      if (loom_.modules[m].address) tell_claims(ModuleId(m));
      tell_codes(ModuleId(m));
    }
    for (std::size_t i = 0; i < loom_.messages.size(); ++i) {
      if (loom_.messages[i].every_ms > 0.0)
        tell_cyclic(loom_.messages[i]);
      else
        tell_on_request(i);
    }
    tell_heartbeats();
    return in_order();
  }

 private:
  [[nodiscard]] const Circuit& at(double time_s) const {
    for (const Spell& spell : spells_)
      if (time_s < spell.to_s) return spell.shown ? shown_ : gone_;
    return gone_;
  }

  Circuit solve(bool shown, const std::vector<fault::RepairId>& repaired) {
    const predict::Scene scene = vehicle_.scene();
    predict::SlowView view = vehicle_.circuit(options_.tap.configuration, shown, repaired);
    Circuit circuit;
    for (std::size_t m = 0; m < loom_.modules.size(); ++m) {
      const circuit::ModuleWiring& wiring = scene.netlist.modules[m];
      const bool seated = !wiring.seats.empty();
      circuit.alive.push_back(view.settled() && view.alive(ModuleId(m)) ? 1 : 0);
      circuit.heard.push_back(view.settled() && seated ? predict::heard_at(scene, view, ModuleId(m), tap_) : 0.0);
      circuit.supply_v.push_back(view.settled() ? view.evaluate({wiring.supply, wiring.ground, 0, false}).measured.value
                                                : 0.0);
    }
    for (const circuit::Code& code : loom_.codes)
      circuit.active.push_back(view.settled() && predict::condition_chance(scene, view, code) > 0.5 ? 1 : 0);
    for (const circuit::Message& message : loom_.messages) {
      const bool asked = message.every_ms <= 0.0 && !message.to.empty() && view.settled();
      circuit.answers.push_back(asked ? predict::arrival(scene, view, message.to.front(), message.from) : 0.0);
    }
    return circuit;
  }

  void draw_spells(bool comes_and_goes) {
    double time_s = 0.0;
    bool shown = comes_and_goes && rng_.chance(0.3);
    while (time_s < options_.seconds) {
      const double length = !comes_and_goes ? options_.seconds
                            : shown         ? rng_.log_uniform(kLeastSpell_s, kMostSpell_s)
                                            : rng_.log_uniform(kLeastRest_s, kMostRest_s);
      spells_.push_back({time_s, time_s + length, shown});
      time_s += length;
      shown = comes_and_goes && !shown;
    }
  }

  // When each module is up: from its start after supply to the loss of it.
  void find_uptimes(ModuleId module) {
    std::vector<Spell>& up = uptimes_.emplace_back();
    bool was_alive = false;
    for (std::size_t i = 0; i < spells_.size(); ++i) {
      const Circuit& circuit = spells_[i].shown ? shown_ : gone_;
      const bool alive = circuit.alive[module.index()] != 0;
      if (alive && !was_alive) {
        // At the beginning of the recording the vehicle has been on for long.
        const double start =
            i == 0 ? -rng_.uniform(0.0, 1.0) : spells_[i].from_s + rng_.uniform(kLeastStart_s, kMostStart_s);
        up.push_back({start, spells_[i].to_s, false});
      } else if (alive) {
        up.back().to_s = spells_[i].to_s;
      }
      was_alive = alive;
    }
  }

  [[nodiscard]] const Spell* up_at(ModuleId module, double time_s) const {
    for (const Spell& up : uptimes_[module.index()])
      if (time_s >= up.from_s && time_s < up.to_s) return &up;
    return nullptr;
  }

  [[nodiscard]] std::optional<std::uint8_t> address_of(ModuleId module) const {
    const auto& address = loom_.modules[module.index()].address;
    return address ? std::optional(static_cast<std::uint8_t>(*address)) : std::nullopt;
  }

  // Put on the bus at `time_s` by a module: kept if it is up then and arrives at the tap.
  void send(ModuleId module, double time_s, std::uint32_t id, bool extended, const std::vector<std::uint8_t>& bytes) {
    if (time_s < 0.0 || time_s >= options_.seconds || up_at(module, time_s) == nullptr) return;
    if (!rng_.chance(at(time_s).heard[module.index()])) return;
    can::Frame frame;
    frame.time_us = options_.start_us + us(time_s);
    frame.id = id;
    frame.extended = extended;
    frame.length = static_cast<std::uint8_t>(std::min<std::size_t>(bytes.size(), 8));
    std::copy_n(bytes.begin(), frame.length, frame.data.begin());
    frames_.push_back(frame);
  }

  void tell_claims(ModuleId module) {
    const std::uint8_t address = *address_of(module);
    can::J1939Name who;  // says no more than who it is: function 255, not available (SAE J1939-81)
    who.identity_number = static_cast<std::uint32_t>(module.index() + 1);
    who.function = 255;
    who.arbitrary_address_capable = true;
    const std::array<std::uint8_t, 8> name = can::write_j1939_name(can::join_j1939_name(who));
    for (const Spell& up : uptimes_[module.index()])
      send(module, up.from_s, id_of(can::kPgnAddressClaimed, address), true, {name.begin(), name.end()});
  }

  [[nodiscard]] std::vector<std::uint8_t> contents(const circuit::Message& message, double time_s) {
    std::vector<std::uint8_t> bytes(8, 0xFF);  // not available
    if (message.pgn != kSupplyPgn) return bytes;
    const can::Parameter* volts = can::find_parameter(can::kSpnBatteryVoltage);
    if (volts == nullptr || volts->pgn != kSupplyPgn || volts->length_bits != 16) return bytes;
    const double v = at(time_s).supply_v[message.from.index()];
    const auto raw =
        static_cast<std::uint32_t>(std::clamp(std::round((v - volts->offset) / volts->per_bit), 0.0, 64255.0));
    bytes[volts->start_byte - 1U] = static_cast<std::uint8_t>(raw & 0xFFU);
    bytes[volts->start_byte] = static_cast<std::uint8_t>(raw >> 8U);
    return bytes;
  }

  [[nodiscard]] std::optional<std::pair<std::uint32_t, bool>> identifier_of(const circuit::Message& message) const {
    if (message.id) return std::pair{*message.id, *message.id > can::kLargestStandardId};
    const std::optional<std::uint8_t> address = address_of(message.from);
    if (!address) return std::nullopt;
    // A message of the drawing without a number: some proprietary group, to all.
    if (!message.pgn) {
      const auto at = static_cast<std::uint32_t>(&message - loom_.messages.data());
      return std::pair{id_of(kDrawnPgn + (at & 0x7FU), *address), true};
    }
    const bool to_one = message.to.size() == 1 && address_of(message.to.front()).has_value();
    const std::uint8_t destination = to_one ? *address_of(message.to.front()) : can::kGlobalAddress;
    return std::pair{id_of(*message.pgn, *address, destination), true};
  }

  void tell_cyclic(const circuit::Message& message) {
    const auto id = identifier_of(message);
    if (!id) return;
    const double period = message.every_ms / 1000.0;
    const double phase = rng_.uniform(0.0, period);
    for (const Spell& up : uptimes_[message.from.index()])
      for (double time_s = std::max(up.from_s, 0.0) + phase; time_s < std::min(up.to_s, options_.seconds);
           time_s += period) {
        const double jitter = std::clamp(kJitter * rng_.normal(), -0.25, 0.25) * period;
        send(message.from, time_s + jitter, id->first, id->second, contents(message, time_s));
      }
  }

  // The first of those that wait for it asks; the sender answers what it hears.
  void tell_on_request(std::size_t index) {
    const circuit::Message& message = loom_.messages[index];
    const auto id = identifier_of(message);
    if (!id || !message.pgn || message.to.empty()) return;
    const ModuleId asks = message.to.front();
    const std::optional<std::uint8_t> from = address_of(asks), to = address_of(message.from);
    if (!from || !to) return;
    const std::uint32_t request = id_of(can::kPgnRequest, *from, *to);
    const std::vector<std::uint8_t> what{static_cast<std::uint8_t>(*message.pgn & 0xFFU),
                                         static_cast<std::uint8_t>(*message.pgn >> 8U & 0xFFU),
                                         static_cast<std::uint8_t>(*message.pgn >> 16U)};
    for (double time_s = rng_.uniform(0.0, kAskEvery_s); time_s < options_.seconds; time_s += kAskEvery_s) {
      send(asks, time_s, request, true, what);
      if (up_at(asks, time_s) != nullptr && rng_.chance(at(time_s).answers[index]))
        send(message.from, time_s + kAnswer_s, id->first, id->second, contents(message, time_s));
    }
  }

  // A module of the drawing that sends nothing there: still it is on the bus.
  void tell_heartbeats() {
    for (std::size_t m = 0; m < loom_.modules.size(); ++m) {
      const bool sends = std::any_of(loom_.messages.begin(), loom_.messages.end(), [&](const circuit::Message& one) {
        return one.from == ModuleId(m) && one.every_ms > 0.0 && identifier_of(one);
      });
      const std::optional<std::uint8_t> address = address_of(ModuleId(m));
      if (sends || !address) continue;
      circuit::Message beat;
      beat.from = ModuleId(m);
      beat.pgn = kHeartbeatPgn + (m & 0x7FU);
      beat.every_ms = kHeartbeat_s * 1000.0;
      tell_cyclic(beat);
    }
  }

  [[nodiscard]] bool active_at(std::size_t code, double time_s, const Spell& up) const {
    // What was so all the while a monitor waits.
    for (double back = 0.0; back <= kCodeAfter_s; back += kCodeAfter_s / 4.0)
      if (time_s - back < up.from_s || at(std::max(0.0, time_s - back)).active[code] == 0) return false;
    return true;
  }

  // Active codes each second, in packets when they are many.
  void tell_codes(ModuleId module) {
    const std::optional<std::uint8_t> address = address_of(module);
    if (!address) return;
    const double phase = rng_.uniform(0.0, 1.0);
    for (const Spell& up : uptimes_[module.index()])
      for (double time_s = std::max(up.from_s, 0.0) + phase; time_s < std::min(up.to_s, options_.seconds);
           time_s += 1.0) {
        can::CodeReport report;
        for (std::size_t c = 0; c < loom_.codes.size(); ++c) {
          const std::optional<circuit::SpnFmi> code = circuit::spn_fmi_of(loom_, loom_.codes[c]);
          if (loom_.codes[c].module == module && fitted_[c] != 0 && code && active_at(c, time_s, up))
            report.codes.push_back(reported(*code));
        }
        if (!report.codes.empty()) report.lamps.amber_warning = can::LampState::kOn;
        send_long(module, *address, time_s, can::kPgnActiveCodes, can::write_code_report(report));
      }
  }

  void send_long(ModuleId module, std::uint8_t address, double time_s, std::uint32_t pgn,
                 const std::vector<std::uint8_t>& bytes) {
    if (bytes.size() <= 8) return send(module, time_s, id_of(pgn, address), true, bytes);
    const auto byte = [](std::size_t value) { return static_cast<std::uint8_t>(value & 0xFFU); };
    const std::size_t packets = (bytes.size() + 6) / 7;
    send(module, time_s, id_of(can::kPgnTransportControl, address, can::kGlobalAddress, 7), true,
         {0x20, byte(bytes.size()), byte(bytes.size() >> 8U), byte(packets), 0xFF, byte(pgn), byte(pgn >> 8U),
          byte(pgn >> 16U)});
    for (std::size_t p = 0; p < packets; ++p) {
      std::vector<std::uint8_t> packet{byte(p + 1)};
      for (std::size_t i = p * 7; i < p * 7 + 7; ++i) packet.push_back(i < bytes.size() ? bytes[i] : 0xFF);
      send(module, time_s + kPacketGap_s * static_cast<double>(p + 1),
           id_of(can::kPgnTransportData, address, can::kGlobalAddress, 7), true, packet);
    }
  }

  // One frame at a time on the bus: what meets is sent in the order of identifiers.
  TappedBus in_order() {
    std::sort(frames_.begin(), frames_.end(), [](const can::Frame& a, const can::Frame& b) {
      return std::pair(a.time_us, a.id) < std::pair(b.time_us, b.id);
    });
    const double bit_us = 1000.0 / loom_.buses.at(options_.tap.bus.index()).bit_rate;
    std::int64_t free_us = 0;
    TappedBus tapped;
    for (can::Frame& frame : frames_) {
      frame.time_us = std::max(frame.time_us, free_us);
      const double bits = (frame.extended ? 67.0 : 47.0) + 8.0 * frame.length;  // without stuff bits
      free_us = frame.time_us + std::llround(bits * bit_us);
      frame.line = tapped.frames.size() + 1;
      tapped.frames.push_back(frame);
    }
    for (const Spell& spell : spells_) tapped.spells += spell.shown ? 1 : 0;
    return tapped;
  }

  const VirtualVehicle& vehicle_;
  const TapOptions& options_;
  const circuit::Loom& loom_;
  base::Rng rng_;
  predict::BusTap tap_;
  std::vector<char> fitted_;  // by code
  Circuit gone_, shown_;
  std::vector<Spell> spells_;
  std::vector<std::vector<Spell>> uptimes_;  // by module
  std::vector<can::Frame> frames_;
};

}  // namespace

TappedBus tap_bus(const VirtualVehicle& vehicle, const TapOptions& options,
                  const std::vector<fault::RepairId>& repaired) {
  return BusTapper(vehicle, options, repaired).record();
}

}  // namespace halfsplit::app
