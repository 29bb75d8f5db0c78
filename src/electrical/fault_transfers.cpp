// SPDX-License-Identifier: Apache-2.0
// Transfers on the fast path: those of the circuit at rest, kept, and what the fault's updates change of them. With the
// small system W of the updates, a port's response is z - sum_j (W^-1 laws(z))_j z_j (fault_updates.cpp). Updates are
// laid out, ports and pairs asked are many: each is then one dot product of what is laid out with a short half.
#include <algorithm>
#include <cmath>

#include "electrical/fault_bench.h"

namespace halfsplit::electrical {

namespace {

constexpr std::size_t kMostKept = 256;  // lists of ports; the oldest go

bool same(const std::vector<Ends>& kept, std::span<const Ends> asked) {
  return std::equal(kept.begin(), kept.end(), asked.begin(), asked.end());
}

}  // namespace

const FaultBench::RestTransfers& FaultBench::transfers_at_rest(std::span<const Ends> asked,
                                                               std::span<const Ends> ports) {
  for (const RestTransfers& kept : rest_transfers_)
    if (same(kept.asked, asked) && same(kept.ports, ports)) return kept;
  if (rest_transfers_.size() >= kMostKept) rest_transfers_.pop_front();
  RestTransfers made;
  made.asked.assign(asked.begin(), asked.end());
  made.ports.assign(ports.begin(), ports.end());
  for (const Ends& ends : asked) made.across.push_back(&rest_.across(ends.red, ends.black));
  for (const Ends& ends : ports) made.left.push_back(&rest_.injection(ends.red, ends.black).left);
  made.ohm.resize(asked.size() * ports.size());
  for (std::size_t p = 0; p < ports.size(); ++p) {
    work_.clear();
    work_.add(*made.left[p], 1.0);
    for (std::size_t q = 0; q < asked.size(); ++q) made.ohm[q * ports.size() + p] = work_.dot(*made.across[q]);
  }
  work_.clear();
  rest_transfers_.push_back(std::move(made));
  return rest_transfers_.back();
}

// The law's left side as a sum of unknowns, laid out.
void FaultBench::lay_out_law(const Update& update, sparse::RoughSpread& laid_out) {
  if (update.kind == Update::Kind::kUntie) return laid_out.add(half_of(update, &Seen::current), 1.0);
  if (update.law.alpha != 0.0) laid_out.add(half_of(update, &Seen::across), update.law.alpha);
  if (update.law.kappa != 0.0) laid_out.add(half_of(update, &Seen::control), update.law.kappa);
  if (update.kind == Update::Kind::kRow && update.law.beta != 0.0)
    laid_out.add(half_of(update, &Seen::current), update.law.beta);
}

Transfers FaultBench::transfers(std::span<const Ends> asked, std::span<const Ends> ports) {
  if (own_) return own_->transfers(asked, ports);
  prepare();
  const RestTransfers& rest = transfers_at_rest(asked, ports);
  const std::size_t k = updates_.size();
  const std::size_t n = ports.size();
  Vector reach(asked.size() * k);  // volts across `asked` for one of each update
  Vector laws(n * k);              // of each update at one ampere of each port
  bool moved = false;
  for (std::size_t j = 0; j < k; ++j) {
    rough_flow_.add(updates_[j].port->left, 1.0);
    for (std::size_t q = 0; q < asked.size(); ++q) reach[q * k + j] = rough_flow_.dot(*rest.across[q]);
    rough_flow_.clear();
    lay_out_law(updates_[j], rough_reach_);
    for (std::size_t p = 0; p < n; ++p) {
      laws[p * k + j] = rough_reach_.dot(*rest.left[p]);
      moved = moved || laws[p * k + j] != 0.0;
    }
    rough_reach_.clear();
  }
  const View view(*this);
  const auto whole = [&](const Ends& ends) { return ends.red != ends.black && view.together(ends.red, ends.black); };
  Transfers result;
  result.open.assign(asked.size(), 0.0);
  result.ohm.assign(asked.size() * n, 0.0);
  std::vector<char> asked_whole(asked.size());
  for (std::size_t q = 0; q < asked.size(); ++q) {
    asked_whole[q] = whole(asked[q]) ? 1 : 0;
    if (asked_whole[q] != 0) result.open[q] = view.volts(asked[q].red) - view.volts(asked[q].black);
  }
  Vector inverse;
  if (moved) inverse.assign(this->inverse().begin(), this->inverse().end());
  Vector column(k);
  for (std::size_t p = 0; p < n; ++p) {
    if (!whole(ports[p])) continue;
    column.assign(k, 0.0);
    for (std::size_t j = 0; j < k && moved; ++j)
      for (std::size_t i = 0; i < k && laws[p * k + j] != 0.0; ++i) column[i] += inverse[i * k + j] * laws[p * k + j];
    for (std::size_t q = 0; q < asked.size(); ++q) {
      if (asked_whole[q] == 0) continue;
      long double ohm = rest.ohm[q * n + p];
      for (std::size_t j = 0; j < k && moved; ++j) ohm -= column[j] * reach[q * k + j];
      result.ohm[q * n + p] = static_cast<double>(ohm);
    }
  }
  return result;
}

// ---- at most
// -----------------------------------------------------------------------------------------------------------------

const FaultBench::Envelope& FaultBench::envelope_of(std::span<const Ends> ends) {
  for (const Envelope& kept : envelopes_)
    if (same(kept.ends, ends)) return kept;
  if (envelopes_.size() >= kMostKept) envelopes_.pop_front();
  Envelope made;
  made.ends.assign(ends.begin(), ends.end());
  const std::size_t size = rest_.point().layout.size();
  made.right.assign(size, 0.0);
  made.left.assign(size, 0.0);
  const auto widen = [](Vector& most, const sparse::Half& half) {
    for (std::size_t k = 0; k < half.size(); ++k)
      most[half.index[k]] = std::max(most[half.index[k]], std::abs(half.rough[k]));
  };
  for (const Ends& pair : ends) {
    widen(made.right, rest_.across(pair.red, pair.black));
    widen(made.left, rest_.injection(pair.red, pair.black).left);
  }
  envelopes_.push_back(std::move(made));
  return envelopes_.back();
}

namespace {

double most_of(const sparse::Half& half, const std::vector<double>& envelope) {
  double sum = 0.0;
  for (std::size_t k = 0; k < half.size(); ++k) sum += std::abs(half.rough[k]) * envelope[half.index[k]];
  return sum;
}

}  // namespace

double FaultBench::most_of_law(const Update& update, const Vector& left) {
  if (update.kind == Update::Kind::kUntie) return most_of(half_of(update, &Seen::current), left);
  double sum = 0.0;
  if (update.law.alpha != 0.0) sum += std::abs(update.law.alpha) * most_of(half_of(update, &Seen::across), left);
  if (update.law.kappa != 0.0) sum += std::abs(update.law.kappa) * most_of(half_of(update, &Seen::control), left);
  if (update.kind == Update::Kind::kRow && update.law.beta != 0.0)
    sum += std::abs(update.law.beta) * most_of(half_of(update, &Seen::current), left);
  return sum;
}

MostMoved FaultBench::most_moved(std::span<const Ends> ends) {
  if (own_) return {0.0, 0.0, true};
  prepare();
  MostMoved moved;
  const std::size_t k = updates_.size();
  if (k == 0) return moved;
  if (pieces_) {
    const View view(*this);
    moved.apart = std::any_of(ends.begin(), ends.end(), [&](const Ends& pair) {
      return view.together(pair.red, pair.black) != rest_.point().together(pair.red, pair.black);
    });
    if (moved.apart) return moved;
  }
  const Envelope& envelope = envelope_of(ends);
  for (const std::uint32_t place : sum_.touched())
    moved.volts += std::abs(static_cast<double>(sum_[place])) * envelope.right[place];
  Vector reach(k), law(k);
  double most_reach = 0.0;
  double most_law = 0.0;
  for (std::size_t j = 0; j < k; ++j) {
    reach[j] = most_of(updates_[j].port->left, envelope.right);
    law[j] = most_of_law(updates_[j], envelope.left);
    most_reach = std::max(most_reach, reach[j]);
    most_law = std::max(most_law, law[j]);
  }
  if (most_reach == 0.0 || most_law == 0.0) return moved;
  const std::vector<long double>& inverse = this->inverse();
  for (std::size_t i = 0; i < k; ++i) {
    double sum = 0.0;
    for (std::size_t j = 0; j < k; ++j) sum += std::abs(static_cast<double>(inverse[i * k + j])) * law[j];
    moved.ohm += reach[i] * sum;
  }
  return moved;
}

}  // namespace halfsplit::electrical
