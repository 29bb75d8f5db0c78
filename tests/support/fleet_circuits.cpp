// SPDX-License-Identifier: Apache-2.0
// One function a kind of circuit. Each adds some 15 to 45 nodes to the newest section and returns.
#include "tests/support/fleet_vehicle.h"

namespace halfsplit::test {

namespace {

class FleetCircuits {
 public:
  explicit FleetCircuits(FleetVehicle& vehicle)
      : v_(vehicle), sheet_(vehicle.sheet()), rng_(vehicle.rng()), s_(vehicle.section()) {}

  void add(std::size_t kind) {
    static constexpr void (FleetCircuits::*kKinds[kFleetCircuitKinds])() = {
        &FleetCircuits::lamps,    &FleetCircuits::work_lamp,       &FleetCircuits::valve,
        &FleetCircuits::pump,     &FleetCircuits::level_sender,    &FleetCircuits::temperature_ntc,
        &FleetCircuits::pressure, &FleetCircuits::pressure_switch, &FleetCircuits::pedal,
        &FleetCircuits::heater,   &FleetCircuits::winding_ptc,     &FleetCircuits::coded_switch,
        &FleetCircuits::blower,   &FleetCircuits::marker};
    (this->*kKinds[kind])();
    --s_.circuits_left;
  }

 private:
  std::string area() const { return "place = \"" + s_.area + "\""; }
  std::string name_run(const std::string& what) { return v_.next(what + " "); }

  std::string part(const std::string& letter, std::size_t terminals, bool plug, const std::string& body,
                   bool in_box = false) {
    const std::string name = v_.next(letter);
    sheet_.part(name, terminals, plug, body + ", " + (in_box ? "place = \"" + s_.box + "\"" : area()));
    return name;
  }
  // A terminal of a part with a plug, or of one without.
  static Hop terminal(const std::string& part, const std::string& name, bool bare = false) {
    return {part + ":" + name, bare};
  }

  // Sensor ground and sensor supply, one of each per controller; their wires branch at the area's splice.
  Hop sensor_ground() {
    if (s_.back.empty()) s_.back = branch("sensor ground", v_.pin(R"(role = "return")"));
    return {s_.back, true};
  }
  Hop sensor_supply() {
    count_rail();
    if (s_.reference.empty()) s_.reference = branch("sensor supply", v_.pin(R"(role = "reference")"));
    return {s_.reference, true};
  }
  std::string branch(const std::string& run, const Hop& from) {
    const std::string splice = v_.next("X");
    sheet_.splice(splice, area() + ", probe = false");
    v_.lead(run + " " + s_.number, from, {splice, true}, 0.75);
    return splice;
  }
  void count_rail() {
    if (!s_.has_rail) sheet_.count_rail();
    s_.has_rail = true;
  }

  Hop input(const char* pull_up) {
    count_rail();
    return v_.pin(std::string("role = \"input\", pull_up_ohm = \"") + pull_up + "\"");
  }

  // A pin's code above and below its window, and the value that the module shows.
  void watch(const Hop& pin, const std::string& sensor, const std::string& what, double low, double high) {
    const std::string place = pin.text.substr(pin.text.find('.') + 1);
    const std::string body = "module = \"" + s_.module + "\", pin = \"" + place + "\"";
    const std::string spn = "SPN " + std::to_string(520192 + v_.count("code"));
    sheet_.code(spn + " FMI 3", body + R"(, above_v = 4.9, needs = ["key-on"])");
    sheet_.code(spn + " FMI 4", body + R"(, below_v = 0.07, needs = ["key-on"])");
    sheet_.live(what,
                body + ", part = \"" + sensor + "\", low = " + number_text(low) + ", high = " + number_text(high));
  }

  // ---- loads

  void lamps() {
    const std::string run = name_run("side lamps");
    const std::string sw = part("S", 2, true, R"(kind = "switch")", true);
    v_.moves("lights-on", sw, true);
    v_.join(run, v_.fuse(run, s_.rail, 10.0), terminal(sw, "1"), 1.5);
    const std::string feed = v_.next("X"), back = v_.next("X");
    sheet_.splice(feed, area());
    sheet_.splice(back, area());
    v_.lead(run, terminal(sw, "2"), {feed, true}, 1.5);
    for (std::size_t n = 1 + rng_.below(3); n > 0; --n) {
      const std::string lamp =
          part("E", 2, true, rng_.chance(0.5) ? R"(kind = "lamp", watt = 5)" : R"(kind = "lamp", watt = 10)");
      sheet_.run(run, {{feed, true}, {lamp}, {back, true}}, v_.wire(1.0));
    }
    v_.join(run, {back, true}, v_.ground(s_.area), 1.5);
  }

