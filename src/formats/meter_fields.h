// SPDX-License-Identifier: Apache-2.0
// The meter file's tables and keys as data (docs/formats/meter.md), for the readers of meter and job files.
#pragma once

#include "formats/loom_fields.h"

namespace halfsplit::formats {

enum class MeterTable { kTop, kVolts, kOhms, kClamp, kLamp, kVoltRange, kOhmRange, kAmpereRange };

[[nodiscard]] const LoomTable& meter_table(MeterTable table);
// The same keys as a table inside another file: without the version.
[[nodiscard]] const LoomTable& inner_meter_table();

}  // namespace halfsplit::formats
