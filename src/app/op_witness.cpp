// SPDX-License-Identifier: Apache-2.0
// A recording of a bus goes into the job: what it tells of the loom's modules, as one entry.
#include <algorithm>
#include <map>

#include "app/book_files.h"
#include "app/opened_recording.h"
#include "app/ops.h"
#include "app/recorded_from.h"
#include "app/saw_recorded.h"
#include "app/told_tap.h"
#include "base/nearest.h"
#include "base/number.h"
#include "text/blanks.h"

namespace halfsplit::app {

namespace {

constexpr std::int64_t kSteadyAfter_us = 60'000'000;  // so long without, to say that nobody went quiet this time

// "33=BCM", "0x21=BCM".
base::Result<std::map<std::uint32_t, circuit::ModuleId>> told_modules(const circuit::Loom& loom,
                                                                      const std::vector<std::string>& texts) {
  std::map<std::uint32_t, circuit::ModuleId> told;
  std::vector<std::string> names;
  for (const circuit::Module& module : loom.modules) names.push_back(module.name);
  const std::string example = names.empty() ? "MODULE" : names.front();
  for (const std::string& text : texts) {
    const std::size_t equals = text.find('=');
    const std::string number = text.substr(0, equals);
    const std::string name =
        equals == std::string::npos ? "" : std::string(text::without_blanks(text.substr(equals + 1)));
    char* end = nullptr;
    const unsigned long value = std::strtoul(number.c_str(), &end, 0);
    if (number.empty() || *end != '\0' || name.empty() || value > can::kLargestStandardId)
      return base::make_error(
          "witness.who", "\"" + text + "\" does not say who is who",
          "an address or an 11-bit identifier, and a module: --who 33=" + example + " or 0x21=" + example);
    const auto found = std::find(names.begin(), names.end(), name);
    if (found == names.end())
      return base::make_error("test.unknown-name", "there is no module named \"" + name + "\" in this loom",
                              base::did_you_mean(name, names) + " modules are those of the loom");
    told[static_cast<std::uint32_t>(value)] = circuit::ModuleId(static_cast<std::size_t>(found - names.begin()));
  }
  return told;
}

// Groups that went quiet in an earlier recording of this job and do not in this one.
void tell_steady(const Session& session, const capture::Findings& findings, RecordedBus& recorded) {
  if (!findings.timed || findings.duration_us < kSteadyAfter_us) return;
  for (const Evidence& e : session.evidence) {
    const evidence::Observable& what = e.observation.what;
    const bool heard_now = std::all_of(what.together.begin(), what.together.end(), [&](circuit::ModuleId module) {
      return std::binary_search(recorded.heard.begin(), recorded.heard.end(), module);
    });
    if (what.kind != evidence::Kind::kQuiet || what.bus != recorded.tap.bus || !heard_now) continue;
    const bool told = std::any_of(recorded.quiet.begin(), recorded.quiet.end(),
                                  [&](const QuietTogether& group) { return group.who == what.together; });
    if (!told) recorded.quiet.push_back({what.together, QuietTogether::End::kSteady, "", what.meanwhile});
  }
}

// Of a recording kept with the job its name there; else the file's.
std::string entry_name(Context& context, const std::string& job, const std::string& path) {
  if (context.book != nullptr) return context.book->recording_name(job_number(job), path);
  return path.substr(path.rfind('/') + 1);
}

// Each sender with its module, or none.
Json who_json(const circuit::Loom& loom, const StudiedRecording& studied, const RecordedFrom& from) {
  Json list = Json::array();
  for (std::size_t s = 0; s < from.modules.size(); ++s) {
    const capture::SenderKey& key = studied.findings.senders[s].key;
    Json one{{"channel", studied.recording.channels.at(key.channel)}, {key.extended ? "address" : "id", key.number}};
    if (from.modules[s]) one["module"] = loom.modules[from.modules[s]->index()].name;
    list.push_back(one);
  }
  return list;
}

}  // namespace

Reply op_witness(Context& context, const Arguments& arguments) {
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  Session& session = *opened;
  const LoadedLoom& loom = session.loom();
  const base::Result<evidence::Observable> tap = told_tap(loom, arguments.get("on"), arguments.get("at"));
  if (!tap) return fail(tap.diagnostics());
  const auto told = told_modules(loom.loom, arguments.all("who"));
  if (!told) return fail(told.diagnostics());
  const base::Result<double> minutes = number_option(arguments, "minutes", kRecordingMinutes, 0.0, 600.0);
  if (!minutes) return fail(minutes.diagnostics());
  const std::string path = arguments.get("file");
  base::Result<OpenedRecording> recording = OpenedRecording::open(context, path, arguments.get("channel"));
  if (!recording) return fail(recording.diagnostics());
  const base::Result<StudiedRecording> studied = study(context, *recording, 0.0);
  if (!studied) return fail(studied.diagnostics());
  if (studied->stopped) {
    Reply reply = fail(base::make_error("witness.stopped", "broken off before the end of " + path + ": nothing entered",
                                        "who is missing in a part of it may be in the rest"));
    return reply;
  }
  const std::vector<std::string>& channels = studied->recording.channels;
  if (channels.size() > 1 && !arguments.has("channel"))
    return fail(base::make_error("witness.which-channel",
                                 path + " holds " + std::to_string(channels.size()) + " channels: which is the bus?",
                                 "one of them: halfsplit witness " + path + " --channel " + channels.front()));
  if (studied->findings.errors.nothing_else)
    return fail(base::make_error("witness.wrong-bit-rate",
                                 "hardly anything but error frames in " + path + ": it tells nothing of who is there",
                                 "record again with the bus's own bit rate"));
  RecordedFrom from = recorded_from(loom, *tap, studied->findings, *told, awake_on(session, tap->bus),
                                    entry_name(context, arguments.get("job"), path));
  tell_steady(session, studied->findings, from.recorded);
  Reply reply = arguments.has("dry") ? show_recorded(session, from.recorded)
                                     : saw_recorded(context, session, from.recorded, *minutes, arguments.has("brief"));
  reply.result["who"] = who_json(session.loom().loom, *studied, from);
  reply.diagnostics.insert(reply.diagnostics.begin(), from.notes.begin(), from.notes.end());
  return reply;
}

}  // namespace halfsplit::app
