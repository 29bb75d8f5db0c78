// SPDX-License-Identifier: Apache-2.0
// A loom from a few answers: as arguments, or asked for at the keyboard when none are given.
#include <algorithm>

#include "app/check_text.h"
#include "app/op_jobs.h"
#include "app/ops.h"
#include "app/words.h"
#include "base/nearest.h"
#include "formats/sketch.h"

namespace halfsplit::app {

namespace {

using formats::SketchAnswers;
using formats::SketchQuestion;
using formats::SketchTemplate;

std::string_view kind_word_of(const SketchQuestion& question) {
  switch (question.kind) {
    case formats::SketchAnswerKind::kNumber:
      return "number";
    case formats::SketchAnswerKind::kChoice:
      return "choice";
    case formats::SketchAnswerKind::kYesNo:
      return "yes-no";
    case formats::SketchAnswerKind::kPath:
      return "path";
    default:
      return question.list ? "list" : "text";
  }
}

Json question_json(const SketchQuestion& question) {
  Json json{{"name", question.name},
            {"asks", question.asks},
            {"kind", kind_word_of(question)},
            {"list", question.list},
            {"required", question.required}};
  if (!question.choices.empty()) {
    Json choices = Json::array();
    for (std::size_t from = 0; from < question.choices.size();) {
      const std::size_t blank = std::min(question.choices.find(' ', from), question.choices.size());
      choices.push_back(question.choices.substr(from, blank - from));
      from = blank + 1;
    }
    json["choices"] = choices;
  }
  if (!question.fallback.empty()) json["fallback"] = question.fallback;
  if (!question.example.empty()) json["example"] = question.example;
  if (!question.only_with.empty()) json["only_with"] = question.only_with;
  return json;
}

Reply list_templates(const SketchTemplate* only) {
  Reply reply;
  Json list = Json::array();
  for (const SketchTemplate& one : formats::sketch_templates()) {
    if (only != nullptr && &one != only) continue;
    Json questions = Json::array();
    reply.text += std::string(one.name) + "\n  " + wrap(std::string(one.summary), 2) +
                  "\n  When: " + wrap(std::string(one.use), 8) + "\n";
    for (const SketchQuestion& question : one.questions) {
      questions.push_back(question_json(question));
      const std::string usual = question.fallback.empty() ? "" : " [" + std::string(question.fallback) + "]";
      reply.text +=
          "    " + padded("--" + std::string(question.name), 22) + wrap(std::string(question.asks) + usual, 26) + "\n";
    }
    list.push_back({{"name", one.name},
                    {"title", one.title},
                    {"summary", one.summary},
                    {"use", one.use},
                    {"example", "halfsplit sketch " + std::string(one.name) + " " + std::string(one.example)},
                    {"questions", questions}});
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

std::string assumed_text(const formats::Sketched& sketched) {
  std::string text = "Nobody told, so it stands as usual (marked in the file):\n";
  for (const std::string& one : sketched.assumed) text += "  " + wrap(one, 2) + "\n";
  return text;
}

Reply tell(const SketchTemplate& which, const formats::Sketched& sketched, const std::string& path,
           const Reply& checked) {
  Reply reply;
  reply.diagnostics = checked.diagnostics;
  reply.result = {{"template", which.name}, {"name", sketched.name}};
  if (!path.empty()) reply.result["file"] = path;
  reply.result.update({{"bytes", sketched.text.size()},
                       {"assumed", sketched.assumed},
                       {"check", checked.result},
                       {"text", sketched.text}});
  if (path.empty()) {
    reply.text = sketched.text;
    return reply;
  }
  reply.text = "wrote " + path + ": " + sketched.name + "\n" + assumed_text(sketched) +
               "What is wrong there costs certainty: put in what you know, the file is yours.\nThen: halfsplit check " +
               path + "\n      halfsplit open " + path + " --complaint \"...\"\n";
  return reply;
}

const SketchTemplate* template_of(const std::string& name, std::vector<base::Diagnostic>& problems) {
  const SketchTemplate* const which = formats::find_sketch_template(name);
  if (which != nullptr) return which;
  std::vector<std::string> names;
  for (const SketchTemplate& one : formats::sketch_templates()) names.emplace_back(one.name);
  const std::string near = base::did_you_mean(name, names);
  problems.push_back(base::make_error(
      "sketch.unknown-template", name.empty() ? "no template is named" : "there is no template \"" + name + "\"",
      (near.empty() ? "" : near + " ") + "`halfsplit sketch --list` says which there are and what they ask"));
  return nullptr;
}

// Nobody is asked who gave an answer that the template needs.
bool is_told(const SketchTemplate& which, const SketchAnswers& answers) {
  return std::any_of(which.questions.begin(), which.questions.end(), [&](const SketchQuestion& question) {
    return question.required && answers.find(question.name) != answers.end();
  });
}

// With --drawing the reply has it too: one request shows somebody at a screen what the answers come to.
Reply with_drawing(Context& context, const Arguments& arguments, Reply told) {
  if (!arguments.has("drawing")) return told;
  const Reply drawn = draw_text(context, told.result["text"], arguments.has("dark"));
  if (drawn.exit_code != 0) return drawn;
  told.result["svg"] = drawn.result["svg"];
  return told;
}

base::Result<base::Done> refuse_taken(Context& context, const Arguments& arguments, const std::string& path) {
  if (path.empty() || !context.files.exists(path) || arguments.has("force")) return base::Done{};
  return base::make_error("sketch.exists", "there is already a file " + path,
                          "name another with --out, or replace it with --force");
}

}  // namespace

Reply op_sketch(Context& context, const Arguments& arguments) {
  const std::string name = arguments.get("template");
  std::vector<base::Diagnostic> problems;
  const SketchTemplate* const which = template_of(name, problems);
  if (arguments.has("list") && (name.empty() || which != nullptr)) return list_templates(which);
  if (which == nullptr) return fail(problems);
  std::string path = arguments.get("out");
  const bool dry = arguments.has("text");
  if (arguments.has("drawing") && !dry)
    return usage_error("sketch.drawing-of-file", "--drawing goes with --text, which writes nothing",
                       "halfsplit draw --loom FILE draws it once it is written");
  if (arguments.has("dark") && !arguments.has("drawing"))
    return usage_error("sketch.dark-of-nothing", "--dark goes with --drawing",
                       "add --text --drawing, or leave --dark out");
  if (const base::Result<base::Done> free = refuse_taken(context, arguments, dry ? "" : path); !free)
    return fail(free.diagnostics());
  SketchAnswers answers = answers_of(arguments);
  if (!is_told(*which, answers) && context.questions != nullptr && !dry) {
    const base::Result<base::Done> done = ask_all(*context.questions, *which, answers);
    if (!done) return fail(done.diagnostics());
  }
  const base::Result<formats::Sketched> sketched = formats::sketch_loom(*which, answers);
  if (!sketched) return fail(sketched.diagnostics());
  if (path.empty()) path = slug(sketched->name, std::string(which->name)) + ".loom.toml";
  if (const base::Result<base::Done> free = refuse_taken(context, arguments, dry ? "" : path); !free)
    return fail(free.diagnostics());
  const Reply checked = check_text(context, path, sketched->text);
  if (checked.exit_code != 0) return checked;
  if (dry) return with_drawing(context, arguments, tell(*which, *sketched, "", checked));
  const base::Result<base::Done> written = context.files.write(path, sketched->text);
  if (!written) return fail(written.diagnostics());
  return tell(*which, *sketched, path, checked);
}

}  // namespace halfsplit::app
