// SPDX-License-Identifier: Apache-2.0
// Operations that write into a job: open, saw, did, undo, skip, kit, close, status.
#include <algorithm>

#include "app/advice.h"
#include "app/meter_file.h"
#include "app/ops.h"
#include "app/words.h"
#include "base/number.h"
#include "evidence/observable_text.h"

namespace halfsplit::app {

namespace {

std::string slug(const std::string& name) {
  std::string out;
  for (const char c : name) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
    if (plain)
      out += c;
    else if (c >= 'A' && c <= 'Z')
      out += static_cast<char>(c + 32);
    else if (!out.empty() && out.back() != '-')
      out += '-';
  }
  while (out.ends_with('-')) out.pop_back();
  return out.empty() ? "job" : out.substr(0, 40);
}

Reply saved(Context& context, Session& session, Reply reply) {
  const base::Result<base::Done> done = save(context, session);
  if (!done) return fail(done.diagnostics());
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
}

// Splits "ohms A B 121.7" or "L1 dim" into test and value when no value was given apart.
struct Spoken {
  std::string what, shows;
};

Spoken split_spoken(const LoadedLoom& loom, const std::string& what, const std::string& shows) {
  if (!shows.empty()) return {what, shows};
  const std::size_t cut = what.rfind(' ');
  if (cut == std::string::npos) return {what, ""};
  const std::size_t before = cut == 0 ? std::string::npos : what.rfind(' ', cut - 1);
  // "121.7" or, with a blank in it, "4.7 kohm".
  for (const std::size_t at : {cut, before}) {
    if (at == std::string::npos) continue;
    const std::string first = what.substr(0, at);
    const std::string last = what.substr(at + 1);
    for (const std::string& prefix :
         {std::string(), std::string("look "), std::string("code "), std::string("module "), std::string("live ")}) {
      const base::Result<evidence::Observable> parsed =
          evidence::parse_observable(loom.loom, loom.netlist, prefix + first);
      if (!parsed || !evidence::parse_seen(*parsed, last)) continue;
      return {prefix + first, last};
    }
  }
  return {what, ""};
}

// A bare value answers the test last asked; what it asked to be done first is taken as done.
base::Result<Spoken> answer_asked(Context& context, Session& session, const std::string& value, Reply& reply) {
  if (!session.job.asked)
    return base::make_error("saw.nothing-asked", "\"" + value + "\" answers nothing: no test was proposed",
                            "say what was read: halfsplit saw \"volts A B\" " + value);
  const job::Asked asked = *session.job.asked;
  const LoadedLoom& loom = session.loom();
  const base::Result<evidence::Observable> what = evidence::parse_observable(loom.loom, loom.netlist, asked.what);
  if (!what) return what.diagnostics();
  const base::Result<evidence::Seen> seen = evidence::parse_seen(*what, value);
  if (!seen) return seen.diagnostics();
  for (const std::string& act : asked.first) {
    const base::Result<Deed> deed = parse_deed(loom, act);
    if (!deed) return deed.diagnostics();
    candidates::Act a = deed->act;
    if (candidates::is_done(session.state, a) == (deed->kind == Deed::Kind::kMake)) continue;
    const candidates::ActRecord record = candidates::describe(loom.loom, loom.netlist, a);
    add_entry(context, session, "did", format_deed(loom, *deed), "",
              deed->kind == Deed::Kind::kMake ? record.do_minutes : record.undo_minutes);
    reply.text += "did " + format_deed(loom, *deed) + "\n";
  }
  return Spoken{asked.what, value};
}

// A closed job that goes on is open again, and says so.
void reopen(Session& session, Reply& reply) {
  if (session.job.closed_at.empty()) return;
  reply.text += "this job was closed at " + session.job.closed_at + "; it is open again\n";
  session.job.closed_at.clear();
}

bool same_state(const Session& session, const evidence::Observable& what, const Evidence& earlier) {
  evidence::Observable now = what;
  now.configuration = candidates::electrical_part(session.drawing(), session.state);
  return earlier.observation.what == now;
}

base::Result<double> told_minutes(const Arguments& arguments, double otherwise) {
  if (!arguments.has("minutes")) return otherwise;
  const base::Result<base::Quantity> told = base::parse_quantity(arguments.get("minutes"));
  if (!told) return told.diagnostics();
  return told->value;
}

// Fuses that what is now mended had melted, and that nobody has replaced: each as its repair.
std::vector<fault::RepairId> fuses_still_blown(Context& context, Session& session) {
  BeliefEngine& engine = *session.engine;
  const auto done = [&](fault::RepairId r) {
    return std::find(session.repaired.begin(), session.repaired.end(), r) != session.repaired.end();
  };
  const Belief& belief = engine.update(session.evidence, context.cancel);
  std::vector<fault::RepairId> fuses;
  for (const std::size_t s : belief.ranked) {
    const infer::Suspect& suspect = belief.posterior.suspects[s];
    const std::vector<fault::RepairId> own = engine.own_repairs_of(suspect);
    if (own.empty() || !std::all_of(own.begin(), own.end(), done)) continue;
    for (const fault::RepairId r : engine.repairs_of(belief, suspect))
      if (!done(r)) fuses.push_back(r);
    break;
  }
  return fuses;
}

// Several are entries of their own; minutes told are those of all together, and stand at the first.
Reply did_repairs(Context& context, Session& session, const std::vector<Deed>& deeds, const Arguments& arguments) {
  const LoadedLoom& loom = session.loom();
  Reply reply;
  const base::Result<double> told = told_minutes(arguments, 0.0);
  if (!told) return fail(told.diagnostics());
  reopen(session, reply);
  session.job.asked.reset();
  std::string all;
  for (const Deed& deed : deeds) {
    const double own = loom.universe.repairs[deed.repair.index()].minutes;
    const double minutes = !arguments.has("minutes") ? own : all.empty() ? *told : 0.0;
    reply.result["entry"] = add_entry(context, session, "did", format_deed(loom, deed), "", minutes);
    all += (all.empty() ? "repaired " : " and ") + loom.universe.repairs[deed.repair.index()].name;
  }
  reply.text += "did " + all + "\n";
  Json also = Json::array();
  for (const fault::RepairId fuse : fuses_still_blown(context, session)) {
    const std::string& name = loom.universe.repairs[fuse.index()].name;
    also.push_back(name);
    reply.text +=
        wrap("  ! what was mended had blown a fuse: " + name + " as well (halfsplit did \"repaired " + name + "\")",
             4) +
        "\n";
  }
  reply.text += "Prove it: halfsplit proof\n";
  reply.result["did"] = all;
  if (!also.empty()) reply.result["also"] = also;
  reply.result["configuration"] = configuration_json(loom, session.state);
  reply.result["left_behind"] = left_behind_json(left_behind(session));
  return saved(context, session, std::move(reply));
}

}  // namespace

