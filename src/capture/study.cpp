// SPDX-License-Identifier: Apache-2.0
// What is done for every frame is in PieceCounts, by any hand. Here pieces are put behind each other: a piece's rows
// are added to the records of messages and senders, and what has to be looked at in order - gaps worth keeping, frames
// with content of their own - goes to whoever reads it. A piece counted by another clock than the recording's turns out
// to have is counted anew. All lists are bounded.
#include "capture/study.h"

#include <algorithm>
#include <utility>

#include "can/iso_tp.h"
#include "can/j1939_id.h"
#include "can/transport.h"
#include "capture/bus_load.h"
#include "capture/claims.h"
#include "capture/error_frames.h"
#include "capture/long_messages.h"
#include "capture/message_table.h"
#include "capture/piece_counts.h"
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
constexpr std::size_t kTaken = 1024;                                  // frames of a piece of our own
constexpr std::uint8_t kRequestToSend = 16, kBroadcastAnnounce = 32;  // control bytes, SAE J1939-21

}  // namespace

// A piece as the hand that read it counts it.
struct CountedPiece {
  PieceCounts counts;
  SteadyClock clock;
  std::uint64_t steps_before = 0;
  std::int64_t slot_us = kFirstSlotUs;
  bool counted = false;

  void begin() {
    counted = true;
    steps_before = clock.steps();
    counts.begin(slot_us);
  }
  void count(std::span<const can::Frame> some) {
    counted = counted && counts.frames + some.size() <= PieceCounts::kMostFrames;
    if (counted) counts.count(some, clock);
  }
};

class Study::State {
 public:
  explicit State(const StudyOptions& options) : options_(options) {}
  void take(std::span<const can::Frame> frames);
  // One piece, of at most PieceCounts::kMostFrames.
  void count(std::span<const can::Frame> frames, PieceCounts& counts);
  // A piece that another hand counted, with so many lines ahead of it. False: it has to be counted anew, as it turns
  // out to have other times, or messages that there is no room for.
  [[nodiscard]] bool take_counted(std::uint64_t lines_ahead, CountedPiece& piece);
  // For the next piece that is counted there.
  void prepare(CountedPiece& piece) const {
    piece.clock = clock_;
    piece.slot_us = slots_.width_us();
  }
  Findings findings();

 private:
  struct Piece {
    std::uint64_t lines_ahead = 0;
    PieceCounts& counts;
    [[nodiscard]] Mark mark(std::uint32_t i) const {
      return {counts.marks[i].at_us, counts.marks[i].line + lines_ahead};
    }
  };

