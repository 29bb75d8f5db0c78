// SPDX-License-Identifier: Apache-2.0
// A signal's bits byte by byte; what they mean.
#include "can/signals.h"

#include <algorithm>
#include <bit>

#include "can/j1939_id.h"

namespace halfsplit::can {

namespace {

// Whole bytes that hold the signal are gathered lowest first; up to nine of them for 64 bits that straddle.
std::uint64_t lowest_first(std::size_t start, std::size_t length, std::span<const std::uint8_t> bytes) {
  std::uint64_t value = 0;
  std::size_t have = 0;
  for (std::size_t at = start; have < length;) {
    const std::size_t shift = at % 8;
    const std::size_t take = std::min<std::size_t>(8 - shift, length - have);
    const std::uint64_t part = bytes[at / 8] >> shift & ((1U << take) - 1);
    value |= part << have;
    have += take;
    at += take;
  }
  return value;
}

std::uint64_t highest_first(std::size_t start, std::size_t length, std::span<const std::uint8_t> bytes) {
  std::uint64_t value = 0;
  std::size_t byte = start / 8;
  std::size_t top = start % 8;  // the highest bit not yet taken of this byte
  for (std::size_t left = length; left > 0; ++byte, top = 7) {
    const std::size_t take = std::min<std::size_t>(top + 1, left);
    const std::uint64_t part = bytes[byte] >> (top + 1 - take) & ((1U << take) - 1);
    value = value << take | part;
    left -= take;
  }
  return value;
}

// Bytes up to and with the one that holds the signal's last bit.
std::size_t bytes_needed(const Signal& signal) {
  const std::size_t start = signal.start_bit;
  if (signal.order == ByteOrder::kLowestFirst) return (start + signal.length_bits + 7) / 8;
  const std::size_t in_first = start % 8 + 1;
  const std::size_t beyond = signal.length_bits > in_first ? signal.length_bits - in_first : 0;
  return start / 8 + 1 + (beyond + 7) / 8;
}

std::int64_t with_sign(std::uint64_t bits, std::size_t length) {
  const std::uint64_t sign = 1ULL << (length - 1);
  return static_cast<std::int64_t>((bits ^ sign) - sign);
}

double as_float(std::uint64_t bits, std::size_t length) {
  if (length == 32) return std::bit_cast<float>(static_cast<std::uint32_t>(bits));
  return std::bit_cast<double>(bits);
}

std::string_view word_for(const Signal& signal, std::int64_t raw) {
  const auto found = std::lower_bound(signal.words.begin(), signal.words.end(), raw,
                                      [](const auto& word, std::int64_t wanted) { return word.first < wanted; });
  return found != signal.words.end() && found->first == raw ? std::string_view(found->second) : std::string_view();
}

bool holds(const Selected& selected, std::uint64_t value) {
  return std::any_of(selected.values.begin(), selected.values.end(),
                     [value](const auto& range) { return value >= range.first && value <= range.second; });
}

// A signal is there when its selector is and says so; selectors may depend on others, never deeper than kDeepest.
constexpr int kDeepest = 8;
bool is_there(const Message& message, const Signal& signal, std::span<const std::uint8_t> bytes, int depth = 0) {
  if (!signal.selected) return true;
  if (depth >= kDeepest) return false;
  const auto by = std::find_if(message.signals.begin(), message.signals.end(),
                               [&](const Signal& other) { return other.name == signal.selected->by; });
  if (by == message.signals.end() || !is_there(message, *by, bytes, depth + 1)) return false;
  const std::optional<std::uint64_t> value = raw_bits(*by, bytes);
  return value && holds(*signal.selected, *value);
}

}  // namespace

const Message* find_message(const Descriptions& descriptions, std::uint32_t id, bool extended) {
  const Message* by_group = nullptr;
  for (const Message& message : descriptions.messages) {
    if (message.extended != extended) continue;
    if (message.id == id) return &message;
    if (by_group == nullptr && extended && message.by_group && j1939_pgn(message.id) == j1939_pgn(id)) {
      by_group = &message;
    }
  }
  return by_group;
}

std::optional<std::uint64_t> raw_bits(const Signal& signal, std::span<const std::uint8_t> bytes) {
  const std::size_t length = signal.length_bits;
  if (length == 0 || length > 64 || bytes_needed(signal) > bytes.size()) return std::nullopt;
  return signal.order == ByteOrder::kLowestFirst ? lowest_first(signal.start_bit, length, bytes)
                                                 : highest_first(signal.start_bit, length, bytes);
}

std::optional<SignalValue> signal_value(const Signal& signal, std::span<const std::uint8_t> bytes) {
  const std::optional<std::uint64_t> bits = raw_bits(signal, bytes);
  const bool odd_float = signal.number == NumberKind::kFloat && signal.length_bits != 32 && signal.length_bits != 64;
  if (!bits || odd_float) return std::nullopt;
  SignalValue value;
  value.signal = &signal;
  value.bits = *bits;
  double raw = static_cast<double>(*bits);
  auto whole = static_cast<std::int64_t>(*bits);
  if (signal.number == NumberKind::kSigned) {
    whole = with_sign(*bits, signal.length_bits);
    raw = static_cast<double>(whole);
  } else if (signal.number == NumberKind::kFloat) {
    raw = as_float(*bits, signal.length_bits);
  }
  value.value = raw * signal.factor + signal.offset;
  if (signal.number != NumberKind::kFloat) value.word = word_for(signal, whole);
  return value;
}

std::vector<SignalValue> signal_values(const Message& message, std::span<const std::uint8_t> bytes) {
  std::vector<SignalValue> values;
  for (const Signal& signal : message.signals) {
    if (!is_there(message, signal, bytes)) continue;
    if (std::optional<SignalValue> value = signal_value(signal, bytes)) values.push_back(*value);
  }
  return values;
}

}  // namespace halfsplit::can