Reply op_open(Context& context, const Arguments& arguments) {
  const std::string loom_path = arguments.get("loom");
  const base::Result<ToldMeter> meter = meter_for_new_job(context, arguments);
  if (!meter) return fail(meter.diagnostics());
  const base::Result<std::shared_ptr<BeliefEngine>> engine =
      context.cache.engine(context, loom_path, or_common(meter->meter));
  if (!engine) return fail(engine.diagnostics());
  Session session;
  session.job.meter = meter->meter;
  session.engine = *engine;
  const std::string given = arguments.get("job");
  session.path = given.empty() ? slug(session.drawing().name) + ".job.toml" : given;
  if (context.files.exists(session.path) && !arguments.has("force"))
    return fail(base::make_error("open.exists", "there is already a job " + session.path,
                                 "name another with --job, or go on with it: halfsplit next --job " + session.path));
  const std::size_t cut = session.path.rfind('/');
  const bool same_folder = cut == std::string::npos || loom_path.starts_with('/');
  std::string up;
  if (!same_folder) {
    const std::string folder = session.path.substr(0, cut + 1);
    if (loom_path.starts_with(folder)) {
      session.job.loom = loom_path.substr(folder.size());
    } else if (folder.starts_with('/')) {
      return fail(base::make_error("open.path", "a job elsewhere needs the loom's full path",
                                   "give the loom as /.../" + loom_path));
    } else {
      for (const char c : folder) up += c == '/' ? "../" : "";
      session.job.loom = up + loom_path;
    }
  } else {
    session.job.loom = loom_path;
  }
  session.job.loom_print = session.loom().print;
  session.job.drawn = session.loom().drawn;
  session.job.vehicle = arguments.get("vehicle", session.drawing().vehicle);
  session.job.customer = arguments.get("customer");
  session.job.complaint = arguments.get("complaint");
  session.job.opened_at = iso_time(context.clock.now_s());
  // The vehicle as it comes: ready for work.
  for (const circuit::SetupId setup : session.drawing().in_use) {
    if (arguments.has("parked")) break;
    add_entry(context, session, "did", session.drawing().setups[setup.index()].name, "", 0.0);
  }
  Reply reply;
  reply.result["loom"] = session.drawing().name;
  reply.result["configuration"] = configuration_json(session.loom(), session.state);
  reply.result["meter"] = session.engine->meter().name;
  if (!meter->from.empty()) reply.result["meter_from"] = meter->from;
  reply.text = "opened " + session.path + " on " + session.drawing().name + "\n  complaint  " +
               wrap(session.job.complaint, 13) + "\n  state      " + configuration_text(session.loom(), session.state) +
               "\n";
  if (session.job.meter)
    reply.text += "  meter      " + wrap(meter_words(*session.job.meter) + ", from " + meter->from, 13) + "\n";
  reply.text += "Now say what is known: codes, gauges, lamps. For example:\n";
  if (!session.drawing().codes.empty())
    reply.text += "  halfsplit saw \"code " + session.drawing().codes.front().name + "\" active\n";
  if (!session.drawing().lives.empty())
    reply.text += "  halfsplit saw \"live " + session.drawing().lives.front().name + "\" " +
                  base::format_number(session.drawing().lives.front().low) + "\n";
  reply.text += "then: halfsplit next\n";
  return saved(context, session, std::move(reply));
}

