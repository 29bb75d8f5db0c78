// SPDX-License-Identifier: Apache-2.0
// The functions of templates that stand in a file of their own each: typed answers to loom text.
#pragma once

#include "formats/sketch.h"

namespace halfsplit::formats {

[[nodiscard]] base::Result<Sketched> draw_three_wire_sensor(const SketchAnswers& answers);
[[nodiscard]] base::Result<Sketched> draw_trailer_socket(const SketchAnswers& answers);
[[nodiscard]] base::Result<Sketched> draw_charging_circuit(const SketchAnswers& answers);
[[nodiscard]] base::Result<Sketched> draw_ground_path(const SketchAnswers& answers);
[[nodiscard]] base::Result<Sketched> draw_path(const SketchAnswers& answers);

}  // namespace halfsplit::formats
