// SPDX-License-Identifier: Apache-2.0
#include "tests/support/fleet_vehicle.h"

namespace halfsplit::test {

namespace {

constexpr std::size_t kLugsOnAStud = 8;
constexpr std::size_t kWiresInABundle = 6;
constexpr std::size_t kBoxesOnAPost = 8;
constexpr std::size_t kRelaysOnAKeyPost = 8;
constexpr std::size_t kModulesOnABus = 10;
constexpr std::size_t kCavitiesOfAPlug = 24;
constexpr std::size_t kPinsOfAModulePlug = 18;
constexpr const char* kPlugRows =
    R"([["1","2","3","4","5","6","7","8"],["9","10","11","12","13","14","15","16"],["17","18","19","20","21","22","23","24"]])";
constexpr const char* kModuleRows =
    R"([["1","2","3","4","5","6"],["7","8","9","10","11","12"],["13","14","15","16","17","18"]])";
constexpr const char* kAreas[] = {"engine", "frame", "rear", "body", "cab"};

std::string in_place(const std::string& place) { return "place = " + quoted(place); }

// Which plugs lie between the cab and an area.
std::vector<std::string> plugs_to(const std::string& kind) {
  if (kind == "engine") return {"bulkhead", "engine"};
  if (kind == "frame") return {"bulkhead"};
  if (kind == "rear") return {"bulkhead", "frame end"};
  if (kind == "body") return {"bulkhead", "frame end", "hinge"};
  return {};
}

}  // namespace

void FleetVehicle::begin(std::uint64_t seed, std::size_t nodes) {
  sheet_.top("# Invented by tests/support/fleet_loom: vehicle, names, pins, codes, values. For benches and tests.");
  sheet_.top("loom = 1");
  sheet_.top("name = \"Whole vehicle of " + std::to_string(nodes) + " nodes, seed " + std::to_string(seed) + "\"");
  sheet_.top("note = \"Invented\"");
  sheet_.top("system_volts = 24");
  sheet_.top("ambient_c = " + number_text(rng_.uniform(-10.0, 35.0)));
  sheet_.top("in_use = [\"isolator-on\", \"key-on\", \"engine-running\", \"lights-on\"]");
  sheet_.top("supply = \"BAT\"");
  add_places();
  add_supply();
}

void FleetVehicle::add_places() {
  sheet_.place("battery box", "minutes = 1, caution = \"Explosive gas, 24 V arcs: no metal tools across terminals.\"");
  sheet_.place("bulkhead", "minutes = 0.8, stress = [\"wet\"]");
  sheet_.place("engine", "minutes = 1, needs = [\"cab-raised\"], stress = [\"heat\", \"vibration\"]");
  sheet_.place("hinge", "minutes = 1, needs = [\"body-raised\"], stress = [\"flex\", \"wet\"]");
  sheet_.frame("chassis");
  sheet_.frame("body frame");
}

void FleetVehicle::add_supply() {
  sheet_.part("BAT", 2, false, R"(kind = "battery", ohm = 0.004, place = "battery box")");
  sheet_.part("ALT", 2, false, R"(kind = "alternator", ohm = 0.004, place = "engine", runs_with = ["engine-running"])");
  sheet_.part("ISO", 2, false, R"(kind = "switch", ohm = 0.0005, place = "battery box")");
  sheet_.part("KEY", 2, false, R"(kind = "switch", place = "bulkhead")");
  sheet_.splice("P1", in_place("battery box"));
  moves("isolator-on", "ISO", true);
  moves("key-on", "KEY", true);
  post_ = "P1";
  sheet_.run("battery", {{"BAT:+", true}, {"ISO", true}, {"P1", true}}, "RD 95mm2 1m");
  sheet_.run("minus", {{"BAT:-", true}, ground("battery box")}, "BK 95mm2 0.6m");
  sheet_.run("charge", {{"ALT:+", true}, {"P1", true}}, "RD 95mm2 3m");
  sheet_.run("charge", {{"ALT:-", true}, ground("engine")}, "BK 95mm2 0.5m");
  sheet_.stud("G body strap", in_place("hinge") + ", frame = \"body frame\"");
  sheet_.run("strap", {ground("hinge"), {"G body strap", true}}, "BK 35mm2 0.6m");
  sheet_.part("F0", 2, true, R"(kind = "fuse", rating_a = 20, place = "battery box")");
  sheet_.splice("K1", in_place("bulkhead"));
  key_ = "K1";
  sheet_.run("key", {{"P1", true}, {"F0"}, {"KEY", true}, {"K1", true}}, "RD 6mm2 2m");
}

// ---- sections

void FleetVehicle::open_section() {
  const std::string number = std::to_string(sections_.size() + 1);
  const std::string kind = kAreas[sections_.size() % 5];
  sections_.emplace_back();
  FleetSection& s = section();
  s.number = number;
  s.box = "box " + number;
  s.area = kind + " " + number;
  s.plugs = plugs_to(kind);
  s.circuits_left = 9 + rng_.below(8);
  add_area(kind);
  add_power(number);
  add_controller();
  add_bus_node();
}

void FleetVehicle::add_area(const std::string& kind) {
  const FleetSection& s = section();
  sheet_.setup("cover " + s.number + " off", "do = " + number_text(rng_.uniform(0.5, 4.0)) + ", undo = 1");
  sheet_.place(s.box, "minutes = 0.4, needs = [\"cover " + s.number + " off\"]");
  if (kind == "engine")
    sheet_.place(s.area, R"(minutes = 1.5, needs = ["cab-raised"], stress = ["heat", "vibration"])");
  else if (kind == "body")
    sheet_.place(s.area, R"(minutes = 1.2, needs = ["body-raised"], stress = ["wet", "flex"])");
  else if (kind == "cab")
    sheet_.place(s.area, "minutes = 0.3");
  else
    sheet_.place(s.area, R"(minutes = 1, stress = ["wet", "chafe"])");
}

// From the power posts over a main fuse to the box; the switched rail hangs on a relay that the key pulls in.
void FleetVehicle::add_power(const std::string& number) {
  FleetSection& s = section();
  s.rail = "rail " + number;
  s.switched = "rail " + number + " key";
  sheet_.splice(s.rail, in_place(s.box));
  sheet_.splice(s.switched, in_place(s.box));
  const std::string main = next("F");
  sheet_.part(main, 2, true, R"(kind = "fuse", rating_a = 60, place = "battery box")");
  sheet_.run("power " + number, {{power_post(), true}, {main}, {s.rail, true}}, "RD 16mm2 4m");
  const std::string relay = next("Q");
  sheet_.part(relay, 4, true, "kind = \"relay\", coil_ohm = 320, " + in_place(s.box));
  sheet_.run("power " + number, {{s.rail, true}, {relay + ":30/87"}, {s.switched, true}}, "RD 10mm2 0.4m");
  sheet_.run("key " + number, {{key_post(), true}, {relay + ":86/85"}, ground(s.box)}, "BK 1mm2 2m");
}

// The newest post of the chain, or one more behind it.
std::string FleetVehicle::power_post() {
  if (post_used_ == kBoxesOnAPost) {
    const std::string post = "P" + std::to_string(count("post") + 1);
    sheet_.splice(post, in_place("battery box"));
    sheet_.run("posts", {{post_, true}, {post, true}}, "RD 95mm2 0.3m");
    post_ = post;
    post_used_ = 0;
  }
  ++post_used_;
  return post_;
}

std::string FleetVehicle::key_post() {
  if (key_used_ == kRelaysOnAKeyPost) {
    const std::string post = "K" + std::to_string(count("key") + 1);
    sheet_.splice(post, in_place("bulkhead"));
    sheet_.run("key posts", {{key_, true}, {post, true}}, "BK 4mm2 0.5m");
    key_ = post;
    key_used_ = 0;
  }
  ++key_used_;
  return key_;
}

void FleetVehicle::add_controller() {
  FleetSection& s = section();
  s.module = "M" + s.number;
  sheet_.module(s.module, in_place(s.box) + "\npart_money = " + number_text(rng_.uniform(200, 900)), kModuleRows);
  const Hop supply = pin(R"(role = "supply", draw_a = )" + number_text(rng_.uniform(0.1, 0.5)));
  join("supply " + s.number, fuse("supply " + s.number, rng_.chance(0.5) ? s.rail : s.switched, 15.0), supply, 2.5);
  for (int i = 0; i < 2; ++i) join("ground " + s.number, pin(R"(role = "ground")"), ground(s.box), 2.5);
}

// A pair of splices along the bus, stubs to the controller; a terminator at the first, one inside the last.
void FleetVehicle::add_bus_node() {
  const FleetSection& s = section();
  const std::string high = "H" + s.number, low = "L" + s.number;
  sheet_.splice(high, in_place(s.box) + ", probe = false");
  sheet_.splice(low, in_place(s.box) + ", probe = false");
  if (bus_nodes_ == 0) {
    const std::string end = next("T");
    sheet_.part(end, 2, true, "kind = \"terminator\", " + in_place(s.box));
    bus_high_ = end + ":1";
    bus_low_ = end + ":2";
    sheet_.bus("bus " + std::to_string(++buses_));
  }
  const std::string on_bus = ", bus = \"bus " + std::to_string(buses_) + "\"";
  const bool joint = bus_nodes_ > 0;
  const std::string pair = "pair=bus" + s.number;
  sheet_.run("bus high", {{bus_high_, joint}, {high, true, pair}}, "YE 0.5mm2 3m");
  sheet_.run("bus low", {{bus_low_, joint}, {low, true, pair}}, "GN 0.5mm2 3m");
  join("bus high", {high, true}, pin(R"(role = "can-high")" + on_bus), 0.5);
  join("bus low", {low, true}, pin(R"(role = "can-low")" + on_bus), 0.5);
  bus_high_ = high;
  bus_low_ = low;
  if (++bus_nodes_ == kModulesOnABus) close_bus();
}

void FleetVehicle::close_bus() {
  if (bus_nodes_ == 0) return;
  // The pins after supply and two grounds.
  sheet_.inside(section().module, R"(kind = "terminator", pins = ["A:4", "A:5"])");
  bus_nodes_ = 0;
}

void FleetVehicle::finish() {
  close_bus();
  add_setups();
}

void FleetVehicle::moves(const std::string& setup, const std::string& part, bool closed) {
  std::string& all = moved_[setup];
  all += (all.empty() ? "" : ", ") + quoted(part) + (closed ? " = \"closed\"" : " = \"open\"");
}

void FleetVehicle::add_setups() {
  const auto add = [&](const char* name, const std::string& body) {
    sheet_.setup(name, body + ", sets = { " + moved_[name] + " }");
  };
  add("isolator-on", "do = 0.5, undo = 0.5, leave = true");
  add("key-on", R"(do = 0.2, undo = 0.1, needs = ["isolator-on"])");
  add("engine-running",
      R"(do = 0.5, undo = 0.2, needs = ["key-on"], caution = "Hands and leads clear of belts and fan.")");
  add("lights-on", "do = 0.1, undo = 0.1");
  add("pto-on", R"(do = 0.3, undo = 0.2, needs = ["key-on"], caution = "Driven parts may move.")");
  add("heat-on", "do = 0.1, undo = 0.1");
  add("cab-raised",
      "do = 5, undo = 4, excludes = [\"engine-running\"], caution = \"Cab propped and locked before anybody reaches "
      "under it; wheels chocked. Follow the maker's instructions.\"");
  add("body-raised",
      "do = 6, undo = 4, caution = \"Body propped and locked before anybody reaches under it; wheels chocked. Follow "
      "the maker's instructions.\"");
}

// ---- what circuits are made of

Hop FleetVehicle::ground(const std::string& area) {
  Stud& stud = open_studs_[area];
  if (stud.name.empty() || stud.lugs == kLugsOnAStud) {
    stud.name = next("G");
    stud.lugs = 0;
    const bool body = area.rfind("body", 0) == 0;
    sheet_.stud(stud.name, in_place(area) + (body ? ", frame = \"body frame\"" : ", frame = \"chassis\""));
  }
  ++stud.lugs;
  return {stud.name, true};
}

Hop FleetVehicle::pin(const std::string& body) {
  FleetSection& s = section();
  const std::string plug(1, static_cast<char>('A' + s.pins / kPinsOfAModulePlug));
  const std::string cavity = std::to_string(s.pins % kPinsOfAModulePlug + 1);
  ++s.pins;
  sheet_.pin(s.module, plug + ":" + cavity, body);
  return {s.module + "." + plug + ":" + cavity};
}

std::vector<Hop> FleetVehicle::way() {
  const FleetSection& s = section();
  std::vector<Hop> hops;
  std::string from = s.box;
  for (std::size_t i = 0; i < s.plugs.size(); ++i) {
    const std::string& kind = s.plugs[i];
    // Bulkhead and frame plugs serve several sections, as they do.
    Plug& plug = open_plugs_[kind];
    if (plug.name.empty() || plug.used == kCavitiesOfAPlug) {
      if (plug.name.empty() && kind == "frame end") sheet_.place(kind, "minutes = 1.2, stress = [\"wet\", \"chafe\"]");
      plug.name = next("J");
      plug.used = 0;
      sheet_.connector(plug.name, "sides = [\"front\", \"back\"], " + in_place(kind) + ", rows = " + kPlugRows +
                                      ", unplug = " + number_text(rng_.uniform(0.5, 2.0)));
    }
    sheet_.count_cavity();
    hops.push_back({plug.name + ":" + std::to_string(++plug.used), false, bundle(from + " to " + kind)});
    from = kind;
  }
  return hops;
}

std::string FleetVehicle::bundle(const std::string& lane) {
  const std::size_t wire = bundled_[lane]++;
  return "bundle='" + lane + " " + std::to_string(wire / kWiresInABundle + 1) + "'";
}

Hop FleetVehicle::fuse(const std::string& run, const std::string& rail, double rating_a) {
  const std::string name = next("F");
  sheet_.part(name, 2, true, "kind = \"fuse\", rating_a = " + number_text(rating_a) + ", " + in_place(section().box));
  sheet_.run(run, {{rail, true}, {name + ":1"}}, "RD 6mm2 0.15m");
  return {name + ":2"};
}

std::string FleetVehicle::wire(double mm2) {
  constexpr const char* kColours[] = {"BK", "RD", "YE", "GN", "BU", "WH", "RD/WH", "YE/BN", "GY", "VT"};
  return std::string(kColours[rng_.below(10)]) + " " + number_text(mm2) + "mm2 " + number_text(rng_.uniform(0.4, 5.0)) +
         "m";
}

void FleetVehicle::join(const std::string& run, const Hop& from, const Hop& to, double mm2) {
  sheet_.run(run, {from, to}, wire(mm2));
}

void FleetVehicle::lead(const std::string& run, const Hop& from, const Hop& to, double mm2) {
  std::vector<Hop> hops = {from};
  for (Hop& hop : way()) hops.push_back(std::move(hop));
  hops.push_back(to);
  hops.back().wire = "place='" + section().area + "'";
  sheet_.run(run, hops, wire(mm2));
}

}  // namespace halfsplit::test
