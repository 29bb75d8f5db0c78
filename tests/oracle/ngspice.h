// SPDX-License-Identifier: Apache-2.0
// ngspice in the same process (Debian libngspice0-dev), asked for operating points only. It is the outside twin of our
// solver and is used by tests alone. What it prints is caught and kept, never shown. One at a time, one thread.
// Source of the interface: ngspice/sharedspice.h and the ngspice manual, chapter "ngspice as shared library".
#pragma once

#include <functional>
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
  // The same in time, from its operating point on; `look` is called once for each of the times, which rise, with volts
  // as they are then (on the straight line between the two points of time that ngspice worked out).
  bool run_in_time(const std::vector<std::string>& lines, const std::vector<double>& times_s, double step_s,
                   const std::function<void(std::size_t)>& look);
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
  void at_point();  // all values of one point are there
  [[nodiscard]] bool keeps() const { return keeps_; }

 private:
  Ngspice();
  std::unordered_map<std::string, double> values_;
  std::string said_;
  std::size_t runs_ = 0;
  bool keeps_ = true;
  std::vector<double> times_s_;  // still to look at, of run_in_time
  std::size_t looked_ = 0;
  std::function<void(std::size_t)> look_;
  std::unordered_map<std::string, double> before_;
};

}  // namespace halfsplit::oracle
