// SPDX-License-Identifier: Apache-2.0
// A source whose frames come in pieces: bytes of a piece are fetched in order, read into frames by any hand, and put
// behind the pieces ahead of them in their order (base::Relay). What a Reader has to have:
//
//   struct Piece { std::vector<can::Frame> frames; std::size_t count; ... };
//   bool fetch(Piece&);                         // the next bytes; false: there are no more
//   void read(Piece&) const;                    // fills frames, counted from the beginning of the piece
//   bool look_at(Piece&, const FrameLook&) const;  // gives them some at a time; false: it filled frames as well
//   void begin_settling(Piece&, Recording&);    // what it adds to the recording, but for the number of frames
//   void settle(Piece&, std::span<can::Frame>); // gives these frames, in order, their line, time and channel
//   static void let_go(Piece&, const Recording&);  // it is not read any more, and will be fetched into
//   std::optional<std::uint64_t> only_lines() const;  // what settling adds to the lines, if it alters nothing else
//   void end(Recording&) const;                 // all is fetched
//   double fraction() const;                    // of the file, fetched so far; below 0: unknown
#pragma once

#include <algorithm>
#include <functional>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "base/seams.h"
#include "capture/frame_source.h"

namespace halfsplit::capture {

template <class Reader>
class StagedSource final : public FrameSource {
 public:
  StagedSource(Reader reader, base::Workers& workers)
      : reader_(std::move(reader)), workers_(workers), stages_(std::min(2 * workers.hands(), kMostStages)) {}

  [[nodiscard]] std::size_t next(std::span<can::Frame> into) override {
    std::size_t filled = 0;
    Stage& stage = stages_[0];
    while (filled < into.size() && reach_frames()) {
      const std::size_t count = std::min(into.size() - filled, stage.piece.count - given_);
      const std::span<can::Frame> some = std::span(stage.piece.frames).subspan(given_, count);
      settle(stage, some);
      std::copy(some.begin(), some.end(), into.begin() + static_cast<std::ptrdiff_t>(filled));
      filled += count;
      given_ += count;
    }
    return filled;
  }

  void deliver(const std::function<bool(std::span<const can::Frame>)>& take) override {
    Stage& begun = stages_[0];
    bool wanted = hand_on(begun, std::exchange(given_, begun.piece.count), take);
    if (!wanted) return;
    workers_.relay({stages_.size(), [this](std::size_t place) { return fetch(stages_[place]); },
                    [this](std::size_t place) { reader_.read(stages_[place].piece); },
                    [&](std::size_t place) {
                      begin(stages_[place]);
                      wanted = hand_on(stages_[place], 0, take);
                      Reader::let_go(stages_[place].piece, recording_);
                      return wanted;
                    }});
    over(wanted);
  }

  void deliver_pieces(PieceTaker& taker) override {
    taker.begin(stages_.size());
    Stage& begun = stages_[0];
    bool wanted = hand_on_settled(begun, 0, std::exchange(given_, begun.piece.count), taker);
    if (!wanted) return;
    workers_.relay({stages_.size(), [this](std::size_t place) { return fetch(stages_[place]); },
                    [&](std::size_t place) { look_at(place, taker); },
                    [&](std::size_t place) { return wanted = hand_on_looked_at(place, taker); }});
    over(wanted);
  }

  [[nodiscard]] const Recording& recording() const override { return recording_; }
  [[nodiscard]] std::optional<double> fraction() const override { return fraction_; }

 private:
  struct Stage {
    typename Reader::Piece piece;
    std::optional<double> fraction;
    bool kept = false;  // its frames, where they were to be looked at only
  };
  static constexpr std::size_t kMostStages = 16;  // two a hand: more only take room near the cores
  static constexpr std::size_t kSettled = 256;    // frames settled and taken while they are near

  bool fetch(Stage& stage) {
    ended_ = !reader_.fetch(stage.piece);
    const double fraction = reader_.fraction();
    stage.fraction = fraction < 0.0 ? std::nullopt : std::optional<double>(fraction);
    return !ended_;
  }
  void begin(Stage& stage) {
    fraction_ = stage.fraction;
    reader_.begin_settling(stage.piece, recording_);
  }
  void settle(Stage& stage, std::span<can::Frame> some) {
    reader_.settle(stage.piece, some);
    recording_.frames += some.size();
  }
  bool hand_on(Stage& stage, std::size_t from, const std::function<bool(std::span<const can::Frame>)>& take) {
    for (; from < stage.piece.count; from += kSettled) {
      const std::span<can::Frame> some =
          std::span(stage.piece.frames).subspan(from, std::min(kSettled, stage.piece.count - from));
      settle(stage, some);
      if (!take(some)) return false;
    }
    return true;
  }
  void look_at(std::size_t place, PieceTaker& taker) {
    taker.begin_piece(place);
    const auto look = [place, &taker](std::span<const can::Frame> some) { taker.look_at(place, some); };
    stages_[place].kept = !reader_.look_at(stages_[place].piece, look);
  }
  bool hand_on_looked_at(std::size_t place, PieceTaker& taker) {
    Stage& stage = stages_[place];
    begin(stage);
    const std::optional<std::uint64_t> lines = reader_.only_lines();
    bool wanted = true;
    if (!stage.kept && lines && taker.take(place, *lines)) {
      recording_.frames += stage.piece.count;
      wanted = taker.wants_more();
    } else if (stage.kept) {
      wanted = hand_on_settled(stage, place, 0, taker);
    } else {
      std::swap(stage.piece.frames, anew_);
      stage.piece.frames.resize(
          std::max(stage.piece.frames.size(), stage.piece.count + 1));  // one for what is no frame
      reader_.read(stage.piece);
      wanted = hand_on_settled(stage, place, 0, taker);
      std::swap(stage.piece.frames, anew_);
    }
    Reader::let_go(stage.piece, recording_);
    return wanted;
  }
  bool hand_on_settled(Stage& stage, std::size_t place, std::size_t from, PieceTaker& taker) {
    const std::span<can::Frame> some = std::span(stage.piece.frames).first(stage.piece.count).subspan(from);
    settle(stage, some);
    taker.take_settled(place, some);
    return taker.wants_more();
  }
  void over(bool wanted) {
    stages_[0].piece.count = given_ = 0;
    if (wanted) reader_.end(recording_);  // how far was fetched ahead of what was wanted is nobody's business
  }
  // Goes on to the next frame not yet given; false: there is none.
  bool reach_frames() {
    Stage& stage = stages_[0];
    while (given_ == stage.piece.count) {
      stage.piece.count = given_ = 0;
      if (ended_ || !fetch(stage)) {
        reader_.end(recording_);
        return false;
      }
      reader_.read(stage.piece);
      begin(stage);
      Reader::let_go(stage.piece, recording_);
    }
    return true;
  }

  Reader reader_;
  base::Workers& workers_;
  std::vector<Stage> stages_;
  std::vector<can::Frame> anew_;  // room for those of a piece that is read anew, whose ever it is
  std::size_t given_ = 0;         // frames of the first stage that next() gave
  bool ended_ = false;
  Recording recording_;
  std::optional<double> fraction_;
};

}  // namespace halfsplit::capture
