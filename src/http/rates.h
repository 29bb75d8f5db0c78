// SPDX-License-Identifier: Apache-2.0
// How often somebody may ask: a bucket of tokens for each name, refilled evenly, so that a burst passes and a flood
// does not. At most so many names are kept; full buckets are forgotten first. Not safe for several threads.
#pragma once

#include <cstdint>
#include <map>
#include <string>

namespace halfsplit::http {

class Rates {
 public:
  Rates(double burst, double per_second) : burst_(burst), per_second_(per_second) {}
  // False: too often.
  [[nodiscard]] bool take(const std::string& name, std::int64_t now_ms);

 private:
  struct Bucket {
    double tokens = 0.0;
    std::int64_t at_ms = 0;
  };
  void make_room(std::int64_t now_ms);
  [[nodiscard]] double filled(const Bucket& bucket, std::int64_t now_ms) const;

  double burst_;
  double per_second_;
  std::map<std::string, Bucket> buckets_;
};

}  // namespace halfsplit::http
