// SPDX-License-Identifier: Apache-2.0
// How a long message can end, and why one is broken off: reasons 1 to 9 and 250 of SAE J1939-21, table 7, as open
// headers of transport stacks repeat them; wording ours.
#include "can/transport.h"

namespace halfsplit::can {

std::string_view transport_end_word(TransportEnd end) {
  switch (end) {
    case TransportEnd::kComplete:
      return "complete";
    case TransportEnd::kAborted:
      return "broken off";
    case TransportEnd::kMissed:
      return "received, but packets are missing from the recording";
    case TransportEnd::kReplaced:
      return "begun anew before it was done";
    case TransportEnd::kTimedOut:
      return "nothing came any more";
    case TransportEnd::kCutShort:
      return "under way at the end of the recording";
    case TransportEnd::kMalformed:
      return "an announcement that cannot be meant";
    case TransportEnd::kCrowdedOut:
      break;
  }
  return "given up: too many under way";
}

std::string_view abort_reason_word(std::uint8_t reason) {
  switch (reason) {
    case 1:
      return "already busy with another message";
    case 2:
      return "no memory or time for it";
    case 3:
      return "waited too long";
    case 4:
      return "a go-ahead came in the middle of packets";
    case 5:
      return "packets sent again too often";
    case 6:
      return "a packet that was not asked for";
    case 7:
      return "wrong packet number";
    case 8:
      return "the same packet number twice";
    case 9:
      return "longer than 1,785 bytes";
    case 250:
      return "another reason";
    default:
      return "reason not known";
  }
}

}  // namespace halfsplit::can
