// SPDX-License-Identifier: Apache-2.0
// For tests and benches: a random circuit of every element kind, random changes and random probes, from a seed. Values
// span what a vehicle has: milliohm joints to megohm inputs.
#pragma once

#include <memory>
#include <vector>

#include "base/rng.h"
#include "electrical/meter.h"

namespace halfsplit::electrical {

struct RandomCircuit {
  std::shared_ptr<std::vector<circuit::ModuleWiring>> modules;
  Model model;
};

[[nodiscard]] RandomCircuit make_random_circuit(base::Rng& rng);
[[nodiscard]] std::vector<fault::Change> make_random_changes(base::Rng& rng, const RandomCircuit& circuit);
[[nodiscard]] Probe make_random_probe(base::Rng& rng, const RandomCircuit& circuit);

}  // namespace halfsplit::electrical