Reply op_saw(Context& context, const Arguments& arguments) {
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  Session& session = *opened;
  const LoadedLoom& loom = session.loom();
  Reply reply;
  Spoken spoken{arguments.get("what"), arguments.get("shows")};
  for (std::string* text : {&spoken.what, &spoken.shows})
    text->erase(0, std::min(text->find_first_not_of(' '), text->size()));
  const bool bare = spoken.shows.empty() && spoken.what.find(' ') == std::string::npos;
  double minutes = 0.0;
  if (bare) {
    const base::Result<Spoken> answer = answer_asked(context, session, spoken.what, reply);
    if (!answer) return fail(answer.diagnostics());
    spoken = *answer;
    minutes = session.job.asked->minutes;
  } else {
    spoken = split_spoken(loom, spoken.what, spoken.shows);
  }
  const base::Result<evidence::Observable> what = evidence::parse_observable(loom.loom, loom.netlist, spoken.what);
  const std::size_t last = spoken.what.rfind(' ');
  if (!what && spoken.shows.empty() && last != std::string::npos) {  // the last word was meant as the value
    const base::Result<evidence::Observable> test =
        evidence::parse_observable(loom.loom, loom.netlist, spoken.what.substr(0, last));
    if (!test) return fail(test.diagnostics());
    const base::Result<evidence::Seen> value = evidence::parse_seen(*test, spoken.what.substr(last + 1));
    if (!value) return fail(value.diagnostics());
  }
  if (!what) return fail(what.diagnostics());
  if (spoken.shows.empty())
    return fail(base::make_error("saw.no-value", "\"" + spoken.what + "\" showed what?",
                                 "add the reading: halfsplit saw \"" + spoken.what + "\" VALUE"));
  const base::Result<evidence::Seen> seen = evidence::parse_seen(*what, spoken.shows);
  if (!seen) return fail(seen.diagnostics());
  evidence::Observable placed = *what;
  placed.configuration = candidates::electrical_part(loom.loom, session.state);
  const candidates::Roll roll = roll_of(session.job.kit);
  Belief none;
  none.fault_weight.assign(loom.universe.faults.size(), 0.0);
  const std::string refused = candidates::refusal(generate_input(session, roll, none), placed);
  if (!refused.empty())
    return fail(base::make_error("test.refused",
                                 refused + " State in this job: " + configuration_text(loom, session.state),
                                 "if the vehicle is in another state, say so first: halfsplit did \"undo ...\""));
  if (minutes == 0.0) minutes = candidates::make_candidate(loom.loom, loom.netlist, placed).minutes;
  const std::string canonical = evidence::format_observable(loom.loom, loom.netlist, *what);
  const bool again = std::any_of(session.evidence.begin(), session.evidence.end(), [&](const Evidence& e) {
    return same_state(session, *what, e) && e.repaired.size() == session.repaired.size();
  });
  reopen(session, reply);
  session.job.asked.reset();
  const int number = add_entry(context, session, "saw", canonical, spoken.shows, minutes);
  reply.result["entry"] = number;
  reply.result["saw"] = canonical;
  reply.result["shows"] = evidence::format_seen(loom.loom, *what, *seen);
  reply.result["seen"] = seen_json(*what, *seen);
  reply.text += std::to_string(number) + "  " + canonical + "  " + evidence::format_seen(loom.loom, *what, *seen) +
                (again ? "  (again)" : "") + "\n";
  add_standing(context, session, reply);
  return saved(context, session, std::move(reply));
}

