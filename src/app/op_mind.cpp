// SPDX-License-Identifier: Apache-2.0
// What to mind before a test or an act of one's own choice: whether it must not be done, what is to be done first, the
// cautions of it. Nothing is entered; a screen asks before it lets a value be typed.
#include <algorithm>

#include "app/acts_minded.h"
#include "app/advice.h"
#include "app/cautions.h"
#include "app/ops.h"
#include "app/words.h"
#include "evidence/observable_text.h"

namespace halfsplit::app {

namespace {

using candidates::Act;

struct Minded {
  std::string what;     // in the job's own words
  std::string refused;  // why it must not be done; empty: it may
  std::vector<Act> first;
  std::vector<std::string> cautions;
};

std::vector<Act> not_done(const circuit::Configuration& state, const std::vector<Act>& acts) {
  std::vector<Act> open;
  for (const Act& act : acts)
    if (!candidates::is_done(state, act)) open.push_back(act);
  return open;
}

// What is told to be done before it is taken as done.
base::Result<base::Done> do_first(Session& session, const std::vector<std::string>& acts) {
  for (const std::string& words : acts) {
    const base::Result<Deed> deed = parse_deed(session.loom(), words);
    if (!deed) return deed.diagnostics();
    if (deed->kind != Deed::Kind::kRepair) candidates::apply(session.state, deed->act, deed->kind == Deed::Kind::kMake);
  }
  return base::Done{};
}

base::Result<Minded> mind_test(Session& session, const std::string& words) {
  const LoadedLoom& loom = session.loom();
  const base::Result<evidence::Observable> asked = evidence::parse_observable(loom.loom, loom.netlist, words);
  if (!asked) return asked.diagnostics();
  Minded minded;
  minded.what = evidence::format_observable(loom.loom, loom.netlist, *asked);
  const candidates::Roll roll = roll_of(session.job.kit);
  Belief none;
  none.fault_weight.assign(loom.universe.faults.size(), 0.0);
  const candidates::GenerateInput input = generate_input(session, roll, none);
  // As it stands; and as it will stand when it can be reached, for what gives access may switch something as well.
  circuit::Configuration state = session.state;
  evidence::Observable placed = *asked;
  candidates::place_in(loom.loom, loom.netlist, state, placed);
  const candidates::Candidate candidate = candidates::make_candidate(loom.loom, loom.netlist, placed);
  minded.first = not_done(state, candidate.needs);
  minded.refused = candidates::refusal(input, placed);
  if (minded.refused.empty() && !minded.first.empty()) {
    for (const Act& act : minded.first) candidates::apply(state, act, true);
    placed = *asked;
    candidates::place_in(loom.loom, loom.netlist, state, placed);
    minded.refused = candidates::refusal(input, placed);
  }
  minded.cautions = test_cautions(loom, session.state, candidate);
  return minded;
}

base::Result<Minded> mind_act(Session& session, const std::string& words) {
  const LoadedLoom& loom = session.loom();
  const base::Result<std::vector<Deed>> deeds = parse_deeds(loom, words);
  if (!deeds) return deeds.diagnostics();
  Minded minded;
  std::vector<fault::RepairId> repairs;
  for (const Deed& deed : *deeds) {
    minded.what += (minded.what.empty() ? "" : " and ") + format_deed(loom, deed);
    if (deed.kind == Deed::Kind::kRepair) repairs.push_back(deed.repair);
  }
  if (!repairs.empty()) {
    minded.cautions = repair_cautions(loom, repairs);
    return minded;
  }
  const Deed& deed = deeds->front();
  const candidates::ActRecord record = candidates::describe(loom.loom, loom.netlist, deed.act);
  const bool make = deed.kind == Deed::Kind::kMake;
  minded.cautions = deed_cautions(session, deed.act, make);
  if (!make) return minded;
  minded.first = not_done(session.state, record.needs);
  if (const std::vector<base::Diagnostic> refused = refused_act(session, deed.act); !refused.empty())
    minded.refused = refused.front().message;
  return minded;
}

Reply tell(const Session& session, const Minded& minded) {
  const LoadedLoom& loom = session.loom();
  Reply reply;
  reply.result = {{"what", minded.what}};
  reply.text = minded.what + "\n";
  if (!minded.refused.empty()) {
    const std::string state = configuration_text(loom, session.state);
    reply.result["refused"] = minded.refused + " State in this job: " + state;
    reply.text += wrap("  refused: " + minded.refused + " State in this job: " + state, 2) + "\n";
  }
  Json steps = Json::array();
  for (const Act& act : minded.first) {
    const candidates::ActRecord record = candidates::describe(loom.loom, loom.netlist, act);
    steps.push_back({{"act", record.name}, {"minutes", record.do_minutes}, {"caution", record.caution}});
    reply.text += "  First    " + padded(record.name, 44) + " " + minutes_text(record.do_minutes) + "\n";
    if (!record.caution.empty()) reply.text += wrap("           ! " + record.caution, 13) + "\n";
  }
  for (const std::string& caution : minded.cautions) reply.text += wrap("  Caution  ! " + caution, 13) + "\n";
  reply.result["steps"] = steps;
  reply.result["cautions"] = minded.cautions;
  if (minded.refused.empty() && minded.first.empty() && minded.cautions.empty())
    reply.text += "  the drawing says nothing to mind; the maker's instructions come first all the same\n";
  return reply;
}

}  // namespace

Reply op_mind(Context& context, const Arguments& arguments) {
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  const bool act = arguments.has("act");
  if (act == arguments.has("what"))
    return fail(base::make_error("mind.one", "say a test, or with --act something that is to be done",
                                 "halfsplit mind \"ohms A B\"; halfsplit mind --act \"unplug J4\""));
  const base::Result<base::Done> first = do_first(*opened, arguments.all("with"));
  if (!first) return fail(first.diagnostics());
  base::Result<Minded> minded =
      act ? mind_act(*opened, arguments.get("act")) : mind_test(*opened, arguments.get("what"));
  if (!minded) return fail(minded.diagnostics());
  if (!minded->refused.empty()) minded->first.clear();  // nobody gets ready for what must not be done
  return tell(*opened, *minded);
}

}  // namespace halfsplit::app
