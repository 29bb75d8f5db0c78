// SPDX-License-Identifier: Apache-2.0
// Numbers with their word before them, codes and sockets as they stand on paper.
#include <algorithm>
#include <cctype>
#include <charconv>

#include "app/decoded.h"
#include "app/words.h"
#include "base/number.h"
#include "can/j1939_groups.h"
#include "can/j1939_id.h"
#include "can/j1939_name.h"
#include "can/parameters.h"
#include "can/trouble_codes.h"
#include "can/uds_codes.h"
#include "formats/trailer_sockets.h"

namespace halfsplit::app {

namespace {

std::vector<std::string> words_of(std::string_view text) {
  std::vector<std::string> words(1);
  for (const char c : text) {
    const bool apart = c == ' ' || c == '\t' || c == '/' || c == ',' || c == '=';
    if (!apart) words.back() += static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
    if (apart && !words.back().empty()) words.emplace_back();
  }
  if (words.back().empty()) words.pop_back();
  return words;
}

void tell_parameter(const can::Parameter& parameter, Decoded& decoded) {
  const can::J1939Group* group = can::find_j1939_group(parameter.pgn);
  decoded.fields["parameter"] = {
      {"name", parameter.name},           {"pgn", parameter.pgn},          {"start_byte", parameter.start_byte},
      {"start_bit", parameter.start_bit}, {"bits", parameter.length_bits}, {"per_bit", parameter.per_bit},
      {"offset", parameter.offset},       {"unit", parameter.unit}};
  decoded.row("parameter", std::string(parameter.name));
  decoded.row("sent in", "group " + std::to_string(parameter.pgn) +
                             (group != nullptr ? " (" + std::string(group->name) + ")" : "") + ", byte " +
                             std::to_string(parameter.start_byte) + ", bit " + std::to_string(parameter.start_bit) +
                             ", " + std::to_string(parameter.length_bits) + " bits");
  if (parameter.unit == "state") return decoded.row("scaling", "a state");
  decoded.row("scaling", base::format_number(parameter.per_bit) + " " + std::string(parameter.unit) + " a bit, from " +
                             base::format_number(parameter.offset));
}

void tell_spn(std::uint32_t spn, Decoded& decoded) {
  const can::Parameter* parameter = can::find_parameter(spn);
  decoded.fields["spn"] = spn;
  decoded.row("SPN", std::to_string(spn));
  if (parameter != nullptr) return tell_parameter(*parameter, decoded);
  decoded.row("", spn >= can::kFirstProprietarySpn
                      ? "of the maker's own range: its meaning stands in the maker's papers only"
                      : "not among the parameters known here");
}

void tell_group(std::uint32_t pgn, Decoded& decoded) {
  const can::J1939Group* group = can::find_j1939_group(pgn);
  decoded.fields["pgn"] = pgn;
  decoded.row("group (PGN)", std::to_string(pgn) + " (" + hex_text(pgn, 5) + ")" +
                                 (group != nullptr ? ", " + std::string(group->name) : ""));
  if (group != nullptr) {
    decoded.fields["group"] = {{"name", group->name}, {"tells", group->tells}, {"every_ms", group->every_ms}};
    decoded.row("tells", std::string(group->tells));
    decoded.row("comes", group->every_ms > 0 ? "usually every " + base::format_number(group->every_ms) + " ms"
                                             : std::string("when asked for"));
  }
  if (can::is_proprietary(pgn)) decoded.row("", "proprietary: its bytes mean what the maker wishes");
  for (const can::Parameter& parameter : can::parameters_of(pgn)) {
    decoded.row("  SPN " + std::to_string(parameter.spn), std::string(parameter.name));
  }
}

void tell_address(std::uint8_t address, Decoded& decoded) {
  const std::string_view word = can::source_address_word(address);
  decoded.fields["address"] = address;
  decoded.fields["word"] = word;
  decoded.row("address", std::to_string(address) + " (" + hex_text(address, 2) + ")");
  decoded.row("usually", word.empty() ? "not in the list; 128 to 247 are given out at run time or by industry"
                                      : std::string(word));
}

void tell_status_byte(std::uint8_t status, Decoded& decoded) {
  Json bits = Json::array();
  decoded.row("status", hex_text(status, 2));
  for (const can::StatusBit& bit : can::status_bits()) {
    if ((status >> bit.bit & 1) == 0) continue;
    bits.push_back(bit.name);
    decoded.row("  bit " + std::to_string(bit.bit), std::string(bit.name) + ": " + std::string(bit.means));
  }
  decoded.fields["status"] = bits;
}

// Two words: which kind of number, and the number.
bool tell_numbered(const std::string& word, const std::string& number, Decoded& decoded) {
  if (word == "SPN") {
    const auto spn = whole_number(number, 524287);
    if (spn) tell_spn(*spn, decoded);
    return spn.has_value();
  }
  if (word == "FMI") {
    const auto fmi = whole_number(number, 31);
    if (fmi) tell_failure_mode(static_cast<std::uint8_t>(*fmi), decoded);
    return fmi.has_value();
  }
  if (word == "PGN") {
    const auto pgn = whole_number(number, can::kLargestPgn);
    if (pgn) tell_group(*pgn, decoded);
    return pgn.has_value();
  }
  if (word == "ADDRESS" || word == "SA") {
    const auto address = whole_number(number, 255);
    if (address) tell_address(static_cast<std::uint8_t>(*address), decoded);
    return address.has_value();
  }
  const auto bytes =
      bytes_of_hex(number.starts_with("0X") ? std::string_view(number).substr(2) : std::string_view(number));
  if (word == "STATUS" && bytes && bytes->size() == 1) return tell_status_byte(bytes->front(), decoded), true;
  if (word == "NAME" && bytes && bytes->size() == 8)
    return tell_name(can::read_j1939_name(*bytes).value(), decoded), true;
  return false;
}

void tell_two_bytes(std::uint16_t code, Decoded& decoded) {
  static constexpr std::string_view kSystems[] = {"drive train", "chassis", "body", "network and between modules"};
  const std::string text = can::code_text(code);
  const bool maker = (code >> 12 & 3) == 1 || ((code >> 12 & 3) == 2 && code >> 14 != 0);
  decoded.fields["code"] = text;
  decoded.fields["system"] = kSystems[code >> 14];
  decoded.fields["of_the_maker"] = maker;
  decoded.row("code", text + ", " + std::string(kSystems[code >> 14]));
  decoded.row("bytes", hex_text(code >> 8, 2).substr(2) + " " + hex_text(code & 0xFF, 2).substr(2));
  decoded.row("defined by", maker ? "the maker: its meaning stands in the maker's papers only"
                                  : "the standard, or reserved by it (ISO 15031-6)");
}

void tell_failure_type(std::uint8_t type, Decoded& decoded) {
  const std::string_view word = can::failure_type_word(type);
  decoded.fields["failure_type"] = {{"byte", type}, {"word", word}};
  decoded.row("failure", hex_text(type, 2) + (word.empty() ? ", not in our list" : ", " + std::string(word)));
}

void tell_pin(const formats::SocketPin& pin, Decoded& decoded) {
  decoded.fields["pins"].push_back({{"pin", pin.cavity},
                                    {"function", pin.function},
                                    {"colour", pin.colour},
                                    {"mm2", pin.mm2},
                                    {"returns_over", pin.returns_over}});
  std::string text(pin.function);
  if (!pin.colour.empty()) text += ", " + std::string(pin.colour);
  text += ", " + base::format_number(pin.mm2) + " mm2";
  if (!pin.returns_over.empty()) text += ", back over " + std::string(pin.returns_over);
  decoded.row("  " + std::string(pin.cavity), text);
}

}  // namespace

std::string decoded_text(const Decoded& decoded) {
  std::size_t width = 0;
  for (const auto& [label, text] : decoded.rows) width = std::max(width, display_width(label));
  std::string all;
  for (const auto& [label, text] : decoded.rows) all += wrap(padded(label, width) + "  " + text, width + 2) + "\n";
  return all;
}

std::string hex_text(std::uint64_t value, int digits) {
  static constexpr std::string_view kDigits = "0123456789ABCDEF";
  std::string text = "0x";
  for (int shift = (digits - 1) * 4; shift >= 0; shift -= 4) text += kDigits[value >> shift & 0xF];
  return text;
}

std::optional<std::vector<std::uint8_t>> bytes_of_hex(std::string_view text) {
  std::string digits;
  for (const char c : text) {
    if (c == ' ') continue;
    if (std::isxdigit(static_cast<unsigned char>(c)) == 0) return std::nullopt;
    digits += c;
  }
  if (digits.size() % 2 != 0) return std::nullopt;
  std::vector<std::uint8_t> bytes;
  for (std::size_t k = 0; k < digits.size(); k += 2) {
    std::uint8_t byte = 0;
    std::from_chars(digits.data() + k, digits.data() + k + 2, byte, 16);
    bytes.push_back(byte);
  }
  return bytes;
}

std::optional<std::uint32_t> whole_number(std::string_view text, std::uint32_t most) {
  const bool hex = text.starts_with("0x") || text.starts_with("0X");
  if (hex) text.remove_prefix(2);
  std::uint32_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value, hex ? 16 : 10);
  const bool whole = error == std::errc() && end == text.data() + text.size();
  return whole && value <= most ? std::optional<std::uint32_t>(value) : std::nullopt;
}

