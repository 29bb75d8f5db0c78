// SPDX-License-Identifier: Apache-2.0
// A hand that moves along the line once. Reading never goes past the '\n', because no step passes a character that it
// did not recognise. Ordinary lines (log form, plain console form) take the first branch of every question.
#include "capture/candump_line.h"

#include <array>
#include <cstring>

#include "text/utf8.h"

namespace halfsplit::capture {

namespace {

constexpr std::uint32_t kErrorBit = 0x20000000;  // CAN_ERR_FLAG of linux/can.h
constexpr std::size_t kMostClassicBytes = 8, kMostFlexibleBytes = 64;
constexpr int kMostTimeDigits = 12;  // of whole seconds

constexpr std::array<std::int8_t, 256> make_hex_table() {
  std::array<std::int8_t, 256> table{};
  for (auto& value : table) value = -1;
  for (std::size_t digit = 0; digit < 10; ++digit) table['0' + digit] = static_cast<std::int8_t>(digit);
  for (std::size_t digit = 10; digit < 16; ++digit) {
    table['A' + digit - 10] = static_cast<std::int8_t>(digit);
    table['a' + digit - 10] = static_cast<std::int8_t>(digit);
  }
  return table;
}
constexpr std::array<std::int8_t, 256> kHex = make_hex_table();

int hex(char c) { return kHex[static_cast<unsigned char>(c)]; }
bool is_digit(char c) { return static_cast<unsigned char>(c - '0') < 10; }
bool is_blank(char c) { return c == ' ' || c == '\t'; }

class Hand {
 public:
  Hand(const char* begin, const char* end, can::Frame& frame, Line& line)
      : p_(begin), begin_(begin), end_(end), frame_(frame), line_(line) {}

  const char* read() {
    const bool good = read_line();
    if (good && *p_ == '\n') return p_ + 1;
    return good ? finish() : skip_line();
  }

 private:
  bool fail(Flaw flaw) {
    line_.kind = LineKind::kDamaged;
    line_.flaw = flaw;
    line_.at = p_;
    return false;
  }
  bool nothing() {
    line_.kind = LineKind::kNothing;
    return false;
  }

  const char* skip_line() {
    return static_cast<const char*>(std::memchr(p_, '\n', static_cast<std::size_t>(end_ - p_))) + 1;
  }

  // Blanks, and the colours of candump -c.
  void skip_blanks() {
    while (is_blank(*p_)) ++p_;
    while (*p_ == '\x1b') {
      while (*p_ != 'm' && *p_ != '\n') ++p_;
      if (*p_ == 'm') ++p_;
      while (is_blank(*p_)) ++p_;
    }
  }

  // Behind the frame: blanks, a carriage return, what candump adds.
  const char* finish() {
    skip_blanks();
    if (*p_ == '\r') ++p_;
    if (*p_ == '\n') return p_ + 1;
    if (!is_known_ending()) fail(Flaw::kTrailing);
    return skip_line();
  }
  [[nodiscard]] bool is_known_ending() const {
    if (line_.log_form) return (*p_ == 'R' || *p_ == 'T') && (p_[1] == '\n' || p_[1] == '\r' || p_[1] == ' ');
    return *p_ == '\'' || *p_ == '`' || starts_with("ERRORFRAME");
  }
  [[nodiscard]] bool starts_with(std::string_view word) const {
    for (std::size_t i = 0; i < word.size(); ++i)
      if (p_[i] != word[i]) return false;  // a '\n' differs from every letter, so this stays in the line
    return true;
  }

  bool read_line() {
    skip_blanks();
    if (*p_ != '(' && !read_beginning()) return false;
    if (*p_ == '(') {
      if (!read_time()) return false;
      skip_blanks();
    }
    return read_channel() && read_frame();
  }

  // Lines that do not begin with a time. False: the line is done with.
  bool read_beginning() {
    if (*p_ == '<') {
      read_old_console();
      return false;
    }
    if (is_digit(*p_)) return skip_number();
    if (*p_ == '\n' || *p_ == '\r' || *p_ == '#' || *p_ == ';' || (*p_ == '/' && p_[1] == '/')) return nothing();
    if (starts_with("DROPCOUNT:")) return read_loss();
    if (starts_with("interface = ")) return nothing();
    if (is_error_detail()) return nothing();
    return true;
  }

  // "7 (16": a running number is one only when a time stands behind it; else it is the name of an interface.
  bool skip_number() {
    const char* past = p_;
    while (is_digit(*past)) ++past;
    const char* blanks = past;
    while (is_blank(*blanks)) ++blanks;
    if (blanks > past && *blanks == '(') p_ = blanks;
    return true;
  }

