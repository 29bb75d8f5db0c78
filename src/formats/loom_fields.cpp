// SPDX-License-Identifier: Apache-2.0
// The records. Meanings and defaults are those of docs/formats/loom.md, part 1; limits are ours: wide enough for any
// vehicle, narrow enough that a slip of the unit or the decimal point is seen.
#include "formats/loom_fields.h"

#include <cmath>
#include <limits>
#include <map>
#include <utility>

#include "circuit/bus_kinds.h"

namespace halfsplit::formats {

namespace {

using base::Unit;
using enum FieldType;

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();
constexpr double kMostMinutes = 1.0e4;
constexpr double kMostOhm = 1.0e9;
constexpr double kLeastOhm = 1.0e-6;

LoomField number(std::string_view key, Unit unit, double fallback, double low, double high, std::string_view help) {
  LoomField field;
  field.key = key;
  field.type = kNumber;
  field.unit = unit;
  field.fallback = fallback;
  field.low = low;
  field.high = high;
  field.help = help;
  return field;
}

LoomField plain(std::string_view key, FieldType type, std::string_view help) {
  LoomField field;
  field.key = key;
  field.type = type;
  field.help = help;
  return field;
}

LoomField flag(std::string_view key, bool fallback, std::string_view help) {
  LoomField field = plain(key, kFlag, help);
  field.fallback = fallback ? 1.0 : 0.0;
  return field;
}

LoomField name_of(std::string_view key, FieldType type, FieldTarget target, std::string_view help) {
  LoomField field = plain(key, type, help);
  field.target = target;
  return field;
}

LoomField word(std::string_view key, FieldType type, std::vector<std::string_view> words, std::string_view help) {
  LoomField field = plain(key, type, help);
  field.words = std::move(words);
  return field;
}

LoomField required(LoomField field) {
  field.required = true;
  return field;
}

LoomField only_for(std::vector<std::string_view> owners, LoomField field) {
  field.only_for = std::move(owners);
  return field;
}

LoomField minutes(std::string_view key, double fallback, std::string_view help) {
  return number(key, Unit::kMinute, fallback, 0.0, kMostMinutes, help);
}
LoomField ohm(std::string_view key, double fallback, std::string_view help) {
  return number(key, Unit::kOhm, fallback, kLeastOhm, kMostOhm, help);
}
LoomField volt(std::string_view key, double fallback, double low, std::string_view help) {
  return number(key, Unit::kVolt, fallback, low, 1000.0, help);
}

LoomField place() { return name_of("place", kReference, FieldTarget::kPlace, "where it is"); }
LoomField caution() { return plain("caution", kText, "shown where hands come near"); }
LoomField note() { return plain("note", kText, "anything worth keeping"); }
LoomField rate() { return number("rate", Unit::kNone, 1.0, 0.0, 1000.0, "multiplies prior fault rates"); }
LoomField repair_minutes() { return minutes("repair_minutes", kNone, "to mend it, once it is reached"); }
LoomField part_number() { return plain("part_number", kText, "your own; shown on the sheet"); }
LoomField contact_ohm() { return ohm("contact_ohm", kNone, "each mated contact; that of [defaults] when not given"); }
LoomField cavities() { return plain("pins", kCavities, "cavity names in order, one row"); }
LoomField rows() {
  return plain("rows", kRows, "cavity names row by row, as one looks into the face of the first side");
}
LoomField unplug() { return minutes("unplug", 1.0, "to pull it apart, once reached"); }
LoomField replug() { return minutes("plug", 0.5, "to put it together again"); }
LoomField backprobe() { return flag("backprobe", true, "a probe reaches its contacts from behind while it is mated"); }
LoomField hazard() {
  return word("hazard", kWord, {"brakes", "steering", "airbag", "high-voltage", "dangerous-goods"},
              "why care is needed here");
}
LoomField part_money() {
  LoomField field = number("part_money", Unit::kNone, kNone, 0.0, 1.0e9, "price of a new one, in your currency");
  field.unit_word = "money";
  return field;
}
LoomField setups(std::string_view key, std::string_view help) {
  return name_of(key, kReferences, FieldTarget::kSetup, help);
}

LoomTable top_table() {
  LoomField version = required(plain("loom", kWhole, "format version: 1"));
  version.low = version.high = 1.0;
  std::vector<LoomField> fields{
      version,
      required(plain("name", kText, "what this loom is of")),
      plain("vehicle", kText, "which vehicle"),
      plain("note", kText, "where it came from; an invented loom says so here"),
      hazard(),
      volt("system_volts", 24.0, 1.0, "12 or 24, or another"),
      number("ambient_c", Unit::kCelsius, 20.0, -60.0, 150.0, "copper temperature"),
      setups("in_use", "the setups made when the vehicle is at work"),
      name_of("supply", kReference, FieldTarget::kPart, "the battery whose + counts as the supply; the first one"),
      plain("include", kPaths, "other loom files, relative to this one, read first"),
      plain("defaults", kSection, "what holds where the drawing is silent")};
  for (const LoomSection& section : loom_sections())
    fields.push_back(plain(section.key, kSection, loom_table(section.table).help));
  fields.push_back(plain("runs", kRuns, "paths as one reads them off a drawing; each link makes a wire"));
  return {"loom", "a loom", std::move(fields)};
}

LoomTable defaults_table() {
  return {"defaults",
          "what holds where the drawing is silent",
          {ohm("contact_ohm", 0.005, "each mated contact"), ohm("stud_ohm", 0.001, "stud to frame, and each lug"),
           ohm("splice_ohm", 0.001, "each wire of a splice"),
           number("wire_size_mm2", Unit::kSquareMillimetre, 1.0, 0.01, 500.0, "wires without a size"),
           number("wire_length_m", Unit::kMetre, 2.0, 0.001, 1000.0, "wires without a length"),
           ohm("input_ohm", 1.0e6, "a module's input"), ohm("off_ohm", 1.0e4, "an unpowered rail to ground"),
           ohm("return_ohm", 0.05, "a module's sensor ground"), ohm("driver_ohm", 0.05, "a driver that is on"),
           ohm("reference_ohm", 1.0, "a module's sensor supply"),
           ohm("can_input_ohm", 30000.0, "each bus line into a module")}};
}

LoomTable place_table() {
  return {"place",
          "where something is",
          {minutes("minutes", 0.5, "to get hands there and back, once its needs are made"),
           setups("needs", "made before hands can reach it"),
           word("stress", kWords, {"flex", "wet", "heat", "chafe", "vibration"}, "what wears things out here"),
           caution(), hazard(), note()}};
}

LoomTable setup_table() {
  return {
      "setup",
      "a state of the vehicle that takes minutes to make and to undo",
      {minutes("do", 0.0, "to make it"), minutes("undo", 0.0, "to undo it"), setups("needs", "made before this one"),
       setups("excludes", "never made together with this one"), plain("sets", kSwitchStates, "switches it moves"),
       caution(), note(), flag("leave", false, "the vehicle may be left in this state")}};
}

LoomTable connector_table() {
  return {"connector",
          "an inline connector, with two sides",
          {required(plain("sides", kSides, "two names, for where they lead")),
           plain("place", kSidePlaces, "where it is, or a table: side -> place"), cavities(), rows(), unplug(),
           replug(), backprobe(), flag("pluggable", true, "it can be pulled apart"), contact_ohm(), caution(), hazard(),
           rate(), repair_minutes(), part_money()}};
}

LoomTable splice_table() {
  return {"splice",
          "wires joined inside the loom",
          {place(), flag("probe", true, "false: buried, no probe reaches it"), hazard(), rate(), repair_minutes()}};
}

LoomTable stud_table() {
  return {"stud",
          "a bolt that joins wire lugs to a frame",
          {place(), name_of("frame", kReference, FieldTarget::kFrame, "required when there is more than one frame"),
           ohm("ohm", kNone, "stud to frame"), hazard(), rate(), repair_minutes()}};
}

LoomTable frame_table() {
  return {"frame",
          "metal that carries return current",
          {name_of("place", kReference, FieldTarget::kPlace, "a clean spot for a probe; none: anywhere")}};
}

LoomTable plug_table() {
  return {"plug",
          "a module's or part's plug",
          {cavities(), rows(), unplug(), replug(), backprobe(), contact_ohm(),
           name_of("place", kReference, FieldTarget::kPlace, "where it is, when not at its owner")}};
}

LoomTable part_common_table() {
  std::vector<std::string_view> kinds, curved;
  for (const circuit::PartKindInfo& info : circuit::part_kinds()) {
    kinds.push_back(info.word);
    if (info.curve_allowed) curved.push_back(info.word);
  }
  return {"part",
          "a part, by its kind",
          {required(word("kind", kWord, kinds, "what it is")), place(),
           plain("plug", kPlug, "its terminals sit in a plug: true, false, or a table that tells more"),
           only_for(curved, plain("curve", kCurve, "points [x, y], x rising: ohm, or share of the supply")),
           only_for({"switch"}, word("normally", kWord, {"open", "closed"}, "its state when no setup moves it")),
           only_for({"lamp"}, flag("led", false, "a light-emitting diode lamp")),
           only_for({"alternator"}, setups("runs_with", "it turns only with all of these made")), part_number(),
           caution(), hazard(), rate(), repair_minutes(), part_money()}};
}

LoomField identifier(std::string_view key, double high, std::string_view help) {
  LoomField field = plain(key, kIdentifier, help);
  field.high = high;
  return field;
}

LoomTable module_table() {
  return {"module",
          "a control unit",
          {place(), name_of("frame", kReference, FieldTarget::kFrame, "its housing's, ground when no pin is"),
           volt("alive_above_v", kNone, 0.1, "supply it needs; 0.625 of system volts"),
           setups("powered_with", "alive with all made; only without a supply pin"),
           flag("answers", true, "it answers the code reader when alive"),
           flag("shows_codes", false, "its codes can be read off its own display, whatever the bus does"),
           name_of("gateway", kReferences, FieldTarget::kBus, "it passes messages on between these buses"),
           identifier("address", circuit::kLargestAddress, "its J1939 source address, by which recordings know it"),
           part_number(), caution(), hazard(), rate(), repair_minutes(), part_money(),
           plain("plugs", kPlugs, "its plugs, by name"), plain("pins", kPins, "what stands behind each pin"),
           plain("inside", kInside, "two-terminal parts inside")}};
}

LoomTable pin_table() {
  std::vector<std::string_view> roles;
  for (auto role = circuit::PinRole::kSupply; role <= circuit::PinRole::kUnknown;
       role = static_cast<circuit::PinRole>(static_cast<int>(role) + 1))
    roles.push_back(circuit::pin_role_word(role));
  const std::vector<std::string_view> drivers{"high-side", "low-side"}, bus_roles{"can-high", "can-low", "bus-wire"},
      with_input{"input", "can-high", "can-low", "bus-wire"};
  return {
      "pin",
      "what stands behind one pin of a module",
      {required(word("role", kWord, roles, "what the pin is for")),
       only_for({"supply"}, number("draw_a", Unit::kAmpere, 0.0, 0.0, 1000.0, "what the module draws")),
       only_for({"input"}, number("pull_up_ohm", Unit::kOhm, kNone, 0.001, kMostOhm, "to pull_up_v")),
       only_for({"input"}, volt("pull_up_v", 5.0, 0.1, "where the pull-up leads")),
       only_for({"input"}, number("pull_down_ohm", Unit::kOhm, kNone, 0.001, kMostOhm, "to the module's ground")),
       only_for(with_input, number("input_ohm", Unit::kOhm, kNone, 0.001, 1.0e12,
                                   "that of [defaults]; bus pins: what holds the line at rest")),
       only_for({"reference"}, volt("volt", 5.0, 0.1, "what it gives")),
       only_for({"reference", "return", "high-side", "low-side"}, ohm("ohm", kNone, "in series; that of [defaults]")),
       only_for(drivers, number("limit_a", Unit::kAmpere, kNone, 0.001, 1.0e4, "it switches itself off above")),
       only_for(drivers, setups("on_with", "commanded on when all are made")),
       only_for(drivers, plain("follows", kPinName, "on while this input is active")),
       only_for(drivers, volt("follows_v", kNone, 0.01, "threshold of follows; half of system volts")),
       only_for(drivers, flag("follows_below", false, "active below the threshold: a switch to ground")),
       only_for(bus_roles, name_of("bus", kReference, FieldTarget::kBus, "which bus, when more than one fits")),
       only_for(bus_roles, ohm("unpowered_ohm", kNone, "to the module's ground while it is not alive")),
       only_for({"bus-wire"}, flag("commander", false, "the node of a LIN bus with the strong pull-up"))}};
}

LoomTable inside_table() {
  return {"inside",
          "a two-terminal part between two pins of a module",
          {required(word("kind", kWord, {"terminator", "resistor"}, "what it is")),
           required(plain("pins", kPinPair, "the two pins it sits between")),
           number("ohm", Unit::kOhm, 120.0, 0.001, kMostOhm, "its resistance"),
           number("tolerance_percent", Unit::kPercent, 1.0, 0.0, 90.0, "half-width of its spread")}};
}

LoomTable wire_table() {
  return {
      "wire",
      "one wire, from point to point",
      {required(plain("from", kPoint, "a point")), required(plain("to", kPoint, "a point")),
       plain("colour", kColour, "IEC 60757: BK, RD/WH"),
       number("size_mm2", Unit::kSquareMillimetre, kNone, 0.01, 500.0, "copper area"),
       number("length_m", Unit::kMetre, kNone, 0.001, 1000.0, "length"), ohm("ohm", kNone, "instead of both"),
       plain("bundle", kName, "wires of one bundle can chafe into each other"), plain("pair", kName, "twisted pair"),
       name_of("place", kReference, FieldTarget::kPlace, "where it is most exposed"), caution(), hazard(), rate(),
       repair_minutes(), part_money()}};
}

LoomTable code_table() {
  const auto pin = [] { return plain("pin", kPinName, "the pin it watches"); };
  return {"code",
          "a trouble code and the monitor that sets it",
          {required(name_of("module", kReference, FieldTarget::kModule, "who sets it")),
           plain("text", kText, "as the reader words it"), pin(), volt("above_v", kNone, 0.0, "pin: set above"),
           volt("below_v", kNone, 0.0, "pin: set below"),
           number("open_below_a", Unit::kAmpere, kNone, 0.0, 1.0e4, "driver pin: set below, while on"),
           number("over_a", Unit::kAmpere, kNone, 0.0, 1.0e4, "driver pin: set above, while on"),
           volt("supply_below_v", kNone, 0.0, "the module's supply: set below"),
           volt("supply_above_v", kNone, 0.0, "the module's supply: set above"),
           name_of("lost", kReference, FieldTarget::kModuleOrMessage,
                   "set when this module's messages, or this message, are missing"),
           setups("needs", "the monitor runs only with these made"),
           number("chance", Unit::kNone, 0.97, 0.0, 1.0, "that it is fitted and sets when it should")}};
}

LoomTable live_table() {
  return {"live",
          "a value as a reader or a gauge shows it",
          {required(name_of("module", kReference, FieldTarget::kModule, "who shows it")),
           required(plain("pin", kPinName, "the pin it is made from")),
           required(name_of("part", kReference, FieldTarget::kPart, "its curve turns volts into the value")),
           plain("unit", kText, "of the value"),
           required(number("low", Unit::kNone, kNone, -1.0e6, 1.0e6, "lower end of the scale")),
           required(number("high", Unit::kNone, kNone, -1.0e6, 1.0e6, "upper end of the scale")),
           number("percent", Unit::kPercent, 3.0, 0.0, 100.0, "of the scale: how finely it is seen")}};
}

LoomTable bus_table() {
  std::vector<std::string_view> kinds;
  for (const circuit::BusKindRecord& record : circuit::bus_kinds()) kinds.push_back(record.word);
  LoomField rate = number("bit_rate", Unit::kNone, kNone, 1.0, 1000.0, "by kind when not given");
  rate.unit_word = "kbit/s";
  return {"bus",
          "what bus pins carry, and where the code reader is plugged in",
          {word("kind", kWord, kinds, "can when not given"), rate,
           number("sample_percent", Unit::kPercent, kNone, 10.0, 95.0, "of a bit time: when a bit is read; by kind"),
           number("dominant_percent", Unit::kPercent, 12.0, 0.0, 100.0, "of the time at work somebody drives the bus"),
           plain("reader", kPoints, "where the code reader is plugged in: high and low, or the one wire")}};
}

LoomTable message_table() {
  LoomField period = number("every_ms", Unit::kNone, kNone, 0.1, 1.0e8, "period; that of the group when pgn is known");
  period.unit_word = "ms";
  return {"message",
          "what one module sends and others wait for",
          {required(name_of("from", kReference, FieldTarget::kModule, "who sends it")),
           name_of("to", kReferences, FieldTarget::kModule, "who waits for it; whoever hears it"),
           name_of("bus", kReference, FieldTarget::kBus, "on which it is sent; on all of the sender"),
           identifier("pgn", 0x3FFFF, "J1939 parameter group number"),
           identifier("id", 0x1FFFFFFF, "CAN identifier, when no pgn is given"), period,
           plain("text", kText, "what it tells; that of the group when pgn is known")}};
}

Unit unit_of(std::string_view word) {
  const std::pair<std::string_view, Unit> words[] = {{"ohm", Unit::kOhm},   {"A", Unit::kAmpere},
                                                     {"V", Unit::kVolt},    {"W", Unit::kWatt},
                                                     {"%", Unit::kPercent}, {"degC", Unit::kCelsius}};
  for (const auto& [text, unit] : words)
    if (text == word) return unit;
  return Unit::kNone;
}

LoomField to_field(const circuit::PartField& part_field) {
  LoomField field = number(part_field.name, unit_of(part_field.unit), part_field.fallback, part_field.low,
                           part_field.high, part_field.help);
  field.required = std::isnan(part_field.fallback);
  if (std::isinf(part_field.fallback)) field.fallback = kNone;
  if (field.unit == Unit::kNone) field.unit_word = part_field.unit;
  return field;
}

std::map<circuit::PartKind, LoomTable> make_part_tables() {
  std::map<circuit::PartKind, LoomTable> tables;
  for (const circuit::PartKindInfo& info : circuit::part_kinds()) {
    LoomTable table{info.word, info.help, {}};
    for (const LoomField& field : loom_table(TableKind::kPart).fields) table.fields.push_back(field);
    for (const circuit::PartField& field : info.fields) table.fields.push_back(to_field(field));
    tables.emplace(info.kind, std::move(table));
  }
  return tables;
}

std::map<TableKind, LoomTable> make_tables() {
  return {{TableKind::kDefaults, defaults_table()}, {TableKind::kPlace, place_table()},
          {TableKind::kSetup, setup_table()},       {TableKind::kConnector, connector_table()},
          {TableKind::kSplice, splice_table()},     {TableKind::kStud, stud_table()},
          {TableKind::kFrame, frame_table()},       {TableKind::kPart, part_common_table()},
          {TableKind::kPlug, plug_table()},         {TableKind::kModule, module_table()},
          {TableKind::kPin, pin_table()},           {TableKind::kInside, inside_table()},
          {TableKind::kWire, wire_table()},         {TableKind::kCode, code_table()},
          {TableKind::kLive, live_table()},         {TableKind::kBus, bus_table()},
          {TableKind::kMessage, message_table()}};
}

}  // namespace

const LoomField* LoomTable::find(std::string_view key) const {
  for (const LoomField& field : fields)
    if (field.key == key) return &field;
  return nullptr;
}

const LoomTable& loom_table(TableKind kind) {
  if (kind == TableKind::kTop) {
    static const LoomTable top = top_table();
    return top;
  }
  static const std::map<TableKind, LoomTable> tables = make_tables();
  return tables.at(kind);
}

const LoomTable& part_table(circuit::PartKind kind) {
  static const std::map<circuit::PartKind, LoomTable> tables = make_part_tables();
  return tables.at(kind);
}

const std::vector<LoomSection>& loom_sections() {
  static const std::vector<LoomSection> sections{
      {"places", TableKind::kPlace},    {"setups", TableKind::kSetup},   {"connectors", TableKind::kConnector},
      {"splices", TableKind::kSplice},  {"studs", TableKind::kStud},     {"frames", TableKind::kFrame},
      {"parts", TableKind::kPart},      {"modules", TableKind::kModule}, {"wires", TableKind::kWire},
      {"codes", TableKind::kCode},      {"live", TableKind::kLive},      {"buses", TableKind::kBus},
      {"messages", TableKind::kMessage}};
  return sections;
}

const std::vector<std::string_view>& top_table_names() {
  static const std::vector<std::string_view> names = [] {
    std::vector<std::string_view> all{"defaults", "runs"};
    for (const LoomSection& section : loom_sections()) all.push_back(section.key);
    return all;
  }();
  return names;
}

}  // namespace halfsplit::formats
