// SPDX-License-Identifier: Apache-2.0
// A trailer's socket from its standard's table: what feeds each pin on the tractor, the coiled lead, plugs on the
// trailer, what hangs on the pin there, and over which pin it returns. What is behind signal pins is not known.
#include <algorithm>
#include <map>

#include "base/nearest.h"
#include "base/number.h"
#include "formats/sketch_circuit_text.h"
#include "formats/sketch_draw.h"
#include "formats/trailer_sockets.h"

namespace halfsplit::formats {

namespace {

struct TrailerSketch {
  std::string name, vehicle;
  const TrailerSocket* socket = nullptr;
  std::vector<const SocketPin*> pins;  // in question, and those they return over; in the table's order
  SketchedThing plug;
  std::vector<SketchedThing> plugs;  // on the trailer; every wire goes through
  bool lead = true, led = false;
  double metres = 11.0;
};

const TrailerSocket& read_trailer_socket(AnswerReader& reader) {
  std::vector<std::string> names;
  for (const TrailerSocket& one : trailer_sockets()) names.emplace_back(one.name);
  return *find_trailer_socket(read_word(reader, "socket", names));
}

const SocketPin* find_pin(const TrailerSocket& socket, std::string_view text) {
  const auto at = std::find_if(socket.pins.begin(), socket.pins.end(), [&](const SocketPin& pin) {
    return pin.cavity == text || (!pin.name.empty() && pin.name == text);
  });
  return at == socket.pins.end() ? nullptr : &*at;
}

std::vector<const SocketPin*> read_socket_pins(AnswerReader& reader, const TrailerSocket& socket) {
  std::vector<const SocketPin*> wanted;
  for (const std::string& text : reader.list("pins")) {
    if (const SocketPin* const pin = find_pin(socket, text); pin != nullptr) {
      wanted.push_back(pin);
      continue;
    }
    std::vector<std::string> names;
    std::string all;
    for (const SocketPin& pin : socket.pins) {
      names.emplace_back(pin.name.empty() ? pin.cavity : pin.name);
      all +=
          (all.empty() ? "" : ", ") + std::string(pin.cavity) + (pin.name.empty() ? "" : " " + std::string(pin.name));
    }
    const std::string near = base::did_you_mean(text, names);
    reader.error("sketch.bad-answer",
                 "pins: " + std::string(socket.standard) + " has no pin and no function \"" + text + "\"",
                 near.empty() ? "it has " + all : near);
  }
  std::vector<const SocketPin*> pins;
  for (const SocketPin& pin : socket.pins) {
    const bool asked =
        wanted.empty() ? pin.use != SocketUse::kFree : std::find(wanted.begin(), wanted.end(), &pin) != wanted.end();
    const bool returns = std::any_of(wanted.begin(), wanted.end(),
                                     [&](const SocketPin* one) { return one->returns_over == pin.cavity; });
    // The main return joins the trailer's frame to the tractor's.
    const bool main = pin.use == SocketUse::kReturn && std::none_of(pins.begin(), pins.end(), [](const SocketPin* one) {
                        return one->use == SocketUse::kReturn;
                      });
    if (asked || returns || main) pins.push_back(&pin);
  }
  return pins;
}

class TrailerWriter {
 public:
  TrailerWriter(const TrailerSketch& sketch, AnswerReader& names)
      : sketch_(sketch), names_(names), text_(sketch.metres), volts_(sketch.socket->volts) {}

  Sketched write() {
    text_.head(sketch_.name, sketch_.vehicle, volts_, in_use());
    write_setups();
    write_plugs();
    text_.part({own("BAT"), "battery box"}, "battery");
    for (const SocketPin* pin : sketch_.pins) write_parts(*pin);
    write_modules();
    write_metal();
    text_.caution_at("battery box", "Batteries: no metal tools across the terminals, explosive gas, arcs.");
    text_.caution_at(text_.place_of(sketch_.plug),
                     "Between tractor and trailer: brake on, keys with you, mind the traffic.");
    text_.caution_at("rear", "At the road side: warning triangle and high-visibility clothing; mind the traffic.");
    text_.places();
    text_.out.section("runs");
    text_.out.text("minus", own("BAT") + ":- -[BK 35mm2 1m]-> " + own("GB"), true);
    for (const SocketPin* pin : sketch_.pins) write_run(*pin);
    return {sketch_.name, text_.out.str(), assumed()};
  }

 private:
  // Ours, kept clear of the names told; the same name each time.
  std::string own(const std::string& wanted) {
    const auto [at, fresh] = own_.try_emplace(wanted);
    if (fresh) at->second = names_.fresh_name(wanted);
    return at->second;
  }
  std::string of(const std::string& prefix, const SocketPin& pin) { return own(prefix + std::string(pin.name)); }

