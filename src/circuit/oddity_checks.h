// SPDX-License-Identifier: Apache-2.0
// The checks behind find_oddities, by subject, and the list they write to. Internal to the room.
#pragma once

#include <cstddef>
#include <map>
#include <string>
#include <vector>

#include "base/diagnostic.h"
#include "circuit/loom.h"
#include "circuit/oddity_graph.h"

namespace halfsplit::circuit {

// Keeps what was found; of one code only so many are shown, the rest are counted.
class OddityList {
 public:
  void warn(const std::string& code, const base::Span& where, std::string message, std::string hint);
  void note(const std::string& code, const base::Span& where, std::string message, std::string hint);
  [[nodiscard]] std::vector<base::Diagnostic> take();

 private:
  void add(base::Severity severity, const std::string& code, const base::Span& where, std::string message,
           std::string hint);
  static constexpr std::size_t kMostOfOneCode = 20;
  std::vector<base::Diagnostic> found_;
  std::map<std::string, std::size_t> counts_;
};

void check_wiring(const Loom& loom, OddityList& list);  // cavities, dead ends, sizes, what no wire reaches
void check_fuses(const Loom& loom, const OddityGraph& graph, OddityList& list);
void check_supply(const Loom& loom, const OddityGraph& graph, OddityList& list);  // loads and modules
void check_setups(const Loom& loom, OddityList& list);                            // places, setups, switches, drivers
void check_sensors(const Loom& loom, const OddityGraph& graph, OddityList& list);
void check_buses(const Loom& loom, const OddityGraph& graph, OddityList& list);     // who is joined to whom
void check_bus_ends(const Loom& loom, const OddityGraph& graph, OddityList& list);  // terminators, lengths
void check_messages(const Loom& loom, OddityList& list);                            // who can hear whom

// Largest fuse that common practice puts before a wire of this size, A.
[[nodiscard]] double most_fuse_a(double size_mm2);

}  // namespace halfsplit::circuit
