// SPDX-License-Identifier: Apache-2.0
// Line editing and completion by libedit (editline).
#include "cli/work.h"

#include <editline/readline.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <cstring>
#include <iostream>
#include <string>
#include <vector>

#include "cli/print_reply.h"

namespace halfsplit::cli {

namespace {

std::vector<std::string>* g_names = nullptr;  // libedit's completion callback takes no argument; set by run_work alone

char* complete_name(const char* text, int state) {
  static std::size_t at = 0;
  if (state == 0) at = 0;
  const std::size_t length = std::strlen(text);
  for (; g_names != nullptr && at < g_names->size(); ++at)
    if ((*g_names)[at].compare(0, length, text) == 0) return strdup((*g_names)[at++].c_str());
  return nullptr;
}

char** complete(const char* text, int, int) {
  rl_attempted_completion_over = 1;
  return rl_completion_matches(text, complete_name);
}

constexpr const char* kHelp =
    "  VALUE            the reading the test asked for: 121.7  OL  4k7  23.8V  dim\n"
    "  saw TEST VALUE   something else you read:  saw volts J4:12@cab chassis 23.8\n"
    "  list MODULE CODE, CODE past   all codes the reader shows of a module; or: list MODULE none\n"
    "  did WHAT         did unplug J4, did cab-raised, did repaired J4:12\n"
    "  undo [N]         take back the newest entry, or entry N\n"
    "  skip             can't reach that: plan around it\n"
    "  why              the suspects and their reasons\n"
    "  expect TEST      what should I read there?\n"
    "  status, proof, sheet, close, next, help, quit\n";

class Loop {
 public:
  Loop(app::Context& context, std::string job)
      : context_(context), job_(std::move(job)), screen_(isatty(STDIN_FILENO) != 0 && isatty(STDOUT_FILENO) != 0) {}

  int run() {
    app::Reply status = call("status", {});
    if (status.exit_code != 0) return print_reply(status, false);
    print_reply(status, false);
    learn_names(status);
    show_next();
    for (std::string line; read_line(line);) {
      if (line.empty()) continue;
      if (line == "quit" || line == "q" || line == "exit") break;
      obey(line);
    }
    return 0;
  }

 private:
  app::Reply call(const std::string& operation, const std::vector<std::pair<std::string, std::string>>& values) {
    app::Arguments arguments;
    if (!job_.empty()) arguments.add("job", job_);
    for (const auto& [name, value] : values) arguments.add(name, value);
    return app::run_operation(context_, operation, arguments);
  }

  void learn_names(const app::Reply& status) {
    names_ = {"saw",   "did",      "undo",   "skip", "why",   "suspects", "expect", "status", "proof",
              "sheet", "close",    "next",   "help", "quit",  "unplug",   "plug",   "fit",    "remove",
              "swap",  "repaired", "volts",  "ohms", "clamp", "lamp",     "look",   "code",   "list",
              "live",  "wiggle",   "module", "heat", "cool",  "inspect"};
    (void)status;
    const app::Reply faults = call("faults", {});
    if (faults.exit_code == 0)
      for (const app::Json& fault : faults.result["faults"]) {
        const std::string name = fault["name"].get<std::string>();
        names_.push_back(name.substr(0, name.find(' ')));
      }
    std::sort(names_.begin(), names_.end());
    names_.erase(std::unique(names_.begin(), names_.end()), names_.end());
    if (!screen_) return;
    g_names = &names_;
    rl_attempted_completion_function = complete;
  }

  bool read_line(std::string& line) {
    if (!screen_) {
      if (!std::getline(std::cin, line)) return false;
      std::cout << "> " << line << "\n";
    } else {
      char* typed = readline("> ");
      if (typed == nullptr) return false;
      line = typed;
      if (!line.empty()) add_history(typed);
      std::free(typed);
    }
    while (!line.empty() && line.back() == ' ') line.pop_back();
    line.erase(0, line.find_first_not_of(' ') == std::string::npos ? line.size() : line.find_first_not_of(' '));
    return true;
  }

  void show_next() { print_reply(call("next", {}), false); }

  // "saw ohms A B 121.7": the last word is the value unless the test speaks for itself.
  void saw(const std::string& rest) {
    const app::Reply reply = call("saw", {{"what", rest}});
    print_reply(reply, false);
    if (reply.exit_code == 0) show_next();
  }

  void obey(const std::string& line) {
    const std::size_t cut = line.find(' ');
    const std::string word = line.substr(0, cut);
    const std::string rest = cut == std::string::npos ? "" : line.substr(cut + 1);
    if (word == "help" || word == "?") {
      std::cout << kHelp;
    } else if (word == "next") {
      show_next();
    } else if (word == "why" || word == "suspects") {
      print_reply(call("suspects", {}), false);
    } else if (word == "status" || word == "proof" || word == "sheet" || word == "close") {
      print_reply(call(word, {}), false);
    } else if (word == "undo" || word == "skip" || word == "did") {
      change(word, rest);
    } else if (word == "expect") {
      print_reply(call("expect", {{"what", rest}}), false);
    } else if (word == "saw") {
      saw(rest);
    } else {
      saw(line);
    }
  }

  void change(const std::string& word, const std::string& rest) {
    std::vector<std::pair<std::string, std::string>> values;
    if (!rest.empty()) values.emplace_back(word == "undo" ? "entry" : "what", rest);
    const app::Reply reply = call(word, values);
    print_reply(reply, false);
    if (reply.exit_code == 0) show_next();
  }

  app::Context& context_;
  std::string job_;
  bool screen_;
  std::vector<std::string> names_;
};

}  // namespace

int run_work(app::Context& context, const std::string& job) { return Loop(context, job).run(); }

}  // namespace halfsplit::cli