  [[nodiscard]] bool has(SocketUse use) const {
    return std::any_of(sketch_.pins.begin(), sketch_.pins.end(), [&](const SocketPin* pin) { return pin->use == use; });
  }
  // Pins whose other end is a module on both vehicles.
  static bool is_signal(const SocketPin& pin) { return pin.use == SocketUse::kSignal || pin.use == SocketUse::kFree; }
  [[nodiscard]] bool has_signals() const {
    return std::any_of(sketch_.pins.begin(), sketch_.pins.end(), [](const SocketPin* pin) { return is_signal(*pin); });
  }
  // The trailer's controller hangs on the supplies, returns and lines of a brake socket.
  [[nodiscard]] bool has_controller() const { return sketch_.socket->brakes; }
  [[nodiscard]] bool has_key() const { return has(SocketUse::kSwitched) || has(SocketUse::kWarningLamp); }

  std::vector<std::string> in_use() {
    std::vector<std::string> setups;
    for (const SocketPin* pin : sketch_.pins)
      if (pin->use == SocketUse::kLamps) setups.push_back(std::string(pin->name) + "-on");
    if (has_key()) setups.emplace_back("key-on");
    return setups;
  }

  void write_setups() {
    for (const SocketPin* pin : sketch_.pins) {
      if (pin->use != SocketUse::kLamps) continue;
      text_.setup(std::string(pin->name) + "-on", {of("S-", *pin)});
      if (pin->name == "stop") text_.out.text("caution", "Trailer brakes move: nobody at the wheels; chocks in place.");
    }
    if (has_key()) text_.setup("key-on", {own("S1")});
    if (has(SocketUse::kWarningLamp)) text_.setup("lamp-check", {}, {"key-on"});
  }

  // Tractor's socket, the lead's other end, plugs on the trailer: each with all cavities of the table.
  void write_plugs() {
    std::vector<SketchedThing> all{sketch_.plug};
    if (sketch_.lead) all.push_back({own(sketch_.plug.name + " at the trailer"), "trailer nose"});
    all.insert(all.end(), sketch_.plugs.begin(), sketch_.plugs.end());
    std::vector<std::string> sides{"tractor"};
    if (sketch_.lead) sides.emplace_back("lead");
    sides.emplace_back("trailer");
    for (std::size_t i = 0; i < sketch_.plugs.size(); ++i) sides.push_back("behind " + sketch_.plugs[i].name);
    std::vector<std::string> cavities;
    for (const SocketPin& pin : sketch_.socket->pins) cavities.emplace_back(pin.cavity);
    for (std::size_t i = 0; i < all.size(); ++i) {
      text_.out.table("connectors", all[i].name, i == 0 ? sketch_.socket->standard : "");
      text_.out.line("sides", toml_list({sides[i], sides[i + 1]}));
      text_.out.text("place", text_.place_of(all[i]), all[i].place.empty());
      text_.out.line("rows", "[" + toml_list(cavities) + "]", true);
      if (sketch_.socket->brakes) text_.out.text("hazard", "brakes");
      line_.emplace_back(all[i].name, sides[i + 1]);
    }
  }

  void fuse(const SocketPin& pin) {
    text_.part({of("F-", pin), "fuses"}, "fuse");
    text_.out.number("rating_a",
                     pin.use == SocketUse::kLamps || pin.mm2 < 2.0 ? 10.0
                     : pin.mm2 < 3.0                               ? 20.0
                                                                   : 30.0,
                     true);
  }

  static std::vector<std::pair<double, std::string>> lamps_of(const SocketPin& pin) {
    std::vector<std::pair<double, std::string>> lamps;
    const std::string_view text = pin.lamps;
    for (std::size_t from = 0; from < text.size();) {
      const std::size_t slash = std::min(text.find('/', from), text.size());
      const std::string_view one = text.substr(from, slash - from);
      lamps.emplace_back(one.starts_with("21") ? 21.0 : 10.0, std::string(one.substr(3)));
      from = slash + 1;
    }
    return lamps;
  }

  std::string lamp_name(const SocketPin& pin, const std::string& side) {
    return lamps_of(pin).size() == 1 ? of("", pin) : own(std::string(pin.name) + "-" + side);
  }

