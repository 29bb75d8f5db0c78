// SPDX-License-Identifier: Apache-2.0
#include "circuit/oddities.h"

#include <utility>

#include "circuit/oddity_checks.h"
#include "circuit/oddity_graph.h"

namespace halfsplit::circuit {

void OddityList::add(base::Severity severity, const std::string& code, const base::Span& where, std::string message,
                     std::string hint) {
  if (++counts_[code] > kMostOfOneCode) return;
  base::Diagnostic diagnostic;
  diagnostic.severity = severity;
  diagnostic.code = "odd." + code;
  diagnostic.message = std::move(message);
  diagnostic.hint = std::move(hint);
  diagnostic.where = where;
  found_.push_back(std::move(diagnostic));
}

void OddityList::warn(const std::string& code, const base::Span& where, std::string message, std::string hint) {
  add(base::Severity::kWarning, code, where, std::move(message), std::move(hint));
}

void OddityList::note(const std::string& code, const base::Span& where, std::string message, std::string hint) {
  add(base::Severity::kNote, code, where, std::move(message), std::move(hint));
}

std::vector<base::Diagnostic> OddityList::take() {
  for (const auto& [code, count] : counts_) {
    if (count <= kMostOfOneCode) continue;
    base::Diagnostic more;
    more.severity = base::Severity::kNote;
    more.code = "odd." + code;
    more.message = "and " + std::to_string(count - kMostOfOneCode) + " more of these";
    found_.push_back(std::move(more));
  }
  return std::move(found_);
}

std::vector<base::Diagnostic> find_oddities(const Loom& loom) {
  OddityList list;
  const OddityGraph graph(loom);
  check_wiring(loom, list);
  check_fuses(loom, graph, list);
  check_supply(loom, graph, list);
  check_setups(loom, list);
  check_sensors(loom, graph, list);
  check_buses(loom, graph, list);
  check_bus_ends(loom, graph, list);
  check_messages(loom, list);
  return list.take();
}

}  // namespace halfsplit::circuit
