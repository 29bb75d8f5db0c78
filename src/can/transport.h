// SPDX-License-Identifier: Apache-2.0
// Long messages put together again from their packets as a listener on the bus hears them: SAE J1939-21 transport
// protocol, broadcast (BAM) and between two (RTS, CTS, EndOfMsgACK, abort), groups 60416 and 60160. Any number of
// messages may be under way at once, one for each pair of sender and receiver on each channel. It trusts nothing: what
// does not fit is counted and passed over. Memory: at most kMostTransports messages of 1,785 bytes under way.
//
// A message is given up when its next packet comes later than any receiver waits (times of J1939-21): 750 ms between
// packets (T1), 1,250 ms after a go-ahead or waiting for one (T2, T3), 1,050 ms after "hold on" (T4). Recordings
// without times (every time_us the same) know no such end. Frames must come in the order of the recording.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>
#include <vector>

#include "can/frame.h"
#include "can/j1939_id.h"

namespace halfsplit::can {

constexpr std::size_t kLongestTransport = 1785;  // 255 packets of 7 bytes
constexpr std::size_t kMostTransports = 256;

enum class TransportEnd : std::uint8_t {
  kComplete,   // every packet was heard, however it ended then (acknowledged, aborted_by)
  kAborted,    // one of the two broke it off
  kMissed,     // acknowledged as received, but packets are not in the recording
  kReplaced,   // the sender began anew before it was done
  kTimedOut,   // nothing came any more
  kCutShort,   // under way when the recording ended
  kMalformed,  // an announcement that cannot be meant: too short for its packets, asked of everyone
  kCrowdedOut  // the oldest of more than kMostTransports
};
[[nodiscard]] std::string_view transport_end_word(TransportEnd end);

struct TransportMessage {
  TransportEnd end = TransportEnd::kComplete;
  bool broadcast = false;
  bool acknowledged = false;  // between two: the receiver said that it has all
  std::uint8_t channel = 0;
  std::uint8_t source = 0;
  std::uint8_t destination = kGlobalAddress;
  std::uint32_t pgn = 0;
  std::uint16_t size = 0;          // bytes announced
  std::uint8_t packets = 0;        // announced
  std::uint8_t received = 0;       // different ones heard
  std::uint16_t repeated = 0;      // packets heard again, asked for or not
  std::uint16_t out_of_order = 0;  // packets that came before an earlier one
  std::uint16_t announced_again = 0;
  std::uint8_t aborted_by = kNullAddress;       // kAborted
  std::uint8_t abort_reason = 0;                // of whom aborted_by says; abort_reason_word
  std::uint64_t first_line = 0, last_line = 0;  // announcement; last frame that belonged to it
  std::int64_t first_us = 0, last_us = 0;
  std::vector<std::uint8_t> bytes;  // kComplete: `size` of them; else empty
};
[[nodiscard]] std::string_view abort_reason_word(std::uint8_t reason);

struct TransportCounts {
  std::uint64_t announced = 0;  // broadcasts and requests to send, repetitions apart
  std::uint64_t complete = 0;
  std::uint64_t aborted = 0;     // connections broken off that were under way
  std::uint64_t unfinished = 0;  // all other ends
  std::uint64_t stray = 0;       // packets, go-aheads, acknowledgements, aborts of no message that is under way
  std::uint64_t odd = 0;         // frames too short, of an unknown control byte, packet numbers out of range
};

class Transport {
 public:
  Transport();
  ~Transport();
  Transport(Transport&&) noexcept;
  Transport& operator=(Transport&&) noexcept;

  // Whether `take` has anything to do with a 29-bit identifier: one compare, for the loop over all frames.
  [[nodiscard]] static constexpr bool concerns(std::uint32_t id) {
    const std::uint32_t group = j1939_pgn(id);
    return group == kPgnTransportControl || group == kPgnTransportData;
  }

  // Any frame; those that do not concern it cost nothing. Messages that ended are added to `ended`.
  void take(const Frame& frame, std::vector<TransportMessage>& ended);
  // Ends what has waited too long by `now_us`. `take` does this for itself; for live taps and quiet times.
  void expire(std::int64_t now_us, std::vector<TransportMessage>& ended);
  // The recording is over. Afterwards as new, but for the counts.
  void finish(std::vector<TransportMessage>& ended);
  [[nodiscard]] const TransportCounts& counts() const { return counts_; }

 private:
  struct Session;
  using Ended = std::vector<TransportMessage>;

  void take_control(const Frame& frame, const J1939Id& id, Ended& ended);
  void take_packet(const Frame& frame, const J1939Id& id, Ended& ended);
  void announce(const Frame& frame, const J1939Id& id, Ended& ended);
  [[nodiscard]] bool announced_again(const TransportMessage& message);
  void begin(Session&& session, Ended& ended);
  void go_ahead(const Frame& frame, const J1939Id& id);
  void acknowledge(const Frame& frame, const J1939Id& id, Ended& ended);
  void abort(const Frame& frame, const J1939Id& id, Ended& ended);
  void settle(std::size_t at, TransportEnd otherwise, Ended& ended);
  [[nodiscard]] std::size_t find(std::uint8_t channel, std::uint8_t source, std::uint8_t destination) const;

  std::vector<Session> sessions_;
  TransportCounts counts_;
};

}  // namespace halfsplit::can
