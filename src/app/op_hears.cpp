// SPDX-License-Identifier: Apache-2.0
// Who hears whom on each bus, healthy or under a fault: levels, margins, what becomes of the messages.
#include <algorithm>

#include "app/expect_arguments.h"
#include "app/ops.h"
#include "app/words.h"
#include "base/nearest.h"
#include "base/number.h"
#include "predict/bus.h"

namespace halfsplit::app {

namespace {

constexpr double kHeard = 0.5;         // of the messages: heard
constexpr double kFewVolts = 0.35;     // a link whose levels pass the threshold by less is said to be close
constexpr double kNoLevel = -1.0e4;    // V, below any margin between levels: beyond the common mode nothing is read
constexpr std::size_t kMostNames = 8;  // of those who do not hear one

class Teller {
 public:
  Teller(const LoadedLoom& loom, circuit::BusId bus, const predict::BusPicture& picture)
      : loom_(loom), bus_(bus), picture_(picture), kind_(circuit::bus_kind(drawn().kind)) {
    for (const std::size_t s : loom.netlist.buses[bus.index()].seats)
      names_.push_back(loom.loom.modules[loom.netlist.transceivers[s].module.index()].name);
  }

  [[nodiscard]] Json json() const {
    Json seats = Json::array();
    for (std::size_t s = 0; s < names_.size(); ++s) seats.push_back(seat_json(s));
    return {{"bus", drawn().name}, {"kind", kind_.word}, {"bit_rate", drawn().bit_rate}, {"seats", seats}};
  }

  [[nodiscard]] std::string text() const {
    std::string text = "bus " + drawn().name + ", " + std::string(kind_.word) + ", " +
                       base::format_number(drawn().bit_rate) + " kbit/s (" + std::string(kind_.standard) + ")\n";
    std::size_t width = 6;
    for (const std::string& name : names_) width = std::max(width, name.size());
    for (std::size_t s = 0; s < names_.size(); ++s)
      text += "  " + padded(names_[s], width) + "  " +
              padded(std::string(can::standing_word(picture_.standing[s])), 12) + "  at rest " + rest_text(s) +
              ", driven " + driven_text(s) + "\n  " + std::string(width + 2, ' ') + wrap(heard_text(s), width + 4) +
              "\n";
    return text;
  }

 private:
  [[nodiscard]] const circuit::Bus& drawn() const { return loom_.loom.buses[bus_.index()]; }
  [[nodiscard]] double arrives(std::size_t s, std::size_t r) const { return picture_.arrives[s * names_.size() + r]; }
  [[nodiscard]] double margin(std::size_t s, std::size_t r) const { return picture_.margin[s * names_.size() + r]; }

  [[nodiscard]] Json seat_json(std::size_t s) const {
    const predict::BusLevels& levels = picture_.levels;
    Json heard_by = Json::array();
    for (std::size_t r = 0; r < names_.size(); ++r) {
      if (r == s) continue;
      Json heard{{"module", names_[r]}, {"arrives", arrives(s, r)}};
      if (margin(s, r) > kNoLevel) heard["margin_v"] = margin(s, r);
      heard_by.push_back(std::move(heard));
    }
    Json seat{{"module", names_[s]},
              {"standing", can::standing_word(picture_.standing[s])},
              {"busy", picture_.busy[s]},
              {"rest_high_v", levels.rest_high[s]},
              {"driven_high_v", levels.driven_high[s * levels.seats + s]},
              {"settles_us", levels.tau_s[s] * 1.0e6},
              {"heard_by", heard_by}};
    if (kind_.two_wires) {
      seat["rest_low_v"] = levels.rest_low[s];
      seat["driven_low_v"] = levels.driven_low[s * levels.seats + s];
    }
    return seat;
  }

  [[nodiscard]] std::string volts(double high, double low) const {
    const auto one = [](double v) { return base::format_quantity(v, base::Unit::kVolt); };
    return kind_.two_wires ? one(high) + " / " + one(low) : one(high);
  }
  [[nodiscard]] std::string rest_text(std::size_t s) const {
    return volts(picture_.levels.rest_high[s], picture_.levels.rest_low[s]);
  }
  [[nodiscard]] std::string driven_text(std::size_t s) const {
    const std::size_t own = s * picture_.levels.seats + s;
    return volts(picture_.levels.driven_high[own], picture_.levels.driven_low[own]);
  }

