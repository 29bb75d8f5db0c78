// SPDX-License-Identifier: Apache-2.0
// What `expect` is asked about: a job or a loom alone, what is done first, under which faults.
#pragma once

#include <string>
#include <vector>

#include "app/operation.h"
#include "app/session.h"
#include "predict/campaign.h"

namespace halfsplit::app {

// Of --job, or made up for --loom alone: parked, nothing seen.
[[nodiscard]] base::Result<Session> session_to_expect(Context& context, const Arguments& arguments);

// Does what --with says, as `did` takes it; what is wrong is added to the problems.
void do_first(Session& session, const Arguments& arguments, std::vector<base::Diagnostic>& problems);

struct Supposed {
  std::string name;  // without its severity
  predict::Case which;
};
// "J7:3 open", "J7:3 high@0.7", "J7:3 open and F2 blown". Errors: expect.unknown-fault, expect.severity.
[[nodiscard]] base::Result<Supposed> parse_supposed(const LoadedLoom& loom, const std::string& text);
// All of --if; what is wrong is added to the problems.
[[nodiscard]] std::vector<Supposed> suppose(const LoadedLoom& loom, const Arguments& arguments,
                                            std::vector<base::Diagnostic>& problems);

}  // namespace halfsplit::app
