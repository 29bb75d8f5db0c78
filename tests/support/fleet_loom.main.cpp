// SPDX-License-Identifier: Apache-2.0
// fleet_loom NODES SEED: writes an invented whole vehicle of about that many nodes as a loom to standard output.
#include <cstdlib>
#include <iostream>

#include "tests/support/fleet_loom.h"

int main(int count, char** words) {
  const long nodes = count == 3 ? std::strtol(words[1], nullptr, 10) : 0;
  if (nodes < 100 || nodes > 100000) {
    std::cerr << "usage: fleet_loom NODES SEED > vehicle.loom.toml    NODES 100 to 100000\n";
    return 2;
  }
  std::cout << halfsplit::test::make_fleet_loom(static_cast<std::size_t>(nodes), std::strtoull(words[2], nullptr, 10));
  return 0;
}
