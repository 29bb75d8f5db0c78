// SPDX-License-Identifier: Apache-2.0
// Practice on a virtual vehicle: the program plays (--auto), or a practice job is opened and `ask` answers from the
// vehicle. Scored in minutes.
#include <algorithm>

#include "app/advice.h"
#include "app/ops.h"
#include "app/proof.h"
#include "app/virtual_vehicle.h"
#include "app/words.h"
#include "base/number.h"
#include "evidence/observable_text.h"

namespace halfsplit::app {

namespace {

constexpr int kMostSteps = 40;

// "121.7", "OL", "dim": as it would be typed.
std::string typed(const evidence::Observable& what, const evidence::Seen& seen) {
  if (!evidence::is_numeric(what.kind))
    return std::string(evidence::categories(what.kind)[static_cast<std::size_t>(seen.category)]);
  if (seen.over_range) return what.kind == evidence::Kind::kLive ? "---" : "OL";
  return base::format_significant(seen.value, 6);
}

struct Score {
  std::string fault;
  bool right = false;  // mended at the end
  bool gave_up = false;
  int tests = 0;
  int repairs = 0;
  int wrong_parts = 0;
  double minutes = 0.0;
};

class Player {
 public:
  Player(Context& context, std::shared_ptr<BeliefEngine> engine, VirtualVehicle vehicle)
      : context_(context), vehicle_(std::move(vehicle)) {
    session_.engine = std::move(engine);
    session_.path = "(practice)";
  }

  Score play() {
    score_.fault = vehicle_.hidden().name;
    open();
    for (int step = 0; step < kMostSteps && !done_ && !context_.cancel.cancelled(); ++step)
      one_step(advise(context_, session_));
    leave();
    score_.right = vehicle_.mended(session_.repaired);
    return score_;
  }

  [[nodiscard]] const std::string& story() const { return story_; }

 private:
  void say(const std::string& line) { story_ += line + "\n"; }

  void enter(const std::string& verb, const std::string& what, const std::string& shows) {
    add_entry(context_, session_, verb, what, shows, 0.0);
  }

  void open() {
    for (const circuit::SetupId setup : session_.drawing().in_use)
      enter("did", session_.drawing().setups[setup.index()].name, "");
    say("Complaint");
    for (const evidence::Observation& o : vehicle_.complaint()) see(o.what, o.seen, "  ");
  }

  void see(const evidence::Observable& what, const evidence::Seen& seen, const std::string& indent) {
    const std::string words = evidence::format_observable(session_.drawing(), session_.loom().netlist, what);
    enter("saw", words, typed(what, seen));
    say(indent + words + ": " + evidence::format_seen(session_.drawing(), what, seen));
  }

  void say_standing() {
    const Belief& belief = session_.engine->update(session_.evidence, context_.cancel);
    std::string text;
    for (std::size_t i = 0; i < belief.ranked.size() && i < 3; ++i) {
      const infer::Suspect& suspect = belief.posterior.suspects[belief.ranked[i]];
      text += (i == 0 ? "" : ", ") + session_.engine->suspect_name(suspect) + " " + percent(suspect.probability);
    }
    say(wrap("  Now      " + text, 11));
  }

  void do_steps(const Advice& advice) {
    for (const AdviceStep& step : advice.steps) {
      enter("did", step.act, "");
      say("  First    " + padded(step.act, 44) + " " + minutes_text(step.minutes));
      if (!step.caution.empty()) say(wrap("           ! " + step.caution, 13));
    }
    score_.minutes += advice.setup_minutes + advice.minutes;
  }

  void one_step(const Advice& advice) {
    switch (advice.kind) {
      case Advice::Kind::kTest:
        ++score_.tests;
        say("Test " + std::to_string(score_.tests));
        do_steps(advice);
        for (const std::string& caution : advice.cautions) say(wrap("  Caution  ! " + caution, 13));
        see(*advice.test, vehicle_.see(in_state(*advice.test), session_.repaired), "  Read     ");
        return say_standing();
      case Advice::Kind::kRepair:
        return repair(advice);
      case Advice::Kind::kProve:
        return prove();
      case Advice::Kind::kNothing:
        done_ = true;
        score_.gave_up = true;
    }
  }

  // The state as the entries made it, not as the advice meant it: a step left out would show.
  evidence::Observable in_state(evidence::Observable what) const {
    what.configuration = candidates::electrical_part(session_.drawing(), session_.state);
    return what;
  }

  void repair(const Advice& advice) {
    if (advice.repairs.empty()) {
      say("What was seen fits nothing on this drawing well enough: giving up.");
      done_ = true;
      score_.gave_up = true;
      return;
    }
    say("Stop testing: " + advice.repair + "  (right with " + percent(advice.repair_probability) + ")");
    do_steps(advice);
    for (const std::string& caution : advice.cautions) say(wrap("  Caution  ! " + caution, 13));
    for (const fault::RepairId id : advice.repairs) {
      const fault::Repair& record = session_.loom().universe.repairs[id.index()];
      enter("did", "repaired " + record.name, "");
      ++score_.repairs;
      if (id != vehicle_.hidden().repair && record.part_money > 20.0) ++score_.wrong_parts;
    }
    say("Proof");
    prove();
  }

