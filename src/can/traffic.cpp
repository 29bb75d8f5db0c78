// SPDX-License-Identifier: Apache-2.0
// The rules of docs/formats/buses.md, "What becomes of the messages", in their order. Sets of nodes are rows of 64-bit
// words, so that every question about a pair of nodes is a pass over n / 64 words: n^3 / 64 in all.
#include "can/traffic.h"

#include <utility>

namespace halfsplit::can {

namespace {

// Shares of the messages that arrive, fitted to tests/bus_twin.
constexpr double kNextToNothing = 0.1;
constexpr double kUnansweredToOneItReads = 0.5;
constexpr double kDeafToAll = 0.8;
constexpr double kNotWhole = 0.8;
constexpr double kOwnAnswerLingers = 0.55;
constexpr double kHiddenFromBoth = 0.3;
constexpr double kBrokenIn = 0.65;
constexpr double kHiddenFromTheReader = 0.75;
constexpr double kNoWayBack = 0.8;
constexpr double kSpoiled = 0.5;

// Time with a frame on the bus, over the quarter that all nodes together have on a healthy one.
constexpr double kRepeats = 3.3;
constexpr double kRepeatsAmongOthers = 2.6;
constexpr double kWithoutPause = 3.9;
// Of the node's own ordinary share:
constexpr double kLeavesAndComesBack = 0.4;
constexpr double kTriesAgain = 2.0;
constexpr double kTalkedOver = 0.7;

// One set of nodes for each node.
class Sets {
 public:
  explicit Sets(std::size_t nodes) : words_((nodes + 63) / 64), bits_(nodes * words_) {}
  void add(std::size_t of, std::size_t node) { bits_[of * words_ + node / 64] |= std::uint64_t{1} << (node % 64); }
  [[nodiscard]] bool has(std::size_t of, std::size_t node) const {
    return ((word(of, node / 64) >> (node % 64)) & 1U) != 0;
  }
  [[nodiscard]] std::uint64_t word(std::size_t of, std::size_t w) const { return bits_[of * words_ + w]; }
  [[nodiscard]] std::size_t words() const { return words_; }
  [[nodiscard]] bool empty(std::size_t of) const { return !meets(of, *this, of); }
  [[nodiscard]] bool meets(std::size_t of, const Sets& other, std::size_t of_other) const {
    for (std::size_t w = 0; w < words_; ++w) {
      if ((word(of, w) & other.word(of_other, w)) != 0) return true;
    }
    return false;
  }
  // Is there one of ours that is not among theirs, but for `except`?
  [[nodiscard]] bool goes_beyond(std::size_t of, const Sets& theirs, std::size_t of_theirs, std::size_t except) const {
    for (std::size_t w = 0; w < words_; ++w) {
      if ((word(of, w) & ~theirs.word(of_theirs, w) & ~bit_in(except, w)) != 0) return true;
    }
    return false;
  }
  static std::uint64_t bit_in(std::size_t node, std::size_t w) {
    return node / 64 == w ? std::uint64_t{1} << (node % 64) : 0;
  }

 private:
  std::size_t words_;
  std::vector<std::uint64_t> bits_;
};

// Of the nodes that talk; nobody is in a set of its own.
struct Links {
  explicit Links(std::size_t nodes)
      : reads(nodes), read_by(nodes), followed_by(nodes), lingers(nodes), spoiler(nodes), hasty(nodes) {}
  Sets reads;                 // whose dominant bits it reads
  Sets read_by;               // who reads its dominant bits
  Sets followed_by;           // who reads its bits as they are: dominant, and recessive again in time
  Sets lingers;               // whose dominant bits it still reads one bit later
  std::vector<char> spoiler;  // it reads one that cannot send as its own bits linger, and that follows somebody
  std::vector<char> hasty;    // it reads such a one that follows nobody
};

class Rules {
 public:
  explicit Rules(const Hearing& hearing)
      : hearing_(hearing),
        n_(hearing.nodes),
        standing_(n_, Standing::kWorks),
        whole_(n_, 1),
        harmless_(n_, 0),
        broken_(n_, 0),
        talked_over_(n_, 0) {}

  Traffic run() {
    sort_out_the_silent();
    const Links all = join();
    sort_out_the_jammed(all);
    const Links links = join();
    sort_out_the_unanswered(links);
    find_groups(links);
    return answer(links);
  }

 private:
  [[nodiscard]] bool reads(std::size_t s, std::size_t r) const { return hearing_.dominant[s * n_ + r] != 0; }
  [[nodiscard]] bool returns(std::size_t s, std::size_t r) const { return hearing_.returns[s * n_ + r] != 0; }
  [[nodiscard]] bool follows(std::size_t s, std::size_t r) const { return reads(s, r) && returns(s, r); }
  [[nodiscard]] bool is(std::size_t node, Standing standing) const { return standing_[node] == standing; }
  [[nodiscard]] bool jams(std::size_t node) const { return is(node, Standing::kJams) || is(node, Standing::kBabbles); }
  [[nodiscard]] bool spoils(std::size_t node) const {
    return is(node, Standing::kCannotSend) && talked_over_[node] == 0 && reads(node, node) && !returns(node, node);
  }
  [[nodiscard]] bool read_by_one_that_cannot_send(std::size_t node) const {
    for (std::size_t r = 0; r < n_; ++r) {
      if (is(r, Standing::kCannotSend) && reads(node, r)) return true;
    }
    return false;
  }

