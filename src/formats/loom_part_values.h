// SPDX-License-Identifier: Apache-2.0
// A part's numbers: what the file gives, the table's defaults, and what is worked out from the rest (a fuse's ohms from
// its rating, a load's from watt and volt).
#pragma once

#include <vector>

#include "circuit/loom.h"
#include "formats/table_reader.h"

namespace halfsplit::formats {

// Fills part.values and part.curve; part.kind is known. Errors: those of numbers, bad-curve, missing-value, two-ways.
void read_part_values(TableReader& reader, double system_volts, circuit::Part& part);

}  // namespace halfsplit::formats
