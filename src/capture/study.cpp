// SPDX-License-Identifier: Apache-2.0
// What is done for every frame is in State::take: the message's record is found by its identifier, counts and gaps are
// kept there and at its sender, and what has content of its own goes to whoever reads it. All lists are bounded.
#include "capture/study.h"

#include <algorithm>
#include <array>
#include <utility>

#include "can/iso_tp.h"
#include "can/j1939_id.h"
#include "can/transport.h"
#include "capture/bus_load.h"
#include "capture/claims.h"
#include "capture/error_frames.h"
#include "capture/long_messages.h"
#include "capture/message_table.h"
#include "capture/requests.h"
#include "capture/roster.h"
#include "capture/seen_codes.h"
#include "capture/sender_record.h"
#include "capture/silences.h"
#include "capture/slots.h"
#include "capture/steady_clock.h"
#include "capture/supply_volts.h"

namespace halfsplit::capture {

namespace {

constexpr std::int64_t kClaimAfterUs = 2'000'000;  // a claim so soon after it fell silent and came back: started anew
constexpr std::size_t kMostAwaiting = 256;
constexpr std::size_t kTaken = 256;                                   // frames whose messages are looked up together
constexpr std::uint8_t kRequestToSend = 16, kBroadcastAnnounce = 32;  // control bytes, SAE J1939-21

Role role_of(const can::Frame& frame) {
  if (can::IsoTp::concerns(frame)) return Role::kDiagnostic;
  if (!frame.extended) return Role::kPlain;
  const std::uint32_t pgn = can::j1939_pgn(frame.id);
  if (pgn == can::kPgnAddressClaimed) return Role::kClaim;
  if (pgn == can::kPgnRequest) return Role::kRequest;
  if (pgn == can::kPgnAcknowledgement) return Role::kAcknowledgement;
  if (can::Transport::concerns(frame.id)) return Role::kTransport;
  if (can::find_code_group(pgn) != nullptr) return Role::kCodes;
  return pgn == kPgnSupply ? Role::kVolts : Role::kPlain;
}

SenderKey key_of_sender(const can::Frame& frame) {
  return {frame.channel, frame.extended,
          static_cast<std::uint16_t>(frame.extended ? can::j1939_source(frame.id) : frame.id)};
}

}  // namespace

class Study::State {
 public:
  explicit State(const StudyOptions& options) : options_(options) {}
  // At most kTaken.
  void take(std::span<const can::Frame> frames);
  Findings findings();

 private:
  [[nodiscard]] std::uint32_t find_or_add(const can::Frame& frame, const Mark& mark);
  [[nodiscard]] std::size_t sender_of(const can::Frame& frame, const Mark& mark);
  void next_slot(std::int64_t at_us);
  void without_data(const can::Frame& frame, const Mark& mark);
  void count(MessageRecord& message, std::int64_t at_us, std::uint64_t line);
  static void note_longest(MessageRecord& message, std::int64_t interval, const Mark& mark);
  void end_slot();
  void note_common_gap(const Mark& mark);
  void see_answer(const can::Frame& frame, MessageRecord& message, const Mark& mark);
  void note_gap(SenderRecord& sender, std::size_t which, const Mark& mark);
  void content(const can::Frame& frame, MessageRecord& message, const Mark& mark);
  void claim(const can::Frame& frame, SenderRecord& sender, const Mark& mark);
  void transport(const can::Frame& frame, MessageRecord& message, const Mark& mark);
  void take_long(const std::vector<can::TransportMessage>& ended, const Mark& mark);
  void volts(const can::Frame& frame, const SenderRecord& sender, const Mark& mark);
  [[nodiscard]] Mark mark_at(std::int64_t time_us, std::uint64_t line, const Mark& now) const;
  BusLoad& load(std::uint8_t channel) {
    if (channel >= channels_) [[unlikely]]
      load_.resize(channels_ = channel + std::size_t{1});
    return load_[channel];
  }

