// SPDX-License-Identifier: Apache-2.0
// What was seen goes into the job: a reading, the bare value that was asked for, a code, all codes of a module.
#include <algorithm>
#include <optional>

#include "app/advice.h"
#include "app/cautions.h"
#include "app/code_list.h"
#include "app/job_steps.h"
#include "app/ops.h"
#include "app/saw_recorded.h"
#include "app/words.h"
#include "base/nearest.h"
#include "base/number.h"
#include "circuit/code_names.h"
#include "evidence/observable_text.h"
#include "text/blanks.h"

namespace halfsplit::app {

namespace {

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

// "code NAME active": a code whether the loom knows it or not; none when it is no code, or nothing says how it stands.
std::optional<base::Result<Spoken>> spoken_code(const circuit::Loom& loom, const Spoken& spoken) {
  constexpr std::string_view kCode = "code ";
  if (!spoken.what.starts_with(kCode)) return std::nullopt;
  std::string name = spoken.what.substr(kCode.size()), shows = spoken.shows;
  if (const std::size_t cut = name.rfind(' '); shows.empty() && cut != std::string::npos) {
    shows = name.substr(cut + 1);
    name.erase(cut);
  }
  evidence::Observable code;
  code.kind = evidence::Kind::kCode;
  if (name.find_first_not_of(' ') == std::string::npos || !evidence::parse_seen(code, shows)) return std::nullopt;
  const base::Result<std::string> meant = code_meant(loom, std::string(text::without_blanks(name)));
  if (!meant) return meant.diagnostics();
  return Spoken{std::string(kCode) + *meant, shows};
}

// "0.048", "dim", and with its unit apart "0.048 V", "4.7 kohm".
bool is_value_alone(const std::string& what) {
  return what.find(' ') == std::string::npos || base::parse_quantity(what).ok();
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
  const base::Result<evidence::Seen> seen = evidence::parse_seen(loom.loom, *what, value);
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

bool same_state(const Session& session, const evidence::Observable& what, const Evidence& earlier) {
  evidence::Observable now = what;
  candidates::place_in(session.drawing(), session.loom().netlist, session.state, now);
  return earlier.observation.what == now;
}

constexpr double kListMinutes = 1.0;  // as a code (job.md, Minutes)

// What may have been meant; of a number no code can have, what there can be.
std::string hint_of_other(const std::string& name, const std::vector<std::string>& names) {
  std::vector<std::string> same;
  const std::optional<circuit::SpnFmi> told = circuit::read_spn_fmi(name);
  for (const std::string& other : names) {
    const std::optional<circuit::SpnFmi> known = circuit::read_spn_fmi(other);
    if (told && known && told->spn == known->spn) same.push_back(other);
  }
  if (!same.empty()) return base::did_you_mean(name, same);
  if (circuit::is_beyond_spn_fmi(name))
    return "an SPN is 0 to " + std::to_string(circuit::kMostSpn) + ", an FMI 0 to " + std::to_string(circuit::kMostFmi);
  return base::did_you_mean(name, names);
}

// Codes that stay without a monitor: said, with what may have been meant, and kept.
void warn_of_others(const circuit::Loom& loom, const CodeList& list, Reply& reply) {
  std::vector<std::string> names, modules;
  for (const circuit::Module& module : loom.modules) modules.push_back(module.name);
  for (const circuit::Code& code : loom.codes)
    if (list.id.is_none() || code.module == list.id) names.push_back(code.name);
  if (list.id.is_none() && !list.module.empty())
    reply.diagnostics.push_back(base::make_warning("saw.other-module",
                                                   "\"" + list.module + "\" is not on this drawing: its codes are kept",
                                                   base::did_you_mean(list.module, modules)));
  for (const ListedCode& code : list.codes)
    if (code.code.is_none() && (!list.id.is_none() || list.module.empty()))
      reply.diagnostics.push_back(base::make_warning(
          "saw.other-code", "no monitor on this drawing sets \"" + code.name + "\": kept as a code of something else",
          hint_of_other(code.name, names)));
}

// Codes of the module that the list does not name.
std::vector<std::string> absent_of(const circuit::Loom& loom, const CodeList& list) {
  std::vector<std::string> names;
  for (const circuit::Code& code : loom.codes)
    if (!list.id.is_none() && code.module == list.id &&
        std::none_of(list.codes.begin(), list.codes.end(), [&](const auto& c) { return c.name == code.name; }))
      names.push_back(code.name);
  return names;
}

// A code that has one module's plain name, and others can set it too.
std::string whose_code(const circuit::Loom& loom, const std::string& name, circuit::CodeId taken) {
  std::vector<circuit::CodeId> meant = circuit::find_codes(loom, name);
  std::erase(meant, taken);
  if (meant.empty()) return "";
  return "   " +
         wrap("taken as shown by " + loom.modules.at(loom.codes.at(taken.index()).module.index()).name +
                  "; the same can be set by " + circuit::who_sets(loom, meant),
              3) +
         "\n";
}

std::string list_text(const circuit::Loom& loom, const CodeList& list) {
  const auto& words = evidence::categories(evidence::Kind::kCode);
  std::string text;
  for (const ListedCode& code : list.codes)
    text += "   " +
            wrap(padded(std::string(words[static_cast<std::size_t>(code.category)]), 8) + code.name +
                     (code.code.is_none() ? ": not of this drawing" : "  " + loom.codes[code.code.index()].text),
                 13) +
            "\n";
  const std::size_t absent = maybe_of_module(loom, list).empty() ? absent_of(loom, list).size() : 0;
  if (absent > 0)
    text += "   " + padded("absent", 8) + std::to_string(absent) + " more that " + list.module + " can set\n";
  return text;
}

// What the list does not name is absent, unless a name in it may be one of those.
void warn_of_maybes(const circuit::Loom& loom, const CodeList& list, Reply& reply) {
  const std::vector<std::string> absent = absent_of(loom, list), maybe = maybe_of_module(loom, list);
  if (absent.empty() || maybe.empty()) return;
  reply.diagnostics.push_back(
      base::make_warning("saw.absent-not-counted",
                         "what else " + list.module + " can set is not counted as absent: \"" + maybe.front() +
                             "\" may be one of its codes, misread or mistyped",
                         "take it back and write it anew; or if it is none of them: halfsplit saw \"code " +
                             absent.front() + "\" absent" + (absent.size() > 1 ? ", and so on" : "")));
}

// All codes of a module in one entry, or one code that nothing on the drawing sets.
Reply saw_codes(Context& context, Session& session, const CodeList& list, const std::string& what,
                const std::string& shows, bool brief) {
  const circuit::Loom& loom = session.drawing();
  Reply reply;
  warn_of_others(loom, list, reply);
  warn_of_maybes(loom, list, reply);
  reopen(session, reply);
  session.job.asked.reset();
  const int number = add_entry(context, session, "saw", what, shows, kListMinutes);
  Json codes = Json::array();
  for (const ListedCode& code : list.codes)
    codes.push_back({{"code", code.name},
                     {"seen", evidence::categories(evidence::Kind::kCode)[static_cast<std::size_t>(code.category)]},
                     {"known", !code.code.is_none()}});
  reply.result["entry"] = number;
  reply.result["saw"] = what;
  reply.result["shows"] = shows;
  reply.result["codes"] = codes;
  reply.text +=
      std::to_string(number) + "  " + what + (list.codes.empty() ? "  none" : "") + "\n" + list_text(loom, list);
  return saved_with_standing(context, session, std::move(reply), brief);
}

}  // namespace

Reply op_saw(Context& context, const Arguments& arguments) {
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  Session& session = *opened;
  const LoadedLoom& loom = session.loom();
  const bool brief = arguments.has("brief");
  Reply reply;
  Spoken spoken{arguments.get("what"), arguments.get("shows")};
  for (std::string* text : {&spoken.what, &spoken.shows})
    text->erase(0, std::min(text->find_first_not_of(' '), text->size()));
  if (is_code_list(spoken.what)) {
    const base::Result<CodeList> list = parse_code_list(loom.loom, spoken.what, spoken.shows);
    if (!list) return fail(list.diagnostics());
    return saw_codes(context, session, *list, list_what(*list), list_shows(*list), brief);
  }
  if (is_recorded_bus(spoken.what)) {
    const base::Result<RecordedBus> recorded = parse_recorded_bus(loom, spoken.what, spoken.shows);
    if (!recorded) return fail(recorded.diagnostics());
    return saw_recorded(context, session, *recorded, kRecordingMinutes, brief);
  }
  const bool bare = spoken.shows.empty() && is_value_alone(spoken.what);
  double minutes = 0.0;
  if (const std::optional<base::Result<Spoken>> code = spoken_code(loom.loom, spoken)) {
    if (!*code) return fail(code->diagnostics());
    spoken = **code;
    if (is_unknown_code(loom.loom, spoken.what)) {
      const base::Result<CodeList> other = other_code(spoken.what, spoken.shows);
      if (!other) return fail(other.diagnostics());
      return saw_codes(context, session, *other, spoken.what, spoken.shows, brief);
    }
  } else if (is_unknown_code(loom.loom, spoken.what) && !spoken.shows.empty()) {
    return fail(other_code(spoken.what, spoken.shows).diagnostics());
  } else if (bare) {
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
    const base::Result<evidence::Seen> value = evidence::parse_seen(loom.loom, *test, spoken.what.substr(last + 1));
    if (!value) return fail(value.diagnostics());
  }
  if (!what) return fail(what.diagnostics());
  if (spoken.shows.empty())
    return fail(base::make_error("saw.no-value", "\"" + spoken.what + "\" showed what?",
                                 "add the reading: halfsplit saw \"" + spoken.what + "\" VALUE"));
  const base::Result<evidence::Seen> seen = evidence::parse_seen(loom.loom, *what, spoken.shows);
  if (!seen) return fail(seen.diagnostics());
  evidence::Observable placed = *what;
  candidates::place_in(loom.loom, loom.netlist, session.state, placed);
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
  // `next` has said them of its own test.
  const bool asked = session.job.asked && session.job.asked->what == canonical;
  const std::vector<std::string> cautions = asked ? std::vector<std::string>() : probe_cautions(loom, placed);
  reopen(session, reply);
  session.job.asked.reset();
  const int number = add_entry(context, session, "saw", canonical, spoken.shows, minutes);
  reply.result["entry"] = number;
  reply.result["saw"] = canonical;
  reply.result["shows"] = evidence::format_seen(loom.loom, *what, *seen);
  reply.result["seen"] = seen_json(*what, *seen);
  reply.text += std::to_string(number) + "  " + canonical + "  " + evidence::format_seen(loom.loom, *what, *seen) +
                (again ? "  (again)" : "") + "\n" + caution_lines(cautions);
  if (!cautions.empty()) reply.result["cautions"] = cautions;
  if (what->kind == evidence::Kind::kCode)
    reply.text += whose_code(loom.loom, loom.loom.codes.at(what->code.index()).name, what->code);
  return saved_with_standing(context, session, std::move(reply), brief);
}

}  // namespace halfsplit::app