  void work_lamp() {
    const std::string run = name_run("work lamp");
    const std::string lamp = part("E", 2, true, R"(kind = "lamp", watt = 18, led = true)");
    v_.lead(run, v_.pin(R"(role = "high-side", on_with = ["lights-on"], limit_a = 4)"), terminal(lamp, "1"), 1.0);
    v_.join(run, terminal(lamp, "2"), v_.ground(s_.area), 1.0);
  }

  void valve() {
    const std::string run = name_run("valve");
    const std::string coil = part("Y", 2, true, "kind = \"solenoid\", ohm = " + number_text(rng_.uniform(18, 45)));
    v_.lead(run, v_.pin(R"(role = "high-side", on_with = ["pto-on"], limit_a = 6)"), terminal(coil, "1"), 1.0);
    v_.join(run, terminal(coil, "2"), v_.ground(s_.area), 1.0);
  }

  // A relay of the box, its coil with a diode across, switched to ground by the controller.
  void pump() {
    const std::string run = name_run("pump");
    const std::string relay = part("Q", 4, true, R"(kind = "relay", coil_ohm = 280)", true);
    const std::string diode = part("V", 2, false, R"(kind = "diode")", true);
    const std::string motor = part("motor ", 2, true, "kind = \"motor\", watt = " + number_text(rng_.uniform(30, 160)));
    const std::string top = v_.next("X"), bottom = v_.next("X");
    sheet_.splice(top, "place = \"" + s_.box + "\"");
    sheet_.splice(bottom, "place = \"" + s_.box + "\"");
    v_.join(run, {s_.switched, true}, {top, true}, 0.75);
    sheet_.run(run, {{top, true}, {relay + ":86/85"}, {bottom, true}}, v_.wire(0.75));
    sheet_.run(run, {{bottom, true}, {diode, true}, {top, true}}, v_.wire(0.75));
    v_.join(run, {bottom, true}, v_.pin(R"(role = "low-side", on_with = ["pto-on"], limit_a = 2)"), 0.75);
    v_.join(run, v_.fuse(run, s_.rail, 20.0), terminal(relay, "30"), 2.5);
    v_.lead(run, terminal(relay, "87"), terminal(motor, "1"), 2.5);
    v_.join(run, terminal(motor, "2"), v_.ground(s_.area), 2.5);
  }

  void heater() {
    const std::string run = name_run("heater");
    const std::string sw = part("S", 2, true, R"(kind = "switch")", true);
    v_.moves("heat-on", sw, true);
    const std::string mat = part("R", 2, true, "kind = \"heater\", watt = " + number_text(rng_.uniform(20, 120)));
    v_.join(run, v_.fuse(run, s_.switched, 10.0), terminal(sw, "1"), 1.5);
    v_.lead(run, terminal(sw, "2"), terminal(mat, "1"), 1.5);
    v_.join(run, terminal(mat, "2"), v_.ground(s_.area), 1.5);
  }

  // A series resistance for the slow stage, bridged by a switch for the fast one.
  void blower() {
    const std::string run = name_run("blower");
    const std::string slow = part("R", 2, true, R"(kind = "resistor", ohm = 3.3)", true);
    const std::string fast = part("S", 2, true, R"(kind = "switch")", true);
    v_.moves("heat-on", fast, true);
    const std::string motor = part("motor ", 2, true, R"(kind = "motor", ohm = 7)");
    const std::string in = v_.next("X"), out = v_.next("X");
    sheet_.splice(in, "place = \"" + s_.box + "\"");
    sheet_.splice(out, "place = \"" + s_.box + "\"");
    v_.join(run, v_.fuse(run, s_.switched, 7.5), {in, true}, 1.5);
    sheet_.run(run, {{in, true}, {slow}, {out, true}}, v_.wire(1.5));
    sheet_.run(run, {{in, true}, {fast}, {out, true}}, v_.wire(1.5));
    v_.lead(run, {out, true}, terminal(motor, "1"), 1.5);
    v_.join(run, terminal(motor, "2"), v_.ground(s_.area), 1.5);
  }

  // Lit from either of two feeds, each through a diode.
  void marker() {
    const std::string run = name_run("marker");
    const std::string meet = v_.next("X");
    sheet_.splice(meet, area());
    const std::string first = part("V", 2, false, R"(kind = "diode")", true);
    const std::string second = part("V", 2, false, R"(kind = "diode")", true);
    v_.join(run, v_.fuse(run, s_.switched, 5.0), terminal(first, "A", true), 0.75);
    v_.join(run, v_.pin(R"(role = "high-side", on_with = ["lights-on"], limit_a = 3)"), terminal(second, "A", true),
            0.75);
    v_.lead(run, terminal(first, "K", true), {meet, true}, 0.75);
    v_.join(run, terminal(second, "K", true), terminal(first, "K", true), 0.75);
    const std::string lamp = part("E", 2, true, R"(kind = "lamp", watt = 5)");
    v_.join(run, {meet, true}, terminal(lamp, "1"), 0.75);
    v_.join(run, terminal(lamp, "2"), v_.ground(s_.area), 0.75);
  }

