// SPDX-License-Identifier: Apache-2.0
// Identifiers and frames, written as candump writes them: hexadecimal, three digits for 11 bits, eight for 29, data
// behind #.
#include <algorithm>
#include <charconv>

#include "app/decoded.h"
#include "base/number.h"
#include "can/iso_tp.h"
#include "can/j1939_groups.h"
#include "can/j1939_id.h"
#include "can/j1939_name.h"

namespace halfsplit::app {

namespace {

std::optional<can::Frame> frame_of(std::string_view text) {
  const std::size_t hash = text.find('#');
  std::string_view id = text.substr(0, hash);
  const bool prefixed = id.starts_with("0x") || id.starts_with("0X");
  if (prefixed) id.remove_prefix(2);
  const bool plain = id.size() == 3 || id.size() == 8 || (prefixed && !id.empty() && id.size() < 8);
  can::Frame frame;
  const auto [end, error] = std::from_chars(id.data(), id.data() + id.size(), frame.id, 16);
  if (!plain || error != std::errc() || end != id.data() + id.size()) return std::nullopt;
  frame.extended = id.size() == 8 || frame.id > can::kLargestStandardId;
  if (frame.id > can::kLargestExtendedId) return std::nullopt;
  if (hash == std::string_view::npos) return frame;
  std::string_view data = text.substr(hash + 1);
  if (data.starts_with('#')) {  // CAN FD: one digit of flags
    frame.flexible = true;
    data.remove_prefix(std::min<std::size_t>(2, data.size()));
  }
  std::string without_points(data);
  std::erase(without_points, '.');
  const auto bytes = bytes_of_hex(without_points);
  if (!bytes || bytes->size() > (frame.flexible ? 64U : 8U)) return std::nullopt;
  frame.length = static_cast<std::uint8_t>(bytes->size());
  std::copy(bytes->begin(), bytes->end(), frame.data.begin());
  return frame;
}

std::string address_with_word(std::uint8_t address) {
  const std::string_view word = can::source_address_word(address);
  return std::to_string(address) + " (" + hex_text(address, 2) + ")" + (word.empty() ? "" : ", " + std::string(word));
}

void tell_j1939_id(std::uint32_t number, Decoded& decoded) {
  const can::J1939Id id = can::split_j1939_id(number);
  const can::J1939Group* group = can::find_j1939_group(id.pgn());
  decoded.fields["bits"] = 29;
  decoded.fields["priority"] = id.priority;
  decoded.fields["pgn"] = id.pgn();
  if (group != nullptr) decoded.fields["group"] = {{"name", group->name}, {"tells", group->tells}};
  decoded.fields["proprietary"] = can::is_proprietary(id.pgn());
  decoded.fields["source"] = id.source;
  decoded.fields["source_word"] = can::source_address_word(id.source);
  decoded.fields["destination"] = id.destination();
  decoded.fields["addressed"] = id.addressed();
  decoded.row("identifier", hex_text(number, 8) + ", 29 bits, read as SAE J1939");
  decoded.row("priority", std::to_string(id.priority) + " (0 goes first, 7 last)");
  std::string told = std::to_string(id.pgn()) + " (" + hex_text(id.pgn(), 5) + ")";
  if (group != nullptr) told += ", " + std::string(group->name) + ": " + std::string(group->tells);
  if (can::is_proprietary(id.pgn())) told += ", proprietary: its bytes mean what the maker wishes";
  decoded.row("group (PGN)", told);
  decoded.row("from", address_with_word(id.source));
  decoded.row("to", id.addressed() ? address_with_word(id.pdu_specific) : "everyone");
}

void tell_short_id(std::uint32_t id, Decoded& decoded) {
  decoded.fields["bits"] = 11;
  decoded.row("identifier", hex_text(id, 3) + ", 11 bits");
  std::string means = "the number alone says nothing: its meaning is the maker's, or of a description file (--with)";
  if (id == 0x7DF) means = "legislated diagnosis: a question to every module";
  if (id >= 0x7E0 && id <= 0x7E7) means = "legislated diagnosis: a question to module " + std::to_string(id - 0x7E0);
  if (id >= 0x7E8 && id <= 0x7EF) means = "legislated diagnosis: an answer of module " + std::to_string(id - 0x7E8);
  decoded.fields["means"] = means;
  decoded.row("means", means);
}

void tell_described(const can::Message& message, const can::Frame& frame, Decoded& decoded) {
  decoded.fields["message"] = message.name;
  decoded.row("message", message.name + (message.remark.empty() ? "" : ": " + message.remark));
  Json signals = Json::array();
  for (const can::SignalValue& value : can::signal_values(message, frame.bytes())) {
    Json one = {{"name", value.signal->name}, {"value", value.value}, {"unit", value.signal->unit}};
    if (!value.word.empty()) one["word"] = value.word;
    signals.push_back(one);
    std::string text = base::format_number(value.value);
    if (!value.signal->unit.empty()) text += " " + value.signal->unit;
    if (!value.word.empty()) text += ", " + std::string(value.word);
    decoded.row("  " + value.signal->name, text);
  }
  decoded.fields["signals"] = signals;
}

void tell_data(const can::Frame& frame, Decoded& decoded) {
  Json bytes = Json::array();
  std::string text;
  for (const std::uint8_t byte : frame.bytes()) {
    bytes.push_back(byte);
    text += (text.empty() ? "" : " ") + hex_text(byte, 2).substr(2);
  }
  decoded.fields["data"] = bytes;
  decoded.row("data", text.empty() ? "none" : text);
  std::vector<can::IsoTpMessage> ended;
  can::IsoTp iso_tp;
  iso_tp.take(frame, ended);
  if (!ended.empty()) return tell_diagnostic_bytes(ended.front().bytes, decoded);
  if (can::IsoTp::concerns(frame)) return decoded.row("", "part of a longer diagnostic message");
  if (frame.extended) tell_group_bytes(can::j1939_pgn(frame.id), frame.bytes(), decoded);
}

}  // namespace

std::optional<Decoded> decode_frame(std::string_view text, const can::Descriptions* descriptions) {
  const std::optional<can::Frame> frame = frame_of(text);
  if (!frame) return std::nullopt;
  const bool with_data = text.find('#') != std::string_view::npos;
  Decoded decoded;
  decoded.fields["kind"] = with_data ? "frame" : "identifier";
  decoded.fields["id"] = frame->id;
  if (frame->extended) {
    tell_j1939_id(frame->id, decoded);
  } else {
    tell_short_id(frame->id, decoded);
  }
  if (with_data) tell_data(*frame, decoded);
  const can::Message* message =
      descriptions != nullptr ? can::find_message(*descriptions, frame->id, frame->extended) : nullptr;
  if (message != nullptr) tell_described(*message, *frame, decoded);
  if (descriptions != nullptr && message == nullptr) decoded.row("message", "not in the description file");
  return decoded;
}

}  // namespace halfsplit::app
