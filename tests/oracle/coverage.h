// SPDX-License-Identifier: Apache-2.0
// What a run of comparisons has met: every fault of docs/formats/loom.md section 8 by what it sits on, and every state
// of parts, vehicle and meter. Says what is missing, so that a generator that stopped making something is found out.
#pragma once

#include <cstddef>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "circuit/configuration.h"
#include "fault/fault.h"

namespace halfsplit::oracle {

// "fuse", "LED lamp", "wire", "contact", "joint at a splice", "driver pin", "neighbours in an inline plug", ...
[[nodiscard]] std::string subject_of(const circuit::Loom& loom, const circuit::Netlist& netlist,
                                     const fault::Fault& fault);

class Coverage {
 public:
  void note_fault(const std::string& subject, fault::FaultKind kind) { ++faults_[{subject, kind}]; }
  void note_part(const std::string& kind) { ++parts_[kind]; }
  void note_state(const std::string& state) { ++states_[state]; }
  void note_configuration(const circuit::Configuration& configuration);

  // A table by subject and one by state, with how often.
  [[nodiscard]] std::string table() const;
  // What the page names and was never met; empty when all was.
  [[nodiscard]] std::vector<std::string> missing() const;

 private:
  std::map<std::pair<std::string, fault::FaultKind>, std::size_t> faults_;
  std::map<std::string, std::size_t> parts_, states_;
};

}  // namespace halfsplit::oracle
