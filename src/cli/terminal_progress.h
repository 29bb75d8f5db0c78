// SPDX-License-Identifier: Apache-2.0
// Progress of long work on standard error, only when somebody watches.
#pragma once

#include <chrono>

#include "base/seams.h"

namespace halfsplit::cli {

class TerminalProgress final : public base::Progress {
 public:
  TerminalProgress();
  ~TerminalProgress() override;
  void report(std::string_view what, double fraction) override;

 private:
  std::chrono::steady_clock::time_point last_{};
  bool watched_;
  bool shown_ = false;
};

}  // namespace halfsplit::cli
