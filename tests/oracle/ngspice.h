// SPDX-License-Identifier: Apache-2.0
// ngspice in the same process (Debian libngspice0-dev), asked for operating points only. It is the outside twin of our
// solver and is used by tests alone. What it prints is caught and kept, never shown. One at a time, one thread.
// Source of the interface: ngspice/sharedspice.h and the ngspice manual, chapter "ngspice as shared library".
#pragma once

#include <string>
#include <unordered_map>
#include <vector>

namespace halfsplit::oracle {

class Ngspice {
 public:
  // Null when the library was not there at build time; the test then skips, and says so.
  static Ngspice* instance();

  // Solves the circuit of these lines (title first, without .end). False when ngspice found no operating point.
  bool run(const std::vector<std::string>& lines);
  // The same in time, from its operating point on: values are those at `until_s`.
  bool run_until(const std::vector<std::string>& lines, double step_s, double until_s);
  // The same in steps, to solve one circuit again and again with one value changed: load, then alter and solve, then
  // forget. `keep`: fetch every value of the result, as run does; without it volts and amperes stay as they were.
  bool load(const std::vector<std::string>& lines);
  bool alter(const std::string& device, double value);
  bool solve(bool keep);
  void forget();
  [[nodiscard]] double volts(const std::string& node) const;       // ground and unknown nodes: 0
  [[nodiscard]] double amperes(const std::string& source) const;   // of a voltage source, into its first node
  [[nodiscard]] const std::string& said() const { return said_; }  // since the last run began
  [[nodiscard]] std::size_t runs() const { return runs_; }

  // For the callbacks only.
  void hear(const char* text);
  void take(const std::string& name, double value) { values_[name] = value; }
  [[nodiscard]] bool keeps() const { return keeps_; }

 private:
  Ngspice();
  std::unordered_map<std::string, double> values_;
  std::string said_;
  std::size_t runs_ = 0;
  bool keeps_ = true;
};

}  // namespace halfsplit::oracle
