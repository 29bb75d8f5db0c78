// SPDX-License-Identifier: Apache-2.0
// The order people expect of pin and connector names: runs of digits compare as numbers, so 2 comes before 10 and A9
// before A10. No locale: other characters compare by code point.
#pragma once

#include <string_view>

namespace halfsplit::text {

// A strict order over all texts; texts that differ only in leading zeros ("2", "02") are told apart by their bytes.
[[nodiscard]] bool natural_less(std::string_view a, std::string_view b);

}  // namespace halfsplit::text