  // candump -e prints its explanation in lines of its own, each behind a tab.
  [[nodiscard]] bool is_error_detail() const { return p_ > begin_ && p_[-1] == '\t'; }

  bool read_loss() {
    while (*p_ != '\n' && !is_digit(*p_)) ++p_;
    std::uint32_t count = 0;
    for (; is_digit(*p_) && count < 100'000'000; ++p_) count = count * 10 + static_cast<std::uint32_t>(*p_ - '0');
    line_.kind = LineKind::kLoss;
    line_.lost = count;
    return false;
  }

  // --- time ----------------------------------------------------------------------------------------------------------

  bool read_time() {
    ++p_;
    const char* begin = p_;
    std::int64_t seconds = 0;
    for (; is_digit(*p_); ++p_) {
      if (p_ - begin == kMostTimeDigits) return fail(Flaw::kTime);
      seconds = seconds * 10 + (*p_ - '0');
    }
    const auto digits = p_ - begin;
    if (digits == 4 && *p_ == '-') {
      p_ = begin;
      return read_date();
    }
    if (digits == 0) return fail(Flaw::kTime);
    line_.time = digits >= 10 ? LineTime::kWide : LineTime::kShort;
    return read_fraction(seconds);
  }

  // ".123456)", of which there may be fewer or more digits than six.
  bool read_fraction(std::int64_t seconds) {
    std::int64_t micro = 0;
    int digits = 0;
    if (*p_ == '.') {
      for (++p_; is_digit(*p_); ++p_, ++digits)
        if (digits < 6) micro = micro * 10 + (*p_ - '0');
    }
    for (; digits < 6; ++digits) micro *= 10;
    if (*p_ != ')') return fail(Flaw::kTime);
    ++p_;
    frame_.time_us = seconds * 1'000'000 + micro;
    return true;
  }

  // Two digits at most `most`; -1: there are none.
  int read_two(int most) {
    if (!is_digit(p_[0]) || !is_digit(p_[1])) return -1;
    const int value = (p_[0] - '0') * 10 + (p_[1] - '0');
    if (value > most) return -1;
    p_ += 2;
    return value;
  }
  bool pass(char wanted) {
    if (*p_ != wanted) return false;
    ++p_;
    return true;
  }

  // "2020-09-13 12:26:40.123456)"
  bool read_date() {
    const int century = read_two(99), year_of = read_two(99);
    const int month = pass('-') ? read_two(12) : -1;
    const int day = month > 0 && pass('-') ? read_two(31) : -1;
    const int hour = day > 0 && pass(' ') ? read_two(23) : -1;
    const int minute = hour >= 0 && pass(':') ? read_two(59) : -1;
    const int second = minute >= 0 && pass(':') ? read_two(60) : -1;
    if (second < 0) return fail(Flaw::kTime);
    line_.time = LineTime::kDate;
    return read_fraction(days_since_1970(century * 100 + year_of, month, day) * 86'400 + hour * 3'600 + minute * 60 +
                         second);
  }

  // Days of the Gregorian calendar; years counted from March, so that the leap day is the last of its year.
  static std::int64_t days_since_1970(int year, int month, int day) {
    const int years = month > 2 ? year : year - 1;
    const int months = month > 2 ? month - 3 : month + 9;
    const int leap_days = years / 4 - years / 100 + years / 400;
    return static_cast<std::int64_t>(years) * 365 + leap_days + (months * 153 + 2) / 5 + day - 1 - 719'468;
  }

  // --- interface and identifier -------------------------------------------------------------------------------------

  bool read_channel() {
    const char* begin = p_;
    while (static_cast<unsigned char>(*p_) > ' ' && *p_ != '#' && *p_ != '\x1b') ++p_;
    if (p_ == begin || !(is_blank(*p_) || *p_ == '\x1b')) return fail(Flaw::kNotALine);
    line_.channel = {begin, static_cast<std::size_t>(p_ - begin)};
    skip_blanks();
    if ((starts_with("RX ") || starts_with("TX ")) && hex(*p_) < 0) skip_direction();
    return true;
  }

  // "RX - -", "TX B E"
  void skip_direction() {
    p_ += 2;
    for (int flag = 0; flag < 2; ++flag) {
      skip_blanks();
      if ((*p_ == '-' || *p_ == 'B' || *p_ == 'E') && is_blank(p_[1])) ++p_;
    }
    skip_blanks();
  }

