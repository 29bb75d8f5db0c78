// SPDX-License-Identifier: Apache-2.0
// The words of a drawing: what stands beside a wire and below a symbol, and what a browser shows on pointing at them.
#pragma once

#include <string>

#include "circuit/loom.h"

namespace halfsplit::report {

[[nodiscard]] std::string part_value_label(const circuit::Part& part);                            // "10 A"
[[nodiscard]] std::string part_hint(const circuit::Loom& loom, const circuit::Part& part);        // several lines
[[nodiscard]] std::string module_hint(const circuit::Loom& loom, const circuit::Module& module);  //
[[nodiscard]] std::string plug_hint(const circuit::Loom& loom, const circuit::Connector& plug);   //
[[nodiscard]] std::string wire_label_above(const circuit::Wire& wire);                            // "RD/WH 0.75"
[[nodiscard]] std::string wire_label_below(const circuit::Wire& wire);                            // "2.1 m"
[[nodiscard]] std::string wire_hint(const circuit::Loom& loom, const circuit::Wire& wire);        //
[[nodiscard]] std::string lane_detail(const circuit::Loom& loom, const circuit::Place& place);    // "2 min, cab-raised"

}  // namespace halfsplit::report
