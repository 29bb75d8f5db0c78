// SPDX-License-Identifier: Apache-2.0
// What becomes of the messages on one bus segment when it is known who reads whom: acknowledged or not, error frames,
// bus-off, jammed, one-way (ISO 11898-1: acknowledgement, error signalling, fault confinement; docs/formats/buses.md,
// "What becomes of the messages"). Rules, not a simulation: tests/bus_twin plays them bit by bit and compares.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>
#include <vector>

namespace halfsplit::can {

// Who reads what, as yes or no. Matrices are [sender * nodes + receiver], a node's own reading of itself included.
struct Hearing {
  std::size_t nodes = 0;
  std::vector<char> takes_part;  // alive, and its transceiver works
  std::vector<char> rests;       // reads recessive while nobody drives
  std::vector<char> dominant;    // reads that sender's dominant bits as dominant
  std::vector<char> returns;     // reads recessive again at the sample point after that sender's dominant bit
  std::vector<char> babbles;     // sends without end, before everybody else
};

enum class Standing : std::uint8_t {
  kWorks,       // sends and is acknowledged
  kAway,        // takes no part
  kAlone,       // sends, nobody acknowledges, repeats for ever (error passive)
  kUnheard,     // reads others, but nobody that hears it is heard by it: repeats for ever, over what comes
  kHeldDown,    // reads dominant all the time: never finds the bus idle, sends nothing, hears nothing
  kCannotSend,  // does not read back what it sends: bus-off
  kJams,        // is read and reads nobody: talks into every frame
  kJammed,      // of those that read such a one, or a babbler
  kBabbles,
  kDisturbed,  // on a bus where somebody misses somebody: error frames, messages come and go
};
[[nodiscard]] std::string_view standing_word(Standing standing);

struct Traffic {
  std::vector<double> arrives;     // [sender * nodes + receiver]: share of the messages that arrive in time, 0 to 1
  std::vector<Standing> standing;  // by node
  // How long each node has frames on the bus, over what is ordinary (a quarter of the time, shared by all nodes, those
  // that are away or held down included): 1 ordinary, 0 silent; one that repeats for ever has the bus nearly to itself.
  std::vector<double> busy;
};

[[nodiscard]] Traffic traffic_of(const Hearing& hearing);

}  // namespace halfsplit::can
