// SPDX-License-Identifier: Apache-2.0
// pcapng: blocks of type, length, body, length again; options of code, length, value padded to four bytes. Source: the
// IETF draft "PCAP Now Generic (pcapng) Capture File Format", sections 3.1, 4.1 to 4.3. Written with the lowest byte
// first.
#include "capture/write_recording.h"

#include <algorithm>
#include <cstdint>
#include <string_view>

namespace halfsplit::capture {

namespace {

constexpr std::uint32_t kErrorFlagOut = 0x20000000, kRemoteFlagOut = 0x40000000, kExtendedFlagOut = 0x80000000;
constexpr std::size_t kClassicData = 8, kFlexibleData = 64;

std::string channel_name(std::size_t channel, const std::vector<std::string>& channels) {
  return channel < channels.size() && !channels[channel].empty() ? channels[channel] : "can" + std::to_string(channel);
}

// --- text ------------------------------------------------------------------------------------------------------------

void append_hex(std::string& text, std::uint32_t value, int digits) {
  for (int digit = digits - 1; digit >= 0; --digit) text += "0123456789ABCDEF"[value >> (4 * digit) & 0xF];
}

void append_decimal(std::string& text, std::uint64_t value, std::size_t digits) {
  const std::string number = std::to_string(value);
  text.append(digits > number.size() ? digits - number.size() : 0, '0');
  text += number;
}

void append_line(std::string& text, const can::Frame& frame, const std::vector<std::string>& channels) {
  const auto time = static_cast<std::uint64_t>(std::max<std::int64_t>(0, frame.time_us));
  text += '(';
  append_decimal(text, time / 1'000'000, 10);
  text += '.';
  append_decimal(text, time % 1'000'000, 6);
  text += ") ";
  text += channel_name(frame.channel, channels);
  text += ' ';
  const bool error = frame.kind == can::FrameKind::kError;
  append_hex(text, error ? frame.id | kErrorFlagOut : frame.id, error || frame.extended ? 8 : 3);
  text += '#';
  if (frame.flexible) text += "#0";
  if (frame.kind == can::FrameKind::kRemote) {
    text += 'R';
    if (frame.length > 0) text += static_cast<char>('0' + frame.length);
  }
  for (const std::uint8_t byte : frame.bytes()) append_hex(text, byte, 2);
  text += '\n';
}

// --- packets ---------------------------------------------------------------------------------------------------------

void append_number(std::string& bytes, std::uint32_t value, int count) {
  for (int i = 0; i < count; ++i) bytes += static_cast<char>(value >> (8 * i) & 0xFF);
}
void append_big_endian(std::string& bytes, std::uint32_t value) {
  for (int i = 3; i >= 0; --i) bytes += static_cast<char>(value >> (8 * i) & 0xFF);
}
void pad(std::string& bytes) { bytes.append((4 - bytes.size() % 4) % 4, '\0'); }

void append_block(std::string& bytes, std::uint32_t type, const std::string& body) {
  const auto length = static_cast<std::uint32_t>(body.size() + 12);
  append_number(bytes, type, 4);
  append_number(bytes, length, 4);
  bytes += body;
  append_number(bytes, length, 4);
}

std::string section_body() {
  std::string body;
  append_number(body, 0x1A2B3C4D, 4);  // byte order
  append_number(body, 1, 2);           // version 1.0
  append_number(body, 0, 2);
  append_number(body, 0xFFFFFFFF, 4);  // length of the section: not told
  append_number(body, 0xFFFFFFFF, 4);
  return body;
}

std::string interface_body(const std::string& name) {
  std::string body;
  append_number(body, 227, 2);  // LINKTYPE_CAN_SOCKETCAN
  append_number(body, 0, 2);
  append_number(body, 0, 4);  // packets are whole
  append_number(body, 2, 2);  // if_name
  append_number(body, static_cast<std::uint32_t>(name.size()), 2);
  body += name;
  pad(body);
  append_number(body, 9, 2);  // if_tsresol: a millionth
  append_number(body, 1, 2);
  body += '\6';
  pad(body);
  append_number(body, 0, 4);  // no more options
  return body;
}

void append_can(std::string& bytes, const can::Frame& frame) {
  std::uint32_t head = frame.id;
  if (frame.kind == can::FrameKind::kError) head |= kErrorFlagOut;
  if (frame.kind == can::FrameKind::kRemote) head |= kRemoteFlagOut;
  if (frame.extended) head |= kExtendedFlagOut;
  append_big_endian(bytes, head);
  bytes += static_cast<char>(frame.length);
  bytes += frame.flexible ? '\4' : '\0';
  bytes.append(2, '\0');
  const std::span<const std::uint8_t> data = frame.bytes();
  for (const std::uint8_t byte : data) bytes += static_cast<char>(byte);
  bytes.append((frame.flexible ? kFlexibleData : kClassicData) - data.size(), '\0');
}

}  // namespace

void append_candump(std::string& text, std::span<const can::Frame> frames, const std::vector<std::string>& channels) {
  for (const can::Frame& frame : frames) append_line(text, frame, channels);
}

void append_pcapng_head(std::string& bytes, const std::vector<std::string>& channels) {
  append_block(bytes, 0x0A0D0D0A, section_body());
  for (std::size_t i = 0; i < std::max<std::size_t>(1, channels.size()); ++i)
    append_block(bytes, 1, interface_body(channel_name(i, channels)));
}

void append_pcapng(std::string& bytes, std::span<const can::Frame> frames, const std::vector<std::string>& channels) {
  for (const can::Frame& frame : frames) {
    const auto time = static_cast<std::uint64_t>(std::max<std::int64_t>(0, frame.time_us));
    const std::uint32_t length = 8U + static_cast<std::uint32_t>(frame.flexible ? kFlexibleData : kClassicData);
    append_number(bytes, 6, 4);  // enhanced packet
    append_number(bytes, length + 32, 4);
    append_number(bytes, frame.channel < channels.size() ? frame.channel : 0U, 4);
    append_number(bytes, static_cast<std::uint32_t>(time >> 32), 4);
    append_number(bytes, static_cast<std::uint32_t>(time), 4);
    append_number(bytes, length, 4);
    append_number(bytes, length, 4);
    append_can(bytes, frame);
    append_number(bytes, length + 32, 4);
  }
}

}  // namespace halfsplit::capture
