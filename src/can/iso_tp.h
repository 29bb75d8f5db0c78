// SPDX-License-Identifier: Apache-2.0
// Diagnostic messages put together from single, first, consecutive and flow control frames as a listener hears them
// (ISO 15765-2). Heard: 29-bit identifiers with normal fixed addressing (18DAxxyy to one, 18DBxxyy to many, any
// priority), the 11-bit identifiers of legislated diagnosis (7DF, 7E0 to 7E7 asked, 7E8 to 7EF answered; ISO 15765-4),
// and pairs named by the caller, with an address byte before the control byte if need be (extended addressing). Trusts
// nothing; what does not fit is counted and passed over. Memory: at most kMostIsoTp messages, each as long as announced
// up to kLongestIsoTp, grown as it is heard.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "can/frame.h"

namespace halfsplit::can {

constexpr std::size_t kLongestIsoTp = 65'535;
constexpr std::size_t kMostIsoTp = 256;
constexpr std::int64_t kIsoTpWaitUs = 1'000'000;  // N_Bs, N_Cr: later than that nobody waits

enum class IsoTpEnd : std::uint8_t {
  kComplete,
  kLost,       // a frame in between is missing
  kRefused,    // the receiver has no room for it
  kReplaced,   // the sender began anew before it was done
  kTimedOut,   // nothing came any more
  kCutShort,   // under way when the recording ended
  kCrowdedOut  // the oldest of more than kMostIsoTp
};
[[nodiscard]] std::string_view iso_tp_end_word(IsoTpEnd end);

// A pair of 11- or 29-bit identifiers beyond those that are known by themselves.
struct IsoTpPair {
  std::uint32_t asks = 0, answers = 0;
  bool extended = false;      // 29 bits
  bool address_byte = false;  // extended addressing: the first byte of each frame is an address
};

struct IsoTpMessage {
  IsoTpEnd end = IsoTpEnd::kComplete;
  bool to_many = false;  // functional: 7DF, 18DBxxyy
  bool extended = false;
  std::uint8_t channel = 0;
  std::uint32_t id = 0;  // of the frames that carry it
  // 29 bits: addresses. 11 bits: 0 to 7 for 7E0 to 7E7 and their answers, 0xF1 the tester; others: 0.
  std::uint8_t source = 0, target = 0;
  std::uint32_t size = 0;  // bytes announced
  std::uint32_t received = 0;
  std::uint64_t first_line = 0, last_line = 0;
  std::int64_t first_us = 0, last_us = 0;
  std::vector<std::uint8_t> bytes;  // kComplete: `size` of them; else what was heard
};

struct IsoTpCounts {
  std::uint64_t frames = 0;  // that concerned it
  std::uint64_t complete = 0, unfinished = 0;
  std::uint64_t stray = 0;  // consecutive and flow control frames of no message under way
  std::uint64_t odd = 0;    // no control byte we know, lengths that cannot be
};

class IsoTp {
 public:
  explicit IsoTp(std::vector<IsoTpPair> pairs = {});
  ~IsoTp();
  IsoTp(IsoTp&&) noexcept;
  IsoTp& operator=(IsoTp&&) noexcept;

  // Any frame; those that do not concern it cost next to nothing.
  void take(const Frame& frame, std::vector<IsoTpMessage>& ended);
  void finish(std::vector<IsoTpMessage>& ended);
  [[nodiscard]] const IsoTpCounts& counts() const { return counts_; }

  // Known by themselves, without pairs.
  [[nodiscard]] static constexpr bool concerns(const Frame& frame) {
    if (frame.extended) return (frame.id >> 16 & 0x3FEU) == 0x0DAU;  // DA and DB of data page 0
    return frame.id == 0x7DFU || (frame.id & 0x7F0U) == 0x7E0U;
  }

 private:
  struct Session;
  struct Route;
  using Ended = std::vector<IsoTpMessage>;
  [[nodiscard]] std::optional<Route> route(const Frame& frame) const;
  void take_single(const Frame& frame, const Route& route, Ended& ended);
  void take_first(const Frame& frame, const Route& route, Ended& ended);
  void take_consecutive(const Frame& frame, const Route& route, Ended& ended);
  void take_flow(const Frame& frame, const Route& route, Ended& ended);
  void begin(const Frame& frame, const Route& route, std::uint32_t size, std::size_t from, Ended& ended);
  void expire(std::int64_t now_us, Ended& ended);
  void settle(std::size_t at, IsoTpEnd end, Ended& ended);
  [[nodiscard]] std::size_t find(const Route& route, std::uint8_t channel) const;

  std::vector<IsoTpPair> pairs_;
  std::vector<Session> sessions_;
  IsoTpCounts counts_;
};

}  // namespace halfsplit::can
