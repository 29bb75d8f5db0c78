// SPDX-License-Identifier: Apache-2.0
// base::Workers on threads of this machine. They are started by the first run() that has more than one part and sleep
// between runs. run() and relay() are for one thread at a time.
#pragma once

#include <memory>

#include "base/seams.h"

namespace halfsplit::system {

class Threads final : public base::Workers {
 public:
  // `hands` 0: as many as the machine has cores. The caller of run() is one of them.
  explicit Threads(std::size_t hands = 0);
  ~Threads() override;
  Threads(const Threads&) = delete;
  Threads& operator=(const Threads&) = delete;

  [[nodiscard]] std::size_t hands() const override { return hands_; }
  void run(std::size_t count, const std::function<void(std::size_t)>& task) override;
  void relay(const base::Relay& pieces) override;

 private:
  struct Pool;
  std::size_t hands_;
  std::unique_ptr<Pool> pool_;
};

}  // namespace halfsplit::system
