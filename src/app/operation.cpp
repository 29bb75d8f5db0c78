// SPDX-License-Identifier: Apache-2.0
// The door to all operations. Bugs stop here: they become a report and exit code 5.
#include "app/operation.h"

#include <algorithm>
#include <exception>

#include "app/ops.h"
#include "app/words.h"
#include "base/check.h"
#include "base/nearest.h"
#include "base/number.h"

namespace halfsplit::app {

namespace {

constexpr int kUsage = 2;
constexpr int kInput = 3;
constexpr int kBug = 5;

Reply usage(std::vector<base::Diagnostic> problems) {
  Reply reply = fail(std::move(problems));
  reply.exit_code = kUsage;
  return reply;
}

Reply usage(std::string code, std::string message, std::string hint) {
  return usage({base::make_error(std::move(code), std::move(message), std::move(hint))});
}

std::vector<std::string> field_names(const Operation& operation) {
  std::vector<std::string> names;
  for (const Field& field : operation.fields) names.emplace_back(field.name);
  return names;
}

// What the table does not know, and what it wants and did not get.
std::vector<base::Diagnostic> check_arguments(const Operation& operation, const Arguments& arguments) {
  std::vector<base::Diagnostic> problems;
  for (const auto& [name, values] : arguments.values()) {
    const bool known =
        std::any_of(operation.fields.begin(), operation.fields.end(), [&](const Field& f) { return f.name == name; });
    if (!known)
      problems.push_back(base::make_error("args.unknown",
                                          "\"" + name + "\" is not an argument of " + std::string(operation.name),
                                          base::did_you_mean(name, field_names(operation))));
  }
  for (const Field& field : operation.fields)
    if (field.required && !arguments.has(std::string(field.name)))
      problems.push_back(base::make_error(
          "args.missing",
          std::string(operation.name) + " needs " + std::string(field.name) + ": " + std::string(field.help),
          "for example: " + std::string(operation.example)));
  return problems;
}

constexpr int kMostRounds =
    50;  // of a step whose job file others write at the same time; each time one of them is done

bool has_code(const Reply& reply, std::string_view code) {
  return std::any_of(reply.diagnostics.begin(), reply.diagnostics.end(),
                     [&](const base::Diagnostic& d) { return d.code == code; });
}

// What comes on standard input comes once.
bool reads_standard_input(const Arguments& arguments) {
  return std::any_of(arguments.values().begin(), arguments.values().end(), [](const auto& argument) {
    return std::find(argument.second.begin(), argument.second.end(), "-") != argument.second.end();
  });
}

// A step on a job file that somebody else wrote in the meantime is done again on the newer one.
Reply run_on_newest(Context& context, const Operation& operation, const Arguments& arguments) {
  Reply reply = operation.run(context, arguments);
  if (reads_standard_input(arguments)) return reply;
  for (int round = 1; round < kMostRounds && reply.exit_code == kInput && has_code(reply, "file.changed"); ++round)
    reply = operation.run(context, arguments);
  return reply;
}

Reply bug(const std::string& what) {
  Reply reply =
      fail(base::make_error("bug", "this is our bug: " + what, "please report it with the loom and the job file"));
  reply.exit_code = kBug;
  return reply;
}

bool add_json_value(Arguments& arguments, const std::string& name, const Json& value) {
  if (value.is_string()) {
    arguments.add(name, value.get<std::string>());
  } else if (value.is_boolean()) {
    if (value.get<bool>()) arguments.add(name, "true");
  } else if (value.is_number()) {
    arguments.add(name, value.dump());
  } else if (value.is_array()) {
    return std::all_of(value.begin(), value.end(), [&](const Json& one) {
      return !one.is_array() && !one.is_object() && add_json_value(arguments, name, one);
    });
  } else {
    return value.is_null();
  }
  return true;
}

base::Result<Arguments> arguments_from(const Json& object) {
  if (!object.is_object()) return base::make_error("args.bad-json", "arguments is not an object", "");
  Arguments arguments;
  for (const auto& [name, value] : object.items())
    if (!add_json_value(arguments, name, value))
      return base::make_error("args.bad-json",
                              "argument \"" + name + "\" is not text, a number, true/false or a list of them", "");
  return arguments;
}

}  // namespace

std::string Arguments::get(const std::string& name, const std::string& fallback) const {
  const auto found = values_.find(name);
  return found == values_.end() || found->second.empty() ? fallback : found->second.back();
}

std::vector<std::string> Arguments::all(const std::string& name) const {
  const auto found = values_.find(name);
  return found == values_.end() ? std::vector<std::string>{} : found->second;
}

Reply fail(std::vector<base::Diagnostic> diagnostics) {
  Reply reply;
  reply.diagnostics = std::move(diagnostics);
  reply.exit_code = kInput;
  return reply;
}

Reply fail(base::Diagnostic diagnostic) { return fail(std::vector<base::Diagnostic>{std::move(diagnostic)}); }

const Operation* find_operation(std::string_view name) {
  for (const Operation& operation : operations())
    if (operation.name == name) return &operation;
  return nullptr;
}

Reply run_operation(Context& context, std::string_view name, const Arguments& arguments) {
  const Operation* operation = find_operation(name);
  if (operation == nullptr) {
    std::vector<std::string> names;
    for (const Operation& o : operations()) names.emplace_back(o.name);
    return usage("args.unknown-operation", "there is no \"" + std::string(name) + "\"",
                 base::did_you_mean(name, names));
  }
  const std::vector<base::Diagnostic> problems = check_arguments(*operation, arguments);
  if (!problems.empty()) return usage(problems);
  try {
    return run_on_newest(context, *operation, arguments);
  } catch (const base::Bug& error) {
    return bug(error.what());
  } catch (const std::bad_alloc&) {
    return bug("out of memory");
  } catch (const std::exception& error) {
    return bug(error.what());
  }
}

base::Result<Arguments> read_arguments(std::string_view json) {
  if (json.find_first_not_of(" \t\r\n") == std::string_view::npos) return Arguments{};
  const Json object = Json::parse(json, nullptr, false);
  if (object.is_discarded())
    return base::make_error("args.bad-json", "the arguments are not JSON", "{\"job\": \"FILE\"}");
  return arguments_from(object);
}

Reply run_json(Context& context, std::string_view request) {
  const Json json = Json::parse(request, nullptr, false);
  if (json.is_discarded() || !json.is_object())
    return usage("args.bad-json", "the request is not a JSON object",
                 "{\"operation\": \"next\", \"arguments\": {\"job\": \"FILE\"}}");
  if (!json.contains("operation") || !json["operation"].is_string())
    return usage("args.bad-json", "the request names no operation", "{\"operation\": \"next\", \"arguments\": {}}");
  base::Result<Arguments> arguments = Arguments{};
  if (json.contains("arguments")) arguments = arguments_from(json["arguments"]);
  if (!arguments) return usage(arguments.diagnostics());
  Reply reply = run_operation(context, json["operation"].get<std::string>(), *arguments);
  if (json.contains("id")) reply.result["id"] = json["id"];
  return reply;
}

base::Result<double> number_option(const Arguments& arguments, const std::string& name, double fallback, double low,
                                   double high) {
  if (!arguments.has(name)) return fallback;
  const base::Result<base::Quantity> q = base::parse_quantity(arguments.get(name));
  if (!q) return q.diagnostics();
  if (q->over_range || q->value < low || q->value > high)
    return base::make_error("args.range",
                            name + " is a number from " + base::format_number(low) + " to " +
                                base::format_number(high) + ", not " +
                                (q->over_range ? std::string("OL") : base::format_number(q->value)),
                            "");
  return q->value;
}

std::string to_json_text(const Reply& reply) {
  Json json;
  json["ok"] = reply.exit_code == 0;
  json["exit_code"] = reply.exit_code;
  json["result"] = reply.result;
  json["diagnostics"] = diagnostics_json(reply.diagnostics);
  return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace halfsplit::app
