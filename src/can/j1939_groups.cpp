// SPDX-License-Identifier: Apache-2.0
#include "can/j1939_groups.h"

#include <algorithm>

namespace halfsplit::can {

namespace {

// [m]: not in the table of facts; all of it from memory.
constexpr J1939Group kGroups[] = {
    {0x0000, "TSC1", "torque and speed asked of the engine", 10.0},            // [m]
    {0x0100, "TC1", "gear asked of the gearbox", 50.0},                        // [m]
    {0x0400, "XBR", "braking asked from outside the brake system", 20.0},      // [m]
    {0xE000, "CM1", "cab commands: fans, air conditioning, windows", 1000.0},  // [m]
    {0xF000, "ERC1", "retarder torque and state", 100.0},                      // [m]
    {0xF001, "EBC1", "brake pedal, anti-lock and traction control at work", 100.0},
    {0xF002, "ETC1", "gearbox shaft speeds, shift in process", 10.0},
    {0xF003, "EEC2", "accelerator pedal, engine load", 50.0},
    {0xF004, "EEC1", "engine speed and torque", 10.0},
    {0xF005, "ETC2", "selected and current gear", 100.0},
    {0xF009, "VDC2", "steering angle, yaw rate, accelerations", 10.0},  // [m]
    {0xFDCC, "OEL", "light switches of the driver", 1000.0},            // [m]
    {0xFE40, "LD", "which lamps are on", 1000.0},                       // [m]
    {0xFE4E, "DC1", "doors open, locked, enabled", 100.0},              // [m]
    {0xFE56, "AT1T1I", "reagent tank level and temperature", 1000.0},
    {0xFE6C, "TCO1", "tachograph: drivers' states, road speed", 50.0},
    {0xFE6E, "HRW", "wheel speeds, finely", 20.0},  // [m]
    {0xFEAE, "AIR1", "air pressures: supply, brake circuits", 1000.0},
    {0xFEBD, "FD1", "cooling fan drive", 1000.0},  // [m]
    {0xFEBF, "EBC2", "axle and wheel speeds", 100.0},
    {0xFEC1, "VDHR", "distance, finely", 1000.0},
    {0xFECA, "DM1", "active trouble codes and warning lamps", 1000.0},
    {0xFECB, "DM2", "previously active trouble codes", 0.0},              // [m]
    {0xFEDF, "EEC3", "engine friction torque, speed wished for", 250.0},  // [m]
    {0xFEE0, "VD", "distance driven", 1000.0},
    {0xFEE3, "EC1", "engine torque map", 5000.0},  // [m]
    {0xFEE4, "SHUTDN", "idle shutdown, wait-to-start lamp", 1000.0},
    {0xFEE5, "HOURS", "engine hours", 0.0},
    {0xFEE6, "TD", "time and date", 0.0},
    {0xFEE9, "LFC1", "fuel used", 0.0},
    {0xFEEA, "VW", "axle and trailer weights", 1000.0},      // [m]
    {0xFEEB, "CI", "names and numbers of components", 0.0},  // [m]
    {0xFEEC, "VI", "vehicle identification number", 0.0},    // [m]
    {0xFEEE, "ET1", "temperatures: coolant, fuel, oil", 1000.0},
    {0xFEEF, "EFL/P1", "oil, fuel and coolant pressures and levels", 500.0},
    {0xFEF1, "CCVS1", "road speed, cruise control, brake, clutch and parking brake switches", 100.0},
    {0xFEF2, "LFE1", "fuel rate and economy, throttle position", 100.0},
    {0xFEF5, "AMB", "ambient, cab and inlet temperatures, barometer", 1000.0},
    {0xFEF6, "IC1", "boost pressure, intake and exhaust temperatures", 500.0},
    {0xFEF7, "VEP1", "battery, alternator and key switch volts", 1000.0},
    {0xFEF8, "TRF1", "gearbox oil pressure and temperature", 1000.0},
    {0xFEFC, "DD", "fuel and washer levels", 1000.0},
    {0xFEFF, "WFI", "water in fuel", 10000.0},
};

}  // namespace

std::span<const J1939Group> j1939_groups() { return kGroups; }

const J1939Group* find_j1939_group(std::uint32_t pgn) {
  const auto found = std::lower_bound(std::begin(kGroups), std::end(kGroups), pgn,
                                      [](const J1939Group& group, std::uint32_t wanted) { return group.pgn < wanted; });
  return found != std::end(kGroups) && found->pgn == pgn ? &*found : nullptr;
}

}  // namespace halfsplit::can
