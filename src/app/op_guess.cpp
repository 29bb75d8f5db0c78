// SPDX-License-Identifier: Apache-2.0
// What may come next while a path is typed.
#include "app/ops.h"
#include "app/words.h"
#include "formats/loom_text.h"
#include "formats/path_guess.h"
#include "formats/path_text.h"

namespace halfsplit::app {

namespace {

constexpr std::size_t kMostGuesses = 8, kMostPathBytes = 200000, kMostLoomBytes = std::size_t{16} << 20U;

Json hops_json(const std::string& text) {
  Json hops = Json::array();
  const std::size_t start = text.find_last_of(";\n");
  const formats::PathText path =
      formats::parse_path(start == std::string::npos ? text : std::string_view(text).substr(start + 1));
  for (const formats::PathHop& hop : path.hops)
    hops.push_back(
        {{"name", hop.name}, {"cavity", hop.cavity}, {"kind", formats::hop_word(hop)}, {"told", hop.kind_told}});
  return hops;
}

}  // namespace

Reply op_guess(Context& context, const Arguments& arguments) {
  const std::string text = arguments.get("path");
  if (text.size() > kMostPathBytes)
    return fail(
        base::make_error("guess.too-large", "the path is longer than 200,000 bytes", "give the last paths only"));
  std::optional<circuit::Loom> loom;
  if (arguments.has("loom")) {
    const formats::SourceReader reader = [&](const std::string& path) {
      return context.files.read(path, kMostLoomBytes);
    };
    base::Result<circuit::Loom> read = formats::read_loom(arguments.get("loom"), reader);
    if (!read) return fail(read.diagnostics());
    loom = std::move(read).value();
  }
  Reply reply;
  Json guesses = Json::array();
  for (const formats::PathGuess& one : formats::guess_path(text, loom ? &*loom : nullptr, kMostGuesses)) {
    guesses.push_back({{"hop", one.hop},
                       {"append", one.append},
                       {"kind", one.kind},
                       {"because", one.because},
                       {"weight", one.weight}});
    reply.text += padded(one.hop, 16) + " " + padded(one.kind, 10) + " " + one.because + "\n";
  }
  reply.result = {
      {"path", text}, {"hops", hops_json(text)}, {"ends", formats::usually_ends(text)}, {"guesses", guesses}};
  return reply;
}

}  // namespace halfsplit::app
