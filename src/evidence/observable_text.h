// SPDX-License-Identifier: Apache-2.0
// Observables and what they show, as people type them: "volts J4:12@cab chassis", "code SPN 175 FMI 3", "look L1";
// "121.7", "OL", "4k7", "active", "dim". The configuration is not part of the text: it is the state of the job.
#pragma once

#include <string>
#include <string_view>

#include "base/result.h"
#include "evidence/observable.h"

namespace halfsplit::evidence {

[[nodiscard]] std::string format_observable(const circuit::Loom& loom, const circuit::Netlist& netlist,
                                            const Observable& observable);

// What is moved, warmed or cooled.
[[nodiscard]] std::string provoked_name(const circuit::Loom& loom, const Observable& observable);

// Verbs: volts, ohms, continuity, lamp (two points); clamp (a wire); code, live, look, module, wiggle, heat, cool (a
// name); heard, quiet, hears (recorded_text.h).
// Errors: test.empty, test.unknown-verb, test.unknown-point, test.two-points, test.unknown-name; hints name the
// nearest.
[[nodiscard]] base::Result<Observable> parse_observable(const circuit::Loom& loom, const circuit::Netlist& netlist,
                                                        std::string_view text);

// Errors: value.malformed, value.wrong-unit, value.unknown-word.
[[nodiscard]] base::Result<Seen> parse_seen(const Observable& observable, std::string_view text);
// The same; what is said of a word that is none names those of this very part.
[[nodiscard]] base::Result<Seen> parse_seen(const circuit::Loom& loom, const Observable& observable,
                                            std::string_view text);
[[nodiscard]] std::string format_seen(const circuit::Loom& loom, const Observable& observable, const Seen& seen);
[[nodiscard]] std::string_view unit_of(const circuit::Loom& loom, const Observable& observable);

}  // namespace halfsplit::evidence
