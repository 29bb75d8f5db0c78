// SPDX-License-Identifier: Apache-2.0
// Everything a screen shows of a job, in one reply worked out in one go: what `status`, `suspects`, `next` and `proof`
// say, the drawing with its suspicion, and what can be chosen from. Only `next` may be slow; a screen may ask for the
// other parts first.
#include <algorithm>
#include <array>
#include <limits>

#include "app/board_drawing.h"
#include "app/ops.h"
#include "app/tell.h"
#include "app/words.h"
#include "candidates/state.h"
#include "circuit/part_kinds.h"

namespace halfsplit::app {

namespace {

constexpr std::array<std::string_view, 6> kParts = {"job", "choices", "suspects", "drawing", "proof", "next"};

Json acts_json(const Session& session) {
  Json acts = Json::array();
  for (const candidates::Act& act : candidates::loom_acts(session.drawing())) {
    if (act.kind != candidates::Act::Kind::kSetup) continue;
    const candidates::ActRecord record = candidates::describe(session.drawing(), session.loom().netlist, act);
    Json json{{"name", record.name},
              {"undo_name", record.undo_name},
              {"done", candidates::is_done(session.state, act)},
              {"minutes", record.do_minutes},
              {"undo_minutes", record.undo_minutes},
              {"leave", record.leave}};
    if (!record.caution.empty()) json["caution"] = record.caution;
    acts.push_back(std::move(json));
  }
  return acts;
}

// What can be said of this vehicle: its codes, live values, lamps and loads to look at, modules, setups, plugs.
Json choices_json(const Session& session) {
  const circuit::Loom& loom = session.drawing();
  Json codes = Json::array(), lives = Json::array(), looks = Json::array(), modules = Json::array();
  for (const circuit::Code& code : loom.codes)
    codes.push_back({{"name", code.name}, {"module", loom.modules[code.module.index()].name}, {"text", code.text}});
  for (const circuit::Live& live : loom.lives)
    lives.push_back({{"name", live.name},
                     {"module", loom.modules[live.module.index()].name},
                     {"unit", live.unit},
                     {"low", live.low},
                     {"high", live.high}});
  for (const circuit::Part& part : loom.parts) {
    const circuit::PartKind kind = part.kind;
    const bool lamp = kind == circuit::PartKind::kLamp;
    if (lamp || kind == circuit::PartKind::kMotor || kind == circuit::PartKind::kSolenoid ||
        kind == circuit::PartKind::kHeater)
      looks.push_back({{"name", part.name}, {"kind", circuit::part_kind(kind).word}, {"lamp", lamp}});
  }
  for (const circuit::Module& module : loom.modules) modules.push_back({{"name", module.name}});
  Json buses = Json::array();
  for (const circuit::Bus& bus : loom.buses)
    buses.push_back({{"name", bus.name}, {"reader", bus.reader_high.has_value()}});
  Json points = Json::array();
  for (const circuit::Point& point : session.loom().netlist.points) points.push_back(point.name);
  return {{"codes", std::move(codes)},     {"lives", std::move(lives)},    {"looks", std::move(looks)},
          {"modules", std::move(modules)}, {"setups", acts_json(session)}, {"plugs", plugs_json(loom, session.state)},
          {"buses", std::move(buses)},     {"points", std::move(points)},  {"kit", kit_json(session.job.kit)},
          {"skipped", session.job.skipped}};
}

Json drawing_part(Context& context, Session& session) {
  BeliefEngine& engine = *session.engine;
  const Belief& belief = engine.update(session.evidence, context.cancel);
  report::DrawRequest request{session.drawing(), session.loom().netlist};
  request.suspicion = suspicion_of(engine, belief);
  Json json = drawing_json(session.loom(), report::make_drawing(request));
  json["elsewhere"] = belief.posterior.not_drawn;
  return json;
}

base::Result<std::vector<std::string>> wanted_parts(const Arguments& arguments) {
  std::vector<std::string> parts = arguments.all("part");
  for (const std::string& part : parts)
    if (std::find(kParts.begin(), kParts.end(), part) == kParts.end())
      return base::make_error("args.part", "there is no part \"" + part + "\" of a board",
                              "parts: job, choices, suspects, drawing, proof, next");
  if (parts.empty()) parts.assign(kParts.begin(), kParts.end());
  return parts;
}

}  // namespace

Reply op_board(Context& context, const Arguments& arguments) {
  const base::Result<std::vector<std::string>> parts = wanted_parts(arguments);
  if (!parts) return fail(parts.diagnostics());
  const base::Result<double> within =
      number_option(arguments, "within", std::numeric_limits<double>::infinity(), 0.5, 1e4);
  if (!within) return fail(within.diagnostics());
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  Session& session = *opened;
  const auto wants = [&](std::string_view part) {
    return std::find(parts->begin(), parts->end(), part) != parts->end();
  };
  Reply reply;
  reply.diagnostics = session.notes;
  if (wants("next")) {  // first, for it may change what the job asks for
    const std::optional<job::Asked> before = session.job.asked;
    const Reply next = tell_next(context, session, *within);
    // Somebody else went on meanwhile - a photo, a recording, the other screen: the proposal is not noted, and this
    // look is still one.
    if (const base::Result<base::Done> done = save_asked(context, session, before);
        !done && done.diagnostics().front().code != "job.moved")
      return fail(done.diagnostics());
    reply.result["next"] = next.result;
    reply.text += next.text;
  }
  if (wants("job")) {
    const Reply status = tell_status(session);
    reply.result["job"] = status.result;
    reply.text = status.text + reply.text;
  }
  if (wants("suspects")) {
    const Reply suspects = tell_suspects(context, session, false, true);
    reply.result["suspects"] = suspects.result;
    reply.text += suspects.text;
  }
  if (wants("choices")) reply.result["choices"] = choices_json(session);
  if (wants("drawing")) reply.result["drawing"] = drawing_part(context, session);
  if (wants("proof") && !session.repaired.empty()) {
    const Reply proof = tell_proof(context, session);
    reply.result["proof"] = proof.result;
    reply.text += proof.text;
  }
  return reply;
}

}  // namespace halfsplit::app
