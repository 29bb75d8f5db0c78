// SPDX-License-Identifier: Apache-2.0
// The tables. Lamps are the usual ones of their function (common practice): 21 W to turn, stop, reverse and rear fog,
// 5 W and two of them to a side for tail, marker and plate.
#include "formats/trailer_sockets.h"

namespace halfsplit::formats {

namespace {

using enum SocketUse;

constexpr SocketPin k24n[] = {
    {"1", kReturn, "common return", "WH", 2.5},
    {"2", kLamps, "left tail, position and marker lamps", "BK", 1.5, "1", "tail-left", "10 left"},
    {"3", kLamps, "left turn signal", "YE", 1.5, "1", "turn-left", "21 left"},
    {"4", kLamps, "stop lamps", "RD", 1.5, "1", "stop", "21 left/21 right"},
    {"5", kLamps, "right turn signal", "GN", 1.5, "1", "turn-right", "21 right"},
    {"6", kLamps, "right tail, position, marker and plate lamps", "BN", 1.5, "1", "tail-right", "10 right"},
    {"7", kFree, "trailer brake control or free", "BU", 1.5},
};

constexpr SocketPin k24s[] = {
    {"1", kReturn, "common return", "WH", 2.5},
    {"2", kFree, "free (earlier: brake lining wear)", "BK", 1.5},
    {"3", kLamps, "reversing lamps", "YE", 1.5, "1", "reversing", "21 left/21 right"},
    {"4", kPermanent, "permanent +24 V", "RD", 2.5, "1", "permanent"},
    {"5", kFree, "sensing device to return of pin 1, or free", "GN", 1.5},
    {"6", kSwitched, "switched +24 V", "BN", 2.5, "1", "switched"},
    {"7", kLamps, "rear fog lamps", "BU", 1.5, "1", "fog", "21 left/21 right"},
};

constexpr SocketPin k15Pin[] = {
    {"1", kLamps, "left turn signal", "YE", 1.5, "4", "turn-left", "21 left"},
    {"2", kLamps, "right turn signal", "GN", 1.5, "4", "turn-right", "21 right"},
    {"3", kLamps, "rear fog lamps", "BU", 1.5, "4", "fog", "21 left/21 right"},
    {"4", kReturn, "common return", "WH", 2.5},
    {"5", kLamps, "left tail, marker and plate lamps", "BK", 1.5, "4", "tail-left", "10 left"},
    {"6", kLamps, "right tail, marker and plate lamps", "BN", 1.5, "4", "tail-right", "10 right"},
    {"7", kLamps, "stop lamps", "RD", 1.5, "4", "stop", "21 left/21 right"},
    {"8", kLamps, "reversing lamps", "PK", 1.5, "4", "reversing", "21 left/21 right"},
    {"9", kPermanent, "permanent +24 V", "OG", 2.5, "4", "permanent"},
    {"10", kSignal, "brake lining wear sensing", "GY", 1.5, "4", "lining-wear"},
    {"11", kSignal, "spring brake (parking brake) indication", "WH/BK", 1.5, "4", "spring-brake"},
    {"12", kSignal, "axle lift", "WH/BU", 1.5, "4", "axle-lift"},
    {"13", kReturn, "return for the data lines", "WH/RD", 2.5},
    {"14", kSignal, "CAN_H (ISO 11992-3)", "WH/GN", 1.5, "13", "can-high"},
    {"15", kSignal, "CAN_L (ISO 11992-3)", "WH/BN", 1.5, "13", "can-low"},
};

constexpr SocketPin kAbsEbs[] = {
    {"1", kPermanent, "permanent + for solenoids", "RD", 4.0, "4", "permanent"},
    {"2", kSwitched, "switched + for electronics", "BK", 1.5, "3", "switched"},
    {"3", kReturn, "return for electronics", "YE", 1.5},
    {"4", kReturn, "return for solenoids", "BN", 4.0},
    {"5", kWarningLamp, "warning lamp line", "WH", 1.5, "3", "trailer-warning"},
    {"6", kSignal, "CAN_H (ISO 11992-1; absent in the 5-pin version)", "WH/GN", 1.5, "3", "can-high"},
    {"7", kSignal, "CAN_L (ISO 11992-1; absent in the 5-pin version)", "WH/BN", 1.5, "3", "can-low"},
};

constexpr SocketPin k13Pin[] = {
    {"1", kLamps, "left turn signal", "YE", 1.5, "3", "turn-left", "21 left"},
    {"2", kLamps, "rear fog lamps", "BU", 1.5, "3", "fog", "21 left/21 right"},
    {"3", kReturn, "return for pins 1 to 8", "WH", 2.5},
    {"4", kLamps, "right turn signal", "GN", 1.5, "3", "turn-right", "21 right"},
    {"5", kLamps, "right tail, marker and plate lamps", "BN", 1.5, "3", "tail-right", "10 right"},
    {"6", kLamps, "stop lamps", "RD", 1.5, "3", "stop", "21 left/21 right"},
    {"7", kLamps, "left tail, marker and plate lamps", "BK", 1.5, "3", "tail-left", "10 left"},
    {"8", kLamps, "reversing lamps", "PK", 1.5, "3", "reversing", "21 left/21 right"},
    {"9", kPermanent, "permanent +12 V", "OG", 2.5, "13", "permanent"},
    {"10", kSwitched, "switched +12 V", "GY", 2.5, "11", "switched"},
    {"11", kReturn, "return for pin 10", "WH/BK", 2.5},
    {"12", kFree, "trailer-present coding or free", "", 1.5},
    {"13", kReturn, "return for pin 9", "WH/RD", 2.5},
};

constexpr SocketPin k12n[] = {
    {"1", kLamps, "left turn signal", "YE", 1.5, "3", "turn-left", "21 left"},
    {"2", kLamps, "rear fog lamps", "BU", 1.5, "3", "fog", "21 left/21 right"},
    {"3", kReturn, "common return", "WH", 2.5},
    {"4", kLamps, "right turn signal", "GN", 1.5, "3", "turn-right", "21 right"},
    {"5", kLamps, "right tail, marker and plate lamps", "BN", 1.5, "3", "tail-right", "10 right"},
    {"6", kLamps, "stop lamps", "RD", 1.5, "3", "stop", "21 left/21 right"},
    {"7", kLamps, "left tail, marker and plate lamps", "BK", 1.5, "3", "tail-left", "10 left"},
};

constexpr SocketPin k12s[] = {
    {"1", kLamps, "reversing lamps", "YE", 1.5, "3", "reversing", "21 left/21 right"},
    {"2", kFree, "free", "BU", 1.5},
    {"3", kReturn, "return for pin 4", "WH", 2.5},
    {"4", kPermanent, "permanent +12 V", "GN", 2.5, "3", "permanent"},
    {"5", kFree, "sensing or free", "BN", 1.5},
    {"6", kSwitched, "switched +12 V", "RD", 2.5, "7", "switched"},
    {"7", kReturn, "return for pin 6", "BK", 2.5},
};

constexpr TrailerSocket kSockets[] = {
    {"24N", "ISO 1185 (24N)", 24.0, false, k24n},          {"24S", "ISO 3731 (24S)", 24.0, false, k24s},
    {"15-pin", "ISO 12098 (15-pin)", 24.0, false, k15Pin}, {"ABS-EBS", "ISO 7638-1 (ABS/EBS)", 24.0, true, kAbsEbs},
    {"13-pin", "ISO 11446 (13-pin)", 12.0, false, k13Pin}, {"12N", "ISO 1724 (12N)", 12.0, false, k12n},
    {"12S", "ISO 3732 (12S)", 12.0, false, k12s},
};

}  // namespace

std::span<const TrailerSocket> trailer_sockets() { return kSockets; }

const TrailerSocket* find_trailer_socket(std::string_view name) {
  for (const TrailerSocket& one : kSockets)
    if (one.name == name) return &one;
  return nullptr;
}

}  // namespace halfsplit::formats
