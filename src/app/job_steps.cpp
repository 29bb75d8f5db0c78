// SPDX-License-Identifier: Apache-2.0
#include "app/job_steps.h"

#include "app/words.h"

namespace halfsplit::app {

Reply saved(Context& context, Session& session, Reply reply) {
  const base::Result<base::Done> done = save(context, session);
  if (!done) return fail(done.diagnostics());
  reply.diagnostics.insert(reply.diagnostics.end(), session.notes.begin(), session.notes.end());
  reply.result["job"] = session.path;
  return reply;
}

void add_standing(Context& context, Session& session, Reply& reply) {
  BeliefEngine& engine = *session.engine;
  const Belief& belief = engine.update(session.evidence, context.cancel);
  Json list = Json::array();
  std::string text;
  for (std::size_t i = 0; i < belief.ranked.size() && i < 3; ++i) {
    const infer::Suspect& suspect = belief.posterior.suspects[belief.ranked[i]];
    list.push_back({{"suspect", engine.suspect_name(suspect)}, {"probability", suspect.probability}});
    text += (text.empty() ? "" : ", ") + engine.suspect_name(suspect) + " " + percent(suspect.probability);
  }
  reply.result["leading"] = list;
  reply.text += wrap((session.repaired.empty() ? "now: " : "what it was: ") + text, 5) + "\n";
  const bool looked = !session.evidence.empty() && session.evidence.back().repaired.size() == session.repaired.size();
  if (!session.repaired.empty() && looked) reply.text += "mended: " + percent(belief.fixed) + "\n";
  const auto column_of = [&](std::size_t column) {
    return "entry " + std::to_string(session.evidence[column].entry) + " (" + session.evidence[column].what + " " +
           session.evidence[column].shows + ")";
  };
  Json repeat = Json::array();
  for (const infer::Doubt& doubt : belief.explanations.worth_repeating) {
    repeat.push_back(session.evidence[doubt.column].entry);
    reply.text += wrap("worth repeating: " + column_of(doubt.column) + " contradicts the rest", 5) + "\n";
  }
  for (const std::size_t column : belief.explanations.unexplained)
    reply.text += wrap("nothing on this drawing explains " + column_of(column), 5) + "\n";
  reply.result["worth_repeating"] = repeat;
}

void reopen(Session& session, Reply& reply) {
  if (session.job.closed_at.empty()) return;
  reply.text += "this job was closed at " + session.job.closed_at + "; it is open again\n";
  session.job.closed_at.clear();
}

}  // namespace halfsplit::app
