// SPDX-License-Identifier: Apache-2.0
// The table of part kinds. Defaults: design section 4 and shared facts where a source is named in docs/formats/loom.md;
// the rest is common practice.
#include "circuit/part_kinds.h"

#include <cmath>
#include <limits>
#include <string>

#include "base/check.h"

namespace halfsplit::circuit {

namespace {

constexpr double kRequired = std::numeric_limits<double>::quiet_NaN();
constexpr double kWorkedOut = -std::numeric_limits<double>::infinity();
constexpr double kBig = 1.0e9;

const PartField kTolerance{
    "tolerance_percent", "%", 5.0, 0.0, 90.0, "half-width of the maker's spread, in percent of the value"};
const PartField kAt{"at",   "of the curve", kRequired,
                    -1.0e6, 1.0e6,          "what it senses now (degC, level, position), as best known"};
const PartField kAtTolerance{"at_tolerance", "of the curve", 0.0, 0.0, 1.0e6, "how far off `at` may be, half-width"};

std::vector<PartField> load_fields() {
  return {{"ohm", "ohm", kWorkedOut, 1.0e-3, kBig, "winding or element resistance; or give watt and volt"},
          {"watt", "W", 0.0, 0.0, 1.0e5, "rated power, with volt, instead of ohm"},
          {"volt", "V", 0.0, 0.0, 1000.0, "rated volts of watt; system volts when not given"},
          {"tolerance_percent", "%", 10.0, 0.0, 90.0, "half-width of the spread, in percent of the value"}};
}

std::vector<PartField> ntc_fields() {
  return {{"r25_ohm", "ohm", 0.0, 0.0, kBig, "resistance at 25 degC (with b_k), or give a curve"},
          {"b_k", "K", 0.0, -20000.0, 20000.0, "beta: R = r25*exp(b*(1/T - 1/298.15)), T in kelvin"},
          kAt,
          kAtTolerance,
          kTolerance};
}

std::vector<PartKindInfo> make_table() {
  return {
      {PartKind::kFuse,
       "fuse",
       {"1", "2"},
       true,
       false,
       {{"rating_a", "A", kRequired, 0.1, 1000.0, "printed rating"},
        {"ohm", "ohm", kWorkedOut, 1.0e-5, 10.0, "cold resistance; 0.1 V / rating when not given (common practice)"},
        {"tolerance_percent", "%", 20.0, 0.0, 90.0, "half-width of the spread of ohm"}},
       "melts above 1.35 x rating (ISO 8820-3, 135 % row)"},
      {PartKind::kSwitch,
       "switch",
       {"1", "2"},
       true,
       false,
       {{"ohm", "ohm", 0.01, 1.0e-5, 1000.0, "closed"},
        {"tolerance_percent", "%", 50.0, 0.0, 90.0, "half-width of the spread of ohm"}},
       "moved by setups (`sets`); also a battery isolator or a pressure switch"},
      {PartKind::kRelay,
       "relay",
       {"30", "87", "85", "86", "87a"},
       true,
       false,
       {{"coil_ohm", "ohm", kRequired, 1.0, kBig, "coil, 85 to 86"},
        {"pull_in_v", "V", kWorkedOut, 0.1, 1000.0, "across the coil; 0.67 of system volts when not given"},
        {"drop_out_v", "V", kWorkedOut, 0.0, 1000.0, "across the coil; 0.2 of system volts when not given"},
        {"ohm", "ohm", 0.01, 1.0e-5, 1000.0, "closed contact"},
        {"tolerance_percent", "%", 10.0, 0.0, 90.0, "half-width of the spread of coil_ohm"}},
       "terminal names of DIN 72552"},
      {PartKind::kDiode,
       "diode",
       {"A", "K"},
       false,
       false,
       {{"forward_v", "V", 0.7, 0.0, 100.0, "knee"},
        {"ohm", "ohm", 0.05, 1.0e-5, kBig, "slope above the knee"},
        {"tolerance_percent", "%", 7.0, 0.0, 90.0, "half-width of the spread of forward_v"}},
       "conducts from A to K above forward_v, nothing below"},
      {PartKind::kLamp,
       "lamp",
       {"1", "2"},
       true,
       false,
       {{"watt", "W", kRequired, 0.01, 10000.0, "rated power"},
        {"volt", "V", kWorkedOut, 1.0, 1000.0, "rated volts; system volts when not given"},
        {"tolerance_percent", "%", 8.0, 0.0, 90.0, "half-width of the spread of resistance"}},
       "filament whose resistance grows with the volts across it, or led = true"},
      {PartKind::kMotor, "motor", {"1", "2"}, true, false, load_fields(), "as a resistance at its working point"},
      {PartKind::kSolenoid, "solenoid", {"1", "2"}, true, false, load_fields(), "valve, horn, lock: its coil"},
      {PartKind::kHeater, "heater", {"1", "2"}, true, false, load_fields(), "mirror, nozzle, intake heater"},
      {PartKind::kResistor,
       "resistor",
       {"1", "2"},
       false,
       false,
       {{"ohm", "ohm", kRequired, 1.0e-4, kBig, ""}, kTolerance},
       "a plain resistor"},
      {PartKind::kTerminator,
       "terminator",
       {"1", "2"},
       true,
       false,
       {{"ohm", "ohm", 120.0, 1.0, 10000.0, "ISO 11898-2: 120 nominal"},
        {"tolerance_percent", "%", 1.0, 0.0, 90.0, "half-width of the spread"}},
       "bus terminator as a part of its own"},
      {PartKind::kPotentiometer,
       "potentiometer",
       {"1", "3", "2"},
       true,
       false,
       {{"ohm", "ohm", kRequired, 1.0, kBig, "whole track, 1 to 3"},
        {"at", "share", kRequired, 0.0, 1.0, "wiper (2): 0 at terminal 1, 1 at terminal 3"},
        {"at_tolerance", "share", 0.0, 0.0, 1.0, "how far off `at` may be"},
        {"tolerance_percent", "%", 10.0, 0.0, 90.0, "half-width of the spread of ohm"}},
       "terminal 2 is the wiper"},
      {PartKind::kNtc, "ntc", {"1", "2"}, true, true, ntc_fields(), "falls with temperature"},
      {PartKind::kPtc, "ptc", {"1", "2"}, true, true, ntc_fields(), "rises with temperature (b_k negative) or a curve"},
      {PartKind::kSender,
       "sender",
       {"1", "2"},
       true,
       true,
       {kAt, kAtTolerance, kTolerance},
       "two-wire resistive sender with a curve (value, ohm)"},
      {PartKind::kThreeWireSensor,
       "three-wire-sensor",
       {"+", "S", "-"},
       true,
       true,
       {kAt,
        kAtTolerance,
        {"draw_a", "A", 0.005, 0.0, 1.0, "supply current at 5 V"},
        {"ohm", "ohm", 100.0, 0.0, 1.0e6, "output resistance of S"},
        {"alive_above_v", "V", 4.0, 0.0, 100.0, "supply needed, + to -; below it S is open; 0: needs none, always on"},
        {"tolerance_percent", "%", 1.0, 0.0, 90.0, "of the supply"}},
       "S = share(at) x (V+ - V-), share from the curve (0 to 1)"},
      {PartKind::kBattery,
       "battery",
       {"+", "-"},
       false,
       false,
       {{"volt", "V", kWorkedOut, 0.5, 1000.0, "at rest; 1.05 x system volts when not given"},
        {"ohm", "ohm", 0.01, 1.0e-5, 100.0, "internal"},
        {"tolerance_percent", "%", 2.0, 0.0, 90.0, "half-width of the spread of volt"}},
       "electromotive force behind an internal resistance"},
      {PartKind::kAlternator,
       "alternator",
       {"+", "-"},
       false,
       false,
       {{"volt", "V", kWorkedOut, 0.5, 1000.0, "regulated; 1.18 x system volts when not given"},
        {"ohm", "ohm", 0.02, 1.0e-5, 100.0, "internal"},
        {"tolerance_percent", "%", 2.0, 0.0, 90.0, "half-width of the spread of volt"}},
       "a source that feeds (never takes) current while its runs_with setups are made"},
  };
}

struct RoleWord {
  PinRole role;
  std::string_view word;
};
constexpr RoleWord kRoles[] = {
    {PinRole::kSupply, "supply"},    {PinRole::kGround, "ground"},       {PinRole::kInput, "input"},
    {PinRole::kReturn, "return"},    {PinRole::kReference, "reference"}, {PinRole::kHighSide, "high-side"},
    {PinRole::kLowSide, "low-side"}, {PinRole::kCanHigh, "can-high"},    {PinRole::kCanLow, "can-low"},
    {PinRole::kBusWire, "bus-wire"}, {PinRole::kUnknown, "unknown"}};

}  // namespace

const std::vector<PartKindInfo>& part_kinds() {
  static const std::vector<PartKindInfo> table = make_table();
  return table;
}

const PartKindInfo& part_kind(PartKind kind) {
  for (const PartKindInfo& info : part_kinds())
    if (info.kind == kind) return info;
  base::fail_check(__FILE__, __LINE__, "part kind without a record");
}

const PartKindInfo* find_part_kind(std::string_view word) {
  for (const PartKindInfo& info : part_kinds())
    if (info.word == word) return &info;
  return nullptr;
}

std::size_t field_index(PartKind kind, std::string_view field) {
  const PartKindInfo& info = part_kind(kind);
  for (std::size_t i = 0; i < info.fields.size(); ++i)
    if (info.fields[i].name == field) return i;
  base::fail_check(__FILE__, __LINE__, "part kind has no field " + std::string(field));
}

double part_value(const Part& part, std::string_view field) { return part.values.at(field_index(part.kind, field)); }

std::string_view pin_role_word(PinRole role) {
  for (const RoleWord& entry : kRoles)
    if (entry.role == role) return entry.word;
  return "unknown";
}

std::optional<PinRole> find_pin_role(std::string_view word) {
  for (const RoleWord& entry : kRoles)
    if (entry.word == word) return entry.role;
  return std::nullopt;
}

std::string_view stress_word(Stress stress) {
  constexpr std::string_view kWords[] = {"flex", "wet", "heat", "chafe", "vibration"};
  return kWords[static_cast<std::size_t>(stress)];
}

std::string_view hazard_word(Hazard hazard) {
  constexpr std::string_view kWords[] = {"none", "brakes", "steering", "airbag", "high-voltage", "dangerous-goods"};
  return kWords[static_cast<std::size_t>(hazard)];
}

}  // namespace halfsplit::circuit
