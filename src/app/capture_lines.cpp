// SPDX-License-Identifier: Apache-2.0
#include "app/capture_lines.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdio>

#include "app/words.h"
#include "base/number.h"
#include "can/j1939_id.h"
#include "can/parameters.h"

namespace halfsplit::app {

namespace {

std::optional<std::uint64_t> whole_line(std::string_view text) {
  std::uint64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || value == 0) return std::nullopt;
  return value;
}

std::string hex_bytes(const can::Frame& frame) {
  std::string text;
  for (const std::uint8_t byte : frame.bytes()) {
    char two[4];
    std::snprintf(two, sizeof two, "%02X", unsigned{byte});
    text += (text.empty() ? "" : " ") + std::string(two);
  }
  return text;
}

std::string value_text(double value, std::string_view unit) {
  return base::format_number(std::round(value * 1.0e6) / 1.0e6) +
         (unit.empty() || unit == "state" ? "" : " " + std::string(unit));
}

}  // namespace

base::Result<LineRanges> read_line_ranges(const std::vector<std::string>& texts) {
  LineRanges ranges;
  for (const std::string& text : texts) {
    const std::size_t dash = text.find('-');
    const std::optional<std::uint64_t> from = whole_line(std::string_view(text).substr(0, dash));
    const std::optional<std::uint64_t> to =
        dash == std::string::npos ? from : whole_line(std::string_view(text).substr(dash + 1));
    if (!from || !to || *from > *to)
      return base::make_error("capture.bad-lines", "\"" + text + "\" is no line and no range of lines",
                              "903, or from the first to the last: 903-1040");
    ranges.emplace_back(*from, *to);
  }
  return ranges;
}

ShownFrames::ShownFrames(LineRanges ranges, const can::Descriptions& descriptions)
    : ranges_(std::move(ranges)), descriptions_(descriptions) {
  for (const auto& [from, to] : ranges_) last_line_ = std::max(last_line_, to);
}

bool ShownFrames::take(std::span<const can::Frame> frames) {
  for (const can::Frame& frame : frames) {
    const capture::Mark mark = clock_.mark(frame);
    if (frame.line > last_line_) return false;
    const bool asked = std::any_of(ranges_.begin(), ranges_.end(), [&](const auto& range) {
      return frame.line >= range.first && frame.line <= range.second;
    });
    if (!asked) continue;
    if (shown_.size() < kMostShown)
      shown_.push_back({frame, mark});
    else
      ++more_;
  }
  return true;
}

// Signals of the descriptions, else the parameters we know.
std::vector<std::string> ShownFrames::says(const can::Frame& frame) const {
  std::vector<std::string> list;
  if (const can::Message* message = can::find_message(descriptions_, frame.id, frame.extended)) {
    for (const can::SignalValue& v : can::signal_values(*message, frame.bytes()))
      list.push_back(v.signal->name + " " +
                     (v.word.empty() ? value_text(v.value, v.signal->unit) : std::string(v.word)));
    return list;
  }
  if (!frame.extended) return list;
  for (const can::Parameter& parameter : can::parameters_of(can::j1939_pgn(frame.id))) {
    const can::ParameterReading reading = can::read_parameter(parameter, frame.bytes());
    if (reading.reading == can::Reading::kValue)
      list.push_back(std::string(parameter.name) + " " + value_text(reading.value, parameter.unit));
  }
  return list;
}

std::string ShownFrames::text(const CaptureReport& report) const {
  std::string text;
  for (const Shown& one : shown_) {
    const can::Frame& frame = one.frame;
    char id[32];
    std::snprintf(id, sizeof id, frame.extended ? "%08X" : "%03X", unsigned{frame.id});
    std::string row = padded(std::to_string(one.mark.line), 9) + padded(moment_text(one.mark.at_us), 12) +
                      padded(channel_name(report, frame.channel), 6) + padded(id, 9);
    if (frame.kind == can::FrameKind::kError)
      row += "error frame";
    else if (frame.kind == can::FrameKind::kRemote)
      row += "remote frame";
    else
      row += padded(hex_bytes(frame), 24);
    const std::string word = frame.kind == can::FrameKind::kError ? "" : message_word(report, frame.id, frame.extended);
    if (!word.empty()) row += " " + word;
    if (frame.kind == can::FrameKind::kData) {
      std::string said;
      for (const std::string& value : says(frame)) said += (said.empty() ? ": " : ", ") + value;
      row += said;
    }
    while (row.ends_with(' ')) row.pop_back();
    text += row + "\n";
  }
  if (shown_.empty()) text += "no frame in these lines\n";
  if (more_ > 0) text += "and " + thousands(more_) + " more frames\n";
  return text;
}

Json ShownFrames::json(const CaptureReport& report) const {
  Json list = Json::array();
  for (const Shown& one : shown_) {
    const can::Frame& frame = one.frame;
    static constexpr const char* kKinds[] = {"data", "remote", "error"};
    std::string data = hex_bytes(frame);
    data.erase(std::remove(data.begin(), data.end(), ' '), data.end());
    Json row{{"line", one.mark.line},
             {"at_s", static_cast<double>(one.mark.at_us) / 1.0e6},
             {"channel", channel_name(report, frame.channel)},
             {"kind", kKinds[static_cast<std::size_t>(frame.kind)]},
             {"id", frame.id},
             {"extended", frame.extended},
             {"data", data}};
    const std::string word = message_word(report, frame.id, frame.extended);
    if (!word.empty()) row["name"] = word;
    if (frame.kind == can::FrameKind::kData) row["says"] = says(frame);
    list.push_back(row);
  }
  return {{"frames", list}, {"more", more_}};
}

}  // namespace halfsplit::app
