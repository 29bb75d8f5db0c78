// SPDX-License-Identifier: Apache-2.0
// Every round writes the circuit as it stands as SPICE text: opens are left out, each island gets one 0 V source to
// ground as its only tie, filaments are behavioural current sources that ngspice solves by Newton's method, diodes are
// a knee behind a slope while they conduct. States then move in the documented order.
#include "tests/oracle/spice_oracle.h"

#include <charconv>
#include <cmath>
#include <numeric>
#include <set>

#include "circuit/bus_kinds.h"

namespace halfsplit::oracle {

namespace {

using circuit::ElementKind;
using circuit::NodeId;
using electrical::Instrument;
using fault::FaultKind;

constexpr double kColdShare = 1.0 / 12.0;  // filament, cold over hot
constexpr double kLeastOhm = 1.0e-6;       // a dead short
constexpr double kLeadOhm = 0.05;          // a lead and its clips
constexpr int kDiodeRounds = 60;
constexpr int kTogether = 10;  // rounds in which all wrong diodes turn at once
constexpr int kMiddleRounds = 60;
constexpr int kLastRounds = 60;

std::string text_of(double value) {
  char buffer[40];
  const auto end = std::to_chars(buffer, buffer + sizeof buffer, value).ptr;
  return {buffer, end};
}
std::string name_of(NodeId node) { return "n" + std::to_string(node.value); }
std::string name_of(char letter, std::size_t piece) { return letter + std::to_string(piece); }

}  // namespace

SpiceOracle::SpiceOracle(Ngspice& spice, const circuit::Loom& loom, const circuit::Netlist& netlist,
                         const circuit::Configuration& configuration)
    : spice_(spice), loom_(loom), netlist_(netlist), configuration_(configuration), dead_(netlist.modules.size(), 0) {
  add_elements();
  add_fitted();
}

bool SpiceOracle::all_made(const std::vector<circuit::SetupId>& setups) const {
  for (const circuit::SetupId setup : setups)
    if (!configuration_.made.contains(setup)) return false;
  return true;
}

// ---- the drawing in a configuration
// ---------------------------------------------------------------------------------------

void SpiceOracle::add_elements() {
  for (const circuit::Element& e : netlist_.elements) {
    Piece p;
    p.kind = e.kind;
    p.a = e.a;
    p.b = e.b;
    p.c = e.c;
    p.d = e.d;
    p.ohm = e.ohm;
    p.volt = e.volt;
    p.share = e.share;
    p.blow_a = e.blow_a;
    p.limit_a = e.limit_a;
    p.off_ohm = e.off_ohm;
    p.drop_out_v = e.drop_out_v;
    p.follows_v = e.follows_v;
    p.follows_below = e.follows_below;
    p.normally_closed = e.normally_closed;
    p.control = e.control;
    p.module = e.module;
    if (e.kind == ElementKind::kContact) p.there = !configuration_.unplugged.contains(e.connector);
    if (e.kind == ElementKind::kSource || e.kind == ElementKind::kDiode) p.there = all_made(e.on_with);
    if (e.kind == ElementKind::kDriver) p.commanded = !e.on_with.empty() && all_made(e.on_with);
    if (e.kind == ElementKind::kSwitch) {
      p.there = e.normally_closed;
      for (const circuit::SetupId setup : configuration_.made)
        for (const auto& [part, closed] : loom_.setups[setup.index()].sets)
          if (part == e.part) p.there = closed;
    }
    pieces_.push_back(p);
  }
}

void SpiceOracle::add_fitted() {
  for (const circuit::Fitted& f : configuration_.fitted) {
    const double own = f.kind == circuit::Fitted::Kind::kStandIn ? f.ohm : 0.0;
    add_resistor(netlist_.points[f.a.index()].node, netlist_.points[f.b.index()].node, own + kLeadOhm);
  }
}

std::size_t SpiceOracle::add_resistor(NodeId a, NodeId b, double ohm) {
  Piece p;
  p.a = a;
  p.b = b;
  p.ohm = std::max(ohm, kLeastOhm);
  pieces_.push_back(p);
  return pieces_.size() - 1;
}

// ---- faults
// -----------------------------------------------------------------------------------------------------------------

// A known-good part or module takes away what was wrong inside the old one, not its contacts, lugs or wires.
bool SpiceOracle::mended_by_swapping(const fault::Fault& fault) const {
  if (!fault.element.is_none() && netlist_.elements[fault.element.index()].kind == ElementKind::kJoint) return false;
  if (fault.kind == FaultKind::kDoubled) return false;  // one too many elsewhere on the bus
  if (fault.item.kind == circuit::Item::Kind::kPart)
    return configuration_.swapped_parts.contains(circuit::PartId(fault.item.index));
  if (fault.item.kind == circuit::Item::Kind::kModule)
    return configuration_.swapped_modules.contains(circuit::ModuleId(fault.item.index));
  return false;
}

void SpiceOracle::put_fault(const fault::Fault& fault, double severity) {
  if (mended_by_swapping(fault)) return;
  Piece* piece = fault.element.is_none() ? nullptr : &pieces_[fault.element.index()];
  switch (fault.kind) {
    case FaultKind::kIntermittent:  // in a moment in which it shows
      if (!fault.module.is_none())
        dead_[fault.module.index()] = 1;
      else if (!fault.a.is_none())
        add_resistor(fault.a, fault.b, severity);
      else
        piece->broken = true;
      return;
    case FaultKind::kOpen:
    case FaultKind::kBlown:
    case FaultKind::kMissing:
    case FaultKind::kCoilOpen:
    case FaultKind::kOutputDead:
    case FaultKind::kNoCharge:
      piece->broken = true;
      return;
    case FaultKind::kHighResistance:
    case FaultKind::kBurnt:
      piece->ohm += severity;
      return;
    case FaultKind::kWeak:
      piece->ohm = severity;
      return;
    case FaultKind::kWrongValue:
      (piece->kind == ElementKind::kRatio ? piece->share : piece->ohm) *= severity;
      return;
    case FaultKind::kStuck: {
      if (fault.other.is_none()) {
        piece->share = severity;
        return;
      }
      Piece& rest = pieces_[fault.other.index()];  // of the track
      const double track = piece->ohm + rest.ohm;
      piece->ohm = std::max(0.5, track * severity);
      rest.ohm = std::max(0.5, track * (1.0 - severity));
      return;
    }
    case FaultKind::kLowCharge:
    case FaultKind::kOvercharge:
    case FaultKind::kFlat:
      piece->volt *= severity;
      return;
    case FaultKind::kOutputStuckOn:
      piece->welded = true;
      return;
    case FaultKind::kStuckOpen:
    case FaultKind::kStuckClosed: {  // of a change-over relay both contacts stand as one armature
      const bool closed = fault.kind == FaultKind::kStuckClosed;
      (closed ? piece->welded : piece->broken) = true;
      for (Piece& other : pieces_)
        if (&other != piece && piece->kind == ElementKind::kRelayContact && other.kind == ElementKind::kRelayContact &&
            other.control == piece->control)
          (closed != (other.normally_closed == piece->normally_closed) ? other.broken : other.welded) = true;
      return;
    }
    case FaultKind::kToGround:
    case FaultKind::kToSupply:
    case FaultKind::kTouches:
    case FaultKind::kWater:
    case FaultKind::kShorted:
    case FaultKind::kDoubled:
    case FaultKind::kInputDamaged:
    case FaultKind::kLeaks:
      add_resistor(fault.a, fault.b, severity);
      return;
    case FaultKind::kSwapped: {  // the two terminals sit in each other's cavity; apart, a plug joins nothing
      const Piece one = pieces_[fault.element.index()];
      const Piece two = pieces_[fault.other.index()];
      pieces_[fault.element.index()].broken = pieces_[fault.other.index()].broken = true;
      if (!one.there) return;
      add_resistor(one.a, two.b, one.ohm);
      add_resistor(two.a, one.b, two.ohm);
      return;
    }
    case FaultKind::kDead:
      dead_[fault.module.index()] = 1;
      return;
    case FaultKind::kHoldsBus:
      for (const circuit::Transceiver& seat : netlist_.transceivers)
        if (seat.module == fault.module && seat.bus == fault.bus) hold(seat);
      return;
    case FaultKind::kMute:
    case FaultKind::kBabbles:
    case FaultKind::kPassesNothing:
      return;  // nothing of the circuit
  }
}

// Its driven rails on its lines (docs/formats/buses.md).
void SpiceOracle::hold(const circuit::Transceiver& seat) {
  const circuit::BusKindRecord& kind = circuit::bus_kind(netlist_.buses.at(seat.bus.index()).kind);
  add_resistor(seat.drive_high, seat.high, kind.high.drive_ohm);
  if (!seat.low.is_none()) add_resistor(seat.drive_low, seat.low, kind.low.drive_ohm);
}

bool SpiceOracle::open_for_good(circuit::ElementId fuse) {
  if (configuration_.swapped_parts.contains(netlist_.elements[fuse.index()].part)) return false;
  pieces_[fuse.index()].broken = true;
  return true;
}

std::vector<circuit::ElementId> SpiceOracle::melted_at_rest() {
  standing_ = power_up();
  clamp_ = SIZE_MAX;
  std::vector<circuit::ElementId> melted;
  if (settle() != Settled::kYes) return melted;
  for (std::size_t i = 0; i < standing_.melted.size(); ++i)
    if (standing_.melted[i] != 0) melted.emplace_back(i);
  return melted;
}

void SpiceOracle::note_states(Coverage& met) const {
  if (island_.empty()) return;  // nothing had to be solved
  for (std::size_t i = 0; i < netlist_.elements.size(); ++i) {
    const circuit::Element& e = netlist_.elements[i];
    const auto either = [&](char on, const char* yes, const char* no) { met.note_state(on != 0 ? yes : no); };
    if (e.kind == ElementKind::kRelayCoil) either(standing_.coil[i], "relay in", "relay out");
    if (e.kind == ElementKind::kDiode && loom_.parts[e.part.index()].kind == circuit::PartKind::kDiode)
      either(standing_.diode[i], "diode conducts", "diode blocks");
    if (e.kind == ElementKind::kDiode && conducts(i) && loom_.parts[e.part.index()].led) met.note_state("LED lit");
    if (e.kind == ElementKind::kDiode && conducts(i) &&
        loom_.parts[e.part.index()].kind == circuit::PartKind::kAlternator)
      met.note_state("alternator feeds");
    if (e.kind == ElementKind::kLamp && conducts(i) && std::abs(between(e.a, e.b)) > 1.0)
      met.note_state("filament lit");
    if (e.kind == ElementKind::kDriver) either(standing_.driver[i], "driver on", "driver off");
    if (e.kind == ElementKind::kDriver && standing_.tripped[i] != 0) met.note_state("driver tripped");
    if (e.kind == ElementKind::kFuse && standing_.melted[i] != 0) met.note_state("fuse melted");
    if (e.kind == ElementKind::kRatio) either(standing_.sensor[i], "sensor output on", "sensor output off");
  }
  for (const char alive : standing_.alive) met.note_state(alive != 0 ? "module alive" : "module not alive");
}

// ---- states, in the documented order
// ------------------------------------------------------------------------------------------

SpiceOracle::Standing SpiceOracle::power_up() const {
  Standing s;
  for (std::vector<char>* list : {&s.diode, &s.coil, &s.sensor, &s.driver, &s.tripped, &s.melted})
    list->assign(pieces_.size(), 0);
  s.alive.assign(dead_.size(), 0);
  return s;
}

void SpiceOracle::fit_standing() {
  Standing& s = standing_;
  for (std::vector<char>* list : {&s.diode, &s.coil, &s.sensor, &s.driver, &s.tripped, &s.melted})
    list->resize(pieces_.size(), 0);
}

bool SpiceOracle::conducts(std::size_t index) const {
  const Piece& p = pieces_[index];
  if (p.broken) return false;
  if (p.welded) return true;
  switch (p.kind) {
    case ElementKind::kRelayContact:
      return (standing_.coil[p.control.index()] != 0) != p.normally_closed;
    case ElementKind::kDiode:
      return p.there && standing_.diode[index] != 0;
    case ElementKind::kFuse:
      return standing_.melted[index] == 0;
    case ElementKind::kDriver:
      return standing_.driver[index] != 0;
    case ElementKind::kRatio:
      return standing_.sensor[index] != 0;
    default:
      return p.there;
  }
}

SpiceOracle::Settled SpiceOracle::settle() {
  for (int round = 0; round < kLastRounds; ++round) {
    std::set<Standing> met;
    for (bool moved = true; moved;) {
      const Settled diodes = settle_diodes();
      if (diodes != Settled::kYes) return diodes;
      moved = move_middle();
      if (moved && (!met.insert(standing_).second || met.size() > kMiddleRounds)) return Settled::kNo;
    }
    if (!switch_one_off()) return Settled::kYes;
  }
  return Settled::kNo;
}

SpiceOracle::Settled SpiceOracle::settle_diodes() {
  for (int round = 0; round < kDiodeRounds; ++round) {
    if (!solve()) return Settled::kNoAnswer;
    std::size_t worst = SIZE_MAX;
    double worst_error = 0.0;
    std::vector<std::size_t> wrong;
    for (std::size_t i = 0; i < pieces_.size(); ++i) {
      const Piece& p = pieces_[i];
      if (p.kind != ElementKind::kDiode || !p.there || p.broken) continue;
      double error = 0.0;
      if (standing_.diode[i] != 0) {
        error = -amperes(i) > (fine_ ? 1.0e-13 : 1.0e-10) ? -amperes(i) * (1.0 + p.ohm) : 0.0;
      } else {
        // Across islands the ties decide; no current can come of it before something else joins them too.
        const double over = volts(p.a) - volts(p.b) - p.volt;
        error = over > 1.0e-7 ? over : 0.0;
      }
      if (error <= 0.0) continue;
      wrong.push_back(i);
      if (error > worst_error) {
        worst_error = error;
        worst = i;
      }
    }
    if (wrong.empty()) return Settled::kYes;
    if (round >= kTogether) wrong = {worst};
    for (const std::size_t i : wrong) standing_.diode[i] = standing_.diode[i] == 0;
  }
  return Settled::kNo;
}

// Modules, relay coils, sensors and drivers, all judged on one solution.
bool SpiceOracle::move_middle() {
  Standing next = standing_;
  for (std::size_t m = 0; m < dead_.size(); ++m) {
    const circuit::ModuleWiring& wiring = netlist_.modules[m];
    next.alive[m] = dead_[m] == 0 && between(wiring.supply, wiring.ground) >= wiring.alive_above_v;
  }
  for (std::size_t i = 0; i < pieces_.size(); ++i) {
    const Piece& p = pieces_[i];
    if (p.kind == ElementKind::kRelayCoil)
      next.coil[i] = !p.broken && std::abs(between(p.a, p.b)) >= (standing_.coil[i] != 0 ? p.drop_out_v : p.volt);
    if (p.kind == ElementKind::kRatio) next.sensor[i] = p.volt <= 0.0 || between(p.c, p.d) >= p.volt;
    if (p.kind == ElementKind::kDriver) {
      bool wanted = p.commanded;
      if (!wanted && !p.c.is_none()) wanted = (between(p.c, p.d) < p.follows_v) == p.follows_below;
      next.driver[i] = wanted && next.alive[p.module.index()] != 0 && standing_.tripped[i] == 0;
    }
  }
  const bool moved = next != standing_;
  standing_ = std::move(next);
  return moved;
}

// A driver above its limit, else a fuse above what it melts at: the one that is furthest above.
bool SpiceOracle::switch_one_off() {
  for (const ElementKind kind : {ElementKind::kDriver, ElementKind::kFuse}) {
    std::size_t worst = SIZE_MAX;
    double worst_ratio = 1.0;
    for (std::size_t i = 0; i < pieces_.size(); ++i) {
      const Piece& p = pieces_[i];
      const double limit = kind == ElementKind::kDriver ? p.limit_a : p.blow_a;
      if (p.kind != kind || p.welded || limit <= 0.0 || !conducts(i)) continue;
      const double ratio = std::abs(amperes(i)) / limit;
      if (ratio > worst_ratio) {
        worst_ratio = ratio;
        worst = i;
      }
    }
    if (worst == SIZE_MAX) continue;
    if (kind == ElementKind::kDriver) {
      standing_.tripped[worst] = 1;
      standing_.driver[worst] = 0;
    } else {
      standing_.melted[worst] = 1;
    }
    return true;
  }
  return false;
}

// ---- one circuit as it stands
// ---------------------------------------------------------------------------------------------------

void SpiceOracle::find_islands() {
  island_.resize(netlist_.node_count());
  std::iota(island_.begin(), island_.end(), std::size_t{0});
  const auto root = [&](std::size_t n) {
    while (island_[n] != n) n = island_[n] = island_[island_[n]];
    return n;
  };
  for (std::size_t i = 0; i < pieces_.size(); ++i)
    if (!pieces_[i].current_source && conducts(i)) {
      const std::size_t a = root(pieces_[i].a.index());
      const std::size_t b = root(pieces_[i].b.index());
      island_[std::min(a, b)] = std::max(a, b);
    }
  for (std::size_t n = 0; n < island_.size(); ++n) island_[n] = root(n);
}

bool SpiceOracle::joined(NodeId a, NodeId b) const { return island_[a.index()] == island_[b.index()]; }
double SpiceOracle::volts(NodeId node) const { return spice_.volts(name_of(node)); }
double SpiceOracle::between(NodeId a, NodeId b) const { return joined(a, b) ? volts(a) - volts(b) : 0.0; }

void SpiceOracle::write_piece(std::size_t i) {
  const Piece& p = pieces_[i];
  if (p.current_source) {
    lines_.push_back(name_of('i', i) + " " + name_of(p.a) + " " + name_of(p.b) + " " + text_of(p.ampere));
    return;
  }
  if (!conducts(i)) return;
  std::string a = name_of(p.a);
  const std::string b = name_of(p.b);
  if (i == clamp_) {
    lines_.push_back("vclamp " + a + " nclamp 0");
    a = "nclamp";
  }
  const auto resistor = [&](const std::string& to, double ohm) {
    if (ohm <= 0.0) {
      lines_.push_back(name_of('v', i) + "z " + a + " " + to + " 0");
    } else if (fine_ && ohm < 1.0) {
      lines_.push_back(name_of('v', i) + "h " + a + " " + name_of('h', i) + " 0");
      lines_.push_back(name_of('h', i) + " " + name_of('h', i) + " " + to + " " + name_of('v', i) + "h " +
                       text_of(ohm));
    } else {
      lines_.push_back(name_of('r', i) + " " + a + " " + to + " " + text_of(ohm));
    }
  };
  const std::string inner = name_of('x', i);
  const bool alive = p.kind == ElementKind::kRail && standing_.alive[p.module.index()] != 0;
  if (p.kind == ElementKind::kSource || p.kind == ElementKind::kDiode || alive) {
    resistor(inner, p.ohm);
    lines_.push_back(name_of('v', i) + " " + inner + " " + b + " " + text_of(p.volt));
  } else if (p.kind == ElementKind::kRail) {
    resistor(b, p.off_ohm);
  } else if (p.kind == ElementKind::kLamp) {
    const std::string v = "v(" + a + "," + b + ")";
    const double k2 = kColdShare * kColdShare;
    lines_.push_back(name_of('b', i) + " " + a + " " + b + " i=" + v + "/(" + text_of(p.ohm) + "*sqrt(" + text_of(k2) +
                     "+" + text_of((1.0 - k2) / p.volt) + "*abs(" + v + ")))");
  } else if (p.kind == ElementKind::kRatio) {
    resistor(inner, p.ohm);
    lines_.push_back(name_of('e', i) + " " + inner + " " + b + " " + name_of(p.c) + " " + name_of(p.d) + " " +
                     text_of(p.share));
  } else {
    resistor(b, p.ohm);
  }
}

void SpiceOracle::write_lines() {
  lines_.assign(1, "one circuit as it stands");
  for (std::size_t i = 0; i < pieces_.size(); ++i) write_piece(i);
  std::vector<char> used(island_.size(), 0);  // islands with anything written on them
  for (std::size_t i = 0; i < pieces_.size(); ++i) {
    if (!pieces_[i].current_source && !conducts(i)) continue;
    for (const NodeId node : {pieces_[i].a, pieces_[i].b, pieces_[i].c, pieces_[i].d})
      if (!node.is_none()) used[island_[node.index()]] = 1;
  }
  // Tied at the minus of its first source: across a meter's 10 Mohm the rounding of twenty amperes would be read as
  // volts.
  std::vector<std::size_t> tie = island_;
  for (std::size_t i = pieces_.size(); i-- > 0;)
    if (pieces_[i].kind == ElementKind::kSource && conducts(i))
      tie[island_[pieces_[i].b.index()]] = pieces_[i].b.index();
  for (std::size_t n = 0; n < island_.size(); ++n)
    if (used[n] != 0 && island_[n] == n) lines_.push_back(name_of('v', n) + "tie " + name_of(NodeId(tie[n])) + " 0 0");
  lines_.emplace_back(".options reltol=1e-9 abstol=1e-12 vntol=1e-9 gmin=1e-15 itl1=300");
}

bool SpiceOracle::solve() {
  ++rounds_;
  find_islands();
  write_lines();
  return spice_.run(lines_);
}

double SpiceOracle::amperes(std::size_t index) const {
  const Piece& p = pieces_[index];
  if (!conducts(index)) return 0.0;
  if (p.kind == ElementKind::kDiode || p.kind == ElementKind::kSource) return spice_.amperes(name_of('v', index));
  return (volts(p.a) - volts(p.b)) / p.ohm;
}

// ---- meters
// -----------------------------------------------------------------------------------------------------------------------

bool SpiceOracle::filament_lit() const {
  for (std::size_t i = 0; i < pieces_.size(); ++i)
    if (pieces_[i].kind == ElementKind::kLamp && conducts(i) && std::abs(between(pieces_[i].a, pieces_[i].b)) > 1.0e-6)
      return true;
  return false;
}

Answer SpiceOracle::outcome(Settled settled, double value) const {
  if (settled == Settled::kNo) return {Answer::Kind::kUnsettled, 0.0, false};
  if (settled == Settled::kNoAnswer) return {Answer::Kind::kNoAnswer, 0.0, false};
  return {Answer::Kind::kValue, value, filament_lit()};
}

Answer SpiceOracle::read(const Meter& meter) {
  rounds_ = 0;
  standing_ = power_up();
  clamp_ = SIZE_MAX;
  if (meter.instrument == Instrument::kOhms) return read_ohms(meter);
  if (meter.instrument == Instrument::kClamp) {
    clamp_ = meter.wire.index();
    const Settled settled = settle();
    return outcome(settled, conducts(clamp_) ? spice_.amperes("vclamp") : 0.0);
  }
  const Settled stands = settle();
  if (stands != Settled::kYes) return outcome(stands, 0.0);
  if (meter.red == meter.black) return {};
  const std::size_t own = add_resistor(meter.red, meter.black, 1.0e7);
  if (meter.instrument == Instrument::kTestLamp) {
    pieces_[own].kind = ElementKind::kLamp;
    pieces_[own].volt = loom_.system_volts;
    pieces_[own].ohm = loom_.system_volts * loom_.system_volts / 5.0;
  }
  fit_standing();
  const Settled settled = settle();
  const Answer answer = outcome(settled, between(meter.red, meter.black));
  pieces_.pop_back();
  return answer;
}

// The circuit comes to rest first; then the meter's small current is put through it, range by range, each from there.
Answer SpiceOracle::read_ohms(const Meter& meter) {
  const Settled rest = settle();
  if (rest != Settled::kYes) return outcome(rest, 0.0);
  if (meter.red == meter.black) return {};
  if (!joined(meter.red, meter.black) || std::abs(between(meter.red, meter.black)) > 0.05)
    return {Answer::Kind::kOverRange, 0.0, false};
  Answer answer{Answer::Kind::kOverRange, 0.0, false};
  const Standing before = standing_;
  for (double range = 600.0; range <= 6.0e7; range *= 10.0) {
    Piece current;
    current.current_source = true;
    current.a = meter.black;
    current.b = meter.red;
    current.ampere = 0.6 / range;
    pieces_.push_back(current);
    standing_ = before;
    fit_standing();
    const Settled settled = settle();
    const Answer here = outcome(settled, between(meter.red, meter.black) / current.ampere);
    pieces_.pop_back();
    if (here.kind != Answer::Kind::kValue) return here;
    if (here.value <= range) {
      answer = here;
      break;
    }
  }
  return answer;
}

}  // namespace halfsplit::oracle