  StudyOptions options_;
  std::uint64_t frames_ = 0, remote_ = 0, flexible_ = 0, unlisted_ = 0;
  Mark last_;
  std::int64_t last_recorded_us_ = 0;
  SteadyClock clock_;
  SlotClock slots_;
  MessageTable messages_;
  std::array<std::uint32_t, kTaken> places_ = {};  // of their messages
  RhythmPlan rhythm_;
  std::vector<SenderRecord> senders_;
  LongestGaps nobody_;  // gaps of all senders together
  std::uint64_t gaps_noted_ = 0;
  struct Awaiting {
    std::size_t sender, place;
    std::uint64_t order;
  };
  std::vector<Awaiting> awaiting_;  // gaps behind which no voltage was reported yet
  std::size_t channels_ = 0;
  std::vector<BusLoad> load_;
  ErrorFrames errors_;
  Claims claims_;
  Requests requests_;
  can::Transport transport_;
  std::vector<can::TransportMessage> ended_;  // room
  can::IsoTp iso_tp_;
  LongMessageCounts long_messages_;
  SeenCodes codes_;
  SupplyVolts volts_;
};

// The mark is put together where it is wanted: as a value that is passed on it would be written to memory and read back
// for every frame.
void Study::State::take(std::span<const can::Frame> frames) {
  messages_.find(frames, places_);
  for (std::size_t i = 0; i < frames.size(); ++i) {
    const can::Frame& frame = frames[i];
    const std::int64_t at_us = clock_.time_of(frame);
    const std::uint64_t line = frame.line;
    if (!slots_.in_slot(at_us)) [[unlikely]]
      next_slot(at_us);
    last_recorded_us_ = frame.time_us;
    ++frames_;
    if (frame.kind != can::FrameKind::kData) [[unlikely]] {
      without_data(frame, {at_us, line});
      continue;
    }
    flexible_ += frame.flexible ? 1U : 0U;
    if (nobody_.wants(at_us - last_.at_us)) [[unlikely]]
      note_common_gap({at_us, line});
    last_ = {at_us, line};
    load(frame.channel).add(frame, at_us, line);
    std::uint32_t place = places_[i];
    if (place == MessageTable::kNone) [[unlikely]] {
      place = find_or_add(frame, {at_us, line});
      if (place == MessageTable::kNone) continue;
    }
    MessageRecord& message = messages_.record(place);
    count(message, at_us, line);
    SenderRecord& sender = senders_[message.sender];
    if (sender.gaps.wants(at_us - sender.last.at_us)) [[unlikely]]
      note_gap(sender, message.sender, {at_us, line});
    sender.last = {at_us, line};
    ++sender.in_slot;
    if (requests_.waiting()) [[unlikely]]
      see_answer(frame, message, {at_us, line});
    if (message.role != Role::kPlain) [[unlikely]]
      content(frame, message, {at_us, line});
  }
}

inline void Study::State::count(MessageRecord& message, std::int64_t at_us, std::uint64_t line) {
  const std::uint64_t number = message.frames++;  // of the interval that ends here
  if (number > 0) [[likely]] {
    const std::int64_t interval = at_us - message.last_us;
    if (number == message.wanted_interval) message.wanted_interval = message.intervals.keep(number, interval, rhythm_);
    if (interval > message.longest_us) [[unlikely]]
      note_longest(message, interval, {at_us, line});
  }
  message.last_us = at_us;
  message.last_line = line;
}

void Study::State::note_longest(MessageRecord& message, std::int64_t interval, const Mark& mark) {
  message.longest_us = interval;
  message.longest = {{message.last_us, message.last_line}, mark};
}

void Study::State::note_gap(SenderRecord& sender, std::size_t which, const Mark& mark) {
  NotedGap& noted = sender.gaps.note({sender.last, mark}, ++gaps_noted_);
  noted.volts_before = volts_.last_before(sender.last);
  noted.volts_least = volts_.least_within(sender.last, mark);
  if (awaiting_.size() < kMostAwaiting) awaiting_.push_back({which, sender.gaps.place_of(noted), gaps_noted_});
}

void Study::State::note_common_gap(const Mark& mark) {
  if (frames_ > 1) nobody_.note({last_, mark}, ++gaps_noted_);
}

void Study::State::see_answer(const can::Frame& frame, MessageRecord& message, const Mark& mark) {
  if (!frame.extended) return;
  if (requests_.see(frame.channel, can::j1939_source(frame.id), message.pgn, mark)) ++message.answers;
}

void Study::State::end_slot() {
  for (BusLoad& load : load_) load.end_slot(slots_.index());
  for (SenderRecord& sender : senders_) sender.end_slot(slots_.index());
}

void Study::State::next_slot(std::int64_t at_us) {
  end_slot();
  for (int pairings = slots_.advance(at_us); pairings > 0; --pairings) {
    for (BusLoad& load : load_) load.pair();
    for (SenderRecord& sender : senders_) pair_slots(sender.rate, [](std::uint32_t& a, std::uint32_t b) { a += b; });
  }
}

void Study::State::without_data(const can::Frame& frame, const Mark& mark) {
  last_ = mark;
  if (frame.kind == can::FrameKind::kError) {
    errors_.add(frame, mark);
    ++load(frame.channel).slot(slots_.index()).errors;
    return;
  }
  ++remote_;
  load(frame.channel).add(frame, mark.at_us, mark.line);
}

std::size_t Study::State::sender_of(const can::Frame& frame, const Mark& mark) {
  const SenderKey key = key_of_sender(frame);
  const auto found =
      std::find_if(senders_.begin(), senders_.end(), [&](const SenderRecord& s) { return s.key == key; });
  if (found != senders_.end() || senders_.size() == kMostSenders)
    return static_cast<std::size_t>(found - senders_.begin());
  SenderRecord& sender = senders_.emplace_back();
  sender.key = key;
  sender.first = sender.last = mark;
  return senders_.size() - 1;
}

std::uint32_t Study::State::find_or_add(const can::Frame& frame, const Mark& mark) {
  std::uint32_t place = messages_.find(frame);  // it may have been added since all of them were looked up
  if (place != MessageTable::kNone) return place;
  const std::size_t sender = sender_of(frame, mark);
  if (sender < senders_.size()) place = messages_.add(frame);
  if (place == MessageTable::kNone) {
    ++unlisted_;
    return place;
  }
  MessageRecord& message = messages_.record(place);
  message.sender = static_cast<std::uint32_t>(sender);
  message.pgn = frame.extended ? can::j1939_pgn(frame.id) : 0;
  message.destination = frame.extended ? can::split_j1939_id(frame.id).destination() : can::kGlobalAddress;
  message.role = role_of(frame);
  message.first = mark;
  return place;
}

void Study::State::content(const can::Frame& frame, MessageRecord& message, const Mark& mark) {
  SenderRecord& sender = senders_[message.sender];
  switch (message.role) {
    case Role::kClaim:
      return claim(frame, sender, mark);
    case Role::kRequest:
      return requests_.ask(frame, mark);
    case Role::kAcknowledgement:
      return requests_.acknowledge(frame, mark);
    case Role::kTransport:
      return transport(frame, message, mark);
    case Role::kCodes:
      return codes_.add(sender.key, message.pgn, frame.bytes(), mark);
    case Role::kVolts:
      return volts(frame, sender, mark);
    case Role::kDiagnostic: {
      std::vector<can::IsoTpMessage> ended;
      iso_tp_.take(frame, ended);
      for (const can::IsoTpMessage& one : ended) codes_.add_reply(one, mark);
      return;
    }
    case Role::kPlain:
      return;
  }
}

// A module that starts claims its address; one that is asked for it does so too.
void Study::State::claim(const can::Frame& frame, SenderRecord& sender, const Mark& mark) {
  claims_.add(frame, mark);
  if (requests_.asked(frame.channel, can::kPgnAddressClaimed, mark)) return;
  if (mark.at_us <= sender.first.at_us + kClaimAfterUs) sender.claimed_at_first = true;
  if (NotedGap* gap = sender.gaps.longest_ending_since(mark.at_us - kClaimAfterUs)) gap->claimed = true;
}

// The adapter's time of a place a moment ago, in the recording's steady time.
Mark Study::State::mark_at(std::int64_t time_us, std::uint64_t line, const Mark& now) const {
  const std::int64_t ago = std::clamp<std::int64_t>(last_recorded_us_ - time_us, 0, now.at_us);
  return {now.at_us - ago, line};
}

void Study::State::transport(const can::Frame& frame, MessageRecord&, const Mark& mark) {
  transport_.take(frame, ended_);
  take_long(ended_, mark);
  ended_.clear();
  // The announcement of a long message answers a request for it.
  const std::span<const std::uint8_t> bytes = frame.bytes();
  if (!requests_.waiting() || bytes.size() < 8 || can::j1939_pgn(frame.id) != can::kPgnTransportControl) return;
  if (bytes[0] != kRequestToSend && bytes[0] != kBroadcastAnnounce) return;
  const std::uint32_t pgn =
      bytes[5] | static_cast<std::uint32_t>(bytes[6]) << 8U | static_cast<std::uint32_t>(bytes[7]) << 16U;
  (void)requests_.see(frame.channel, can::j1939_source(frame.id), pgn, mark);
}

void Study::State::take_long(const std::vector<can::TransportMessage>& ended, const Mark& mark) {
  for (const can::TransportMessage& one : ended) {
    const Mark first = mark_at(one.first_us, one.first_line, mark);
    const Mark last = mark_at(one.last_us, one.last_line, mark);
    long_messages_.add(one, first, last);
    if (one.end == can::TransportEnd::kComplete && can::find_code_group(one.pgn) != nullptr)
      codes_.add({one.channel, true, one.source}, one.pgn, one.bytes, last);
  }
}

void Study::State::volts(const can::Frame& frame, const SenderRecord& sender, const Mark& mark) {
  for (const VoltsMark& told : volts_.add(frame, sender.key, mark)) {
    LoadSlot& slot = load(frame.channel).slot(slots_.index());
    const auto value = static_cast<float>(told.volts);
    slot.least_volts = slot.least_volts < 0.0F ? value : std::min(slot.least_volts, value);
    slot.most_volts = std::max(slot.most_volts, value);
    for (const Awaiting& one : awaiting_)
      if (NotedGap* gap = senders_[one.sender].gaps.find(one.place, one.order)) gap->volts_after = told;
    awaiting_.clear();
  }
}

Findings Study::State::findings() {
  end_slot();
  transport_.finish(ended_);
  take_long(ended_, last_);
  ended_.clear();
  std::vector<can::IsoTpMessage> replies;
  iso_tp_.finish(replies);
  Findings findings;
  clock_.tell(findings);
  findings.frames = frames_;
  findings.remote = remote_;
  findings.flexible = flexible_;
  findings.unlisted = unlisted_;
  findings.last = last_;
  const std::vector<std::size_t> records = make_roster(senders_, messages_.records(), findings);
  if (findings.timed) find_silences({senders_, records, nobody_}, findings);
  claims_.tell(findings);
  requests_.tell(findings, last_);
  long_messages_.tell(findings);
  codes_.tell(findings);
  findings.last_volts = volts_.last();
  findings.slot_us = slots_.width_us();
  for (const BusLoad& load : load_) findings.load.push_back(load.load(options_.bit_rate));
  findings.errors = errors_.errors(frames_ - errors_.frames());
  return findings;
}

Study::Study(const StudyOptions& options) : state_(std::make_unique<State>(options)) {}
Study::~Study() = default;
Study::Study(Study&&) noexcept = default;
Study& Study::operator=(Study&&) noexcept = default;

void Study::take(std::span<const can::Frame> frames) {
  for (; frames.size() > kTaken; frames = frames.subspan(kTaken)) state_->take(frames.first(kTaken));
  state_->take(frames);
}

Findings Study::findings() { return state_->findings(); }

}  // namespace halfsplit::capture
