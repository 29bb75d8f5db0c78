// SPDX-License-Identifier: Apache-2.0
// One request, any door: an operation takes typed arguments and a Context and gives a Reply, the same for the command
// line, for `batch` and for the page. The table of operations is the one place that names them; help, routes and
// documentation are made from it.
#pragma once

#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "base/cancel.h"
#include "base/diagnostic.h"
#include "base/seams.h"
#include "capture/frame_source.h"

namespace halfsplit::app {

using Json = nlohmann::ordered_json;

class BookFiles;  // the book of jobs and the shelf of looms
class Cache;      // loaded looms and what was worked out for them; lives as long as the process

struct Context {
  base::Files& files;
  base::Clock& clock;
  Cache& cache;
  base::Progress* progress = nullptr;
  base::CancelToken cancel;
  std::string own_meter = {};            // file of the user's own meter, copied into new jobs; empty: none
  base::Questions* questions = nullptr;  // none: nobody can be asked
  BookFiles* book = nullptr;             // the same that `files` is made of; none: this door has no book
  base::Workers* workers = nullptr;      // none: one pair of hands
  capture::LiveTaps* live = nullptr;     // none: nothing to listen to
};

// Argument values by field name. A flag is present or not.
class Arguments {
 public:
  void add(const std::string& name, std::string value) { values_[name].push_back(std::move(value)); }
  [[nodiscard]] bool has(const std::string& name) const { return values_.contains(name); }
  [[nodiscard]] std::string get(const std::string& name, const std::string& fallback = "") const;
  [[nodiscard]] std::vector<std::string> all(const std::string& name) const;
  [[nodiscard]] const std::map<std::string, std::vector<std::string>>& values() const { return values_; }

 private:
  std::map<std::string, std::vector<std::string>> values_;
};

struct Reply {
  Json result = Json::object();
  std::string text;  // for people: at most 80 columns where names allow
  std::vector<base::Diagnostic> diagnostics;
  int exit_code = 0;  // 0 done, 2 usage, 3 input, 4 could not solve, 5 our bug
};

struct Field {
  enum class Kind : std::uint8_t { kPositional, kRest, kOption, kList, kFlag };
  std::string_view name;
  Kind kind = Kind::kOption;
  bool required = false;
  std::string_view help;
  std::string_view fallback = "";
};

struct Operation {
  std::string_view name;
  std::string_view summary;
  std::vector<Field> fields;
  std::string_view example;
  Reply (*run)(Context&, const Arguments&);
  bool only_reads = false;  // never changes a job: may run beside others on the same one
  bool takes_long = false;  // may take minutes
};

[[nodiscard]] const std::vector<Operation>& operations();
[[nodiscard]] const Operation* find_operation(std::string_view name);

// Checks the arguments against the table, runs, and turns a bug into exit code 5 with a report. Never throws.
[[nodiscard]] Reply run_operation(Context& context, std::string_view name, const Arguments& arguments);
// From {"job": "...", ...}; values may be text, numbers, booleans or lists of them; nothing at all is no arguments.
// Errors: args.bad-json.
[[nodiscard]] base::Result<Arguments> read_arguments(std::string_view json);
// From {"operation": "...", "arguments": {...}}; values may be text, numbers, booleans or lists of them.
[[nodiscard]] Reply run_json(Context& context, std::string_view request);
// The bytes that --json, batch and the page give.
[[nodiscard]] std::string to_json_text(const Reply& reply);

// A number given as an option, with a unit or without. Errors: args.range and those of reading a number.
[[nodiscard]] base::Result<double> number_option(const Arguments& arguments, const std::string& name, double fallback,
                                                 double low, double high);

[[nodiscard]] Reply fail(base::Diagnostic diagnostic);
[[nodiscard]] Reply fail(std::vector<base::Diagnostic> diagnostics);

std::shared_ptr<Cache> make_cache();

}  // namespace halfsplit::app
