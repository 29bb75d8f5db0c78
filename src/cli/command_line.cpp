// SPDX-License-Identifier: Apache-2.0
// Built from the table of operations; CLI11 parses, nothing here knows what an operation does. `work` and `batch` are
// loops over the same operations.
#include "cli/command_line.h"

#include <unistd.h>
#include <CLI/CLI.hpp>
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <iostream>
#include <map>
#include <memory>
#include <string>
#include <system_error>
#include <utility>
#include <vector>

#include "app/book_files.h"
#include "app/memory_files.h"
#include "app/operation.h"
#include "app/profile_files.h"
#include "base/nearest.h"
#include "cli/batch.h"
#include "cli/print_reply.h"
#include "cli/terminal_progress.h"
#include "cli/terminal_questions.h"
#include "cli/work.h"
#include "system/live_can.h"
#include "system/own_meter.h"
#include "system/posix_files.h"
#include "system/system_clock.h"
#include "system/threads.h"

namespace halfsplit::cli {

namespace {

constexpr int kUsage = 2;
constexpr int kUnwritten = 3;
base::CancelToken* g_interrupted = nullptr;  // set once in run_command_line, read by the signal handler only

void on_interrupt(int) {
  if (g_interrupted != nullptr) g_interrupted->cancel();
}

struct Bound {
  std::vector<std::string> values;
  bool flag = false;
};
using Bindings = std::map<std::string, std::unique_ptr<Bound>>;

void bind_field(CLI::App& command, const app::Field& field, Bound& bound) {
  const std::string name(field.name);
  const std::string help(field.help);
  switch (field.kind) {
    case app::Field::Kind::kPositional:
      command
          .add_option_function<std::string>(
              name, [&bound](const std::string& value) { bound.values = {value}; }, help)
          ->required(field.required)
          ->type_name("");
      return;
    case app::Field::Kind::kRest:
      command.add_option(name, bound.values, help)->expected(field.required ? 1 : 0, 64)->required(field.required);
      return;
    case app::Field::Kind::kOption:
      command
          .add_option_function<std::string>(
              "--" + name, [&bound](const std::string& value) { bound.values = {value}; }, help)
          ->required(field.required)
          ->type_name("");
      return;
    case app::Field::Kind::kList:
      command.add_option("--" + name, bound.values, help)->allow_extra_args(false)->type_name("");
      return;
    case app::Field::Kind::kFlag:
      command.add_flag("--" + name, bound.flag, help);
  }
}

app::Arguments collect(const app::Operation& operation, const Bindings& bindings) {
  app::Arguments arguments;
  for (const app::Field& field : operation.fields) {
    const Bound& bound = *bindings.at(std::string(field.name));
    const std::string name(field.name);
    if (field.kind == app::Field::Kind::kFlag) {
      if (bound.flag) arguments.add(name, "true");
    } else if (field.kind == app::Field::Kind::kRest && bound.values.size() == 2 &&
               bound.values.front().find(' ') != std::string::npos && bindings.contains("shows")) {
      arguments.add(name, bound.values.front());  // saw "TEST" VALUE: the quotes say where the test ends
      arguments.add("shows", bound.values.back());
    } else if (field.kind == app::Field::Kind::kRest) {
      std::string joined;
      for (const std::string& value : bound.values) joined += (joined.empty() ? "" : " ") + value;
      if (!bound.values.empty()) arguments.add(name, joined);
    } else {
      for (const std::string& value : bound.values) arguments.add(name, value);
    }
  }
  return arguments;
}

// CLI11 takes "-40" for an option; readings below zero are common, so a bare number gets a blank before it, which every
// reader of values trims.
std::vector<std::string> protect_numbers(int argc, char** argv) {
  std::vector<std::string> words(argv + 1, argv + argc);
  for (std::string& word : words) {
    if (word == "--") break;
    const bool number = word.size() > 1 && word[0] == '-' &&
                        (std::isdigit(static_cast<unsigned char>(word[1])) != 0 || word[1] == '.' || word == "---");
    if (number) word.insert(0, " ");
  }
  return words;
}

// "trace FILE A B" as "trace --loom FILE A B", as check has it: where a command has an option loom, one word more than
// it takes is the loom.
void name_loom(std::vector<std::string>& words) {
  const app::Operation* operation = words.empty() ? nullptr : app::find_operation(words.front());
  if (operation == nullptr) return;
  using Kind = app::Field::Kind;
  const auto field = [&](const std::string& name) {
    return std::find_if(operation->fields.begin(), operation->fields.end(),
                        [&](const app::Field& f) { return f.name == name; });
  };
  const auto of_kind = [&](Kind kind) {
    return std::count_if(operation->fields.begin(), operation->fields.end(),
                         [&](const app::Field& f) { return f.kind == kind; });
  };
  const auto loom = field("loom");
  if (loom == operation->fields.end() || loom->kind != Kind::kOption || of_kind(Kind::kRest) > 0) return;
  std::vector<std::size_t> bare;
  for (std::size_t i = 1; i < words.size(); ++i) {
    if (!words[i].starts_with("--")) {
      if (!words[i].starts_with("-")) bare.push_back(i);
      continue;
    }
    const std::string name = words[i].substr(2, words[i].find('=') - 2);
    if (name == "loom" || name.empty()) return;
    const auto told = field(name);
    const bool has_value = told != operation->fields.end() && told->kind != Kind::kFlag;
    if (has_value && words[i].find('=') == std::string::npos) ++i;
  }
  if (static_cast<std::ptrdiff_t>(bare.size()) == of_kind(Kind::kPositional) + 1)
    words.insert(words.begin() + static_cast<std::ptrdiff_t>(bare.front()), "--loom");
}

// What was worked out is given back with the process, all at once: piece by piece takes a twentieth of a short
// command's time. Leak checkers are spared it.
void leave_to_the_system([[maybe_unused]] const std::shared_ptr<app::Cache>& cache) {
#ifndef __SANITIZE_ADDRESS__
  static_cast<void>(new std::shared_ptr<app::Cache>(cache));
#endif
}

}  // namespace

int print_reply(const app::Reply& reply, bool json) {
  errno = 0;
  if (json) {
    std::cout << app::to_json_text(reply) << "\n";
    return with_output_written(reply.exit_code);
  }
  std::cout << reply.text << std::flush;
  const int code = with_output_written(reply.exit_code);
  std::cerr << base::format_diagnostics(reply.diagnostics);
  return code;
}

int with_output_written(int exit_code) {
  static bool told = false;
  if (std::cout.flush() && std::fflush(stdout) == 0 && std::ferror(stdout) == 0) return exit_code;
  const std::string reason = errno == 0 ? "" : ": " + std::system_category().message(errno);
  if (!std::exchange(told, true))
    std::cerr << base::format_diagnostics(
        {base::make_error("file.unwritable", "standard output cannot be written" + reason,
                          "the answer is not all there; what the command writes into files and jobs is written")});
  return exit_code == 0 ? kUnwritten : exit_code;
}

int run_command_line(int argc, char** argv, const std::vector<OtherCommand>& others) {
  CLI::App program{
      "Halfsplit finds the one wire, contact, ground, sensor or module that explains a commercial vehicle's electrical "
      "fault."};
  program.name("halfsplit");
  program.set_version_flag("--version", "halfsplit 0.1.0");
  program.footer(
      "The maker's instructions and local rules come first. `halfsplit COMMAND --help` has an example that works.");
  program.require_subcommand(0, 1);
  bool json = false;
  std::map<std::string, Bindings> bindings;
  for (const app::Operation& operation : app::operations()) {
    CLI::App* command = program.add_subcommand(std::string(operation.name), std::string(operation.summary));
    command->footer("Example: " + std::string(operation.example));
    command->add_flag("--json", json, "the reply as JSON");
    Bindings& bounds = bindings[std::string(operation.name)];
    for (const app::Field& field : operation.fields) {
      auto bound = std::make_unique<Bound>();
      bind_field(*command, field, *bound);
      bounds.emplace(std::string(field.name), std::move(bound));
    }
  }
  std::string work_job;
  CLI::App* work = program.add_subcommand("work", "the loop at the keyboard: next, the reading, next ...");
  work->add_option("--job", work_job, "the job file")->type_name("");
  work->footer("Example: halfsplit work");
  CLI::App* batch = program.add_subcommand(
      "batch", "JSON lines on standard input, one reply a line; jobs named mem:... stay in memory");
  batch->footer(
      "Example: echo '{\"operation\":\"check\",\"arguments\":{\"loom\":\"gritter.loom.toml\"}}' | halfsplit batch");
  for (const OtherCommand& other : others) program.add_subcommand(other.name, other.summary);
  system::PosixFiles disk;
  system::SystemClock clock;
  app::BookFiles book(disk, clock, app::find_book_folder());
  app::ProfileFiles profiled(book, app::find_book_folder());
  app::MemoryFiles files(profiled);
  const std::shared_ptr<app::Cache> cache = app::make_cache();
  std::vector<std::string> words = protect_numbers(argc, argv);
  if (!words.empty() && !words.front().starts_with('-') && words.front() != "work" && words.front() != "batch" &&
      app::find_operation(words.front()) == nullptr) {
    app::Context none{files, clock, *cache, nullptr, {}, {}};
    return print_reply(app::run_operation(none, words.front(), {}), false);
  }
  name_loom(words);
  std::reverse(words.begin(), words.end());
  try {
    program.parse(words);
  } catch (const CLI::ParseError& error) {
    if (error.get_exit_code() == 0) return with_output_written(program.exit(error));
    program.exit(error, std::cerr, std::cerr);
    return kUsage;
  }
  TerminalProgress progress;
  app::Context context{files, clock, *cache, &progress, {}, system::find_own_meter(disk)};
  context.book = &book;
  system::Threads threads;
  context.workers = &threads;
  system::KernelTaps taps;
  context.live = &taps;
  base::CancelToken interrupted = context.cancel;
  g_interrupted = &interrupted;
  if (work->parsed()) return with_output_written(run_work(context, work_job));
  if (batch->parsed()) return with_output_written(run_batch(context, std::cin, std::cout));
  disk.offer_standard_input(context.cancel);
  TerminalQuestions questions;
  if (!json) context.questions = &questions;
  std::signal(SIGINT, on_interrupt);
  for (const app::Operation& operation : app::operations()) {
    if (!program.got_subcommand(std::string(operation.name))) continue;
    const int code = print_reply(
        app::run_operation(context, operation.name, collect(operation, bindings.at(std::string(operation.name)))),
        json);
    leave_to_the_system(cache);
    return code;
  }
  std::cout << program.help();
  return kUsage;
}

}  // namespace halfsplit::cli
