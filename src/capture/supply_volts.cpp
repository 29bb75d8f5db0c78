// SPDX-License-Identifier: Apache-2.0
#include "capture/supply_volts.h"

#include <algorithm>

namespace halfsplit::capture {

SupplyVolts::SupplyVolts() {
  for (const std::uint32_t spn : {can::kSpnBatteryVoltage, can::kSpnKeySwitchVoltage}) {
    const can::Parameter* parameter = can::find_parameter(spn);
    if (parameter != nullptr && parameter->pgn == kPgnSupply) told_by_.push_back(parameter);
  }
}

std::span<const VoltsMark> SupplyVolts::add(const can::Frame& frame, const SenderKey& source, const Mark& mark) {
  std::size_t count = 0;
  for (const can::Parameter* parameter : told_by_) {
    const can::ParameterReading reading = can::read_parameter(*parameter, frame.bytes());
    if (reading.reading == can::Reading::kValue) told_[count++] = {reading.value, parameter->spn, source, mark};
  }
  const std::span<const VoltsMark> told = std::span(told_).first(count);
  for (const VoltsMark& one : told) {
    recent_[reports_++ % kRecentVolts] = one;
    const auto is_same = [&](const VoltsMark& v) { return v.source == one.source && v.spn == one.spn; };
    std::uint16_t& place = place_of_[one.source.number & 0xFFU][one.spn == can::kSpnBatteryVoltage ? 0 : 1];
    const bool there = place < last_.size() && is_same(last_[place]);
    const auto same = there ? last_.begin() + place : std::find_if(last_.begin(), last_.end(), is_same);
    place = static_cast<std::uint16_t>(same - last_.begin());
    if (same != last_.end())
      *same = one;
    else if (last_.size() < kMostVoltSources)
      last_.push_back(one);
  }
  return told;
}

std::optional<VoltsMark> SupplyVolts::last_before(const Mark& mark) const {
  for (std::size_t r = reports_; r-- > 0 && r + kRecentVolts >= reports_;) {
    const VoltsMark& one = recent_[r % kRecentVolts];
    if (one.at.line <= mark.line) return one;
  }
  return std::nullopt;
}

std::optional<VoltsMark> SupplyVolts::least_within(const Mark& from, const Mark& to) const {
  std::optional<VoltsMark> least;
  for (std::size_t r = reports_; r-- > 0 && r + kRecentVolts >= reports_;) {
    const VoltsMark& one = recent_[r % kRecentVolts];
    if (one.at.line <= from.line) break;
    if (one.at.line < to.line && (!least || one.volts < least->volts)) least = one;
  }
  return least;
}

}  // namespace halfsplit::capture
