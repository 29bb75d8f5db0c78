// SPDX-License-Identifier: Apache-2.0
#include "evidence/observable_names.h"

#include "base/nearest.h"

namespace halfsplit::evidence {

using base::make_error;
using circuit::Netlist;

std::string trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t");
  if (first == std::string_view::npos) return "";
  return std::string(text.substr(first, text.find_last_not_of(" \t") - first + 1));
}

// Those that may have been meant: a lug only where something stands behind an @.
std::vector<std::string> point_names(const Netlist& netlist, const std::string& typed) {
  const bool at = typed.find('@') != std::string::npos;
  std::vector<std::string> names;
  for (const circuit::Point& point : netlist.points)
    if (at || point.lug.is_none()) names.push_back(point.name);
  return names;
}

base::Diagnostic unknown(const std::string& what, const std::string& name, const std::vector<std::string>& names) {
  const std::string near = base::did_you_mean(name, names);
  return make_error("test.unknown-name", "there is no " + what + " named \"" + name + "\" in this loom",
                    near.empty() ? "names are those of the loom; `halfsplit check` lists them" : near);
}

namespace {

base::Diagnostic unknown_point(const Netlist& netlist, const std::string& name) {
  const std::string near = base::did_you_mean(name, point_names(netlist, name));
  return make_error(
      "test.unknown-point", "there is no point named \"" + name + "\" in this loom",
      near.empty() ? "a point is CONNECTOR:CAVITY@SIDE, PART:TERMINAL, a splice, a stud or a frame" : near);
}

}  // namespace

// Names may hold blanks: every way to cut the text in two is tried.
base::Result<base::Done> parse_two_points(const Netlist& netlist, const std::string& text, Observable& observable) {
  std::string red_only;
  for (std::size_t cut = text.find(' '); cut != std::string::npos; cut = text.find(' ', cut + 1)) {
    const std::string left = trimmed(text.substr(0, cut));
    const std::string right = trimmed(text.substr(cut + 1));
    const auto red = circuit::find_point(netlist, left);
    const auto black = circuit::find_point(netlist, right);
    if (red && black) {
      observable.red = *red;
      observable.black = *black;
      if (*red == *black)
        return make_error("test.two-points", "both probes are on " + left, "name two different points");
      return base::Done{};
    }
    if (red) red_only = right;
    if (black && red_only.empty()) red_only = left;
  }
  if (text.find(' ') == std::string::npos)
    return make_error("test.two-points", "this test needs two points, red first: \"" + text + "\" is one",
                      "for example: volts " + text + " chassis");
  return unknown_point(netlist, red_only.empty() ? text.substr(0, text.find(' ')) : red_only);
}

base::Result<base::Done> parse_point(const Netlist& netlist, const std::string& text, circuit::PointId& point) {
  const auto found = circuit::find_point(netlist, text);
  if (!found) return unknown_point(netlist, text);
  point = *found;
  return base::Done{};
}

}  // namespace halfsplit::evidence
