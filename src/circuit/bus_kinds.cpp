// SPDX-License-Identifier: Apache-2.0
#include "circuit/bus_kinds.h"

#include <array>
#include <limits>

#include "base/check.h"

namespace halfsplit::circuit {

namespace {

constexpr BusReading between(double threshold, double spread) { return {1.0, -1.0, threshold, spread}; }
// One wire alone: the nodes drive it only, and let go of the other.
constexpr BusReading high_alone(double threshold, double spread) {
  return {1.0, 0.0, threshold, spread, true, false, true, false};
}
constexpr BusReading low_alone(double threshold, double spread) {
  return {0.0, -1.0, -threshold, spread, false, true, false, true};
}
// Of the one wire of a bus that has no other; dominant is low.
constexpr BusReading pulled_down(double threshold, double spread) {
  return {-1.0, 0.0, -threshold, spread, true, false, true, false};
}

// ISO 11898-2:2016: dominant at 0.9 V and above, recessive at 0.5 V and below (data); the middle, three sigma to a
// little beyond both ends.
constexpr BusReading kCanReads[] = {between(0.7, 0.1)};
// ISO 11898-3: differential at -3.2 V (data); one wire at 1.7 V and 3.3 V (from memory).
constexpr BusReading kFaultTolerantReads[] = {between(-3.2, 0.15), high_alone(1.7, 0.1), low_alone(3.3, 0.1)};
constexpr BusReading kSingleWireReads[] = {high_alone(2.1, 0.1)};  // SAE J2411, from memory
// ISO 11992-1 at 24 V: 1/3 and 2/3 of the supply change places (data); half the supply on one wire (ours).
constexpr BusReading kTruckTrailerReads[] = {between(0.0, 0.6), high_alone(12.0, 0.6), low_alone(12.0, 0.6)};
// ISO 17987-4: recessive at 0.6 of the supply and above, dominant at 0.4 and below (data), for 24 V.
constexpr BusReading kLinReads[] = {pulled_down(12.0, 0.8)};

constexpr double kPico = 1.0e-12;
constexpr double kCommon = 12.0;  // ISO 11898-2:2016 (from memory)
constexpr double kAnyCommon = std::numeric_limits<double>::infinity();
constexpr std::array<BusKindRecord, 5> kKinds{{
    {.kind = BusKind::kCan,
     .word = "can",
     .standard = "ISO 11898-2",
     .two_wires = true,
     .bit_rate = 250.0,
     .sample_percent = 87.0,
     .high = {.rest_v = 2.5, .rest_ohm = 30000.0, .drive_v = 4.5, .drive_ohm = 30.0},
     .low = {.rest_v = 2.5, .rest_ohm = 30000.0, .drive_v = 0.5, .drive_ohm = 30.0},
     .readings = kCanReads,
     .common_low_v = -kCommon,
     .common_high_v = kCommon,
     .node_farad = 50.0 * kPico,
     .cable_farad_per_m = 42.0 * kPico,
     .scales = false},
    {.kind = BusKind::kCanFaultTolerant,
     .word = "can-fault-tolerant",
     .standard = "ISO 11898-3",
     .two_wires = true,
     .bit_rate = 125.0,
     .sample_percent = 87.0,
     .high = {.rest_v = 0.0, .rest_ohm = 500.0, .drive_v = 5.0, .drive_ohm = 30.0},
     .low = {.rest_v = 5.0, .rest_ohm = 500.0, .drive_v = 0.0, .drive_ohm = 30.0},
     .readings = kFaultTolerantReads,
     .common_low_v = -kAnyCommon,
     .common_high_v = kAnyCommon,
     .node_farad = 50.0 * kPico,
     .cable_farad_per_m = 42.0 * kPico,
     .scales = false},
    {.kind = BusKind::kCanSingleWire,
     .word = "can-single-wire",
     .standard = "SAE J2411",
     .two_wires = false,
     .bit_rate = 33.3,
     .sample_percent = 80.0,
     .high = {.rest_v = 0.0, .rest_ohm = 9090.0, .drive_v = 4.2, .drive_ohm = 30.0},
     .low = {},
     .readings = kSingleWireReads,
     .common_low_v = -kAnyCommon,
     .common_high_v = kAnyCommon,
     .node_farad = 150.0 * kPico,
     .cable_farad_per_m = 60.0 * kPico,
     .scales = false},
    {.kind = BusKind::kTruckTrailer,
     .word = "truck-trailer",
     .standard = "ISO 11992-1",
     .two_wires = true,
     .bit_rate = 125.0,
     .sample_percent = 87.0,
     .high = {.rest_v = 8.0, .rest_ohm = 1200.0, .drive_v = 20.0, .drive_ohm = 300.0},
     .low = {.rest_v = 16.0, .rest_ohm = 1200.0, .drive_v = 4.0, .drive_ohm = 300.0},
     .readings = kTruckTrailerReads,
     .common_low_v = -kAnyCommon,
     .common_high_v = kAnyCommon,
     .node_farad = 50.0 * kPico,
     .cable_farad_per_m = 42.0 * kPico,
     .scales = true},
    {.kind = BusKind::kLin,
     .word = "lin",
     .standard = "ISO 17987-4",
     .two_wires = false,
     .bit_rate = 19.2,
     .sample_percent = 50.0,
     .high = {.rest_v = 24.0, .rest_ohm = 30000.0, .drive_v = 0.0, .drive_ohm = 25.0},
     .low = {},
     .readings = kLinReads,
     .common_low_v = -kAnyCommon,
     .common_high_v = kAnyCommon,
     .node_farad = 220.0 * kPico,
     .cable_farad_per_m = 60.0 * kPico,
     .scales = true},
}};

}  // namespace

std::span<const BusKindRecord> bus_kinds() { return kKinds; }

const BusKindRecord& bus_kind(BusKind kind) {
  for (const BusKindRecord& record : kKinds)
    if (record.kind == kind) return record;
  base::fail_check(__FILE__, __LINE__, "a bus kind without a record");
}

double bus_volts(const BusKindRecord& kind, double volts, double system_volts) {
  return kind.scales ? volts * system_volts / 24.0 : volts;
}

}  // namespace halfsplit::circuit
