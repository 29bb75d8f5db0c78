// SPDX-License-Identifier: Apache-2.0
// Words for the numbers of a NAME and for addresses. Words are ours. Addresses: tests/data/facts/j1939_sa.csv (an open
// header with the list of SAE J1939 table B2). Functions and industry groups: numbers as in two open tables that agree
// up to 77 (enum Function of an open ISOBUS stack, MIT licence; a Rust crate for J1939), above from the second alone;
// 128 and above of industry group 1: the second alone.
#include "can/j1939_name.h"

#include <algorithm>
#include <iterator>

namespace halfsplit::can {

namespace {

struct NumberedWord {
  std::uint8_t number;
  std::string_view word;
};

constexpr std::string_view kIndustryGroups[] = {"any industry",      "road vehicles", "farm and forest machines",
                                                "building machines", "ships",         "industry and process control"};

// From 0 on, the same in every industry.
constexpr std::string_view kFunctions[] = {
    "engine",
    "auxiliary power unit",
    "electric propulsion",
    "gearbox",
    "battery pack monitor",
    "shift console",
    "power take-off, main or rear",
    "axle, steering",
    "axle, drive",
    "brakes, system controller",
    "brakes, steer axle",
    "brakes, drive axle",
    "retarder, engine",
    "retarder, driveline",
    "cruise control",
    "fuel system",
    "steering controller",
    "suspension, steer axle",
    "suspension, drive axle",
    "instrument cluster",
    "trip recorder",
    "cab climate control",
    "aerodynamic control",
    "navigation",
    "security",
    "network interconnect",
    "body controller",
    "power take-off, second or front",
    "off-vehicle gateway",
    "virtual terminal",
    "management computer",
    "propulsion battery charger",
    "headway controller",
    "system monitor",
    "hydraulic pump controller",
    "suspension system controller",
    "pneumatic system controller",
    "cab controller",
    "tyre pressure controller",
    "ignition module",
    "seat controls",
    "lighting operator controls",
    "water pump controller",
    "transmission display",
    "exhaust emission controller",
    "stability controller",
    "oil sensor",
    "information system controller",
    "ramp control",
    "clutch or converter controller",
    "auxiliary heater",
    "collision warning",
    "chassis controller",
    "charging system",
    "radio unit, cellular",
    "radio unit, satellite",
    "radio unit",
    "steering column",
    "fan drive",
    "starter",
    "cab display",
    "file server or printer",
    "on-board diagnostic unit",
    "engine valve controller",
    "endurance braking",
    "gas flow meter",
    "input and output unit",
    "electrical system controller",
    "exhaust gas sensor",
    "exhaust aftertreatment",
    "regeneration device",
    "transfer case",
    "coolant valve",
    "rollover detection",
    "lubrication system",
    "supplemental fan",
    "temperature sensor",
    "fuel property sensor",
    "fire suppression",
    "power systems manager",
    "electric powertrain",
    "hydraulic powertrain",
    "file server",
    "printer",
    "start aid",
    "injection control",
    "charging communication, vehicle side",
    "driver impairment lock",
    "power converter",
    "charging communication, supply side",
    "charging communication, adapter",
};

// Road vehicles, vehicle system 0.
constexpr NumberedWord kRoadFunctions[] = {
    {128, "tachograph"},   {129, "door controller"},  {130, "articulation joint"}, {131, "body to vehicle interface"},
    {132, "slope sensor"}, {134, "retarder display"}, {135, "differential lock"},  {136, "low voltage disconnect"},
};

constexpr NumberedWord kAddresses[] = {
    {0, "engine 1"},
    {1, "engine 2"},
    {2, "turbocharger"},
    {3, "transmission 1"},
    {4, "transmission 2"},
    {5, "shift console, primary"},
    {6, "shift console, secondary"},
    {7, "power take-off, main or rear"},
    {8, "axle, steering"},
    {9, "axle, drive 1"},
    {10, "axle, drive 2"},
    {11, "brakes, system controller"},
    {12, "brakes, steer axle"},
    {13, "brakes, drive axle 1"},
    {14, "brakes, drive axle 2"},
    {15, "retarder, engine"},
    {16, "retarder, driveline"},
    {17, "cruise control"},
    {18, "fuel system"},
    {19, "steering controller"},
    {20, "suspension, steer axle"},
    {21, "suspension, drive axle 1"},
    {22, "suspension, drive axle 2"},
    {23, "instrument cluster 1"},
    {24, "trip recorder"},
    {25, "climate control 1"},
    {26, "charging system"},
    {27, "aerodynamic control"},
    {28, "navigation"},
    {29, "security"},
    {30, "electrical system"},
    {31, "starter system"},
    {32, "tractor-trailer bridge 1"},
    {33, "body controller"},
    {34, "auxiliary valve control"},
    {35, "hitch control"},
    {36, "power take-off, front"},
    {37, "off-vehicle gateway"},
    {38, "virtual terminal in cab"},
    {39, "management computer 1"},
    {40, "cab display"},
    {41, "sprayer display"},
    {42, "headway controller"},
    {43, "on-board diagnostic unit"},
    {45, "endurance braking"},
    {46, "hydraulic pump controller"},
    {47, "suspension system controller 1"},
    {48, "pneumatic system controller"},
    {49, "cab controller, primary"},
    {50, "cab controller, secondary"},
    {51, "tyre pressure controller"},
    {52, "ignition module 1"},
    {53, "ignition module 2"},
    {54, "seat controls"},
    {55, "lighting operator controls"},
    {56, "rear axle steering 1"},
    {57, "water pump controller"},
    {58, "climate control 2"},
    {59, "transmission display, primary"},
    {60, "transmission display, secondary"},
    {61, "suspension system controller 2 (older lists) or exhaust emission controller (newer lists)"},
    {62, "information system controller 1"},
    {63, "ramp control"},
    {238, "tachograph (on-highway group)"},  // [m]
    {249, "off-board service tool 1"},
    {250, "off-board service tool 2"},
    {251, "on-board data logger"},
    {252, "reserved for experiments"},
    {253, "reserved for vehicle builder"},
    {254, "null address (no address claimed)"},
    {255, "global address (everyone)"},
};

template <std::size_t N>
std::string_view word_of(const NumberedWord (&words)[N], std::uint8_t number) {
  const auto* const found =
      std::lower_bound(std::begin(words), std::end(words), number,
                       [](const NumberedWord& word, std::uint8_t wanted) { return word.number < wanted; });
  return found != std::end(words) && found->number == number ? found->word : std::string_view();
}

}  // namespace

std::string_view industry_group_word(std::uint8_t industry_group) {
  return industry_group < std::size(kIndustryGroups) ? kIndustryGroups[industry_group] : std::string_view();
}

std::string_view name_function_word(const J1939Name& name) {
  if (name.function < std::size(kFunctions)) return kFunctions[name.function];
  const bool road = name.industry_group == 1 && name.vehicle_system == 0;
  return road ? word_of(kRoadFunctions, name.function) : std::string_view();
}

std::string_view source_address_word(std::uint8_t address) { return word_of(kAddresses, address); }

}  // namespace halfsplit::can
