// SPDX-License-Identifier: Apache-2.0
#include "app/expect_arguments.h"

#include <algorithm>
#include <cstdlib>
#include <optional>
#include <unordered_set>

#include "app/meter_file.h"
#include "base/nearest.h"

namespace halfsplit::app {

namespace {

void append(std::vector<base::Diagnostic>& problems, const std::vector<base::Diagnostic>& more) {
  problems.insert(problems.end(), more.begin(), more.end());
}

constexpr std::string_view kAnd = " and ";

base::Diagnostic unknown_fault(const LoadedLoom& loom, const std::string& name) {
  std::vector<std::string> names;
  for (const fault::Fault& f : loom.universe.faults) names.push_back(f.name);
  return base::make_error("expect.unknown-fault", "there is no fault named \"" + name + "\"",
                          base::did_you_mean(name, names) + " `halfsplit faults LOOM` lists them");
}

// A fault's name and, behind an @, its severity as typed.
struct Told {
  std::string name;
  std::optional<std::string> severity;
};

Told told_fault(const std::string& text) {
  const std::size_t cut = text.rfind('@');
  if (cut == std::string::npos || text.find(kAnd, cut) != std::string::npos) return {text, std::nullopt};
  return {text.substr(0, cut), text.substr(cut + 1)};
}

// 0 to 1; none when it is no such number.
std::optional<double> quantile_of(const Told& told) {
  if (!told.severity) return 0.5;
  const char* const text = told.severity->c_str();
  char* end = nullptr;
  const double quantile = std::strtod(text, &end);
  if (end == text || *end != '\0' || !(quantile >= 0.0 && quantile <= 1.0)) return std::nullopt;
  return quantile;
}

// One fault, perhaps with "@severity" behind it, added to the case.
base::Result<base::Done> add_fault(const LoadedLoom& loom, const std::string& text, Supposed& supposed) {
  const Told told = loom.universe.find(text).is_none() ? told_fault(text) : Told{text, std::nullopt};
  const std::optional<double> quantile = quantile_of(told);
  if (!quantile)
    return base::make_error("expect.severity", "\"" + text + "\": a severity is a number from 0 to 1 after @",
                            "for example: \"" + told.name + "@0.5\"");
  const fault::FaultId id = loom.universe.find(told.name);
  if (id.is_none()) return unknown_fault(loom, told.name);
  supposed.name += (supposed.name.empty() ? "" : " and ") + told.name;
  supposed.which.faults.emplace_back(id, *quantile);
  return base::Done{};
}

// "A and B comes and goes and C": faults whose own names may hold an "and". The text is cut at every " and " into
// pieces; a reading joins them to names of faults again.
class Cuts {
 public:
  Cuts(const LoadedLoom& loom, const std::string& text) : text_(text) {
    for (std::size_t at = 0; at != std::string::npos;) {
      begins_.push_back(at);
      at = text.find(kAnd, at);
      if (at != std::string::npos) at += kAnd.size();
    }
    begins_.push_back(text.size() + kAnd.size());
    for (const fault::Fault& f : loom.universe.faults) {
      names_.insert(f.name);
      longest_ = std::max(longest_, f.name.size());
    }
    read_from_the_end();
    reach_from_the_start();
  }

  // Of the fewest faults; of several such the one whose first name is the longest. Empty: it cannot be read.
  [[nodiscard]] std::vector<std::string> reading() const {
    std::vector<std::string> names;
    if (!is_read(0)) return names;
    for (std::size_t at = 0; at < pieces(); at = next_[at]) names.push_back(joined(at, next_[at]));
    return names;
  }

  // What most likely is the slip: what is left between the faults that can be read before it and those behind it;
  // where more than one name may be left, the longest beginning that is near to a fault's name.
  [[nodiscard]] std::string unread() const {
    std::size_t from = 0, to = pieces();
    for (std::size_t at = 0, last = 0; at <= pieces(); ++at) {
      if (reached_[at]) {
        last = at;
      } else if (is_read(at) && at - last < to - from) {
        from = last;
        to = at;
      }
    }
    const std::vector<std::string> names(names_.begin(), names_.end());
    for (std::size_t end = to; end > from; --end)
      if (may_be_one(from, end) && !base::did_you_mean(told_fault(joined(from, end)).name, names).empty())
        return joined(from, end);
    return joined(from, to);
  }

 private:
  static constexpr std::size_t kLongestSeverity = 24;