  bool read_frame() {
    const char* begin = p_;
    std::uint32_t value = 0;
    int digit = hex(*p_);
    for (; digit >= 0 && p_ - begin < 8; digit = hex(*++p_)) value = value << 4 | static_cast<std::uint32_t>(digit);
    const auto digits = p_ - begin;
    if (*p_ == '#') {
      line_.log_form = true;
      if (digits != 3 && digits != 8) return fail_at(begin, Flaw::kIdentifier);
    } else if (!is_blank(*p_) || digits == 0 || (digits > 3 && digits != 8)) {
      return fail_at(begin, line_.time == LineTime::kNone && digits == 0 ? Flaw::kNotALine : Flaw::kIdentifier);
    }
    if (!set_identifier(value, digits == 8)) return fail_at(begin, Flaw::kIdentifierTooLarge);
    return line_.log_form ? read_log_bytes() : read_console_bytes();
  }
  bool fail_at(const char* where, Flaw flaw) {
    p_ = where;
    return fail(flaw);
  }

  bool set_identifier(std::uint32_t value, bool extended) {
    line_.kind = LineKind::kFrame;
    frame_.flexible = false;
    frame_.kind = can::FrameKind::kData;
    frame_.extended = extended;
    frame_.id = value;
    if (!extended) return value <= can::kLargestStandardId;
    if (value <= can::kLargestExtendedId) return true;
    if (value > (kErrorBit | can::kLargestExtendedId)) return false;
    frame_.kind = can::FrameKind::kError;
    frame_.extended = false;
    frame_.id = value & can::kLargestExtendedId;
    return true;
  }

  // --- bytes of the log form -----------------------------------------------------------------------------------------

  bool read_log_bytes() {
    ++p_;
    if (*p_ == 'R') return read_log_remote();
    std::size_t most = kMostClassicBytes;
    if (*p_ == '#') {
      ++p_;
      if (hex(*p_) < 0) return fail(Flaw::kByte);
      ++p_;
      frame_.flexible = true;
      most = kMostFlexibleBytes;
    }
    std::size_t count = 0;
    for (;; ++count) {
      const int high = hex(p_[0]);
      if (high < 0) break;
      const int low = hex(p_[1]);
      if (low < 0) return fail(Flaw::kHalfByte);
      if (count == most) return fail(Flaw::kTooManyBytes);
      frame_.data[count] = static_cast<std::uint8_t>(high << 4 | low);
      p_ += 2;
    }
    return end_log_bytes(count);
  }
  bool end_log_bytes(std::size_t count) {
    frame_.length = static_cast<std::uint8_t>(count);
    if (frame_.flexible && !is_flexible_length(count)) return fail(Flaw::kFlexibleLength);
    if (*p_ == '_' && hex(p_[1]) >= 0) p_ += 2;  // the length code of a classical frame of 8 bytes, 9 to F
    if (*p_ == '\n' || *p_ == '\r' || is_blank(*p_)) return true;
    return fail(Flaw::kByte);
  }
  bool read_log_remote() {
    if (frame_.kind == can::FrameKind::kError) return fail(Flaw::kErrorRemote);
    ++p_;
    frame_.kind = can::FrameKind::kRemote;
    frame_.length = 0;
    if (is_digit(*p_)) {
      if (*p_ > '8') return fail(Flaw::kRemoteLength);
      frame_.length = static_cast<std::uint8_t>(*p_++ - '0');
    }
    if (*p_ == '_' && hex(p_[1]) >= 0) p_ += 2;
    if (*p_ == '\n' || *p_ == '\r' || is_blank(*p_)) return true;
    return fail(Flaw::kTrailing);
  }

  // --- bytes of the console form -------------------------------------------------------------------------------------

  bool read_console_bytes() {
    skip_blanks();
    if (*p_ != '[') return fail(Flaw::kNotALine);
    ++p_;
    const char* begin = p_;
    std::size_t count = 0;
    for (; is_digit(*p_) && p_ - begin < 3; ++p_) count = count * 10 + static_cast<std::size_t>(*p_ - '0');
    const auto digits = p_ - begin;
    if (digits == 0 || digits > 2 || *p_ != ']') return fail(Flaw::kBytesMissing);
    ++p_;
    frame_.flexible = digits == 2;
    if (!frame_.flexible && count > kMostClassicBytes) return fail_at(begin, Flaw::kTooManyBytes);
    if (frame_.flexible && !is_flexible_length(count)) return fail_at(begin, Flaw::kFlexibleLength);
    frame_.length = static_cast<std::uint8_t>(count);
    return read_spaced_bytes(count);
  }

