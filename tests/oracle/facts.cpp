// SPDX-License-Identifier: Apache-2.0
#include "tests/oracle/facts.h"

#include <fstream>
#include <sstream>
#include <stdexcept>

#include "circuit/test_loom.h"

namespace halfsplit::oracle {

namespace {

// RFC 4180: a quoted cell may hold commas and doubled quotes.
std::vector<std::string> split_cells(const std::string& line) {
  std::vector<std::string> cells(1);
  bool quoted = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (c == '"' && quoted && i + 1 < line.size() && line[i + 1] == '"')
      cells.back() += line[++i];
    else if (c == '"')
      quoted = !quoted;
    else if (c == ',' && !quoted)
      cells.emplace_back();
    else if (c != '\r')
      cells.back() += c;
  }
  return cells;
}

std::vector<std::string> split_list(const std::string& text) {
  std::vector<std::string> items;
  std::istringstream stream(text);
  for (std::string item; std::getline(stream, item, ';');) {
    const std::size_t first = item.find_first_not_of(' ');
    if (first != std::string::npos) items.push_back(item.substr(first, item.find_last_not_of(' ') - first + 1));
  }
  return items;
}

}  // namespace

const std::string& FactRow::text(const std::string& column) const {
  const auto found = cells_.find(column);
  if (found == cells_.end()) throw std::runtime_error("no column " + column);
  return found->second;
}

double FactRow::number(const std::string& column) const { return std::stod(text(column)); }

std::vector<FactRow> read_facts(const std::string& file) {
  std::ifstream stream("tests/data/facts/" + file);
  std::string line;
  if (!std::getline(stream, line)) throw std::runtime_error("cannot read tests/data/facts/" + file);
  std::vector<std::string> columns = split_cells(line);
  for (std::string& column : columns) column = column.substr(0, column.find(" ("));  // without the remark in brackets
  std::vector<FactRow> rows;
  while (std::getline(stream, line)) {
    if (line.empty()) continue;
    const std::vector<std::string> cells = split_cells(line);
    if (cells.size() != columns.size()) throw std::runtime_error(file + ": a row has other columns: " + line);
    std::map<std::string, std::string> row;
    for (std::size_t i = 0; i < cells.size(); ++i) row[columns[i]] = cells[i];
    rows.emplace_back(std::move(row));
  }
  return rows;
}

std::vector<Card> parse_cards(const std::string& text) {
  std::vector<Card> cards;
  for (const std::string& item : split_list(text)) {
    std::istringstream words(item);
    Card card;
    if (!(words >> card.name >> card.a >> card.b >> card.value)) throw std::runtime_error("not a card: " + item);
    cards.push_back(card);
  }
  return cards;
}

std::vector<Statement> parse_statements(const std::string& text) {
  std::vector<Statement> statements;
  for (const std::string& item : split_list(text)) {
    const std::size_t close = item.find(")=");
    if (item.size() < 4 || item[1] != '(' || close == std::string::npos)
      throw std::runtime_error("not a statement: " + item);
    Statement s;
    s.text = item;
    s.kind = item[0];
    const std::string inside = item.substr(2, close - 2);
    const std::size_t comma = inside.find(',');
    s.first = inside.substr(0, comma);
    s.second = comma == std::string::npos ? "0" : inside.substr(comma + 1);
    s.value = std::stod(item.substr(close + 2));
    statements.push_back(s);
  }
  return statements;
}

CardCircuit::CardCircuit(const std::vector<Card>& cards) {
  constexpr double kNext = 1.0e-9;  // ohm, to nothing
  using circuit::PartKind;
  circuit::test::LoomMaker made;
  made.make_joints(kNext);
  std::map<std::string, circuit::EndPoint> ends;
  const auto end = [&](const std::string& node) {
    if (!ends.contains(node)) ends[node] = node == "0" ? made.chassis() : made.at(made.splice(node));
    return ends.at(node);
  };
  for (const Card& card : cards) {
    end(card.a);
    end(card.b);
    const bool source = card.name[0] == 'V';
    if (!source && card.name[0] != 'R') continue;
    const circuit::PartId id = source ? made.part(PartKind::kBattery, card.name, {{"volt", card.value}, {"ohm", kNext}})
                                      : made.part(PartKind::kResistor, card.name, {{"ohm", card.value}}, false);
    made.wire(end(card.a), made.at(id, source ? "+" : "1"), kNext);
    made.wire(made.at(id, source ? "-" : "2"), end(card.b), kNext);
  }
  loom = std::move(made.loom);
  netlist = circuit::build_netlist(loom);
  model = electrical::make_model(loom, netlist, {});
  nodes_["0"] = netlist.frame_nodes.front();
  for (const auto& [name, where] : ends)
    if (name != "0") nodes_[name] = netlist.points[circuit::find_point(netlist, name)->index()].node;
  for (std::size_t i = 0; i < netlist.elements.size(); ++i)
    if (!netlist.elements[i].part.is_none()) branches_[netlist.elements[i].name] = i;
  for (const Card& card : cards) {
    if (card.name[0] != 'I') continue;
    electrical::Branch branch;
    branch.a = node(card.a);
    branch.b = node(card.b);
    branch.source = true;
    branch.inject_a = card.value;
    branches_[card.name] = model.branches.size();
    model.branches.push_back(branch);
  }
}

}  // namespace halfsplit::oracle
