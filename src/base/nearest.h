// SPDX-License-Identifier: Apache-2.0
// "Did you mean": the names closest to one that was not found. Distance: optimal string alignment (Damerau 1964), case
// folded, with a bonus when one name contains the other.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace halfsplit::base {

// At most `most` names, nearest first; names too far off to be meant are left out.
[[nodiscard]] std::vector<std::string> find_nearest(std::string_view wanted, const std::vector<std::string>& names,
                                                    std::size_t most = 3);
// "did you mean A, B or C?" or "" when nothing is near.
[[nodiscard]] std::string did_you_mean(std::string_view wanted, const std::vector<std::string>& names);

}  // namespace halfsplit::base
