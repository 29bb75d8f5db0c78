// SPDX-License-Identifier: Apache-2.0
// One node's protocol controller, bit by bit, after ISO 11898-1 (clauses by name, from memory): medium access control
// (arbitration, acknowledgement), error detection and signalling (active and passive error flags, error delimiter,
// overload flags), interframe space (intermission, suspend transmission, bus idle), fault confinement (both error
// counters, bus-off, recovery). All nodes share one bit clock; resynchronisation is left out.
// Where the standard leaves a choice: `Choices`; bus-off is left by itself after 128 times 11 recessive bits.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>

#include "tests/bus_twin/can_frame.h"

namespace halfsplit::bus_twin {

struct Choices {
  int recovered = 120;              // what a receive counter above 127 becomes after a good frame: 119 to 127
  bool never_counts = false;        // not the standard's: a broken one that no error takes off the bus
  bool counted_at_the_end = false;  // a good frame counts at its last but one bit, not at the acknowledgement
};

class Controller {
 public:
  explicit Controller(Choices choices = {}) : choices_(choices) {}

  // What it wants to send; takes the place of what has not gone out yet, at the next attempt at the latest.
  void offer(const Frame& frame) { pending_ = frame; }
  [[nodiscard]] bool has_pending() const { return pending_.has_value(); }

  // One bit: first every node says what it puts on the bus, then every node reads the same bit.
  Bit send();
  void read(Bit bit);

  // A frame taken for valid in the bit just read, or null.
  [[nodiscard]] const Frame* received() const { return received_ ? &*received_ : nullptr; }
  // Did the bit just read end a frame of its own that went well?
  [[nodiscard]] bool sent() const { return sent_; }

  [[nodiscard]] int transmit_errors() const { return transmit_errors_; }
  [[nodiscard]] int receive_errors() const { return receive_errors_; }
  [[nodiscard]] bool bus_off() const { return state_ == State::kBusOff; }
  [[nodiscard]] bool passive() const { return transmit_errors_ > 127 || receive_errors_ > 127; }
  [[nodiscard]] bool sending() const { return transmitter_ && (state_ == State::kSequence || state_ == State::kTail); }

 private:
  enum class State : std::uint8_t {
    kIntegrating,  // waits for 11 recessive bits
    kBusOff,       // for 128 times as many
    kIdle,
    kSequence,    // start of frame to CRC
    kTail,        // CRC delimiter, ACK slot, ACK delimiter, end of frame
    kActiveFlag,  // also an overload flag
    kPassiveFlag,
    kWaitRecessive,  // flags of others
    kDelimiter,
    kIntermission,
    kSuspend,
  };
  enum Tail : std::uint8_t { kCrcDelimiter, kAckSlot, kAckDelimiter, kEndOfFrame, kLastButOne = 8, kLast = 9 };

  void begin_sending(bool start_of_frame_seen);
  void begin_receiving();
  void read_away(Bit bit);
  void read_sequence(Bit bit);
  void read_own_sequence(Bit bit);
  void read_tail(Bit bit);
  void read_own_tail(Bit bit);
  void read_flag(Bit bit);
  void read_passive_flag(Bit bit);
  void wait_for_recessive(Bit bit);
  void read_delimiter(Bit bit);
  void read_interframe(Bit bit);
  void count_good_frame();
  void end_own_frame();
  void go(State state);

  enum class Charge : std::uint8_t { kYes, kNo, kIfDominantSeen };
  void signal_error(Charge charge = Charge::kYes);
  void signal_overload();
  void charge(int transmitter, int receiver);

  Choices choices_;
  State state_ = State::kIntegrating;
  std::size_t count_ = 0;        // bits in this state
  std::size_t occurrences_ = 0;  // bus-off: of 11 recessive bits
  bool transmitter_ = false;     // of the frame that is on, or was last
  bool overload_ = false;        // this flag is one
  bool charge_if_dominant_ = false;
  Bit last_ = kRecessive;  // passive flag: equal bits
  int transmit_errors_ = 0;
  int receive_errors_ = 0;

  std::optional<Frame> pending_;
  std::optional<Frame> on_air_;
  Sequence sequence_;
  std::size_t place_ = 0;  // in sequence_
  SequenceReader reader_;

  std::optional<Frame> received_;
  bool sent_ = false;
};

}  // namespace halfsplit::bus_twin
