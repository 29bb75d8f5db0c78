// SPDX-License-Identifier: Apache-2.0
// Operations that write into a job: open, did, undo, skip, kit, close, status.
#include <algorithm>

#include "app/acts_minded.h"
#include "app/book_files.h"
#include "app/cautions.h"
#include "app/job_steps.h"
#include "app/meter_file.h"
#include "app/ops.h"
#include "app/profile.h"
#include "app/tell.h"
#include "app/words.h"
#include "base/number.h"
#include "evidence/observable_text.h"

namespace halfsplit::app {

namespace {

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
  std::vector<fault::RepairId> done;
  for (const Deed& deed : deeds) done.push_back(deed.repair);
  const std::vector<std::string> cautions = repair_cautions(loom, done);
  reply.text += caution_lines(cautions);
  reply.result["cautions"] = cautions;
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

std::vector<base::Diagnostic> missing_needs(const Session& session, const candidates::ActRecord& record) {
  std::vector<base::Diagnostic> list;
  const LoadedLoom& loom = session.loom();
  for (const candidates::Act& need : record.needs) {
    if (candidates::is_done(session.state, need)) continue;
    const candidates::ActRecord missing = candidates::describe(loom.loom, loom.netlist, need);
    list.push_back(base::make_warning(
        "did.needs", record.name + " is reached with " + missing.name + ", which this job does not have",
        "if it is so: halfsplit did \"" + missing.name + "\""));
  }
  return list;
}

// What is still apart, fitted or swapped where only the setup that is being undone lets hands come.
std::vector<base::Diagnostic> left_there(const Session& session, const candidates::Act& undone) {
  std::vector<base::Diagnostic> list;
  const LoadedLoom& loom = session.loom();
  for (const candidates::Act& act : candidates::acts_of(session.state)) {
    if (act == undone || act.kind == candidates::Act::Kind::kSetup) continue;
    const candidates::ActRecord record = candidates::describe(loom.loom, loom.netlist, act);
    if (std::find(record.needs.begin(), record.needs.end(), undone) == record.needs.end()) continue;
    list.push_back(base::make_warning("did.left-there",
                                      "\"" + record.name + "\" is not undone yet, and is reached with " +
                                          candidates::describe(loom.loom, loom.netlist, undone).name,
                                      "if it is: halfsplit did \"" + record.undo_name + "\""));
  }
  return list;
}

// As told, or the next of the book for a loom on its shelf, or named after the loom.
base::Result<std::string> path_of_new_job(Context& context, const Arguments& arguments, const std::string& name) {
  std::string path = arguments.get("job");
  const bool next = path == "book:new" || (path.empty() && is_shelf_path(arguments.get("loom")));
  if (next && context.book != nullptr) return context.book->next_job();
  if (path.empty()) path = slug(name, "job") + ".job.toml";
  if (context.files.exists(path) && !arguments.has("force"))
    return base::make_error("open.exists", "there is already a job " + path,
                            "name another with --job, or go on with it: halfsplit next --job " + path);
  return path;
}

// The loom's path as the job file has it: seen from the job's folder.
base::Result<std::string> loom_seen_from(const std::string& job_path, const std::string& loom_path) {
  const std::size_t cut = job_path.rfind('/');
  if (cut == std::string::npos || loom_path.starts_with('/') || is_shelf_path(loom_path)) return loom_path;
  const std::string folder = job_path.substr(0, cut + 1);
  if (loom_path.starts_with(folder)) return loom_path.substr(folder.size());
  if (folder.starts_with('/'))
    return base::make_error("open.path", "a job elsewhere needs the loom's full path",
                            "give the loom as /.../" + loom_path);
  std::string up;
  for (const char c : folder) up += c == '/' ? "../" : "";
  return up + loom_path;
}

// What the newest entry answered, so that it can be answered once more: taken back is most often a slip. What was to
// be done first is done. Codes are told, not asked for.
std::optional<job::Asked> question_of(const Session& session, const job::Entry& taken_back) {
  const auto later = [&](const job::Entry& entry) {
    return !entry.struck && entry.verb != "note" && entry.number > taken_back.number;
  };
  if (taken_back.verb != "saw" || std::any_of(session.job.entries.begin(), session.job.entries.end(), later))
    return std::nullopt;
  const base::Result<evidence::Observable> test =
      evidence::parse_observable(session.drawing(), session.loom().netlist, taken_back.what);
  if (!test || test->kind == evidence::Kind::kCode) return std::nullopt;
  job::Asked asked;
  asked.what = taken_back.what;
  asked.minutes = taken_back.minutes;
  return asked;
}

}  // namespace

Reply op_open(Context& context, const Arguments& arguments) {
  const std::string loom_path = arguments.get("loom");
  const base::Result<job::Profile> profile = load_profile(context);
  if (!profile) return fail(profile.diagnostics());
  base::Result<ToldMeter> meter = meter_for_new_job(context, arguments);
  if (!meter) return fail(meter.diagnostics());
  if (!meter->told && meter->from.empty() && profile->meter) meter = ToldMeter{false, profile->meter, "the profile"};
  const base::Result<std::shared_ptr<BeliefEngine>> engine =
      context.cache.engine(context, loom_path, or_common(meter->meter));
  if (!engine) return fail(engine.diagnostics());
  Session session;
  session.job.kit = profile->kit;
  session.job.meter = meter->meter;
  session.engine = *engine;
  const base::Result<std::string> path = path_of_new_job(context, arguments, session.drawing().name);
  if (!path) return fail(path.diagnostics());
  session.path = *path;
  const base::Result<std::string> seen_from = loom_seen_from(session.path, loom_path);
  if (!seen_from) return fail(seen_from.diagnostics());
  session.job.loom = *seen_from;
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
  const bool examples = !session.drawing().codes.empty() || !session.drawing().lives.empty();
  reply.text += std::string("Now say what is known: codes, gauges, lamps.") + (examples ? " For example:\n" : "\n");
  if (!session.drawing().codes.empty())
    reply.text += "  halfsplit saw \"code " + session.drawing().codes.front().name + "\" active\n";
  if (!session.drawing().lives.empty())
    reply.text += "  halfsplit saw \"live " + session.drawing().lives.front().name + "\" " +
                  base::format_number(session.drawing().lives.front().low) + "\n";
  reply.text += "then: halfsplit next\n";
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
  const candidates::ActRecord record = candidates::describe(loom.loom, loom.netlist, deed->act);
  const bool make = deed->kind == Deed::Kind::kMake;
  if (candidates::is_done(session.state, deed->act) == make)
    return fail(base::make_error("did.already", "\"" + words + "\": it is so already",
                                 "state: " + configuration_text(loom, session.state)));
  if (make)
    if (const std::vector<base::Diagnostic> refused = refused_act(session, deed->act); !refused.empty())
      return fail(refused);
  const std::vector<std::string> cautions = deed_cautions(session, deed->act, make);
  reply.text = "did " + words + "\n" + caution_lines(cautions);
  const std::vector<base::Diagnostic> open = make ? missing_needs(session, record) : left_there(session, deed->act);
  reply.diagnostics.insert(reply.diagnostics.end(), open.begin(), open.end());
  double minutes = make ? record.do_minutes : record.undo_minutes;
  const base::Result<double> told = told_minutes(arguments, minutes);
  if (!told) return fail(told.diagnostics());
  minutes = *told;
  reopen(session, reply);
  session.job.asked.reset();
  reply.result["entry"] = add_entry(context, session, "did", words, "", minutes);
  reply.result["did"] = words;
  reply.result["cautions"] = cautions;
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
  session.job.asked = restore ? std::nullopt : question_of(session, *target);
  replay(session);
  Reply reply;
  reply.result["entry"] = number;
  reply.result["struck"] = !restore;
  reply.text = (restore ? "counts again: " : "taken back: ") + std::to_string(number) + "  " + words + "\n";
  reply.text += "(the same command with " + std::to_string(number) + " turns it round)\n";
  if (session.job.asked) {
    reply.result["asked"] = session.job.asked->what;
    reply.text += "asked still: " + session.job.asked->what + "   (halfsplit saw VALUE)\n";
  }
  return saved_with_standing(context, session, std::move(reply), arguments.has("brief"));
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
  return tell_status(*opened);
}

Reply tell_status(Session& session) {
  Reply reply;
  reply.diagnostics = session.notes;
  reply.text = session.path + ": " + session.drawing().name + "\n";
  if (!session.job.complaint.empty()) reply.text += "  complaint  " + wrap(session.job.complaint, 13) + "\n";
  reply.text += "  state      " + wrap(configuration_text(session.loom(), session.state), 13) + "\n";
  if (session.job.meter) reply.text += "  meter      " + wrap(meter_words(*session.job.meter), 13) + "\n";
  Json entries = Json::array();
  double minutes = 0.0;
  for (const job::Entry& entry : session.job.entries) {
    entries.push_back(entry_json(entry));
    reply.text += entry_line(entry);
    if (!entry.struck) minutes += entry.minutes;
  }
  const std::vector<LeftBehind> left = left_behind(session);
  if (!session.job.closed_at.empty()) reply.text += "  closed at " + session.job.closed_at + "\n";
  reply.text += "  " + minutes_text(minutes) + " so far\n" + left_behind_text(left);
  reply.result = {{"job", session.path},
                  {"loom", session.drawing().name},
                  {"loom_file", session.job.loom},
                  {"vehicle", session.job.vehicle},
                  {"customer", session.job.customer},
                  {"complaint", session.job.complaint},
                  {"opened_at", session.job.opened_at},
                  {"meter", session.engine->meter().name},
                  {"configuration", configuration_json(session.loom(), session.state)},
                  {"entries", entries},
                  {"minutes", minutes},
                  {"left_behind", left_behind_json(left)}};
  if (!session.job.closed_at.empty()) reply.result["closed_at"] = session.job.closed_at;
  if (session.job.asked) reply.result["asked"] = session.job.asked->what;
  return reply;
}

}  // namespace halfsplit::app
