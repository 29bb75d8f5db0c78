// SPDX-License-Identifier: Apache-2.0
// Transfers on the fast path: those of the circuit at rest, kept, and what the fault's updates change of them. With the
// small system W of the updates, a port's response is z - sum_j (W^-1 laws(z))_j z_j (fault_updates.cpp).
#include "electrical/fault_bench.h"

namespace halfsplit::electrical {

// What the circuit at rest answers; the fault moves nothing of it.
const std::vector<long double>& FaultBench::transfers_at_rest(std::span<const Ends> asked,
                                                              std::span<const Ends> ports) {
  for (const RestTransfers& kept : rest_transfers_)
    if (std::equal(kept.asked.begin(), kept.asked.end(), asked.begin(), asked.end()) &&
        std::equal(kept.ports.begin(), kept.ports.end(), ports.begin(), ports.end()))
      return kept.ohm;
  RestTransfers made{{asked.begin(), asked.end()}, {ports.begin(), ports.end()}, {}};
  made.ohm.resize(asked.size() * ports.size());
  for (std::size_t p = 0; p < ports.size(); ++p) {
    work_.clear();
    work_.add(rest_.injection(ports[p].red, ports[p].black).left, 1.0);
    for (std::size_t q = 0; q < asked.size(); ++q)
      made.ohm[q * ports.size() + p] = work_.dot(rest_.across(asked[q].red, asked[q].black));
  }
  work_.clear();
  rest_transfers_.push_back(std::move(made));
  return rest_transfers_.back().ohm;
}

Transfers FaultBench::transfers(std::span<const Ends> asked, std::span<const Ends> ports) {
  if (own_) return own_->transfers(asked, ports);
  prepare();
  const View view(*this);
  const auto whole = [&](const Ends& ends) { return ends.red != ends.black && view.together(ends.red, ends.black); };
  Transfers result;
  result.open.assign(asked.size(), 0.0);
  result.ohm.assign(asked.size() * ports.size(), 0.0);
  const std::vector<long double>& rest = transfers_at_rest(asked, ports);
  const std::size_t k = updates_.size();
  std::vector<long double> reach(asked.size() * k, 0.0L);  // volts across `asked` for one of each update
  for (std::size_t j = 0; j < k; ++j) {
    work_.clear();
    work_.add(updates_[j].port->left, 1.0);
    for (std::size_t q = 0; q < asked.size(); ++q)
      reach[q * k + j] = work_.dot(rest_.across(asked[q].red, asked[q].black));
  }
  std::vector<long double> column(k);
  for (std::size_t p = 0; p < ports.size(); ++p) {
    if (!whole(ports[p])) continue;
    bool moved = false;
    if (k != 0) {
      work_.clear();
      work_.add(rest_.injection(ports[p].red, ports[p].black).left, 1.0);
      for (std::size_t i = 0; i < k; ++i) {
        column[i] = law_on(updates_[i], work_);
        moved = moved || column[i] != 0.0L;
      }
      if (moved) small_.solve(column);
    }
    for (std::size_t q = 0; q < asked.size(); ++q) {
      if (!whole(asked[q])) continue;
      long double ohm = rest[q * ports.size() + p];
      if (moved)
        for (std::size_t j = 0; j < k; ++j) ohm -= column[j] * reach[q * k + j];
      result.ohm[q * ports.size() + p] = static_cast<double>(ohm);
    }
  }
  work_.clear();
  for (std::size_t q = 0; q < asked.size(); ++q)
    if (whole(asked[q])) result.open[q] = view.volts(asked[q].red) - view.volts(asked[q].black);
  return result;
}

}  // namespace halfsplit::electrical
