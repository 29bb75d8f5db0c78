// SPDX-License-Identifier: Apache-2.0
// The fast path: one circuit in one configuration, solved once; every fault, meter and change of state is a low-rank
// update on the rows of the branches it touches, exact for opens and shorts, and looks only at the states it can move
// (watches.h). What an update cannot decide safely (a rest that hangs on the way of the whole vehicle, too many
// changes, an ill-placed pivot) is factorised anew, never guessed. Not for several threads at once. The model's netlist
// must outlive the bench.
#pragma once

#include <array>
#include <deque>
#include <memory>
#include <optional>
#include <span>
#include <unordered_map>
#include <utility>
#include <vector>

#include "electrical/latches.h"
#include "electrical/near_states.h"
#include "electrical/operating_point.h"
#include "electrical/pieces.h"
#include "electrical/readings.h"
#include "electrical/rest_circuit.h"
#include "electrical/transfers.h"
#include "fault/change_hash.h"
#include "sparse/dense.h"

namespace halfsplit::electrical {

class FaultBench {
 public:
  FaultBench(Model model, double system_volts);
  ~FaultBench();
  FaultBench(const FaultBench&) = delete;
  FaultBench& operator=(const FaultBench&) = delete;

  [[nodiscard]] const OperatingPoint& healthy() const { return rest_.point(); }
  [[nodiscard]] Status status() const { return rest_.point().status; }

  // How faults came to stand is kept from now on, so that one that is put in again is there at once. Not by a bench of
  // which few faults are asked twice: each takes up to some kilobytes.
  void remember_landings() { remembers_ = true; }
  // The tolerances that spreads will be asked with: what melts is then told with its margin (States::gone).
  void expect(const Tolerances& tolerance);
  // Puts a fault in until the next put_fault or clear.
  void put_fault(const std::vector<fault::Change>& changes);
  void clear();
  [[nodiscard]] Status fault_status() const { return fault_status_; }

  // Of the circuit with the fault now in it.
  [[nodiscard]] double volts(NodeId node) const;
  [[nodiscard]] double amperes(std::size_t branch) const;
  [[nodiscard]] const States& states() const;
  [[nodiscard]] bool together(NodeId a, NodeId b) const;
  // Could it rest in another way than from power-up (rests.h)? Cheap; no: surely not, but for what only the fault
  // joins.
  [[nodiscard]] bool may_rest_otherwise();
  // Without tolerances sigma is not worked out. What is kept for one set of them is lost with another.
  [[nodiscard]] Predicted read(const Probe& probe, const Tolerances& tolerance);
  [[nodiscard]] Predicted evaluate(const Functional& functional, const Tolerances& tolerance);

  // With the fault's states as they stand (transfers.h). What the circuit at rest answers is kept by the lists asked.
  [[nodiscard]] Transfers transfers(std::span<const Ends> asked, std::span<const Ends> ports);

  // Bounds, and much quicker than the transfers. The lists asked are kept.
  [[nodiscard]] MostMoved most_moved(std::span<const Ends> ends);

  // How far it moves, with its sign, for one sigma of each element that has a tolerance, in the elements' order.
  [[nodiscard]] std::vector<double> moves(const Functional& functional, const Tolerances& tolerance);

  // States that the tolerances might have stand the other way (may_be_near); empty where nothing rests.
  [[nodiscard]] std::vector<StateRef> near_states();
  // print_of all states that the fault moved.
  [[nodiscard]] std::uint32_t print() const;
  [[nodiscard]] const Model& model() const { return model_; }

  [[nodiscard]] BenchCounts counts() const;

 private:
  using Vector = std::vector<double>;

