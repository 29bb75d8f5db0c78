// SPDX-License-Identifier: Apache-2.0
#include "tests/bus_twin/can_controller.h"

namespace halfsplit::bus_twin {

void Controller::go(State state) {
  state_ = state;
  count_ = 0;
}

// --- what it puts on the bus -----------------------------------------------------------------------------------------

Bit Controller::send() {
  if (state_ == State::kIdle && pending_) begin_sending(false);
  switch (state_) {
    case State::kSequence:
      return transmitter_ ? sequence_.bits[place_] : kRecessive;
    case State::kTail:
      return !transmitter_ && count_ == kAckSlot && reader_.crc_fits() ? kDominant : kRecessive;
    case State::kActiveFlag:
      return kDominant;
    default:
      return kRecessive;
  }
}

void Controller::begin_sending(bool start_of_frame_seen) {
  if (on_air_ != pending_) {
    on_air_ = pending_;
    sequence_ = write_sequence(*on_air_);
  }
  place_ = 0;
  reader_.restart();
  transmitter_ = true;
  go(State::kSequence);
  if (start_of_frame_seen) {
    reader_.take(kDominant);
    place_ = 1;
  }
}

void Controller::begin_receiving() {
  reader_.restart();
  reader_.take(kDominant);
  transmitter_ = false;
  go(State::kSequence);
}

// --- what it reads ---------------------------------------------------------------------------------------------------

void Controller::read(Bit bit) {
  received_.reset();
  sent_ = false;
  switch (state_) {
    case State::kIntegrating:
    case State::kBusOff:
      return read_away(bit);
    case State::kSequence:
      return transmitter_ ? read_own_sequence(bit) : read_sequence(bit);
    case State::kTail:
      return transmitter_ ? read_own_tail(bit) : read_tail(bit);
    case State::kActiveFlag:
      return read_flag(bit);
    case State::kPassiveFlag:
      return read_passive_flag(bit);
    case State::kWaitRecessive:
      return wait_for_recessive(bit);
    case State::kDelimiter:
      return read_delimiter(bit);
    case State::kIdle:
      if (bit == kDominant) begin_receiving();
      return;
    case State::kIntermission:
    case State::kSuspend:
      return read_interframe(bit);
  }
}

void Controller::read_away(Bit bit) {
  count_ = bit == kRecessive ? count_ + 1 : 0;
  if (count_ < 11) return;
  count_ = 0;
  if (state_ == State::kBusOff && ++occurrences_ < 128) return;
  if (state_ == State::kBusOff) transmit_errors_ = receive_errors_ = 0;
  transmitter_ = false;
  go(State::kIdle);
}

void Controller::read_sequence(Bit bit) {
  switch (reader_.take(bit)) {
    case SequenceReader::Step::kStuffError:
      return signal_error();
    case SequenceReader::Step::kDone:
      return go(State::kTail);
    case SequenceReader::Step::kMore:
      return;
  }
}

void Controller::read_own_sequence(Bit bit) {
  const bool overridden = sequence_.bits[place_] == kRecessive && bit == kDominant;
  if (overridden && place_ < sequence_.arbitration_end) {
    if (sequence_.is_stuff[place_] != 0) return signal_error(Charge::kNo);
    transmitter_ = false;  // arbitration is lost
    return read_sequence(bit);
  }
  if (sequence_.bits[place_] != bit) return signal_error();
  reader_.take(bit);
  if (++place_ == sequence_.bits.size()) go(State::kTail);
}

void Controller::read_own_tail(Bit bit) {
  if (count_ == kAckSlot) {
    if (bit == kRecessive) return signal_error(passive() ? Charge::kIfDominantSeen : Charge::kYes);
  } else if (bit == kDominant) {
    return signal_error();
  }
  if (count_++ == kLast) end_own_frame();
}

void Controller::end_own_frame() {
  if (transmit_errors_ > 0) --transmit_errors_;
  if (pending_ == on_air_) pending_.reset();
  sent_ = true;
  go(State::kIntermission);
}

void Controller::read_tail(Bit bit) {
  const std::size_t place = count_++;
  if (place == kAckSlot) {
    if (!reader_.crc_fits()) return;
    if (bit == kRecessive) return signal_error();  // its own acknowledgement does not come back
    if (!choices_.counted_at_the_end) count_good_frame();
    return;
  }
  if (bit == kDominant) return place == kLast ? signal_overload() : signal_error();
  if (place == kAckDelimiter && !reader_.crc_fits()) return signal_error();
  if (place == kLastButOne) {
    received_ = reader_.frame();
    if (choices_.counted_at_the_end) count_good_frame();
  }
  if (place == kLast) go(State::kIntermission);
}

void Controller::count_good_frame() {
  if (receive_errors_ > 127) {
    receive_errors_ = choices_.recovered;
  } else if (receive_errors_ > 0) {
    --receive_errors_;
  }
}

void Controller::read_interframe(Bit bit) {
  const std::size_t place = count_++;
  const bool intermission = state_ == State::kIntermission;
  const bool suspended = transmitter_ && passive();
  if (bit == kDominant) {
    if (intermission && place < 2) return signal_overload();
    return intermission && pending_ && !suspended ? begin_sending(true) : begin_receiving();
  }
  if (intermission && place == 2) go(suspended ? State::kSuspend : State::kIdle);
  if (!intermission && place == 7) go(State::kIdle);
}

// --- errors ----------------------------------------------------------------------------------------------------------

void Controller::charge(int transmitter, int receiver) {
  if (choices_.never_counts) return;
  if (transmitter_) {
    transmit_errors_ += transmitter;
  } else {
    receive_errors_ += receiver;
  }
  if (transmit_errors_ < 256) return;
  occurrences_ = 0;
  go(State::kBusOff);
}

// The flag is of the kind that the node was before this error.
void Controller::signal_error(Charge how) {
  const bool was_passive = passive();
  overload_ = false;
  charge_if_dominant_ = how == Charge::kIfDominantSeen;
  last_ = kRecessive;
  go(was_passive ? State::kPassiveFlag : State::kActiveFlag);
  if (how == Charge::kYes) charge(8, 1);
}

void Controller::signal_overload() {
  overload_ = true;
  go(State::kActiveFlag);
}

void Controller::read_flag(Bit bit) {
  if (bit == kRecessive) {
    go(passive() ? State::kPassiveFlag : State::kActiveFlag);  // begins again
    overload_ = false;
    charge_if_dominant_ = false;
    return charge(8, 8);
  }
  if (++count_ == 6) go(State::kWaitRecessive);
}

void Controller::read_passive_flag(Bit bit) {
  count_ = bit == last_ ? count_ + 1 : 1;
  last_ = bit;
  const bool ends = count_ == 6;
  if (ends) go(State::kWaitRecessive);
  if (bit == kDominant && charge_if_dominant_) {
    charge_if_dominant_ = false;
    charge(8, 0);
  }
}

void Controller::wait_for_recessive(Bit bit) {
  if (bit == kRecessive) {
    go(State::kDelimiter);
    count_ = 1;
    return;
  }
  ++count_;
  if (count_ == 1 && !overload_) charge(0, 8);
  if (state_ == State::kWaitRecessive && count_ % 8 == 0) charge(8, 8);
}

void Controller::read_delimiter(Bit bit) {
  const std::size_t place = count_++;
  if (bit == kDominant) return place == 7 ? signal_overload() : signal_error();
  if (place == 7) go(State::kIntermission);
}

}  // namespace halfsplit::bus_twin
