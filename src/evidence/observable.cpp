// SPDX-License-Identifier: Apache-2.0
#include "evidence/observable.h"

namespace halfsplit::evidence {

namespace {

struct KindRecord {
  Kind kind;
  std::string_view word;
  std::vector<std::string_view> categories;
};

const std::vector<KindRecord>& records() {
  static const std::vector<KindRecord> table = {
      {Kind::kVolts, "volts", {}},
      {Kind::kOhms, "ohms", {}},
      {Kind::kContinuity, "continuity", {"beep", "silent"}},
      {Kind::kClamp, "clamp", {}},
      {Kind::kTestLamp, "lamp", {"bright", "dim", "dark"}},
      {Kind::kCode, "code", {"active", "past", "absent"}},
      {Kind::kLive, "live", {}},
      {Kind::kLook, "look", {"works", "weak", "dead"}},
      {Kind::kAnswers, "answers", {"yes", "no"}},
      {Kind::kWiggle, "wiggle", {"changes", "steady"}},
      {Kind::kHeat, "heat", {"changes", "steady"}},
      {Kind::kCool, "cool", {"changes", "steady"}},
      {Kind::kHighest, "highest", {}},
      {Kind::kLowest, "lowest", {}},
      {Kind::kHeard, "heard", {"yes", "never"}},
      {Kind::kQuiet, "quiet", {"restarts", "returns", "no"}},
      {Kind::kHears, "hears", {"yes", "no"}},
      {Kind::kInspect, "inspect", {"marked", "clean"}},
  };
  return table;
}

const KindRecord& record(Kind kind) { return records()[static_cast<std::size_t>(kind)]; }

}  // namespace

const std::vector<std::string_view>& categories(Kind kind) { return record(kind).categories; }
bool is_numeric(Kind kind) { return record(kind).categories.empty(); }
std::string_view kind_word(Kind kind) { return record(kind).word; }
bool is_volts(Kind kind) { return kind == Kind::kVolts || kind == Kind::kHighest || kind == Kind::kLowest; }
bool provokes(Kind kind) { return kind == Kind::kWiggle || kind == Kind::kHeat || kind == Kind::kCool; }

bool is_recorded(Kind kind) { return kind == Kind::kHeard || kind == Kind::kQuiet || kind == Kind::kHears; }

bool is_by_eye(Kind kind) { return kind == Kind::kInspect; }
bool asks_the_circuit(Kind kind) { return !provokes(kind) && !is_by_eye(kind); }

std::optional<Kind> find_kind(std::string_view word) {
  for (const KindRecord& entry : records())
    if (entry.word == word) return entry.kind;
  return std::nullopt;
}

std::vector<Observable> reader_list(const circuit::Loom& loom, const circuit::Configuration& state) {
  std::vector<Observable> all;
  Observable what;
  what.configuration = state;
  what.kind = Kind::kAnswers;
  for (std::size_t m = 0; m < loom.modules.size(); ++m) {
    what.module = circuit::ModuleId(m);
    all.push_back(what);
  }
  what.module = {};
  what.kind = Kind::kCode;
  for (std::size_t c = 0; c < loom.codes.size(); ++c) {
    what.code = circuit::CodeId(c);
    all.push_back(what);
  }
  return all;
}

}  // namespace halfsplit::evidence
