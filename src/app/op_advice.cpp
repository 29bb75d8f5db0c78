// SPDX-License-Identifier: Apache-2.0
// Operations that think: suspects and next.
#include <algorithm>
#include <cmath>
#include <limits>

#include "app/advice.h"
#include "app/code_report.h"
#include "app/meter_file.h"
#include "app/ops.h"
#include "app/tell.h"
#include "app/why_not.h"
#include "app/words.h"
#include "base/number.h"
#include "evidence/observable_text.h"

namespace halfsplit::app {

namespace {

constexpr double kSure = 0.99;       // a repair this likely is not called a gamble
constexpr double kLeastTold = 1e-5;  // suspects less probable are left out of a group

std::string factor_text(double factor) {
  if (factor >= 1.0)
    return "x " + (factor > 1e6 ? std::string("1000000+") : base::format_significant(factor, factor < 10 ? 2 : 3));
  return "/ " +
         (factor < 1e-6 ? std::string("1000000+") : base::format_significant(1.0 / factor, factor > 0.1 ? 2 : 3));
}

std::string forecast_text(const circuit::Loom& loom, const evidence::Observable& what,
                          const infer::Forecast& forecast) {
  if (!forecast.known) return "says nothing";
  if (!forecast.settled) return "finds no rest";
  evidence::Seen seen;
  if (!evidence::is_numeric(what.kind)) {
    seen.category = forecast.category;
    return evidence::format_seen(loom, what, seen) + " " + percent(forecast.category_chance);
  }
  if (forecast.over_range > 0.5) return what.kind == evidence::Kind::kLive ? "no value" : "OL";
  seen.value = std::abs(forecast.mean) < 5e-4 ? 0.0 : forecast.mean;
  return evidence::format_seen(loom, what, seen);
}

// The strongest reasons of a suspect, a line each.
std::string reasons_text(const Session& session, const infer::Explanation& explanation, std::size_t most) {
  std::vector<const infer::Reason*> order;
  for (const infer::Reason& reason : explanation.reasons) order.push_back(&reason);
  std::stable_sort(order.begin(), order.end(), [](const infer::Reason* a, const infer::Reason* b) {
    return std::abs(a->log_ratio) > std::abs(b->log_ratio);
  });
  std::string text;
  for (std::size_t i = 0; i < order.size() && i < most; ++i) {
    const Evidence& e = session.evidence[order[i]->column];
    text += "        " +
            wrap(padded(factor_text(order[i]->factor), 9) + e.what + " " + e.shows + "; it predicts " +
                     forecast_text(session.drawing(), e.observation.what, order[i]->predicted),
                 17) +
            "\n";
  }
  return text;
}

Json reasons_json(const Session& session, const infer::Explanation& explanation) {
  Json list = Json::array();
  for (const infer::Reason& reason : explanation.reasons) {
    const Evidence& e = session.evidence[reason.column];
    list.push_back({{"entry", e.entry},
                    {"what", e.what},
                    {"seen", e.shows},
                    {"predicts", forecast_text(session.drawing(), e.observation.what, reason.predicted)},
                    {"factor", reason.factor}});
  }
  return list;
}

const infer::Explanation* explanation_of(const Belief& belief, std::size_t suspect) {
  for (const infer::Explanation& e : belief.explanations.suspects)
    if (e.suspect == suspect) return &e;
  return nullptr;
}

std::string place_text(const LoadedLoom& loom, circuit::PlaceId place) {
  return place.is_none() ? "" : " [" + loom.loom.places[place.index()].name + "]";
}

Json outcome_json(evidence::Kind kind, const AdviceOutcome& o) {
  Json json{{"name", o.outcome.name}, {"chance", o.chance}};
  if (o.outcome.over_range) json["over_range"] = true;
  if (o.outcome.category >= 0) {
    json["category"] = o.outcome.category;
    json["word"] = std::string(evidence::categories(kind)[static_cast<std::size_t>(o.outcome.category)]);
  }
  if (!o.outcome.over_range && o.outcome.category < 0) {
    if (std::isfinite(o.outcome.low)) json["low"] = o.outcome.low;
    if (std::isfinite(o.outcome.high)) json["high"] = o.outcome.high;
    json["middle"] = o.outcome.middle;
  }
  Json suspects = Json::array();
  for (const auto& [name, p] : o.suspects) suspects.push_back({{"name", name}, {"probability", p}});
  json["suspects"] = suspects;
  return json;
}

std::string range_text(const Advice& advice, const meters::MeterProfile& meter) {
  if (advice.test->kind != evidence::Kind::kOhms) return "";
  double top = 0.0;
  for (const AdviceOutcome& o : advice.outcomes) top = std::max(top, o.outcome.over_range ? 0.0 : o.outcome.middle);
  const double range = meters::range_of(meter, meters::Instrument::kOhms, top).up_to;
  return ", " + base::format_quantity(range, base::Unit::kOhm) + " range";
}

void tell_steps(const Advice& advice, Reply& reply) {
  Json steps = Json::array();
  for (const AdviceStep& step : advice.steps) {
    steps.push_back({{"act", step.act}, {"minutes", step.minutes}, {"caution", step.caution}});
    reply.text += "  First    " + padded(step.act, 44) + " " + minutes_text(step.minutes) + "\n";
    if (!step.caution.empty()) reply.text += wrap("           ! " + step.caution, 13) + "\n";
  }
  reply.result["steps"] = steps;
  Json cautions = Json::array();
  for (const std::string& caution : advice.cautions) {
    cautions.push_back(caution);
    reply.text += wrap("  Caution  ! " + caution, 13) + "\n";
  }
  reply.result["cautions"] = cautions;
}

void tell_worth(const Advice& advice, Reply& reply) {
  reply.result["expected_minutes"] = advice.expected_minutes;
  reply.result["lower_bound_minutes"] = advice.lower_bound_minutes;
  reply.result["gap"] = std::isfinite(advice.gap) ? Json(advice.gap) : Json(nullptr);
  reply.result["exact"] = advice.exact;
  reply.result["tests_considered"] = advice.tests_considered;
  Json alternatives = Json::array();
  for (const AdviceAlternative& a : advice.alternatives)
    alternatives.push_back({{"what", a.what}, {"expected_minutes", a.expected_minutes}});
  reply.result["alternatives"] = alternatives;
  std::string why =
      advice.kind == Advice::Kind::kLeave
          ? "putting back, and by its chance a second visit and what it takes, come to about " +
                minutes_text(advice.expected_minutes)
          : "from here to a proven repair takes about " + minutes_text(advice.expected_minutes) + " this way";
  if (!advice.alternatives.empty())
    why += "; next best: \"" + advice.alternatives.front().what + "\", " +
           minutes_text(advice.alternatives.front().expected_minutes);
  if (advice.exact)
    why += ". No plan of the tests weighed is shorter.";
  else if (advice.gap <= 1.0)
    why += ". At most " + percent(advice.gap) + " above the best possible plan.";
  else if (std::isfinite(advice.gap))
    why += ". At most " + base::format_significant(1.0 + advice.gap, 2) + " times the best possible plan.";
  else
    why += ".";
  reply.text +=
      wrap("  Why      " + why + " (" + std::to_string(advice.tests_considered) + " tests weighed)", 11) + "\n";
}

// The whole state of the vehicle when the test is taken: as it stands, and the steps done.
circuit::Configuration state_after(const Session& session, const Advice& advice) {
  circuit::Configuration state = session.state;
  for (const AdviceStep& step : advice.steps) {
    const base::Result<Deed> deed = parse_deed(session.loom(), step.act);
    if (deed && deed->kind != Deed::Kind::kRepair) candidates::apply(state, deed->act, deed->kind == Deed::Kind::kMake);
  }
  return state;
}

Reply tell_test(const Session& session, const Advice& advice) {
  Reply reply;
  const LoadedLoom& loom = session.loom();
  reply.result["kind"] = "test";
  reply.result["test"] = observable_json(loom, *advice.test);
  if (!advice.test->black.is_none() || advice.test->kind == evidence::Kind::kClamp)
    reply.result["meter"] = meter_json(session.engine->meter());
  reply.text = "Next: " + advice.what + (advice.read_before.empty() ? "" : ", once more") + "\n";
  if (!advice.read_before.empty()) reply.result["read_before"] = advice.read_before;
  tell_steps(advice, reply);
  if (!advice.test->red.is_none()) {
    reply.text +=
        (advice.test->black.is_none() ? "  At       " : "  Red      ") + point_text(loom, advice.test->red) + "\n";
    if (!advice.test->black.is_none()) reply.text += "  Black    " + point_text(loom, advice.test->black) + "\n";
  }
  reply.text += "  With     " + instrument_text(*advice.test, session.engine->meter()) +
                range_text(advice, session.engine->meter()) + (advice.long_lead ? ", long lead" : "") + "\n";
  reply.text += "  State    " + wrap(configuration_text(loom, advice.test->configuration), 11) + "\n";
  reply.text += "  Takes    " + minutes_text(advice.setup_minutes + advice.minutes);
  if (advice.undo_minutes > 0.05) reply.text += ", and " + minutes_text(advice.undo_minutes) + " to put all back";
  reply.text += "\n";
  reply.result["state"] = configuration_json(loom, state_after(session, advice));
  reply.result["long_lead"] = advice.long_lead;
  reply.result["minutes"] = advice.setup_minutes + advice.minutes;
  reply.result["undo_minutes"] = advice.undo_minutes;
  if (!advice.read_before.empty())
    reply.text += wrap("  Again    it showed " + advice.read_before +
                           " before; what comes and goes may show something else in another moment, and a slip does "
                           "not happen twice",
                       11) +
                  "\n";
  reply.text += "  If it shows              chance  then most likely\n";
  Json outcomes = Json::array();
  for (const AdviceOutcome& o : advice.outcomes) {
    outcomes.push_back(outcome_json(advice.test->kind, o));
    if (o.chance < 0.004) continue;
    std::string then;
    for (std::size_t i = 0; i < o.suspects.size() && i < 3 && (i == 0 || o.suspects[i].second > 0.08); ++i)
      then += (i == 0 ? "" : ", ") + o.suspects[i].first + " " + percent(o.suspects[i].second);
    reply.text += "    " + padded(o.outcome.name, 22) + " " + padded(percent(o.chance), 7) + wrap(then, 34) + "\n";
  }
  reply.result["outcomes"] = outcomes;
  tell_worth(advice, reply);
  reply.text += "  Answer   halfsplit saw VALUE     (can't reach it: halfsplit skip)\n";
  return reply;
}

// Why mend now: with what chance it is wrong, what a wrong part costs, and what testing first would come to.
std::string stop_text(const Advice& advice) {
  const std::string wrong = percent(1.0 - advice.repair_probability);
  const auto test = std::find_if(advice.alternatives.begin(), advice.alternatives.end(),
                                 [](const AdviceAlternative& a) { return a.kind == plan::ActionKind::kTest; });
  if (advice.repair_probability > kSure || test == advice.alternatives.end())
    return "testing on would cost more than it saves. " + wrong + " that this is the wrong repair.";
  const bool part = advice.part_money > 0.0;
  return std::string(part ? "the part is" : "this is") + " cheaper than testing on: with \"" + test->what +
         "\" first the job would take " + minutes_text(test->expected_minutes - advice.expected_minutes) +
         " longer on average. " + wrong + (part ? " that it is the wrong part, " : " that it is the wrong repair, ") +
         (part ? base::format_significant(advice.part_money, 3) + " of money and " : "") +
         minutes_text(advice.minutes) + " spent in vain.";
}

Reply tell_leave(const Advice& advice) {
  Reply reply;
  reply.result["kind"] = "leave";
  reply.result["probability"] = advice.repair_probability;
  reply.result["return_minutes"] = advice.return_minutes;
  reply.text = "Next: put all back and leave it   (mended with " + percent(advice.repair_probability) + ")\n";
  tell_steps(advice, reply);
  reply.text +=
      wrap("  Stop     another look or test would cost more than the second visit of " +
               minutes_text(advice.return_minutes) + " that it might save; " +
               percent(1.0 - advice.repair_probability) + " that the trouble comes back. Say so to whoever drives it.",
           11) +
      "\n";
  tell_worth(advice, reply);
  reply.text += "  Then     halfsplit proof, halfsplit close\n";
  return reply;
}

Reply tell_repair(const Session& session, const Advice& advice) {
  Reply reply;
  reply.result["kind"] = "repair";
  reply.result["repair"] = advice.repair;
  Json repairs = Json::array();
  for (const fault::RepairId id : advice.repairs) repairs.push_back(session.loom().universe.repairs[id.index()].name);
  reply.result["repairs"] = repairs;
  reply.result["probability"] = advice.repair_probability;
  reply.result["part_money"] = advice.part_money;
  reply.result["minutes"] = advice.minutes;
  reply.text = "Next: " + advice.repair + "   (right with " + percent(advice.repair_probability) + ")\n";
  tell_steps(advice, reply);
  Json parts = Json::array();
  for (const fault::RepairId id : advice.repairs) {
    const fault::Repair& repair = session.loom().universe.repairs[id.index()];
    if (!repair.part.empty()) parts.push_back(repair.part);
    if (!repair.part.empty())
      reply.text += "  Part     " + repair.part + place_text(session.loom(), repair.place) + "\n";
  }
  reply.result["parts"] = parts;
  reply.text += "  Takes    " + minutes_text(advice.minutes) + " and the proof\n";
  if (advice.repairs.empty())
    reply.text += wrap(
                      "  Why      what was seen fits nothing on this drawing well enough: look beyond it (other "
                      "circuits, modules, mechanics), or repeat a reading that contradicts the rest",
                      11) +
                  "\n";
  else
    reply.text += wrap("  Stop     " + stop_text(advice), 11) + "\n";
  reply.result["wrong_part_chance"] = advice.part_money > 0.0 ? 1.0 - advice.repair_probability : 0.0;
  tell_worth(advice, reply);
  if (!advice.repairs.empty()) reply.text += "  Then     halfsplit did \"repaired " + advice.repair + "\"\n";
  return reply;
}

// Fuses to replace with the group's repair, as its first suspect has it.
std::vector<fault::RepairId> fuses_too(BeliefEngine& engine, const Belief& belief, const infer::RepairGroup& group) {
  std::vector<fault::RepairId> more = engine.repairs_of(belief, belief.posterior.suspects[group.suspects.front()]);
  std::erase_if(more, [&](fault::RepairId r) {
    return std::find(group.repairs.begin(), group.repairs.end(), r) != group.repairs.end();
  });
  return more;
}

Json repair_names(const LoadedLoom& loom, const std::vector<fault::RepairId>& repairs) {
  Json names = Json::array();
  for (const fault::RepairId id : repairs) names.push_back(loom.universe.repairs[id.index()].name);
  return names;
}

std::string and_repairs(const LoadedLoom& loom, const std::vector<fault::RepairId>& repairs) {
  std::string text;
  for (const fault::RepairId id : repairs) text += " and " + loom.universe.repairs[id.index()].name;
  return text;
}

}  // namespace

Reply tell_suspects(Context& context, Session& session, bool all, bool quick) {
  BeliefEngine& engine = *session.engine;
  const LoadedLoom& loom = session.loom();
  const Belief& belief = engine.update(session.evidence, context.cancel);
  Reply reply;
  reply.diagnostics = session.notes;
  const std::size_t most = all ? 1000 : 8;
  std::vector<fault::RepairId> repair_of;
  for (const fault::Fault& f : loom.universe.faults) repair_of.push_back(f.repair);
  Json groups = Json::array();
  std::size_t shown = 0;
  for (const infer::RepairGroup& group : infer::group_by_repair(belief.posterior, repair_of)) {
    if (group.probability < 0.002 && shown >= 3 && !group.repairs.empty()) continue;
    std::string name;
    for (const fault::RepairId id : group.repairs)
      name += (name.empty() ? "" : " and ") + loom.universe.repairs[id.index()].name;
    if (group.repairs.empty()) name = "not on this drawing";
    Json members = Json::array();
    const bool print = shown < most || group.repairs.empty();
    const std::vector<fault::RepairId> also = fuses_too(engine, belief, group);
    if (print)
      reply.text +=
          padded(percent(group.probability), 7) + name + and_repairs(loom, also) +
          (group.repairs.empty() ? "" : place_text(loom, loom.universe.repairs[group.repairs.front().index()].place)) +
          "\n";
    for (std::size_t i = 0; i < group.suspects.size(); ++i) {
      const infer::Suspect& suspect = belief.posterior.suspects[group.suspects[i]];
      Json member{{"name", engine.suspect_name(suspect)}, {"probability", suspect.probability}};
      const infer::Explanation* why = explanation_of(belief, group.suspects[i]);
      if (why != nullptr) member["reasons"] = reasons_json(session, *why);
      std::string description;
      for (const fault::FaultId id : infer::faults_of(suspect.faults))
        description += (description.empty() ? "" : "; ") + loom.universe.faults[id.index()].description;
      if (!group.repairs.empty() && suspect.probability > kLeastTold) {
        const std::vector<fault::FaultId> melted = engine.melted_by(belief, suspect);
        description += melted_text(loom, melted);
        if (!melted.empty()) member["blows"] = melted_json(loom, melted);
      }
      member["description"] = description;
      if (suspect.probability > kLeastTold || i == 0) members.push_back(member);
      if (print && !group.repairs.empty() && (i == 0 || suspect.probability > 0.01))
        reply.text += "    " + padded(percent(suspect.probability), 7) + wrap(description, 11) + "\n";
      if (print && i == 0 && shown < 3 && why != nullptr) reply.text += reasons_text(session, *why, 4);
    }
    Json told{{"repair", name}, {"probability", group.probability}, {"suspects", members}};
    if (!also.empty()) told["also"] = repair_names(loom, also);
    groups.push_back(told);
    ++shown;
  }
  reply.result["groups"] = groups;
  add_codes(session, belief, reply);
  Json unexplained = Json::array();
  for (const std::size_t column : belief.explanations.unexplained) {
    unexplained.push_back(session.evidence[column].entry);
    reply.text += wrap("Nothing here explains entry " + std::to_string(session.evidence[column].entry) + ": " +
                           session.evidence[column].what + " " + session.evidence[column].shows,
                       2) +
                  "\n";
  }
  Json repeat = Json::array();
  for (const infer::Doubt& doubt : belief.explanations.worth_repeating) {
    repeat.push_back(session.evidence[doubt.column].entry);
    reply.text += wrap("Worth repeating: entry " + std::to_string(session.evidence[doubt.column].entry) + " (" +
                           session.evidence[doubt.column].what + " " + session.evidence[doubt.column].shows +
                           ") contradicts the rest; a slip with " + percent(doubt.chance_of_mis_probe),
                       2) +
                  "\n";
  }
  reply.result["unexplained"] = unexplained;
  reply.result["worth_repeating"] = repeat;
  reply.result["pairs_evaluated"] = belief.pairs_evaluated;
  reply.result["pairs_unexplored_at_most"] = belief.unexplored;
  if (!session.evidence.empty() && !quick) {
    const Advice advice = advise(context, session);
    Json alike = Json::array();
    for (const std::vector<std::string>& names : advice.alike) {
      alike.push_back(names);
      std::string list;
      for (std::size_t i = 0; i < names.size() && i < 6; ++i) list += (i == 0 ? "" : ", ") + names[i];
      reply.text += wrap("No test offered can part: " + list + (names.size() > 6 ? " ..." : ""), 2) + "\n";
    }
    reply.result["alike"] = alike;
  }
  reply.text += "A diagnosis is a probability. The maker's instructions and local rules come first.\n";
  return reply;
}

namespace {

constexpr double kNoLimit = std::numeric_limits<double>::infinity();

Reply tell_why_not(Context& context, Session& session, const std::string& words) {
  const base::Result<WhyNot> why = why_not(context, session, words);
  if (!why) return fail(why.diagnostics());
  Reply reply;
  reply.diagnostics = session.notes;
  reply.text = why_not_text(*why);
  reply.result = {{"why_not", why_not_json(*why)}};
  return reply;
}

}  // namespace

namespace {

// Nothing fits into the minutes that are left: what would be best with more of them, and how long it takes.
Reply tell_too_short(const Advice& advice, double within_minutes) {
  const std::string& best = advice.kind == Advice::Kind::kRepair ? advice.repair : advice.what;
  const double minutes = advice.setup_minutes + advice.minutes;
  Reply reply;
  reply.result = {{"kind", "nothing"},
                  {"within_minutes", within_minutes},
                  {"best", best},
                  {"minutes", minutes},
                  {"tests_considered", advice.tests_considered}};
  reply.text = "Next: nothing fits into " + minutes_text(within_minutes) + "\n" +
               wrap("  With more time: " + best + ", " + minutes_text(minutes), 4) + "\n";
  return reply;
}

}  // namespace

Reply tell_next(Context& context, Session& session, double within_minutes) {
  const Advice advice = advise(context, session, within_minutes);
  Reply reply;
  session.job.asked.reset();
  if (advice.none_fits) {
    reply = tell_too_short(advice, within_minutes);
    reply.diagnostics.insert(reply.diagnostics.end(), session.notes.begin(), session.notes.end());
    reply.result["job"] = session.path;
    return reply;
  }
  switch (advice.kind) {
    case Advice::Kind::kTest: {
      reply = tell_test(session, advice);
      job::Asked asked;
      asked.what = advice.what;
      for (const AdviceStep& step : advice.steps) asked.first.push_back(step.act);
      asked.minutes = advice.minutes;
      session.job.asked = asked;
      break;
    }
    case Advice::Kind::kRepair:
      reply = tell_repair(session, advice);
      break;
    case Advice::Kind::kProve:
      reply.result["kind"] = "prove";
      reply.text = "Next: prove the repair.   halfsplit proof\n";
      break;
    case Advice::Kind::kLeave:
      reply = tell_leave(advice);
      break;
    case Advice::Kind::kNothing:
      reply.result["kind"] = "nothing";
      reply.text = "There is nothing more to test on this drawing.\n";
      break;
  }
  reply.diagnostics.insert(reply.diagnostics.end(), session.notes.begin(), session.notes.end());
  reply.result["job"] = session.path;
  return reply;
}

base::Result<base::Done> save_asked(Context& context, Session& session, const std::optional<job::Asked>& before) {
  const std::optional<job::Asked>& now = session.job.asked;
  const bool same =
      now.has_value() == before.has_value() && (!now || (now->what == before->what && now->first == before->first));
  if (same || context.cancel.cancelled()) return base::Done{};  // cut short, it is not what was asked for
  return save(context, session);
}

Reply op_suspects(Context& context, const Arguments& arguments) {
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  return tell_suspects(context, *opened, arguments.has("all"), arguments.has("quick"));
}

Reply op_next(Context& context, const Arguments& arguments) {
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  Session& session = *opened;
  if (arguments.has("why-not")) return tell_why_not(context, session, arguments.get("why-not"));
  const base::Result<double> within = number_option(arguments, "within", kNoLimit, 0.5, 1e4);
  if (!within) return fail(within.diagnostics());
  const std::optional<job::Asked> before = session.job.asked;
  Reply reply = tell_next(context, session, *within);
  if (const base::Result<base::Done> done = save_asked(context, session, before); !done)
    return fail(done.diagnostics());
  return reply;
}

}  // namespace halfsplit::app