  // One low-rank update: `coefficient` times the port's response is added to the base solution so that `law` holds.
  struct Update {
    enum class Kind : std::uint8_t { kRow, kInjection, kTie, kUntie };
    Kind kind = Kind::kRow;
    std::size_t index = 0;  // branch, or tie of the base for kUntie
    Law law;
    NodeId a, b, c, d;
    const Port* port = nullptr;
    // At the same place, whatever its law; and under the same law.
    [[nodiscard]] bool stands_where(const Update& other) const {
      return kind == other.kind && index == other.index && a == other.a && b == other.b && port == other.port;
    }
    friend bool operator==(const Update& x, const Update& y) { return x.stands_where(y) && x.law == y.law; }
  };
  // What an update's law sees of another's response: of the volts across it, across its control, of its current. They
  // hang on the circuit at rest only, so that those of the last small system serve the next. NaN: not asked yet.
  struct Seen {
    long double across, control, current;
  };
  struct SeenBy {
    std::vector<Update> updates;
    std::vector<Seen> seen;  // [law * updates + response]
  };
  class View;

  // fault_bench.cpp: what a change can move, and settling it
  void prepare();
  void list_near_at_rest();
  void restore();
  void note_branch(std::size_t branch);
  void note_module(std::size_t module);
  void note_watch(std::uint32_t watch);
  void note_all();
  [[nodiscard]] bool is_patched(std::size_t branch) const;
  [[nodiscard]] bool is_lamp(std::uint32_t watch) const;
  [[nodiscard]] double still_volts(std::uint32_t lamp) const;  // by which it may move and keep its tangent
  [[nodiscard]] bool settle_surely();
  [[nodiscard]] bool settle();
  [[nodiscard]] bool settle_middle();
  [[nodiscard]] bool settle_fast();
  [[nodiscard]] bool melts_grossly();
  [[nodiscard]] double sigmas_over(std::size_t branch, double times);
  [[nodiscard]] bool settle_diodes();
  void make_whole();
  void fall_back();
  [[nodiscard]] bool stand_apart();
  void forget_updates();
  void forget_kept();

  // fault_landings.cpp: how faults came to stand
  struct Landing {
    struct Moved {
      std::uint32_t branch = 0;
      char on = 0, tripped = 0;
    };
    Status status = Status::kSettled;
    bool all_noted = false;
    std::vector<std::uint32_t> watches;  // as they were noted
    std::vector<Moved> moved;            // states that do not stand as at rest
    std::vector<std::pair<std::uint32_t, char>> modules;
    std::vector<std::pair<std::uint32_t, double>> filaments;  // off their tangent at rest: where theirs is
    std::vector<std::pair<std::size_t, double>> gone;
    [[nodiscard]] std::size_t bytes() const;
  };
  void patch_model();
  void note_patched();
  void settle_with_fault();
  [[nodiscard]] bool land_again();
  void keep_landing();
  void stand_at(const Landing& landing);
  void come_back();
  void note_moved(const States& there);
  void move_branch(std::size_t branch, char on, char tripped);
  [[nodiscard]] bool stands_as(const States& there) const;

  // fault_power_up.cpp: what came by having been up before
  [[nodiscard]] bool idle_diodes_come_again();
  void list_idle_at_rest();
  void note_idle_at_rest();
  void list_fed_early();
  [[nodiscard]] bool is_fed_early();
  [[nodiscard]] bool held_up();
  [[nodiscard]] bool come_again();
  [[nodiscard]] bool all_come_at_once();
  [[nodiscard]] bool is_holder(std::size_t index, bool module) const;
  [[nodiscard]] bool settle_without(const std::vector<std::pair<std::size_t, bool>>& off);
  [[nodiscard]] bool rests_with_holders_off();
  [[nodiscard]] bool settle_from_off();
  [[nodiscard]] bool rest_comes_from_off();
  void switch_off();
  [[nodiscard]] bool passes_by() const;
  template <class Bears>
  [[nodiscard]] bool fault_touches(Bears bears);
  [[nodiscard]] bool bears_on(std::size_t module);
  void list_holders();
  void note_holders();
  [[nodiscard]] bool may_be_held(std::size_t branch, bool anew);
  [[nodiscard]] bool drives(std::size_t module) const;
  void release(std::size_t index, bool module, std::vector<std::pair<std::size_t, char>>& before);
  // Are its volts there, in a bench of this circuit?
  [[nodiscard]] bool comes_again(std::size_t index, bool module, const FaultBench& in) const;

