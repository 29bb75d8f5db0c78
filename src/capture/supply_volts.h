// SPDX-License-Identifier: Apache-2.0
// The supply as modules report it: group 65271, SPN 168 (battery) and SPN 158 (behind the key switch). The last reports
// are kept, so that a gap can be told what was reported before and during it.
#pragma once

#include <array>
#include <optional>
#include <span>
#include <vector>

#include "can/frame.h"
#include "can/parameters.h"
#include "capture/findings.h"

namespace halfsplit::capture {

constexpr std::uint32_t kPgnSupply = 65271;
constexpr std::size_t kRecentVolts = 128;
constexpr std::size_t kMostVoltSources = 256;

class SupplyVolts {
 public:
  SupplyVolts();
  // The reports of a frame of kPgnSupply: none, one or two, until the next call.
  [[nodiscard]] std::span<const VoltsMark> add(const can::Frame& frame, const SenderKey& source, const Mark& mark);
  [[nodiscard]] std::optional<VoltsMark> last_before(const Mark& mark) const;
  [[nodiscard]] std::optional<VoltsMark> least_within(const Mark& from, const Mark& to) const;
  [[nodiscard]] const std::vector<VoltsMark>& last() const { return last_; }  // of each source and SPN

 private:
  std::vector<const can::Parameter*> told_by_;  // the parameters of kPgnSupply
  std::array<VoltsMark, 2> told_ = {};
  std::array<VoltsMark, kRecentVolts> recent_ = {};  // a ring
  std::size_t reports_ = 0;
  std::vector<VoltsMark> last_;
  std::array<std::array<std::uint16_t, 2>, 256> place_of_ = {};  // in last_, by the lower byte of the source and by SPN
};

}  // namespace halfsplit::capture
