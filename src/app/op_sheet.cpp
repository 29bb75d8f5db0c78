// SPDX-License-Identifier: Apache-2.0
// The job sheet: what a job adds up to, for whoever it is handed to, in the form that was asked for.
#include <algorithm>

#include "app/advice.h"
#include "app/base64.h"
#include "app/code_list.h"
#include "app/ops.h"
#include "app/profile.h"
#include "app/proof.h"
#include "app/words.h"
#include "base/check.h"
#include "evidence/observable_text.h"
#include "formats/job_code.h"
#include "report/sheet.h"
#include "report/sheet_pdf.h"

namespace halfsplit::app {

namespace {

// The suspect the repairs were meant for: the most probable one mended by them, else the leader.
std::size_t cause_of(const Session& session, const Belief& belief) {
  for (const std::size_t s : belief.ranked) {
    const std::vector<fault::RepairId> repairs = session.engine->own_repairs_of(belief.posterior.suspects[s]);
    if (!repairs.empty() && std::all_of(repairs.begin(), repairs.end(), [&](fault::RepairId r) {
          return std::find(session.repaired.begin(), session.repaired.end(), r) != session.repaired.end();
        }))
      return s;
  }
  return belief.ranked.front();
}

std::string described(BeliefEngine& engine, const Belief& belief, const infer::Suspect& suspect) {
  std::string text;
  for (const fault::FaultId id : infer::faults_of(suspect.faults))
    text += (text.empty() ? "" : "; ") + engine.loom().universe.faults[id.index()].description;
  return text.empty() ? "not on this drawing" : text + melted_text(engine.loom(), engine.melted_by(belief, suspect));
}

// Codes that a list only says are absent are no lines of their own.
bool is_of_list(const Session& session, int number) {
  return std::any_of(session.job.entries.begin(), session.job.entries.end(),
                     [&](const job::Entry& entry) { return entry.number == number && is_code_list(entry.what); });
}

void add_readings(report::Sheet& sheet, Session& session, const Belief& belief, const Proof& proof, std::size_t cause) {
  BeliefEngine& engine = *session.engine;
  const infer::Suspect& suspect = belief.posterior.suspects[cause];
  const std::size_t best = likeliest_row(belief, suspect);
  for (std::size_t i = 0; i < session.evidence.size(); ++i) {
    const Evidence& e = session.evidence[i];
    const evidence::Observable& what = e.observation.what;
    const bool after = !e.repaired.empty();
    const std::string shown = evidence::format_seen(session.drawing(), what, e.observation.seen);
    if (what.kind == evidence::Kind::kCode) {
      const circuit::Code& code = session.drawing().codes[what.code.index()];
      auto row = std::find_if(sheet.codes.begin(), sheet.codes.end(),
                              [&](const report::SheetCode& c) { return c.name == code.name; });
      if (row == sheet.codes.end()) {
        if (e.observation.seen.category == 2 && is_of_list(session, e.entry)) continue;
        sheet.codes.push_back({session.drawing().modules[code.module.index()].name, code.name, code.text, "", ""});
        row = sheet.codes.end() - 1;
      }
      (after ? row->after : row->before) = shown;
      continue;
    }
    const evidence::Prediction predicted =
        engine.campaign().predict_one(engine.case_of(belief.rows[best], e.repaired), what);
    auto row = std::find_if(sheet.readings.begin(), sheet.readings.end(), [&](const report::SheetReading& r) {
      return r.what == e.what && after && r.seen_after.empty();
    });
    if (row == sheet.readings.end()) {
      report::SheetReading fresh;
      fresh.what = e.what;
      fresh.where = configuration_text(session.loom(), what.configuration);
      sheet.readings.push_back(fresh);
      row = sheet.readings.end() - 1;
    }
    (after ? row->predicted_after : row->predicted_before) = prediction_text(session.drawing(), what, predicted);
    (after ? row->seen_after : row->seen_before) = shown;
    for (const infer::Doubt& doubt : belief.explanations.worth_repeating)
      row->contradicts = row->contradicts || doubt.column == i;
  }
  for (const OtherCode& other : session.others)
    sheet.codes.push_back({other.module, other.name, "not of this drawing", other.word, ""});
  for (const ProofRow& row : proof.rows) {
    if (!row.after.empty() || row.what.kind == evidence::Kind::kCode) continue;
    for (report::SheetReading& reading : sheet.readings)
      if (reading.what == row.words && reading.predicted_after.empty())
        reading.predicted_after = prediction_text(session.drawing(), row.what, row.predicted);
  }
}

std::vector<report::SheetCaution> cautions_of(const Session& session) {
  std::vector<report::SheetCaution> cautions;
  for (const job::Entry& entry : session.job.entries) {
    if (entry.struck || entry.verb != "did") continue;
    const base::Result<Deed> deed = parse_deed(session.loom(), entry.what);
    if (!deed || deed->kind != Deed::Kind::kMake) continue;
    const candidates::ActRecord record = candidates::describe(session.drawing(), session.loom().netlist, deed->act);
    const bool known = std::any_of(cautions.begin(), cautions.end(),
                                   [&](const report::SheetCaution& c) { return c.where == record.name; });
    if (!record.caution.empty() && !known) cautions.push_back({record.name, record.caution});
  }
  return cautions;
}

// "2026-11-25T19:25:51Z" as people write it.
std::string on_paper(const std::string& time) {
  return time.size() < 16 ? time : time.substr(0, 10) + " " + time.substr(11, 5) + " UTC";
}

report::Sheet make_sheet(Context& context, Session& session) {
  BeliefEngine& engine = *session.engine;
  const Belief& belief = engine.update(session.evidence, context.cancel);
  const Proof proof = make_proof(context, session);
  const std::size_t cause = cause_of(session, belief);
  report::Sheet sheet;
  sheet.vehicle = session.job.vehicle;
  sheet.customer = session.job.customer;
  sheet.complaint = session.job.complaint;
  sheet.opened = on_paper(session.job.opened_at);
  sheet.closed = on_paper(session.job.closed_at);
  sheet.cause = described(engine, belief, belief.posterior.suspects[cause]);
  sheet.cause_probability = belief.posterior.suspects[cause].probability;
  for (const infer::Explanation& e : belief.explanations.suspects) {
    if (e.suspect != cause) continue;
    for (const infer::Reason& reason : e.reasons)
      if (reason.factor > 2.0)
        sheet.reasons.push_back(session.evidence[reason.column].what + " " + session.evidence[reason.column].shows);
  }
  for (const fault::RepairId r : session.repaired) {
    const fault::Repair& repair = engine.loom().universe.repairs[r.index()];
    sheet.correction += (sheet.correction.empty() ? "" : "; ") + repair.name;
    if (!repair.part.empty())
      sheet.parts.push_back(
          {repair.part, "", 1.0, repair.part_money > 0.0 ? std::optional<double>(repair.part_money) : std::nullopt});
  }
  if (!session.repaired.empty()) {
    sheet.proof_probability = proof.fixed;
    sheet.proof = proof.contradicted ? "What was seen after the repair does not fit a vehicle in order"
                  : proof.complete   ? "Every sign of the trouble was seen again and is in order"
                                     : "Not every sign of the trouble was seen again after the repair";
  }
  add_readings(sheet, session, belief, proof, cause);
  for (const job::Entry& entry : session.job.entries) {
    if (entry.struck) continue;
    sheet.minutes += entry.minutes;
    if (entry.verb == "note") sheet.found_on_the_way.push_back(entry.what);
  }
  sheet.cautions = cautions_of(session);
  for (const LeftBehind& item : left_behind(session)) sheet.left_behind.push_back(item.name);
  for (const std::size_t s : belief.ranked) {
    const infer::Suspect& suspect = belief.posterior.suspects[s];
    if (s == cause || (suspect.probability < 0.02 && !engine.own_repairs_of(suspect).empty())) continue;
    sheet.also_possible.push_back({described(engine, belief, suspect), suspect.probability});
  }
  for (const infer::Doubt& doubt : belief.explanations.worth_repeating)
    sheet.repeat_worth.push_back(session.evidence[doubt.column].what + " " + session.evidence[doubt.column].shows);
  return sheet;
}

Json amount_json(const std::optional<double>& value) { return value ? Json(*value) : Json(); }

Json job_sheet_lists(const report::Sheet& sheet) {
  Json json, readings = Json::array(), codes = Json::array(), parts = Json::array(), cautions = Json::array(),
             possible = Json::array();
  for (const report::SheetReading& one : sheet.readings)
    readings.push_back({{"what", one.what},
                        {"where", one.where},
                        {"predicted_before", one.predicted_before},
                        {"seen_before", one.seen_before},
                        {"predicted_after", one.predicted_after},
                        {"seen_after", one.seen_after},
                        {"contradicts", one.contradicts}});
  for (const report::SheetCode& one : sheet.codes)
    codes.push_back(
        {{"module", one.module}, {"name", one.name}, {"text", one.text}, {"before", one.before}, {"after", one.after}});
  for (const report::SheetPart& one : sheet.parts)
    parts.push_back({{"what", one.what},
                     {"part_number", one.part_number},
                     {"quantity", one.quantity},
                     {"price_each", amount_json(one.price_each)}});
  for (const report::SheetCaution& one : sheet.cautions) cautions.push_back({{"where", one.where}, {"text", one.text}});
  for (const report::SheetSuspect& one : sheet.also_possible)
    possible.push_back({{"fault", one.fault}, {"probability", one.probability}});
  json = {{"readings", readings},
          {"codes", codes},
          {"parts", parts},
          {"cautions", cautions},
          {"also_possible", possible},
          {"found_on_the_way", sheet.found_on_the_way},
          {"worth_repeating", sheet.repeat_worth},
          {"reasons", sheet.reasons}};
  return json;
}

Json job_sheet_json(const report::Sheet& sheet) {
  Json json{{"complaint", sheet.complaint},
            {"cause", sheet.cause},
            {"cause_probability", sheet.cause_probability},
            {"correction", sheet.correction},
            {"minutes", sheet.minutes},
            {"left_behind", sheet.left_behind},
            {"workshop", sheet.workshop},
            {"technician", sheet.technician},
            {"vehicle", sheet.vehicle},
            {"customer", sheet.customer},
            {"opened", sheet.opened},
            {"closed", sheet.closed},
            {"proof", sheet.proof},
            {"proof_probability", amount_json(sheet.proof_probability)},
            {"labour_per_hour", amount_json(sheet.labour_rate_per_hour)},
            {"tax_percent", amount_json(sheet.tax_percent)},
            {"currency", sheet.currency},
            {"job_code", sheet.job_code}};
  json.update(job_sheet_lists(sheet));
  return json;
}

// Who hands it over, and the job itself for a machine.
void add_workshop(report::Sheet& sheet, const job::Profile& profile, const job::Job& job) {
  for (const std::string* line : {&profile.workshop, &profile.address, &profile.phone})
    if (!line->empty()) sheet.workshop += (sheet.workshop.empty() ? "" : "\n") + *line;
  sheet.technician = profile.technician;
  sheet.labour_rate_per_hour = profile.labour_per_hour;
  sheet.tax_percent = profile.tax_percent;
  sheet.currency = profile.currency;
  if (const base::Result<std::string> code = formats::write_job_code(job)) sheet.job_code = *code;
}

// How a file is written follows from its name.
base::Result<base::Done> refuse_unknown_end(const std::string& out) {
  for (const char* known : {".pdf", ".html", ".json", ".txt"})
    if (out.ends_with(known)) return base::Done{};
  const std::string name = out.substr(out.rfind('/') + 1);
  if (name.find('.') == std::string::npos) return base::Done{};
  return base::make_error("sheet.unknown-end", out + ": no kind of sheet ends so",
                          "name it .pdf, .html, .json or .txt");
}

base::Result<std::string> sheet_document(const report::Sheet& sheet, const std::string& out, bool html,
                                         const Json& json) {
  if (out.ends_with(".pdf")) return report::format_sheet_pdf(sheet);
  if (html || out.ends_with(".html")) return report::format_sheet_html(sheet);
  if (out.ends_with(".json")) return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
  return report::format_sheet_text(sheet);
}

// For a screen, which has no files: the document in the reply.
Reply tell_pdf(const report::Sheet& sheet, const std::string& job, Reply reply) {
  const base::Result<std::string> pdf = report::format_sheet_pdf(sheet);
  if (!pdf) return fail(pdf.diagnostics());
  const std::optional<std::string> text = to_base64(*pdf);
  HS_CHECK(text.has_value(), "base64 takes any bytes");
  reply.result["pdf"] = *text;
  reply.text = "The sheet of " + job + " as PDF is in the reply (--json); to a file: halfsplit sheet --out sheet.pdf\n";
  return reply;
}

}  // namespace

Reply op_sheet(Context& context, const Arguments& arguments) {
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  const base::Result<job::Profile> profile = load_profile(context);
  if (!profile) return fail(profile.diagnostics());
  const base::Result<base::Done> known =
      arguments.has("html") ? base::Done{} : refuse_unknown_end(arguments.get("out"));
  if (!known) return fail(known.diagnostics());
  report::Sheet sheet = make_sheet(context, *opened);
  add_workshop(sheet, *profile, opened->job);
  Reply reply;
  reply.diagnostics = opened->notes;
  reply.result = job_sheet_json(sheet);
  const std::string out = arguments.get("out");
  if (arguments.has("pdf") && out.empty()) return tell_pdf(sheet, opened->path, std::move(reply));
  const base::Result<std::string> text = sheet_document(sheet, out, arguments.has("html"), reply.result);
  if (!text) return fail(text.diagnostics());
  if (!out.ends_with(".pdf")) reply.result["sheet"] = *text;
  if (out.empty()) {
    reply.text = *text;
    return reply;
  }
  const base::Result<base::Done> written = context.files.write(out, *text);
  if (!written) return fail(written.diagnostics());
  reply.text = "wrote " + out + "\n";
  reply.result["file"] = out;
  return reply;
}

}  // namespace halfsplit::app
