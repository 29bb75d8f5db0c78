// SPDX-License-Identifier: Apache-2.0
// For benches and tests: a vehicle that is all buses. Invented: `segments` CAN buses of `nodes` modules each, joined by
// one gateway, every module fed through its segment's fuse, with timeout codes for three neighbours and one module of
// the next segment.
#pragma once

#include <cstddef>
#include <string>

namespace halfsplit::test {

[[nodiscard]] std::string make_bus_vehicle(std::size_t segments, std::size_t nodes);

}  // namespace halfsplit::test