  // fault_filaments.cpp: filaments that move together
  struct Carried {
    std::uint32_t watch = 0;
    std::size_t branch = 0;
    double volts = 0.0;   // where it stood when last looked at
    double source = 0.0;  // A, put to the right of its law at rest
  };
  [[nodiscard]] bool wake_lamps();
  [[nodiscard]] bool follow_carried();
  [[nodiscard]] bool look_at_carried();
  [[nodiscard]] double volts_across(std::size_t branch) const;
  void lay_out_carried();
  [[nodiscard]] bool set_down();
  void hand_over_carried();

  // fault_updates.cpp: the small system
  [[nodiscard]] bool solve_updates();
  void collect_updates();
  void compare_branch(std::size_t branch);
  void part_islands();
  void note_parted();
  void add_update(Update::Kind kind, std::size_t index, const Law& law);
  [[nodiscard]] std::vector<std::uint32_t> filaments_updated();
  [[nodiscard]] bool factor_updates();
  [[nodiscard]] bool solve_coefficients();
  [[nodiscard]] const std::vector<long double>& inverse();
  [[nodiscard]] bool by_inverse();
  void unmix(std::vector<long double>& x);             // W^-1 x
  void unmix_transposed(std::vector<long double>& x);  // x W^-1
  void sum_up();
  template <class See>
  [[nodiscard]] static long double law_of_seen(const Update& update, See see);
  [[nodiscard]] const sparse::Half& half_of(const Update& update, long double Seen::*what);
  [[nodiscard]] long double law_on(const Update& update, const sparse::Spread& response);
  [[nodiscard]] double law_at_rest(const Update& update) const;
  void remember_seen();
  [[nodiscard]] long double law_seen(const Update& update, const Update& response, Seen& seen, bool& spread);

  // fault_readings.cpp: meters
  struct Thevenin {
    const Port* port = nullptr;
    double open_volts = 0.0, ohm = 0.0;
    std::vector<double> column, row;  // of the meter in the small system: W^-1 d, and u W^-1
  };
  [[nodiscard]] Thevenin look_into(NodeId red, NodeId black);
  [[nodiscard]] bool stay_apart(NodeId red, NodeId black) const;
  [[nodiscard]] bool harmless(const Thevenin& into, double volt, double ampere, bool each_filament = false);
  [[nodiscard]] bool near_states_stay(double volt, double ampere, bool each_filament);
  void measure_margins();
  void push_meter(const Branch& branch);
  void pop_meter();
  std::optional<Predicted> read_quickly(const Thevenin& into, const Probe& probe, const Tolerances& tolerance);
  std::optional<Predicted> read_volts_quickly(const Thevenin& into, const Probe& probe, const Tolerances& tolerance);
  std::optional<Predicted> read_lamp_quickly(const Thevenin& into, const Probe& probe, const Tolerances& tolerance);
  std::optional<Predicted> read_ohms_quickly(const Thevenin& into, const Probe& probe, const Tolerances& tolerance);
  struct MeterIn {  // a meter's branch joined to the small system
    Branch branch;
    Law law;
    double own = 0.0;  // its coefficient
    long double pivot = 0.0L;
  };
  double spread_with(const Thevenin& into, const MeterIn& meter, const Probe& probe, const Tolerances& tolerance);
  Predicted read_ohms(const Probe& probe, const Tolerances& tolerance);
  Predicted read_with(const Branch& branch, const Probe& probe, const Tolerances& tolerance);
  Predicted read_anew(const Branch& branch, const Probe& probe, const Tolerances& tolerance);

  // fault_unreached.cpp: readings that a fault does not reach
  struct AtRest {
    Predicted predicted;
    double open_volts = 0.0, ohm = 0.0;
  };
  void note_moved_by_meter(const States& before);
  void keep_at_rest(const Thevenin& into, const Probe& probe, const Tolerances& tolerance, const Predicted& predicted);
  [[nodiscard]] bool unreached(const std::vector<long double>& reach) const;
  [[nodiscard]] double spread_at_rest(const Functional& functional);
  [[nodiscard]] const Predicted* as_at_rest(const Thevenin& into, const Probe& probe, const Tolerances& tolerance);

