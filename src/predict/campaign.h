// SPDX-License-Identifier: Apache-2.0
// Fills response tables: what each case (a set of faults with their severities) would show at each observable. One
// factorised bench per configuration is kept and reused, as many as memory allows; results do not depend on the order
// of questions. This is where physics and belief meet: nothing here weighs anything. Not for several threads at once.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <utility>
#include <vector>

#include "base/cancel.h"
#include "evidence/observable.h"
#include "evidence/prediction.h"
#include "predict/observe.h"

namespace halfsplit::predict {

// Faults present together, each at a quantile of its severity range. Empty: the healthy vehicle.
struct Case {
  std::vector<std::pair<fault::FaultId, double>> faults;
  friend auto operator<=>(const Case&, const Case&) = default;
};

constexpr double kIntermittentPresent = 0.5;  // share of moments in which it shows (ours)

class Campaign {
 public:
  // All four must outlive the campaign.
  Campaign(const circuit::Loom& loom, const circuit::Netlist& netlist, const fault::Universe& universe,
           const meters::MeterProfile& meter = meters::default_meter());
  ~Campaign();
  Campaign(const Campaign&) = delete;
  Campaign& operator=(const Campaign&) = delete;

  // table.at(row, column) for cases[row] and observables[column].
  [[nodiscard]] evidence::ResponseTable predict(const std::vector<Case>& cases,
                                                const std::vector<evidence::Observable>& observables,
                                                const base::CancelToken& cancel = {});
  [[nodiscard]] evidence::Prediction predict_one(const Case& which, const evidence::Observable& observable);

  // The circuit of a case (its faults all showing), for what is no observable. The view lives for the call.
  void with_view(const Case& which, const circuit::Configuration& configuration,
                 const std::function<void(CircuitView&)>& look);

  // The circuit's changes under a case, fuses that melt at work included ("why it blew").
  [[nodiscard]] const std::vector<fault::Change>& changes_of(const Case& which);

  // Which states the case has moved in the vehicle at work, as a number (electrical/near_states.h); 0 for a loom that
  // does not say what at work is.
  [[nodiscard]] std::uint32_t states_at_work(const Case& which) { return whole(which, true).states; }
  // Could the circuit of a case rest in another way than from power-up? Cheap; no: it cannot, but for what only the
  // case's faults join.
  [[nodiscard]] bool may_rest_otherwise(const Case& which, const circuit::Configuration& configuration);

  // Volts between two points with nothing wrong, in that configuration: are ohms allowed there? Without a black point,
  // against the battery's minus. 0 where nothing joins them.
  [[nodiscard]] double healthy_volts(const circuit::Configuration& configuration, circuit::PointId red,
                                     circuit::PointId black);

  // Volts across what is fitted into that configuration, with nothing wrong, and the fuses and drivers that go off by
  // it.
  struct Across {
    double volts = 0.0;
    std::vector<circuit::ElementId> gone;
  };
  [[nodiscard]] Across healthy_across(const circuit::Configuration& configuration, const circuit::Fitted& fitted);

  [[nodiscard]] electrical::BenchCounts counts() const;
  // Benches kept, and how many may be: the one not asked for longest goes first.
  [[nodiscard]] std::size_t kept_benches() const { return settings_.size() + stored_settings_.size(); }
  [[nodiscard]] std::size_t most_benches() const;
  [[nodiscard]] const Scene& scene() const { return scene_; }

 private:
  struct Setting;  // a bench and its configuration
  using Settings = std::map<circuit::Configuration, std::unique_ptr<Setting>>;
  Setting& setting(const circuit::Configuration& configuration);
  Setting& stored_setting(const circuit::Configuration& configuration);
  Setting& kept(Settings& settings, const circuit::Configuration& configuration);
  void make_room();
  void see_at_rest(Setting& setting);
  [[nodiscard]] circuit::Configuration in_use(const circuit::Configuration& now) const;
  void fill_setting(evidence::ResponseTable& table, const std::vector<Case>& cases,
                    const std::vector<evidence::Observable>& observables, const std::vector<std::size_t>& columns,
                    const base::CancelToken& cancel);
  enum class Moment : std::uint8_t { kAlways, kShown, kGone };  // of what comes and goes: there, or not
  [[nodiscard]] static double weight_of(Moment moment, evidence::Kind kind);
  void predict_case(const Case& which, Moment moment, evidence::ResponseTable& table, std::size_t row,
                    const std::vector<evidence::Observable>& observables, const std::vector<std::size_t>& columns);
  [[nodiscard]] std::vector<fault::Change> raw_changes(const Case& which, bool intermittents_open) const;
  [[nodiscard]] std::vector<fault::Change> circuit_changes(const circuit::Configuration& configuration,
                                                           const std::vector<fault::Change>& changes) const;
  struct Whole {  // fuses that melt at work included
    std::vector<fault::Change> changes;
    std::uint32_t states = 0;
    std::size_t own = 0;  // of the changes, those of the faults themselves; behind them the fuses
    [[nodiscard]] std::vector<fault::Change> melted() const {
      return {changes.begin() + static_cast<std::ptrdiff_t>(own), changes.end()};
    }
  };
  [[nodiscard]] Whole moment_alone(const Case& which, bool intermittents_open);
  [[nodiscard]] const Whole& whole(const Case& which, bool intermittents_open);
  [[nodiscard]] const std::vector<fault::Change>& whole_changes(const Case& which, bool intermittents_open) {
    return whole(which, intermittents_open).changes;
  }

  Scene scene_;
  std::vector<std::size_t> fuses_;
  electrical::Tolerances tolerance_;
  Settings settings_, stored_settings_;
  std::uint64_t asked_ = 0;
  electrical::BenchCounts gone_;  // of benches that are no longer kept
  std::map<std::pair<Case, bool>, Whole> changes_;
};

// Opens the fuses that melt with these changes in the vehicle at work; the same for either kind of view.
void add_melted_fuses(const std::vector<std::size_t>& fuses, CircuitView& at_work, std::vector<fault::Change>& changes);
[[nodiscard]] std::vector<std::size_t> list_fuses(const circuit::Netlist& netlist);  // elements

}  // namespace halfsplit::predict