  void write_parts(const SocketPin& pin) {
    if (pin.use == SocketUse::kReturn || is_signal(pin)) return;
    fuse(pin);
    if (pin.use == SocketUse::kLamps) {
      text_.part({of("S-", pin), "cab"}, "switch", pin.function);
      for (const auto& [watt, side] : lamps_of(pin)) {
        text_.part({lamp_name(pin, side), "rear"}, "lamp", pin.function);
        text_.out.number("watt", sketch_.led ? 3.0 : watt, true);
        if (sketch_.led) text_.out.line("led", "true");
      }
    } else if (pin.use == SocketUse::kWarningLamp) {
      text_.part({own("H-trailer"), "cab"}, "lamp", pin.function);
      text_.out.number("watt", 3.0, true);
    } else if (!has_controller()) {
      text_.part({of("", pin) + "-load", "trailer nose"}, "heater", pin.function);
      text_.out.number("watt", 100.0, true);
    }
  }

  void write_modules() {
    if (has_key()) {
      text_.part({own("S1"), "cab"}, "switch", "key switch");
      text_.out.line("plug", "false");
    }
    if (has_signals()) {
      text_.out.table("modules", own("tractor-unit"), "what is behind its pins is not known");
      text_.out.text("place", text_.place_of({"", "cab"}), true);
      text_.out.text("frame", own("tractor"));
    }
    if (!has_controller() && !has_signals()) return;
    const std::string unit = own("trailer-unit");
    text_.out.table("modules", unit, has_controller() ? "" : "what is behind its pins is not known");
    text_.out.text("place", text_.place_of({"", "trailer nose"}), true);
    if (!has_controller()) return text_.out.text("frame", own("trailer"));
    text_.out.text("hazard", "brakes");
    text_.out.section("modules." + toml_key(unit) + ".pins");
    for (const SocketPin* pin : sketch_.pins) text_.out.line(toml_key(pin->cavity), role_of(*pin), true);
  }

  static std::string role_of(const SocketPin& pin) {
    switch (pin.use) {
      case SocketUse::kReturn:
        return "\"ground\"";
      case SocketUse::kPermanent:
        return "{ role = \"supply\", draw_a = 1 }";
      case SocketUse::kSwitched:
        return "{ role = \"supply\", draw_a = 0.3 }";
      case SocketUse::kWarningLamp:
        return "{ role = \"low-side\", on_with = [\"lamp-check\"] }";
      default:
        return "\"unknown\"";
    }
  }

  // Both vehicles' frames; on a brake socket the trailer's is not touched.
  void write_metal() {
    text_.frame(own("tractor"));
    if (!has_controller()) text_.frame(own("trailer"));
    text_.stud({own("GB"), "battery box"}, has_controller() ? "" : own("tractor"));
    text_.stud({own("GT"), text_.place_of(sketch_.plug)}, has_controller() ? "" : own("tractor"));
    if (has_controller()) return;
    text_.stud({own("GR"), "rear"}, own("trailer"));
    for (const SocketPin* pin : sketch_.pins) {
      if (pin->use == SocketUse::kReturn && has_splice(*pin))
        splice(own("return-" + std::string(pin->cavity)), std::string(pin->function));
      if (lamps_of(*pin).size() > 1) splice(of("SP-", *pin), std::string(pin->function));
    }
  }

  void splice(const std::string& name, const std::string& what) {
    text_.out.table("splices", name, what);
    text_.out.text("place", text_.place_of({"", "rear"}), true);
    text_.out.line("probe", "false", true);
  }

  static std::string wire(const SocketPin& pin, double metres, const std::string& bundle) {
    return "-[" + (pin.colour.empty() ? "" : std::string(pin.colour) + " ") + base::format_number(pin.mm2) + "mm2 " +
           base::format_significant(metres, 3) + "m bundle=" + bundle + "]-> ";
  }

  // From the tractor's side of the socket to the far side of the last plug and on to `end`.
  std::string through(const SocketPin& pin, const std::string& end) {
    std::string run = wire(pin, 6.0, "tractor");
    const double stretch = sketch_.metres / static_cast<double>(sketch_.plugs.size() + 1);
    for (std::size_t i = 0; i < line_.size(); ++i) {
      const bool lead = sketch_.lead && i == 0;
      run += line_[i].first + ":" + std::string(pin.cavity) + " " +
             wire(pin, lead ? 3.5 : stretch, lead ? "lead" : "trailer");
    }
    return run + end;
  }

