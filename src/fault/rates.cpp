// SPDX-License-Identifier: Apache-2.0
// The tables. All figures are ours (judgement, common practice); docs/formats/loom.md lists them.
#include "fault/rates.h"

#include <string>

#include "base/check.h"
#include "circuit/part_kinds.h"

namespace halfsplit::fault {

namespace {

using circuit::Stress;

std::vector<RateRecord> make_rates() {
  using K = FaultKind;
  return {
      {"contact", K::kOpen, 6e-4, 0, 0, true, ""},
      {"contact", K::kHighResistance, 8e-4, 0.2, 20000, true, "ohm"},
      {"contact", K::kIntermittent, 8e-4, 0, 0, true, ""},
      {"contact", K::kSwapped, 4e-5, 0, 0, true, ""},
      {"contact", K::kTouches, 1e-4, 0.01, 10, true, "ohm"},
      {"contact", K::kWater, 2e-4, 100, 100000, true, "ohm"},
      {"splice", K::kOpen, 3e-4, 0, 0, true, ""},
      {"splice", K::kHighResistance, 8e-4, 0.2, 2000, true, "ohm"},
      {"splice", K::kIntermittent, 3e-4, 0, 0, true, ""},
      {"lug", K::kOpen, 2e-4, 0, 0, true, ""},
      {"lug", K::kHighResistance, 5e-4, 0.1, 2000, true, "ohm"},
      {"lug", K::kIntermittent, 2e-4, 0, 0, true, ""},
      {"stud", K::kOpen, 2e-4, 0, 0, true, ""},
      {"stud", K::kHighResistance, 2e-3, 0.1, 2000, true, "ohm"},
      {"stud", K::kIntermittent, 4e-4, 0, 0, true, ""},
      {"wire", K::kOpen, 6e-4, 0, 0, true, ""},
      {"wire", K::kHighResistance, 3e-4, 0.2, 2000, true, "ohm"},
      {"wire", K::kIntermittent, 4e-4, 0, 0, true, ""},
      {"wire", K::kToGround, 4e-4, 0.01, 10, true, "ohm"},
      {"wire", K::kToSupply, 1e-4, 0.01, 10, true, "ohm"},
      {"wire", K::kTouches, 2e-4, 0.01, 10, true, "ohm"},
      {"fuse", K::kBlown, 2e-3, 0, 0, true, ""},
      {"switch", K::kStuckOpen, 2e-3, 0, 0, true, ""},
      {"switch", K::kStuckClosed, 5e-4, 0, 0, true, ""},
      {"switch", K::kBurnt, 1e-3, 0.2, 200, true, "ohm"},
      {"relay", K::kCoilOpen, 1e-3, 0, 0, true, ""},
      {"relay", K::kStuckOpen, 1e-3, 0, 0, true, ""},
      {"relay", K::kStuckClosed, 1e-3, 0, 0, true, ""},
      {"relay", K::kBurnt, 1e-3, 0.2, 200, true, "ohm"},
      {"diode", K::kOpen, 3e-4, 0, 0, true, ""},
      {"diode", K::kShorted, 3e-4, 0.01, 1, true, "ohm"},
      {"lamp", K::kOpen, 2e-2, 0, 0, true, ""},
      {"lamp", K::kShorted, 2e-4, 0.01, 1, true, "ohm"},
      {"load", K::kOpen, 2e-3, 0, 0, true, ""},
      {"load", K::kShorted, 4e-4, 0.01, 1, true, "ohm"},
      {"load", K::kWrongValue, 5e-4, 0.3, 3, true, "x"},
      {"resistor", K::kOpen, 3e-4, 0, 0, true, ""},
      {"resistor", K::kWrongValue, 3e-4, 0.2, 5, true, "x"},
      {"terminator", K::kMissing, 8e-4, 0, 0, true, ""},
      {"terminator", K::kDoubled, 3e-4, 0, 0, true, ""},
      {"terminator", K::kWrongValue, 3e-4, 0.2, 5, true, "x"},
      {"sensor", K::kOpen, 3e-3, 0, 0, true, ""},
      {"sensor", K::kShorted, 1e-3, 0.01, 1, true, "ohm"},
      {"sensor", K::kWrongValue, 3e-3, 0.1, 10, true, "x"},
      {"active sensor", K::kOpen, 3e-3, 0, 0, true, ""},
      {"active sensor", K::kStuck, 3e-3, 0, 1, false, "share"},
      {"battery", K::kFlat, 1e-2, 0.6, 0.93, false, "x"},
      {"battery", K::kWeak, 5e-3, 0.05, 1, true, "ohm"},
      {"alternator", K::kNoCharge, 5e-3, 0, 0, true, ""},
      {"module", K::kDead, 8e-4, 0, 0, true, ""},
      {"module", K::kInputDamaged, 3e-4, 50, 5000, true, "ohm"},
      {"module", K::kOutputDead, 5e-4, 0, 0, true, ""},
      {"module", K::kOutputStuckOn, 2e-4, 0, 0, true, ""},
      {"module", K::kOpen, 2e-4, 0, 0, true, ""},
  };
}

struct StressFactor {
  Stress stress;
  FaultKind kind;
  double factor;
};

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
    {Stress::kHeat, FaultKind::kHighResistance, 2},
    {Stress::kHeat, FaultKind::kOpen, 1.5},
    {Stress::kHeat, FaultKind::kToGround, 2},
    {Stress::kHeat, FaultKind::kWrongValue, 2},
    {Stress::kChafe, FaultKind::kToGround, 5},
    {Stress::kChafe, FaultKind::kToSupply, 4},
    {Stress::kChafe, FaultKind::kTouches, 5},
    {Stress::kChafe, FaultKind::kOpen, 2},
    {Stress::kVibration, FaultKind::kOpen, 2},
    {Stress::kVibration, FaultKind::kIntermittent, 3},
    {Stress::kVibration, FaultKind::kHighResistance, 1.5},
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

const RepairRecord& repair_of(std::string_view item) {
  for (const RepairRecord& record : kRepairs)
    if (record.item == item) return record;
  base::fail_check(__FILE__, __LINE__, "no repair for " + std::string(item));
}

std::string_view part_item_word(const circuit::Part& part) {
  using P = circuit::PartKind;
  switch (part.kind) {
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
