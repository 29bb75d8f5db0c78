// SPDX-License-Identifier: Apache-2.0
#include "app/words.h"

#include <algorithm>
#include <cmath>

#include "base/number.h"
#include "circuit/part_kinds.h"
#include "evidence/observable_text.h"
#include "infer/explain.h"

namespace halfsplit::app {

namespace {

using evidence::Kind;

// A band of about 95 %, from the mixture's own ends.
struct Band {
  double mean = 0.0, low = 0.0, high = 0.0, over_range = 0.0;
  bool known = false;
};

Band band_of(const evidence::Prediction& prediction) {
  Band band;
  double weight = 0.0;
  for (const evidence::Component& c : prediction.components) {
    if (c.over_range) {
      band.over_range += c.weight;
      continue;
    }
    const double low = c.mean - 2.0 * c.sigma;
    const double high = c.mean + 2.0 * c.sigma;
    band.low = band.known ? std::min(band.low, low) : low;
    band.high = band.known ? std::max(band.high, high) : high;
    band.known = true;
    band.mean += c.weight * c.mean;
    weight += c.weight;
  }
  if (weight > 0.0) band.mean /= weight;
  return band;
}

std::string value_text(const circuit::Loom& loom, const evidence::Observable& what, double value) {
  evidence::Seen seen;
  seen.value = std::abs(value) < 5e-4 && what.kind != Kind::kLive ? 0.0 : value;
  return evidence::format_seen(loom, what, seen);
}

std::string categories_text(const circuit::Loom& loom, const evidence::Observable& what,
                            const evidence::Prediction& prediction) {
  std::vector<std::pair<double, std::string>> parts;
  for (std::size_t i = 0; i < evidence::categories(what.kind).size(); ++i) {
    double p = 0.0;
    for (const evidence::Component& c : prediction.components) p += c.weight * static_cast<double>(c.category[i]);
    evidence::Seen seen;
    seen.category = static_cast<int>(i);
    if (p > 0.015) parts.emplace_back(p, evidence::format_seen(loom, what, seen));
  }
  std::stable_sort(parts.begin(), parts.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  std::string text;
  for (const auto& [p, word] : parts)
    text += (text.empty() ? "" : ", ") + word + (parts.size() > 1 ? " " + percent(p) : "");
  return text;
}

// Readings in two kinds or more - comes and goes, a relay in or out - are never told by their mean: "25.1 V 85 %,
// 0.00 V 15 %". Empty: one kind, besides `none`.
std::string kinds_text(const circuit::Loom& loom, const evidence::Observable& what,
                       const evidence::Prediction& prediction, const std::string& none) {
  struct Kindred {
    evidence::Component first;
    double weight;
  };
  std::vector<Kindred> kinds;
  for (const evidence::Component& c : prediction.components) {
    const auto same = std::find_if(kinds.begin(), kinds.end(), [&](const Kindred& k) {
      if (c.over_range || k.first.over_range) return c.over_range == k.first.over_range;
      return std::abs(c.mean - k.first.mean) <= 3.0 * (c.sigma + k.first.sigma) ||
             value_text(loom, what, c.mean) == value_text(loom, what, k.first.mean);
    });
    if (same == kinds.end())
      kinds.push_back({c, c.weight});
    else
      same->weight += c.weight;
  }
  std::erase_if(kinds, [](const Kindred& k) { return k.weight < 0.005; });
  if (std::count_if(kinds.begin(), kinds.end(), [](const Kindred& k) { return !k.first.over_range; }) < 2) return "";
  std::stable_sort(kinds.begin(), kinds.end(), [](const Kindred& a, const Kindred& b) { return a.weight > b.weight; });
  std::string text;
  for (const Kindred& k : kinds)
    text += (text.empty() ? "" : ", ") + (k.first.over_range ? none : value_text(loom, what, k.first.mean)) + " " +
            percent(k.weight);
  return text;
}

Json act_list(const std::vector<std::string>& names) {
  Json list = Json::array();
  for (const std::string& name : names) list.push_back(name);
  return list;
}

std::string rests_text(const circuit::Loom& loom, const evidence::Observable& what,
                       const evidence::Prediction& prediction) {
  if (!prediction.settled) return "no rest (the circuit goes round in states)";
  if (prediction.components.empty()) return "not known";
  if (!evidence::is_numeric(what.kind)) return categories_text(loom, what, prediction);
  const Band band = band_of(prediction);
  const std::string none = what.kind == Kind::kLive ? "no value" : "OL";
  if (!band.known) return none;
  std::string text = value_text(loom, what, band.mean);
  const std::string kinds = kinds_text(loom, what, prediction, band.over_range > 0.005 ? none : "");
  if (!kinds.empty()) return kinds;
  const std::string low = value_text(loom, what, band.low);
  const std::string high = value_text(loom, what, band.high);
  if (what.kind == Kind::kOhms && band.low < 0.0)  // too little for this meter to tell from none
    text = "0 to " + high;
  else if (band.high - band.low > 0.02 * std::abs(band.mean) && low != high)
    text += " (" + low + " to " + high + ")";
  if (band.over_range > 0.005) text = none + " " + percent(band.over_range) + ", else " + text;
  return text;
}

}  // namespace

std::string percent(double probability) {
  if (probability < 0.005) return "<1 %";
  if (probability > 0.995) return ">99 %";
  return std::to_string(static_cast<int>(std::lround(probability * 100.0))) + " %";
}

std::string minutes_text(double minutes) {
  if (minutes >= 59.5) {
    const int whole = static_cast<int>(std::lround(minutes));
    return std::to_string(whole / 60) + " h" + (whole % 60 == 0 ? "" : " " + std::to_string(whole % 60) + " min");
  }
  if (minutes >= 9.95) return std::to_string(static_cast<int>(std::lround(minutes))) + " min";
  const int tenths = static_cast<int>(std::lround(minutes * 10.0));
  return std::to_string(tenths / 10) + (tenths % 10 == 0 ? "" : "." + std::to_string(tenths % 10)) + " min";
}

std::size_t display_width(std::string_view text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

std::string padded(std::string text, std::size_t width) {
  const std::size_t have = display_width(text);
  if (have < width) text.append(width - have, ' ');
  return text;
}

std::string wrap(const std::string& text, std::size_t indent) {
  constexpr std::size_t kWidth = 78;
  std::string out(std::min(text.find_first_not_of(' '), text.size()), ' ');
  std::size_t column = out.size();
  for (std::size_t at = out.size(); at < text.size();) {
    std::size_t end = text.find(' ', at);
    if (end == std::string::npos) end = text.size();
    const std::string word = text.substr(at, end - at);
    const std::size_t width = display_width(word);
    if (column > indent && column + width > kWidth) {
      while (out.ends_with(' ')) out.pop_back();
      out += "\n" + std::string(indent, ' ');
      column = indent;
    }
    out += word;
    column += width;
    at = end + 1;
    if (at < text.size()) {
      out += " ";
      ++column;
    }
  }
  return out;
}

std::string prediction_text(const circuit::Loom& loom, const evidence::Observable& what,
                            const evidence::Prediction& prediction) {
  std::string text = rests_text(loom, what, prediction);
  double no_rest = prediction.settled && !prediction.components.empty() ? 1.0 : 0.0;
  for (const evidence::Component& c : prediction.components) no_rest -= c.weight;
  return no_rest > 0.005 ? text + ", no rest " + percent(no_rest) : text;
}

Json prediction_json(const evidence::Observable& what, const evidence::Prediction& prediction) {
  Json json;
  json["settled"] = prediction.settled;
  if (!evidence::is_numeric(what.kind)) {
    Json chances = Json::object();
    for (std::size_t i = 0; i < evidence::categories(what.kind).size(); ++i) {
      double p = 0.0;
      for (const evidence::Component& c : prediction.components) p += c.weight * static_cast<double>(c.category[i]);
      chances[std::string(evidence::categories(what.kind)[i])] = p;
    }
    json["chances"] = chances;
    return json;
  }
  const Band band = band_of(prediction);
  json["over_range"] = band.over_range;
  json["value"] = band.known ? Json(band.mean) : Json(nullptr);
  json["low"] = band.known ? Json(band.low) : Json(nullptr);
  json["high"] = band.known ? Json(band.high) : Json(nullptr);
  const std::vector<evidence::Component>& parts = prediction.components;
  if (parts.size() == 1 && parts.front().weight > 1.0 - 1.0e-9) return json;
  for (const evidence::Component& c : parts) {
    Json part{{"chance", c.weight}};
    if (c.over_range)
      part["over_range"] = true;
    else
      part.update({{"value", c.mean}, {"low", c.mean - 2.0 * c.sigma}, {"high", c.mean + 2.0 * c.sigma}});
    json["parts"].push_back(part);
  }
  return json;
}

Json seen_json(const evidence::Observable& what, const evidence::Seen& seen) {
  Json json = Json::object();
  if (seen.category >= 0) {
    json["word"] = std::string(evidence::categories(what.kind)[static_cast<std::size_t>(seen.category)]);
    json["category"] = seen.category;
  } else if (seen.over_range) {
    json["over_range"] = true;
  } else {
    json["value"] = seen.value;
  }
  return json;
}

Json melted_json(const LoadedLoom& loom, const std::vector<fault::FaultId>& melted) {
  Json list = Json::array();
  for (const fault::FaultId id : melted)
    list.push_back(loom.loom.parts.at(loom.universe.faults.at(id.index()).item.index).name);
  return list;
}

std::string melted_text(const LoadedLoom& loom, const std::vector<fault::FaultId>& melted) {
  std::string names;
  for (const Json& name : melted_json(loom, melted)) names += (names.empty() ? "" : ", ") + name.get<std::string>();
  return names.empty() ? "" : "; blows " + names + " at work";
}

Json configuration_json(const LoadedLoom& loom, const circuit::Configuration& configuration) {
  Json json;
  std::vector<std::string> made;
  std::vector<std::string> unplugged;
  for (const circuit::SetupId s : configuration.made) made.push_back(loom.loom.setups[s.index()].name);
  for (const circuit::ConnectorId c : configuration.unplugged)
    unplugged.push_back(loom.loom.connectors[c.index()].name);
  json["made"] = act_list(made);
  json["unplugged"] = act_list(unplugged);
  Json fitted = Json::array();
  for (const circuit::Fitted& f : configuration.fitted)
    fitted.push_back({{"kind", f.kind == circuit::Fitted::Kind::kLead ? "lead" : "resistor"},
                      {"ohm", f.ohm},
                      {"a", loom.netlist.points[f.a.index()].name},
                      {"b", loom.netlist.points[f.b.index()].name}});
  json["fitted"] = fitted;
  Json swapped = Json::array();
  for (const circuit::PartId p : configuration.swapped_parts) swapped.push_back(loom.loom.parts[p.index()].name);
  for (const circuit::ModuleId m : configuration.swapped_modules) swapped.push_back(loom.loom.modules[m.index()].name);
  json["swapped"] = swapped;
  return json;
}

std::string configuration_text(const LoadedLoom& loom, const circuit::Configuration& configuration) {
  std::string text;
  for (const candidates::Act& act : candidates::acts_of(configuration))
    text += (text.empty() ? "" : ", ") + candidates::describe(loom.loom, loom.netlist, act).name;
  return text.empty() ? "as parked: nothing made, all plugs together" : text;
}

Json entry_json(const job::Entry& entry) {
  return {{"n", entry.number},    {"at", entry.at},           {"verb", entry.verb},    {"what", entry.what},
          {"shows", entry.shows}, {"minutes", entry.minutes}, {"struck", entry.struck}};
}

std::string entry_line(const job::Entry& entry) {
  return "  " + padded(std::to_string(entry.number), 4) + entry.verb + " " + entry.what +
         (entry.shows.empty() ? "" : "  " + entry.shows) + (entry.struck ? "   (taken back)" : "") + "\n";
}

Json kit_json(const job::Kit& kit) {
  return {{"resistors", kit.resistors},
          {"clamp", kit.clamp},
          {"test_lamp", kit.test_lamp},
          {"long_lead", kit.long_lead},
          {"reader", kit.reader},
          {"heat_gun", kit.heat_gun},
          {"cold_spray", kit.cold_spray},
          {"scope", kit.scope},
          {"money_per_hour", kit.money_per_hour},
          {"fetch_minutes", kit.fetch_minutes},
          {"road_minutes", kit.road_minutes}};
}

Json point_json(const LoadedLoom& loom, circuit::PointId id) {
  const circuit::Point& point = loom.netlist.points.at(id.index());
  Json json;
  json["point"] = point.name;
  if (!point.connector.is_none()) {
    const circuit::Connector& c = loom.loom.connectors[point.connector.index()];
    json["connector"] = c.name;
    json["cavity"] = point.cavity;
    json["side"] = c.sides[point.side];
  }
  if (!point.lug.is_none()) json["lug_of"] = loom.loom.wires[point.lug.index()].name;
  if (!point.place.is_none()) json["place"] = loom.loom.places[point.place.index()].name;
  return json;
}

std::string point_text(const LoadedLoom& loom, circuit::PointId id) {
  const circuit::Point& point = loom.netlist.points.at(id.index());
  std::string text = point.name;
  if (!point.connector.is_none()) {
    const circuit::Connector& c = loom.loom.connectors[point.connector.index()];
    text = c.name + " cavity " + point.cavity + ", " + c.sides[point.side] + " side";
  }
  if (!point.lug.is_none())
    text = point.name.substr(0, point.name.find('@')) + ", lug of " + loom.loom.wires[point.lug.index()].name;
  if (!point.place.is_none()) text += " (" + loom.loom.places[point.place.index()].name + ")";
  return text;
}

Json observable_json(const LoadedLoom& loom, const evidence::Observable& what) {
  Json json;
  json["what"] = evidence::format_observable(loom.loom, loom.netlist, what);
  json["instrument"] = what.kind == Kind::kAnswers ? "module" : std::string(evidence::kind_word(what.kind));
  if (!what.red.is_none()) json["red"] = point_json(loom, what.red);
  if (!what.black.is_none()) json["black"] = point_json(loom, what.black);
  if (!what.wire.is_none()) json["wire"] = loom.loom.wires[what.wire.index()].name;
  if (!what.code.is_none()) json["code"] = loom.loom.codes[what.code.index()].name;
  if (!what.live.is_none()) json["live"] = loom.loom.lives[what.live.index()].name;
  if (!what.part.is_none()) json["part"] = loom.loom.parts[what.part.index()].name;
  if (!what.module.is_none()) json["module"] = loom.loom.modules[what.module.index()].name;
  if (!what.bus.is_none()) json["bus"] = loom.loom.buses[what.bus.index()].name;
  if (!what.from.is_none()) json["from"] = loom.loom.modules[what.from.index()].name;
  const auto modules = [&](const char* key, const std::vector<circuit::ModuleId>& ids) {
    for (const circuit::ModuleId id : ids) json[key].push_back(loom.loom.modules[id.index()].name);
  };
  modules("together", what.together);
  modules("meanwhile", what.meanwhile);
  if (!what.connector.is_none()) json["connector"] = loom.loom.connectors[what.connector.index()].name;
  const std::string_view unit = evidence::unit_of(loom.loom, what);
  if (!unit.empty()) json["unit"] = std::string(unit);
  if (!evidence::is_numeric(what.kind)) {
    Json words = Json::array();
    for (const std::string_view word : evidence::categories(what.kind)) words.push_back(std::string(word));
    json["results"] = words;
  }
  json["configuration"] = configuration_json(loom, what.configuration);
  return json;
}

std::string instrument_text(const evidence::Observable& what, const meters::MeterProfile& meter) {
  switch (what.kind) {
    case Kind::kVolts:
      return "meter on DC volts";
    case Kind::kHighest:
      return "scope, or meter that holds peaks, on DC volts: the highest";
    case Kind::kLowest:
      return "scope, or meter that holds peaks, on DC volts: the lowest";
    case Kind::kOhms:
      return std::string("meter on ohms, supply off, leads ") + (meter.lead_ohm > 0.0 ? "not zeroed" : "zeroed");
    case Kind::kContinuity:
      return "meter on continuity, supply off";
    case Kind::kClamp:
      return "DC current clamp, arrow in the direction of the run";
    case Kind::kTestLamp:
      return "test lamp (" + base::format_number(meter.lamp_watt) + " W)";
    case Kind::kCode:
    case Kind::kLive:
    case Kind::kAnswers:
      return "code reader";
    case Kind::kHeard:
    case Kind::kQuiet:
    case Kind::kHears:
      return "a recording of the bus, a minute or more";
    case Kind::kLook:
      return "look";
    case Kind::kInspect:
      return what.wire.is_none() ? "your eyes, a lamp, a thumb: green, burnt, wet, bent, pushed back or loose is marked"
                                 : "your eyes, a lamp, along its run: rubbed, pinched, melted or stretched is marked";
    case Kind::kWiggle:
      return "move it by hand and watch the symptom";
    case Kind::kHeat:
      return "hot air, until it is warm to the hand, while the symptom is watched";
    case Kind::kCool:
      return "cold spray, some seconds, while the symptom is watched";
  }
  return "";
}

std::vector<LeftBehind> left_behind(const Session& session) {
  std::vector<LeftBehind> left;
  for (const candidates::Act& act : candidates::acts_of(session.state)) {
    const candidates::ActRecord record = candidates::describe(session.drawing(), session.loom().netlist, act);
    // What the vehicle is driven with is not left behind: the key goes with the driver.
    const std::vector<circuit::SetupId>& in_use = session.drawing().in_use;
    const bool normal =
        act.kind == candidates::Act::Kind::kSetup && std::find(in_use.begin(), in_use.end(), act.setup) != in_use.end();
    if (!record.leave && !normal) left.push_back({record.name, record.undo_name, record.caution, record.undo_minutes});
  }
  return left;
}

std::string left_behind_text(const std::vector<LeftBehind>& left) {
  if (left.empty()) return "Left behind: nothing.\n";
  std::string text = "Still to undo before you leave:\n";
  for (const LeftBehind& item : left)
    text += "  " + padded(item.name, 40) + " halfsplit did \"" + item.undo_name + "\"\n";
  return text;
}

Json left_behind_json(const std::vector<LeftBehind>& left) {
  Json list = Json::array();
  for (const LeftBehind& item : left)
    list.push_back(
        {{"act", item.name}, {"undo", item.undo_name}, {"minutes", item.minutes}, {"caution", item.caution}});
  return list;
}

Json diagnostics_json(const std::vector<base::Diagnostic>& diagnostics) {
  Json list = Json::array();
  for (const base::Diagnostic& d : diagnostics) {
    Json json;
    json["severity"] = d.severity == base::Severity::kError     ? "error"
                       : d.severity == base::Severity::kWarning ? "warning"
                                                                : "note";
    json["code"] = d.code;
    json["message"] = d.message;
    if (!d.hint.empty()) json["hint"] = d.hint;
    if (!d.where.file.empty()) json["file"] = d.where.file;
    if (d.where.line > 0) {
      json["line"] = d.where.line;
      json["column"] = d.where.column;
    }
    list.push_back(json);
  }
  return list;
}

std::string slug(const std::string& name, const std::string& otherwise) {
  std::string out;
  for (const char c : name) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
    if (plain)
      out += c;
    else if (c >= 'A' && c <= 'Z')
      out += static_cast<char>(c + 32);
    else if (!out.empty() && out.back() != '-')
      out += '-';
  }
  while (out.ends_with('-')) out.pop_back();
  return out.empty() ? otherwise : out.substr(0, 40);
}

}  // namespace halfsplit::app