  [[nodiscard]] bool follows_somebody(std::size_t node) const {
    for (std::size_t s = 0; s < n_; ++s) {
      const bool talks = is(s, Standing::kWorks) || is(s, Standing::kBabbles);
      if (s != node && talks && follows(s, node)) return true;
    }
    return false;
  }

  void sort_out_the_silent() {
    for (std::size_t k = 0; k < n_; ++k) {
      if (hearing_.takes_part[k] == 0) {
        standing_[k] = Standing::kAway;
      } else if (hearing_.rests[k] == 0) {
        standing_[k] = Standing::kHeldDown;
      } else if (!follows(k, k)) {
        standing_[k] = Standing::kCannotSend;
      } else if (hearing_.babbles[k] != 0) {
        standing_[k] = Standing::kBabbles;
      }
      if (!is(k, Standing::kAway) && !is(k, Standing::kHeldDown)) senders_ += 1.0;
    }
  }

  // The links among those that talk and are not sorted out so far.
  [[nodiscard]] Links join() const {
    Links links(n_);
    for (std::size_t s = 0; s < n_; ++s) {
      const bool talks = is(s, Standing::kWorks) || is(s, Standing::kBabbles);
      for (std::size_t r = 0; r < n_; ++r) {
        if (r == s || !is(r, Standing::kWorks)) continue;
        if (talks && reads(s, r)) {
          links.reads.add(r, s);
          links.read_by.add(s, r);
          if (returns(s, r)) links.followed_by.add(s, r);
          if (!returns(s, r)) links.lingers.add(r, s);
        }
        if (spoils(s) && reads(s, r)) (follows_somebody(s) ? links.spoiler : links.hasty)[r] = 1;
      }
    }
    return links;
  }

  void sort_out_the_jammed(const Links& all) {
    for (std::size_t k = 0; k < n_; ++k) {
      if (!is(k, Standing::kWorks) || !all.reads.empty(k)) continue;
      const bool read = !all.read_by.empty(k) || read_by_one_that_cannot_send(k);
      standing_[k] = read ? Standing::kJams : Standing::kAlone;
    }
    for (std::size_t s = 0; s < n_; ++s) {
      for (std::size_t r = 0; r < n_ && jams(s); ++r) {
        if (all.reads.has(r, s) && is(r, Standing::kWorks)) standing_[r] = Standing::kJammed;
        if (is(r, Standing::kCannotSend) && reads(s, r)) talked_over_[r] = 1;
      }
    }
  }

  // Who acknowledges must hear the frame and be heard.
  void sort_out_the_unanswered(const Links& links) {
    std::vector<char> answered(n_, 0);
    for (std::size_t s = 0; s < n_; ++s) {
      for (std::size_t r = 0; r < n_; ++r) {
        if (links.followed_by.has(s, r) && links.followed_by.has(r, s)) answered[s] = 1;
      }
    }
    for (std::size_t k = 0; k < n_; ++k) {
      if (is(k, Standing::kWorks) && answered[k] == 0) {
        standing_[k] = Standing::kUnheard;
      }
    }
  }

  // Somebody hears an acknowledgement of S but not S, takes it for a frame and breaks in; and S reads that.
  [[nodiscard]] bool broken(const Links& links, std::size_t s) const {
    for (std::size_t k = 0; k < n_; ++k) {
      const bool misses = links.reads.has(s, k) && !links.read_by.has(s, k);
      if (misses && links.reads.meets(k, links.followed_by, s)) return true;
    }
    return false;
  }

  // Nobody reads it; or it follows nobody, so that its error flags soon are passive ones, and its bits linger nowhere.
  [[nodiscard]] bool harmless(const Links& links, std::size_t k) const {
    if (!is(k, Standing::kUnheard)) return false;
    const bool follows_nobody = !links.reads.goes_beyond(k, links.lingers, k, k);
    return links.read_by.empty(k) || (follows_nobody && !links.read_by.goes_beyond(k, links.followed_by, k, k));
  }

  // Groups of nodes that read one another, over others if need be; whole when all follow all.
  void find_groups(const Links& links) {
    std::vector<char> met(n_, 0);
    for (std::size_t k = 0; k < n_; ++k) harmless_[k] = static_cast<char>(harmless(links, k));
    for (std::size_t k = 0; k < n_; ++k) {
      met[k] = harmless_[k];
      broken_[k] = static_cast<char>(broken(links, k));
    }
    for (std::size_t first = 0; first < n_; ++first) {
      if (met[first] != 0) continue;
      std::vector<std::size_t> group{first};
      met[first] = 1;
      std::size_t follow = 0;
      for (std::size_t i = 0; i < group.size(); ++i) {
        for (std::size_t k = 0; k < n_; ++k) {
          if (links.followed_by.has(group[i], k) && harmless_[k] == 0) ++follow;
          if (met[k] != 0 || (!links.reads.has(group[i], k) && !links.read_by.has(group[i], k))) continue;
          met[k] = 1;
          group.push_back(k);
        }
      }
      const bool whole = follow == group.size() * (group.size() - 1);
      for (const std::size_t k : group) {
        whole_[k] = static_cast<char>(whole);
        if (!whole && is(k, Standing::kWorks)) standing_[k] = Standing::kDisturbed;
      }
    }
  }

