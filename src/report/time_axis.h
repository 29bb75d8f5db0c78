// SPDX-License-Identifier: Apache-2.0
// Times as places across a picture, and readable marks for them.
#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

namespace halfsplit::report {

class TimeAxis {
 public:
  TimeAxis(int left, int width, std::int64_t duration_us)
      : left_(left), width_(width), duration_us_(duration_us > 0 ? duration_us : 1) {}
  [[nodiscard]] int at(std::int64_t us) const;
  [[nodiscard]] int left() const { return left_; }
  [[nodiscard]] int right() const { return left_ + width_; }
  // Round times, at most 12, each with its text: "10 s", "2:30", "1:00:00".
  [[nodiscard]] std::vector<std::pair<int, std::string>> marks() const;

 private:
  int left_, width_;
  std::int64_t duration_us_;
};

}  // namespace halfsplit::report
