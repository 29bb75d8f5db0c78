// SPDX-License-Identifier: Apache-2.0
// Optimal string alignment: the fewest insertions, deletions, substitutions and swaps of neighbours that turn one word
// into the other, no piece edited twice. Source: F. J. Damerau, "A technique for computer detection and correction of
// spelling errors", CACM 7(3), 1964; the row-by-row table is common practice. Works on bytes: a character outside ASCII
// counts as two or three edits, which only makes the judgement stricter.
#include "base/nearest.h"

#include <algorithm>
#include <utility>

namespace halfsplit::base {

namespace {

constexpr std::size_t kLongestCompared = 80;  // longer names are cut: the table is quadratic

std::string folded_start(std::string_view text) {
  std::string folded(text.substr(0, kLongestCompared));
  for (char& c : folded) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return folded;
}

std::size_t alignment_distance(const std::string& a, const std::string& b) {
  std::vector<std::size_t> before(b.size() + 1), above(b.size() + 1), row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) above[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      row[j] = std::min({above[j] + 1, row[j - 1] + 1, above[j - 1] + (a[i - 1] == b[j - 1] ? 0U : 1U)});
      const bool swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
      if (swapped) row[j] = std::min(row[j], before[j - 2] + 1);
    }
    std::swap(before, above);
    std::swap(above, row);
  }
  return above[b.size()];
}

// About one slip in three characters; one or two characters must match but for case.
std::size_t allowed_distance(std::size_t length) { return length < 3 ? 0 : (length + 1) / 3; }

// Smaller is nearer. A name that contains the wanted word (or the other way round) is near however long it is: half an
// edit for holding it at all, so that it ranks between "the same" and "one slip". Not near at all: kFar.
constexpr std::size_t kFar = 1000;
std::size_t score(const std::string& wanted, const std::string& name) {
  const std::string& shorter = wanted.size() < name.size() ? wanted : name;
  const std::string& longer = wanted.size() < name.size() ? name : wanted;
  const std::size_t distance = alignment_distance(wanted, name);
  if (shorter.size() >= 2 && longer.find(shorter) != std::string::npos) return std::min<std::size_t>(1, 2 * distance);
  return distance <= allowed_distance(longer.size()) ? 2 * distance : kFar;
}

}  // namespace

std::vector<std::string> find_nearest(std::string_view wanted, const std::vector<std::string>& names,
                                      std::size_t most) {
  const std::string folded = folded_start(wanted);
  std::vector<std::pair<std::size_t, std::string>> near;
  if (folded.empty()) return {};
  for (const std::string& name : names) {
    const std::size_t points = score(folded, folded_start(name));
    if (points < kFar) near.emplace_back(points, name);
  }
  // Equal scores: the shorter name first (less of it is unexplained), then by spelling, so that order never depends on
  // where the names came from.
  std::sort(near.begin(), near.end(), [](const auto& a, const auto& b) {
    if (a.first != b.first) return a.first < b.first;
    if (a.second.size() != b.second.size()) return a.second.size() < b.second.size();
    return a.second < b.second;
  });
  near.erase(std::unique(near.begin(), near.end()), near.end());
  std::vector<std::string> found;
  for (std::size_t i = 0; i < near.size() && i < most; ++i) found.push_back(near[i].second);
  return found;
}

std::string did_you_mean(std::string_view wanted, const std::vector<std::string>& names) {
  const std::vector<std::string> near = find_nearest(wanted, names);
  if (near.empty()) return "";
  std::string text = "did you mean " + near[0];
  for (std::size_t i = 1; i < near.size(); ++i) text += (i + 1 == near.size() ? " or " : ", ") + near[i];
  return text + "?";
}

}  // namespace halfsplit::base
