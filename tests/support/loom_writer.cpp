// SPDX-License-Identifier: Apache-2.0
#include "tests/support/loom_writer.h"

#include <array>
#include <charconv>

namespace halfsplit::test {

namespace {}  // namespace

std::string number_text(double value) {
  std::array<char, 40> buffer{};
  const auto end =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::general, 3).ptr;
  return {buffer.data(), end};
}

void LoomWriter::add(const std::string& table, const std::string& name, const std::string& body) {
  tables_[table] += quoted(name) + " = { " + body + " }\n";
}

void LoomWriter::frame(const std::string& name) {
  add("frames", name, "");
  ++nodes_;
}

void LoomWriter::stud(const std::string& name, const std::string& body) {
  add("studs", name, body);
  ++nodes_;
}

void LoomWriter::splice(const std::string& name, const std::string& body) {
  add("splices", name, body);
  ++nodes_;
}

void LoomWriter::part(const std::string& name, std::size_t terminals, bool plug, const std::string& body) {
  add("parts", name, body + (plug ? ", plug = true" : ", plug = false"));
  nodes_ += plug ? 2 * terminals : terminals;
}

void LoomWriter::module(const std::string& name, const std::string& body, const std::string& rows) {
  module_index_[name] = modules_.size();
  modules_.push_back({name, body, rows, "", {}, {}});
  nodes_ += 2;
}

void LoomWriter::pin(const std::string& module, const std::string& cavity, const std::string& body) {
  Module& m = modules_[module_index_.at(module)];
  m.pins += quoted(cavity) + " = { " + body + " }\n";
  m.plugs.insert(cavity.substr(0, cavity.find(':')));
  nodes_ += 2;
}

void LoomWriter::inside(const std::string& module, const std::string& body) {
  modules_[module_index_.at(module)].inside.push_back(body);
}

void LoomWriter::run(const std::string& name, const std::vector<Hop>& hops, const std::string& wire) {
  std::string text;
  for (std::size_t i = 0; i < hops.size(); ++i) {
    if (i > 0) text += " -[" + wire + (hops[i].wire.empty() ? "" : " ") + hops[i].wire + "]-> ";
    text += hops[i].text;
    const bool inner = i > 0 && i + 1 < hops.size();
    if (hops[i].joint) nodes_ += inner ? 2 : 1;
  }
  const auto [at, fresh] = run_index_.try_emplace(name, runs_.size());
  if (fresh) runs_.push_back({name, {}});
  runs_[at->second].second.push_back(text);
}

std::string LoomWriter::text() const {
  std::string all = top_;
  for (const auto& [name, lines] : tables_) all += "\n[" + name + "]\n" + lines;
  for (const Module& m : modules_) {
    all += "\n[modules." + quoted(m.name) + "]\n" + m.body + "\n";
    if (!m.inside.empty()) {
      all += "inside = [";
      for (const std::string& body : m.inside) all += " { " + body + " },";
      all += " ]\n";
    }
    for (const std::string& plug : m.plugs) all += "plugs." + plug + " = { rows = " + m.rows + " }\n";
    all += "[modules." + quoted(m.name) + ".pins]\n" + m.pins;
  }
  all += "\n[runs]\n";
  for (const auto& [name, texts] : runs_) {
    all += quoted(name) + " = [\n";
    for (const std::string& text : texts) all += "  " + quoted(text) + ",\n";
    all += "]\n";
  }
  return all;
}

}  // namespace halfsplit::test
