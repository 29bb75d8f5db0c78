// SPDX-License-Identifier: Apache-2.0
// Any loom, any job: text lines of operations ("saw|volts A B|3.2"), a line "---", a loom. Each operation ends with a
// reply that is no bug of ours (exit code 5), whatever the circuit is: loops of ideal sources, islands, meters across
// nothing, evidence that nothing explains.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <vector>

#include "app/operation.h"
#include "app/session.h"
#include "base/fakes.h"

namespace {

using namespace halfsplit;

constexpr std::size_t kMostLines = 12;
constexpr std::size_t kMostCharacters = 6000;  // of loom: a big one is a slow one, not another one

std::vector<std::string> split(const std::string& text, char at) {
  std::vector<std::string> parts(1);
  for (const char c : text) {
    if (c == at)
      parts.emplace_back();
    else
      parts.back() += c;
  }
  return parts;
}

// The fields of an operation in the order of its table.
app::Arguments arguments_of(const app::Operation& operation, const std::vector<std::string>& words) {
  app::Arguments arguments;
  std::size_t next = 1;
  for (const app::Field& field : operation.fields) {
    const bool positional = field.kind == app::Field::Kind::kPositional || field.kind == app::Field::Kind::kRest;
    if (!positional || next >= words.size()) continue;
    arguments.add(std::string(field.name), words[next++]);
  }
  return arguments;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  const std::size_t cut = text.find("\n---\n");
  if (cut == std::string::npos || size - cut > kMostCharacters) return 0;
  base::MemoryFiles files;
  files.files["v.loom.toml"] = text.substr(cut + 5);
  base::FixedClock clock(1795600000);
  app::Cache cache;
  app::Context context{files, clock, cache, nullptr, {}, ""};
  std::size_t lines = 0;
  for (const std::string& line : split(text.substr(0, cut), '\n')) {
    const std::vector<std::string> words = split(line, '|');
    if (++lines > kMostLines) break;
    for (const app::Operation& operation : app::operations()) {
      if (operation.name != words.front() || operation.name == "bench" || operation.name == "rehearse") continue;
      app::Arguments arguments = arguments_of(operation, words);
      if (operation.name == "check" || operation.name == "open") {
        arguments = {};
        arguments.add("loom", "v.loom.toml");
        if (operation.name == "open") arguments.add("complaint", "it does nothing");
      }
      if (operation.name == "expect") arguments.add("loom", "v.loom.toml");
      if (operation.name != "check") arguments.add("job", "v.job.toml");
      if (app::run_operation(context, std::string(operation.name), arguments).exit_code == 5) std::abort();
    }
  }
  return 0;
}