  // fault_transfers.cpp
  struct RestTransfers {
    std::vector<Ends> asked, ports;
    std::vector<const sparse::Half*> across, left;  // of each, kept by the circuit at rest
    std::vector<long double> ohm;
  };
  struct Envelope {  // of a list of pairs, by place in the elimination: the largest of all halves
    std::vector<Ends> ends;
    Vector right, left;
  };
  const Envelope& envelope_of(std::span<const Ends> ends);
  [[nodiscard]] double most_of_law(const Update& update, const Vector& left);
  void lay_out_law(const Update& update, sparse::RoughSpread& laid_out);
  const RestTransfers& transfers_at_rest(std::span<const Ends> asked, std::span<const Ends> ports);

  // fault_spread.cpp: tolerances
  struct Elements {
    std::vector<std::uint32_t> branch;
    Vector third;                                     // a third of the tolerance
    std::vector<std::uint32_t> place;                 // by branch: where in the list, or kNoPlace
    std::vector<std::uint32_t> around_start, around;  // places in the list, by node
  };
  struct Weighty {
    std::vector<std::uint32_t> places;  // rising
    Vector reach, meter;                // at rest, of each; its current for 1 A put in at the probes
    double rest_variance = 0.0;         // of all others
  };
  struct LaidOut {
    std::vector<Update> updates;  // of which
    std::size_t asked = 0;        // so many spreads
    std::vector<std::uint32_t> near;
    std::vector<Vector> reach, flow;  // of each update, by place; empty: not yet
  };
  void list_around();
  void gather_around(NodeId node, std::size_t most, std::vector<std::uint32_t>& places);
  const Weighty& weighty(const Functional& functional);
  [[nodiscard]] std::vector<std::uint32_t> places_near_changes(std::size_t changes);
  [[nodiscard]] bool lay_out_changes(std::size_t changes);
  [[nodiscard]] double spread_of_some(const Functional& functional, const std::vector<double>& q);
  const Vector& reach_of_volts(NodeId a, NodeId b);
  const Vector& reach_of_unknown(std::size_t index);
  [[nodiscard]] Vector response_to(const Update& update) const;
  [[nodiscard]] Vector reach_of_law(const Update& update) const;
  const Vector& flow_of(const Update& update);
  [[nodiscard]] Vector between(NodeId a, NodeId b) const;
  [[nodiscard]] Vector taken(const Vector& whole) const;
  const Vector& currents_at_rest();
  [[nodiscard]] double law_slope(std::size_t branch, double ampere);
  [[nodiscard]] double move_at_rest(std::uint32_t place, double reach);
  void list_elements(const Tolerances& tolerance);
  [[nodiscard]] std::vector<long double> reach_of_updates(const Functional& functional);
  [[nodiscard]] Vector reach_unmixed(std::vector<long double> reach);
  [[nodiscard]] Vector move_each(const Functional& functional, const Vector& q);
  void add_reach(Vector& sum, double factor, const Update& update);
  [[nodiscard]] double spread(const Functional& functional, const Tolerances& tolerance);
  [[nodiscard]] double spread_reaching(const Functional& functional, const Vector& q);

  Model model_;  // patched in place by put_fault and by meters, put back by restore
  double system_volts_;
  std::size_t base_branches_;
  Stateful stateful_;
  mutable RestCircuit rest_;  // keeps what it is asked
  Latches latches_;
  std::vector<std::vector<std::uint32_t>> hangs_on_module_;               // rails and drivers
  std::unordered_map<std::size_t, std::vector<std::uint32_t>> contacts_;  // by coil
  std::unordered_map<std::size_t, std::vector<std::uint32_t>> watch_of_;  // by branch
  std::vector<std::uint32_t> module_watch_;
  std::vector<std::uint32_t> holders_;  // watches of what may hold itself, and is on at rest
  std::vector<std::uint32_t> apart_;    // watches whose two ends are on two islands at rest
  std::vector<std::pair<std::uint32_t, std::uint32_t>> watch_ends_;  // place in the walk (cut_tree.h), and the watch
  std::vector<std::size_t> off_for_good_;                            // melted or tripped at rest
  std::vector<std::size_t> idle_at_rest_;                            // diodes that are on and carry nothing
  std::vector<char> fed_early_;                                      // by node; empty: none
  std::vector<StateRef> near_at_rest_;
  bool prepared_ = false;

