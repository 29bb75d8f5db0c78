// SPDX-License-Identifier: Apache-2.0
#include "formats/description_file.h"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "formats/dbc_text.h"
#include "formats/kcd_text.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

constexpr std::size_t kLongestShownLine = 200;

// Windows-1252 from 0x80 to 0x9F; above it is as Unicode. 0: not used.
constexpr std::uint16_t kWindows1252[] = {0x20AC, 0,      0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021,
                                          0x02C6, 0x2030, 0x0160, 0x2039, 0x0152, 0,      0x017D, 0,
                                          0,      0x2018, 0x2019, 0x201C, 0x201D, 0x2022, 0x2013, 0x2014,
                                          0x02DC, 0x2122, 0x0161, 0x203A, 0x0153, 0,      0x017E, 0x0178};

void append_utf8(std::string& out, std::uint32_t point) {
  if (point < 0x80) {
    out += static_cast<char>(point);
  } else if (point < 0x800) {
    out += static_cast<char>(0xC0 | point >> 6);
    out += static_cast<char>(0x80 | (point & 0x3F));
  } else {
    out += static_cast<char>(0xE0 | point >> 12);
    out += static_cast<char>(0x80 | (point >> 6 & 0x3F));
    out += static_cast<char>(0x80 | (point & 0x3F));
  }
}

std::size_t last_bit(const can::Signal& signal) {
  const std::size_t start = signal.start_bit;
  if (signal.order == can::ByteOrder::kLowestFirst) return start + signal.length_bits;
  return start / 8 * 8 + (7 - start % 8) + signal.length_bits;
}

}  // namespace

base::Result<DescriptionFile> read_description_text(std::string_view name, std::string_view text) {
  std::string_view start = text.substr(0, 64);
  if (start.starts_with("\xEF\xBB\xBF")) start.remove_prefix(3);
  const std::size_t first = start.find_first_not_of(" \t\r\n");
  const bool is_xml = first != std::string_view::npos && start[first] == '<';
  return is_xml ? read_kcd_text(name, text) : read_dbc_text(name, text);
}

std::string description_utf8(std::string_view text) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  if (!text::find_invalid_utf8(text)) return std::string(text);
  std::string out;
  out.reserve(text.size() + text.size() / 8);
  for (const char raw : text) {
    const auto byte = static_cast<std::uint8_t>(raw);
    const bool mapped = byte >= 0x80 && byte < 0xA0;
    const std::uint32_t point = mapped ? kWindows1252[byte - 0x80] : byte;
    append_utf8(out, point != 0 || !mapped ? point : '?');
  }
  return out;
}

std::optional<double> description_number(std::string_view text) {
  if (!text.empty() && text.front() == '+') text.remove_prefix(1);
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool whole = error == std::errc() && end == text.data() + text.size();
  return whole && std::isfinite(value) ? std::optional<double>(value) : std::nullopt;
}

void DescriptionNotes::add(std::string code, std::string message, std::string hint, std::size_t offset,
                           std::size_t length) {
  if (notes_.size() >= kMostNotes) {
    ++more_;
    return;
  }
  base::Diagnostic note = base::make_warning(std::move(code), std::move(message), std::move(hint));
  const text::Position at = source_.position(offset);
  note.where = source_.span(at.line, at.column, length, kLongestShownLine);
  notes_.push_back(std::move(note));
}

std::vector<base::Diagnostic> DescriptionNotes::take() {
  if (more_ > 0) {
    notes_.push_back(base::make_warning("descriptions.more", std::to_string(more_) + " more of the kind",
                                        "mend the first ones and read the file again"));
  }
  return std::move(notes_);
}

std::string impossible_signal(const can::Signal& signal, std::size_t length) {
  if (signal.length_bits == 0) return "it has no bits";
  if (length > 0 && last_bit(signal) > length * 8) {
    return "it ends after bit " + std::to_string(last_bit(signal)) + ", its message after " +
           std::to_string(length * 8);
  }
  const bool odd = signal.length_bits != 32 && signal.length_bits != 64;
  if (signal.number == can::NumberKind::kFloat && odd) {
    return "a floating number has 32 or 64 bits, not " + std::to_string(signal.length_bits);
  }
  return {};
}

void tidy_words(can::Signal& signal) {
  auto& words = signal.words;
  std::stable_sort(words.begin(), words.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  words.erase(std::unique(words.begin(), words.end(), [](const auto& a, const auto& b) { return a.first == b.first; }),
              words.end());
}

}  // namespace halfsplit::formats