void tell_failure_mode(std::uint8_t fmi, Decoded& decoded) {
  const can::FailureMode mode = can::failure_mode(fmi);
  decoded.fields["fmi"] = {{"number", fmi}, {"name", mode.name}, {"means", mode.means}, {"wiring", mode.wiring}};
  decoded.row("FMI", std::to_string(fmi) + ", " + std::string(mode.name));
  decoded.row("means", std::string(mode.means));
  if (!mode.wiring.empty()) decoded.row("of the wiring", std::string(mode.wiring));
}

std::optional<Decoded> decode_number(std::string_view text) {
  const std::vector<std::string> words = words_of(text);
  if (words.size() != 2 && words.size() != 4) return std::nullopt;
  Decoded decoded;
  decoded.fields["kind"] = "number";
  for (std::size_t k = 0; k < words.size(); k += 2) {
    if (!tell_numbered(words[k], words[k + 1], decoded)) return std::nullopt;
  }
  return decoded;
}

std::optional<Decoded> decode_code(std::string_view text) {
  Decoded decoded;
  decoded.fields["kind"] = "code";
  const std::size_t dash = text.find('-');
  if (const auto code = can::read_code_text(text.substr(0, dash))) {
    const auto type = dash == std::string_view::npos ? std::nullopt : bytes_of_hex(text.substr(dash + 1));
    if (dash != std::string_view::npos && (!type || type->size() != 1)) return std::nullopt;
    tell_two_bytes(*code, decoded);
    if (type) tell_failure_type(type->front(), decoded);
    return decoded;
  }
  const auto bytes = bytes_of_hex(text);
  const bool apart = text.find(' ') != std::string_view::npos || text.size() == 4 || text.size() == 6;
  if (!bytes || !apart || bytes->size() < 2 || bytes->size() > 4) return std::nullopt;
  tell_two_bytes(static_cast<std::uint16_t>(bytes->at(0) << 8 | bytes->at(1)), decoded);
  if (bytes->size() > 2) tell_failure_type(bytes->at(2), decoded);
  if (bytes->size() < 4) return decoded;
  tell_status_byte(bytes->at(3), decoded);
  const can::TroubleCode code = can::split_trouble_code(std::span(*bytes).first<4>());
  decoded.fields["as_j1939"] = {{"spn", code.spn}, {"fmi", code.fmi}, {"occurrences", code.occurrences}};
  decoded.row("or, of J1939", can::trouble_code_text(code) + ", " + std::string(can::failure_mode(code.fmi).name));
  return decoded;
}