  std::vector<fault::Change> changes_;  // put in last
  bool remembers_ = false;
  std::unordered_map<std::vector<fault::Change>, Landing, fault::ChangeHash> landings_;
  std::size_t landing_bytes_ = 0;
  SeenBy seen_;
  std::vector<std::pair<std::size_t, Branch>> saved_;
  std::vector<std::size_t> saved_dead_;
  bool goes_on_ = false;  // from where the circuit stands, or from off: a coil's way is known
  bool circled_ = false;  // the last settling met the same states twice
  States states_;
  // What the fault can move: states to be looked at, branches whose law may differ from the base.
  bool all_noted_ = false;
  bool only_nearby_ = false;  // for the moment: nothing far, no filament
  std::vector<char> watch_noted_, branch_noted_;
  std::vector<std::uint32_t> noted_watches_, moved_;
  std::vector<std::uint32_t> still_lamps_;  // noted, but hardly moved so far
  std::vector<Carried> carried_;
  bool may_carry_ = false;
  std::vector<std::size_t> noted_branches_;
  Stateful near_;
  std::vector<std::pair<std::size_t, bool>> trials_;  // branch, or module (true)
  std::vector<Latches::Joined> fault_joins_;

  std::vector<Update> updates_;
  std::vector<Update> solved_;              // of which the small system, its coefficients and sum_ are
  std::vector<std::uint32_t> filament_of_;  // by branch: which of the filaments; none
  std::uint32_t filaments_ = 0;
  std::vector<Seen> seen_by_filaments_;  // [law * filaments + response]; empty: never many at once
  sparse::SmallFactors small_;
  std::vector<long double> inverse_;  // empty: not asked for
  std::size_t unmixed_ = 0;           // so many times without it
  Vector coefficients_;               // as the small system gives them; sum_ holds them to extended precision
  sparse::Spread sum_, work_;         // all updates together; one at a time
  sparse::Spread carried_sum_;        // what the carried filaments' sources do
  sparse::RoughSpread rough_rest_, rough_reach_, rough_flow_, rough_meter_;  // for spreads
  std::vector<std::size_t> opened_, opened_before_;
  std::vector<std::pair<NodeId, NodeId>> joined_, joined_before_;
  std::optional<Pieces> pieces_;
  double least_volt_ = -1.0, least_ampere_ = -1.0;  // margins of the noted states; below 0: not measured
  Status fault_status_ = Status::kSettled;
  std::unique_ptr<FaultBench> own_;          // when the fault got a factorisation of its own
  std::unique_ptr<FaultBench> holders_off_;  // the circuit with all that may hold itself let go
  std::size_t reads_ = 0;                    // of the fault now in it
  bool metered_ = false;                     // a meter is a branch of a circuit that stands
  bool meter_moved_ = false;                 // more than filaments, in the last reading without a fault
  std::array<std::unordered_map<std::uint64_t, AtRest>, 4> at_rest_;  // by instrument, and pair of nodes
  MeterProfile at_rest_meter_;                                        // of which they are

  std::deque<RestTransfers> rest_transfers_;
  std::deque<Envelope> envelopes_;
  Elements elements_;
  Tolerances tolerance_;  // that the elements are listed for
  Vector ampere_at_rest_;
  std::unordered_map<std::uint64_t, Vector> reach_volts_;
  std::unordered_map<std::size_t, Vector> reach_unknown_;
  std::unordered_map<const Port*, Vector> flow_;
  std::unordered_map<std::uint64_t, Weighty> weighty_;
  std::unordered_map<std::uint64_t, double> spread_at_rest_;
  LaidOut laid_out_;
  BenchCounts counts_;
};

// The changed solution, asked entry by entry.
class FaultBench::View final : public Solution {
 public:
  explicit View(const FaultBench& bench) : bench_(bench) {}
  [[nodiscard]] double volts(NodeId node) const override;
  [[nodiscard]] double amperes(std::size_t branch) const override;
  [[nodiscard]] bool together(NodeId a, NodeId b) const override;

 private:
  const FaultBench& bench_;
};

}  // namespace halfsplit::electrical