  // "  00 11 22", or "  22`11`00": candump -S prints the last byte first.
  bool read_spaced_bytes(std::size_t count) {
    bool last_first = false;
    for (std::size_t i = 0; i < count; ++i) {
      if (i > 0 && *p_ == '`') {
        last_first = true;
        ++p_;
      } else {
        skip_blanks();
      }
      const int high = hex(p_[0]);
      if (high < 0) return i == 0 && starts_with("remote request") ? read_console_remote() : fail(flaw_of_missing());
      const int low = hex(p_[1]);
      if (low < 0) return fail(Flaw::kHalfByte);
      frame_.data[i] = static_cast<std::uint8_t>(high << 4 | low);
      p_ += 2;
    }
    if (last_first) reverse(count);
    if (count == 0) return maybe_remote();
    return hex(*p_) < 0 || fail(Flaw::kByte);
  }
  [[nodiscard]] Flaw flaw_of_missing() const {
    return *p_ == '\n' || *p_ == '\r' || *p_ == '\'' ? Flaw::kBytesMissing : Flaw::kByte;
  }
  void reverse(std::size_t count) {
    for (std::size_t i = 0; i < count / 2; ++i) std::swap(frame_.data[i], frame_.data[count - 1 - i]);
  }
  bool maybe_remote() {
    skip_blanks();
    if (starts_with("remote request")) return read_console_remote();
    if (hex(*p_) >= 0 && !starts_with("ERRORFRAME")) return fail(Flaw::kTooManyBytes);
    return true;
  }
  bool read_console_remote() {
    if (frame_.flexible) return fail(Flaw::kFlexibleRemote);
    if (frame_.kind == can::FrameKind::kError) return fail(Flaw::kErrorRemote);
    frame_.kind = can::FrameKind::kRemote;
    p_ += std::strlen("remote request");
    return true;
  }

  // "<0x18fef100> [8] 00 11"
  bool read_old_console() {
    ++p_;
    if (!starts_with("0x")) return fail(Flaw::kNotALine);
    p_ += 2;
    const char* begin = p_;
    std::uint32_t value = 0;
    for (; hex(*p_) >= 0 && p_ - begin < 8; ++p_) value = value << 4 | static_cast<std::uint32_t>(hex(*p_));
    const auto digits = p_ - begin;
    if ((digits != 3 && digits != 8) || *p_ != '>') return fail_at(begin, Flaw::kIdentifier);
    ++p_;
    if (!set_identifier(value, digits == 8)) return fail_at(begin, Flaw::kIdentifierTooLarge);
    if (!read_console_bytes()) return false;
    skip_blanks();
    return *p_ == '\n' || *p_ == '\r' || fail(Flaw::kTrailing);
  }

  const char* p_;
  const char* begin_;
  const char* end_;
  can::Frame& frame_;
  Line& line_;
};

const char* words_of(Flaw flaw) {
  switch (flaw) {
    case Flaw::kNone:
      return "";
    case Flaw::kNotALine:
      return "not a frame";
    case Flaw::kTime:
      return "not a time";
    case Flaw::kIdentifier:
      return "not an identifier of 3 or 8 hexadecimal digits";
    case Flaw::kIdentifierTooLarge:
      return "an identifier larger than 7FF (3 digits) or 1FFFFFFF (8 digits)";
    case Flaw::kByte:
      return "not a hexadecimal digit";
    case Flaw::kHalfByte:
      return "half a byte";
    case Flaw::kTooManyBytes:
      return "more bytes than such a frame can have";
    case Flaw::kBytesMissing:
      return "fewer bytes than announced";
    case Flaw::kFlexibleLength:
      return "no CAN FD frame has so many bytes";
    case Flaw::kRemoteLength:
      return "a remote frame asks for 8 bytes at most";
    case Flaw::kFlexibleRemote:
      return "CAN FD has no remote frames";
    case Flaw::kErrorRemote:
      return "an error report of the adapter is no remote frame";
    case Flaw::kTrailing:
      return "something unknown behind the frame";
    case Flaw::kCut:
      return "the file ends in the middle of this line";
    case Flaw::kTooLong:
      return "a line much longer than any frame";
    case Flaw::kManyChannels:
      return "more than 255 interfaces; this one is not counted";
  }
  return "";
}

}  // namespace

bool is_flexible_length(std::size_t bytes) {
  if (bytes <= 8) return true;
  if (bytes <= 24) return bytes % 4 == 0;
  return bytes == 32 || bytes == 48 || bytes == 64;
}

const char* read_candump_line(const char* begin, const char* end, can::Frame& frame, Line& line) {
  line = {};
  return Hand(begin, end, frame, line).read();
}

std::string describe_flaw(Flaw flaw, const char* at, const char* line_end) {
  constexpr std::size_t kMostShown = 40;
  std::string shown;
  for (; at != nullptr && at < line_end && *at != '\r' && shown.size() < kMostShown + 1; ++at) {
    const auto byte = static_cast<unsigned char>(*at);
    shown += byte >= 0x20 && byte < 0x7F ? *at : '?';
  }
  std::string text = words_of(flaw);
  if (shown.empty()) return text;
  return text + ": \"" + text::shorten(shown, kMostShown) + "\"";
}

}  // namespace halfsplit::capture