  void put_behind(const Piece& piece);
  [[nodiscard]] bool find_records(const Piece& piece);
  [[nodiscard]] std::uint32_t find_or_add(const MessageCounts& counts, const Mark& mark);
  [[nodiscard]] std::size_t sender_of(const SenderKey& key, const Mark& mark);
  void add_slots(const Piece& piece);
  void add_load(const Piece& piece);
  void add_message(const Piece& piece, MessageCounts& counts);
  void look_in_order(const Piece& piece);
  void look_at(const Piece& piece, const PieceEvent& event);
  void error(const can::Frame& frame, const Mark& mark);
  void see_answers(const Piece& piece, std::uint32_t from, std::uint32_t to);
  void note_gap(std::size_t which, const Gap& gap);
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
  PieceCounts own_;  // of what comes as frames
  MessageTable table_;
  std::vector<MessageRecord> messages_;
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

void Study::State::take(std::span<const can::Frame> frames) {
  for (; !frames.empty(); frames = frames.subspan(std::min(kTaken, frames.size())))
    count(frames.first(std::min(kTaken, frames.size())), own_);
}

bool Study::State::take_counted(std::uint64_t lines_ahead, CountedPiece& piece) {
  PieceCounts& counts = piece.counts;
  if (!piece.counted) return false;
  if (counts.frames == 0) return true;
  if (!clock_.agrees_with(piece.clock, piece.steps_before, counts.marks[0].at_us)) return false;
  if (!find_records({lines_ahead, counts})) return false;
  clock_.go_on_to(counts.marks[counts.frames - 1].at_us);
  counts.end();
  put_behind({lines_ahead, counts});
  return true;
}

void Study::State::count(std::span<const can::Frame> frames, PieceCounts& counts) {
  counts.begin(slots_.width_us());
  counts.count(frames, clock_);
  counts.end();
  if (!find_records({0, counts})) counts.count_again(frames);
  put_behind({0, counts});
}

void Study::State::put_behind(const Piece& piece) {
  PieceCounts& counts = piece.counts;
  const std::uint32_t last = counts.frames - 1;
  add_slots(piece);
  add_load(piece);
  look_in_order(piece);
  for (const std::uint32_t m : counts.messages_seen) add_message(piece, counts.messages[m]);
  for (const std::uint32_t s : counts.senders_seen) {
    SenderCounts& sender = counts.senders[s];
    SenderRecord& record = senders_[sender.record];
    record.last = piece.mark(sender.last);
    sender.longest_us = record.gaps.longest_unwanted_us();
  }
  counts.common_longest_us = nobody_.longest_unwanted_us();
  frames_ += counts.frames;
  flexible_ += counts.flexible;
  remote_ += counts.remote;
  last_ = piece.mark(last);
  last_recorded_us_ = counts.last_recorded_us;
}

// Of what was not seen before by whoever counted, in the order of first frames. False: for some there is no room.
bool Study::State::find_records(const Piece& piece) {
  PieceCounts& counts = piece.counts;
  bool more_ignored = false;
  for (const std::uint32_t m : counts.messages_seen) {
    MessageCounts& message = counts.messages[m];
    if (message.record != MessageTable::kNone || message.ignored) continue;
    message.record = find_or_add(message, piece.mark(message.first));
    if (message.record == MessageTable::kNone)
      message.ignored = more_ignored = true;
    else
      counts.senders[message.sender].record = messages_[message.record].sender;
  }
  return !more_ignored;
}

// What was not seen before by whoever counted has its first frame in this piece.
std::uint32_t Study::State::find_or_add(const MessageCounts& counts, const Mark& mark) {
  can::Frame frame;
  frame.id = counts.id;
  frame.extended = counts.extended;
  frame.channel = counts.channel;
  const std::uint32_t known = table_.find(frame);
  if (known != MessageTable::kNone) return known;
  const std::size_t sender = sender_of(key_of_sender(frame), mark);
  if (sender == senders_.size() || messages_.size() == kMostMessages) return MessageTable::kNone;
  MessageRecord& message = messages_.emplace_back();
  message.extended = frame.extended;
  message.channel = frame.channel;
  message.id = frame.id;
  message.sender = static_cast<std::uint32_t>(sender);
  message.pgn = frame.extended ? can::j1939_pgn(frame.id) : 0;
  message.destination = frame.extended ? can::split_j1939_id(frame.id).destination() : can::kGlobalAddress;
  message.role = counts.role;
  message.first = mark;
  return table_.add(frame);
}

std::size_t Study::State::sender_of(const SenderKey& key, const Mark& mark) {
  const auto found =
      std::find_if(senders_.begin(), senders_.end(), [&](const SenderRecord& s) { return s.key == key; });
  if (found != senders_.end() || senders_.size() == kMostSenders)
    return static_cast<std::size_t>(found - senders_.begin());
  SenderRecord& sender = senders_.emplace_back();
  sender.key = key;
  sender.first = sender.last = mark;
  return senders_.size() - 1;
}

void Study::State::add_slots(const Piece& piece) {
  const PieceCounts& counts = piece.counts;
  for (int pairings = slots_.advance(counts.marks[counts.frames - 1].at_us); pairings > 0; --pairings) {
    for (BusLoad& load : load_) load.pair();
    for (SenderRecord& sender : senders_) pair_slots(sender.rate, [](std::uint32_t& a, std::uint32_t b) { a += b; });
  }
  for (const SenderSlot& one : counts.sender_slots)
    senders_[counts.senders[one.sender].record].count_in_slot(slots_.index(one.slot * counts.slot_us), one.frames);
  for (const ChannelSlot& one : counts.channel_slots)
    load(one.channel).slot(slots_.index(one.slot * counts.slot_us)).bits += one.bits;
}

void Study::State::add_load(const Piece& piece) {
  const PieceCounts& counts = piece.counts;
  for (const std::uint8_t c : counts.channels_seen)
    load(c).add(counts.channels[c].bits(), counts.marks, piece.lines_ahead);
}

// The interval that ends with the piece's first frame, then those within the piece.
void Study::State::add_message(const Piece& piece, MessageCounts& counts) {
  if (counts.ignored) {
    unlisted_ += counts.frames;
    return;
  }
  MessageRecord& message = messages_[counts.record];
  const std::vector<Mark>& marks = piece.counts.marks;
  std::uint64_t number = message.frames;  // of the interval that ends with the frame looked at
  message.frames += counts.frames;
  if (number > 0) {
    const std::int64_t interval = marks[counts.first].at_us - message.last_us;
    if (number == message.wanted_interval) message.wanted_interval = message.intervals.keep(number, interval, rhythm_);
    if (interval > message.longest_us) {
      message.longest_us = interval;
      message.longest = {{message.last_us, message.last_line}, piece.mark(counts.first)};
    }
  }
  if (counts.longer && counts.longest_us > message.longest_us) {
    message.longest_us = counts.longest_us;
    message.longest = {piece.mark(counts.longest_from), piece.mark(counts.longest_to)};
  }
  counts.longest_us = message.longest_us;
  for (std::uint32_t i = counts.first; message.wanted_interval < message.frames; ++number) {
    const std::uint32_t next = piece.counts.next[i];
    if (number + 1 == message.wanted_interval)
      message.wanted_interval = message.intervals.keep(number + 1, marks[next].at_us - marks[i].at_us, rhythm_);
    i = next;
  }
  const Mark last = piece.mark(counts.last);
  message.last_us = last.at_us;
  message.last_line = last.line;
}

void Study::State::look_in_order(const Piece& piece) {
  const Mark first = piece.mark(0);
  const bool data = piece.counts.message_of[0] != PieceCounts::kWithoutData;
  if (frames_ > 0 && data && nobody_.wants(first.at_us - last_.at_us)) nobody_.note({last_, first}, ++gaps_noted_);
  std::uint32_t seen = 0;  // frames that may have been answers
  for (const PieceEvent& event : piece.counts.events()) {
    if (event.kind == PieceEvent::Kind::kContent) {
      see_answers(piece, seen, event.frame + 1);
      seen = event.frame + 1;
    }
    look_at(piece, event);
  }
  see_answers(piece, seen, piece.counts.frames);
}

void Study::State::look_at(const Piece& piece, const PieceEvent& event) {
  const Mark mark = piece.mark(event.frame);
  PieceCounts& counts = piece.counts;
  switch (event.kind) {
    case PieceEvent::Kind::kCommonGap: {
      const Gap gap{piece.mark(event.before), mark};
      if (nobody_.wants(gap.length_us())) nobody_.note(gap, ++gaps_noted_);
      return;
    }
    case PieceEvent::Kind::kError:
      return error(counts.contents[event.before], mark);
    case PieceEvent::Kind::kSenderFirst: {
      const std::uint32_t sender = counts.senders[event.which].record;
      return note_gap(sender, {senders_[sender].last, mark});
    }
    case PieceEvent::Kind::kSenderGap:
      return note_gap(counts.senders[event.which].record, {piece.mark(event.before), mark});
    case PieceEvent::Kind::kContent: {
      can::Frame& frame = counts.contents[event.before];
      frame.line = mark.line;
      last_recorded_us_ = frame.time_us;
      return content(frame, messages_[counts.messages[event.which].record], mark);
    }
  }
}

void Study::State::note_gap(std::size_t which, const Gap& gap) {
  SenderRecord& sender = senders_[which];
  if (!sender.gaps.wants(gap.length_us())) return;
  NotedGap& noted = sender.gaps.note(gap, ++gaps_noted_);
  noted.volts_before = volts_.last_before(gap.before);
  noted.volts_least = volts_.least_within(gap.before, gap.after);
  if (awaiting_.size() < kMostAwaiting) awaiting_.push_back({which, sender.gaps.place_of(noted), gaps_noted_});
}

// Only while somebody waits for an answer.
void Study::State::see_answers(const Piece& piece, std::uint32_t from, std::uint32_t to) {
  for (std::uint32_t i = from; i < to && requests_.waiting(); ++i) {
    const std::uint32_t which = piece.counts.message_of[i];
    if (which == PieceCounts::kWithoutData) continue;
    const MessageCounts& counts = piece.counts.messages[which];
    if (counts.ignored || !counts.extended) continue;
    MessageRecord& message = messages_[counts.record];
    if (requests_.see(message.channel, can::j1939_source(message.id), message.pgn, piece.mark(i))) ++message.answers;
  }
}

void Study::State::error(const can::Frame& frame, const Mark& mark) {
  errors_.add(frame, mark);
  ++load(frame.channel).slot(slots_.index(mark.at_us)).errors;
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
    LoadSlot& slot = load(frame.channel).slot(slots_.index(mark.at_us));
    const auto value = static_cast<float>(told.volts);
    slot.least_volts = slot.least_volts < 0.0F ? value : std::min(slot.least_volts, value);
    slot.most_volts = std::max(slot.most_volts, value);
    for (const Awaiting& one : awaiting_)
      if (NotedGap* gap = senders_[one.sender].gaps.find(one.place, one.order)) gap->volts_after = told;
    awaiting_.clear();
  }
}

