// SPDX-License-Identifier: Apache-2.0
#include "app/job_steps.h"

#include <algorithm>
#include <cmath>

#include "app/words.h"
#include "infer/likelihood.h"

namespace halfsplit::app {

namespace {

constexpr double kBetterTurned = 10.0;  // than a reading that tells nothing: then it is worth a word

// Red and black exchanged is the commonest slip with a meter (common practice): does the reading with its sign turned
// fit one of the leading suspects?
bool looks_turned(const BeliefEngine& engine, const Belief& belief, std::size_t column) {
  infer::Reading reading = belief.readings[column];
  const bool has_sign = reading.kind == evidence::Kind::kVolts || reading.kind == evidence::Kind::kClamp;
  if (!has_sign || reading.seen.over_range) return false;
  reading.seen.value = -reading.seen.value;
  const double nothing = std::log(kBetterTurned * infer::broad_density(reading, engine.noise()));
  for (std::size_t i = 0; i < belief.ranked.size() && i < 3; ++i) {
    const std::size_t row = likeliest_row(belief, belief.posterior.suspects[belief.ranked[i]]);
    const evidence::Prediction& prediction = belief.table.at(row, column);
    if (prediction.components.empty()) continue;
    if (infer::log_likelihood(prediction, {}, reading, engine.noise()) > nothing) return true;
  }
  return false;
}

Reply with_job(const Session& session, Reply reply) {
  reply.diagnostics.insert(reply.diagnostics.end(), session.notes.begin(), session.notes.end());
  reply.result["job"] = session.path;
  return reply;
}

// The three likeliest suspects in a line each: what every new reading is answered with.
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
  Json turned = Json::array();
  for (std::size_t column = 0; column < session.evidence.size(); ++column) {
    const std::vector<std::size_t>& unexplained = belief.explanations.unexplained;
    const bool odd = std::find(unexplained.begin(), unexplained.end(), column) != unexplained.end() ||
                     std::any_of(belief.explanations.worth_repeating.begin(), belief.explanations.worth_repeating.end(),
                                 [&](const infer::Doubt& doubt) { return doubt.column == column; });
    if (!odd || !looks_turned(engine, belief, column)) continue;
    const int entry = session.evidence[column].entry;
    turned.push_back(entry);
    reply.text += wrap("red and black the other way round? Then " + column_of(column) +
                           " fits: look, and if so: halfsplit undo " + std::to_string(entry) +
                           ", and enter it with its sign turned",
                       5) +
                  "\n";
  }
  if (!turned.empty()) reply.result["probes_turned"] = turned;
}

}  // namespace

Reply saved(Context& context, Session& session, Reply reply) {
  const base::Result<base::Done> done = save(context, session);
  if (!done) return fail(done.diagnostics());
  return with_job(session, std::move(reply));
}

Reply saved_with_standing(Context& context, Session& session, Reply reply, bool brief) {
  const base::Result<base::Done> done = save(context, session);
  if (!done) return fail(done.diagnostics());
  if (!brief) add_standing(context, session, reply);
  return with_job(session, std::move(reply));
}

void reopen(Session& session, Reply& reply) {
  if (session.job.closed_at.empty()) return;
  reply.text += "this job was closed at " + session.job.closed_at + "; it is open again\n";
  session.job.closed_at.clear();
}

}  // namespace halfsplit::app
