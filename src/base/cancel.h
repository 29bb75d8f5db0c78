// SPDX-License-Identifier: Apache-2.0
// A token that long work asks now and then whether it is still wanted. Copies share one flag. Safe to set from a signal
// handler or another thread.
#pragma once

#include <atomic>
#include <memory>

namespace halfsplit::base {

class CancelToken {
 public:
  CancelToken() : flag_(std::make_shared<std::atomic<bool>>(false)) {}
  void cancel() const { flag_->store(true, std::memory_order_relaxed); }
  [[nodiscard]] bool cancelled() const { return flag_->load(std::memory_order_relaxed); }

 private:
  std::shared_ptr<std::atomic<bool>> flag_;
};

}  // namespace halfsplit::base
