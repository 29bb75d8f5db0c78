// SPDX-License-Identifier: Apache-2.0
// The whole strategy as a tree, to read, print or take along; and on the telephone, what to bring and to ask.
#include <cmath>

#include "app/ops.h"
#include "app/pre_visit.h"
#include "app/words.h"
#include "base/number.h"

namespace halfsplit::app {

namespace {

constexpr double kLeastChance = 0.01;

Json branch_json(const report::PlanSheetBranch& branch) {
  Json json{{"seen", branch.seen}, {"chance", branch.chance}, {"node", branch.node}};
  if (!branch.then_likely.empty()) json["then_likely"] = branch.then_likely;
  return json;
}

std::string_view kind_word(report::PlanSheetNode::Kind kind) {
  switch (kind) {
    case report::PlanSheetNode::Kind::kTest:
      return "test";
    case report::PlanSheetNode::Kind::kRepair:
      return "repair";
    case report::PlanSheetNode::Kind::kEnd:
      return "end";
    case report::PlanSheetNode::Kind::kCut:
      return "cut";
  }
  return "";
}

Json node_json(const report::PlanSheetNode& node) {
  Json json{{"kind", kind_word(node.kind)},
            {"first", node.first},
            {"cautions", node.cautions},
            {"chance", node.chance},
            {"minutes_before", node.minutes_before},
            {"minutes", node.minutes},
            {"expected_minutes", node.expected_minutes}};
  if (!node.act.empty()) json["act"] = node.act;
  if (node.kind == report::PlanSheetNode::Kind::kRepair) {
    json["to_prove"] = node.to_prove;
    json["part_money"] = node.money;
  }
  Json branches = Json::array();
  for (const report::PlanSheetBranch& branch : node.branches) branches.push_back(branch_json(branch));
  json["branches"] = branches;
  return json;
}

Json sheet_json(const report::PlanSheet& sheet) {
  Json nodes = Json::array();
  for (const report::PlanSheetNode& node : sheet.nodes) nodes.push_back(node_json(node));
  return {{"nodes", nodes},
          {"expected_minutes", sheet.expected_minutes},
          {"median_minutes", sheet.median_minutes},
          {"minutes_of_95", sheet.minutes_of_95},
          {"lower_bound_minutes", sheet.lower_bound_minutes},
          {"exact", sheet.exact},
          {"cut_chance", sheet.cut_chance}};
}

bool ends_with(const std::string& text, std::string_view ending) {
  return text.size() > ending.size() && text.compare(text.size() - ending.size(), ending.size(), ending) == 0;
}

base::Result<std::string> document(const report::PlanSheet& sheet, const Json& json, const std::string& out) {
  if (ends_with(out, ".svg")) return report::plan_svg(sheet);
  if (ends_with(out, ".html")) return report::plan_html(sheet);
  if (ends_with(out, ".json")) return json.dump(2) + "\n";
  if (ends_with(out, ".txt")) return report::plan_text(sheet);
  return base::make_error("plan.unknown-form", "no plan can be written as " + out,
                          "end the name in .txt, .html, .svg or .json");
}

std::string lines_of(const std::vector<PreVisit::Need>& list, bool with_minutes) {
  std::string text;
  for (const PreVisit::Need& need : list) {
    text += "  " + padded(percent(need.chance), 7) + need.name +
            (with_minutes ? ", " + minutes_text(need.minutes) : std::string()) + "\n";
    if (!need.caution.empty()) text += wrap("         ! " + need.caution, 11) + "\n";
  }
  return text;
}

std::string part_line(const PreVisit::Part& part) {
  constexpr std::size_t kUsesTold = 3;
  std::string uses;
  for (std::size_t i = 0; i < part.uses.size() && i < kUsesTold; ++i)
    uses += (i == 0 ? "" : "; ") + part.uses[i].repair +
            (part.uses[i].place.empty() ? "" : " [" + part.uses[i].place + "]") + " " + percent(part.uses[i].chance);
  if (part.uses.size() > kUsesTold) uses += "; " + std::to_string(part.uses.size() - kUsesTold) + " more";
  return wrap("  " + padded(percent(part.chance), 7) + part.part +
                  (part.money > 0.0 ? ", " + base::format_significant(part.money, 3) + " of money" : "") + ": to " +
                  uses,
              9) +
         "\n";
}

std::string question_lines(const Question& question) {
  std::string text = "  " + question.asks + "   (halfsplit saw \"" + question.what + "\" ...)\n";
  for (const Question::Answer& answer : question.answers)
    text += "    " + padded(answer.seen, 22) + padded(percent(answer.chance), 7) + "then most likely " +
            answer.then_likely + "\n";
  return text;
}

Json needs_json(const std::vector<PreVisit::Need>& list) {
  Json json = Json::array();
  for (const PreVisit::Need& need : list) json.push_back({{"name", need.name}, {"chance", need.chance}});
  return json;
}

Json before_json(const PreVisit& visit) {
  Json parts = Json::array();
  for (const PreVisit::Part& p : visit.parts) {
    Json uses = Json::array();
    for (const PreVisit::Use& use : p.uses)
      uses.push_back({{"repair", use.repair}, {"place", use.place}, {"chance", use.chance}});
    parts.push_back({{"part", p.part}, {"chance", p.chance}, {"money", p.money}, {"uses", uses}});
  }
  Json questions = Json::array();
  for (const Question& q : visit.questions) {
    Json answers = Json::array();
    for (const Question::Answer& a : q.answers)
      answers.push_back({{"seen", a.seen}, {"chance", a.chance}, {"then_likely", a.then_likely}});
    questions.push_back({{"asks", q.asks}, {"what", q.what}, {"bits", q.bits}, {"answers", answers}});
  }
  return {{"parts", parts},
          {"instruments", needs_json(visit.instruments)},
          {"room", needs_json(visit.room)},
          {"questions", questions},
          {"not_on_this_drawing", visit.not_drawn}};
}

Reply tell_before(const PreVisit& visit, const Strategy& strategy, double road_minutes) {
  Reply reply;
  reply.result = before_json(visit);
  reply.result["expected_minutes"] = strategy.tree.expected_minutes;
  reply.result["minutes_of_95"] = strategy.tree.minutes_of_95;
  reply.result["road_minutes"] = road_minutes;
  reply.text = "Ask the driver\n";
  for (const Question& question : visit.questions) reply.text += question_lines(question);
  if (visit.questions.empty()) reply.text += "  nothing that is seen from outside would tell more\n";
  reply.text += "Parts that may be needed\n";
  for (const PreVisit::Part& part : visit.parts) reply.text += part_line(part);
  if (visit.parts.empty()) reply.text += "  none worth taking along\n";
  reply.text += "Instruments, leads and stand-ins\n" + lines_of(visit.instruments, false);
  if (!visit.room.empty()) reply.text += "Room and help needed for\n" + lines_of(visit.room, true);
  reply.text += "On site about " + minutes_text(strategy.tree.expected_minutes) +
                ", nineteen in twenty such jobs within " + minutes_text(strategy.tree.minutes_of_95) + "; " +
                percent(visit.not_drawn) + " that it is not on this drawing.\n";
  reply.text += "With the road there and back of " + minutes_text(road_minutes) + " about " +
                minutes_text(strategy.tree.expected_minutes + road_minutes) + " (halfsplit kit --road-minutes).\n";
  reply.text += "A diagnosis is a probability. The maker's instructions and local rules come first.\n";
  return reply;
}

Reply plan_before(Context& context, Session& session) {
  session.job.kit.meter = session.job.kit.test_lamp = session.job.kit.clamp = session.job.kit.long_lead = true;
  session.job.kit.reader = session.job.kit.heat_gun = session.job.kit.cold_spray = session.job.kit.scope = true;
  const Strategy strategy = make_strategy(context, session, kLeastChance);
  const Belief& belief = session.engine->update(session.evidence, context.cancel);
  Reply reply = tell_before(look_before_visit(session, belief, strategy), strategy, session.job.kit.road_minutes);
  reply.diagnostics = session.notes;
  return reply;
}

}  // namespace

Reply op_plan(Context& context, const Arguments& arguments) {
  const base::Result<double> least = number_option(arguments, "least", 100.0 * kLeastChance, 0.0, 50.0);
  const base::Result<double> within = number_option(arguments, "within", 0.0, 0.0, 1e4);
  for (const base::Result<double>* r : {&least, &within})
    if (!*r) return fail(r->diagnostics());
  base::Result<Session> opened = open_session(context, arguments.get("job"));
  if (!opened) return fail(opened.diagnostics());
  Session& session = *opened;
  if (arguments.has("before")) return plan_before(context, session);
  const Strategy strategy = make_strategy(context, session, *least / 100.0);
  const report::PlanSheet sheet = plan_sheet(session, strategy, *least / 100.0);
  Reply reply;
  reply.diagnostics = session.notes;
  reply.result = sheet_json(sheet);
  std::string in_time;
  if (*within > 0.0) {
    const double chance = chance_within(strategy.tree, *within);
    reply.result["within_minutes"] = *within;
    reply.result["chance_within"] = chance;
    in_time = "Done and put back within " + minutes_text(*within) + " with " + percent(chance) + ".\n";
  }
  const std::string out = arguments.get("out");
  if (out.empty()) {
    reply.text = report::plan_text(sheet) + in_time;
    return reply;
  }
  const base::Result<std::string> text = document(sheet, reply.result, out);
  if (!text) return fail(text.diagnostics());
  const base::Result<base::Done> written = context.files.write(out, *text);
  if (!written) return fail(written.diagnostics());
  reply.text = "wrote " + out + "\n" + in_time;
  reply.result["file"] = out;
  return reply;
}

}  // namespace halfsplit::app