Reply op_did(Context& context, const Arguments& arguments) {
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  Session& session = *opened;
  const LoadedLoom& loom = session.loom();
  const base::Result<std::vector<Deed>> deeds = parse_deeds(loom, arguments.get("what"));
  if (!deeds) return fail(deeds.diagnostics());
  if (deeds->front().kind == Deed::Kind::kRepair) return did_repairs(context, session, *deeds, arguments);
  const Deed* const deed = &deeds->front();
  Reply reply;
  const std::string words = format_deed(loom, *deed);
  double minutes = 0.0;
  {
    const candidates::ActRecord record = candidates::describe(loom.loom, loom.netlist, deed->act);
    const bool make = deed->kind == Deed::Kind::kMake;
    if (candidates::is_done(session.state, deed->act) == make)
      return fail(base::make_error("did.already", "\"" + words + "\": it is so already",
                                   "state: " + configuration_text(loom, session.state)));
    const circuit::Hazard danger = candidates::hazard_of(loom.loom, deed->act);
    if (make && danger == circuit::Hazard::kHighVoltage)
      return fail(base::make_error("did.refused", hazard_caution(danger), "leave it to qualified people"));
    minutes = make ? record.do_minutes : record.undo_minutes;
    reply.text = "did " + words + "\n";
    if (make && !record.caution.empty()) reply.text += wrap("  ! " + record.caution, 4) + "\n";
    if (make && danger != circuit::Hazard::kNone && deed->act.kind != candidates::Act::Kind::kFit)
      reply.text += wrap("  ! " + hazard_caution(danger), 4) + "\n";
    for (const candidates::Act& need : record.needs) {
      if (!make || candidates::is_done(session.state, need)) continue;
      const candidates::ActRecord missing = candidates::describe(loom.loom, loom.netlist, need);
      reply.diagnostics.push_back(base::make_warning(
          "did.needs", record.name + " is reached with " + missing.name + ", which this job does not have",
          "if it is so: halfsplit did \"" + missing.name + "\""));
    }
    if (make && deed->act.kind == candidates::Act::Kind::kFit)
      for (const circuit::PointId p : {deed->act.fitted.a, deed->act.fitted.b}) {
        const circuit::Hazard hazard = loom.netlist.points[p.index()].hazard;
        if (hazard == circuit::Hazard::kAirbag || hazard == circuit::Hazard::kHighVoltage)
          return fail(
              base::make_error("did.refused", hazard_caution(hazard), "nothing may be fitted into this circuit"));
        if (hazard == circuit::Hazard::kBrakes || hazard == circuit::Hazard::kSteering)
          reply.text += wrap("  ! " + hazard_caution(hazard), 4) + "\n";
      }
  }
  const base::Result<double> told = told_minutes(arguments, minutes);
  if (!told) return fail(told.diagnostics());
  minutes = *told;
  reopen(session, reply);
  session.job.asked.reset();
  reply.result["entry"] = add_entry(context, session, "did", words, "", minutes);
  reply.result["did"] = words;
  reply.result["configuration"] = configuration_json(loom, session.state);
  reply.result["left_behind"] = left_behind_json(left_behind(session));
  return saved(context, session, std::move(reply));
}

