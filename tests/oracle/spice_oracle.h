// SPDX-License-Identifier: Apache-2.0
// A second opinion on every reading: the same drawing, the same documented rules (docs/formats/loom.md part 2;
// circuit/netlist.h, fault/fault.h, electrical/meter.h, electrical/states.h), but solved by ngspice, with the states of
// parts decided here. Nothing of electrical's laws, states, islands or meters is used. Units: V, A, ohm.
#pragma once

#include <string>
#include <vector>

#include "circuit/configuration.h"
#include "circuit/netlist.h"
#include "electrical/meter.h"
#include "fault/fault.h"
#include "tests/oracle/coverage.h"
#include "tests/oracle/ngspice.h"

namespace halfsplit::oracle {

struct Meter {
  electrical::Instrument instrument = electrical::Instrument::kVolts;
  circuit::NodeId red, black;
  circuit::ElementId wire;  // clamp
};

struct Answer {
  enum class Kind : std::uint8_t { kValue, kOverRange, kUnsettled, kNoAnswer };  // kNoAnswer: ngspice found none
  Kind kind = Kind::kValue;
  double value = 0.0;
  bool filament = false;  // a filament carried current: not a linear circuit
};

class SpiceOracle {
 public:
  SpiceOracle(Ngspice& spice, const circuit::Loom& loom, const circuit::Netlist& netlist,
              const circuit::Configuration& configuration);

  void put_fault(const fault::Fault& fault, double severity);
  // A fuse that melted at work; false, and nothing done, when a new one is in.
  bool open_for_good(circuit::ElementId fuse);
  // Settles without a meter; the fuses that melted, none when the circuit finds no rest.
  [[nodiscard]] std::vector<circuit::ElementId> melted_at_rest();
  // The states of everything in the circuit last solved.
  void note_states(Coverage& met) const;
  [[nodiscard]] Answer read(const Meter& meter);
  // Writes resistances below an ohm as a voltage that follows their own current, which ngspice solves to 1e-9 instead
  // of 1e-6 where a leakage of 1e-7 S decides; two to three times slower.
  void be_fine() { fine_ = true; }
  // The lines of the last run, to reproduce it by hand.
  [[nodiscard]] const std::vector<std::string>& lines() const { return lines_; }
  // Does this element carry current in the circuit last solved, as this oracle sees it?
  [[nodiscard]] bool carries(circuit::ElementId element) const { return conducts(element.index()); }
  [[nodiscard]] int rounds() const { return rounds_; }

 private:
  struct Piece {
    circuit::ElementKind kind = circuit::ElementKind::kResistor;
    circuit::NodeId a, b, c, d;
    double ohm = 0.0, volt = 0.0, share = 0.0, blow_a = 0.0, limit_a = 0.0, off_ohm = 0.0, drop_out_v = 0.0,
           follows_v = 0.0;
    double ampere = 0.0;  // a current source from a to b
    bool follows_below = false, normally_closed = false;
    bool there = true;       // plug together, switch closed, source running
    bool commanded = false;  // driver
    bool broken = false;     // never conducts
    bool welded = false;     // always conducts
    bool current_source = false;
    circuit::ElementId control;
    circuit::ModuleId module;
  };
  // What stands how: one entry per piece, or per module.
  struct Standing {
    std::vector<char> diode, coil, sensor, driver, tripped, melted, alive;
    friend auto operator<=>(const Standing&, const Standing&) = default;
  };
  enum class Settled : std::uint8_t { kYes, kNo, kNoAnswer };

  [[nodiscard]] bool all_made(const std::vector<circuit::SetupId>& setups) const;
  void add_elements();
  void add_fitted();
  std::size_t add_resistor(circuit::NodeId a, circuit::NodeId b, double ohm);
  void hold(const circuit::Transceiver& seat);
  [[nodiscard]] bool mended_by_swapping(const fault::Fault& fault) const;

  [[nodiscard]] Standing power_up() const;
  void fit_standing();  // to the pieces there are now; new ones are off
  [[nodiscard]] bool conducts(std::size_t piece) const;
  [[nodiscard]] Settled settle();
  [[nodiscard]] Settled settle_diodes();
  [[nodiscard]] bool move_middle();
  [[nodiscard]] bool switch_one_off();

  [[nodiscard]] bool solve();
  void find_islands();
  void write_lines();
  void write_piece(std::size_t piece);
  [[nodiscard]] double volts(circuit::NodeId node) const;
  [[nodiscard]] double between(circuit::NodeId a, circuit::NodeId b) const;  // 0 when nothing joins them
  [[nodiscard]] double amperes(std::size_t piece) const;
  [[nodiscard]] bool joined(circuit::NodeId a, circuit::NodeId b) const;
  [[nodiscard]] Answer outcome(Settled settled, double value) const;
  [[nodiscard]] Answer read_ohms(const Meter& meter);
  [[nodiscard]] bool filament_lit() const;

  Ngspice& spice_;
  const circuit::Loom& loom_;
  const circuit::Netlist& netlist_;
  circuit::Configuration configuration_;
  std::vector<Piece> pieces_;
  std::vector<char> dead_;  // by module
  Standing standing_;
  std::vector<std::size_t> island_;  // by node
  std::size_t clamp_ = SIZE_MAX;     // piece with an ammeter in it
  std::vector<std::string> lines_;
  int rounds_ = 0;
  bool fine_ = false;
};

}  // namespace halfsplit::oracle
