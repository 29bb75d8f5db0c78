// SPDX-License-Identifier: Apache-2.0
// For tests: a demo loom of examples/, read from the source tree.
#pragma once

#include <fstream>
#include <sstream>
#include <string>

#include "circuit/netlist.h"
#include "fault/fault.h"
#include "formats/loom_text.h"

namespace halfsplit::test {

struct ExampleLoom {
  circuit::Loom loom;
  circuit::Netlist netlist;
  fault::Universe universe;
};

inline base::Result<std::string> read_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  if (!in) return base::make_error("file.missing", "there is no " + path);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

// `root`: the source tree.
inline ExampleLoom load_example(const std::string& root, const std::string& name) {
  base::Result<circuit::Loom> loom =
      formats::read_loom(root + "/examples/" + name + "/" + name + ".loom.toml", read_file);
  ExampleLoom example;
  example.loom = std::move(loom).value();
  example.netlist = circuit::build_netlist(example.loom);
  example.universe = fault::make_universe(example.loom, example.netlist);
  return example;
}

inline constexpr const char* kExamples[] = {"gritter", "tipper-trailer", "refuse-truck", "road-sweeper"};

}  // namespace halfsplit::test
