// SPDX-License-Identifier: Apache-2.0
// What a recording tells, as plain values. Every finding carries the lines it came from. Times are microseconds since
// the first frame of the recording; where the clock was set during it (ClockJump), they count on as if no time had
// passed at that place. How each is found: docs/capture.md.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "can/trouble_codes.h"
#include "can/uds_codes.h"

namespace halfsplit::capture {

// A place in the recording.
struct Mark {
  std::int64_t at_us = 0;
  std::uint64_t line = 0;
};

// How regularly something comes. From at most kKeptIntervals intervals drawn evenly over the recording (rhythm.h).
struct Rhythm {
  double median_us = 0.0;
  double p5_us = 0.0, p95_us = 0.0;  // nine in ten intervals lie between
  std::size_t of = 0;                // intervals looked at; 0: came at most once
  bool cyclic = false;               // nine in ten within half and twice the median, at least kLeastCyclic intervals
};

struct Gap {
  Mark before, after;  // the last frame before it, the first one after
  [[nodiscard]] std::int64_t length_us() const { return after.at_us - before.at_us; }
};

// One message: a group of one sender (to one destination), or an 11-bit identifier.
struct Message {
  std::uint32_t id = 0;   // as first seen, priority and all
  std::uint32_t pgn = 0;  // of a 29-bit identifier
  std::uint8_t destination = 255;
  std::uint64_t frames = 0;
  Mark first, last;
  Rhythm rhythm;
  Gap longest;                // meaningful when frames > 1
  std::uint64_t answers = 0;  // frames that came within kAnswerUs of a request for this group
  bool on_request = false;    // not cyclic, and most frames are such answers
  bool stopped = false;       // cyclic, ended long before its sender did
};

// Who sends: a source address of 29-bit identifiers, or one 11-bit identifier, on one channel.
struct SenderKey {
  std::uint8_t channel = 0;
  bool extended = true;
  std::uint16_t number = 0;  // source address or 11-bit identifier
  auto operator<=>(const SenderKey&) const = default;
};

// An address claim, once for each NAME.
struct Claim {
  std::uint64_t name = 0;  // 64 bits as a number
  std::uint64_t times = 0;
  Mark first, last;
};

struct Sender {
  SenderKey key;
  std::uint64_t frames = 0;
  Mark first, last;
  std::vector<Claim> claims;        // in the order first seen
  double fastest_us = 0.0;          // shortest median of its cyclic messages; 0: it has none
  std::int64_t quiet_us = 0;        // silence longer than this is a finding; 0: not judged
  std::vector<Message> messages;    // by identifier
  std::vector<std::uint32_t> rate;  // frames in each slot (Load::slot_us)
};

// Supply as a module reports it (SPN 168, battery; 158, behind the key switch).
struct VoltsMark {
  double volts = 0.0;
  std::uint32_t spn = 0;
  SenderKey source;
  Mark at;
};

struct Silence {
  std::size_t sender = 0;  // index into Findings::senders
  Gap gap;                 // to the end: `after` is the last frame of the recording
  bool to_the_end = false;
  bool claimed = false;  // its first frames after it hold an address claim: started anew
};

// Silences that began at one moment: there is an instant at which all of them may have stopped.
struct SilentEvent {
  std::vector<Silence> silences;          // by sender
  std::vector<std::size_t> heard;         // senders that went on
  std::vector<std::size_t> too_slow;      // present, but too seldom heard to tell
  bool ended_together = false;            // all came back within kTogetherUs
  bool whole_bus = false;                 // nobody at all was heard
  std::optional<VoltsMark> volts_before;  // last report ahead of it
  std::optional<VoltsMark> volts_least;   // lowest report during it
  std::optional<VoltsMark> volts_after;   // first report behind it
  [[nodiscard]] const Gap& longest() const;
  [[nodiscard]] Mark begin() const;  // the last frame of whichever stopped last
};

// Events of the same senders.
struct SilentPattern {
  std::vector<std::size_t> senders;
  std::vector<std::size_t> events;  // indices into Findings::events, by time
  std::int64_t shortest_us = 0, longest_us = 0;
};

// A sender first heard well after the start of the recording.
struct LateComer {
  std::size_t sender = 0;
  Mark first;
  bool claimed = false;
};

struct AddressConflict {
  SenderKey key;
  std::vector<Claim> claims;  // two or more NAMEs, in the order first seen
  bool contested = false;     // one of them claimed again after another had
  std::uint64_t winner = 0;   // the lowest NAME keeps the address (SAE J1939-81)
};

struct CannotClaim {
  std::uint8_t channel = 0;
  Claim claim;
};

struct Request {
  std::uint8_t channel = 0, from = 0, to = 255;
  std::uint32_t pgn = 0;
  // Refused: an acknowledgement other than "done" came. What is left was asked less than kAnswerUs before the end.
  std::uint64_t times = 0, answered = 0, refused = 0, unanswered = 0;
  Mark first, last;
  Mark first_unanswered;                  // line 0: none
  std::vector<std::uint8_t> answered_by;  // source addresses, rising
  // Who had to answer and was on the bus then and later, but never did: the one asked; asked of all for claims,
  // everyone.
  std::vector<std::uint8_t> not_answered_by;
};

struct Acknowledged {
  std::uint8_t channel = 0, from = 0, to = 255, control = 0;
  std::uint32_t pgn = 0;
  std::uint64_t times = 0;
  Mark first, last;
};

struct LongMessages {
  std::uint8_t channel = 0, from = 0, to = 255;
  std::uint32_t pgn = 0;
  std::uint64_t begun = 0, complete = 0, aborted = 0, incomplete = 0;
  std::uint32_t largest_bytes = 0;
  Mark first, last;
  Mark first_failed;  // line 0: none
};

struct SeenCode {
  SenderKey source;
  std::uint32_t pgn = 0;                         // can::find_code_group says which list
  can::TroubleCode code;                         // as last told
  std::uint8_t least_count = 0, most_count = 0;  // occurrence count as told; can::kOccurrencesNotSaid among them
  std::uint64_t times = 0;                       // messages that told it
  std::uint64_t came = 0, went = 0;              // changes from one message of that source to the next
  Mark first, last;
  bool at_the_end = false;  // in the last message of that source
};

struct SeenLamps {
  SenderKey source;
  std::uint32_t pgn = 0;
  std::uint64_t messages = 0, with_codes = 0;
  can::Lamps lamps;                       // as last told
  std::array<std::uint64_t, 4> lit = {};  // messages with the lamp on or flashing: malfunction, red, amber, protect
  std::array<Mark, 4> first_lit = {};
};

// From diagnostic replies (ISO 14229-1, ISO 15031-5).
struct SeenDiagnosticCode {
  std::uint8_t channel = 0;
  bool extended = false;
  std::uint32_t id = 0;  // identifier of the reply
  std::uint8_t service = 0;
  std::string_view tells;  // "codes by status"
  can::DiagnosticCode code;
  std::uint64_t times = 0;
  Mark first, last;
};

struct LoadSlot {
  std::uint64_t bits = 0;  // at most, see bus_load.h
  std::uint32_t errors = 0;
  float least_volts = -1.0F, most_volts = -1.0F;  // as reported by anybody; -1: no report
};

struct ChannelLoad {
  std::uint64_t frames = 0;
  std::uint64_t bits_most = 0, bits_least = 0;  // worst-case stuffing, none
  std::uint64_t peak_bits = 0;                  // most in one tenth of a second, worst-case stuffing
  Mark peak;                                    // where that tenth begins
  double bit_rate = 0.0;                        // bit/s
  bool guessed = true;
  std::vector<LoadSlot> slots;
};

struct ErrorBurst {
  Mark first, last;
  std::uint64_t frames = 0;
};

struct Errors {
  std::uint64_t frames = 0;
  std::array<std::uint64_t, 10> by_class = {};  // bit i of the identifier, error_frames.h names them
  std::vector<ErrorBurst> bursts;               // the first kKeptBursts
  std::uint64_t more_bursts = 0;
  bool nothing_else = false;  // hardly a frame but errors: the adapter's bit rate is wrong
};

struct ClockJump {
  std::uint64_t line = 0;
  std::int64_t by_us = 0;  // forward positive
};

struct Findings {
  std::uint64_t frames = 0;  // errors included
  std::uint64_t remote = 0, flexible = 0;
  bool timed = false;            // false: no times, so nothing is said of rhythm, silences and load
  std::int64_t start_us = 0;     // the first frame's time as recorded
  std::int64_t duration_us = 0;  // to the last frame
  Mark last;
  std::vector<Sender> senders;          // by key
  std::uint64_t unlisted = 0;           // frames beyond kMostMessages or kMostSenders
  std::vector<SilentEvent> events;      // by time
  std::vector<SilentPattern> patterns;  // most events first
  std::uint64_t more_silences = 0;      // at least so many were not kept
  std::vector<LateComer> late;
  std::vector<AddressConflict> conflicts;
  std::vector<CannotClaim> cannot_claim;
  std::vector<Request> requests;
  std::vector<Acknowledged> acknowledgements;
  std::vector<LongMessages> long_messages;
  std::vector<SeenCode> codes;
  std::vector<SeenLamps> lamps;
  std::vector<SeenDiagnosticCode> diagnostic_codes;
  std::vector<VoltsMark> last_volts;  // of each source
  std::int64_t slot_us = 0;
  std::vector<ChannelLoad> load;  // by channel
  Errors errors;
  std::vector<ClockJump> jumps;  // the first kKeptJumps
  std::uint64_t more_jumps = 0;
  std::uint64_t not_kept = 0;  // entries of other lists that found no room
};

}  // namespace halfsplit::capture
