// SPDX-License-Identifier: Apache-2.0
// Replies of ReadDTCInformation: 59, subfunction, then of lists the status mask and four bytes a code (three and its
// status), of counts the mask, the format and two bytes. Legislated modes: 43, 47 or 4A, how many, two bytes a code;
// older modules on other buses leave out how many, which an even length shows. Refusals: 7F, the service asked, the
// reason.
#include "can/uds_codes.h"

#include <algorithm>
#include <iterator>

namespace halfsplit::can {

namespace {

enum class Layout : std::uint8_t { kList, kCount, kOneCode };

struct Subfunction {
  std::uint8_t value;
  Layout layout;
  std::string_view tells;
};
// ISO 14229-1, 11.3; names in our words. [m]
constexpr Subfunction kSubfunctions[] = {
    {0x01, Layout::kCount, "how many codes by status"},
    {0x02, Layout::kList, "codes by status"},

    {0x04, Layout::kOneCode, "a code with the values at its time"},
    {0x06, Layout::kOneCode, "a code with further data"},
    {0x0A, Layout::kList, "all codes that the module knows"},
    {0x0B, Layout::kList, "first code that failed"},
    {0x0C, Layout::kList, "first code that was confirmed"},
    {0x0D, Layout::kList, "latest code that failed"},
    {0x0E, Layout::kList, "latest code that was confirmed"},
    {0x0F, Layout::kList, "mirrored codes by status"},
    {0x11, Layout::kCount, "how many mirrored codes"},
    {0x12, Layout::kCount, "how many emission codes"},
    {0x13, Layout::kList, "emission codes by status"},
    {0x15, Layout::kList, "permanent codes"},
};

struct Refusal {
  std::uint8_t code;
  std::string_view word;
};
// ISO 14229-1, annex A; in our words. [m]
constexpr Refusal kRefusals[] = {
    {0x10, "refused, no reason given"},
    {0x11, "service not known here"},
    {0x12, "subfunction not known here"},
    {0x13, "wrong length or format"},
    {0x14, "the answer would be too long"},
    {0x21, "busy, ask again"},
    {0x22, "not under these conditions"},
    {0x24, "not in this order"},
    {0x25, "no answer from a module behind it"},
    {0x26, "a failure prevents it"},
    {0x31, "value out of range"},
    {0x33, "locked: security access needed"},
    {0x34, "authentication needed"},
    {0x35, "wrong key"},
    {0x36, "too many attempts"},
    {0x37, "wait before trying again"},
    {0x70, "upload or download refused"},
    {0x71, "transfer broken off"},
    {0x72, "programming failed"},
    {0x73, "wrong block number"},
    {0x78, "received, answer follows"},
    {0x7E, "subfunction not in this session"},
    {0x7F, "service not in this session"},
    {0x81, "engine speed too high"},
    {0x82, "engine speed too low"},
    {0x83, "engine is running"},
    {0x84, "engine is not running"},
    {0x88, "vehicle moves too fast"},
    {0x92, "voltage too high"},
    {0x93, "voltage too low"},
};

std::uint32_t code_at(std::span<const std::uint8_t> bytes) {
  return static_cast<std::uint32_t>(bytes[0]) << 16 | static_cast<std::uint32_t>(bytes[1]) << 8 | bytes[2];
}

void read_list(std::span<const std::uint8_t> rest, DiagnosticReply& reply) {
  for (; rest.size() >= 4; rest = rest.subspan(4)) reply.codes.push_back({code_at(rest), true, rest[3]});
  reply.left_over = static_cast<std::uint16_t>(rest.size());
}

std::optional<DiagnosticReply> read_dtc_information(std::span<const std::uint8_t> bytes) {
  if (bytes.size() < 3) return std::nullopt;
  const auto* const known = std::find_if(std::begin(kSubfunctions), std::end(kSubfunctions),
                                         [&](const Subfunction& sub) { return sub.value == bytes[1]; });
  if (known == std::end(kSubfunctions)) return std::nullopt;
  DiagnosticReply reply;
  reply.subfunction = bytes[1];
  reply.tells = known->tells;
  switch (known->layout) {
    case Layout::kList:
      reply.status_mask = bytes[2];
      read_list(bytes.subspan(3), reply);
      return reply;
    case Layout::kCount:
      if (bytes.size() < 6) return std::nullopt;
      reply.kind = DiagnosticKind::kCount;
      reply.status_mask = bytes[2];
      reply.format = bytes[3];
      reply.count = static_cast<std::uint16_t>(bytes[4] << 8 | bytes[5]);
      reply.left_over = static_cast<std::uint16_t>(bytes.size() - 6);
      return reply;
    case Layout::kOneCode:
      break;
  }
  if (bytes.size() < 6) return std::nullopt;
  reply.codes.push_back({code_at(bytes.subspan(2)), true, bytes[5]});
  reply.left_over = static_cast<std::uint16_t>(bytes.size() - 6);
  return reply;
}

std::string_view legislated_mode(std::uint8_t service) {
  switch (service) {
    case 0x43:
      return "confirmed emission codes";
    case 0x47:
      return "pending emission codes";
    case 0x4A:
      return "permanent emission codes";
    default:
      return {};
  }
}

DiagnosticReply read_legislated(std::span<const std::uint8_t> bytes) {
  DiagnosticReply reply;
  reply.tells = legislated_mode(bytes[0]);
  std::span<const std::uint8_t> rest = bytes.subspan(1);
  const bool says_how_many = rest.size() % 2 == 1;
  if (says_how_many) rest = rest.subspan(1);
  for (; rest.size() >= 2; rest = rest.subspan(2)) {
    const std::uint32_t code = static_cast<std::uint32_t>(rest[0]) << 16 | static_cast<std::uint32_t>(rest[1]) << 8;
    if (code != 0) reply.codes.push_back({code, false, std::nullopt});  // 00 00 is filler
  }
  reply.count = static_cast<std::uint16_t>(says_how_many ? bytes[1] : reply.codes.size());
  return reply;
}

}  // namespace

std::optional<DiagnosticReply> read_diagnostic_reply(std::span<const std::uint8_t> bytes) {
  if (bytes.empty()) return std::nullopt;
  std::optional<DiagnosticReply> reply;
  if (bytes[0] == 0x7F && bytes.size() >= 3) {
    reply.emplace();
    reply->kind = DiagnosticKind::kRefused;
    reply->service = bytes[1];
    reply->refusal = bytes[2];
    reply->tells = "refused";
    reply->left_over = static_cast<std::uint16_t>(bytes.size() - 3);
    return reply;
  }
  if (bytes[0] == 0x59) reply = read_dtc_information(bytes);
  if (!legislated_mode(bytes[0]).empty()) reply = read_legislated(bytes);
  if (reply) reply->service = bytes[0];
  return reply;
}

std::string_view refusal_word(std::uint8_t code) {
  const auto* const found = std::find_if(std::begin(kRefusals), std::end(kRefusals),
                                         [=](const Refusal& refusal) { return refusal.code == code; });
  return found != std::end(kRefusals) ? found->word : std::string_view();
}

}  // namespace halfsplit::can
