// SPDX-License-Identifier: Apache-2.0
// Symbols of parts, drawn around the origin with leads at (-20, 0) and (20, 0). Shapes: IEC 60617 (from memory), plain
// line work, no colour.
#pragma once

#include "circuit/loom.h"
#include "report/pen.h"

namespace halfsplit::report {

inline constexpr int kSymbolReach = 20;  // from the middle to a lead's end

// A two-terminal part; its first terminal at the left. `weight`: of its lines.
void draw_symbol(Pen& out, const circuit::Part& part, double weight);
// The letter that stands in the symbol, upright however the symbol is turned; empty for most.
[[nodiscard]] const char* symbol_letter(const circuit::Part& part);

// Earth, with its stem coming from above; 18 high.
void draw_earth(Pen& out, int x, int y, double weight);
// Frame or chassis, the same.
void draw_frame(Pen& out, int x, int y, double weight);

// A plug's contact on a wire that runs level: a pin in a socket, 10 long, the socket towards the wire.
void draw_contact(Pen& out, int x, int y, bool wire_left, double weight);

}  // namespace halfsplit::report
