// SPDX-License-Identifier: Apache-2.0
// What to do next: candidates, their predictions under the leading suspects, a planning problem, a decision - and the
// decision told back in the drawing's words. Also which suspects no test offered can tell apart.
#pragma once

#include <functional>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "app/outlook.h"
#include "app/session.h"
#include "plan/decide.h"

namespace halfsplit::app {

struct AdviceStep {
  std::string act;  // "cab-raised", "undo key-on", "unplug J4"
  double minutes = 0.0;
  std::string caution;
};

struct AdviceOutcome {
  candidates::Outcome outcome;
  double chance = 0.0;
  std::vector<std::pair<std::string, double>> suspects;  // the likeliest then, most probable first
};

struct AdviceAlternative {
  std::string what;
  double expected_minutes = 0.0;
  plan::ActionKind kind = plan::ActionKind::kTest;
};

struct Advice {
  enum class Kind : std::uint8_t { kTest, kRepair, kProve, kLeave, kNothing };
  Kind kind = Kind::kNothing;
  // kTest
  std::optional<evidence::Observable> test;
  std::string what;
  bool long_lead = false;
  std::vector<AdviceOutcome> outcomes;
  double bits = 0.0;
  std::string read_before;  // the same test's newest reading: this is a second look
  // kRepair; kLeave: that the repairs done have mended it, and what it costs to come again where they have not
  double return_minutes = 0.0;
  std::vector<fault::RepairId> repairs;  // empty: look beyond the drawing
  std::string repair;
  double repair_probability = 0.0;
  double part_money = 0.0;
  // all
  std::vector<AdviceStep> steps;  // before it
  double minutes = 0.0;           // of the act itself
  double setup_minutes = 0.0;     // of the steps
  double undo_minutes = 0.0;      // what putting back will still cost after it
  double expected_minutes = 0.0;  // to a proven repair
  double lower_bound_minutes = 0.0;
  bool exact = false;
  bool none_fits = false;  // into the minutes that are left: this is what would be best with more of them
  double gap = 0.0;
  std::vector<AdviceAlternative> alternatives;
  std::size_t tests_considered = 0;
  std::vector<std::vector<std::string>> alike;  // suspects no test offered can part
  std::vector<std::string> cautions;            // of the place and the points
};

// `within_minutes`: tests that take longer, putting back included, are not proposed.
[[nodiscard]] Advice advise(Context& context, Session& session,
                            double within_minutes = std::numeric_limits<double>::infinity());
// Who says what is next in place of `advise`: a rule to measure it against (rules.h). Empty: `advise`.
using Chooser = std::function<Advice(Context&, Session&)>;

// Above this chance of being mended by the repairs done they count as proven. Ours: a look of a minute shows every
// other time what comes and goes, so it is worth taking while half of what is left costs more than that in second
// visits.
inline constexpr double kProvenAbove = 0.98;
// A repair was done and nothing seen since, or it has very likely mended all: its proof comes first.
[[nodiscard]] bool proof_is_next(Context& context, Session& session);
// A decision about an outlook's problem in the drawing's words.
[[nodiscard]] Advice advice_for(Session& session, const Outlook& outlook, const plan::Decision& decision);

}  // namespace halfsplit::app
