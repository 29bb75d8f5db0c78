// SPDX-License-Identifier: Apache-2.0
// The rules of docs/formats/buses.md, "What becomes of the messages", in their order.
#include "can/traffic.h"

#include <utility>

namespace halfsplit::can {

namespace {

using Row = std::vector<std::uint64_t>;  // a set of nodes, 64 to a word

class Rules {
 public:
  explicit Rules(const Hearing& hearing)
      : hearing_(hearing),
        n_(hearing.nodes),
        words_((n_ + 63) / 64),
        hears_(n_ * words_),
        heard_by_(n_ * words_),
        standing_(n_, Standing::kWorks) {}

  Traffic run() {
    sort_out_the_silent();
    join_the_talkers();
    sort_out_the_one_way();
    find_disturbed();
    return answer();
  }

 private:
  [[nodiscard]] bool link(std::size_t sender, std::size_t receiver) const {
    const std::size_t cell = sender * n_ + receiver;
    return hearing_.dominant[cell] != 0 && hearing_.returns[cell] != 0;
  }
  [[nodiscard]] bool talks(std::size_t node) const {
    return standing_[node] != Standing::kAway && standing_[node] != Standing::kHeldDown &&
           standing_[node] != Standing::kCannotSend;
  }

  void sort_out_the_silent() {
    for (std::size_t k = 0; k < n_; ++k) {
      if (hearing_.takes_part[k] == 0) {
        standing_[k] = Standing::kAway;
      } else if (hearing_.babbles[k] != 0) {
        standing_[k] = Standing::kBabbles;
      } else if (hearing_.rests[k] == 0) {
        standing_[k] = Standing::kHeldDown;
      } else if (!link(k, k)) {
        standing_[k] = Standing::kCannotSend;
      }
    }
  }

  // Who hears whom among those that are left. Nobody counts as hearing itself.
  void join_the_talkers() {
    for (std::size_t s = 0; s < n_; ++s) {
      for (std::size_t r = 0; r < n_ && talks(s); ++r) {
        if (r == s || !talks(r) || !link(s, r)) continue;
        hears_[r * words_ + s / 64] |= std::uint64_t{1} << (s % 64);
        heard_by_[s * words_ + r / 64] |= std::uint64_t{1} << (r % 64);
      }
    }
  }

  [[nodiscard]] bool meet(const Row& a, std::size_t i, const Row& b, std::size_t j) const {
    for (std::size_t w = 0; w < words_; ++w) {
      if ((a[i * words_ + w] & b[j * words_ + w]) != 0) return true;
    }
    return false;
  }
  [[nodiscard]] bool any(const Row& a, std::size_t i) const { return meet(a, i, a, i); }
  [[nodiscard]] bool hears(std::size_t r, std::size_t s) const {
    return ((hears_[r * words_ + s / 64] >> (s % 64)) & 1U) != 0;
  }

  void sort_out_the_one_way() {
    for (std::size_t k = 0; k < n_; ++k) {
      if (standing_[k] != Standing::kWorks) continue;
      const bool hears_somebody = any(hears_, k);
      const bool is_heard = any(heard_by_, k);
      if (!hears_somebody) standing_[k] = is_heard ? Standing::kJams : Standing::kAlone;
      if (hears_somebody && !is_heard) standing_[k] = Standing::kUnheard;
    }
    for (std::size_t s = 0; s < n_; ++s) {
      if (standing_[s] != Standing::kJams && standing_[s] != Standing::kBabbles) continue;
      for (std::size_t r = 0; r < n_; ++r) {
        if (hears(r, s) && standing_[r] != Standing::kBabbles) standing_[r] = Standing::kJammed;
      }
    }
  }

  // A reader that hears an acknowledgement of S but not S breaks the frame for all that hear that reader.
  void find_disturbed() {
    std::vector<char> breaks(n_, 0);
    for (std::size_t s = 0; s < n_; ++s) {
      for (std::size_t r = 0; r < n_ && standing_[s] == Standing::kWorks; ++r) {
        if (r != s && standing_[r] == Standing::kWorks && !hears(r, s) && meet(hears_, r, heard_by_, s)) breaks[r] = 1;
      }
    }
    for (std::size_t b = 0; b < n_; ++b) {
      for (std::size_t k = 0; k < n_ && breaks[b] != 0; ++k) {
        if (hears(k, b) && standing_[k] == Standing::kWorks) standing_[k] = Standing::kDisturbed;
      }
    }
  }

  [[nodiscard]] double share_sent(std::size_t s) const {
    if (standing_[s] == Standing::kWorks) return 1.0;
    return standing_[s] == Standing::kDisturbed ? 0.5 : 0.0;
  }
  [[nodiscard]] double busy(std::size_t s) const {
    switch (standing_[s]) {
      case Standing::kAway:
      case Standing::kHeldDown:
      case Standing::kCannotSend:
        return 0.0;
      case Standing::kAlone:
      case Standing::kUnheard:
      case Standing::kJams:
        return 3.0;
      case Standing::kBabbles:
        return 4.0;
      default:
        return 1.0;
    }
  }

  Traffic answer() {
    Traffic traffic;
    traffic.arrives.assign(n_ * n_, 0.0);
    traffic.busy.resize(n_);
    for (std::size_t s = 0; s < n_; ++s) {
      traffic.busy[s] = busy(s);
      for (std::size_t r = 0; r < n_; ++r) {
        const bool listens = standing_[r] != Standing::kJammed && standing_[r] != Standing::kBabbles;
        if (hears(r, s) && listens) traffic.arrives[s * n_ + r] = share_sent(s);
      }
    }
    traffic.standing = std::move(standing_);
    return traffic;
  }

  const Hearing& hearing_;
  std::size_t n_;
  std::size_t words_;
  Row hears_;     // [node]: whom it hears
  Row heard_by_;  // [node]: who hears it
  std::vector<Standing> standing_;
};

}  // namespace

std::string_view standing_word(Standing standing) {
  switch (standing) {
    case Standing::kWorks:
      return "works";
    case Standing::kAway:
      return "away";
    case Standing::kAlone:
      return "alone";
    case Standing::kUnheard:
      return "unheard";
    case Standing::kHeldDown:
      return "held down";
    case Standing::kCannotSend:
      return "cannot send";
    case Standing::kJams:
      return "jams";
    case Standing::kJammed:
      return "jammed";
    case Standing::kBabbles:
      return "babbles";
    case Standing::kDisturbed:
      return "disturbed";
  }
  return "?";
}

Traffic traffic_of(const Hearing& hearing) { return Rules(hearing).run(); }

}  // namespace halfsplit::can
