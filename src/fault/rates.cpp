// SPDX-License-Identifier: Apache-2.0
// The tables. All figures are ours (judgement, common practice); docs/formats/loom.md lists them.
#include "fault/rates.h"

#include <string>

#include "base/check.h"
#include "circuit/part_kinds.h"

namespace halfsplit::fault {

namespace {

using circuit::Stress;

// Without a range.
RateRecord plain(std::string_view item, FaultKind kind, double per_year) {
  return {item, kind, per_year, 0.0, 0.0, true, "", kind};
}
// From low to high evenly in the logarithm.
RateRecord wide(std::string_view item, FaultKind kind, double per_year, double low, double high,
                std::string_view unit = "ohm") {
  return {item, kind, per_year, low, high, true, unit, kind};
}
// From low to high evenly.
RateRecord even(std::string_view item, FaultKind kind, double per_year, double low, double high,
                std::string_view unit) {
  return {item, kind, per_year, low, high, false, unit, kind};
}

// A bare wire that touches metal now and then: chafing brings it, as it brings a lasting short.
RateRecord wire_now_and_then() {
  RateRecord record = wide("wire, now and then", FaultKind::kIntermittent, 2e-4, 0.1, 0.1);
  record.stress = FaultKind::kToGround;
  return record;
}

std::vector<RateRecord> make_rates() {
  using K = FaultKind;
  return {
      plain("contact", K::kOpen, 6e-4),
      wide("contact", K::kHighResistance, 8e-4, 0.2, 20000),
      plain("contact", K::kIntermittent, 8e-4),
      plain("contact", K::kSwapped, 4e-5),
      wide("contact", K::kTouches, 1e-4, 0.01, 10),
      wide("contact", K::kWater, 2e-4, 100, 100000),
      plain("splice", K::kOpen, 3e-4),
      wide("splice", K::kHighResistance, 8e-4, 0.2, 2000),
      plain("splice", K::kIntermittent, 3e-4),
      wide("splice", K::kWater, 1e-4, 100, 100000),
      plain("lug", K::kOpen, 2e-4),
      wide("lug", K::kHighResistance, 5e-4, 0.1, 2000),
      plain("lug", K::kIntermittent, 2e-4),
      plain("stud", K::kOpen, 2e-4),
      wide("stud", K::kHighResistance, 2e-3, 0.1, 2000),
      plain("stud", K::kIntermittent, 4e-4),
      plain("wire", K::kOpen, 6e-4),
      wide("wire", K::kHighResistance, 3e-4, 0.2, 2000),
      plain("wire", K::kIntermittent, 4e-4),
      wide("wire", K::kToGround, 4e-4, 0.01, 10),
      wide("wire", K::kToSupply, 1e-4, 0.01, 10),
      wide("wire", K::kTouches, 2e-4, 0.01, 10),
      wire_now_and_then(),
      plain("fuse", K::kBlown, 2e-3),
      plain("switch", K::kStuckOpen, 2e-3),
      plain("switch", K::kStuckClosed, 5e-4),
      wide("switch", K::kBurnt, 1e-3, 0.2, 200),
      plain("switch", K::kIntermittent, 1e-3),
      plain("relay", K::kCoilOpen, 1e-3),
      wide("relay", K::kShorted, 2e-4, 0.1, 30),
      plain("relay", K::kStuckOpen, 1e-3),
      plain("relay", K::kStuckClosed, 1e-3),
      wide("relay", K::kBurnt, 1e-3, 0.2, 200),
      plain("relay", K::kIntermittent, 1e-3),
      plain("diode", K::kOpen, 3e-4),
      wide("diode", K::kShorted, 3e-4, 0.01, 1),
      plain("lamp", K::kOpen, 2e-2),
      wide("lamp", K::kShorted, 2e-4, 0.01, 1),
      wide("lamp", K::kWrongValue, 1e-3, 0.3, 4, "x"),
      plain("lamp", K::kIntermittent, 1e-3),
      plain("led lamp", K::kOpen, 4e-3),
      wide("led lamp", K::kShorted, 2e-4, 0.01, 1),
      wide("led lamp", K::kWrongValue, 1e-3, 1.2, 5, "x"),
      plain("led lamp", K::kIntermittent, 1e-3),
      plain("load", K::kOpen, 2e-3),
      wide("load", K::kShorted, 4e-4, 0.01, 1),
      wide("load", K::kToGround, 2e-4, 0.01, 10),
      wide("load", K::kWrongValue, 5e-4, 0.3, 3, "x"),
      plain("load", K::kIntermittent, 5e-4),
      plain("resistor", K::kOpen, 3e-4),
      wide("resistor", K::kWrongValue, 3e-4, 0.2, 5, "x"),
      plain("terminator", K::kMissing, 8e-4),
      plain("terminator", K::kDoubled, 3e-4),
      wide("terminator", K::kWrongValue, 3e-4, 0.2, 5, "x"),
      plain("sensor", K::kOpen, 3e-3),
      wide("sensor", K::kShorted, 1e-3, 0.01, 1),
      wide("sensor", K::kWrongValue, 3e-3, 0.1, 10, "x"),
      plain("sensor", K::kIntermittent, 1e-3),
      even("sensor", K::kStuck, 1e-3, 0, 1, "share"),
      plain("wiper", K::kOpen, 1e-3),
      wide("wiper", K::kHighResistance, 2e-3, 10, 100000),
      plain("wiper", K::kIntermittent, 2e-3),
      plain("active sensor", K::kOpen, 3e-3),
      wide("active sensor", K::kShorted, 5e-4, 0.01, 1),
      wide("active sensor", K::kWrongValue, 2e-3, 0.7, 1.4, "x"),
      even("active sensor", K::kStuck, 3e-3, 0, 1, "share"),
      plain("active sensor", K::kIntermittent, 1e-3),
      plain("battery", K::kOpen, 4e-4),
      even("battery", K::kFlat, 1e-2, 0.6, 0.93, "x"),
      wide("battery", K::kWeak, 5e-3, 0.05, 1),
      plain("alternator", K::kNoCharge, 5e-3),
      wide("alternator", K::kWeak, 2e-3, 0.1, 2),
      even("alternator", K::kLowCharge, 2e-3, 0.8, 0.97, "x"),
      even("alternator", K::kOvercharge, 1e-3, 1.05, 1.35, "x"),
      wide("alternator", K::kLeaks, 5e-4, 2, 200),
      plain("module", K::kDead, 8e-4),
      plain("module", K::kIntermittent, 4e-4),
      plain("seat", K::kMute, 2e-4),
      plain("seat", K::kHoldsBus, 5e-5),
      plain("seat", K::kBabbles, 5e-5),
      plain("gateway", K::kPassesNothing, 2e-4),
      plain("inside", K::kOpen, 2e-4),
      wide("inside", K::kHighResistance, 1e-4, 20, 2000),
      wide("inside", K::kShorted, 1e-4, 0.01, 1),
      wide("input", K::kInputDamaged, 3e-4, 50, 5000),
      plain("output", K::kOutputDead, 5e-4),
      plain("output", K::kOutputStuckOn, 2e-4),
      wide("output", K::kHighResistance, 2e-4, 0.2, 50),
      wide("output", K::kLeaks, 2e-4, 5, 2000),
  };
}

constexpr StressFactor kStress[] = {
    {Stress::kFlex, FaultKind::kOpen, 3},
    {Stress::kFlex, FaultKind::kIntermittent, 4},
    {Stress::kFlex, FaultKind::kHighResistance, 1.5},
    {Stress::kFlex, FaultKind::kToGround, 2},
    {Stress::kFlex, FaultKind::kTouches, 2},
    {Stress::kWet, FaultKind::kHighResistance, 4},
    {Stress::kWet, FaultKind::kWater, 10},
    {Stress::kWet, FaultKind::kOpen, 1.5},
    {Stress::kWet, FaultKind::kIntermittent, 1.5},
    {Stress::kWet, FaultKind::kBurnt, 2},
    {Stress::kWet, FaultKind::kStuckOpen, 1.5},
    {Stress::kWet, FaultKind::kDead, 3},
    {Stress::kHeat, FaultKind::kHighResistance, 2},
    {Stress::kHeat, FaultKind::kOpen, 1.5},
    {Stress::kHeat, FaultKind::kIntermittent, 1.5},
    {Stress::kHeat, FaultKind::kToGround, 2},
    {Stress::kHeat, FaultKind::kWrongValue, 2},
    {Stress::kHeat, FaultKind::kShorted, 2},
    {Stress::kHeat, FaultKind::kDead, 1.5},
    {Stress::kChafe, FaultKind::kToGround, 5},
    {Stress::kChafe, FaultKind::kToSupply, 4},
    {Stress::kChafe, FaultKind::kTouches, 5},
    {Stress::kChafe, FaultKind::kOpen, 2},
    {Stress::kVibration, FaultKind::kOpen, 2},
    {Stress::kVibration, FaultKind::kIntermittent, 3},
    {Stress::kVibration, FaultKind::kHighResistance, 1.5},
    {Stress::kVibration, FaultKind::kDead, 1.5},
};

constexpr RepairRecord kRepairs[] = {
    {"contact", 10, 2, "remake contact"},
    {"plug", 15, 3, "dry and clean plug"},
    {"splice", 15, 2, "remake splice"},
    {"lug", 10, 2, "clean and remake lug at"},
    {"stud", 12, 2, "clean and remake ground stud"},
    {"wire", 20, 5, "repair wire"},
    {"fuse", 2, 1, "replace fuse"},
    {"switch", 20, 40, "replace switch"},
    {"relay", 4, 15, "replace relay"},
    {"diode", 10, 5, "replace diode"},
    {"lamp", 5, 5, "replace lamp"},
    {"led lamp", 15, 45, "replace lamp"},
    {"load", 25, 80, "replace"},
    {"resistor", 10, 5, "replace resistor"},
    {"terminator", 8, 20, "fit or remove terminator"},
    {"sensor", 15, 50, "replace sensor"},
    {"active sensor", 15, 70, "replace sensor"},
    {"battery", 20, 220, "charge or replace battery"},
    {"alternator", 60, 350, "replace alternator"},
    {"module", 45, 600, "replace module"},
};

}  // namespace

const std::vector<RateRecord>& rate_table() {
  static const std::vector<RateRecord> table = make_rates();
  return table;
}

const RateRecord& rate_of(std::string_view item, FaultKind kind) {
  for (const RateRecord& record : rate_table())
    if (record.item == item && record.kind == kind) return record;
  base::fail_check(__FILE__, __LINE__, "no rate for " + std::string(item));
}

double stress_factor(FaultKind kind, const std::vector<Stress>& stresses) {
  double factor = 1.0;
  for (const Stress stress : stresses)
    for (const StressFactor& entry : kStress)
      if (entry.stress == stress && entry.kind == kind) factor *= entry.factor;
  return factor;
}

std::span<const StressFactor> stress_table() { return kStress; }
std::span<const RepairRecord> repair_table() { return kRepairs; }

const RepairRecord& repair_of(std::string_view item) {
  for (const RepairRecord& record : kRepairs)
    if (record.item == item) return record;
  base::fail_check(__FILE__, __LINE__, "no repair for " + std::string(item));
}

std::string_view part_item_word(const circuit::Part& part) {
  using P = circuit::PartKind;
  switch (part.kind) {
    case P::kLamp:
      return part.led ? "led lamp" : "lamp";
    case P::kMotor:
    case P::kSolenoid:
    case P::kHeater:
      return "load";
    case P::kNtc:
    case P::kPtc:
    case P::kSender:
    case P::kPotentiometer:
      return "sensor";
    case P::kThreeWireSensor:
      return "active sensor";
    default:
      return circuit::part_kind(part.kind).word;
  }
}

}  // namespace halfsplit::fault
