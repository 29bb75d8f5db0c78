// SPDX-License-Identifier: Apache-2.0
#include "app/proof.h"

#include <algorithm>
#include <cmath>

#include "evidence/observable_text.h"
#include "infer/likelihood.h"

namespace halfsplit::app {

namespace {

// Ours. What is told as proven; whether another look is still worth its minute is weighed by `next` (advice.h).
constexpr double kToldProven = 0.9;

bool is_symptom_kind(evidence::Kind kind) {
  return kind == evidence::Kind::kCode || kind == evidence::Kind::kLive || kind == evidence::Kind::kLook ||
         kind == evidence::Kind::kAnswers || evidence::is_recorded(kind);
}

// Does a reading agree with a prediction? Within four of its spreads, or a category with some chance.
bool agrees(const evidence::Observable& what, const evidence::Seen& seen, const evidence::Prediction& prediction) {
  for (const evidence::Component& c : prediction.components) {
    if (c.weight < 0.05) continue;
    if (!evidence::is_numeric(what.kind)) {
      if (seen.category >= 0 && static_cast<double>(c.category[static_cast<std::size_t>(seen.category)]) > 0.05)
        return true;
    } else if (c.over_range || seen.over_range) {
      if (c.over_range && seen.over_range) return true;
    } else if (std::abs(seen.value - c.mean) <= 4.0 * c.sigma + 1e-9) {
      return true;
    }
  }
  return prediction.components.empty();
}

// Something apart, fitted or exchanged for the moment.
bool is_altered(const circuit::Configuration& c) {
  return !c.unplugged.empty() || !c.fitted.empty() || !c.swapped_parts.empty() || !c.swapped_modules.empty();
}

}  // namespace

Proof make_proof(Context& context, Session& session) {
  Proof proof;
  proof.repaired = !session.repaired.empty();
  BeliefEngine& engine = *session.engine;
  const circuit::Configuration work = candidates::at_work(session.drawing());
  for (const Evidence& e : session.evidence) {
    evidence::Observable what = e.observation.what;
    // What was seen with something apart or fitted proves nothing about the vehicle as it leaves, and a code that a
    // stand-in sets is no sign of the trouble.
    if (is_altered(what.configuration) || !evidence::asks_the_circuit(what.kind)) continue;
    if (is_symptom_kind(what.kind)) what.configuration = work;
    const bool after = e.repaired.size() == session.repaired.size() && proof.repaired;
    auto row = std::find_if(proof.rows.begin(), proof.rows.end(), [&](const ProofRow& r) { return r.what == what; });
    if (row == proof.rows.end()) {
      proof.rows.push_back({what, evidence::format_observable(session.drawing(), session.loom().netlist, what), "",
                            engine.campaign().predict_one({}, what), "", false, false});
      row = proof.rows.end() - 1;
    }
    const std::string shown = evidence::format_seen(session.drawing(), e.observation.what, e.observation.seen);
    const bool as_at_work = e.observation.what.configuration == what.configuration;
    const bool fits = agrees(what, e.observation.seen,
                             as_at_work ? row->predicted : engine.campaign().predict_one({}, e.observation.what));
    if (after) {
      row->after = shown;
      row->fits = fits;
    } else {
      row->before = shown;
      row->symptom = row->symptom || (!fits && is_symptom_kind(what.kind));
    }
  }
  // One good look does not clear a fault that comes and goes: the chance of being mended must have grown as well.
  if (proof.repaired) proof.fixed = engine.update(session.evidence, context.cancel).fixed;
  const bool signs = std::any_of(proof.rows.begin(), proof.rows.end(), [](const ProofRow& r) { return r.symptom; });
  proof.complete = proof.repaired;
  for (const ProofRow& row : proof.rows) {
    const bool seen = !row.after.empty();
    // A code seen active before must be gone; a stored one may stay stored until it is cleared.
    if (row.symptom && !(seen && row.fits)) proof.complete = false;
    if (seen && (row.symptom || !signs)) proof.looked = true;
    if (seen && !row.fits) proof.contradicted = true;
  }
  // A trouble that shows in no sign is proven by what else was seen.
  proof.complete = proof.complete && proof.looked && (signs || !proof.contradicted);
  proof.again = proof.complete && proof.fixed < kToldProven;
  proof.complete = proof.complete && !proof.again;
  return proof;
}

}  // namespace halfsplit::app
