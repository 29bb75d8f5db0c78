// SPDX-License-Identifier: Apache-2.0
#include "app/loaded_loom.h"

#include <map>

#include "app/book_files.h"
#include "app/learned_rates.h"
#include "base/number.h"
#include "circuit/oddities.h"
#include "formats/loom_text.h"

namespace halfsplit::app {

namespace {

std::string end_text(const circuit::Loom& loom, const circuit::EndPoint& end) {
  return circuit::end_point_name(loom, end);
}

// One line per thing of the drawing; what the line says is printed, so a change anywhere in it shows.
std::vector<std::pair<std::string, std::string>> list_drawn(const circuit::Loom& loom,
                                                            const circuit::Netlist& netlist) {
  std::vector<std::pair<std::string, std::string>> drawn;
  for (const circuit::Wire& wire : loom.wires)
    drawn.emplace_back(
        "wire " + wire.name,
        fingerprint(end_text(loom, wire.from) + ">" + end_text(loom, wire.to) + wire.colour).substr(0, 8));
  std::map<std::string, int> count;  // a driver has the name of its pin's contact, a module's rails share one
  const auto once = [&](const std::string& name) {
    const int number = ++count[name];
    return "element " + name + (number == 1 ? "" : " #" + std::to_string(number));
  };
  for (const circuit::Element& e : netlist.elements)
    drawn.emplace_back(
        once(e.name), fingerprint(std::to_string(e.ohm) + "," + std::to_string(e.volt) + "," + std::to_string(e.blow_a))
                          .substr(0, 8));
  for (const circuit::Setup& setup : loom.setups)
    drawn.emplace_back(
        "setup " + setup.name,
        fingerprint(std::to_string(setup.do_minutes) + "/" + std::to_string(setup.undo_minutes)).substr(0, 8));
  for (const circuit::Code& code : loom.codes)
    drawn.emplace_back("code " + code.name, fingerprint(code.text + std::to_string(code.threshold)).substr(0, 8));
  return drawn;
}

// The faults at their default rates, or as the book's proven jobs have taught when the loom is on its shelf.
base::Result<base::Done> list_faults(Context& context, LoadedLoom& loaded, const TaughtUntil& until) {
  loaded.universe = fault::make_universe(loaded.loom, loaded.netlist);
  if (context.book == nullptr || !is_shelf_path(loaded.path)) return base::Done{};
  base::Result<std::vector<store::Learned>> learned = context.book->learned();
  if (!learned) return learned.diagnostics();
  if (!until.closed_at.empty())
    std::erase_if(*learned, [&](const store::Learned& one) {
      return one.job == until.job || one.closed_at > until.closed_at ||
             (one.closed_at == until.closed_at && one.job > until.job);
    });
  if (learned->empty()) return base::Done{};
  loaded.universe =
      fault::make_universe(loaded.loom, loaded.netlist, learned_overlay(*learned, loaded.loom.name, loaded.universe));
  std::string rates;
  for (const fault::Fault& fault : loaded.universe.faults) rates += base::format_number(fault.rate_per_year) + " ";
  loaded.rates_print = fingerprint(rates);
  return base::Done{};
}

}  // namespace

std::string fingerprint(std::string_view text) {
  std::uint64_t hash = 0xCBF29CE484222325ULL;
  for (const char c : text) {
    hash ^= static_cast<unsigned char>(c);
    hash *= 0x100000001B3ULL;
  }
  constexpr std::string_view kHex = "0123456789abcdef";
  std::string hex;
  for (int shift = 60; shift >= 0; shift -= 4) hex += kHex[(hash >> static_cast<unsigned>(shift)) & 15U];
  return hex;
}

base::Result<base::Done> refuse_wire_list(const std::string& path) {
  constexpr std::string_view kEnd = ".csv";
  std::string end = path.size() < kEnd.size() ? "" : path.substr(path.size() - kEnd.size());
  for (char& c : end) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
  if (end != kEnd) return base::Done{};
  return base::make_error(
      "loom.wire-list", path + ": a wire list, not a loom",
      "make a loom of it: halfsplit import " + (path.find(' ') == std::string::npos ? path : "\"" + path + "\""));
}

base::Result<std::shared_ptr<LoadedLoom>> load_loom(Context& context, const std::string& path,
                                                    const TaughtUntil& until) {
  const base::Result<base::Done> refused = refuse_wire_list(path);
  if (!refused) return refused.diagnostics();
  std::string texts;
  const bool on_shelf = is_shelf_path(path);  // so is what it includes
  const formats::SourceReader read = [&](const std::string& file) -> base::Result<std::string> {
    base::Result<std::string> text =
        context.files.read(on_shelf && !is_shelf_path(file) ? "shelf:" + file : file, kMostBytes);
    if (text) texts += *text + "\n";
    return text;
  };
  base::Result<circuit::Loom> loom = formats::read_loom(path, read);
  if (!loom) return loom.diagnostics();
  auto loaded = std::make_shared<LoadedLoom>();
  loaded->path = path;
  loaded->print = fingerprint(texts);
  loaded->warnings = loom.diagnostics();
  loaded->loom = std::move(loom).value();
  loaded->netlist = circuit::build_netlist(loaded->loom);
  const base::Result<base::Done> listed = list_faults(context, *loaded, until);
  if (!listed) return listed.diagnostics();
  loaded->drawn = list_drawn(loaded->loom, loaded->netlist);
  return loaded;
}

}  // namespace halfsplit::app
