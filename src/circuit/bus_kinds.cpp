// SPDX-License-Identifier: Apache-2.0
#include "circuit/bus_kinds.h"

#include <array>

#include "base/check.h"

namespace halfsplit::circuit {

namespace {

// ISO 11898-2:2016: dominant at 0.9 V and above, recessive at 0.5 V and below (data); the middle, three sigma to a
// little beyond both ends.
constexpr BusReading kCanReads[] = {{1.0, -1.0, 0.7, 0.1, true, true, true, true}};
// ISO 11898-3: differential at -3.2 V (data); one wire at 1.7 V and 3.3 V (from memory). With one wire the node lets
// go of the other.
constexpr BusReading kFaultTolerantReads[] = {{1.0, -1.0, -3.2, 0.15, true, true, true, true},
                                              {1.0, 0.0, 1.7, 0.1, true, false, true, false},
                                              {0.0, -1.0, -3.3, 0.1, false, true, false, true}};
constexpr BusReading kSingleWireReads[] = {{1.0, 0.0, 2.1, 0.1, true, false, true, false}};  // SAE J2411, from memory
// ISO 11992-1 at 24 V: 1/3 and 2/3 of the supply change places (data); half the supply on one wire (ours).
constexpr BusReading kTruckTrailerReads[] = {{1.0, -1.0, 0.0, 0.6, true, true, true, true},
                                             {1.0, 0.0, 12.0, 0.6, true, false, true, false},
                                             {0.0, -1.0, -12.0, 0.6, false, true, false, true}};
// ISO 17987-4: recessive at 0.6 of the supply and above, dominant at 0.4 and below (data), for 24 V.
constexpr BusReading kLinReads[] = {{-1.0, 0.0, -12.0, 0.8, true, false, true, false}};

constexpr double kFarad = 1.0e-12;
constexpr std::array<BusKindRecord, 5> kKinds{{
    {BusKind::kCan,
     "can",
     "ISO 11898-2",
     true,
     250.0,
     87.0,
     {2.5, 30000.0, 4.5, 30.0},
     {2.5, 30000.0, 0.5, 30.0},
     kCanReads,
     -12.0,
     12.0,
     50.0 * kFarad,
     42.0 * kFarad,
     false},
    {BusKind::kCanFaultTolerant,
     "can-fault-tolerant",
     "ISO 11898-3",
     true,
     125.0,
     87.0,
     {0.0, 500.0, 5.0, 30.0},
     {5.0, 500.0, 0.0, 30.0},
     kFaultTolerantReads,
     -100.0,
     100.0,
     50.0 * kFarad,
     42.0 * kFarad,
     false},
    {BusKind::kCanSingleWire,
     "can-single-wire",
     "SAE J2411",
     false,
     33.3,
     80.0,
     {0.0, 9090.0, 4.2, 30.0},
     {},
     kSingleWireReads,
     -100.0,
     100.0,
     150.0 * kFarad,
     60.0 * kFarad,
     false},
    {BusKind::kTruckTrailer,
     "truck-trailer",
     "ISO 11992-1",
     true,
     125.0,
     87.0,
     {8.0, 1200.0, 20.0, 300.0},
     {16.0, 1200.0, 4.0, 300.0},
     kTruckTrailerReads,
     -100.0,
     100.0,
     50.0 * kFarad,
     42.0 * kFarad,
     true},
    {BusKind::kLin,
     "lin",
     "ISO 17987-4",
     false,
     19.2,
     50.0,
     {24.0, 30000.0, 0.0, 25.0},
     {},
     kLinReads,
     -100.0,
     100.0,
     220.0 * kFarad,
     60.0 * kFarad,
     true},
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
