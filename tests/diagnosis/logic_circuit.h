// SPDX-License-Identifier: Apache-2.0
// A combinational circuit for tests: gates in an order in which each comes after what feeds it. Reads the models and
// scenarios of tests/data/fault-bench-logic. A faulty gate may give either value.
#pragma once

#include <algorithm>
#include <cstdint>
#include <fstream>
#include <map>
#include <numeric>
#include <sstream>
#include <string>
#include <vector>

#include "base/check.h"
#include "tests/diagnosis/fault_sets.h"

namespace halfsplit::diagnosis {

struct Gate {
  std::string name;
  std::string function;  // "and", "nand", "or", "nor", "xor", "inverter"
  std::vector<std::size_t> inputs;
  std::size_t output = 0;
};

struct Circuit {
  std::vector<Gate> gates;
  std::map<std::string, std::size_t> net_of;  // ports by name
  std::size_t nets = 0;
};

inline bool gate_value(const Gate& gate, const std::vector<char>& net) {
  const auto ones = std::count_if(gate.inputs.begin(), gate.inputs.end(), [&](std::size_t n) { return net[n] != 0; });
  const auto count = static_cast<std::ptrdiff_t>(gate.inputs.size());
  if (gate.function == "and") return ones == count;
  if (gate.function == "nand") return ones != count;
  if (gate.function == "or") return ones > 0;
  if (gate.function == "nor") return ones == 0;
  if (gate.function == "xor") return ones % 2 == 1;
  HS_CHECK(gate.function == "inverter", "a known gate");
  return ones == 0;
}

// All nets; gate g of `faulty` (positions) gives bit g of `values`.
inline void run(const Circuit& circuit, const std::vector<std::size_t>& faulty, unsigned values,
                std::vector<char>& net) {
  for (std::size_t g = 0; g < circuit.gates.size(); ++g) {
    const auto place = std::find(faulty.begin(), faulty.end(), g);
    const bool given = place != faulty.end();
    const bool value =
        given ? (values >> static_cast<unsigned>(place - faulty.begin()) & 1U) != 0 : gate_value(circuit.gates[g], net);
    net[circuit.gates[g].output] = value ? 1 : 0;
  }
}

using Values = std::map<std::string, bool>;  // by port

// How many leading outputs (by name) some behaviour of the faulty gates explains.
inline std::size_t explained_outputs(const Circuit& circuit, const Values& seen, Mask mask) {
  std::vector<std::size_t> faulty;
  for (const fault::FaultId part : parts_of(mask)) faulty.push_back(part.index());
  std::vector<std::size_t> outputs;
  std::vector<char> net(circuit.nets, 0);
  for (const auto& [port, value] : seen) {
    if (port[0] == 'o') outputs.push_back(circuit.net_of.at(port));
    if (port[0] == 'i') net[circuit.net_of.at(port)] = value ? 1 : 0;
  }
  std::size_t best = 0;
  for (unsigned values = 0; values < (1U << faulty.size()); ++values) {
    run(circuit, faulty, values, net);
    std::size_t k = 0;
    for (const auto& [port, value] : seen) {
      if (port[0] != 'o') continue;
      if ((net[outputs[k]] != 0) != value) break;
      ++k;
    }
    best = std::max(best, k);
  }
  return best;
}

inline std::string read_text(const std::string& path) {
  std::ifstream file(path);
  HS_CHECK(file.good(), "the test runs in the project's folder and finds " + path);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

// All pairs of texts between <first>..</first> and the next <second>..</second>.
inline std::vector<std::pair<std::string, std::string>> tagged(const std::string& text, const std::string& first,
                                                               const std::string& second) {
  std::vector<std::pair<std::string, std::string>> out;
  const auto field = [&](const std::string& tag, std::size_t& at) {
    const std::size_t begin = text.find("<" + tag + ">", at);
    if (begin == std::string::npos) return std::string();
    const std::size_t end = text.find("</" + tag + ">", begin);
    at = end;
    return text.substr(begin + tag.size() + 2, end - begin - tag.size() - 2);
  };
  for (std::size_t at = 0;;) {
    std::string a = field(first, at);
    if (a.empty()) return out;
    out.emplace_back(std::move(a), field(second, at));
  }
}

// Terminals that are joined have the same net.
class Nets {
 public:
  std::size_t find(const std::string& terminal) {
    const auto [entry, is_new] = number_.emplace(terminal, parent_.size());
    if (is_new) parent_.push_back(parent_.size());
    std::size_t net = entry->second;
    while (parent_[net] != net) net = parent_[net];
    return net;
  }
  void join(const std::string& a, const std::string& b) {
    const std::size_t x = find(a);
    const std::size_t y = find(b);
    parent_[x] = y;
  }
  [[nodiscard]] std::size_t size() const { return parent_.size(); }

 private:
  std::map<std::string, std::size_t> number_;
  std::vector<std::size_t> parent_;
};

inline Gate make_gate(Nets& nets, const std::string& name, const std::string& type) {
  const std::size_t digit = type.find_first_of("0123456789");
  const std::size_t inputs = digit == std::string::npos ? 1 : std::stoul(type.substr(digit));
  Gate gate{name, type.substr(0, digit), {}, nets.find(name + ".o")};
  for (std::size_t k = 1; k <= inputs; ++k) gate.inputs.push_back(nets.find(name + ".i" + std::to_string(k)));
  return gate;
}

// Puts each gate after those that feed it; leaves out nothing (the circuits have no loops).
inline void sort_gates(Circuit& circuit) {
  std::vector<Gate> sorted;
  std::vector<char> known(circuit.nets, 1);
  for (const Gate& gate : circuit.gates) known[gate.output] = 0;
  std::vector<Gate> waiting = circuit.gates;
  while (!waiting.empty()) {
    const auto ready = std::find_if(waiting.begin(), waiting.end(), [&](const Gate& gate) {
      return std::all_of(gate.inputs.begin(), gate.inputs.end(), [&](std::size_t n) { return known[n] != 0; });
    });
    HS_CHECK(ready != waiting.end(), "a combinational circuit has no loops");
    known[ready->output] = 1;
    sorted.push_back(*ready);
    waiting.erase(ready);
  }
  circuit.gates = std::move(sorted);
}

inline Circuit read_circuit(const std::string& path) {
  const std::string text = read_text(path);
  const std::string components = text.substr(0, text.find("<connections>"));
  Nets nets;
  for (const auto& [a, b] : tagged(text.substr(components.size()), "c1", "c2")) nets.join(a, b);
  Circuit circuit;
  for (const auto& [name, type] : tagged(components, "name", "componentType")) {
    if (type == "port") circuit.net_of[name] = nets.find(name);
    if (type != "port" && type != "probe" && type != "wire") circuit.gates.push_back(make_gate(nets, name, type));
  }
  circuit.nets = nets.size();
  sort_gates(circuit);
  return circuit;
}

// The values of "sensors @<time> { i1 = true, o1 = false };".
inline Values read_sensors(const std::string& scenario, const std::string& time) {
  const std::size_t at = scenario.find("sensors @" + time);
  HS_CHECK(at != std::string::npos, "the scenario has sensors at that time");
  const std::size_t begin = scenario.find('{', at) + 1;
  std::string list = scenario.substr(begin, scenario.find('}', begin) - begin);
  std::replace(list.begin(), list.end(), ',', ' ');
  std::istringstream words(list);
  Values values;
  std::string port, equals, value;
  while (words >> port >> equals >> value) values[port] = value == "true";
  return values;
}

}  // namespace halfsplit::diagnosis
