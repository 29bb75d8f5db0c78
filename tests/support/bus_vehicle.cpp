// SPDX-License-Identifier: Apache-2.0
#include "tests/support/bus_vehicle.h"

namespace halfsplit::test {

namespace {

std::string number(std::size_t n) { return std::to_string(n); }
std::string module_name(std::size_t segment, std::size_t node) { return "M" + number(segment) + "-" + number(node); }

class Writer {
 public:
  Writer(std::size_t segments, std::size_t nodes) : segments_(segments), nodes_(nodes) {}

  std::string write() {
    text_ =
        "loom = 1\nname = \"All buses (invented)\"\nin_use = [\"key-on\"]\n[setups.key-on]\ndo = 0.2\n"
        "sets = { S1 = \"closed\" }\n[places.cab]\n[parts.BAT]\nkind = \"battery\"\n[parts.S1]\nkind = \"switch\"\n"
        "plug = false\n[frames.chassis]\n";
    for (std::size_t s = 0; s < segments_; ++s) segment(s);
    gateway();
    text_ += "[runs]\nplus = \"BAT:+ -[RD 16mm2 1m]-> S1\"\nminus = \"BAT:- -[BK 25mm2 1m]-> chassis\"\n" + runs_;
    return text_ + codes_;
  }

 private:
  void segment(std::size_t s) {
    const std::string bus = "bus " + number(s);
    text_ += "[buses.\"" + bus + "\"]\n[parts.F" + number(s) + "]\nkind = \"fuse\"\nrating_a = 15\n[splices.S-F" +
             number(s) + "]\n";
    runs_ +=
        "feed" + number(s) + " = \"S1:2 -[RD 4mm2 2m]-> F" + number(s) + " -[RD 4mm2 1m]-> S-F" + number(s) + "\"\n";
    for (std::size_t n = 0; n < nodes_; ++n) node(s, n, bus);
  }

  void node(std::size_t s, std::size_t n, const std::string& bus) {
    const std::string at = number(s) + "-" + number(n);
    const std::string name = module_name(s, n);
    text_ += "[splices.S-H" + at + "]\n[splices.S-L" + at + "]\n[modules." + name + "]\nplace = \"cab\"\n";
    if (n == 0 || n + 1 == nodes_) text_ += "inside = [{ kind = \"terminator\", pins = [\"A:3\", \"A:4\"] }]\n";
    text_ += "[modules." + name + ".pins]\n\"A:1\" = { role = \"supply\", draw_a = 0.2 }\n\"A:2\" = \"ground\"\n" +
             "\"A:3\" = { role = \"can-high\", bus = \"" + bus + "\" }\n\"A:4\" = { role = \"can-low\", bus = \"" +
             bus + "\" }\n";
    runs_ += "feed" + at + " = \"S-F" + number(s) + " -[RD 1mm2 2m]-> " + name + ".A:1\"\n";
    runs_ += "ground" + at + " = \"" + name + ".A:2 -[BN 1mm2 1m]-> chassis\"\n";
    for (const char* line : {"H", "L"}) {
      const std::string splice = std::string("S-") + line;
      const std::string attributes = " -[YE 0.5mm2 ";
      runs_ += std::string(line) + at + " = \"" + splice + at + attributes + "0.5m]-> " + name +
               (line[0] == 'H' ? ".A:3\"\n" : ".A:4\"\n");
      if (n > 0)
        runs_ += std::string(line) + "b" + at + " = \"" + splice + number(s) + "-" + number(n - 1) + attributes +
                 "3m]-> " + splice + at + "\"\n";
    }
    for (std::size_t k = 1; k <= 3; ++k) code(name, module_name(s, (n + k) % nodes_));
    if (segments_ > 1) code(name, module_name((s + 1) % segments_, n));
  }

  void code(const std::string& module, const std::string& lost) {
    codes_ += "[codes.\"" + module + " " + number(++count_) + " FMI 9\"]\nmodule = \"" + module + "\"\nlost = \"" +
              lost + "\"\n";
  }

  void gateway() {
    text_ += "[modules.GW]\nplace = \"cab\"\ngateway = [";
    std::string pins = "[modules.GW.pins]\n\"P:1\" = { role = \"supply\", draw_a = 0.3 }\n\"P:2\" = \"ground\"\n";
    runs_ += "feed-gw = \"S-F0 -[RD 1mm2 1m]-> GW.P:1\"\nground-gw = \"GW.P:2 -[BN 1mm2 1m]-> chassis\"\n";
    for (std::size_t s = 0; s < segments_; ++s) {
      text_ += (s == 0 ? "\"bus " : ", \"bus ") + number(s) + "\"";
      const std::string plug = "B" + number(s);
      pins += "\"" + plug + ":1\" = { role = \"can-high\", bus = \"bus " + number(s) + "\" }\n\"" + plug +
              ":2\" = { role = \"can-low\", bus = \"bus " + number(s) + "\" }\n";
      const std::string middle = number(s) + "-" + number(nodes_ / 2);
      runs_ += "gw-h" + number(s) + " = \"S-H" + middle + " -[YE 0.5mm2 1m]-> GW." + plug + ":1\"\n";
      runs_ += "gw-l" + number(s) + " = \"S-L" + middle + " -[GN 0.5mm2 1m]-> GW." + plug + ":2\"\n";
    }
    text_ += "]\n" + pins;
  }

  std::size_t segments_, nodes_, count_ = 520000;
  std::string text_, runs_, codes_;
};

}  // namespace

std::string make_bus_vehicle(std::size_t segments, std::size_t nodes) { return Writer(segments, nodes).write(); }

}  // namespace halfsplit::test
