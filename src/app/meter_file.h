// SPDX-License-Identifier: Apache-2.0
// Which meter is in force: told with --meter, kept in the job, or the user's own for new jobs.
#pragma once

#include <optional>
#include <string>

#include "app/operation.h"
#include "base/result.h"
#include "meters/meter_profile.h"

namespace halfsplit::app {

// Errors: file.*, meter.*.
[[nodiscard]] base::Result<meters::MeterProfile> load_meter(Context& context, const std::string& path);

struct ToldMeter {
  bool told = false;                          // --meter was given
  std::optional<meters::MeterProfile> meter;  // none: the common handheld
  std::string from;                           // where it was read; empty: built in
};
// "--meter FILE", or "--meter default" for the common handheld whatever the user's own is.
[[nodiscard]] base::Result<ToldMeter> told_meter(Context& context, const Arguments& arguments);
// The same, and without --meter the user's own meter when there is one (Context::own_meter).
[[nodiscard]] base::Result<ToldMeter> meter_for_new_job(Context& context, const Arguments& arguments);

[[nodiscard]] const meters::MeterProfile& or_common(const std::optional<meters::MeterProfile>& meter);
[[nodiscard]] Json meter_json(const meters::MeterProfile& meter);
// "my meter (1.00 Mohm on volts)"
[[nodiscard]] std::string meter_words(const meters::MeterProfile& meter);

}  // namespace halfsplit::app
