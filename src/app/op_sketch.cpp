// SPDX-License-Identifier: Apache-2.0
// A loom from a few answers: as arguments, or asked for at the keyboard when none are given.
#include <algorithm>

#include "app/ops.h"
#include "app/words.h"
#include "base/nearest.h"
#include "formats/loom_text.h"
#include "formats/sketch.h"

namespace halfsplit::app {

namespace {

using formats::SketchAnswers;
using formats::SketchQuestion;
using formats::SketchTemplate;

Json question_json(const SketchQuestion& question) {
  Json json{{"name", question.name}, {"asks", question.asks}, {"list", question.list}, {"required", question.required}};
  if (!question.fallback.empty()) json["fallback"] = question.fallback;
  if (!question.only_with.empty()) json["only_with"] = question.only_with;
  return json;
}

Reply list_templates() {
  Reply reply;
  Json list = Json::array();
  for (const SketchTemplate& one : formats::sketch_templates()) {
    Json questions = Json::array();
    reply.text += std::string(one.name) + "\n  " + wrap(std::string(one.summary), 2) + "\n";
    for (const SketchQuestion& question : one.questions) {
      questions.push_back(question_json(question));
      const std::string usual = question.fallback.empty() ? "" : " [" + std::string(question.fallback) + "]";
      reply.text +=
          "    " + padded("--" + std::string(question.name), 22) + wrap(std::string(question.asks) + usual, 26) + "\n";
    }
    list.push_back({{"name", one.name}, {"summary", one.summary}, {"questions", questions}});
  }
  reply.result["templates"] = list;
  return reply;
}

SketchAnswers answers_of(const Arguments& arguments) {
  SketchAnswers answers;
  for (const SketchTemplate& one : formats::sketch_templates())
    for (const SketchQuestion& question : one.questions)
      if (const std::string name(question.name); arguments.has(name)) answers[name] = arguments.all(name);
  return answers;
}

// What is wrong with the answers so far, those still to come aside.
std::vector<base::Diagnostic> wrong_so_far(const SketchTemplate& which, const SketchAnswers& answers) {
  const base::Result<formats::Sketched> sketched = formats::sketch_loom(which, answers);
  std::vector<base::Diagnostic> wrong;
  if (sketched) return wrong;
  for (const base::Diagnostic& d : sketched.diagnostics())
    if (d.code != "sketch.missing-answer") wrong.push_back(d);
  return wrong;
}

bool ask_one(base::Questions& questions, const SketchTemplate& which, const SketchQuestion& question,
             SketchAnswers& answers) {
  const std::string name(question.name);
  for (;;) {
    const std::optional<std::string> told = questions.ask(question.asks, question.fallback);
    if (!told) return false;
    if (told->empty() && question.required) {
      questions.say("this one is needed\n");
      continue;
    }
    if (told->empty() || *told == question.fallback) return true;
    answers[name] = {*told};
    const std::vector<base::Diagnostic> wrong = wrong_so_far(which, answers);
    if (wrong.empty()) return true;
    questions.say(base::format_diagnostics(wrong));
    answers.erase(name);
  }
}

base::Result<base::Done> ask_all(base::Questions& questions, const SketchTemplate& which, SketchAnswers& answers) {
  questions.say("An empty line takes what stands in brackets, or leaves it out. Several: with commas between.\n");
  for (const SketchQuestion& question : which.questions) {
    if (!question.only_with.empty() && answers.find(question.only_with) == answers.end()) continue;
    if (answers.find(question.name) == answers.end() && !ask_one(questions, which, question, answers))
      return base::make_error("sketch.stopped", "the answers ended before the last question; nothing is written",
                              "answer them all, or give them as arguments: halfsplit sketch --list names them");
  }
  return base::Done{};
}

// What was written must read back: a sketch that does not is refused with the reader's own words.
base::Result<base::Done> read_back(const std::string& path, const std::string& text) {
  const formats::SourceReader reader = [&](const std::string&) -> base::Result<std::string> { return text; };
  const base::Result<circuit::Loom> loom = formats::read_loom(path, reader);
  if (!loom) return loom.diagnostics();
  return base::Done{};
}

Reply tell(const SketchTemplate& which, const formats::Sketched& sketched, const std::string& path) {
  Reply reply;
  reply.text = "wrote " + path + ": " + sketched.name + "\nNobody told, so it stands as usual (marked in the file):\n";
  for (const std::string& one : sketched.assumed) reply.text += "  " + wrap(one, 2) + "\n";
  reply.text +=
      "What is wrong there costs certainty: put in what you know, the file is yours.\nThen: halfsplit check " + path +
      "\n      halfsplit open " + path + " --complaint \"...\"\n";
  reply.result = {{"template", which.name},        {"name", sketched.name},       {"file", path},
                  {"bytes", sketched.text.size()}, {"assumed", sketched.assumed}, {"text", sketched.text}};
  return reply;
}

}  // namespace

Reply op_sketch(Context& context, const Arguments& arguments) {
  const std::string name = arguments.get("template");
  if (arguments.has("list")) return list_templates();
  std::vector<std::string> names;
  for (const SketchTemplate& one : formats::sketch_templates()) names.emplace_back(one.name);
  const SketchTemplate* const which = formats::find_sketch_template(name);
  if (which == nullptr) {
    const std::string near = base::did_you_mean(name, names);
    return fail(base::make_error(
        "sketch.unknown-template", name.empty() ? "no template is named" : "there is no template \"" + name + "\"",
        (near.empty() ? "" : near + " ") + "`halfsplit sketch --list` says which there are and what they ask"));
  }
  const auto taken = [&](const std::string& path) {
    return base::make_error("sketch.exists", "there is already a file " + path,
                            "name another with --out, or replace it with --force");
  };
  std::string path = arguments.get("out");
  if (!path.empty() && context.files.exists(path) && !arguments.has("force")) return fail(taken(path));
  SketchAnswers answers = answers_of(arguments);
  const bool told = std::any_of(which->questions.begin(), which->questions.end(), [&](const SketchQuestion& question) {
    return question.required && answers.find(question.name) != answers.end();
  });
  if (!told && context.questions != nullptr) {
    const base::Result<base::Done> done = ask_all(*context.questions, *which, answers);
    if (!done) return fail(done.diagnostics());
  }
  const base::Result<formats::Sketched> sketched = formats::sketch_loom(*which, answers);
  if (!sketched) return fail(sketched.diagnostics());
  if (path.empty()) path = slug(sketched->name, std::string(which->name)) + ".loom.toml";
  if (context.files.exists(path) && !arguments.has("force")) return fail(taken(path));
  const base::Result<base::Done> reads = read_back(path, sketched->text);
  if (!reads) return fail(reads.diagnostics());
  const base::Result<base::Done> written = context.files.write(path, sketched->text);
  if (!written) return fail(written.diagnostics());
  return tell(*which, *sketched, path);
}

}  // namespace halfsplit::app
