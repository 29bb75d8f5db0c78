// SPDX-License-Identifier: Apache-2.0
#include "app/expect_arguments.h"

#include <cstdlib>

#include "app/meter_file.h"
#include "base/nearest.h"

namespace halfsplit::app {

namespace {

void append(std::vector<base::Diagnostic>& problems, const std::vector<base::Diagnostic>& more) {
  problems.insert(problems.end(), more.begin(), more.end());
}

base::Diagnostic unknown_fault(const LoadedLoom& loom, const std::string& name) {
  std::vector<std::string> names;
  for (const fault::Fault& f : loom.universe.faults) names.push_back(f.name);
  return base::make_error("expect.unknown-fault", "there is no fault named \"" + name + "\"",
                          base::did_you_mean(name, names) + " `halfsplit faults LOOM` lists them");
}

// One fault, perhaps with "@severity" behind it, added to the case.
base::Result<base::Done> add_fault(const LoadedLoom& loom, const std::string& text, Supposed& supposed) {
  std::string name = text;
  double quantile = 0.5;
  const std::size_t cut = text.rfind('@');
  if (loom.universe.find(name).is_none() && cut != std::string::npos) {
    name = text.substr(0, cut);
    char* end = nullptr;
    quantile = std::strtod(text.c_str() + cut + 1, &end);
    if (*end != '\0' || quantile < 0.0 || quantile > 1.0)
      return base::make_error("expect.severity", "\"" + text + "\": a severity is a number from 0 to 1 after @",
                              "for example: \"" + name + "@0.5\"");
  }
  const fault::FaultId id = loom.universe.find(name);
  if (id.is_none()) return unknown_fault(loom, name);
  supposed.name += (supposed.name.empty() ? "" : " and ") + name;
  supposed.which.faults.emplace_back(id, quantile);
  return base::Done{};
}

}  // namespace

base::Result<Session> session_to_expect(Context& context, const Arguments& arguments) {
  const base::Result<ToldMeter> meter = told_meter(context, arguments);
  if (!meter) return meter.diagnostics();
  Session session;
  std::string loom = arguments.get("loom");
  if (loom.empty()) {
    base::Result<Session> opened = open_session(context, arguments.get("job"));
    if (!opened || !meter->told) return opened;
    session = std::move(opened).value();
    loom = session.loom().path;
  }
  const base::Result<std::shared_ptr<BeliefEngine>> engine =
      context.cache.engine(context, loom, or_common(meter->meter));
  if (!engine) return engine.diagnostics();
  session.engine = *engine;
  return session;
}

void do_first(Session& session, const Arguments& arguments, std::vector<base::Diagnostic>& problems) {
  for (const std::string& text : arguments.all("with")) {
    const base::Result<Deed> deed = parse_deed(session.loom(), text);
    if (!deed)
      append(problems, deed.diagnostics());
    else if (deed->kind != Deed::Kind::kRepair)
      candidates::apply(session.state, deed->act, deed->kind == Deed::Kind::kMake);
  }
}

base::Result<Supposed> parse_supposed(const LoadedLoom& loom, const std::string& text) {
  Supposed supposed;
  const base::Result<base::Done> whole = add_fault(loom, text, supposed);
  if (whole) return supposed;
  constexpr std::string_view kAnd = " and ";
  if (text.find(kAnd) == std::string::npos) return whole.diagnostics();
  for (std::size_t from = 0; from <= text.size();) {
    const std::size_t end = std::min(text.find(kAnd, from), text.size());
    const base::Result<base::Done> one = add_fault(loom, text.substr(from, end - from), supposed);
    if (!one) return one.diagnostics();
    from = end + kAnd.size();
  }
  return supposed;
}

std::vector<Supposed> suppose(const LoadedLoom& loom, const Arguments& arguments,
                              std::vector<base::Diagnostic>& problems) {
  std::vector<Supposed> all;
  for (const std::string& text : arguments.all("if")) {
    base::Result<Supposed> one = parse_supposed(loom, text);
    if (one)
      all.push_back(std::move(one).value());
    else
      append(problems, one.diagnostics());
  }
  return all;
}

}  // namespace halfsplit::app
