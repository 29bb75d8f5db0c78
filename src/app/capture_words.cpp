// SPDX-License-Identifier: Apache-2.0
#include "app/capture_words.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "base/number.h"
#include "can/j1939_groups.h"
#include "can/j1939_id.h"
#include "can/j1939_name.h"
#include "can/trouble_codes.h"

namespace halfsplit::app {

namespace {

constexpr std::int64_t kSecondUs = 1'000'000, kMinuteUs = 60 * kSecondUs, kHourUs = 60 * kMinuteUs;

std::string two_digits(std::int64_t number) { return (number < 10 ? "0" : "") + std::to_string(number); }

std::string fraction_text(std::int64_t us, int digits) {
  std::string text = std::to_string(kSecondUs + us).substr(1);
  return text.substr(0, static_cast<std::size_t>(digits));
}

// Groups of the network layers, which have no name in the table of parameters.
std::string_view network_group_word(std::uint32_t pgn) {
  switch (pgn) {
    case can::kPgnAcknowledgement:
      return "acknowledgement";
    case can::kPgnRequest:
      return "request";
    case can::kPgnTransportData:
      return "long message, data";
    case can::kPgnTransportControl:
      return "long message, control";
    case can::kPgnAddressClaimed:
      return "address claim";
    default:
      return can::is_proprietary(pgn) ? "proprietary" : "";
  }
}

// Where addresses are given out freely, they say nothing.
bool free_addresses(const CaptureReport& report) {
  constexpr std::uint8_t kMarine = 4;
  std::size_t marine = 0;
  std::size_t all = 0;
  for (const capture::Sender& sender : report.findings.senders)
    for (const capture::Claim& claim : sender.claims) {
      ++all;
      marine += can::split_j1939_name(claim.name).industry_group == kMarine ? 1U : 0U;
    }
  return 2 * marine > all;
}

}  // namespace

std::string moment_text(std::int64_t at_us) {
  const std::int64_t us = std::max<std::int64_t>(0, at_us);
  const std::int64_t seconds = us / kSecondUs;
  if (us < 100 * kSecondUs) return std::to_string(seconds) + "." + fraction_text(us % kSecondUs, 3) + " s";
  if (us < kHourUs)
    return std::to_string(seconds / 60) + ":" + two_digits(seconds % 60) + "." + fraction_text(us % kSecondUs, 2);
  return std::to_string(seconds / 3600) + ":" + two_digits(seconds / 60 % 60) + ":" + two_digits(seconds % 60) + "." +
         fraction_text(us % kSecondUs, 1);
}

std::string span_text(double us) {
  if (us < 999'500.0) return base::format_significant(us / 1000.0, 3) + " ms";
  if (us < 2.0 * static_cast<double>(kMinuteUs)) return base::format_significant(us / 1.0e6, 3) + " s";
  const auto seconds = static_cast<std::int64_t>(std::llround(us / 1.0e6));
  if (seconds < 3600) return std::to_string(seconds / 60) + " min " + std::to_string(seconds % 60) + " s";
  return std::to_string(seconds / 3600) + " h " + std::to_string(seconds / 60 % 60) + " min";
}

std::string line_text(const capture::Mark& mark) { return "line " + std::to_string(mark.line); }

std::string lines_text(const capture::Mark& from, const capture::Mark& to) {
  if (from.line == to.line) return line_text(from);
  return "lines " + std::to_string(from.line) + " and " + std::to_string(to.line);
}

std::string count_text(std::uint64_t count, const std::string& one, const std::string& many) {
  return thousands(count) + " " + (count == 1 ? one : many);
}

std::string thousands(std::uint64_t number) {
  std::string text = std::to_string(number);
  for (std::size_t at = text.size(); at > 3; at -= 3) text.insert(at - 3, ",");
  return text;
}

std::string sender_word(const CaptureReport& report, const capture::Sender& sender) {
  if (!sender.key.extended) return message_word(report, sender.key.number, false);
  const auto address = static_cast<std::uint8_t>(sender.key.number);
  if (address == can::kNullAddress) return "without an address";
  if (!sender.claims.empty()) {
    const std::string_view word = can::name_function_word(can::split_j1939_name(sender.claims.back().name));
    if (!word.empty()) return std::string(word);
  }
  return free_addresses(report) ? "" : std::string(can::source_address_word(address));
}

std::string channel_name(const CaptureReport& report, std::uint8_t channel) {
  return channel < report.recording.channels.size() ? report.recording.channels[channel]
                                                    : "channel " + std::to_string(channel);
}

std::string sender_text(const CaptureReport& report, const capture::Sender& sender) {
  char id[16];
  std::snprintf(id, sizeof id, "id %03X", unsigned{sender.key.number});
  std::string text = sender.key.extended ? "SA " + std::to_string(sender.key.number) : id;
  const std::string word = sender_word(report, sender);
  if (!word.empty()) text += " (" + word + ")";
  if (report.findings.load.size() > 1 && report.channel.empty())
    text += " on " + channel_name(report, sender.key.channel);
  return text;
}

std::string senders_text(const CaptureReport& report, const std::vector<std::size_t>& senders, std::size_t most) {
  std::string text;
  const std::size_t shown = senders.size() > most + 1 ? most : senders.size();
  for (std::size_t i = 0; i < shown; ++i)
    text += (i == 0 ? "" : ", ") + sender_text(report, report.findings.senders[senders[i]]);
  if (shown < senders.size()) text += " and " + std::to_string(senders.size() - shown) + " more";
  return text;
}

std::string address_text(const CaptureReport& report, std::uint8_t channel, std::uint8_t address) {
  if (address == can::kGlobalAddress) return "everyone";
  for (const capture::Sender& sender : report.findings.senders)
    if (sender.key == capture::SenderKey{channel, true, address}) return sender_text(report, sender);
  return "SA " + std::to_string(address);
}

std::string name_text(std::uint64_t name) {
  char text[20];
  std::snprintf(text, sizeof text, "%016llX", static_cast<unsigned long long>(name));
  return text;
}

std::string message_word(const CaptureReport& report, std::uint32_t id, bool extended) {
  if (const can::Message* message = can::find_message(report.descriptions, id, extended)) return message->name;
  if (!extended) return "";
  const std::uint32_t pgn = can::j1939_pgn(id);
  if (const can::J1939Group* group = can::find_j1939_group(pgn)) return std::string(group->name);
  if (const can::CodeGroup* group = can::find_code_group(pgn)) return std::string(group->name);
  return std::string(network_group_word(pgn));
}

std::string pgn_text(const CaptureReport& report, std::uint32_t pgn) {
  const std::string word = message_word(report, pgn << 8U, true);
  return "PGN " + std::to_string(pgn) + (word.empty() ? "" : " " + word);
}

}  // namespace halfsplit::app