  [[nodiscard]] std::string heard_text(std::size_t s) const {
    std::vector<std::string> deaf;
    std::size_t heard = 0;
    double least = 1.0e9;
    for (std::size_t r = 0; r < names_.size(); ++r) {
      if (r == s) continue;
      if (arrives(s, r) >= kHeard) {
        ++heard;
        least = std::min(least, margin(s, r));
      } else {
        deaf.push_back(names_[r]);
      }
    }
    if (names_.size() == 1) return "nobody else sits on this bus";
    std::string text = heard == 0 ? "heard by nobody" : deaf.empty() ? "heard by all" : "not heard by ";
    for (std::size_t i = 0; i < deaf.size() && heard != 0 && i < kMostNames; ++i)
      text += (i == 0 ? "" : ", ") + deaf[i];
    if (heard != 0 && deaf.size() > kMostNames) text += " and " + std::to_string(deaf.size() - kMostNames) + " more";
    if (heard != 0 && least < kFewVolts)
      text += "; close: " + base::format_quantity(std::max(0.0, least), base::Unit::kVolt) + " above the threshold";
    return text;
  }

  const LoadedLoom& loom_;
  circuit::BusId bus_;
  const predict::BusPicture& picture_;
  const circuit::BusKindRecord& kind_;
  std::vector<std::string> names_;
};

struct Heard {
  Json json = Json::array();
  std::string text;
};

Heard tell_buses(BeliefEngine& engine, const predict::Case& which, const circuit::Configuration& state,
                 const std::vector<circuit::BusId>& buses) {
  Heard heard;
  const LoadedLoom& loom = engine.loom();
  engine.campaign().with_view(which, state, [&](predict::CircuitView& view) {
    if (!view.settled()) {
      heard.text = "the circuit finds no rest: nothing can be said of its buses\n";
      return;
    }
    for (const circuit::BusId bus : buses) {
      if (loom.netlist.buses[bus.index()].seats.empty()) {
        heard.text += "bus " + loom.loom.buses[bus.index()].name + ": no module sits on it\n";
        continue;
      }
      const std::shared_ptr<const predict::BusPicture> picture =
          predict::bus_picture(engine.campaign().scene(), view, bus);
      const Teller teller(loom, bus, *picture);
      heard.json.push_back(teller.json());
      heard.text += teller.text();
    }
  });
  return heard;
}

base::Result<std::vector<circuit::BusId>> buses_asked(const circuit::Loom& loom, const std::string& name) {
  std::vector<circuit::BusId> buses;
  std::vector<std::string> names;
  for (std::size_t b = 0; b < loom.buses.size(); ++b) {
    names.push_back(loom.buses[b].name);
    if (name.empty() || name == loom.buses[b].name) buses.emplace_back(b);
  }
  if (loom.buses.empty())
    return base::make_error("hears.no-bus", "this loom has no bus",
                            "give its modules pins of role can-high and can-low, or bus-wire");
  if (buses.empty())
    return base::make_error("hears.unknown-bus", "there is no bus named \"" + name + "\"",
                            base::did_you_mean(name, names));
  return buses;
}

}  // namespace

Reply op_hears(Context& context, const Arguments& arguments) {
  base::Result<Session> session = session_to_expect(context, arguments);
  if (!session) return fail(session.diagnostics());
  const LoadedLoom& loom = session->loom();
  std::vector<base::Diagnostic> problems;
  do_first(*session, arguments, problems);
  const std::vector<Supposed> supposed = suppose(loom, arguments, problems);
  const base::Result<std::vector<circuit::BusId>> buses = buses_asked(loom.loom, arguments.get("bus"));
  if (!buses) problems.insert(problems.end(), buses.diagnostics().begin(), buses.diagnostics().end());
  if (!problems.empty()) return fail(problems);
  circuit::Configuration state = candidates::electrical_part(loom.loom, session->state);
  // Without a word about the state: at work, where modules talk.
  if (arguments.all("with").empty()) state.made.insert(loom.loom.in_use.begin(), loom.loom.in_use.end());
  Reply reply;
  reply.text = "state: " + configuration_text(loom, state) + "\n";
  std::vector<Supposed> all = supposed;
  if (all.empty()) all.push_back({"", {}});
  Json list = Json::array();
  for (const Supposed& one : all) {
    const Heard heard = tell_buses(*session->engine, one.which, state, *buses);
    if (!one.name.empty()) reply.text += "if " + one.name + ":\n";
    reply.text += heard.text;
    Json row{{"buses", heard.json}};
    if (!one.name.empty()) row["fault"] = one.name;
    list.push_back(row);
  }
  reply.result = {{"configuration", configuration_json(loom, state)}, {"under", list}};
  return reply;
}

}  // namespace halfsplit::app
