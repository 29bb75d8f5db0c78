// SPDX-License-Identifier: Apache-2.0
// Can every message arrive, as the drawing is? From the buses of its sender over gateways to those who wait for it, and
// to the modules that set a code when it is lost (docs/formats/buses.md, "What becomes of the messages").
#include <algorithm>
#include <iterator>
#include <set>
#include <string>
#include <vector>

#include "circuit/oddity_checks.h"

namespace halfsplit::circuit {

namespace {

using Buses = std::set<BusId>;

class MessageCheck {
 public:
  MessageCheck(const Loom& loom, OddityList& list) : loom_(loom), list_(list) {}

  void run() {
    for (const Message& message : loom_.messages) check_message(message);
    for (const Code& code : loom_.codes)
      if (code.monitor == Code::Monitor::kLost) check_code(code);
  }

 private:
  [[nodiscard]] const Module& module(ModuleId id) const { return loom_.modules[id.index()]; }

  // The buses a module sits on, with all its pins there.
  [[nodiscard]] Buses seats_of(ModuleId id) const {
    Buses buses, high, low;
    for (const ModulePin& pin : module(id).pins) {
      if (pin.bus.is_none()) continue;
      if (pin.role == PinRole::kCanHigh) high.insert(pin.bus);
      if (pin.role == PinRole::kCanLow) low.insert(pin.bus);
      if (pin.role == PinRole::kBusWire) buses.insert(pin.bus);
    }
    std::set_intersection(high.begin(), high.end(), low.begin(), low.end(), std::inserter(buses, buses.end()));
    return buses;
  }

  // Those and all that gateways pass it on to.
  [[nodiscard]] Buses reached_from(Buses buses) const {
    for (bool grown = true; grown;) {
      grown = false;
      for (const Module& gateway : loom_.modules) {
        const bool hears = std::any_of(gateway.gateway.begin(), gateway.gateway.end(),
                                       [&](BusId bus) { return buses.count(bus) > 0; });
        if (!hears) continue;
        for (const BusId bus : gateway.gateway) grown = buses.insert(bus).second || grown;
      }
    }
    return buses;
  }

  [[nodiscard]] bool hears(ModuleId listener, const Buses& reached) const {
    const Buses seats = seats_of(listener);
    return std::any_of(seats.begin(), seats.end(), [&](BusId bus) { return reached.count(bus) > 0; });
  }

  [[nodiscard]] Buses sent_on(ModuleId sender, BusId only) const {
    return only.is_none() ? seats_of(sender) : Buses{only};
  }

  void check_message(const Message& message) {
    const Buses first = sent_on(message.from, message.bus);
    if (first.empty())
      return list_.warn("message-unsent", message.where,
                        "nobody sends message " + message.name + ": " + module(message.from).name + " sits on no bus",
                        "give it its bus pins, or leave the message out");
    const Buses reached = reached_from(first);
    for (const ModuleId listener : message.to)
      if (!hears(listener, reached))
        list_.warn("message-unheard", message.where,
                   module(listener).name + " waits for message " + message.name +
                       " and can never hear it: " + no_way(message.from, listener),
                   "give it a seat on the bus, or say in `gateway` which module passes it on");
  }

  [[nodiscard]] std::string no_way(ModuleId sender, ModuleId listener) const {
    if (seats_of(listener).empty()) return "it sits on no bus";
    return "no gateway leads from the buses of " + module(sender).name + " to its own";
  }

  // A module without bus pins counts as heard by everybody, and as hearing everybody.
  void check_code(const Code& code) {
    const std::string what = code.lost_message.is_none() ? module(code.lost).name
                                                         : "message " + loom_.messages[code.lost_message.index()].name;
    if (code.module == code.lost) {
      list_.warn("lost-never", code.where,
                 "code " + code.name + " is set when " + module(code.module).name + " misses its own messages",
                 "`lost` names another module, or a message of another module");
      return;
    }
    const BusId bus = code.lost_message.is_none() ? BusId() : loom_.messages[code.lost_message.index()].bus;
    const Buses first = sent_on(code.lost, bus);
    if (first.empty() || seats_of(code.module).empty() || hears(code.module, reached_from(first))) return;
    list_.warn("lost-never", code.where,
               module(code.module).name + " sets code " + code.name + " when it misses " + what +
                   ", and can never hear it: " + no_way(code.lost, code.module),
               "give both a seat on one bus, or say in `gateway` which module passes messages on");
  }

  const Loom& loom_;
  OddityList& list_;
};

}  // namespace

void check_messages(const Loom& loom, OddityList& list) { MessageCheck(loom, list).run(); }

}  // namespace halfsplit::circuit
