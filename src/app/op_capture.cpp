// SPDX-License-Identifier: Apache-2.0
// What a recording of a bus tells: who is there, who went quiet with whom, codes, requests, load; and its frames by
// line.
#include "app/capture_json.h"
#include "app/capture_lines.h"
#include "app/capture_text.h"
#include "app/opened_recording.h"
#include "app/ops.h"
#include "base/number.h"
#include "formats/description_file.h"
#include "report/time_picture.h"

namespace halfsplit::app {

namespace {

constexpr std::size_t kLargestDescription = 64U << 20U;

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

Reply show_lines(OpenedRecording& opened, CaptureReport& report, const LineRanges& ranges) {
  ShownFrames shown(ranges, report.descriptions);
  opened.pass([&](auto frames) { return shown.take(frames); });
  if (const base::Result<base::Done> there = opened.channel_was_there(); !there) return fail(there.diagnostics());
  report.recording = opened.recording();
  Reply reply;
  reply.text = shown.text(report);
  reply.result = shown.json(report);
  return reply;
}

// A file, or an interface to listen to.
base::Result<OpenedRecording> open_told(Context& context, const Arguments& arguments, CaptureReport& report) {
  const std::string interface = arguments.get("live");
  if (interface.empty() == report.file.empty())
    return base::make_error("capture.file-or-live", "a recording to read, or an interface to listen to: one of the two",
                            "halfsplit capture drive.log, or halfsplit capture --live can0 --seconds 60");
  const base::Result<double> seconds = number_option(arguments, "seconds", 60.0, 0.1, 86400.0);
  if (!seconds) return seconds.diagnostics();
  if (interface.empty()) return OpenedRecording::open(context, report.file, report.channel);
  report.file = interface;
  return OpenedRecording::listen(context, interface, *seconds);
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
  base::Result<OpenedRecording> opened = open_told(context, arguments, report);
  if (!opened) {
    Reply reply = fail(opened.diagnostics());
    if (arguments.has("file") == arguments.has("live")) reply.exit_code = 2;  // neither, or both
    return reply;
  }
  if (!ranges->empty()) return show_lines(*opened, report, *ranges);
  base::Result<StudiedRecording> studied = study(context, *opened, *bit_rate * 1000.0);
  if (!studied) return fail(studied.diagnostics());
  report.stopped = studied->stopped;
  report.recording = std::move(studied->recording);
  report.findings = std::move(studied->findings);
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
