// SPDX-License-Identifier: Apache-2.0
#include "app/pre_visit.h"

#include <algorithm>
#include <map>

#include "app/words.h"
#include "base/number.h"
#include "evidence/observable_text.h"

namespace halfsplit::app {

namespace {

using evidence::Kind;

constexpr double kLeastPart = 0.02;  // less probable parts stay in the store
constexpr double kLeastUse = 0.02;
constexpr double kLeastBits = 0.02;
constexpr std::size_t kMostQuestions = 5;

// What can be asked for by the telephone: what is seen from the seat or by walking round.
bool a_driver_sees(const circuit::Loom& loom, const evidence::Observable& what) {
  if (what.kind == Kind::kLook || what.kind == Kind::kLive) return true;
  return what.kind == Kind::kCode && loom.modules[loom.codes[what.code.index()].module.index()].shows_codes;
}

std::string question_text(const circuit::Loom& loom, const evidence::Observable& what) {
  if (what.kind == Kind::kLook) {
    std::string words;
    const std::vector<std::string_view>& all = evidence::categories(what.kind);
    for (std::size_t i = 0; i < all.size(); ++i)
      words += (i == 0 ? "" : i + 1 == all.size() ? " or " : ", ") + std::string(all[i]);
    return "Look at " + loom.parts[what.part.index()].name + ": " + words + "?";
  }
  if (what.kind == Kind::kLive) return "What does the dash show for " + loom.lives[what.live.index()].name + "?";
  return "Does the display show " + loom.codes[what.code.index()].name + "?";
}

std::string instrument_of(Kind kind) {
  switch (kind) {
    case Kind::kClamp:
      return "clamp meter";
    case Kind::kTestLamp:
      return "test lamp";
    case Kind::kHighest:
    case Kind::kLowest:
      return "scope, or a meter that holds peaks";
    case Kind::kCode:
    case Kind::kLive:
    case Kind::kAnswers:
      return "code reader";
    case Kind::kHeard:
    case Kind::kQuiet:
    case Kind::kHears:
      return "bus recorder";
    case Kind::kHeat:
      return "hot air";
    case Kind::kCool:
      return "cold spray";
    case Kind::kLook:
    case Kind::kInspect:
    case Kind::kWiggle:
      return "";
    case Kind::kVolts:
    case Kind::kOhms:
    case Kind::kContinuity:
      return "meter";
  }
  return "";
}

class Gatherer {
 public:
  Gatherer(const Session& session, const Belief& belief, const Strategy& strategy)
      : session_(session), belief_(belief), s_(strategy) {}

  PreVisit run() {
    found_.not_drawn = belief_.posterior.not_drawn;
    gather_parts();
    gather_instruments();
    gather_acts();
    gather_questions();
    return std::move(found_);
  }

 private:
  void gather_parts() {
    const fault::Universe& universe = session_.loom().universe;
    std::map<std::size_t, double> chance;
    for (const infer::Suspect& suspect : belief_.posterior.suspects)
      for (const fault::RepairId id : session_.engine->repairs_of(belief_, suspect))
        chance[id.index()] += suspect.probability;
    std::map<std::string, PreVisit::Part> parts;
    for (const auto& [id, p] : chance) {
      const fault::Repair& repair = universe.repairs[id];
      if (repair.part.empty()) continue;
      PreVisit::Part& part = parts[repair.part];
      part.part = repair.part;
      part.chance += p;
      part.money = std::max(part.money, repair.part_money);
      part.uses.push_back(
          {repair.name, repair.place.is_none() ? "" : session_.drawing().places[repair.place.index()].name, p});
    }
    const auto likelier = [](const auto& a, const auto& b) { return a.chance > b.chance; };
    for (auto& [name, part] : parts) {
      if (part.chance < kLeastPart) continue;
      std::stable_sort(part.uses.begin(), part.uses.end(), likelier);
      found_.parts.push_back(std::move(part));
    }
    std::stable_sort(found_.parts.begin(), found_.parts.end(), likelier);
  }

  const candidates::Candidate* candidate_of(const plan::PlanNode& node) const {
    if (node.cut || node.action.kind != plan::ActionKind::kTest) return nullptr;
    return &s_.outlook.candidates[s_.outlook.tests[s_.outlook.built.test_of[node.action.index]].candidate];
  }

  void add(std::vector<PreVisit::Need>& list, std::string name, const StepTest& asks, std::string caution = "",
           double minutes = 0.0) const {
    const double chance = chance_of_use(s_.tree, asks);
    if (chance >= kLeastUse) list.push_back({std::move(name), std::move(caution), chance, minutes});
  }