  void write_run(const SocketPin& pin) {
    const std::string unit = own("trailer-unit") + ":" + std::string(pin.cavity);
    const std::string name = "pin-" + std::string(pin.cavity);
    SketchText& out = text_.out;
    const std::string returns = own("return-" + std::string(pin.returns_over));
    if (is_signal(pin))
      return out.text(name, own("tractor-unit") + ":" + std::string(pin.cavity) + " " + through(pin, unit));
    if (pin.use == SocketUse::kReturn) return write_return(pin, name, unit);
    const std::string fuse = own("BAT") + ":+ -[RD 6mm2 4m]-> ";
    if (pin.use == SocketUse::kWarningLamp)
      return out.text(name, fuse + own("S1") + " -[RD 1mm2 1m]-> " + of("F-", pin) + " -[RD 1mm2 1m]-> " +
                                own("H-trailer") + " " + through(pin, unit));
    if (pin.use == SocketUse::kLamps) {
      const auto lamps = lamps_of(pin);
      const std::string end = lamps.size() == 1 ? lamp_name(pin, lamps[0].second) + ":1" : of("SP-", pin);
      out.text(name, fuse + of("F-", pin) + " -[RD 1.5mm2 1m]-> " + of("S-", pin) + " " + through(pin, end));
      for (const auto& [watt, side] : lamps) {
        const std::string lamp = lamp_name(pin, side), run = name + "-" + side;
        if (lamps.size() > 1) out.text(run, of("SP-", pin) + " -[1mm2 1m]-> " + lamp + ":1", true);
        out.text(run + "-return", lamp + ":2 -[WH 1mm2 1m]-> " + returns, true);
      }
      return;
    }
    const std::string key = pin.use == SocketUse::kSwitched ? own("S1") + " -[RD 4mm2 1m]-> " : "";
    const std::string load = of("", pin) + "-load";
    out.text(name, fuse + key + of("F-", pin) + " " + through(pin, has_controller() ? unit : load + ":1"));
    if (!has_controller()) out.text(name + "-return", load + ":2 -[WH 2.5mm2 1m]-> " + returns, true);
  }

  // The first return and those that loads hang on; others end where the lines do that they belong to.
  [[nodiscard]] bool has_splice(const SocketPin& pin) const {
    const auto first = std::find_if(sketch_.pins.begin(), sketch_.pins.end(),
                                    [](const SocketPin* one) { return one->use == SocketUse::kReturn; });
    return *first == &pin || std::any_of(sketch_.pins.begin(), sketch_.pins.end(), [&](const SocketPin* one) {
      return !is_signal(*one) && one->returns_over == pin.cavity;
    });
  }

  void write_return(const SocketPin& pin, const std::string& name, const std::string& unit) {
    if (!has_controller() && !has_splice(pin))
      return text_.out.text(name, own("GT") + " " + through(pin, has_signals() ? unit : own("GR")));
    const std::string splice = own("return-" + std::string(pin.cavity));
    text_.out.text(name, own("GT") + " " + through(pin, has_controller() ? unit : splice));
    if (!has_controller() && !frame_joined_)
      text_.out.text(name + "-frame", splice + " -[WH 2.5mm2 0.8m]-> " + own("GR"), true);
    frame_joined_ = true;
  }

  [[nodiscard]] std::vector<std::string> assumed() const {
    std::vector<std::string> all{"colours and sizes of " + std::string(sketch_.socket->standard) + "; lengths as usual",
                                 "a fuse and a switch of its own for each lamp circuit, lamps of the usual watts"};
    if (has(SocketUse::kPermanent) || has(SocketUse::kSwitched))
      all.emplace_back(has_controller() ? "what the trailer's controller draws"
                                        : "one load of 100 W on each supply pin");
    if (!has_controller()) all.emplace_back("the trailer's frame hangs on the first return pin, at the rear");
    if (has_signals()) all.emplace_back("nothing of what is behind signal pins: they tell by continuity only");
    return all;
  }

  const TrailerSketch& sketch_;
  AnswerReader& names_;
  CircuitText text_;
  double volts_;
  std::map<std::string, std::string> own_;
  std::vector<std::pair<std::string, std::string>> line_;  // plug, and the side it leads to
  bool frame_joined_ = false;
};

}  // namespace

base::Result<Sketched> draw_trailer_socket(const SketchAnswers& answers) {
  AnswerReader reader(answers);
  TrailerSketch sketch;
  sketch.socket = &read_trailer_socket(reader);
  sketch.pins = read_socket_pins(reader, *sketch.socket);
  sketch.plug = read_thing(reader, "socket-name", "X1");
  sketch.plugs = read_things(reader, "plugs");
  sketch.lead = read_yes(reader, "lead", sketch.socket->volts > 18.0);
  sketch.led = read_yes(reader, "led", false);
  sketch.metres = reader.number("length", 11.0, base::Unit::kMetre, 0.1, 200.0);
  sketch.name = reader.one("name", "Trailer socket " + std::string(sketch.socket->standard));
  sketch.vehicle = reader.one("vehicle");
  if (!reader.errors().empty()) return reader.errors();
  return TrailerWriter(sketch, reader).write();
}

}  // namespace halfsplit::formats