  // Somebody whom R reads and S does not, and who does not read S: it talks into what S sends, and S does not know.
  [[nodiscard]] static bool hidden_from_both(const Links& links, std::size_t s, std::size_t r) {
    for (std::size_t w = 0; w < links.reads.words(); ++w) {
      const std::uint64_t known = links.reads.word(s, w) | links.read_by.word(s, w) | Sets::bit_in(s, w);
      if ((links.reads.word(r, w) & ~known) != 0) return true;
    }
    return false;
  }
  // A spoiler acknowledges what it follows and then takes its own acknowledgement for an error. A hasty one only begins
  // frames; these stop all others when its message goes before theirs.
  [[nodiscard]] double unspoiled(const Links& links, std::size_t s, std::size_t r) const {
    if (links.spoiler[s] != 0 || links.spoiler[r] != 0) return kSpoiled;
    return links.hasty[s] != 0 || links.hasty[r] != 0 ? 1.0 - 1.0 / senders_ : 1.0;
  }

  // Of the messages of S, those that arrive at R, which follows S.
  [[nodiscard]] double share(const Links& links, std::size_t s, std::size_t r) const {
    if (is(s, Standing::kUnheard)) {
      if (!links.reads.has(s, r) || is(r, Standing::kUnheard)) return kNextToNothing;
      return harmless_[s] != 0 ? kDeafToAll : kUnansweredToOneItReads;
    }
    if (is(r, Standing::kUnheard)) return kNextToNothing;
    double share = unspoiled(links, s, r);
    if (whole_[s] != 0) return share;
    if (links.followed_by.meets(s, links.lingers, r)) return kNextToNothing;  // an acknowledgement lingers at R
    share *= kNotWhole;
    if (links.followed_by.meets(s, links.lingers, s)) share *= kOwnAnswerLingers;
    if (hidden_from_both(links, s, r)) share *= kHiddenFromBoth;
    if (broken_[s] != 0) share *= kBrokenIn;
    if (links.reads.goes_beyond(s, links.reads, r, r)) share *= kHiddenFromTheReader;
    if (!links.reads.has(s, r)) share *= kNoWayBack;
    return share;
  }

  [[nodiscard]] double busy(std::size_t node) const {
    switch (standing_[node]) {
      case Standing::kAway:
      case Standing::kHeldDown:
        return 0.0;
      case Standing::kCannotSend:
        return spoils(node) ? kTriesAgain : kLeavesAndComesBack;
      case Standing::kAlone:
      case Standing::kJams:
        return kRepeats * static_cast<double>(n_);
      case Standing::kUnheard:
        return kRepeatsAmongOthers * static_cast<double>(n_);
      case Standing::kBabbles:
        return kWithoutPause * static_cast<double>(n_);
      case Standing::kDisturbed:
        return kTriesAgain;
      case Standing::kJammed:
        return kTalkedOver;
      case Standing::kWorks:
        return 1.0;
    }
    return 1.0;
  }

  [[nodiscard]] bool hears_a_little(std::size_t node) const {
    return is(node, Standing::kCannotSend) && talked_over_[node] == 0 && !spoils(node);
  }

  [[nodiscard]] double arrives(const Links& links, std::size_t s, std::size_t r) const {
    if (links.followed_by.has(s, r)) return jams(s) ? 0.0 : share(links, s, r);
    // Who cannot send is off the bus most of the time. If its own bits linger, or it is talked over, it hears nothing.
    const bool sends = is(s, Standing::kWorks) || is(s, Standing::kDisturbed);
    return sends && hears_a_little(r) && follows(s, r) ? kNextToNothing : 0.0;
  }

  Traffic answer(const Links& links) {
    Traffic traffic;
    traffic.arrives.assign(n_ * n_, 0.0);
    for (std::size_t s = 0; s < n_; ++s) {
      traffic.busy.push_back(busy(s));
      for (std::size_t r = 0; r < n_; ++r) {
        traffic.arrives[s * n_ + r] = arrives(links, s, r);
      }
    }
    traffic.standing = std::move(standing_);
    return traffic;
  }

  const Hearing& hearing_;
  std::size_t n_;
  std::vector<Standing> standing_;
  std::vector<char> whole_;  // its group is
  std::vector<char> harmless_, broken_;
  std::vector<char> talked_over_;  // it cannot send, and reads one that jams or babbles
  double senders_ = 0.0;           // that would send
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
