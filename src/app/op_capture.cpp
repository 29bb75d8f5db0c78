// SPDX-License-Identifier: Apache-2.0
// What a recording of a bus tells: who is there, who went quiet with whom, codes, requests, load; and its frames by
// line.
#include <algorithm>

#include "app/capture_json.h"
#include "app/capture_lines.h"
#include "app/capture_text.h"
#include "app/ops.h"
#include "base/bytes.h"
#include "base/nearest.h"
#include "base/number.h"
#include "capture/open_recording.h"
#include "capture/study.h"
#include "formats/description_file.h"
#include "report/time_picture.h"

namespace halfsplit::app {

namespace {

constexpr std::size_t kLargestDescription = 64U << 20U;

// Frames of one channel only, by its name, which the recording knows when its first frame is there.
class ChannelFilter {
 public:
  ChannelFilter(std::string name, const capture::FrameSource& source) : name_(std::move(name)), source_(source) {}
  [[nodiscard]] std::span<const can::Frame> pick(std::span<const can::Frame> frames) {
    if (name_.empty()) return frames;
    picked_.clear();
    for (const can::Frame& frame : frames)
      if (is_it(frame.channel)) picked_.push_back(frame);
    return picked_;
  }
  [[nodiscard]] base::Result<base::Done> was_there() const {
    const std::vector<std::string>& names = source_.recording().channels;
    if (name_.empty() || std::find(names.begin(), names.end(), name_) != names.end()) return base::Done{};
    return base::make_error("capture.unknown-channel", "the recording has no channel \"" + name_ + "\"",
                            base::did_you_mean(name_, names));
  }

 private:
  bool is_it(std::uint8_t channel) {
    if (channel >= known_.size()) {
      const std::vector<std::string>& names = source_.recording().channels;
      for (std::size_t c = known_.size(); c < names.size(); ++c) known_.push_back(names[c] == name_);
    }
    return channel < known_.size() && known_[channel];
  }

  std::string name_;
  const capture::FrameSource& source_;
  std::vector<bool> known_;
  std::vector<can::Frame> picked_;
};

base::Result<can::Descriptions> told_names(Context& context, const Arguments& arguments,
                                           std::vector<base::Diagnostic>& notes) {
  can::Descriptions all;
  for (const std::string& path : arguments.all("names")) {
    const base::Result<std::string> text = context.files.read(path, kLargestDescription);
    if (!text) return text.diagnostics();
    base::Result<formats::DescriptionFile> file = formats::read_description_text(path, *text);
    if (!file) return file.diagnostics();
    notes.insert(notes.end(), file.diagnostics().begin(), file.diagnostics().end());
    for (can::Message& message : file->descriptions.messages) all.messages.push_back(std::move(message));
  }
  return all;
}

// Hands all frames on until there are no more, `take` has enough, or somebody breaks it off.
template <class Take>
void pass_frames(Context& context, capture::FrameSource& source, const std::string& file, ChannelFilter& filter,
                 Take take) {
  source.deliver([&](std::span<const can::Frame> frames) {
    if (context.progress != nullptr) context.progress->report("reading " + file, source.fraction().value_or(0.0));
    return take(filter.pick(frames)) && !context.cancel.cancelled();
  });
}

base::Result<base::Done> write_picture(Context& context, const std::string& out, const report::TimePicture& picture) {
  const bool page = out.ends_with(".html") || out.ends_with(".htm");
  return context.files.write(out, page ? report::time_picture_html(picture) : report::draw_time_picture(picture));
}

report::TimePicture picture_of(const CaptureReport& report) {
  report::TimePicture picture;
  picture.findings = &report.findings;
  picture.title = "What " + report.file + " tells";
  picture.note = thousands(report.findings.frames) + " frames in " +
                 span_text(static_cast<double>(report.findings.duration_us)) +
                 (report.stopped ? ", stopped early" : "");
  for (const capture::Sender& sender : report.findings.senders)
    picture.sender_names.push_back(sender_text(report, sender));
  for (std::size_t c = 0; c < report.findings.load.size(); ++c)
    picture.channel_names.push_back(channel_name(report, static_cast<std::uint8_t>(c)));
  return picture;
}

Reply show_lines(Context& context, capture::FrameSource& source, ChannelFilter& filter, CaptureReport& report,
                 const LineRanges& ranges) {
  ShownFrames shown(ranges, report.descriptions);
  pass_frames(context, source, report.file, filter, [&](auto frames) { return shown.take(frames); });
  if (const base::Result<base::Done> there = filter.was_there(); !there) return fail(there.diagnostics());
  report.recording = source.recording();
  Reply reply;
  reply.text = shown.text(report);
  reply.result = shown.json(report);
  return reply;
}

}  // namespace

Reply op_capture(Context& context, const Arguments& arguments) {
  CaptureReport report;
  report.file = arguments.get("file");
  report.channel = arguments.get("channel");
  std::vector<base::Diagnostic> notes;
  const base::Result<double> bit_rate = number_option(arguments, "bit-rate", 0.0, 5.0, 1000.0);
  if (!bit_rate) return fail(bit_rate.diagnostics());
  const base::Result<LineRanges> ranges = read_line_ranges(arguments.all("lines"));
  if (!ranges) return fail(ranges.diagnostics());
  base::Result<can::Descriptions> names = told_names(context, arguments, notes);
  if (!names) return fail(names.diagnostics());
  report.descriptions = std::move(names).value();
  base::Result<std::unique_ptr<base::ByteSource>> bytes = context.files.open(report.file);
  if (!bytes) return fail(bytes.diagnostics());
  base::OneWorker alone;
  base::Workers& workers = context.workers != nullptr ? *context.workers : alone;
  base::Result<std::unique_ptr<capture::FrameSource>> source =
      capture::open_recording(std::move(bytes).value(), workers, report.file);
  if (!source) return fail(source.diagnostics());
  ChannelFilter filter(report.channel, **source);
  if (!ranges->empty()) return show_lines(context, **source, filter, report, *ranges);

  capture::Study study({*bit_rate * 1000.0});
  pass_frames(context, **source, report.file, filter, [&](std::span<const can::Frame> frames) {
    study.take(frames);
    return true;
  });
  report.stopped = context.cancel.cancelled();
  if (const base::Result<base::Done> there = filter.was_there(); !there && !report.stopped)
    return fail(there.diagnostics());
  report.recording = (*source)->recording();
  report.findings = study.findings();
  Reply reply;
  reply.diagnostics = std::move(notes);
  reply.text = capture_text(report, arguments.has("messages"));
  reply.result = capture_json(report, arguments.has("slots"));
  const std::string out = arguments.get("picture");
  if (!out.empty()) {
    const base::Result<base::Done> written = write_picture(context, out, picture_of(report));
    if (!written) return fail(written.diagnostics());
    reply.text += "\nwrote " + out + "\n";
  }
  return reply;
}

}  // namespace halfsplit::app
