// SPDX-License-Identifier: Apache-2.0
#include "formats/wire_attributes.h"

#include <algorithm>
#include <set>
#include <utility>
#include <variant>

#include "base/number.h"
#include "formats/text_place.h"
#include "formats/value_text.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

const std::vector<std::string_view> kKeys{"bundle", "pair", "place", "name", "caution", "hazard", "rate"};

// Numbers begin with a digit, R47, or AWG; colours never do.
bool looks_like_number(std::string_view value) {
  const auto digit = [&](std::size_t i) { return i < value.size() && value[i] >= '0' && value[i] <= '9'; };
  return digit(0) || (digit(1) && std::string_view(".R+-<>").find(value[0]) != std::string_view::npos) ||
         parse_awg(value).has_value();
}

}  // namespace

void WireAttributes::problem(const RunAttribute& attribute, std::string code, std::string message, std::string hint) {
  report_problem(draft_.report, run_,
                 {std::move(code), std::move(message), std::move(hint), attribute.offset, attribute.length});
}

void WireAttributes::read(const RunLink& link, circuit::Wire& wire) {
  std::set<std::string_view> seen;
  for (const RunAttribute& attribute : link.attributes) {
    const std::string_view what = read_one(attribute, wire);
    if (!what.empty() && !seen.insert(what).second)
      problem(attribute, "bad-attribute", "the " + std::string(what) + " of this wire is given twice", "give it once");
  }
}

std::string_view WireAttributes::read_one(const RunAttribute& attribute, circuit::Wire& wire) {
  const std::string& key = attribute.key;
  if (key.empty())
    return looks_like_number(attribute.value) ? read_quantity(attribute, wire) : read_colour(attribute, wire);
  if (key == "bundle") {
    read_name(attribute, wire.bundle, false);
  } else if (key == "pair") {
    read_name(attribute, wire.pair, false);
  } else if (key == "name") {
    read_name(attribute, wire.name, true);
  } else if (key == "place") {
    read_place(attribute, wire);
  } else if (key == "caution") {
    wire.caution = attribute.value;
  } else if (key == "hazard" || key == "rate") {
    read_word(attribute, wire);
  } else {
    problem(attribute, "bad-attribute", "\"" + text::shorten(key, 40) + "\" is no attribute of a wire",
            (draft_.report.full() ? "" : suggest(key, kKeys)) +
                "; colour, size, length and resistance stand without a key: RD 0.5mm2 2m 0R3");
  }
  return key;
}

std::string_view WireAttributes::read_colour(const RunAttribute& attribute, circuit::Wire& wire) {
  const Parsed<std::string> colour = parse_colour(attribute.value);
  if (const auto* bad = std::get_if<TextProblem>(&colour))
    problem(attribute, bad->code, bad->message, bad->hint);
  else
    wire.colour = std::get<std::string>(colour);
  return "colour";
}

std::string_view WireAttributes::read_quantity(const RunAttribute& attribute, circuit::Wire& wire) {
  if (const std::optional<double> area = parse_awg(attribute.value)) {
    wire.size_mm2 = within(attribute, "size_mm2", *area);
    return "size";
  }
  const char* const forms = "write 0.5mm2 or AWG18, 2.1m, or 0R3";
  const base::Result<base::Quantity> read = base::parse_quantity(attribute.value);
  const base::Unit unit = read.ok() && !read->over_range ? read->unit : base::Unit::kNone;
  if (!read.ok()) {
    const bool bad_unit = read.diagnostics().front().code == "number.unknown-unit";
    problem(attribute, bad_unit ? "bad-unit" : "bad-number", read.diagnostics().front().message, forms);
  } else if (unit == base::Unit::kSquareMillimetre) {
    wire.size_mm2 = within(attribute, "size_mm2", read->value);
    return "size";
  } else if (unit == base::Unit::kMetre) {
    wire.length_m = within(attribute, "length_m", read->value);
    return "length";
  } else if (unit == base::Unit::kOhm) {
    wire.ohm = within(attribute, "ohm", read->value);
    return "resistance";
  } else {
    problem(attribute, "bad-unit", "\"" + text::shorten(attribute.value, 40) + "\" is no size, length or resistance",
            forms);
  }
  return {};
}

std::optional<double> WireAttributes::within(const RunAttribute& attribute, std::string_view field, double value) {
  const LoomField& limits = *loom_table(TableKind::kWire).find(field);
  if (value >= limits.low && value <= limits.high) return value;
  problem(attribute, "out-of-range", "\"" + attribute.value + "\" is out of range for a wire",
          "it lies between " + base::format_number(limits.low) + " and " + base::format_number(limits.high) + " " +
              std::string(unit_name(limits.unit)));
  return std::nullopt;
}

void WireAttributes::read_name(const RunAttribute& attribute, std::string& name, bool dots) {
  if (const std::optional<TextProblem> bad = check_name(attribute.value, dots))
    return problem(attribute, bad->code, bad->message, bad->hint);
  name = attribute.value;
}

void WireAttributes::read_place(const RunAttribute& attribute, circuit::Wire& wire) {
  if (const NameSet::Entry* known = draft_.places.find(attribute.value)) {
    wire.place = circuit::PlaceId(known->index);
    return;
  }
  TextPlace place(draft_.report.sources().at(run_.at.file), run_.at);
  const text::Position at = draft_.report.full() ? run_.at : place.at(attribute.value_at);
  wire.place = draft_.place(PlacedText{attribute.value, at});
}

void WireAttributes::read_word(const RunAttribute& attribute, circuit::Wire& wire) {
  if (attribute.key == "rate") {
    const Parsed<double> number = parse_number(attribute.value, base::Unit::kNone);
    if (const auto* bad = std::get_if<TextProblem>(&number))
      return problem(attribute, bad->code, bad->message, bad->hint);
    wire.rate = within(attribute, "rate", std::get<double>(number)).value_or(1.0);
    return;
  }
  const std::vector<std::string_view>& words = loom_table(TableKind::kWire).find("hazard")->words;
  const auto found = std::find(words.begin(), words.end(), attribute.value);
  if (found == words.end())
    return problem(attribute, "bad-word", "\"" + text::shorten(attribute.value, 40) + "\" is no hazard known here",
                   draft_.report.full() ? "" : suggest(attribute.value, words));
  wire.hazard = static_cast<circuit::Hazard>(found - words.begin() + 1);
}

}  // namespace halfsplit::formats