Reply op_undo(Context& context, const Arguments& arguments) {
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  Session& session = *opened;
  job::Entry* target = nullptr;
  std::string wanted = arguments.get("entry");
  wanted.erase(0, std::min(wanted.find_first_not_of(' '), wanted.size()));
  for (job::Entry& entry : session.job.entries) {
    if (wanted.empty() ? !entry.struck : std::to_string(entry.number) == wanted) target = &entry;
  }
  if (target == nullptr)
    return fail(base::make_error("undo.none",
                                 wanted.empty() ? "there is nothing to take back" : "there is no entry " + wanted,
                                 "`halfsplit status` lists the entries"));
  const bool restore = target->struck;
  target->struck = !restore;
  target->struck_at = restore ? "" : iso_time(context.clock.now_s());
  const std::string words = target->verb + " " + target->what + (target->shows.empty() ? "" : " " + target->shows);
  const int number = target->number;
  session.job.asked.reset();
  replay(session);
  Reply reply;
  reply.result["entry"] = number;
  reply.result["struck"] = !restore;
  reply.text = (restore ? "counts again: " : "taken back: ") + std::to_string(number) + "  " + words + "\n";
  reply.text += "(the same command with " + std::to_string(number) + " turns it round)\n";
  add_standing(context, session, reply);
  return saved(context, session, std::move(reply));
}

Reply op_skip(Context& context, const Arguments& arguments) {
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  Session& session = *opened;
  std::string what = arguments.get("what");
  if (what.empty() && session.job.asked) what = session.job.asked->what;
  if (what.empty() && !arguments.has("none"))
    return fail(
        base::make_error("skip.nothing", "no test was proposed and none is named", "halfsplit skip \"ohms A B\""));
  Reply reply;
  if (arguments.has("none")) {
    session.job.skipped.clear();
    reply.text = "nothing is skipped any more\n";
  } else {
    const base::Result<evidence::Observable> test =
        evidence::parse_observable(session.drawing(), session.loom().netlist, what);
    if (!test) return fail(test.diagnostics());
    what = evidence::format_observable(session.drawing(), session.loom().netlist, *test);
    if (std::find(session.job.skipped.begin(), session.job.skipped.end(), what) == session.job.skipped.end())
      session.job.skipped.push_back(what);
    reply.text = "skipped: " + what + " (halfsplit skip --none takes all skips back)\n";
  }
  session.job.asked.reset();
  reply.result["skipped"] = session.job.skipped;
  return saved(context, session, std::move(reply));
}