Findings Study::State::findings() {
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
  const std::vector<std::size_t> records = make_roster(senders_, messages_, findings);
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

void Study::take(std::span<const can::Frame> frames) { state_->take(frames); }

// What is known of the pieces ahead when a place becomes free is what its next piece is counted by.
class Study::Pieces final : public PieceTaker {
 public:
  Pieces(State& state, const std::function<bool()>& go_on) : state_(state), go_on_(go_on) {}

  void begin(std::size_t places) override { places_.resize(places); }
  void begin_piece(std::size_t place) override { places_[place].begin(); }
  void look_at(std::size_t place, std::span<const can::Frame> frames) override { places_[place].count(frames); }
  bool take(std::size_t place, std::uint64_t lines_ahead) override {
    if (!state_.take_counted(lines_ahead, places_[place])) return false;
    state_.prepare(places_[place]);
    return true;
  }
  void take_settled(std::size_t place, std::span<const can::Frame> frames) override {
    places_[place].counts.forget();  // it holds what is not taken
    if (frames.size() <= PieceCounts::kMostFrames && !frames.empty())
      state_.count(frames, places_[place].counts);
    else
      state_.take(frames);
    state_.prepare(places_[place]);
  }
  bool wants_more() override { return go_on_(); }

 private:
  State& state_;
  const std::function<bool()>& go_on_;
  std::vector<CountedPiece> places_;
};

void Study::take_all(FrameSource& source, const std::function<bool()>& go_on) {
  Pieces pieces(*state_, go_on);
  source.deliver_pieces(pieces);
}

Findings Study::findings() { return state_->findings(); }

}  // namespace halfsplit::capture
