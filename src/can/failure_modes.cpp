// SPDX-License-Identifier: Apache-2.0
// The failure mode identifiers of SAE J1939-73, appendix A, in our words (tests/data/facts/j1939_fmi.csv).
#include "can/trouble_codes.h"

#include <iterator>

namespace halfsplit::can {

namespace {

constexpr FailureMode kFailureModes[] = {
    {"high", "reading valid, above normal, most severe", ""},
    {"low", "reading valid, below normal, most severe", ""},
    {"erratic", "jumping, intermittent or implausible data", ""},
    {"voltage high", "voltage above normal or wire shorted to a high source", "short to supply or open return"},
    {"voltage low", "voltage below normal or wire shorted to a low source", "short to ground or open feed"},
    {"current low", "current below normal or circuit open", "open circuit"},
    {"current high", "current above normal or circuit grounded", "short to ground or overload"},
    {"mechanical", "mechanical part does not answer or is out of adjustment", ""},
    {"bad timing", "frequency, pulse width or period abnormal", ""},
    {"bad update rate", "message missing or too slow/fast", ""},
    {"bad slope", "changes too fast or too slowly", ""},
    {"unknown cause", "failure mode cannot be told", ""},
    {"bad device", "the device or part itself is bad", ""},
    {"calibration", "out of calibration", ""},
    {"special", "special instructions apply", ""},
    {"high, mild", "valid, above normal, least severe", ""},
    {"high, moderate", "valid, above normal, moderately severe", ""},
    {"low, mild", "valid, below normal, least severe", ""},
    {"low, moderate", "valid, below normal, moderately severe", ""},
    {"network data error", "data received over the network is marked bad", ""},
    {"drift high", "value has drifted high", ""},
    {"drift low", "value has drifted low", ""},
    {"reserved", "reserved by SAE", ""},
    {"reserved", "reserved by SAE", ""},
    {"reserved", "reserved by SAE", ""},
    {"reserved", "reserved by SAE", ""},
    {"reserved", "reserved by SAE", ""},
    {"reserved", "reserved by SAE", ""},
    {"reserved", "reserved by SAE", ""},
    {"reserved", "reserved by SAE", ""},
    {"reserved", "reserved by SAE", ""},
    {"condition exists", "the condition named by the SPN is present", ""},
};

}  // namespace

FailureMode failure_mode(std::uint8_t fmi) {
  return fmi < std::size(kFailureModes) ? kFailureModes[fmi] : FailureMode();
}

}  // namespace halfsplit::can
