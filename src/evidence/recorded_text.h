// SPDX-License-Identifier: Apache-2.0
// What a recording of a bus tells, as text: "heard EBS on CAN1 at X9:C X9:D", "quiet EBS + TPM while VCU on CAN1",
// "hears EBS from VCU".
#pragma once

#include <string>

#include "base/result.h"
#include "evidence/observable.h"

namespace halfsplit::evidence {

// `text`: behind the verb, which is o.kind. Errors: test.unknown-name, test.no-bus, test.no-tap, test.hears-whom,
// test.one-module, and those of points.
[[nodiscard]] base::Result<base::Done> parse_recorded(const circuit::Loom& loom, const circuit::Netlist& netlist,
                                                      std::string text, Observable& o);
[[nodiscard]] std::string format_recorded(const circuit::Loom& loom, const circuit::Netlist& netlist,
                                          const Observable& o);
// "on CAN1", "on CAN1 at X9:C X9:D".
[[nodiscard]] std::string format_tap(const circuit::Loom& loom, const circuit::Netlist& netlist, const Observable& o);
// The tail " on CAN1 at ..." taken off the end of `text`, into o.bus, o.red, o.black.
[[nodiscard]] base::Result<base::Done> take_bus(const circuit::Loom& loom, const circuit::Netlist& netlist,
                                                std::string& text, Observable& o);
// "EBS + TPM": ids rising, each once.
[[nodiscard]] base::Result<std::vector<circuit::ModuleId>> parse_modules(const circuit::Loom& loom,
                                                                         const std::string& text);
[[nodiscard]] std::string joined_modules(const circuit::Loom& loom, const std::vector<circuit::ModuleId>& modules);

}  // namespace halfsplit::evidence
