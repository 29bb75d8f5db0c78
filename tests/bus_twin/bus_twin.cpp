// SPDX-License-Identifier: Apache-2.0
#include "tests/bus_twin/bus_twin.h"

#include <algorithm>
#include <utility>

#include "base/rng.h"

namespace halfsplit::bus_twin {

namespace {

// The application of one node: its message, due now and then, and what it has heard.
struct Application {
  std::uint32_t id = 0;
  bool extended = false;
  bool babbles = false;
  std::size_t due_at = 0;
  std::uint32_t number = 0;         // of the message that is due
  std::vector<std::uint32_t> last;  // [sender]: number of the last message heard
};

class Bus {
 public:
  Bus(const can::Hearing& hearing, const Play& how) : hearing_(hearing), how_(how), n_(hearing.nodes), rng_(how.seed) {
    applications_.resize(n_);
    drove_.assign(n_, 0);
    drives_.assign(n_, 0);
    give_names();
    const std::size_t cells = n_ * n_;
    heard_.assign(cells, 0);
    for (auto* counts : {&due_, &sent_, &sending_, &passive_, &off_}) counts->assign(n_, 0);
    most_.assign(n_, 0);
  }

  Seen run() {
    const std::size_t first = how_.bits / 6;
    for (now_ = 0; now_ < how_.bits; ++now_) {
      counting_ = now_ >= first;
      for (std::size_t k = 0; k < n_; ++k) offer(k);
      drive();
      for (std::size_t k = 0; k < n_; ++k) read(k);
    }
    return seen(static_cast<double>(how_.bits - first));
  }

 private:
  // Priorities in a random order; 29-bit identifiers begin with the same 11 bits, so both kinds mix.
  void give_names() {
    std::vector<std::uint32_t> order;
    for (std::uint32_t k = 0; k < n_; ++k) order.push_back(k);
    for (std::size_t k = n_; k > 1; --k) std::swap(order[k - 1], order[rng_.below(k)]);
    for (std::size_t k = 0; k < n_; ++k) {
      Application& application = applications_[k];
      application.babbles = hearing_.babbles[k] != 0;
      Choices choices = how_.choices;
      choices.never_counts = application.babbles;
      controllers_.emplace_back(choices);
      application.extended = rng_.chance(how_.extended_share);
      const auto spread = static_cast<std::uint32_t>(rng_.below(150));
      const std::uint32_t name = application.babbles ? static_cast<std::uint32_t>(k) : 100 + 200 * order[k] + spread;
      application.id = application.extended ? (name << 18U) + static_cast<std::uint32_t>(rng_.below(1U << 18U)) : name;
      application.due_at = rng_.below(static_cast<std::size_t>(how_.period_bits));
      application.last.assign(n_, 0);
    }
  }

  [[nodiscard]] Frame frame_of(std::size_t k) {
    const Application& application = applications_[k];
    Frame frame;
    frame.id = application.id;
    frame.extended = application.extended;
    frame.length = 8;
    for (std::size_t b = 0; b < 8; ++b) frame.data[b] = static_cast<std::uint8_t>(rng_.below(256));
    for (std::size_t b = 0; b < 4; ++b) frame.data[b] = static_cast<std::uint8_t>(application.number >> (8 * b));
    return frame;
  }

  void offer(std::size_t k) {
    if (hearing_.takes_part[k] == 0) return;
    Application& application = applications_[k];
    if (application.babbles) {
      if (!controllers_[k].has_pending()) controllers_[k].offer(frame_of(k));
      return;
    }
    if (now_ < application.due_at) return;
    application.due_at = now_ + static_cast<std::size_t>(how_.period_bits * rng_.uniform(0.9, 1.1));
    ++application.number;
    if (counting_) ++due_[k];
    controllers_[k].offer(frame_of(k));
  }

  void drive() {
    std::swap(drove_, drives_);
    for (std::size_t k = 0; k < n_; ++k) {
      drives_[k] = static_cast<char>(hearing_.takes_part[k] != 0 && controllers_[k].send() == kDominant);
      if (counting_ && (drives_[k] != 0 || controllers_[k].sending())) ++sending_[k];
    }
  }

  [[nodiscard]] Bit level_at(std::size_t r) const {
    if (hearing_.rests[r] == 0) return kDominant;
    for (std::size_t s = 0; s < n_; ++s) {
      const std::size_t cell = s * n_ + r;
      const bool lingers = drove_[s] != 0 && hearing_.returns[cell] == 0;
      if (hearing_.dominant[cell] != 0 && (drives_[s] != 0 || lingers)) return kDominant;
    }
    return kRecessive;
  }

  void read(std::size_t k) {
    if (hearing_.takes_part[k] == 0) return;
    Controller& controller = controllers_[k];
    controller.read(level_at(k));
    if (controller.received() != nullptr) hear(k, *controller.received());
    if (!counting_) return;
    if (controller.sent()) ++sent_[k];
    if (controller.bus_off()) {
      ++off_[k];
    } else if (controller.passive()) {
      ++passive_[k];
    }
    most_[k] = std::max(most_[k], controller.transmit_errors());
  }

  void hear(std::size_t r, const Frame& frame) {
    for (std::size_t s = 0; s < n_; ++s) {
      if (frame.id != applications_[s].id || frame.extended != applications_[s].extended) continue;
      std::uint32_t number = 0;
      for (std::size_t b = 4; b-- > 0;) number = (number << 8U) + frame.data[b];
      if (number == applications_[r].last[s]) continue;
      applications_[r].last[s] = number;
      if (counting_ && !applications_[s].babbles) ++heard_[s * n_ + r];
    }
  }

  [[nodiscard]] static double share(std::size_t part, double whole) {
    return whole > 0 ? std::min(1.0, static_cast<double>(part) / whole) : 0.0;
  }

  [[nodiscard]] Seen seen(double bits) const {
    Seen seen;
    for (std::size_t k = 0; k < n_; ++k) {
      const auto due = static_cast<double>(due_[k]);
      for (std::size_t r = 0; r < n_; ++r) seen.arrives.push_back(share(heard_[k * n_ + r], due));
      seen.sent.push_back(share(sent_[k], due));
      seen.busy.push_back(static_cast<double>(sending_[k]) / bits);
      seen.passive.push_back(share(passive_[k], bits));
      seen.bus_off.push_back(share(off_[k], bits));
      seen.active.push_back(1.0 - seen.passive.back() - seen.bus_off.back());
    }
    seen.most_transmit_errors = most_;
    return seen;
  }

  const can::Hearing& hearing_;
  const Play& how_;
  std::size_t n_;
  base::Rng rng_;
  std::size_t now_ = 0;
  bool counting_ = false;
  std::vector<Controller> controllers_;
  std::vector<Application> applications_;
  std::vector<char> drives_, drove_;
  std::vector<std::size_t> heard_, due_, sent_, sending_, passive_, off_;
  std::vector<int> most_;
};

}  // namespace

Seen play(const can::Hearing& hearing, const Play& how) { return Bus(hearing, how).run(); }

}  // namespace halfsplit::bus_twin
