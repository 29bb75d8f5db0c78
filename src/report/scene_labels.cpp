// SPDX-License-Identifier: Apache-2.0
#include "report/scene_labels.h"

#include <cmath>
#include <cstddef>

#include "base/number.h"
#include "circuit/netlist.h"
#include "circuit/part_kinds.h"

namespace halfsplit::report {

namespace {

using circuit::PartKind;

constexpr const char* kOhm = "\xCE\xA9";
constexpr const char* kSquare = "\xC2\xB2";

// Three figures, without zeros at the end.
std::string short_number(double value) {
  std::string text = base::format_significant(value, 3);
  if (text.find('.') == std::string::npos) return text;
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text;
}

std::string ohm_label(double ohm) {
  if (!std::isfinite(ohm) || ohm <= 0.0) return "";
  // Judged as rounded: 999.9 is 1 k.
  if (ohm >= 999.5e3) return short_number(ohm / 1e6) + " M" + kOhm;
  if (ohm >= 999.5) return short_number(ohm / 1e3) + " k" + kOhm;
  return short_number(ohm) + " " + kOhm;
}

std::string unit_label(double value, const char* unit) {
  return std::isfinite(value) && value > 0.0 ? short_number(value) + " " + unit : "";
}

std::string load_label(const circuit::Part& part) {
  const std::string watt = unit_label(part_value(part, "watt"), "W");
  return watt.empty() ? ohm_label(part_value(part, "ohm")) : watt;
}

class Lines {
 public:
  void add(std::string_view what, std::string_view text) {
    if (text.empty()) return;
    if (!text_.empty()) text_ += "\n";
    text_ += what;
    text_ += text;
  }
  [[nodiscard]] const std::string& text() const { return text_; }

 private:
  std::string text_;
};

std::string place_name(const circuit::Loom& loom, circuit::PlaceId place) {
  return place.is_none() ? "" : loom.places.at(place.index()).name;
}

std::string hazard_text(circuit::Hazard hazard) {
  return hazard == circuit::Hazard::kNone ? "" : std::string(circuit::hazard_word(hazard));
}

std::string wire_ohm(const circuit::Wire& wire) { return wire.ohm ? ohm_label(*wire.ohm) : ""; }

}  // namespace

std::string part_value_label(const circuit::Part& part) {
  switch (part.kind) {
    case PartKind::kFuse:
      return unit_label(part_value(part, "rating_a"), "A");
    case PartKind::kLamp:
      return unit_label(part_value(part, "watt"), "W") + (part.led ? " LED" : "");
    case PartKind::kMotor:
    case PartKind::kSolenoid:
    case PartKind::kHeater:
      return load_label(part);
    case PartKind::kResistor:
    case PartKind::kTerminator:
    case PartKind::kPotentiometer:
      return ohm_label(part_value(part, "ohm"));
    case PartKind::kRelay:
      return ohm_label(part_value(part, "coil_ohm"));
    case PartKind::kBattery:
    case PartKind::kAlternator:
      return unit_label(part_value(part, "volt"), "V");
    case PartKind::kNtc:
    case PartKind::kPtc:
    case PartKind::kSender:
      return ohm_label(circuit::sensor_ohm(part));
    case PartKind::kSwitch:
    case PartKind::kDiode:
    case PartKind::kThreeWireSensor:
      return "";
  }
  return "";
}

std::string part_hint(const circuit::Loom& loom, const circuit::Part& part) {
  Lines lines;
  lines.add("", part.name + ": " + std::string(circuit::part_kind(part.kind).word));
  lines.add("", part_value_label(part));
  lines.add("place: ", place_name(loom, part.place));
  lines.add("part number: ", part.part_number);
  lines.add("care: ", hazard_text(part.hazard));
  lines.add("caution: ", part.caution);
  return lines.text();
}

std::string module_hint(const circuit::Loom& loom, const circuit::Module& module) {
  Lines lines;
  lines.add("", module.name + ": module");
  lines.add("place: ", place_name(loom, module.place));
  lines.add("part number: ", module.part_number);
  lines.add("care: ", hazard_text(module.hazard));
  lines.add("caution: ", module.caution);
  return lines.text();
}

std::string plug_hint(const circuit::Loom& loom, const circuit::Connector& plug) {
  Lines lines;
  lines.add("", plug.name + ": connector");
  for (const std::size_t side : {0U, 1U}) lines.add(plug.sides[side] + " side: ", place_name(loom, plug.place[side]));
  lines.add("care: ", hazard_text(plug.hazard));
  lines.add("caution: ", plug.caution);
  return lines.text();
}

std::string wire_label_above(const circuit::Wire& wire) {
  std::string text = wire.colour;
  if (wire.size_mm2) text += (text.empty() ? "" : " ") + short_number(*wire.size_mm2);
  return text;
}

std::string wire_label_below(const circuit::Wire& wire) {
  std::string text = wire.ohm ? wire_ohm(wire) : wire.length_m ? unit_label(*wire.length_m, "m") : "";
  const std::string hazard = hazard_text(wire.hazard);
  if (!hazard.empty()) text += (text.empty() ? "" : " ") + hazard;
  return text;
}

std::string wire_hint(const circuit::Loom& loom, const circuit::Wire& wire) {
  Lines lines;
  lines.add("", "wire " + wire.name + ": " + circuit::end_point_name(loom, wire.from) + " to " +
                    circuit::end_point_name(loom, wire.to));
  lines.add("colour ", wire.colour);
  if (wire.size_mm2) lines.add("", short_number(*wire.size_mm2) + " mm" + kSquare);
  if (wire.length_m) lines.add("", unit_label(*wire.length_m, "m"));
  lines.add("", wire_ohm(wire));
  lines.add("bundle ", wire.bundle);
  lines.add("twisted pair ", wire.pair);
  lines.add("most exposed: ", place_name(loom, wire.place));
  lines.add("care: ", hazard_text(wire.hazard));
  return lines.text();
}

std::string lane_detail(const circuit::Loom& loom, const circuit::Place& place) {
  std::string text = short_number(place.minutes) + " min";
  for (const circuit::SetupId need : place.needs) text += ", " + loom.setups.at(need.index()).name;
  return text;
}

}  // namespace halfsplit::report
