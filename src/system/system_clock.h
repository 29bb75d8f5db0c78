// SPDX-License-Identifier: Apache-2.0
// base::Clock of the system it runs on.
#pragma once

#include "base/seams.h"

namespace halfsplit::system {

class SystemClock final : public base::Clock {
 public:
  [[nodiscard]] std::int64_t now_s() override;
};

}  // namespace halfsplit::system
