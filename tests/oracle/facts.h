// SPDX-License-Identifier: Apache-2.0
// Published numbers for tests: the tables of tests/data/facts, and circuits written as they stand there, one card after
// the other ("V1 1 0 9; R1 1 2 3000"): element, first node, second node, value; V volt, R ohm, I ampere from first to
// second node; node 0 is ground.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "circuit/netlist.h"
#include "electrical/model.h"

namespace halfsplit::oracle {

// By column name. Throws when the file or the column is not there.
class FactRow {
 public:
  explicit FactRow(std::map<std::string, std::string> cells) : cells_(std::move(cells)) {}
  [[nodiscard]] const std::string& text(const std::string& column) const;
  [[nodiscard]] double number(const std::string& column) const;

 private:
  std::map<std::string, std::string> cells_;
};
[[nodiscard]] std::vector<FactRow> read_facts(const std::string& file);

struct Card {
  std::string name;
  std::string a, b;
  double value = 0.0;
};
[[nodiscard]] std::vector<Card> parse_cards(const std::string& text);

// What a source states of a circuit: "V(1,2)=1.5; I(R1)=0.0005; P(R2)=39.2".
struct Statement {
  std::string text;
  char kind = 'V';
  std::string first, second;  // nodes, or an element in first
  double value = 0.0;
};
[[nodiscard]] std::vector<Statement> parse_statements(const std::string& text);

// The cards as a loom: a node is a splice, a resistor and a source are bolted parts, what joins them has next to no
// ohms; ground is the chassis. A current source, which no vehicle part is, becomes a branch of the model.
class CardCircuit {
 public:
  explicit CardCircuit(const std::vector<Card>& cards);

  circuit::Loom loom;
  circuit::Netlist netlist;
  electrical::Model model;
  [[nodiscard]] circuit::NodeId node(const std::string& name) const { return nodes_.at(name); }
  [[nodiscard]] std::size_t branch(const std::string& card) const { return branches_.at(card); }

 private:
  std::map<std::string, circuit::NodeId> nodes_;
  std::map<std::string, std::size_t> branches_;
};

}  // namespace halfsplit::oracle
