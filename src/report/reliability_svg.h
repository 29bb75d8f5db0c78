// SPDX-License-Identifier: Apache-2.0
// A reliability diagram: what was said (across) against how often it was so (up), with the diagonal on which the two
// agree, two standard errors of chance at each point, and below it how often each was said.
#pragma once

#include <string>

#include "infer/reliability.h"

namespace halfsplit::report {

struct ReliabilityDrawing {
  infer::Reliability claims;
  std::string title;
  std::string note;   // a line below the title
  std::string about;  // for those who do not see it: what it shows, in a sentence
  bool dark = false;
};

[[nodiscard]] std::string draw_reliability(const ReliabilityDrawing& drawing);

}  // namespace halfsplit::report