  [[nodiscard]] std::size_t pieces() const { return begins_.size() - 1; }
  [[nodiscard]] bool is_read(std::size_t from) const { return count_[from] != kNever; }
  [[nodiscard]] std::size_t length(std::size_t from, std::size_t to) const {
    return begins_[to] - kAnd.size() - begins_[from];
  }
  [[nodiscard]] std::string joined(std::size_t from, std::size_t to) const {
    return text_.substr(begins_[from], length(from, to));
  }
  [[nodiscard]] bool may_be_one(std::size_t from, std::size_t to) const {
    return length(from, to) <= longest_ + kLongestSeverity;
  }
  [[nodiscard]] bool is_one(std::size_t from, std::size_t to) const {
    const std::string text = joined(from, to);
    if (names_.contains(text)) return true;
    const Told told = told_fault(text);
    return told.severity && names_.contains(told.name) && quantile_of(told);
  }

  void read_from_the_end() {
    count_.assign(pieces() + 1, kNever);
    next_.assign(pieces() + 1, 0);
    count_[pieces()] = 0;
    for (std::size_t from = pieces(); from-- > 0;)
      for (std::size_t to = from + 1; to <= pieces() && may_be_one(from, to); ++to)
        if (is_read(to) && count_[to] + 1 <= count_[from] && is_one(from, to)) {
          count_[from] = count_[to] + 1;
          next_[from] = to;
        }
  }

  void reach_from_the_start() {
    reached_.assign(pieces() + 1, false);
    reached_[0] = true;
    for (std::size_t from = 0; from < pieces(); ++from)
      for (std::size_t to = from + 1; reached_[from] && to <= pieces() && may_be_one(from, to); ++to)
        if (!reached_[to] && is_one(from, to)) reached_[to] = true;
  }

  static constexpr std::size_t kNever = static_cast<std::size_t>(-1);
  const std::string& text_;
  std::unordered_set<std::string> names_;  // of all faults
  std::vector<std::size_t> begins_;        // of each piece, and where one more would begin
  std::size_t longest_ = 0;                // name of a fault
  std::vector<std::size_t> count_;         // of faults from this piece to the end, kNever: cannot be read
  std::vector<std::size_t> next_;          // piece where the fault behind the one that begins here begins
  std::vector<bool> reached_;              // all before this piece can be read
};

}  // namespace

base::Result<Session> session_to_expect(Context& context, const Arguments& arguments) {
  const base::Result<ToldMeter> meter = told_meter(context, arguments);
  if (!meter) return meter.diagnostics();
  Session session;
  std::string loom = arguments.get("loom");
  if (loom.empty()) {
    base::Result<Session> opened = open_session(context, arguments.get("job"));
    if (!opened || !meter->told) return opened;
    session = std::move(opened).value();
    loom = session.loom().path;
  }
  const base::Result<std::shared_ptr<BeliefEngine>> engine =
      context.cache.engine(context, loom, or_common(meter->meter));
  if (!engine) return engine.diagnostics();
  session.engine = *engine;
  return session;
}

void do_first(Session& session, const Arguments& arguments, std::vector<base::Diagnostic>& problems) {
  for (const std::string& text : arguments.all("with")) {
    const base::Result<Deed> deed = parse_deed(session.loom(), text);
    if (!deed)
      append(problems, deed.diagnostics());
    else if (deed->kind != Deed::Kind::kRepair)
      candidates::apply(session.state, deed->act, deed->kind == Deed::Kind::kMake);
  }
}

base::Result<Supposed> parse_supposed(const LoadedLoom& loom, const std::string& text) {
  Supposed supposed;
  if (text.find(kAnd) == std::string::npos || !loom.universe.find(text).is_none()) {
    const base::Result<base::Done> one = add_fault(loom, text, supposed);
    if (!one) return one.diagnostics();
    return supposed;
  }
  const Cuts cuts(loom, text);
  const std::vector<std::string> names = cuts.reading();
  if (names.empty()) return add_fault(loom, cuts.unread(), supposed).diagnostics();
  for (const std::string& name : names)
    if (const base::Result<base::Done> one = add_fault(loom, name, supposed); !one) return one.diagnostics();
  return supposed;
}

std::vector<Supposed> suppose(const LoadedLoom& loom, const Arguments& arguments,
                              std::vector<base::Diagnostic>& problems) {
  std::vector<Supposed> all;
  for (const std::string& text : arguments.all("if")) {
    base::Result<Supposed> one = parse_supposed(loom, text);
    if (one)
      all.push_back(std::move(one).value());
    else
      append(problems, one.diagnostics());
  }
  return all;
}

}  // namespace halfsplit::app
