// SPDX-License-Identifier: Apache-2.0
// A loom of some thousand parts holds some ten thousand quantities; reading them should not be felt (goal: 1 us each).
#include "base/number.h"

#include <benchmark/benchmark.h>

namespace {

void parse_quantity(benchmark::State& state, std::string_view text) {
  for (auto _ : state) benchmark::DoNotOptimize(halfsplit::base::parse_quantity(text));
  state.SetItemsProcessed(state.iterations());
}
BENCHMARK_CAPTURE(parse_quantity, mark, "4k7");
BENCHMARK_CAPTURE(parse_quantity, unit, "23.8 V");
BENCHMARK_CAPTURE(parse_quantity, refused, "12 bananas");

void format_number(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(halfsplit::base::format_number(0.1 + 0.2));
  state.SetItemsProcessed(state.iterations());
}
BENCHMARK(format_number);

}  // namespace
