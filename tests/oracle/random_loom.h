// SPDX-License-Identifier: Apache-2.0
// For tests: random looms with every part kind, plugs, splices, studs, two frames, modules with every pin role, setups
// and switches; and random configurations and meters on them. All invented, all from a seed. Values are those of a
// vehicle, leakages not below 1e-7 S (what a nodal twin can still resolve to one in a million).
#pragma once

#include "base/rng.h"
#include "circuit/configuration.h"
#include "circuit/netlist.h"
#include "tests/oracle/spice_oracle.h"

namespace halfsplit::oracle {

[[nodiscard]] circuit::Loom make_random_loom(base::Rng& rng);
[[nodiscard]] circuit::Configuration make_random_configuration(base::Rng& rng, const circuit::Loom& loom,
                                                               const circuit::Netlist& netlist);
[[nodiscard]] Meter make_random_meter(base::Rng& rng, const circuit::Netlist& netlist);

}  // namespace halfsplit::oracle
