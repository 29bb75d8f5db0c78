// SPDX-License-Identifier: Apache-2.0
#include "app/expect_codes.h"

#include <algorithm>

#include "app/expect_arguments.h"
#include "app/words.h"
#include "evidence/observable_text.h"

namespace halfsplit::app {

namespace {

constexpr double kSilent = 0.5;           // a module that answers with less is among the silent ones
constexpr double kLeastChanceSaid = 0.1;  // codes with a smaller chance are not in the text
constexpr std::size_t kMostSuspects = 3;

struct ToldCodes {
  Json modules = Json::array(), silent = Json::array();
  std::string text;
};

std::string code_line(const circuit::Code& code, double active, double past) {
  const bool more_active = active >= past;
  std::string line =
      padded(percent(more_active ? active : past), 6) + (more_active ? "active  " : "past    ") + code.name;
  const double less = more_active ? past : active;
  if (less >= kLeastChanceSaid) line += std::string(", ") + (more_active ? "past " : "active ") + percent(less);
  return line + (code.text.empty() ? "" : "  " + code.text);
}

// The row of one hypothesis, in the order of reader_list.
ToldCodes tell(const circuit::Loom& loom, const evidence::ResponseTable& table, std::size_t row) {
  ToldCodes told;
  std::string silent;
  for (std::size_t m = 0; m < loom.modules.size(); ++m) {
    const circuit::Module& module = loom.modules[m];
    const double answers = evidence::chance_of(table.at(row, m), 0);
    Json codes = Json::array();
    std::string lines;
    for (std::size_t c = 0; c < loom.codes.size(); ++c) {
      const circuit::Code& code = loom.codes[c];
      if (code.module != circuit::ModuleId(m)) continue;
      const evidence::Prediction& p = table.at(row, loom.modules.size() + c);
      const double active = evidence::chance_of(p, 0), past = evidence::chance_of(p, 1);
      codes.push_back({{"code", code.name}, {"text", code.text}, {"active", active}, {"past", past}});
      if (active + past >= kLeastChanceSaid) lines += "      " + wrap(code_line(code, active, past), 22) + "\n";
    }
    told.modules.push_back({{"module", module.name}, {"answers", answers}, {"codes", codes}});
    if (answers < kSilent) {
      told.silent.push_back(module.name);
      silent += (silent.empty() ? "" : ", ") + module.name;
    }
    if (!lines.empty())
      told.text += "    " + module.name + (answers < kSilent ? ", on its display" : "") + "\n" + lines;
  }
  if (told.text.empty()) told.text = "    no codes\n";
  if (!silent.empty()) told.text += "    " + wrap("no answer from " + silent, 6) + "\n";
  return told;
}

// Those of --if, or the leaders of the job.
std::vector<Supposed> hypotheses(Context& context, Session& session, std::vector<Supposed> supposed) {
  if (!supposed.empty() || session.evidence.empty()) return supposed;
  BeliefEngine& engine = *session.engine;
  const Belief& belief = engine.update(session.evidence, context.cancel);
  for (const std::size_t s : belief.ranked) {
    const infer::Suspect& suspect = belief.posterior.suspects[s];
    if (supposed.size() == kMostSuspects) break;
    if (infer::faults_of(suspect.faults).empty()) continue;
    supposed.push_back(
        {engine.suspect_name(suspect), engine.case_of(belief.rows[likeliest_row(belief, suspect)], session.repaired)});
  }
  return supposed;
}

}  // namespace

Reply expect_codes(Context& context, const Arguments& arguments) {
  base::Result<Session> read = session_to_expect(context, arguments);
  if (!read) return fail(read.diagnostics());
  Session& session = *read;
  const circuit::Loom& loom = session.drawing();
  if (arguments.has("what"))
    return fail(base::make_error("expect.codes-and-test", "--codes shows the whole list, and a test is named as well",
                                 "leave out one of them"));
  if (loom.codes.empty())
    return fail(base::make_error("expect.no-codes", "this loom has no codes", "draw them: [codes.\"SPN 639 FMI 9\"]"));
  if (arguments.has("loom") && !arguments.has("with")) session.state = candidates::at_work(loom);
  std::vector<base::Diagnostic> problems;
  do_first(session, arguments, problems);
  std::vector<Supposed> supposed = suppose(session.loom(), arguments, problems);
  if (!problems.empty()) return fail(problems);
  supposed = hypotheses(context, session, std::move(supposed));
  std::vector<predict::Case> cases{{}};
  for (const Supposed& one : supposed) cases.push_back(one.which);
  const circuit::Configuration state = candidates::electrical_part(loom, session.state);
  const evidence::ResponseTable table =
      session.engine->campaign().predict(cases, evidence::reader_list(loom, state), context.cancel);
  Reply reply;
  const ToldCodes healthy = tell(loom, table, 0);
  reply.text = "codes\n  state    " + configuration_text(session.loom(), state) + "\n";
  if (supposed.empty()) reply.text += "  healthy\n" + healthy.text;
  Json lists = Json::array({{{"modules", healthy.modules}, {"silent", healthy.silent}}});
  for (std::size_t i = 0; i < supposed.size(); ++i) {
    const ToldCodes told = tell(loom, table, i + 1);
    const std::vector<fault::FaultId> melted = session.engine->melted_by(supposed[i].which);
    Json row{{"fault", supposed[i].name}, {"modules", told.modules}, {"silent", told.silent}};
    if (!melted.empty()) row["blows"] = melted_json(session.loom(), melted);
    lists.push_back(row);
    reply.text += "  if " + supposed[i].name + melted_text(session.loom(), melted) + "\n" + told.text;
  }
  reply.result = {{"configuration", configuration_json(session.loom(), state)}, {"lists", lists}};
  return reply;
}

}  // namespace halfsplit::app
