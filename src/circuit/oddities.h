// SPDX-License-Identifier: Apache-2.0
// What is legal in a loom and yet electrically odd: a cavity with two wires, a load without ground, a fuse above its
// wire, a curve outside its module's window. Warnings and notes with stable codes "odd.*" and the place on the drawing;
// never errors. Values only; nothing is solved. The loom is valid (its reader saw to it).
#pragma once

#include <vector>

#include "base/diagnostic.h"
#include "circuit/loom.h"

namespace halfsplit::circuit {

[[nodiscard]] std::vector<base::Diagnostic> find_oddities(const Loom& loom);

}  // namespace halfsplit::circuit
