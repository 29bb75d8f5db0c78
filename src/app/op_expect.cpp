// SPDX-License-Identifier: Apache-2.0
// What should I read here: healthy, and under each suspect.
#include <algorithm>

#include "app/cautions.h"
#include "app/expect_arguments.h"
#include "app/expect_codes.h"
#include "app/ops.h"
#include "app/standing.h"
#include "app/words.h"
#include "evidence/observable_text.h"

namespace halfsplit::app {

namespace {

struct Asked {
  Session session;  // of a job, or made up for a loom alone
  evidence::Observable what;
  std::vector<Supposed> supposed;  // of --if
};

base::Result<Asked> read_asked(Context& context, const Arguments& arguments) {
  base::Result<Session> session = session_to_expect(context, arguments);
  if (!session) return session.diagnostics();
  Asked asked{std::move(session).value(), {}, {}};
  const LoadedLoom& loom = asked.session.loom();
  const base::Result<evidence::Observable> what =
      evidence::parse_observable(loom.loom, loom.netlist, arguments.get("what"));
  if (!what) return what.diagnostics();
  asked.what = *what;
  std::vector<base::Diagnostic> problems;
  do_first(asked.session, arguments, problems);
  candidates::place_in(loom.loom, loom.netlist, asked.session.state, asked.what);
  asked.supposed = suppose(loom, arguments, problems);
  if (!problems.empty()) return problems;
  return asked;
}

// Faults of the universe, or the leading suspects of the job, with what each would show; alike ones together.
struct Row {
  std::string shows;
  std::vector<std::string> names;
  double probability = 0.0;
};

std::vector<Row> rows_under_suspects(Context& context, Asked& asked) {
  BeliefEngine& engine = *asked.session.engine;
  const Belief& belief = engine.update(asked.session.evidence, context.cancel);
  std::vector<predict::Case> cases;
  std::vector<std::pair<std::string, double>> names;
  for (const std::size_t s : belief.ranked) {
    const infer::Suspect& suspect = belief.posterior.suspects[s];
    if (infer::faults_of(suspect.faults).empty()) continue;
    if (!asked.session.evidence.empty() && (suspect.probability < 0.002 || cases.size() >= 60)) break;
    cases.push_back(engine.case_of(belief.rows[likeliest_row(belief, suspect)], asked.session.repaired));
    names.emplace_back(engine.suspect_name(suspect), suspect.probability);
  }
  const evidence::ResponseTable table = engine.campaign().predict(cases, {asked.what}, context.cancel);
  std::vector<Row> rows;
  for (std::size_t i = 0; i < cases.size(); ++i) {
    const std::string shows = prediction_text(asked.session.drawing(), asked.what, table.at(i, 0));
    auto found = std::find_if(rows.begin(), rows.end(), [&](const Row& row) { return row.shows == shows; });
    if (found == rows.end()) {
      rows.push_back({shows, {}, 0.0});
      found = rows.end() - 1;
    }
    found->names.push_back(names[i].first);
    found->probability += names[i].second;
  }
  std::stable_sort(rows.begin(), rows.end(), [](const Row& a, const Row& b) { return a.probability > b.probability; });
  return rows;
}

// What one case shows: from power-up; "or ..." where the circuit can rest otherwise; what goes round where it cannot
// rest.
struct Told {
  std::string text;
  Json json;
};

// A program that asks for many faults at once is answered from power-up alone: other rests cost full solves.
constexpr std::size_t kMostRests = 12;

Told tell(BeliefEngine& engine, const predict::Case& which, const evidence::Observable& what, bool with_rests) {
  const circuit::Loom& loom = engine.loom().loom;
  const evidence::Prediction p = engine.campaign().predict_one(which, what);
  Told told{prediction_text(loom, what, p), prediction_json(what, p)};
  if (!with_rests) return told;
  if (!p.settled) {
    const std::string buzzing = buzzing_text(engine, which, what.configuration);
    if (buzzing.empty()) return told;
    told.text = "no rest: " + buzzing;
    told.json["goes_round"] = buzzing;
    return told;
  }
  Json also = Json::array();
  for (const OtherRest& other : find_other_readings(engine, which, what, p)) {
    told.text += ", or " + prediction_text(loom, what, other.prediction) + " when " + other.when;
    also.push_back({{"when", other.when}, {"prediction", prediction_json(what, other.prediction)}});
  }
  if (!also.empty()) told.json["also"] = also;
  return told;
}

Reply nothing_asked() {
  Reply reply = fail(base::make_error("args.missing", "expect needs what: a test, as in saw: volts A B, code NAME ...",
                                      "or --codes for the whole list of codes"));
  reply.exit_code = 2;
  return reply;
}

}  // namespace

Reply op_expect(Context& context, const Arguments& arguments) {
  if (arguments.has("codes")) return expect_codes(context, arguments);
  if (!arguments.has("what")) return nothing_asked();
  base::Result<Asked> read = read_asked(context, arguments);
  if (!read) return fail(read.diagnostics());
  Asked& asked = *read;
  const LoadedLoom& loom = asked.session.loom();
  BeliefEngine& engine = *asked.session.engine;
  const candidates::Roll roll;
  Belief none;
  none.fault_weight.assign(loom.universe.faults.size(), 0.0);
  const std::string refused = candidates::refusal(generate_input(asked.session, roll, none), asked.what);
  Reply reply;
  reply.result["test"] = observable_json(loom, asked.what);
  if (!refused.empty()) {
    Reply refusal_reply =
        fail(base::make_error("test.refused", refused, "change the state with --with, or take another test"));
    refusal_reply.result = reply.result;
    return refusal_reply;
  }
  const Told healthy = tell(engine, {}, asked.what, true);
  reply.result["healthy"] = healthy.json;
  reply.text = evidence::format_observable(loom.loom, loom.netlist, asked.what) + "\n  state    " +
               configuration_text(loom, asked.what.configuration) + "\n";
  if (!asked.what.red.is_none())
    reply.text +=
        (asked.what.black.is_none() ? "  at       " : "  red      ") + point_text(loom, asked.what.red) + "\n";
  if (!asked.what.black.is_none()) reply.text += "  black    " + point_text(loom, asked.what.black) + "\n";
  const std::vector<std::string> cautions = probe_cautions(loom, asked.what);
  for (const std::string& caution : cautions) reply.text += wrap("  caution  ! " + caution, 13) + "\n";
  if (!cautions.empty()) reply.result["cautions"] = cautions;
  reply.text += "  healthy  " + wrap(healthy.text, 11) + "\n";
  Json list = Json::array();
  if (!asked.supposed.empty()) {
    for (const Supposed& supposed : asked.supposed) {
      const Told told = tell(engine, supposed.which, asked.what, asked.supposed.size() <= kMostRests);
      const std::vector<fault::FaultId> melted = engine.melted_by(supposed.which);
      Json row{{"fault", supposed.name}, {"prediction", told.json}};
      if (!melted.empty()) row["blows"] = melted_json(loom, melted);
      list.push_back(row);
      reply.text += "  if " + supposed.name + ": " + told.text + melted_text(loom, melted) + "\n";
    }
  } else {
    const std::vector<Row> rows = rows_under_suspects(context, asked);
    reply.text += "  under the suspects:\n";
    for (const Row& row : rows) {
      list.push_back({{"shows", row.shows}, {"faults", row.names}, {"probability", row.probability}});
      std::string names;
      for (std::size_t i = 0; i < row.names.size() && i < 4; ++i) names += (i == 0 ? "" : ", ") + row.names[i];
      if (row.names.size() > 4) names += " and " + std::to_string(row.names.size() - 4) + " more";
      if (list.size() <= 14)
        reply.text +=
            "    " + padded(row.shows, 34) + " " + padded(percent(row.probability), 6) + wrap(names, 46) + "\n";
    }
    if (rows.size() > 14)
      reply.text += "    ... and " + std::to_string(rows.size() - 14) + " more readings (--json has all)\n";
  }
  reply.result["under"] = list;
  return reply;
}

}  // namespace halfsplit::app
