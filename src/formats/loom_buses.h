// SPDX-License-Identifier: Apache-2.0
// Which bus a module's pin is on, and whether its pins on each bus make a whole seat (docs/formats/buses.md, "Pins of
// modules"). [buses] itself is read by loom_sections.h: read_buses, read_bus_readers.
#pragma once

#include <optional>
#include <vector>

#include "formats/loom_draft.h"

namespace halfsplit::formats {

// Where a pin was written.
struct PinPlace {
  text::Position at;
  std::size_t length = 1;
};

[[nodiscard]] bool is_bus_role(circuit::PinRole role);

// The bus of a pin with a bus role: the one that is named, else the only one of as many wires; the bus of a loom
// without [buses] is made by the first pin that asks. None when reported.
[[nodiscard]] circuit::BusId find_pin_bus(LoomDraft& draft, const circuit::Module& module,
                                          const circuit::ModulePin& pin, const std::optional<PlacedText>& named,
                                          PinPlace place);

// Does the module sit there: with one can-high and one can-low pin, or one bus-wire pin?
[[nodiscard]] bool has_seat(const circuit::Module& module, circuit::BusId bus);

// Of each bus one can-high and one can-low pin, or one bus-wire pin: else an error at the pin; on the bus of a loom
// without [buses] a warning, for such looms were always read. `places`: of each pin.
void check_seats(LoomDraft& draft, const circuit::Module& module, const std::vector<PinPlace>& places);

// `gateway`: two buses and more, each of which the module sits on.
[[nodiscard]] std::vector<circuit::BusId> read_gateway(LoomDraft& draft, const circuit::Module& module,
                                                       TableReader& reader);

}  // namespace halfsplit::formats
