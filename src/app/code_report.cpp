// SPDX-License-Identifier: Apache-2.0
#include "app/code_report.h"

#include <algorithm>
#include <string>
#include <vector>

#include "app/words.h"

namespace halfsplit::app {

namespace {

constexpr double kMoreLikelyOther = 0.5;  // above it a code is set aside
constexpr double kWorthSaying = 0.02;     // a smaller chance of another reason is not written out
constexpr std::size_t kMostAbsent = 3;    // more codes absent as expected are told as a number

struct Line {
  std::string code, module, seen, word, verdict;
  double other = 0.0;
  bool present = false;
};

Line line_of(Session& session, const Belief& belief, std::size_t column) {
  const Evidence& e = session.evidence[column];
  const circuit::Code& code = session.drawing().codes[e.observation.what.code.index()];
  const infer::Forecast& predicted = belief.explanations.suspects.front().reasons[column].predicted;
  const bool expected = predicted.known && predicted.category < 2;
  Line line{code.name,
            session.drawing().modules[code.module.index()].name,
            e.shows,
            "",
            "",
            0.0,
            e.observation.seen.category < 2};
  if (line.present) line.other = chance_of_other_reason(session, belief, column);
  if (line.present && line.other > kMoreLikelyOther) {
    line.word = "other";
    line.verdict = "there for some other reason";
  } else if (line.present) {
    line.word = expected ? "explained" : "not-explained";
    line.verdict = expected ? "explained by the first suspect" : "not explained by the first suspect";
  } else {
    line.word = expected ? "missing" : "absent";
    line.verdict = expected ? "expected, but missing" : "absent, as expected";
  }
  return line;
}

std::string line_text(const Line& line) {
  const std::string other =
      line.other >= kWorthSaying && line.word != "other" ? " (" + percent(line.other) + " for some other reason)" : "";
  return "  " + wrap(padded(line.code + " " + line.seen, 30) + " " + line.verdict + other, 33) + "\n";
}

// Codes the fault has nothing to do with, those the loom knows and those it does not.
void add_others(const Session& session, const std::vector<Line>& lines, Reply& reply) {
  std::string text;
  Json list = Json::array();
  for (const Line& line : lines) {
    if (line.word != "other") continue;
    list.push_back({{"module", line.module}, {"code", line.code}, {"seen", line.seen}, {"chance", line.other}});
    text += "  " +
            wrap(padded(line.code + " " + line.seen, 30) + " " + percent(line.other) + " for some other reason", 33) +
            "\n";
  }
  for (const OtherCode& other : session.others) {
    list.push_back({{"entry", other.entry}, {"module", other.module}, {"code", other.name}, {"seen", other.word}});
    const std::string of = other.module.empty() ? "" : other.module + " ";
    text += "  " + wrap(padded(of + other.name + " " + other.word, 30) + " nothing on this drawing sets it", 33) + "\n";
  }
  reply.result["other_codes"] = list;
  if (!text.empty()) reply.text += "Other codes, not connected with the rest\n" + text;
}

}  // namespace

double chance_of_other_reason(Session& session, const Belief& belief, std::size_t column) {
  const evidence::Observation& seen = session.evidence[column].observation;
  const double stray = evidence::chance_of(session.engine->campaign().predict_one({}, seen.what), seen.seen.category);
  double chance = 0.0;
  for (std::size_t row = 0; row < belief.rows.size(); ++row) {
    const double own = evidence::chance_of(belief.table.at(row, column), seen.seen.category);
    if (own > 0.0) chance += belief.posterior.row[row] * std::min(1.0, stray / own);
  }
  return std::min(1.0, chance);
}

void add_codes(Session& session, const Belief& belief, Reply& reply) {
  if (session.drawing().codes.empty() && session.others.empty()) return;
  std::vector<Line> lines;
  if (!belief.explanations.suspects.empty())
    for (std::size_t i = 0; i < session.evidence.size(); ++i)
      if (session.evidence[i].observation.what.kind == evidence::Kind::kCode)
        lines.push_back(line_of(session, belief, i));
  Json list = Json::array();
  std::string text;
  const auto absent = static_cast<std::size_t>(
      std::count_if(lines.begin(), lines.end(), [](const Line& line) { return line.word == "absent"; }));
  for (const Line& line : lines) {
    Json json{{"code", line.code},
              {"module", line.module},
              {"seen", line.seen},
              {"verdict", line.verdict},
              {"is", line.word}};
    if (line.present) json["other_reason"] = line.other;
    list.push_back(json);
    if (line.word != "other" && !(line.word == "absent" && absent > kMostAbsent)) text += line_text(line);
  }
  if (absent > kMostAbsent) text += "  " + padded(std::to_string(absent) + " codes", 30) + " absent, as expected\n";
  if (!text.empty()) reply.text += "Codes\n" + text;
  reply.result["codes"] = list;
  add_others(session, lines, reply);
}

}  // namespace halfsplit::app
