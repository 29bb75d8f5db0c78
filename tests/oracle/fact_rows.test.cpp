// SPDX-License-Identifier: Apache-2.0
// Which row of which table is held against us where, and which cannot be and why. Every row of tests/data/facts falls
// under exactly one line of the list, every line names a row: a row that is added asks for its check.
#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "tests/oracle/facts.h"

namespace halfsplit::oracle {
namespace {

// A row belongs to a line when each of the two columns begins with the text beside it.
struct Line {
  std::string file, column, begins, second, second_begins;
  std::string verdict;  // the test, or "none: why"
};

const std::vector<Line>& list() {
  static const std::vector<Line> kList = {
      {"copper_resistance.csv", "standard", "", "", "", "Conductors.LieBelowTheLargestResistance..."},
      {"copper_awg.csv", "awg", "", "", "", "Conductors.EqualTheAmericanWireTable"},
      {"copper_temperature.csv", "quantity", "", "", "", "Conductors.GrowWithTemperatureAsTheTablesSay"},
      {"volt_drop_examples.csv", "system", "aircraft", "", "", "VoltDrop.OfTheAircraftTables"},
      {"volt_drop_examples.csv", "id", "VD09", "", "", "VoltDrop.OfWiresBySizeAndLength"},
      {"volt_drop_examples.csv", "id", "VD10", "", "", "VoltDrop.OfTwoWiresAndALoad"},
      {"volt_drop_examples.csv", "id", "VD11", "", "", "VoltDrop.OfTheSizeThatIsJustLargeEnough"},
      {"volt_drop_examples.csv", "id", "VD12", "", "", "VoltDrop.OfTwoWiresAndALoad"},
      {"volt_drop_examples.csv", "id", "VD13", "", "", "VoltDrop.OfTwoWiresAndALoad"},
      {"volt_drop_examples.csv", "id", "VD14", "", "", "VoltDrop.OfWiresBySizeAndLength"},
      {"volt_drop_examples.csv", "id", "VD15", "", "", "VoltDrop.OfWiresBySizeAndLength"},
      {"volt_drop_examples.csv", "id", "VD16", "", "", "VoltDrop.OfWiresBySizeAndLength"},
      {"volt_drop_examples.csv", "id", "VD17", "", "", "VoltDrop.OfWiresBySizeAndLength"},
      {"volt_drop_examples.csv", "id", "VD18", "", "", "none: a bar of aluminium; wires here are copper"},
      {"handbook_circuits.csv", "id", "", "", "", "Handbook.EveryPrintedAnswer"},
      {"troubleshooting_problems.csv", "id", "", "", "", "Troubleshooting.ThePublishedFaults..."},

      {"meter_practice.csv", "check", "voltage drop", "", "", "Practice.*Drop*, Practice.BadJoints..."},
      {"meter_practice.csv", "check", "worked", "", "", "Practice.StarterCableDropsTwoVolts..."},
      {"meter_practice.csv", "check", "CAN resistance", "", "", "BusPair.*"},
      {"meter_practice.csv", "check", "CAN voltage", "", "",
       "BusPair.IdlesAtTwoAndAHalfVolts, at rest only: no traffic here"},
      {"meter_practice.csv", "check", "continuity", "", "", "Practice.TrailerBrakeSupply..."},
      {"meter_practice.csv", "check", "loaded supply test", "", "",
       "Practice.ALoadShows..., Practice.TrailerBrakeSupply..."},
      {"meter_practice.csv", "check", "parasitic draw", "", "",
       "none: a limit for judging a reading; what sleeps and what it draws is the drawing's"},
      {"meter_practice.csv", "check", "test lamp load", "", "", "Practice.LampsTakeTheirRatedCurrent"},
      {"meter_practice.csv", "check", "meter input", "", "",
       "Practice.OurVoltmeterIsTheCommonOne, Handbook.OurVoltmeterLoads..."},
      {"meter_practice.csv", "check", "open rule", "", "", "Troubleshooting.TwoRulesOfTheVoltmeter..."},
      {"meter_practice.csv", "check", "load rule", "", "", "Troubleshooting.TwoRulesOfTheVoltmeter..."},

      {"battery_lamps.csv", "item", "12 V flooded, state of charge 100 %", "", "",
       "Practice.TwelveVoltBatteryRestsFull"},
      {"battery_lamps.csv", "item", "12 V flooded, state of charge 25 %", "", "",
       "Practice.TwelveVoltBatteryRestsFull"},
      {"battery_lamps.csv", "item", "24 V (two in series), state of charge 100 %", "", "",
       "Practice.BatteryAndAlternatorDefaults..."},
      {"battery_lamps.csv", "item", "24 V (two in series), state of charge 75 %", "", "",
       "Practice.BatteryAndAlternatorDefaults..."},
      {"battery_lamps.csv", "item", "24 V (two in series), state of charge 0 %", "", "",
       "Practice.BatteryAndAlternatorDefaults..."},
      {"battery_lamps.csv", "item", "12 V flooded, state of charge 75 %", "", "",
       "none: a battery is drawn with its volts, not its charge"},
      {"battery_lamps.csv", "item", "12 V flooded, state of charge 50 %", "", "", "none: as above"},
      {"battery_lamps.csv", "item", "12 V flooded, state of charge 0 %", "", "", "none: as above"},
      {"battery_lamps.csv", "item", "24 V (two in series), state of charge 50 %", "", "", "none: as above"},
      {"battery_lamps.csv", "item", "24 V (two in series), state of charge 25 %", "", "", "none: as above"},
      {"battery_lamps.csv", "item", "slope of the 12 V curve", "", "", "none: as above"},
      {"battery_lamps.csv", "item", "linear rule", "", "", "none: as above"},
      {"battery_lamps.csv", "group", "charging", "", "", "Practice.AlternatorsRegulateInTheUsualRange"},
      {"battery_lamps.csv", "group", "cranking", "", "", "Practice.CrankingVolts..."},
      {"battery_lamps.csv", "group", "lamp_rated_power", "", "", "Practice.EveryLampTakesItsRatedWatts"},
      {"battery_lamps.csv", "group", "lamp_max_power_at_test_voltage", "", "", "Practice.LampPowerAtTestVoltage..."},
      {"battery_lamps.csv", "group", "lamp_cold_ratio", "", "", "Practice.FilamentFollowsTheUsualLampLaw"},
      {"battery_lamps.csv", "group", "lamp_exponent", "", "", "Practice.FilamentFollowsTheUsualLampLaw"},
      {"battery_lamps.csv", "group", "iso16750_2_supply_range", "", "", "Practice.ModulesLiveAtTheLeastVolts..."},
      {"battery_lamps.csv", "item", "test voltage, engine running", "", "",
       "Practice.AlternatorsRegulateInTheUsualRange"},
      {"battery_lamps.csv", "item", "overvoltage", "", "", "none: what a part survives is no reading"},
      {"battery_lamps.csv", "item", "jump start", "", "", "none: as above"},
      {"battery_lamps.csv", "item", "reversed voltage", "", "", "none: as above"},

      {"fuses.csv", "iso8820_3_type", "C", "", "",
       "Practice.FuseDefaultResistanceIsOfTheRightOrder; colours are no circuit"},
      {"fuses.csv", "iso8820_3_type", "E", "", "", "none: colours only, no resistance in the row"},
      {"fuse_time_current.csv", "fuse", "", "", "", "Practice.FuseMeltsBetween...; times are not modelled"},

      {"sender_ntc.csv", "sensor", "coolant NTC A", "", "",
       "Practice.ThermistorByBeta..., Sensors.CurvesOfTheServiceTables..."},
      {"sender_ntc.csv", "sensor", "oil/coolant NTC B", "", "", "Sensors.CurvesOfTheServiceTables..."},
      {"sender_ntc.csv", "sensor", "coolant NTC C", "", "", "Sensors.AModuleShowsTheTemperatureOfTheTable"},
      {"sender_ntc_parameters.csv", "basis", "computed", "", "", "Sensors.BetasFollowFromTheirTwoTemperatures"},
      {"sender_ntc_parameters.csv", "basis", "memory", "", "", "none: a beta without a table to hold it against"},
      {"pt100.csv", "temperature_degC", "", "", "", "Sensors.ResistanceThermometerByItsCurve"},
      {"pt100_coefficients.csv", "name", "", "", "",
       "Sensors.ResistanceThermometerByItsCurve, ...OfATextbook; class A is narrower than straight lines between these "
       "rows"},
      {"senders.csv", "sender", "", "", "", "Sensors.SendersReadTheOhmsOfTheirRows"},

      {"can_levels.csv", "standard", "ISO 11898-2", "quantity", "bus voltage", "BusLevels.*"},
      {"can_levels.csv", "standard", "ISO 11898-2", "quantity", "differential CAN_H",
       "BusLevels.*; the row -0.5 to 0.05 V as well"},
      {"can_levels.csv", "standard", "ISO 11898-2", "quantity", "receiver differential input", "BusLevels.*"},
      {"can_levels.csv", "standard", "ISO 11898-2", "quantity", "differential internal",
       "BusLevels.ResistancesLieInTheirBands"},
      {"can_levels.csv", "standard", "ISO 11898-2", "quantity", "single-ended internal",
       "BusLevels.ResistancesLieInTheirBands"},
      {"can_levels.csv", "standard", "ISO 11898-2", "quantity", "termination resistor",
       "BusLevels.ResistancesLieInTheirBands"},
      {"can_levels.csv", "standard", "ISO 11898-2", "quantity", "total bus load",
       "BusLevels.ResistancesLieInTheirBands"},
      {"can_levels.csv", "standard", "ISO 11898-2", "quantity", "internal resistance mismatch",
       "none: both lines are drawn alike; their spread is 50 %"},
      {"can_levels.csv", "standard", "ISO 11898-2", "quantity", "wake-up receiver",
       "none: sleeping nodes are not modelled"},
      {"can_levels.csv", "standard", "ISO 11898-2", "quantity", "common mode",
       "none: what a transceiver survives is no reading; that it reads nothing beyond is the page's"},
      {"can_levels.csv", "standard", "ISO 11898-2", "quantity", "shorted-line",
       "none: our transmitter is a source behind 30 ohm, right at 60 ohm; it has no limit of its own"},
      {"can_levels.csv", "standard", "ISO 11898-2", "quantity", "signal propagation",
       "none: lines are short against a bit; edges of their resistance and capacitance in BusEdges"},
      {"can_levels.csv", "standard", "ISO 11898-2", "quantity", "characteristic impedance",
       "none: lines are short against a bit; edges of their resistance and capacitance in BusEdges"},
      {"can_levels.csv", "standard", "older transceiver", "", "",
       "none: narrower bands of one chip inside those above; its short-circuit current as above"},
      {"can_levels.csv", "standard", "observed", "", "", "none: one node on one bench"},
      {"can_levels.csv", "standard", "ISO 11898-3", "quantity", "bus voltage", "BusStandards.FaultTolerantLevels..."},
      {"can_levels.csv", "standard", "ISO 11898-3", "quantity", "differential", "BusStandards.FaultTolerantLevels..."},
      {"can_levels.csv", "standard", "ISO 11898-3", "quantity", "termination",
       "none: the page's own rule, 100 ohm times the seats within 500 ohm and 16 kohm"},
      {"can_levels.csv", "standard", "ISO 11898-3", "quantity", "bit rate", "none: a default of the page"},
      {"can_levels.csv", "standard", "ISO 11992-1", "quantity", "CAN_", "BusStandards.TruckTrailerLevels..."},
      {"can_levels.csv", "standard", "ISO 11992-1", "quantity", "bit rate", "none: a default of the page"},
      {"can_levels.csv", "standard", "ISO 11992-1", "quantity", "total", "none: lengths are the drawing's"},
      {"can_levels.csv", "standard", "ISO 11992-1", "quantity", "nominal",
       "none: what a module survives is no reading"},
      {"can_levels.csv", "standard", "ISO 17987-4", "quantity", "receiver threshold", "BusStandards.LinLevels..."},
      {"can_levels.csv", "standard", "ISO 17987-4", "quantity", "supply", "none: a default of the page, or no reading"},
      {"can_levels.csv", "standard", "ISO 17987-4", "quantity", "receiver centre",
       "none: a default of the page, or no reading"},
      {"can_levels.csv", "standard", "ISO 17987-4", "quantity", "receiver hysteresis",
       "none: a default of the page, or no reading"},
      {"can_levels.csv", "standard", "ISO 17987-4", "quantity", "pull-up",
       "none: a default of the page, or no reading"},
      {"can_levels.csv", "standard", "ISO 17987-4", "quantity", "nodes", "none: a default of the page, or no reading"},
      {"can_levels.csv", "standard", "ISO 17987-4", "quantity", "bit rate",
       "none: a default of the page, or no reading"},
      {"can_levels.csv", "standard", "ISO 17987-4", "quantity", "bus length",
       "none: a default of the page, or no reading"},
      {"can_levels.csv", "standard", "ISO 17987-4", "quantity", "driver current",
       "none: a default of the page, or no reading"},
      {"can_ft_failures.csv", "failure_no", "", "", "", "BusStandards.AFaultTolerantBusBears..."},
      {"can_levels.csv", "standard", "SAE J1939-11", "quantity", "termination",
       "BusLevels.ResistancesLieInTheirBands (two parts of 120 ohm)"},
      {"can_levels.csv", "standard", "SAE J1939-11", "quantity", "b", "none: lengths, bits and loads are no circuit"},
      {"can_levels.csv", "standard", "SAE J1939-11", "quantity", "stub", "none: as above"},
      {"can_levels.csv", "standard", "SAE J1939-11", "quantity", "node", "none: as above"},
      {"can_levels.csv", "standard", "SAE J1939-15", "", "", "none: as above"},
  };
  return kList;
}

bool belongs(const Line& line, const FactRow& row) {
  return row.text(line.column).starts_with(line.begins) &&
         (line.second.empty() || row.text(line.second).starts_with(line.second_begins));
}

TEST(FactRows, EachHasOneCheckOrOneReason) {
  std::vector<std::size_t> used(list().size(), 0);
  for (const char* file :
       {"copper_resistance.csv", "copper_awg.csv", "copper_temperature.csv", "volt_drop_examples.csv",
        "handbook_circuits.csv", "troubleshooting_problems.csv", "meter_practice.csv", "battery_lamps.csv", "fuses.csv",
        "fuse_time_current.csv", "sender_ntc.csv", "sender_ntc_parameters.csv", "pt100.csv", "pt100_coefficients.csv",
        "senders.csv", "can_levels.csv", "can_ft_failures.csv"}) {
    std::size_t number = 1;
    for (const FactRow& row : read_facts(file)) {
      ++number;
      std::size_t lines = 0;
      for (std::size_t i = 0; i < list().size(); ++i)
        if (list()[i].file == file && belongs(list()[i], row)) {
          ++lines;
          ++used[i];
        }
      EXPECT_EQ(lines, 1U) << file << ", line " << number << " of the file";
    }
  }
  for (std::size_t i = 0; i < list().size(); ++i)
    EXPECT_GT(used[i], 0U) << "no row for " << list()[i].file << " " << list()[i].begins << " "
                           << list()[i].second_begins;
}

}  // namespace
}  // namespace halfsplit::oracle
