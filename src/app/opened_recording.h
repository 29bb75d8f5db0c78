// SPDX-License-Identifier: Apache-2.0
// A recording opened for an operation: its frames one batch after the other, of one channel if so told, with progress
// and until somebody breaks it off. And the whole of it studied.
#pragma once

#include <functional>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "app/operation.h"
#include "capture/findings.h"
#include "capture/frame_source.h"
#include "capture/study.h"

namespace halfsplit::app {

class OpenedRecording {
 public:
  // `path`: "-" is standard input, where the door has one. `channel`: only this one, by its name; empty: all. The
  // context must outlive it. Errors: those of opening (capture/open_recording.h).
  [[nodiscard]] static base::Result<OpenedRecording> open(Context& context, const std::string& path,
                                                          const std::string& channel);
  // The same from an interface of this machine. Errors: live.not-here (this door has none), and those of LiveTaps.
  [[nodiscard]] static base::Result<OpenedRecording> listen(Context& context, const std::string& interface,
                                                            double seconds);
  // Hands all frames on until there are no more, `take` has enough (false), or somebody breaks it off.
  void pass(const std::function<bool(std::span<const can::Frame>)>& take);
  // The same, each piece counted by whichever hand reads it.
  void pass(capture::Study& study);
  // Errors: capture.unknown-channel. After `pass`.
  [[nodiscard]] base::Result<base::Done> channel_was_there() const;
  [[nodiscard]] const capture::Recording& recording() const { return source_->recording(); }

 private:
  OpenedRecording(Context& context, std::string path, std::string channel)
      : context_(&context), path_(std::move(path)), channel_(std::move(channel)) {}
  [[nodiscard]] std::span<const can::Frame> pick(std::span<const can::Frame> frames);
  [[nodiscard]] bool is_picked(std::uint8_t channel);
  void report_progress() const;

  Context* context_;
  std::string path_, channel_;
  std::unique_ptr<base::Workers> alone_;  // where the door has no workers; the source uses it
  std::unique_ptr<capture::FrameSource> source_;
  std::vector<bool> known_;  // by channel: is it the one
  std::vector<can::Frame> picked_;
};

struct StudiedRecording {
  capture::Recording recording;
  capture::Findings findings;
  bool stopped = false;  // by the user, before its end
};
// `bit_rate`: bit/s; 0: guessed. Errors: capture.unknown-channel (of a recording read to its end).
[[nodiscard]] base::Result<StudiedRecording> study(Context& context, OpenedRecording& opened, double bit_rate);

}  // namespace halfsplit::app
