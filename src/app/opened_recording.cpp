// SPDX-License-Identifier: Apache-2.0
#include "app/opened_recording.h"

#include <algorithm>

#include "base/bytes.h"
#include "base/nearest.h"
#include "capture/open_recording.h"
#include "capture/study.h"

namespace halfsplit::app {

base::Result<OpenedRecording> OpenedRecording::open(Context& context, const std::string& path,
                                                    const std::string& channel) {
  auto alone = std::make_unique<base::OneWorker>();
  base::Result<std::unique_ptr<base::ByteSource>> bytes = context.files.open(path);
  if (!bytes) return bytes.diagnostics();
  base::Workers& workers = context.workers != nullptr ? *context.workers : *alone;
  base::Result<std::unique_ptr<capture::FrameSource>> source =
      capture::open_recording(std::move(bytes).value(), workers, path);
  if (!source) return source.diagnostics();
  OpenedRecording opened(context, path, channel);
  opened.alone_ = std::move(alone);
  opened.source_ = std::move(source).value();
  return opened;
}

base::Result<OpenedRecording> OpenedRecording::listen(Context& context, const std::string& interface, double seconds) {
  if (context.live == nullptr)
    return base::make_error("live.not-here", "this door cannot listen to a bus",
                            "at the command line: halfsplit capture --live " + interface);
  base::Result<std::unique_ptr<capture::FrameSource>> source = context.live->open(interface, seconds, context.cancel);
  if (!source) return source.diagnostics();
  OpenedRecording opened(context, interface, "");
  opened.source_ = std::move(source).value();
  return opened;
}

void OpenedRecording::pass(const std::function<bool(std::span<const can::Frame>)>& take) {
  source_->deliver([&](std::span<const can::Frame> frames) {
    report_progress();
    return take(pick(frames)) && !context_->cancel.cancelled();
  });
}

void OpenedRecording::pass(capture::Study& study) {
  if (channel_.empty())
    return study.take_all(*source_, [&] {
      report_progress();
      return !context_->cancel.cancelled();
    });
  pass([&](std::span<const can::Frame> frames) {
    study.take(frames);
    return true;
  });
}

void OpenedRecording::report_progress() const {
  if (context_->progress != nullptr) context_->progress->report("reading " + path_, source_->fraction().value_or(0.0));
}

std::span<const can::Frame> OpenedRecording::pick(std::span<const can::Frame> frames) {
  if (channel_.empty()) return frames;
  picked_.clear();
  for (const can::Frame& frame : frames)
    if (is_picked(frame.channel)) picked_.push_back(frame);
  return picked_;
}

// The recording knows the name of a channel when its first frame is there.
bool OpenedRecording::is_picked(std::uint8_t channel) {
  const std::vector<std::string>& names = source_->recording().channels;
  for (std::size_t c = known_.size(); channel >= known_.size() && c < names.size(); ++c)
    known_.push_back(names[c] == channel_);
  return channel < known_.size() && known_[channel];
}

base::Result<base::Done> OpenedRecording::channel_was_there() const {
  const std::vector<std::string>& names = source_->recording().channels;
  if (channel_.empty() || std::find(names.begin(), names.end(), channel_) != names.end()) return base::Done{};
  return base::make_error("capture.unknown-channel", "the recording has no channel \"" + channel_ + "\"",
                          base::did_you_mean(channel_, names));
}

base::Result<StudiedRecording> study(Context& context, OpenedRecording& opened, double bit_rate) {
  capture::Study study({bit_rate});
  opened.pass(study);
  StudiedRecording studied;
  studied.stopped = context.cancel.cancelled();
  if (const base::Result<base::Done> there = opened.channel_was_there(); !there && !studied.stopped)
    return there.diagnostics();
  studied.recording = opened.recording();
  studied.findings = study.findings();
  return studied;
}

}  // namespace halfsplit::app