  // Back to work, and every sign of the trouble looked at again.
  void prove() {
    put_back();
    constexpr int kMostLooks = 5;  // a fault that comes and goes needs more than one good look
    Proof proof = make_proof(context_, session_);
    for (int look = 0; look < kMostLooks; ++look) {
      score_.minutes += 2.0;
      for (const ProofRow& row : proof.rows)
        if (row.symptom) see(row.what, vehicle_.see(row.what, session_.repaired), "  ");
      proof = make_proof(context_, session_);
      if (!proof.again) break;
    }
    done_ = proof.complete || proof.again;
    if (!done_) say("  not mended");
    if (!done_ && !proof.contradicted) done_ = true;
  }

  void put_back() {
    const circuit::Configuration work = candidates::at_work(session_.drawing());
    std::vector<candidates::Act> acts = candidates::acts_of(session_.state);
    std::reverse(acts.begin(), acts.end());
    for (const candidates::Act& act : acts) {
      if (candidates::is_done(work, act) ||
          (act.kind == candidates::Act::Kind::kSetup && !candidates::is_electrical(session_.drawing(), act.setup)))
        continue;
      const candidates::ActRecord record = candidates::describe(session_.drawing(), session_.loom().netlist, act);
      enter("did", record.undo_name, "");
      say("  First    " + padded(record.undo_name, 44) + " " + minutes_text(record.undo_minutes));
      score_.minutes += record.undo_minutes;
    }
    for (const candidates::Act& act : candidates::acts_of(work)) {
      if (candidates::is_done(session_.state, act)) continue;
      const candidates::ActRecord record = candidates::describe(session_.drawing(), session_.loom().netlist, act);
      enter("did", record.name, "");
      say("  First    " + padded(record.name, 44) + " " + minutes_text(record.do_minutes));
      score_.minutes += record.do_minutes;
    }
  }

  void leave() {
    for (const LeftBehind& item : left_behind(session_)) {
      say("  Put back " + padded(item.undo_name, 44) + " " + minutes_text(item.minutes));
      score_.minutes += item.minutes;
    }
  }

  Context& context_;
  Session session_;
  VirtualVehicle vehicle_;
  Score score_;
  std::string story_;
  bool done_ = false;
};

Json score_json(const Score& s) {
  return {{"fault", s.fault},    {"right", s.right},     {"gave_up", s.gave_up},
          {"tests", s.tests},    {"repairs", s.repairs}, {"wrong_parts", s.wrong_parts},
          {"minutes", s.minutes}};
}

base::Result<double> number_of(const Arguments& arguments, const std::string& name, double fallback, double low,
                               double high) {
  if (!arguments.has(name)) return fallback;
  const base::Result<base::Quantity> q = base::parse_quantity(arguments.get(name));
  if (!q) return q.diagnostics();
  if (q->over_range || q->value < low || q->value > high)
    return base::make_error("args.range",
                            name + " is a number from " + base::format_number(low) + " to " +
                                base::format_number(high) + ", not " + arguments.get(name),
                            "");
  return q->value;
}

}  // namespace

Reply op_rehearse(Context& context, const Arguments& arguments) {
  const base::Result<std::shared_ptr<BeliefEngine>> engine = context.cache.engine(context, arguments.get("loom"));
  if (!engine) return fail(engine.diagnostics());
  const base::Result<double> seed = number_of(arguments, "seed", 1.0, 0.0, 1e15);
  const base::Result<double> severity = number_of(arguments, "severity", -1.0, 0.0, 1.0);
  const base::Result<double> mis_probe = number_of(arguments, "mis-probe", 0.0, 0.0, 1.0);
  const base::Result<double> count = number_of(arguments, "count", 1.0, 1.0, 1e6);
  for (const base::Result<double>* r : {&seed, &severity, &mis_probe, &count})
    if (!*r) return fail(r->diagnostics());
  Reply reply;
  Json runs = Json::array();
  std::size_t right = 0;
  std::size_t wrong_parts = 0;
  double minutes = 0.0;
  const std::size_t total = static_cast<std::size_t>(*count);
  for (std::size_t i = 0; i < total && !context.cancel.cancelled(); ++i) {
    VehicleOptions options{static_cast<std::uint64_t>(*seed) + i, arguments.get("fault"), *severity, *mis_probe};
    base::Result<VirtualVehicle> vehicle = VirtualVehicle::make((*engine)->loom(), options);
    if (!vehicle) return fail(vehicle.diagnostics());
    if (context.progress != nullptr && total > 1)
      context.progress->report("rehearsing", static_cast<double>(i) / static_cast<double>(total));
    Player player(context, *engine, std::move(vehicle).value());
    const Score score = player.play();
    if (total == 1) reply.text += player.story();
    reply.text += "seed " + std::to_string(options.seed) + ": " + padded(score.fault, 30) +
                  (score.right     ? " mended"
                   : score.gave_up ? " given up"
                                   : " NOT mended") +
                  ", " + std::to_string(score.tests) + " tests, " + std::to_string(score.repairs) + " repair" +
                  (score.repairs == 1 ? "" : "s") + ", " + minutes_text(score.minutes) + "\n";
    runs.push_back(score_json(score));
    right += score.right ? 1U : 0U;
    wrong_parts += static_cast<std::size_t>(score.wrong_parts);
    minutes += score.minutes;
  }
  const double n = static_cast<double>(std::max<std::size_t>(runs.size(), 1));
  reply.result = {{"runs", runs},
                  {"right_share", static_cast<double>(right) / n},
                  {"wrong_parts", wrong_parts},
                  {"mean_minutes", minutes / n}};
  if (total > 1)
    reply.text += std::to_string(right) + " of " + std::to_string(runs.size()) + " mended, " +
                  std::to_string(wrong_parts) + " wrong parts, " + minutes_text(minutes / n) + " on average\n";
  return reply;
}

}  // namespace halfsplit::app