  // ---- sensors

  void two_wires(const std::string& what, const std::string& body, const char* pull_up, double low, double high) {
    const std::string run = name_run(what);
    const std::string sensor = part("B", 2, true, body);
    const Hop signal = input(pull_up);
    v_.lead(run, signal, terminal(sensor, "1"), 0.5);
    v_.join(run, terminal(sensor, "2"), sensor_ground(), 0.5);
    watch(signal, sensor, run, low, high);
  }
  void level_sender() {
    two_wires("level",
              "kind = \"sender\", curve = [[0, 80], [50, 900], [100, 2200]], at_tolerance = 8, at = " +
                  number_text(rng_.uniform(5, 95)),
              "1k", 0, 100);
  }
  void temperature_ntc() {
    two_wires("temperature",
              "kind = \"ntc\", r25_ohm = 2252, b_k = 3976, at_tolerance = 6, at = " + number_text(rng_.uniform(-5, 95)),
              "2k2", -40, 150);
  }
  void winding_ptc() {
    two_wires("winding",
              "kind = \"ptc\", curve = [[-40, 843], [0, 1000], [100, 1385], [200, 1758]], at = " +
                  number_text(rng_.uniform(0, 120)),
              "1k", -40, 200);
  }

  void pressure() {
    const std::string run = name_run("pressure");
    const std::string sensor =
        part("B", 3, true,
             "kind = \"three-wire-sensor\", curve = [[0, 0.1], [10, 0.9]], at_tolerance = 1, at = " +
                 number_text(rng_.uniform(1, 9)));
    const Hop signal = v_.pin(R"(role = "input", pull_down_ohm = "100k")");
    v_.join(run, sensor_supply(), terminal(sensor, "+"), 0.5);
    v_.join(run, sensor_ground(), terminal(sensor, "-"), 0.5);
    v_.lead(run, signal, terminal(sensor, "S"), 0.5);
    watch(signal, sensor, run, 0, 10);
  }

  void pedal() {
    const std::string run = name_run("pedal");
    const std::string track =
        part("B", 3, true, "kind = \"potentiometer\", ohm = 5000, at = " + number_text(rng_.uniform(0.1, 0.9)));
    const Hop signal = v_.pin(R"(role = "input", pull_down_ohm = "220k")");
    v_.join(run, sensor_supply(), terminal(track, "3"), 0.5);
    v_.join(run, sensor_ground(), terminal(track, "1"), 0.5);
    v_.lead(run, signal, terminal(track, "2"), 0.5);
    watch(signal, track, run, 0, 1);
  }

  // Closes to ground while the engine runs; a tell-tale follows it.
  void pressure_switch() {
    const std::string run = name_run("switch");
    const std::string sw = part("B", 2, true, R"(kind = "switch", normally = "closed")");
    v_.moves("engine-running", sw, false);
    const Hop signal = input("4k7");
    v_.lead(run, signal, terminal(sw, "1"), 0.5);
    v_.join(run, terminal(sw, "2"), v_.ground(s_.area), 0.5);
    const std::string lamp = part("E", 2, true, R"(kind = "lamp", watt = 3)", true);
    const std::string follows = signal.text.substr(signal.text.find('.') + 1);
    v_.join(run,
            v_.pin("role = \"high-side\", limit_a = 2, follows = \"" + follows +
                   "\", follows_v = 2.5, follows_below = true"),
            terminal(lamp, "1"), 0.75);
    v_.join(run, terminal(lamp, "2"), v_.ground(s_.box), 0.75);
  }

  // One resistance with the switch open, two side by side with it closed: a break shows.
  void coded_switch() {
    const std::string run = name_run("coded switch");
    const std::string open = part("R", 2, true, R"(kind = "resistor", ohm = 4700)");
    const std::string closed = part("R", 2, false, R"(kind = "resistor", ohm = 1000)");
    const std::string sw = part("S", 2, true, R"(kind = "switch")");
    v_.moves("heat-on", sw, true);
    const std::string top = v_.next("X"), bottom = v_.next("X");
    sheet_.splice(top, area());
    sheet_.splice(bottom, area());
    v_.lead(run, input("2k2"), {top, true}, 0.5);
    sheet_.run(run, {{top, true}, {open}, {bottom, true}}, v_.wire(0.5));
    sheet_.run(run, {{top, true}, {closed, true}, {sw}, {bottom, true}}, v_.wire(0.5));
    v_.join(run, {bottom, true}, sensor_ground(), 0.5);
  }

  FleetVehicle& v_;
  LoomWriter& sheet_;
  base::Rng& rng_;
  FleetSection& s_;
};

}  // namespace

void add_fleet_circuit(FleetVehicle& vehicle, std::size_t kind) { FleetCircuits(vehicle).add(kind); }

}  // namespace halfsplit::test
