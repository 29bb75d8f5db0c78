// SPDX-License-Identifier: Apache-2.0
// [codes.*] and [live.*]: what a reader or gauge shows, and from which pin.
#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "circuit/part_kinds.h"
#include "formats/loom_sections.h"

namespace halfsplit::formats {

namespace {

using circuit::Code;
using circuit::ModulePin;
using circuit::PartKind;
using circuit::PinRole;
using Monitor = circuit::Code::Monitor;

struct MonitorKey {
  std::string_view key;
  Monitor monitor;
  bool pin;
};
constexpr std::array<MonitorKey, 7> kMonitors{{{"above_v", Monitor::kPinAbove, true},
                                               {"below_v", Monitor::kPinBelow, true},
                                               {"open_below_a", Monitor::kDriverOpen, true},
                                               {"over_a", Monitor::kDriverOver, true},
                                               {"supply_below_v", Monitor::kSupplyBelow, false},
                                               {"supply_above_v", Monitor::kSupplyAbove, false},
                                               {"lost", Monitor::kLost, false}}};

bool is_driver(PinRole role) { return role == PinRole::kHighSide || role == PinRole::kLowSide; }

// The one monitor of a code; the error is reported.
const MonitorKey* find_monitor(TableReader& reader) {
  const MonitorKey* found = nullptr;
  for (const MonitorKey& candidate : kMonitors) {
    if (!reader.has(candidate.key)) continue;
    if (found != nullptr) {
      reader.error("monitor", candidate.key,
                   reader.who() + " has two monitors: `" + std::string(found->key) + "` and `" +
                       std::string(candidate.key) + "`",
                   "one code, one monitor; write a second code for the other");
      return nullptr;
    }
    found = &candidate;
  }
  if (found == nullptr)
    reader.report().error_unless_damaged("monitor", reader.at("module"), 1, reader.who() + " has no monitor",
                                         "write pin with above_v or below_v, pin with open_below_a or over_a, "
                                         "supply_below_v, supply_above_v or lost");
  return found;
}

// The pin's index in the module; reported when missing, unknown or of a role that does not fit.
std::optional<std::size_t> read_monitored_pin(LoomDraft& draft, TableReader& reader, const Code& code) {
  const std::optional<PlacedText> name = reader.placed_text("pin");
  if (!name) {
    if (!reader.has("pin"))
      reader.report().error_unless_damaged("monitor", reader.at("module"), 1,
                                           reader.who() + " watches a pin, and none is named", "add pin = \"A:14\"");
    return std::nullopt;
  }
  const std::optional<std::size_t> pin = draft.pin(code.module, *name);
  if (!pin) return pin;
  const circuit::Module& module = draft.loom.modules[code.module.index()];
  const bool current = code.monitor == Monitor::kDriverOpen || code.monitor == Monitor::kDriverOver;
  if (!current || is_driver(module.pins[*pin].role) || draft.is_flawed(module.name)) return pin;
  reader.error("wrong-pin", "pin",
               "pin " + name->text + " of " + module.name + " is no driver, so no current is watched",
               "open_below_a and over_a go with high-side and low-side pins");
  return std::nullopt;
}

void read_code(LoomDraft& draft, const Declared& declared) {
  Code& code = draft.loom.codes[declared.index];
  TableReader reader(draft.report, loom_table(TableKind::kCode), "code " + code.name, declared.entry->value);
  code.text = reader.text("text");
  code.module = draft.module(reader.placed_text("module"));
  code.needs = draft.setups(reader.placed_texts("needs"));
  code.chance = reader.number("chance");
  const MonitorKey* monitor = find_monitor(reader);
  if (monitor == nullptr) return;
  code.monitor = monitor->monitor;
  if (monitor->pin)
    code.pin = read_monitored_pin(draft, reader, code).value_or(0);
  else if (reader.has("pin"))
    reader.error("monitor", "pin", "`pin` does not go with `" + std::string(monitor->key) + "`", "take it away");
  if (monitor->monitor != Monitor::kLost) {
    code.threshold = reader.number(monitor->key);
    return;
  }
  const LoomDraft::Lost lost = draft.lost(reader.placed_text("lost"));
  code.lost = lost.module;
  code.lost_message = lost.message;
}

bool has_curve(const circuit::Part& part) {
  switch (part.kind) {
    case PartKind::kNtc:
    case PartKind::kPtc:
    case PartKind::kSender:
    case PartKind::kThreeWireSensor:
    case PartKind::kPotentiometer:
      return true;
    default:
      return false;
  }
}

void read_live(LoomDraft& draft, const Declared& declared) {
  circuit::Live& live = draft.loom.lives[declared.index];
  TableReader reader(draft.report, loom_table(TableKind::kLive), "live value " + live.name, declared.entry->value);
  live.module = draft.module(reader.placed_text("module"));
  if (const std::optional<PlacedText> pin = reader.placed_text("pin"))
    live.pin = draft.pin(live.module, *pin).value_or(0);
  live.part = draft.part(reader.placed_text("part"));
  live.unit = reader.text("unit");
  live.low = reader.number("low");
  live.high = reader.number("high");
  live.percent = reader.number("percent");
  if (!reader.failed() && live.low >= live.high)
    reader.error("out-of-range", "high", "the scale of " + reader.who() + " ends where it begins, or below",
                 "high is above low");
  if (live.part.is_none()) return;
  const circuit::Part& part = draft.loom.parts[live.part.index()];
  if (!draft.is_flawed(part.name) && !has_curve(part))
    reader.error("wrong-kind", "part",
                 part.name + " is a " + std::string(circuit::part_kind(part.kind).word) + ", which measures nothing",
                 "name a sender, an ntc, a ptc, a potentiometer or a three-wire-sensor");
}

}  // namespace

void read_codes(LoomDraft& draft, const Entries& entries) {
  for (const Declared& declared : entries) read_code(draft, declared);
}

void read_lives(LoomDraft& draft, const Entries& entries) {
  for (const Declared& declared : entries) read_live(draft, declared);
}

}  // namespace halfsplit::formats
