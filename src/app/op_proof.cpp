// SPDX-License-Identifier: Apache-2.0
// Operations at the end of a job: proof, close.
#include <algorithm>

#include "app/book_files.h"
#include "app/learned_rates.h"
#include "app/ops.h"
#include "app/proof.h"
#include "app/tell.h"
#include "app/words.h"
#include "formats/job_text.h"

namespace halfsplit::app {

namespace {

void tell_state_steps(const Session& session, Reply& reply) {
  const circuit::Configuration work = candidates::at_work(session.drawing());
  const circuit::Configuration now = candidates::electrical_part(session.drawing(), session.state);
  for (const candidates::Act& act : candidates::acts_of(now))
    if (!candidates::is_done(work, act))
      reply.text +=
          "  First    " + candidates::describe(session.drawing(), session.loom().netlist, act).undo_name + "\n";
  for (const candidates::Act& act : candidates::acts_of(work))
    if (!candidates::is_done(now, act))
      reply.text += "  First    " + candidates::describe(session.drawing(), session.loom().netlist, act).name + "\n";
}

// Read once by the maker's procedure; nobody is sent there a second time.
bool is_at_airbag(const Session& session, const evidence::Observable& what) {
  for (const circuit::PointId p : {what.red, what.black})
    if (!p.is_none() &&
        candidates::carries(session.drawing(), session.loom().netlist.points[p.index()], circuit::Hazard::kAirbag))
      return true;
  return false;
}

// What a proven job of the book teaches its rates, and the names of the faults confirmed; none: it is not of the book.
struct Teaching {
  store::Taught taught;
  std::vector<std::string> names;
};

Teaching teaching_of(Context& context, Session& session) {
  Teaching teaching;
  if (context.book == nullptr || !session.path.starts_with("book:")) return teaching;
  const std::vector<fault::FaultId> confirmed = confirmed_faults(context, session);
  const fault::Universe defaults = fault::make_universe(session.drawing(), session.loom().netlist);
  teaching.taught = {session.drawing().name, lessons_of(defaults, confirmed)};
  if (teaching.taught.lessons.empty()) return teaching;
  for (const fault::FaultId id : confirmed) teaching.names.push_back(defaults.faults[id.index()].name);
  return teaching;
}

// Closed and learned in one step, so that whatever ends the program leaves both or neither.
base::Result<base::Done> save_and_learn(Context& context, Session& session, const store::Taught& taught) {
  if (taught.lessons.empty()) return save(context, session);
  const base::Result<std::string> text = formats::write_job_text(session.job);
  if (!text) return text.diagnostics();
  return context.book->write_and_learn(session.path, *text, taught);
}

}  // namespace

Reply op_proof(Context& context, const Arguments& arguments) {
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  return tell_proof(context, *opened);
}

Reply tell_proof(Context& context, Session& session) {
  const Proof proof = make_proof(context, session);
  Reply reply;
  reply.diagnostics = session.notes;
  reply.text = proof.repaired ? "Proof of: " : "What the vehicle should show when it is mended:\n";
  if (proof.repaired) {
    for (std::size_t i = 0; i < session.repaired.size(); ++i)
      reply.text += (i == 0 ? "" : ", ") + session.loom().universe.repairs[session.repaired[i].index()].name;
    reply.text += "\n";
  }
  tell_state_steps(session, reply);
  reply.text += "  " + padded("look again at", 32) + " " + padded("before", 12) + " " + padded("should show", 20) +
                " seen after\n";
  Json rows = Json::array();
  for (const ProofRow& row : proof.rows) {
    const std::string predicted = prediction_text(session.drawing(), row.what, row.predicted);
    rows.push_back({{"what", row.words},
                    {"before", row.before},
                    {"configuration", configuration_json(session.loom(), row.what.configuration)},
                    {"predicted", prediction_json(row.what, row.predicted)},
                    {"after", row.after},
                    {"fits", row.fits},
                    {"symptom", row.symptom}});
    const std::string verdict = row.after.empty() ? (row.symptom                       ? "..."
                                                     : is_at_airbag(session, row.what) ? "not again: airbag circuit"
                                                                                       : "-")
                                                  : row.after + (row.fits ? "  fits" : "  DOES NOT FIT");
    reply.text += "  " + padded(row.words, 32) + " " + padded(row.before, 12) + " " + padded(predicted, 20) + " " +
                  verdict + "\n";
  }
  const std::vector<LeftBehind> left = left_behind(session);
  reply.text += left_behind_text(left);
  if (proof.repaired && proof.complete && left.empty())
    reply.text +=
        "Proven, as far as this drawing goes: mended with " + percent(proof.fixed) + ". Close it: halfsplit close\n";
  if (proof.contradicted)
    reply.text += "Something seen after the repair does not fit a vehicle in order: halfsplit next\n";
  if (proof.again)
    reply.text += "All fits, but a fault that comes and goes could be hiding (mended with " + percent(proof.fixed) +
                  "): look again, after some minutes and while wiggling.\n";
  if (proof.repaired && !proof.complete && !proof.contradicted && !proof.again)
    reply.text += "Not proven yet: see the rows with \"...\" again and enter them with halfsplit saw.\n";
  reply.result = {{"repaired", proof.repaired},           {"complete", proof.complete}, {"look_again", proof.again},
                  {"contradicted", proof.contradicted},   {"fixed", proof.fixed},       {"rows", rows},
                  {"left_behind", left_behind_json(left)}};
  return reply;
}

Reply op_close(Context& context, const Arguments& arguments) {
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  Session& session = *opened;
  const std::vector<LeftBehind> left = left_behind(session);
  const bool anyway = arguments.has("anyway");
  if (!left.empty() && !anyway) {
    Reply refused =
        fail(base::make_error("close.left-behind",
                              std::to_string(left.size()) + " thing" + (left.size() == 1 ? " is" : "s are") +
                                  " still fitted, unplugged or raised",
                              "undo them first, or close with --anyway and it stands on the sheet"));
    refused.text = left_behind_text(left);
    refused.result["left_behind"] = left_behind_json(left);
    return refused;
  }
  session.job.closed_at = iso_time(context.clock.now_s());
  session.job.asked.reset();
  const Proof proof = make_proof(context, session);
  const Teaching teaching = proof.complete ? teaching_of(context, session) : Teaching{};
  const base::Result<base::Done> done = save_and_learn(context, session, teaching.taught);
  if (!done) return fail(done.diagnostics());
  Reply reply;
  reply.result = {
      {"closed_at", session.job.closed_at}, {"proven", proof.complete}, {"left_behind", left_behind_json(left)}};
  if (!teaching.names.empty()) reply.result["learned"] = teaching.names;
  reply.text = "closed " + session.path + (proof.complete ? ", repair proven\n" : ", repair not proven\n") +
               "The sheet: halfsplit sheet --html --out sheet.html\n";
  return reply;
}

}  // namespace halfsplit::app
