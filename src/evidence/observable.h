// SPDX-License-Identifier: Apache-2.0
// What can be seen on a vehicle: a meter between two points, a code, a live value, a lamp's look, a module's answer,
// the effect of a wiggle - each in a stated configuration. Values only; predict fills in what each fault would show,
// infer weighs what was seen.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "circuit/configuration.h"
#include "circuit/netlist.h"

namespace halfsplit::evidence {

enum class Kind : std::uint8_t {
  kVolts,       // red minus black, 10 Mohm meter
  kOhms,        // supply off
  kContinuity,  // beep or silent, supply off
  kClamp,       // current in a wire, from -> to
  kTestLamp,    // a lamp between two points: bright, dim, dark
  kCode,        // active, past, absent
  kLive,        // value as the module shows it
  kLook,        // a lamp bright/dim/dark, another load works/weak/dead
  kAnswers,     // the module answers the reader, or is silent
  kWiggle,      // the symptom changes while this item is moved, or is steady
  kHeat,        // ... while it is warmed with hot air
  kCool,        // ... while it is cooled with a spray
  kHighest,     // volts at their highest, by a scope or a meter that holds peaks
  kLowest,      // volts at their lowest
  kHeard,       // in a recording of a bus: the module's messages are in it, or never
  kQuiet,       // ... a group of modules went quiet together while others were heard: and restarts, or goes on
  kHears,       // ... a module answers what another one asks
  kInspect,  // a contact, lug, stud, splice or the run of a wire looked at: something is marked there, or it is clean
};

// Categories are indices into the words of the kind.
[[nodiscard]] const std::vector<std::string_view>& categories(Kind kind);  // empty for numeric kinds
[[nodiscard]] bool is_numeric(Kind kind);
[[nodiscard]] std::string_view kind_word(Kind kind);  // "volts", "ohms", ...
[[nodiscard]] std::optional<Kind> find_kind(std::string_view word);
// A meter on volts: the mean, or what a peak hold keeps.
[[nodiscard]] bool is_volts(Kind kind);
// Something is done to an item while the symptom is watched: wiggle, heat, cool. The vehicle may be in any state.
[[nodiscard]] bool provokes(Kind kind);
// Told by a recording of a bus, which spans many moments of a fault that comes and goes.
[[nodiscard]] bool is_recorded(Kind kind);
// Metal or a wire looked at with one's own eyes, whatever the state of the vehicle.
[[nodiscard]] bool is_by_eye(Kind kind);
// Does what it shows hang on how the circuit rests? Not what hands bring about and eyes find.
[[nodiscard]] bool asks_the_circuit(Kind kind);

struct Observable {
  Kind kind = Kind::kVolts;
  circuit::PointId red, black;  // meters; inspect: red alone, or the wire
  circuit::WireId wire;         // clamp; wiggle, heat, cool; inspect
  circuit::CodeId code;
  circuit::LiveId live;
  circuit::PartId part;            // look; wiggle, heat, cool
  circuit::ModuleId module;        // answers; heat, cool; heard; hears: who listens
  circuit::ConnectorId connector;  // wiggle, heat, cool
  // Recordings. The tap is at `red` (high, or the one wire) and `black` (low); none: at the drawn reader.
  circuit::BusId bus;                                  // heard, quiet: which was recorded
  circuit::ModuleId from;                              // hears: who asks
  std::vector<circuit::ModuleId> together, meanwhile;  // quiet: who was, and who was heard all the while; ids rising
  circuit::Configuration configuration;
  friend bool operator==(const Observable&, const Observable&) = default;
  friend auto operator<=>(const Observable&, const Observable&) = default;
};

// Everything a code reader shows in one state: first whether each module answers, then each code, in the loom's order.
[[nodiscard]] std::vector<Observable> reader_list(const circuit::Loom& loom, const circuit::Configuration& state);

// What was seen.
struct Seen {
  bool over_range = false;  // OL
  double value = 0.0;       // V, ohm, A or the live value's unit
  int category = -1;        // index into categories(kind) for the others
  friend bool operator==(const Seen&, const Seen&) = default;
};

struct Observation {
  Observable what;
  Seen seen;
};

}  // namespace halfsplit::evidence