Reply op_kit(Context& context, const Arguments& arguments) {
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  Session& session = *opened;
  job::Kit& kit = session.job.kit;
  std::vector<base::Diagnostic> problems;
  if (arguments.has("resistors")) {
    kit.resistors.clear();
    for (const std::string& text : arguments.all("resistors")) {
      const base::Result<base::Quantity> ohm = base::parse_quantity(text);
      if (!ohm)
        problems.insert(problems.end(), ohm.diagnostics().begin(), ohm.diagnostics().end());
      else if (ohm->over_range || ohm->value <= 0.0 ||
               (ohm->unit != base::Unit::kNone && ohm->unit != base::Unit::kOhm))
        problems.push_back(
            base::make_error("kit.resistor", "\"" + text + "\" is not a resistor's value", "for example: 4k7"));
      else
        kit.resistors.push_back(text);
    }
  }
  const auto flag = [&](const char* name, bool& value) {
    if (!arguments.has(name)) return;
    const std::string text = arguments.get(name);
    if (text != "yes" && text != "no")
      problems.push_back(base::make_error("kit.flag", std::string(name) + " is yes or no, not \"" + text + "\"", ""));
    value = text == "yes";
  };
  flag("clamp", kit.clamp);
  flag("test-lamp", kit.test_lamp);
  flag("long-lead", kit.long_lead);
  flag("reader", kit.reader);
  flag("heat-gun", kit.heat_gun);
  flag("cold-spray", kit.cold_spray);
  flag("scope", kit.scope);
  const base::Result<ToldMeter> meter = told_meter(context, arguments);
  if (!meter) problems.insert(problems.end(), meter.diagnostics().begin(), meter.diagnostics().end());
  if (!problems.empty()) return fail(problems);
  if (meter->told) session.job.meter = meter->meter;
  session.job.asked.reset();
  Reply reply;
  std::string roll;
  for (const std::string& r : kit.resistors) roll += (roll.empty() ? "" : " ") + r;
  const auto yes = [](bool b) { return b ? "yes" : "no"; };
  reply.text = std::string("resistors  ") + wrap(roll, 11) + "\nclamp " + yes(kit.clamp) + ", test lamp " +
               yes(kit.test_lamp) + ", long lead " + yes(kit.long_lead) + ", code reader " + yes(kit.reader) +
               ", hot air gun " + yes(kit.heat_gun) + ", cold spray " + yes(kit.cold_spray) + ", scope " +
               yes(kit.scope) + "\nmeter      " + wrap(meter_words(or_common(session.job.meter)), 11) + "\n";
  reply.result = {{"resistors", kit.resistors},   {"clamp", kit.clamp},   {"test_lamp", kit.test_lamp},
                  {"long_lead", kit.long_lead},   {"reader", kit.reader}, {"heat_gun", kit.heat_gun},
                  {"cold_spray", kit.cold_spray}, {"scope", kit.scope},   {"meter", or_common(session.job.meter).name}};
  return saved(context, session, std::move(reply));
}

Reply op_note(Context& context, const Arguments& arguments) {
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  Session& session = *opened;
  Reply reply;
  reopen(session, reply);
  reply.result["entry"] = add_entry(context, session, "note", arguments.get("what"), "", 0.0);
  reply.text += "noted; it stands on the sheet under what was found on the way\n";
  return saved(context, session, std::move(reply));
}

Reply op_status(Context& context, const Arguments& arguments) {
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  Session& session = *opened;
  Reply reply;
  reply.diagnostics = session.notes;
  reply.text = session.path + ": " + session.drawing().name + "\n";
  if (!session.job.complaint.empty()) reply.text += "  complaint  " + wrap(session.job.complaint, 13) + "\n";
  reply.text += "  state      " + wrap(configuration_text(session.loom(), session.state), 13) + "\n";
  if (session.job.meter) reply.text += "  meter      " + wrap(meter_words(*session.job.meter), 13) + "\n";
  Json entries = Json::array();
  double minutes = 0.0;
  for (const job::Entry& entry : session.job.entries) {
    entries.push_back({{"n", entry.number},
                       {"at", entry.at},
                       {"verb", entry.verb},
                       {"what", entry.what},
                       {"shows", entry.shows},
                       {"minutes", entry.minutes},
                       {"struck", entry.struck}});
    reply.text += "  " + padded(std::to_string(entry.number), 4) + entry.verb + " " + entry.what +
                  (entry.shows.empty() ? "" : "  " + entry.shows) + (entry.struck ? "   (taken back)" : "") + "\n";
    if (!entry.struck) minutes += entry.minutes;
  }
  const std::vector<LeftBehind> left = left_behind(session);
  if (!session.job.closed_at.empty()) reply.text += "  closed at " + session.job.closed_at + "\n";
  reply.text += "  " + minutes_text(minutes) + " so far\n" + left_behind_text(left);
  reply.result = {{"job", session.path},
                  {"loom", session.drawing().name},
                  {"complaint", session.job.complaint},
                  {"meter", session.engine->meter().name},
                  {"configuration", configuration_json(session.loom(), session.state)},
                  {"entries", entries},
                  {"minutes", minutes},
                  {"left_behind", left_behind_json(left)}};
  if (session.job.asked) reply.result["asked"] = session.job.asked->what;
  return reply;
}

}  // namespace halfsplit::app
