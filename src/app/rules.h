// SPDX-License-Identifier: Apache-2.0
// Other ways to choose what is next, to measure the program's own against: what people do by rule. They see the same
// belief and are offered the same tests and repairs, with the same steps, cautions and minutes; only the choice
// differs. Nothing here is ever advised to a user. Definitions in words: docs/quality.md.
#pragma once

#include <vector>

#include "app/advice.h"

namespace halfsplit::app {

// The rules stop testing when a repair leads with this share, or when no test offered tells at least so much.
inline constexpr double kRuleStopsAt = 0.9;
inline constexpr double kLeastTellingBits = 0.05;

// The half-split rule by position: of the meter tests, the one whose probes part the places along the way through the
// drawing where something is suspected most nearly in half, each place counting the same. Neither setups nor minutes
// are weighed.
[[nodiscard]] Advice half_split(Context& context, Session& session);
// As half_split, but the probability of what is suspected is halved.
[[nodiscard]] Advice half_split_by_likelihood(Context& context, Session& session);
// No meter: fit the part or module that the codes and the complaint name, the likeliest by prior first; prove; then the
// next; then the module that reports; then whatever else could explain what was seen.
[[nodiscard]] Advice codes_first(Context& context, Session& session);
// The test with most bits about the repair. Neither setups nor minutes are weighed.
[[nodiscard]] Advice most_bits(Context& context, Session& session);

// Knows what is wrong: repairs it, proves it and leaves. What nobody can do without; all above it is the search.
[[nodiscard]] Advice knowing(Context& context, Session& session, const std::vector<fault::RepairId>& needs);

// Where each suspect of an outlook lies, and each node: hops along the way, from the farthest suspect on.
struct Positions {
  std::vector<double> suspect;  // by suspect of the outlook; infinite: not on the way
  std::vector<double> node;     // by node
  std::vector<double> weight;   // by suspect: its share of the whole
};
// Each suspect weighs what it is believed.
[[nodiscard]] Positions positions_along(Context& context, Session& session, const Outlook& outlook);
// Each place with a suspect of 1 % and more weighs the same, and so does each suspect at one place; all others nothing.
[[nodiscard]] Positions places_alike(Positions positions, const Outlook& outlook);
// The share of the weights between a test's probes, or on the near side of it where the other probe is on ground;
// negative when the test is not one by meter on the way.
[[nodiscard]] double share_between(const Session& session, const Positions& positions,
                                   const evidence::Observable& what);

}  // namespace halfsplit::app
