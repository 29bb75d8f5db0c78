// SPDX-License-Identifier: Apache-2.0
// For tests: collects a loom table by table and writes it in the project's own format (docs/formats/loom.md), keeping
// count of the nodes that its netlist will have (section 1 of that page). Names are not checked: the reader does that.
// Bodies are the inside of an inline table: `kind = "fuse", rating_a = 5`.
#pragma once

#include <cstddef>
#include <map>
#include <set>
#include <string>
#include <vector>

namespace halfsplit::test {

// A stop of a run. `joint`: a wire ends there on a lug, clamp or crimp with a node of its own (splices, studs, parts
// without a plug). `wire`: attributes of the wire that leads to it, besides those of the run.
struct Hop {
  std::string text;
  bool joint = false;
  std::string wire{};
};

// In the quotes of TOML; `text` has none of its own.
[[nodiscard]] inline std::string quoted(const std::string& text) { return "\"" + text + "\""; }

class LoomWriter {
 public:
  void top(const std::string& line) { top_ += line + "\n"; }
  void setup(const std::string& name, const std::string& body) { add("setups", name, body); }
  void place(const std::string& name, const std::string& body) { add("places", name, body); }
  void frame(const std::string& name);
  void stud(const std::string& name, const std::string& body);
  void splice(const std::string& name, const std::string& body);
  void connector(const std::string& name, const std::string& body) { add("connectors", name, body); }
  // `plug`: the part has one, with two nodes a terminal.
  void part(const std::string& name, std::size_t terminals, bool plug, const std::string& body);
  // `rows`: of every plug that its pins use.
  void module(const std::string& name, const std::string& body, const std::string& rows);
  void pin(const std::string& module, const std::string& cavity, const std::string& body);
  void inside(const std::string& module, const std::string& body);
  // A rail of the module that its pins name for the first time.
  void count_rail() { ++nodes_; }
  // An inline cavity that two wires will use.
  void count_cavity() { nodes_ += 2; }
  // A wire between each two neighbouring hops; the runs of one name become one list.
  void run(const std::string& name, const std::vector<Hop>& hops, const std::string& wire);
  void code(const std::string& name, const std::string& body) { add("codes", name, body); }
  void bus(const std::string& name) { add("buses", name, ""); }
  void live(const std::string& name, const std::string& body) { add("live", name, body); }

  [[nodiscard]] std::size_t nodes() const { return nodes_; }
  [[nodiscard]] std::string text() const;

 private:
  struct Module {
    std::string name, body, rows, pins;
    std::set<std::string> plugs;
    std::vector<std::string> inside;
  };
  void add(const std::string& table, const std::string& name, const std::string& body);

  std::string top_;
  std::map<std::string, std::string> tables_;
  std::vector<Module> modules_;
  std::vector<std::pair<std::string, std::vector<std::string>>> runs_;
  std::map<std::string, std::size_t> run_index_, module_index_;
  std::size_t nodes_ = 0;
};

// A number as the format takes it, three figures.
[[nodiscard]] std::string number_text(double value);

}  // namespace halfsplit::test
