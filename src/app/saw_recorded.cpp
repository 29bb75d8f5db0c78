// SPDX-License-Identifier: Apache-2.0
#include "app/saw_recorded.h"

#include "app/job_steps.h"
#include "app/recorded_from.h"
#include "app/words.h"
#include "evidence/recorded_text.h"

namespace halfsplit::app {

namespace {

Json names_json(const circuit::Loom& loom, const std::vector<circuit::ModuleId>& modules) {
  Json names = Json::array();
  for (const circuit::ModuleId id : modules) names.push_back(loom.modules[id.index()].name);
  return names;
}

Json recorded_json(const circuit::Loom& loom, const RecordedBus& recorded) {
  Json json{{"bus", loom.buses[recorded.tap.bus.index()].name},
            {"heard", names_json(loom, recorded.heard)},
            {"never", names_json(loom, recorded.never)},
            {"quiet", Json::array()},
            {"answered", Json::array()}};
  for (const QuietTogether& group : recorded.quiet)
    json["quiet"].push_back(
        {{"together", names_json(loom, group.who)},
         {"seen", evidence::categories(evidence::Kind::kQuiet)[static_cast<std::size_t>(group.end)]},
         {"remark", group.remark}});
  for (const Answered& one : recorded.answered)
    json["answered"].push_back({{"listener", loom.modules[one.listener.index()].name},
                                {"speaker", loom.modules[one.speaker.index()].name},
                                {"answers", one.answers},
                                {"remark", one.remark}});
  json["codes"] = Json::array();
  for (const ToldCode& told : recorded.codes)
    json["codes"].push_back({{"code", loom.codes[told.code.index()].name}, {"seen", told.past ? "past" : "active"}});
  if (!recorded.file.empty()) json["file"] = recorded.file;
  return json;
}

std::string recorded_lines(const circuit::Loom& loom, const RecordedBus& recorded) {
  std::string text;
  const auto line = [&](const std::string& head, const std::string& rest, const std::string& remark) {
    text += "   " + wrap(padded(head, 10) + rest + (remark.empty() ? "" : " (" + remark + ")"), 13) + "\n";
  };
  if (!recorded.heard.empty()) line("heard", evidence::joined_modules(loom, recorded.heard), "");
  if (!recorded.never.empty()) line("never", evidence::joined_modules(loom, recorded.never), "");
  constexpr std::string_view kEnds[] = {", started anew", ", went on without starting anew", ": not this time"};
  for (const QuietTogether& group : recorded.quiet)
    line("quiet",
         evidence::joined_modules(loom, group.who) + (group.who.size() > 1 ? " together" : "") +
             std::string(kEnds[static_cast<std::size_t>(group.end)]),
         group.remark);
  for (const Answered& one : recorded.answered)
    line(one.answers ? "hears" : "deaf",
         loom.modules[one.listener.index()].name + (one.answers ? " answers " : " does not answer ") +
             loom.modules[one.speaker.index()].name,
         one.remark);
  for (const ToldCode& told : recorded.codes) {
    const circuit::Code& code = loom.codes[told.code.index()];
    line(told.past ? "past" : "active", code.name + "  " + code.text, "");
  }
  return text;
}

}  // namespace

std::vector<circuit::ModuleId> awake_on(Session& session, circuit::BusId bus) {
  std::vector<circuit::ModuleId> awake;
  const LoadedLoom& loom = session.loom();
  session.engine->campaign().with_view({}, candidates::electrical_part(loom.loom, session.state),
                                       [&](predict::CircuitView& view) {
                                         for (const circuit::ModuleId module : expected_on(loom, bus))
                                           if (view.alive(module)) awake.push_back(module);
                                       });
  return awake;
}

Reply show_recorded(Session& session, const RecordedBus& recorded) {
  const LoadedLoom& loom = session.loom();
  Reply reply;
  reply.result["saw"] = recorded_what(loom, recorded);
  reply.result["shows"] = recorded_shows(loom, recorded);
  reply.result["recorded"] = recorded_json(loom.loom, recorded);
  reply.text = recorded_what(loom, recorded) + "\n" + recorded_lines(loom.loom, recorded) + "Nothing was entered.\n";
  return reply;
}

Reply saw_recorded(Context& context, Session& session, const RecordedBus& recorded, double minutes, bool brief) {
  const LoadedLoom& loom = session.loom();
  if (readings_of(recorded).empty())
    return fail(base::make_error("saw.recording-empty", "the recording tells nothing of a module of this loom",
                                 "say who was heard: heard A + B; never C; restarts A + B"));
  if (awake_on(session, recorded.tap.bus).empty())
    return fail(base::make_error("saw.bus-asleep",
                                 "nobody on bus " + loom.loom.buses[recorded.tap.bus.index()].name +
                                     " is awake in this state of the job: " + configuration_text(loom, session.state),
                                 "say first how it was recorded: halfsplit did \"key-on\", say"));
  Reply reply;
  reopen(session, reply);
  session.job.asked.reset();
  const std::string what = recorded_what(loom, recorded), shows = recorded_shows(loom, recorded);
  const int number = add_entry(context, session, "saw", what, shows, minutes);
  reply.result["entry"] = number;
  reply.result["saw"] = what;
  reply.result["shows"] = shows;
  reply.result["recorded"] = recorded_json(loom.loom, recorded);
  reply.text += std::to_string(number) + "  " + what + "\n" + recorded_lines(loom.loom, recorded);
  return saved_with_standing(context, session, std::move(reply), brief);
}

}  // namespace halfsplit::app
