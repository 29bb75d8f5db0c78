// SPDX-License-Identifier: Apache-2.0
#include "tests/frames/recorded_frames.h"

#include <fstream>
#include <regex>
#include <sstream>
#include <stdexcept>

#include "can/j1939_id.h"

namespace halfsplit::frames {

namespace {

std::ifstream open_recorded(const std::string& file) {
  std::ifstream stream("tests/data/captures/" + file);
  if (!stream) throw std::runtime_error("cannot read tests/data/captures/" + file);
  return stream;
}

void put_bytes(can::Frame& frame, const std::vector<std::uint8_t>& bytes) {
  frame.length = static_cast<std::uint8_t>(bytes.size());
  std::copy(bytes.begin(), bytes.end(), frame.data.begin());
}

std::vector<std::string> cells_of(const std::string& line) {
  std::vector<std::string> cells;
  std::istringstream stream(line);
  for (std::string cell; std::getline(stream, cell, ',');) cells.push_back(cell);
  return cells;
}

}  // namespace

std::vector<std::uint8_t> bytes_of(const std::string& text) {
  std::vector<std::uint8_t> bytes;
  std::string digits;
  for (const char c : text) {
    if (std::isxdigit(static_cast<unsigned char>(c)) != 0) digits += c;
    if (digits.size() == 2) {
      bytes.push_back(static_cast<std::uint8_t>(std::stoul(digits, nullptr, 16)));
      digits.clear();
    }
  }
  return bytes;
}

std::vector<can::Frame> read_recorded(const std::string& file) {
  static const std::regex kLine(
      R"((?:\d+ )?\s*(?:\((\d+)\.(\d{6})\) )?\w+ +([0-9A-F]+)(?:#|\s+\[\d\]\s+)([0-9A-F ]*)\r?)");
  std::ifstream stream = open_recorded(file);
  std::vector<can::Frame> frames;
  std::uint64_t number = 0;
  for (std::string line; std::getline(stream, line);) {
    ++number;
    std::smatch parts;
    if (!std::regex_match(line, parts, kLine)) throw std::runtime_error(file + ": " + line);
    can::Frame frame;
    frame.line = number;
    if (parts[1].matched) frame.time_us = std::stoll(parts[1]) * 1'000'000 + std::stoll(parts[2]);
    frame.id = static_cast<std::uint32_t>(std::stoul(parts[3], nullptr, 16));
    frame.extended = parts[3].length() == 8;
    put_bytes(frame, bytes_of(parts[4]));
    frames.push_back(frame);
  }
  return frames;
}

std::vector<RecordedPart> read_recorded_csv(const std::string& file) {
  std::ifstream stream = open_recorded(file);
  std::vector<RecordedPart> parts(1);
  std::uint64_t number = 0;
  for (std::string line; std::getline(stream, line);) {
    ++number;
    while (!line.empty() && line.back() == '\r') line.pop_back();
    if (line.starts_with("#")) {
      if (!parts.back().frames.empty()) parts.emplace_back();
      parts.back().says += line + "\n";
      continue;
    }
    const std::vector<std::string> cells = cells_of(line);
    if (cells.size() < 7) continue;
    can::Frame frame;
    frame.line = number;
    frame.extended = true;
    frame.id = can::join_j1939_id(can::make_j1939_id(
        static_cast<std::uint32_t>(std::stoul(cells[2])), static_cast<std::uint8_t>(std::stoul(cells[3])),
        static_cast<std::uint8_t>(std::stoul(cells[4])), static_cast<std::uint8_t>(std::stoul(cells[1]))));
    std::string bytes;
    for (std::size_t k = 6; k < cells.size(); ++k) bytes += cells[k] + " ";
    put_bytes(frame, bytes_of(bytes));
    parts.back().frames.push_back(frame);
  }
  return parts;
}

}  // namespace halfsplit::frames
