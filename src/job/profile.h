// SPDX-License-Identifier: Apache-2.0
// Whose workshop it is, and what counts for new jobs there. Plain values; reading and writing is formats/profile_text.
#pragma once

#include <optional>
#include <string>

#include "job/job.h"
#include "meters/meter_profile.h"

namespace halfsplit::job {

struct Profile {
  std::string workshop, address, phone;  // the address in one line or several
  std::string technician;
  std::optional<double> labour_per_hour;  // what the customer pays for an hour
  std::string currency;                   // "EUR"; empty: amounts stand alone
  std::optional<double> tax_percent;
  Kit kit;                                    // of new jobs
  std::optional<meters::MeterProfile> meter;  // likewise; none: the common handheld
};

}  // namespace halfsplit::job
