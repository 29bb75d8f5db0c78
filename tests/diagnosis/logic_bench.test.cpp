// SPDX-License-Identifier: Apache-2.0
// Two circuits of 19 and 36 gates with one to five faulty gates: the smallest number of faulty gates that explains what
// is seen, and how many sets of that size do. Source of circuits and observations: tests/data/fault-bench-logic
// (README.md there); of the numbers: brute force by a separate program.
#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "infer/pairs.h"
#include "tests/diagnosis/logic_circuit.h"

namespace halfsplit::diagnosis {
namespace {

const std::string kFolder = "tests/data/fault-bench-logic/";

struct Known {
  const char* scenario;
  std::size_t size;
  std::size_t count;
};
constexpr Known k74182[] = {
    {"000", 1, 1}, {"001", 1, 2},  {"002", 1, 3}, {"003", 1, 1},  {"004", 1, 1},  {"005", 1, 4},   {"006", 1, 1},
    {"007", 1, 1}, {"008", 1, 4},  {"009", 1, 1}, {"010", 2, 3},  {"011", 2, 8},  {"012", 2, 5},   {"013", 2, 5},
    {"014", 2, 2}, {"015", 2, 20}, {"020", 3, 8}, {"022", 3, 60}, {"030", 4, 25}, {"036", 4, 100}, {"040", 5, 400}};
constexpr Known k74283[] = {{"000", 1, 6},  {"001", 1, 5},   {"002", 1, 5},  {"003", 1, 6},  {"004", 1, 5},
                            {"005", 1, 5},  {"006", 1, 8},   {"007", 1, 5},  {"008", 1, 7},  {"009", 1, 5},
                            {"010", 2, 20}, {"011", 2, 21},  {"012", 2, 35}, {"013", 2, 30}, {"014", 2, 48},
                            {"015", 2, 30}, {"020", 3, 155}, {"022", 3, 278}};

std::string path_of(const char* folder, const std::string& name, const char* ending) {
  return kFolder + folder + name + ending;
}

Circuit circuit_of(const std::string& name) { return read_circuit(path_of("models/", name, ".xml")); }

Values observation(const std::string& circuit, const std::string& scenario, const std::string& time) {
  return read_sensors(read_text(path_of("scenarios/", circuit + "." + scenario, ".scn")), time);
}

std::size_t count_outputs(const Values& seen) {
  return static_cast<std::size_t>(
      std::count_if(seen.begin(), seen.end(), [](const auto& entry) { return entry.first[0] == 'o'; }));
}

// Sets of `size` and all smaller ones, weighed together: the possible ones must all have that size.
void check(const std::string& name, const Known& known) {
  SCOPED_TRACE(name + "." + known.scenario);
  const Circuit circuit = circuit_of(name);
  const Values seen = observation(name, known.scenario, "6000");
  std::vector<Mask> masks;
  for (std::size_t size = 1; size <= known.size; ++size)
    for (const Mask mask : sets_of(circuit.gates.size(), size)) masks.push_back(mask);
  const FaultSets sets = weigh(masks, circuit.gates.size(), 0.01, count_outputs(seen),
                               [&](Mask mask) { return explained_outputs(circuit, seen, mask); });
  const std::vector<Mask> found = possible(sets);
  EXPECT_EQ(found.size(), known.count);
  for (const Mask mask : found) EXPECT_EQ(static_cast<std::size_t>(std::popcount(mask)), known.size);
}

TEST(LogicBench, TheReaderUnderstandsTheCircuits) {
  // All gates good: the circuit gives what the origin says.
  for (const std::string name : {"74182", "74283"}) {
    const Circuit circuit = circuit_of(name);
    EXPECT_EQ(circuit.gates.size(), name == "74182" ? 19U : 36U);
    for (const char* scenario : {"000", "005", "010", "015", "020"}) {
      const Values good = observation(name, scenario, "0");
      EXPECT_EQ(explained_outputs(circuit, good, 0), 5U) << name << "." << scenario;
    }
  }
}

TEST(LogicBench, SmallestDiagnosesOf74182) {
  for (const Known& known : k74182) check("74182", known);
}

TEST(LogicBench, SmallestDiagnosesOf74283) {
  for (const Known& known : k74283) check("74283", known);
}

// The same double faults through the search for pairs: as many pairs are found, and a budget of a fifth of all pairs is
// enough to see one of them first.
std::size_t explain_by_pairs(const Circuit& circuit, const Values& seen, std::size_t budget) {
  const std::size_t outputs = count_outputs(seen);
  std::vector<infer::FaultRate> faults;
  for (std::size_t g = 0; g < circuit.gates.size(); ++g) faults.push_back({fault::FaultId(g), 1.0, 1});
  const infer::PriorShares shares{0.5, 0.0};
  const std::vector<infer::Row> rows = infer::make_rows(faults, shares);
  std::vector<std::vector<evidence::Prediction>> lines;
  for (std::size_t g = 0; g < faults.size(); ++g)
    lines.push_back(cells_of(explained_outputs(circuit, seen, Mask{1} << g), outputs));
  const std::vector<infer::Reading> readings = as_seen(outputs);
  const evidence::ResponseTable table = infer::test::table_of(lines);
  const infer::Noise noise = infer::test::no_noise();
  const infer::LikelihoodTable likelihoods = infer::compute_likelihoods(rows, table, readings, noise);
  const infer::PairGuess guess(faults, rows, table, likelihoods, readings, noise);
  infer::PairSearch search;
  search.faults = faults;
  search.shares = shares;
  search.readings = readings;
  search.noise = noise;
  search.guess = &guess;
  search.log_evidence_singles = infer::compute_posterior(rows, likelihoods).log_evidence;
  search.epsilon = 0.0;
  search.budget = budget;
  const infer::PairsFound found = infer::explore_pairs(search, [&](std::size_t i, std::size_t j) {
    const std::size_t explained = explained_outputs(circuit, seen, Mask{1} << i | Mask{1} << j);
    return std::vector<infer::PairRow>{{0.5, 0.5, 1.0, false, cells_of(explained, outputs)}};
  });
  std::size_t count = 0;
  for (std::size_t r = 0; r < found.rows.size(); ++r) {
    double log_likelihood = 0.0;
    for (std::size_t c = 0; c < outputs; ++c) log_likelihood += found.likelihoods.at(r, c);
    count += log_likelihood > -1e-6 ? 1 : 0;
  }
  return count;
}

TEST(LogicBench, DoubleFaultsByTheSearchForPairs) {
  for (const std::string name : {"74182", "74283"}) {
    const Circuit circuit = circuit_of(name);
    for (const Known& known : name == "74182" ? std::vector<Known>(std::begin(k74182), std::end(k74182))
                                              : std::vector<Known>(std::begin(k74283), std::end(k74283))) {
      if (known.size != 2) continue;
      const Values seen = observation(name, known.scenario, "6000");
      EXPECT_EQ(explain_by_pairs(circuit, seen, 1000000), known.count) << name << "." << known.scenario;
      const std::size_t all = circuit.gates.size() * (circuit.gates.size() - 1) / 2;
      EXPECT_GT(explain_by_pairs(circuit, seen, all / 5), 0U) << name << "." << known.scenario;
    }
  }
}

}  // namespace
}  // namespace halfsplit::diagnosis
