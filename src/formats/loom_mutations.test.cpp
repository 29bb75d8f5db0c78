// SPDX-License-Identifier: Apache-2.0
// Property: whatever is done to a good loom, the reader ends with a whole loom or with errors that have places; it
// never crashes, hangs or half-fills. Each round prints its seed when it fails.
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "base/rng.h"
#include "circuit/netlist.h"
#include "circuit/oddities.h"
#include "circuit/part_kinds.h"
#include "formats/loom_text.h"

namespace halfsplit::formats {
namespace {

std::string good_loom() {
  std::ifstream in("tests/data/looms/quillon.loom.toml", std::ios::binary);
  std::string text{std::istreambuf_iterator<char>(in), {}};
  const std::string include = "include = [\"quillon/tail-lift.loom.toml\"]\n";
  EXPECT_NE(text.find(include), std::string::npos);
  return text.erase(text.find(include), include.size());
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines(1);
  for (const char c : text) {
    lines.back() += c;
    if (c == '\n') lines.emplace_back();
  }
  return lines;
}

std::string join(const std::vector<std::string>& lines) {
  std::string text;
  for (const std::string& line : lines) text += line;
  return text;
}

// Puts something unlikely in place of a number somewhere.
std::string swap_number(std::string text, base::Rng& rng) {
  static const std::vector<std::string> odd{
      "1e400",  "-1",   "nan", "inf", "1e308",    "0",          "99999999999999999999",
      "1e-320", "\"\"", "[]",  "{}",  "\"4k7V\"", "2024-01-01", "\"\\u0000\""};
  for (std::size_t at = rng.below(text.size()); at < text.size(); ++at) {
    if (text[at] < '0' || text[at] > '9') continue;
    std::size_t end = at;
    while (end < text.size() && ((text[end] >= '0' && text[end] <= '9') || text[end] == '.')) ++end;
    return text.replace(at, end - at, odd[rng.below(odd.size())]);
  }
  return text;
}

std::string mutate(const std::string& good, base::Rng& rng) {
  std::vector<std::string> lines = lines_of(good);
  const std::size_t a = rng.below(lines.size()), b = rng.below(lines.size());
  switch (rng.below(8)) {
    case 0: {
      std::string text = good;
      for (std::size_t n = 1 + rng.below(4); n > 0; --n)
        text[rng.below(text.size())] = static_cast<char>(rng.below(256));
      return text;
    }
    case 1:
      return good.substr(0, rng.below(good.size()));
    case 2:
      lines.erase(lines.begin() + static_cast<std::ptrdiff_t>(a));
      return join(lines);
    case 3:
      lines.insert(lines.begin() + static_cast<std::ptrdiff_t>(b), lines[a]);
      return join(lines);
    case 4:
      std::swap(lines[a], lines[b]);
      return join(lines);
    case 5: {
      std::string text = good;
      return text.insert(rng.below(text.size()), std::string(1 + rng.below(3), "\"'[]{}=.->@:#\\\n"[rng.below(15)]));
    }
    case 6:
      return good.substr(rng.below(good.size()));
    default:
      return swap_number(good, rng);
  }
}

void expect_whole(const circuit::Loom& loom) {
  for (const circuit::Part& part : loom.parts) {
    ASSERT_EQ(part.values.size(), circuit::part_kind(part.kind).fields.size());
    for (const double value : part.values) ASSERT_TRUE(std::isfinite(value));
  }
  const circuit::Netlist netlist = circuit::build_netlist(loom);
  ASSERT_EQ(netlist.buses.size(), loom.buses.size());
  for (const circuit::Element& element : netlist.elements) {
    ASSERT_TRUE(std::isfinite(element.ohm) && element.ohm >= 0.0) << element.name;
    ASSERT_TRUE(std::isfinite(element.volt) && std::isfinite(element.tolerance)) << element.name;
  }
  (void)circuit::find_oddities(loom);
}

void expect_placed(const std::vector<base::Diagnostic>& diagnostics) {
  ASSERT_TRUE(base::has_error(diagnostics));
  for (const base::Diagnostic& diagnostic : diagnostics) {
    ASSERT_EQ(diagnostic.code.substr(0, 5), "loom.");
    ASSERT_FALSE(diagnostic.message.empty());
    ASSERT_EQ(diagnostic.where.file, "mutant");
    if (diagnostic.where.line == 0) continue;  // about the whole file
    ASSERT_GE(diagnostic.where.column, 1U);
    ASSERT_LE(diagnostic.where.column, diagnostic.where.source_line.size() + 1) << base::format_diagnostic(diagnostic);
  }
}

// Both ends are to be reached, or the mutations test nothing.
void expect_whole_or_refused(const std::string& good, std::uint64_t first_seed, std::uint64_t rounds) {
  ASSERT_TRUE(read_loom_text("mutant", good).ok());
  std::size_t looms = 0, refused = 0;
  for (std::uint64_t seed = first_seed; seed < first_seed + rounds; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    base::Rng rng(seed);
    std::string text = good;
    for (std::size_t n = 1 + rng.below(3); n > 0 && !text.empty(); --n) text = mutate(text, rng);
    const base::Result<circuit::Loom> read = read_loom_text("mutant", text);
    if (read.ok()) {
      ++looms;
      expect_whole(*read);
    } else {
      ++refused;
      expect_placed(read.diagnostics());
    }
    if (testing::Test::HasFatalFailure()) return;
  }
  EXPECT_GT(looms, rounds / 30);
  EXPECT_GT(refused, rounds / 2);
}

TEST(LoomMutations, AWholeLoomOrErrorsWithPlaces) { expect_whole_or_refused(good_loom(), 1, 600); }

// The same with every kind of bus, messages and a gateway.
TEST(LoomMutations, OfBusesToo) {
  std::ifstream in("tests/data/looms/orrin.loom.toml", std::ios::binary);
  expect_whole_or_refused({std::istreambuf_iterator<char>(in), {}}, 1001, 600);
}

}  // namespace
}  // namespace halfsplit::formats
