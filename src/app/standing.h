// SPDX-License-Identifier: Apache-2.0
// How a circuit stands, in words: other ways in which it can rest, with what a test reads then, and what goes round in
// one that finds no rest. Asked for one reading at a time; each costs full solves.
#pragma once

#include <string>
#include <vector>

#include "app/belief.h"

namespace halfsplit::app {

struct OtherRest {
  std::string when;  // "K1 is already in"
  evidence::Prediction prediction;
};

// Other rests of the circuit with these faults in the test's state, in which the test reads otherwise than `shown`.
[[nodiscard]] std::vector<OtherRest> find_other_readings(BeliefEngine& engine, const predict::Case& which,
                                                         const evidence::Observable& what,
                                                         const evidence::Prediction& shown);

// "K1 goes in and out"; empty when the circuit rests, or when what goes round has no name.
[[nodiscard]] std::string buzzing_text(BeliefEngine& engine, const predict::Case& which,
                                       const circuit::Configuration& configuration);

// What is odd about the healthy circuit: states in which it rests in two ways (odd.two-rests), or in none
// (odd.no-rest), or in which a fuse melts or a driver trips (odd.melts-in-order).
[[nodiscard]] std::vector<base::Diagnostic> find_odd_rests(const LoadedLoom& loom);

}  // namespace halfsplit::app
