// SPDX-License-Identifier: Apache-2.0
// For benches and tests: a whole vehicle of about any size, from a seed. All invented: names, values, codes. Batteries
// behind an isolator feed power posts; each section has a fuse box with a load-relief relay, a controller on a bus of
// its own neighbourhood, and a dozen or so circuits of the kinds a working vehicle has, led through bulkhead, frame and
// hinge plugs to one area (engine, frame, rear, body, cab) and grounded there. More size means more sections, so
// everything grows linearly: nodes, elements, faults, places. 300 is a small vehicle, 30,000 more than any.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>

#include "tests/support/example_loom.h"

namespace halfsplit::test {

// Loom text with `nodes` netlist nodes or a circuit more.
[[nodiscard]] std::string make_fleet_loom(std::size_t nodes, std::uint64_t seed);

// The same read back through the reader.
[[nodiscard]] base::Result<ExampleLoom> load_fleet_loom(std::size_t nodes, std::uint64_t seed);

}  // namespace halfsplit::test
