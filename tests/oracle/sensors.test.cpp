// SPDX-License-Identifier: Apache-2.0
// Thermistors, resistance thermometers and senders against published tables (tests/data/facts/sender_ntc.csv,
// sender_ntc_parameters.csv, pt100.csv, pt100_coefficients.csv, senders.csv). Source and basis beside each.
#include <gtest/gtest.h>

#include <cmath>
#include <map>

#include "circuit/part_kinds.h"
#include "tests/oracle/facts.h"
#include "tests/oracle/on_vehicle.h"

namespace halfsplit::oracle {
namespace {

using circuit::PartId;
using circuit::PartKind;
using circuit::test::LoomMaker;

// Public vehicle service data (source), beta worked out between 25 and 100 degC: within 6 % from 20 to 120 degC, a
// quarter below freezing, where no single beta fits.
TEST(Practice, ThermistorByBetaFollowsTheServiceTable) {
  LoomMaker m;
  double beta = 0.0;
  for (const FactRow& row : read_facts("sender_ntc_parameters.csv"))
    if (row.text("sensor") == "coolant NTC A" && row.text("between_degC") == "25/100") beta = row.number("b_value_K");
  std::size_t rows = 0;
  for (const FactRow& row : read_facts("sender_ntc.csv")) {
    if (!row.text("sensor").starts_with("coolant NTC A")) continue;
    const double celsius = row.number("temperature_degC");
    const PartId id = m.part(PartKind::kNtc, "B" + row.text("temperature_degC"),
                             {{"r25_ohm", 2044.0}, {"b_k", beta}, {"at", celsius}});
    const double ours = circuit::sensor_ohm(m.loom.parts[id.index()]);
    EXPECT_NEAR(ours / row.number("resistance_ohm"), 1.0, celsius < 0.0 || celsius > 120.0 ? 0.27 : 0.06) << celsius;
    EXPECT_NEAR(*circuit::sensor_value(m.loom.parts[id.index()], ours), celsius, 1.0e-6);
    ++rows;
  }
  EXPECT_EQ(rows, 20U);
}

double resistance_at(const std::string& kind, const circuit::Curve& curve, double at) {
  LoomMaker m;
  const PartId id = m.part(kind == "ptc"   ? PartKind::kPtc
                           : kind == "ntc" ? PartKind::kNtc
                                           : PartKind::kSender,
                           "B", {{"at", at}});
  m.loom.parts[id.index()].curve = curve;
  return circuit::sensor_ohm(m.loom.parts[id.index()]);
}

// Beta between two rows of the table is what the table of betas says (computed there from the same rows).
TEST(Sensors, BetasFollowFromTheirTwoTemperatures) {
  const auto ohm = [](const std::string& sensor, const std::string& celsius) {
    for (const FactRow& row : read_facts("sender_ntc.csv"))
      if (row.text("sensor").starts_with(sensor) && row.text("temperature_degC") == celsius)
        return row.number("resistance_ohm");
    ADD_FAILURE() << sensor << " " << celsius;
    return 1.0;
  };
  std::size_t rows = 0;
  for (const FactRow& row : read_facts("sender_ntc_parameters.csv")) {
    if (row.text("basis") != "computed") continue;
    ++rows;
    const std::string between = row.text("between_degC");
    const std::string low = between.substr(0, between.find('/')), high = between.substr(between.find('/') + 1);
    const double cold = std::stod(low), hot = std::stod(high);
    const double at_cold = ohm(row.text("sensor"), low), at_hot = ohm(row.text("sensor"), high);
    // r25 from the cold row by the same beta, then our part at the hot one.
    const double beta = row.number("b_value_K");
    const double r25 = at_cold * std::exp(beta * (1.0 / 298.15 - 1.0 / (cold + 273.15)));
    LoomMaker m;
    const PartId id = m.part(PartKind::kNtc, "B", {{"r25_ohm", r25}, {"b_k", beta}, {"at", hot}});
    EXPECT_NEAR(circuit::sensor_ohm(m.loom.parts[id.index()]) / at_hot, 1.0, 0.003) << row.text("sensor") << between;
  }
  EXPECT_EQ(rows, 3U);
}

// Public vehicle service data (source): every sensor of the table drawn by a curve of its rows gives each row back.
TEST(Sensors, CurvesOfTheServiceTablesGiveTheirRowsBack) {
  std::map<std::string, circuit::Curve> curves;
  const auto rows = read_facts("sender_ntc.csv");
  EXPECT_EQ(rows.size(), 37U);
  for (const FactRow& row : rows)
    curves[row.text("sensor")].points.emplace_back(row.number("temperature_degC"), row.number("resistance_ohm"));
  for (const FactRow& row : rows) {
    const double at = row.number("temperature_degC"), ohm = row.number("resistance_ohm");
    EXPECT_NEAR(resistance_at("ntc", curves[row.text("sensor")], at), ohm, 1.0e-9 * ohm) << row.text("sensor") << at;
  }
}

// The one of 1 kohm and 5 V: the module that sees it shows the temperature the table says, at every row.
TEST(Sensors, AModuleShowsTheTemperatureOfTheTable) {
  circuit::Curve curve;
  std::vector<double> temperatures;
  for (const FactRow& row : read_facts("sender_ntc.csv")) {
    if (!row.text("sensor").starts_with("coolant NTC C")) continue;
    temperatures.push_back(row.number("temperature_degC"));
    curve.points.emplace_back(temperatures.back(), row.number("resistance_ohm"));
  }
  ASSERT_EQ(temperatures.size(), 8U);
  for (const double at : temperatures) {
    LoomMaker m;
    const circuit::ModuleId id = m.module("ECU");
    circuit::ModulePin input;
    input.pull_up_ohm = 1000.0;
    input.role = circuit::PinRole::kInput;
    const std::size_t signal = m.pin(id, "", "1", input);
    const PartId sensor = m.part(PartKind::kNtc, "B", {{"at", at}});
    m.loom.parts[sensor.index()].curve = curve;
    m.wire(m.at(id, signal), m.at(sensor, "1"), 0.01);
    m.wire(m.at(sensor, "2"), m.chassis(), 0.01);
    OnVehicle v(m.loom);
    const double ohm = circuit::sensor_ohm(m.loom.parts[sensor.index()]);
    EXPECT_NEAR(v.volts("ECU:1@unit", "chassis"), 5.0 * ohm / (1000.0 + ohm), 0.01 * ohm / (1000.0 + ohm) + 0.12);
    EXPECT_NEAR(*circuit::sensor_value(m.loom.parts[sensor.index()], ohm), at, 1.0e-6);
  }
}

// IEC 60751 (coefficients from two public pages, source): R = R0 (1 + A t + B t^2), and C below 0 degC.
double platinum(double t) {
  std::map<std::string, double> c;
  for (const FactRow& row : read_facts("pt100_coefficients.csv"))
    if (row.text("value").find('|') == std::string::npos) c[row.text("name")] = row.number("value");
  const double below = t < 0.0 ? c.at("C") * (t - 100.0) * t * t * t : 0.0;
  return c.at("R0_pt100") * (1.0 + c.at("A") * t + c.at("B") * t * t + below);
}

// A resistance thermometer is drawn as a ptc with a curve: the rows come back, and straight lines between rows at most
// 100 K apart stay within class B of the standard (0.3 + 0.005 |t| degC) up to 400 degC.
TEST(Sensors, ResistanceThermometerByItsCurve) {
  circuit::Curve small, large;
  const auto rows = read_facts("pt100.csv");
  EXPECT_EQ(rows.size(), 29U);
  for (const FactRow& row : rows) {
    small.points.emplace_back(row.number("temperature_degC"), row.number("pt100_ohm"));
    large.points.emplace_back(row.number("temperature_degC"), row.number("pt1000_ohm"));
  }
  for (const FactRow& row : rows) {
    const double t = row.number("temperature_degC");
    EXPECT_NEAR(platinum(t), row.number("pt100_ohm"), 6.0e-4) << t;
    EXPECT_NEAR(resistance_at("ptc", small, t), row.number("pt100_ohm"), 1.0e-9) << t;
    EXPECT_NEAR(resistance_at("ptc", large, t), row.number("pt1000_ohm"), 1.0e-9) << t;
  }
  for (double t = -100.0; t <= 400.0; t += 5.0) {
    const double slope = platinum(t + 0.5) - platinum(t - 0.5);
    EXPECT_LT(std::abs(resistance_at("ptc", small, t) - platinum(t)), slope * (0.3 + 0.005 * std::abs(t))) << t;
  }
}

// A public note (source), of older constants: 138.50 and 175.83 ohm at 100 and 200 degC, within 0.03 ohm of ours.
TEST(Sensors, ResistanceThermometerOfATextbook) {
  for (const FactRow& row : read_facts("pt100_coefficients.csv")) {
    const std::string& name = row.text("name");
    if (!name.starts_with("R100") && !name.starts_with("R200")) continue;
    EXPECT_NEAR(platinum(name.starts_with("R100") ? 100.0 : 200.0), row.number("value"), 0.03) << name;
  }
}

// Public pages of sender makers and service data (source), gauge catalogues (common practice): every sender drawn by
// its two ends reads on our ohmmeter what its row says, and half way what lies half way.
TEST(Sensors, SendersReadTheOhmsOfTheirRows) {
  std::size_t rows = 0;
  for (const FactRow& row : read_facts("senders.csv")) {
    ++rows;
    const double low = row.number("empty_or_low_ohm"), high = row.number("full_or_high_ohm");
    for (const double at : {0.0, 50.0, 100.0}) {
      LoomMaker m;
      const PartId sender = m.part(PartKind::kSender, "B", {{"at", at}});
      m.loom.parts[sender.index()].curve.points = {{0.0, low}, {100.0, high}};
      m.wire(m.at(sender, "1"), m.at(m.splice("S1")), 1.0, 2.0);
      m.wire(m.at(sender, "2"), m.chassis(), 1.0, 1.0);
      const double ohm = low + (high - low) * at / 100.0;
      EXPECT_NEAR(OnVehicle(m.loom).ohms("S1", "chassis").value, ohm, 0.08) << row.text("sender") << " at " << at;
    }
  }
  EXPECT_EQ(rows, 14U);
}

}  // namespace
}  // namespace halfsplit::oracle
