// SPDX-License-Identifier: Apache-2.0
// From proven jobs to rates and back (docs/formats/book.md, "Learned rates"). A proven job says: this fault came up in
// a vehicle of this loom. How long such a vehicle runs between faults is taken from the default rates, 1 / their sum,
// and that time counts as watched for every kind and every fault of the loom; so what never comes up falls as what does
// rises. The belief about each rate is infer/learned_rate.h; a fault's rate is the default times the factor of its kind
// times its own.
#pragma once

#include <string>
#include <vector>

#include "app/session.h"
#include "store/book.h"

namespace halfsplit::app {

// A rate that experience bears on.
struct RateLine {
  bool of_kind = true;  // else of one fault of one loom
  std::string name;     // "contact: open", "J4:12 open"
  double default_per_year = 0.0;
  double learned_per_year = 0.0;
  std::int64_t confirmed = 0;
  std::int64_t days = 0;           // watched, item-days
  std::vector<std::int64_t> jobs;  // which confirmed it
};

// The name under which a kind is learned: "contact: open".
[[nodiscard]] std::string kind_name(const fault::Fault& fault);
// Of all kinds that experience bears on, by name.
[[nodiscard]] std::vector<RateLine> learned_kinds(const std::vector<store::Learned>& learned);
// Of the faults confirmed at this loom; `defaults`: its faults with default rates.
[[nodiscard]] std::vector<RateLine> learned_faults(const std::vector<store::Learned>& learned, const std::string& loom,
                                                   const fault::Universe& defaults);
// For a loom with that experience. Without any: a factor of 1 everywhere.
[[nodiscard]] fault::RateOverlay learned_overlay(const std::vector<store::Learned>& learned, const std::string& loom,
                                                 const fault::Universe& defaults);
// What one proven job teaches; `confirmed` are faults of `defaults`.
[[nodiscard]] std::vector<store::Lesson> lessons_of(const fault::Universe& defaults,
                                                    const std::vector<fault::FaultId>& confirmed);
// The faults that the repairs of a job were for: those of the likeliest suspect they mend.
[[nodiscard]] std::vector<fault::FaultId> confirmed_faults(Context& context, Session& session);

}  // namespace halfsplit::app
