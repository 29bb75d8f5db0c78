// SPDX-License-Identifier: Apache-2.0
// A bus as a backbone: nodes in order along it, plugs on the way, terminators at its ends, the reader's socket, perhaps
// a second bus behind a gateway. From typed answers to loom text (docs/formats/buses.md). Units: kbit/s, m, V.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "formats/sketch.h"

namespace halfsplit::formats {

struct SketchNode {
  std::string name;
  std::string place;  // empty: one of its own
};

// An inline plug in the stretch after node `after` (position on its backbone).
struct SketchPlug {
  std::string name;
  std::string high, low;  // cavities; one-wire buses: high only
  std::size_t after = 0;
};

enum class SketchEnd : std::uint8_t { kInside, kPlug, kNone };

struct SketchBackbone {
  std::string name;
  std::string kind = "can";
  double bit_rate = 250.0;
  bool bit_rate_told = false;
  std::vector<SketchNode> nodes;
  std::vector<double> stretch_m;  // between each two nodes
  bool stretch_told = false;
  std::vector<SketchPlug> plugs;
  SketchEnd ends[2] = {SketchEnd::kInside, SketchEnd::kInside};
  bool ends_told = false;
};

// Where the code reader is plugged in, and the node beside which its wires branch off.
struct SketchSocket {
  std::string name, high, low;
  std::string at;
};

// A code that `module` sets when it hears nothing of `lost`.
struct SketchCode {
  std::string name, module, lost;
};

struct BusSketch {
  std::string name, vehicle;
  double system_volts = 24.0;
  double stub_m = 0.5;
  std::vector<SketchBackbone> backbones;  // one; or two that share the node `gateway`
  std::string gateway;
  std::optional<SketchSocket> socket;
  std::vector<SketchCode> codes;
};

// `names`: of everything told so far; ours keep clear of them.
class AnswerReader;
[[nodiscard]] Sketched write_bus_sketch(const BusSketch& sketch, AnswerReader& names);

// The templates' functions.
[[nodiscard]] base::Result<Sketched> draw_can_backbone(const SketchAnswers& answers);
[[nodiscard]] base::Result<Sketched> draw_lin_string(const SketchAnswers& answers);

}  // namespace halfsplit::formats
