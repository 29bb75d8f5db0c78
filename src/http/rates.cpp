// SPDX-License-Identifier: Apache-2.0
#include "http/rates.h"

#include <algorithm>

namespace halfsplit::http {

namespace {
constexpr std::size_t kMostBuckets = 1024;
}

double Rates::filled(const Bucket& bucket, std::int64_t now_ms) const {
  const double passed_s = static_cast<double>(std::max<std::int64_t>(0, now_ms - bucket.at_ms)) / 1000.0;
  return std::min(burst_, bucket.tokens + passed_s * per_second_);
}

void Rates::make_room(std::int64_t now_ms) {
  std::erase_if(buckets_, [&](const auto& one) { return filled(one.second, now_ms) >= burst_; });
  if (buckets_.size() >= kMostBuckets) buckets_.clear();
}

bool Rates::take(const std::string& name, std::int64_t now_ms) {
  if (buckets_.size() >= kMostBuckets && !buckets_.contains(name)) make_room(now_ms);
  Bucket& bucket = buckets_.try_emplace(name, Bucket{burst_, now_ms}).first->second;
  bucket = {filled(bucket, now_ms), now_ms};
  if (bucket.tokens < 1.0) return false;
  bucket.tokens -= 1.0;
  return true;
}

}  // namespace halfsplit::http
