// SPDX-License-Identifier: Apache-2.0
#include "app/player.h"

#include <algorithm>

#include "app/words.h"
#include "base/number.h"
#include "evidence/observable_text.h"

namespace halfsplit::app {

namespace {

constexpr int kMostSteps = 40;
constexpr std::size_t kMostAbsentTold = 6;  // of looms with more codes those that are absent are told as a number

}  // namespace

// "121.7", "OL", "dim": as it would be typed.
std::string typed(const evidence::Observable& what, const evidence::Seen& seen) {
  if (!evidence::is_numeric(what.kind))
    return std::string(evidence::categories(what.kind)[static_cast<std::size_t>(seen.category)]);
  if (seen.over_range) return what.kind == evidence::Kind::kLive ? "---" : "OL";
  return base::format_significant(seen.value, 6);
}

Player::Player(Context& context, std::shared_ptr<BeliefEngine> engine, VirtualVehicle vehicle, Chooser strategy)
    : context_(context), vehicle_(std::move(vehicle)), strategy_(std::move(strategy)) {
  session_.engine = std::move(engine);
  session_.path = "(practice)";
}

Score Player::play() {
  score_.fault = vehicle_.name();
  score_.kind = vehicle_.kind();
  open();
  for (int step = 0; step < kMostSteps && !done_ && !context_.cancel.cancelled(); ++step) {
    const Advice advice = strategy_ ? strategy_(context_, session_) : advise(context_, session_);
    if (step == 0) note_start(advice);
    one_step(advice);
  }
  leave();
  score_.right = vehicle_.whole(session_.repaired);
  score_.first_right = !stops_.empty() && stops_.front().right;
  score_.minutes = score_.spent.minutes();
  score_.paid_minutes += score_.minutes;
  return score_;
}

void Player::note_start(const Advice& advice) {
  score_.expected_minutes = advice.expected_minutes;
  score_.bound_minutes = advice.lower_bound_minutes;
  score_.exact = advice.exact;
}

void Player::enter(const std::string& verb, const std::string& what, const std::string& shows) {
  add_entry(context_, session_, verb, what, shows, 0.0);
}

void Player::open() {
  for (const circuit::SetupId setup : session_.drawing().in_use)
    enter("did", session_.drawing().setups[setup.index()].name, "");
  say("Complaint");
  const bool many = session_.drawing().codes.size() > kMostAbsentTold;
  std::size_t absent = 0;
  for (const evidence::Observation& o : vehicle_.complaint()) {
    const bool told = !many || o.what.kind != evidence::Kind::kCode || o.seen.category < 2;
    absent += told ? 0 : 1;
    see(o.what, o.seen, told ? "  " : "");
  }
  if (absent > 0) say("  " + std::to_string(absent) + " more codes: absent");
  for (const Told& told : told_first_) {
    enter(told.verb, told.what, told.shows);
    say(wrap("  " + told.what + ": " + told.shows, 4));
  }
}

void Player::see(const evidence::Observable& what, const evidence::Seen& seen, const std::string& indent) {
  const std::string words = evidence::format_observable(session_.drawing(), session_.loom().netlist, what);
  enter("saw", words, typed(what, seen));
  if (indent.empty()) return;
  say(indent + words + ": " + evidence::format_seen(session_.drawing(), what, seen));
}

void Player::say_standing() {
  const Belief& belief = session_.engine->update(session_.evidence, context_.cancel);
  std::string text;
  for (std::size_t i = 0; i < belief.ranked.size() && i < 3; ++i) {
    const infer::Suspect& suspect = belief.posterior.suspects[belief.ranked[i]];
    text += (i == 0 ? "" : ", ") + session_.engine->suspect_name(suspect) + " " + percent(suspect.probability);
  }
  say(wrap("  Now      " + text, 11));
}

void Player::do_steps(const Advice& advice) {
  for (const AdviceStep& step : advice.steps) {
    enter("did", step.act, "");
    say("  First    " + padded(step.act, 44) + " " + minutes_text(step.minutes));
    if (!step.caution.empty()) say(wrap("           ! " + step.caution, 13));
  }
}

void Player::one_step(const Advice& advice) {
  switch (advice.kind) {
    case Advice::Kind::kTest:
      ++score_.tests;
      say("Test " + std::to_string(score_.tests));
      do_steps(advice);
      score_.spent.setups += advice.setup_minutes;
      score_.spent.readings += advice.minutes;
      for (const std::string& caution : advice.cautions) say(wrap("  Caution  ! " + caution, 13));
      see(*advice.test, vehicle_.see(in_state(*advice.test), session_.repaired), "  Read     ");
      say_standing();
      return note_claims();
    case Advice::Kind::kRepair:
      return repair(advice);
    case Advice::Kind::kProve:
      return prove();
    case Advice::Kind::kLeave:
      say("Leave it: mended with " + percent(advice.repair_probability));
      done_ = true;
      return;
    case Advice::Kind::kNothing:
      done_ = true;
      score_.gave_up = true;
  }
}

// The state as the entries made it, not as the advice meant it: a step left out would show.
evidence::Observable Player::in_state(evidence::Observable what) const {
  candidates::place_in(session_.drawing(), session_.loom().netlist, session_.state, what);
  return what;
}

bool Player::needs(fault::RepairId repair) const {
  return std::find(vehicle_.needs().begin(), vehicle_.needs().end(), repair) != vehicle_.needs().end();
}

void Player::repair(const Advice& advice) {
  if (advice.repairs.empty()) {
    say("What was seen fits nothing on this drawing well enough: giving up.");
    done_ = true;
    score_.gave_up = true;
    return;
  }
  looks_ = 0;
  std::vector<fault::RepairId> with = session_.repaired;
  with.insert(with.end(), advice.repairs.begin(), advice.repairs.end());
  const bool right = vehicle_.whole(with);
  stops_.push_back({std::min(1.0, advice.repair_probability), right});
  say("Stop testing: " + advice.repair + "  (right with " + percent(advice.repair_probability) + ")");
  do_steps(advice);
  const bool needed =
      std::any_of(advice.repairs.begin(), advice.repairs.end(), [&](fault::RepairId r) { return needs(r); });
  (needed ? score_.spent.repairs : score_.spent.wrong_repairs) += advice.setup_minutes + advice.minutes;
  for (const std::string& caution : advice.cautions) say(wrap("  Caution  ! " + caution, 13));
  for (const fault::RepairId id : advice.repairs) {
    const fault::Repair& record = session_.loom().universe.repairs[id.index()];
    enter("did", "repaired " + record.name, "");
    ++score_.repairs;
    score_.paid_minutes += record.part_money / session_.job.kit.money_per_hour * 60.0;
    if (!needs(id) && record.part_money > 20.0) ++score_.wrong_parts;
  }
  say("Proof");
  prove();
}

// Back to work, and every sign of the trouble looked at again; without a sign all that was read at work. Whether one
// look is enough is for whoever chooses what is next.
void Player::prove() {
  const auto proven = [](const Proof& proof) { return proof.complete && proof.fixed > kProvenAbove; };
  if (looks_ > 0 && proven(make_proof(context_, session_))) {  // a test since then was the last look
    done_ = true;
    return;
  }
  put_back();
  constexpr int kMostLooks = 3;  // at what does not fit though the repair is very likely right
  score_.spent.proofs += 2.0;
  ++looks_;
  const circuit::Configuration work = candidates::at_work(session_.drawing());
  const Proof before = make_proof(context_, session_);
  const bool signs =
      std::any_of(before.rows.begin(), before.rows.end(), [](const ProofRow& row) { return row.symptom; });
  for (const ProofRow& row : before.rows)
    if (signs ? row.symptom : row.what.configuration == work)
      see(row.what, vehicle_.see(row.what, session_.repaired), "  ");
  const Proof proof = make_proof(context_, session_);
  done_ = proven(proof) || (proof.fixed > kProvenAbove && looks_ >= kMostLooks);
  if (!done_) say(proof.complete || proof.again ? "  all fits; mended with " + percent(proof.fixed) : "  not mended");
}

void Player::put_back() {
  const circuit::Configuration work = candidates::at_work(session_.drawing());
  const auto change = [&](const candidates::Act& act, bool make) {
    const candidates::ActRecord record = candidates::describe(session_.drawing(), session_.loom().netlist, act);
    const std::string& words = make ? record.name : record.undo_name;
    const double minutes = make ? record.do_minutes : record.undo_minutes;
    enter("did", words, "");
    say("  First    " + padded(words, 44) + " " + minutes_text(minutes));
    score_.spent.proofs += minutes;
  };
  std::vector<candidates::Act> acts = candidates::acts_of(session_.state);
  std::reverse(acts.begin(), acts.end());
  for (const candidates::Act& act : acts) {
    const bool access =
        act.kind == candidates::Act::Kind::kSetup && !candidates::is_electrical(session_.drawing(), act.setup);
    if (!access && !candidates::is_done(work, act)) change(act, false);
  }
  for (const candidates::Act& act : candidates::acts_of(work))
    if (!candidates::is_done(session_.state, act)) change(act, true);
}

void Player::leave() {
  for (const LeftBehind& item : left_behind(session_)) {
    say("  Put back " + padded(item.undo_name, 44) + " " + minutes_text(item.minutes));
    score_.spent.leaving += item.minutes;
  }
}

// Every repair in question, as believed now, against the truth.
void Player::note_claims() {
  const Belief& belief = session_.engine->update(session_.evidence, context_.cancel);
  const std::vector<double> chances = repair_chances(*session_.engine, belief);
  for (std::size_t r = 0; r < chances.size(); ++r)
    if (chances[r] > kLeastClaimed) claims_.push_back({chances[r], needs(fault::RepairId(r))});
}

}  // namespace halfsplit::app
