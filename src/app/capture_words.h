// SPDX-License-Identifier: Apache-2.0
// Words for what a recording tells: senders, messages, moments, places in it.
#pragma once

#include <string>
#include <vector>

#include "can/signals.h"
#include "capture/findings.h"
#include "capture/frame_source.h"

namespace halfsplit::app {

// Everything that is told about one recording.
struct CaptureReport {
  std::string file;
  capture::Recording recording;
  capture::Findings findings;
  bool stopped = false;            // by the user, before its end
  std::string channel;             // only this one was looked at; empty: all
  can::Descriptions descriptions;  // names from a DBC or KCD; may be empty
};

// "12.345 s", "3:12.34", "1:02:03.4": from the start of the recording.
[[nodiscard]] std::string moment_text(std::int64_t at_us);
// "480 ms", "1.48 s", "3 min 12 s", "2 h 5 min".
[[nodiscard]] std::string span_text(double us);
// "line 903", "lines 903 and 1040".
[[nodiscard]] std::string line_text(const capture::Mark& mark);
[[nodiscard]] std::string lines_text(const capture::Mark& from, const capture::Mark& to);
// "1 time", "3 times"; "2 frames".
[[nodiscard]] std::string count_text(std::uint64_t count, const std::string& one, const std::string& many);
[[nodiscard]] std::string thousands(std::uint64_t number);  // 33,300

// What commonly sits at the address or what its NAME says; of an 11-bit identifier its name in the descriptions.
[[nodiscard]] std::string sender_word(const CaptureReport& report, const capture::Sender& sender);
// "SA 11 (brakes, system controller)", "id 123"; with the channel when there are several.
[[nodiscard]] std::string sender_text(const CaptureReport& report, const capture::Sender& sender);
[[nodiscard]] std::string senders_text(const CaptureReport& report, const std::vector<std::size_t>& senders,
                                       std::size_t most = 8);
// "SA 11 (brakes, system controller)" of an address of a channel; 255: "everyone".
[[nodiscard]] std::string address_text(const CaptureReport& report, std::uint8_t channel, std::uint8_t address);
[[nodiscard]] std::string channel_name(const CaptureReport& report, std::uint8_t channel);

[[nodiscard]] std::string name_text(std::uint64_t name);  // 16 digits, as a number

// "EEC1", or its name in the descriptions; empty: none.
[[nodiscard]] std::string message_word(const CaptureReport& report, std::uint32_t id, bool extended);
// "PGN 61444 EEC1"
[[nodiscard]] std::string pgn_text(const CaptureReport& report, std::uint32_t pgn);

}  // namespace halfsplit::app