std::optional<Decoded> decode_socket(std::string_view text) {
  const std::size_t apart = text.find_first_of(": ");
  std::string name(text.substr(0, apart));
  std::transform(name.begin(), name.end(), name.begin(),
                 [](char c) { return static_cast<char>(std::toupper(static_cast<unsigned char>(c))); });
  const formats::TrailerSocket* socket = nullptr;
  for (const formats::TrailerSocket& one : formats::trailer_sockets()) {
    std::string known(one.name);
    std::transform(known.begin(), known.end(), known.begin(),
                   [](char c) { return static_cast<char>(std::toupper(static_cast<unsigned char>(c))); });
    if (known == name) socket = &one;
  }
  if (socket == nullptr) return std::nullopt;
  const std::string_view pin = apart == std::string_view::npos ? std::string_view() : text.substr(apart + 1);
  Decoded decoded;
  decoded.fields["kind"] = "socket";
  decoded.fields["socket"] = {{"name", socket->name}, {"standard", socket->standard}, {"volts", socket->volts}};
  decoded.fields["pins"] = Json::array();
  decoded.row("socket", std::string(socket->standard) + ", " + base::format_number(socket->volts) + " V");
  if (socket->brakes) decoded.row("", "what goes through it acts on the brakes: chock the wheels before working on it");
  for (const formats::SocketPin& one : socket->pins) {
    if (pin.empty() || one.cavity == pin) tell_pin(one, decoded);
  }
  return decoded.fields["pins"].empty() ? std::nullopt : std::optional<Decoded>(decoded);
}

}  // namespace halfsplit::app