  static void sort(std::vector<PreVisit::Need>& list) {
    std::stable_sort(list.begin(), list.end(),
                     [](const PreVisit::Need& a, const PreVisit::Need& b) { return a.chance > b.chance; });
  }

  void gather_instruments() {
    for (const std::string name : {"meter", "clamp meter", "test lamp", "scope, or a meter that holds peaks",
                                   "code reader", "hot air", "cold spray"})
      add(found_.instruments, name, [&](const plan::PlanNode& node) {
        const candidates::Candidate* candidate = candidate_of(node);
        return candidate != nullptr && instrument_of(candidate->what.kind) == name;
      });
    add(found_.instruments, "long lead", [&](const plan::PlanNode& node) {
      const candidates::Candidate* candidate = candidate_of(node);
      return candidate != nullptr && candidate->long_lead;
    });
  }

  void gather_acts() {
    using Act = candidates::Act;
    std::map<std::string, std::vector<std::size_t>> fitted;  // by what is fitted: setups of the problem
    for (std::size_t i = 0; i < s_.outlook.built.acts.size(); ++i) {
      const Act& act = s_.outlook.built.acts[i];
      const candidates::ActRecord record = candidates::describe(session_.drawing(), session_.loom().netlist, act);
      if (act.kind == Act::Kind::kFit)
        fitted[act.fitted.kind == circuit::Fitted::Kind::kLead
                   ? "bypass lead"
                   : "stand-in " + base::format_quantity(act.fitted.ohm, base::Unit::kOhm)]
            .push_back(i);
      if (act.kind == Act::Kind::kSwapPart || act.kind == Act::Kind::kSwapModule)
        fitted["known-good one to " + record.name].push_back(i);
      if (act.kind == Act::Kind::kSetup && !candidates::is_electrical(session_.drawing(), act.setup))
        add(found_.room, record.name, makes({i}), record.caution, record.do_minutes + record.undo_minutes);
    }
    for (const auto& [name, acts] : fitted) add(found_.instruments, name, makes(acts));
    sort(found_.instruments);
    sort(found_.room);
  }

  static StepTest makes(const std::vector<std::size_t>& acts) {
    return [acts](const plan::PlanNode& node) {
      const auto made = [&](const plan::SetupStep& step) {
        return step.make && std::find(acts.begin(), acts.end(), step.setup.index()) != acts.end();
      };
      return std::any_of(node.steps.begin(), node.steps.end(), made) ||
             std::any_of(node.proof_steps.begin(), node.proof_steps.end(), made);
    };
  }

  void gather_questions() {
    std::vector<candidates::Test> askable = s_.outlook.rough;
    std::erase_if(askable, [&](const candidates::Test& test) {
      const candidates::Candidate& candidate = s_.outlook.candidates[test.candidate];
      const bool as_it_stands = std::all_of(candidate.needs.begin(), candidate.needs.end(),
                                            [&](const auto& act) { return candidates::is_done(session_.state, act); });
      return test.bits < kLeastBits || !as_it_stands || !a_driver_sees(session_.drawing(), candidate.what);
    });
    for (const candidates::Test& test : candidates::choose_tests(askable, s_.outlook.suspects, kMostQuestions)) {
      const evidence::Observable& what = s_.outlook.candidates[test.candidate].what;
      Question question;
      question.asks = question_text(session_.drawing(), what);
      question.what = evidence::format_observable(session_.drawing(), session_.loom().netlist, what);
      question.bits = test.bits;
      for (std::size_t o = 0; o < test.outcomes.size(); ++o) add_answer(test, o, question);
      found_.questions.push_back(std::move(question));
    }
    std::stable_sort(found_.questions.begin(), found_.questions.end(),
                     [](const Question& a, const Question& b) { return a.bits > b.bits; });
  }

  void add_answer(const candidates::Test& test, std::size_t outcome, Question& question) const {
    Question::Answer answer;
    answer.seen = test.outcomes[outcome].name;
    double best = 0.0;
    std::size_t leads = 0;
    for (std::size_t s = 0; s < s_.outlook.suspects.size(); ++s) {
      const double p = s_.outlook.suspects[s].probability * test.chance[s * test.outcomes.size() + outcome];
      answer.chance += p;
      if (p > best) {
        best = p;
        leads = s;
      }
    }
    if (answer.chance < 0.004) return;
    answer.then_likely = s_.outlook.suspects[leads].name + " " + percent(best / answer.chance);
    question.answers.push_back(std::move(answer));
  }

  const Session& session_;
  const Belief& belief_;
  const Strategy& s_;
  PreVisit found_;
};

}  // namespace

PreVisit look_before_visit(const Session& session, const Belief& belief, const Strategy& strategy) {
  return Gatherer(session, belief, strategy).run();
}

}  // namespace halfsplit::app
