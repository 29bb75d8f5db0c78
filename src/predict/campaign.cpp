// SPDX-License-Identifier: Apache-2.0
// By configuration, then by case, then by observable: a fault is put into a bench once and asked everything. A fault
// that comes and goes is a mixture of its two moments, drawn anew for each reading.
#include "predict/campaign.h"

#include <algorithm>
#include <numeric>
#include <optional>

#include "electrical/fault_bench.h"
#include "predict/bus_steady.h"
#include "predict/recorded.h"

namespace halfsplit::predict {

namespace {

using evidence::Observable;
using evidence::Prediction;
using evidence::ResponseTable;

// What is kept of benches: all their elements together, and so many; with the least, those at work are among them.
constexpr std::size_t kMostElements = 200000;
constexpr std::size_t kMostBenches = 128;
constexpr std::size_t kLeastBenches = 4;
constexpr std::size_t kMostChanges = 500000;
constexpr std::size_t kWorthReadingAtRest = 16;  // cases

bool comes_and_goes(const Scene& scene, const Case& which) {
  return std::any_of(which.faults.begin(), which.faults.end(), [&](const auto& f) {
    return scene.universe.faults.at(f.first.index()).kind == fault::FaultKind::kIntermittent;
  });
}

// Fuses that melted, those left out that are among `known`.
void add_missing(const std::vector<fault::Change>& fuses, const std::vector<fault::Change>& known,
                 std::vector<fault::Change>& into) {
  for (const fault::Change& fuse : fuses)
    if (std::none_of(known.begin(), known.end(), [&](const auto& other) { return other.element == fuse.element; }))
      into.push_back(fuse);
}

void add(electrical::BenchCounts& sum, const electrical::BenchCounts& more) {
  sum.solves += more.solves;
  sum.factors += more.factors;
  sum.updates += more.updates;
  sum.refactored += more.refactored;
}

}  // namespace

double Campaign::weight_of(Moment moment, evidence::Kind kind) {
  if (moment == Moment::kAlways) return 1.0;
  const double shown = evidence::is_recorded(kind) ? share_shown(kind) : kIntermittentPresent;
  return moment == Moment::kShown ? shown : 1.0 - shown;
}

struct Campaign::Setting {
  circuit::Configuration configuration;
  electrical::FaultBench bench;
  std::shared_ptr<BusMemo> buses = std::make_shared<BusMemo>();
  std::uint64_t used = 0;  // when last asked for
  Setting(const Scene& scene, const circuit::Configuration& which)
      : configuration(which), bench(electrical::make_model(scene.loom, scene.netlist, which), scene.loom.system_volts) {
    bench.remember_landings();
  }
};

Campaign::Campaign(const circuit::Loom& loom, const circuit::Netlist& netlist, const fault::Universe& universe,
                   const meters::MeterProfile& meter)
    : scene_{loom, netlist, universe, meter}, fuses_(list_fuses(netlist)) {
  std::vector<double> each;
  for (const circuit::Element& e : netlist.elements) each.push_back(e.tolerance);
  tolerance_ = electrical::Tolerances(std::move(each));
}

Campaign::~Campaign() = default;

Campaign::Setting& Campaign::setting(const circuit::Configuration& configuration) {
  return kept(settings_, configuration);
}

// The same configuration at another moment: a bench holds one fault at a time.
Campaign::Setting& Campaign::stored_setting(const circuit::Configuration& configuration) {
  return kept(stored_settings_, configuration);
}

Campaign::Setting& Campaign::kept(Settings& settings, const circuit::Configuration& configuration) {
  auto found = settings.find(configuration);
  if (found == settings.end()) {
    make_room();
    found = settings.emplace(configuration, std::make_unique<Setting>(scene_, configuration)).first;
  }
  found->second->used = ++asked_;
  return *found->second;
}

std::size_t Campaign::most_benches() const {
  const std::size_t elements = std::max<std::size_t>(scene_.netlist.elements.size(), 1);
  return std::clamp(kMostElements / elements, kLeastBenches, kMostBenches);
}

// The bench that was asked for longest ago goes.
void Campaign::make_room() {
  while (kept_benches() >= most_benches()) {
    Settings* from = nullptr;
    Settings::iterator oldest;
    for (Settings* settings : {&settings_, &stored_settings_})
      for (auto i = settings->begin(); i != settings->end(); ++i)
        if (from == nullptr || i->second->used < oldest->second->used) {
          from = settings;
          oldest = i;
        }
    add(gone_, oldest->second->bench.counts());
    from->erase(oldest);
  }
}

// At work: the loom's setups made, every plug together; what is fitted or swapped stays.
circuit::Configuration Campaign::in_use(const circuit::Configuration& now) const {
  circuit::Configuration work;
  work.made.insert(scene_.loom.in_use.begin(), scene_.loom.in_use.end());
  work.swapped_parts = now.swapped_parts;
  work.swapped_modules = now.swapped_modules;
  return work;
}

std::vector<fault::Change> Campaign::raw_changes(const Case& which, bool intermittents_open) const {
  std::vector<fault::Change> changes;
  for (const auto& [id, quantile] : which.faults) {
    const fault::Fault& fault = scene_.universe.faults.at(id.index());
    if (fault.kind == fault::FaultKind::kIntermittent && !intermittents_open) continue;
    const std::vector<fault::Change> some =
        fault::changes_of(scene_.netlist, fault, fault::severity_at(fault, quantile));
    changes.insert(changes.end(), some.begin(), some.end());
  }
  return changes;
}

const Campaign::Whole& Campaign::whole(const Case& which, bool intermittents_open) {
  const auto key = std::make_pair(which, intermittents_open);
  const auto found = changes_.find(key);
  if (found != changes_.end()) return found->second;
  if (changes_.size() >= kMostChanges) changes_.clear();
  if (!comes_and_goes(scene_, which)) return changes_.emplace(key, moment_alone(which, true)).first->second;
  // What one moment melts is blown in the other as well: it has come at least once.
  Whole shown = moment_alone(which, true);
  Whole gone = moment_alone(which, false);
  const std::vector<fault::Change> by_shown = shown.melted();
  const std::vector<fault::Change> by_gone = gone.melted();
  add_missing(by_gone, by_shown, shown.changes);
  add_missing(by_shown, by_gone, gone.changes);
  changes_.emplace(std::make_pair(which, !intermittents_open), intermittents_open ? std::move(gone) : std::move(shown));
  return changes_.emplace(key, intermittents_open ? std::move(shown) : std::move(gone)).first->second;
}

// A moment as if there were no other.
Campaign::Whole Campaign::moment_alone(const Case& which, bool intermittents_open) {
  Whole made{raw_changes(which, intermittents_open), 0, 0};
  made.own = made.changes.size();
  if (made.changes.empty() || scene_.loom.in_use.empty()) return made;
  FastView view(setting(in_use({})).bench, made.changes, tolerance_);
  made.states = view.print();
  add_melted_fuses(fuses_, view, made.changes);
  return made;
}

const std::vector<fault::Change>& Campaign::changes_of(const Case& which) { return whole_changes(which, true); }

ResponseTable Campaign::predict(const std::vector<Case>& cases, const std::vector<Observable>& observables,
                                const base::CancelToken& cancel) {
  ResponseTable table(cases.size(), observables.size());
  std::map<circuit::Configuration, std::vector<std::size_t>> by_configuration;
  for (std::size_t c = 0; c < observables.size(); ++c) by_configuration[observables[c].configuration].push_back(c);
  for (const auto& [configuration, columns] : by_configuration)
    fill_setting(table, cases, observables, columns, cancel);
  return table;
}

void Campaign::fill_setting(ResponseTable& table, const std::vector<Case>& cases,
                            const std::vector<Observable>& observables, const std::vector<std::size_t>& columns,
                            const base::CancelToken& cancel) {
  // What is read without a fault is kept for those that do not reach it (electrical/fault_unreached.cpp).
  std::vector<std::size_t> rows(cases.size());
  std::iota(rows.begin(), rows.end(), std::size_t{0});
  const auto faulted =
      std::stable_partition(rows.begin(), rows.end(), [&](std::size_t row) { return cases[row].faults.empty(); });
  if (faulted == rows.begin() && rows.size() >= kWorthReadingAtRest) {
    ResponseTable aside(1, observables.size());
    predict_case({}, Moment::kAlways, aside, 0, observables, columns);
  }
  for (const std::size_t row : rows) {
    if (cancel.cancelled()) return;
    if (comes_and_goes(scene_, cases[row])) {
      predict_case(cases[row], Moment::kShown, table, row, observables, columns);
      predict_case(cases[row], Moment::kGone, table, row, observables, columns);
    } else {
      predict_case(cases[row], Moment::kAlways, table, row, observables, columns);
    }
  }
}

void Campaign::predict_case(const Case& which, Moment moment, ResponseTable& table, std::size_t row,
                            const std::vector<Observable>& observables, const std::vector<std::size_t>& columns) {
  const bool intermittents_open = moment != Moment::kGone;
  const circuit::Configuration& configuration = observables[columns.front()].configuration;
  std::vector<fault::FaultId> faults;
  for (const auto& entry : which.faults) faults.push_back(entry.first);
  const std::vector<fault::Change> all = whole_changes(which, true);
  const std::vector<fault::Change> changes =
      circuit_changes(configuration, intermittents_open ? all : whole_changes(which, false));
  const bool asks_messages = std::any_of(columns.begin(), columns.end(), [&](std::size_t c) {
    return observables[c].kind == evidence::Kind::kCode || observables[c].kind == evidence::Kind::kAnswers;
  });
  Setting& here = setting(configuration);
  if (asks_messages) see_at_rest(here);
  FastView now(here.bench, changes, tolerance_, here.buses.get());
  const bool asks_codes = std::any_of(columns.begin(), columns.end(),
                                      [&](std::size_t c) { return observables[c].kind == evidence::Kind::kCode; });
  std::optional<FastView> work;
  const circuit::Configuration at_work = in_use(configuration);
  // The moment at work that a stored code comes from: the fault is there, whatever it does just now.
  if (asks_codes && (at_work != configuration || !intermittents_open)) {
    Setting& there = at_work != configuration ? setting(at_work) : stored_setting(at_work);
    if (at_work == configuration) there.buses = here.buses;
    see_at_rest(there);
    work.emplace(there.bench, circuit_changes(at_work, all), tolerance_, there.buses.get());
  }
  std::vector<const Observable*> asked;
  for (const std::size_t column : columns) asked.push_back(&observables[column]);
  std::vector<Prediction> seen = observe_all(scene_, {now, work ? *work : now}, asked, faults);
  for (std::size_t i = 0; i < columns.size(); ++i) {
    Prediction& some = seen[i];
    Prediction& cell = table.at(row, columns[i]);
    // A moment that finds no rest adds nothing: its weight is missing.
    cell.settled = (cell.settled && !cell.components.empty()) || some.settled;
    const double weight = weight_of(moment, observables[columns[i]].kind);
    for (evidence::Component& component : some.components) {
      component.weight *= weight;
      component.moment = static_cast<std::uint8_t>(moment);
      cell.components.push_back(component);
    }
  }
}

std::vector<fault::Change> Campaign::circuit_changes(const circuit::Configuration& configuration,
                                                     const std::vector<fault::Change>& changes) const {
  return electrical::remaining_changes(scene_.netlist, configuration, changes);
}

// What most faults leave of the buses as it is.
void Campaign::see_at_rest(Setting& setting) {
  if (setting.buses->rest != nullptr || scene_.netlist.buses.empty()) return;
  FastView rest(setting.bench, {}, tolerance_, setting.buses.get());
  if (rest.settled()) setting.buses->rest = look_at_rest(scene_, rest);
}

Prediction Campaign::predict_one(const Case& which, const Observable& observable) {
  return predict({which}, {observable}).at(0, 0);
}

void Campaign::with_view(const Case& which, const circuit::Configuration& configuration,
                         const std::function<void(CircuitView&)>& look) {
  FastView view(setting(configuration).bench, circuit_changes(configuration, whole_changes(which, true)), tolerance_);
  look(view);
}

bool Campaign::may_rest_otherwise(const Case& which, const circuit::Configuration& configuration) {
  electrical::FaultBench& bench = setting(configuration).bench;
  bench.put_fault(circuit_changes(configuration, whole_changes(which, true)));
  return bench.may_rest_otherwise();
}

double Campaign::healthy_volts(const circuit::Configuration& configuration, circuit::PointId red,
                               circuit::PointId black) {
  Setting& which = setting(configuration);
  which.bench.clear();
  const circuit::NodeId a = scene_.netlist.points.at(red.index()).node;
  const circuit::NodeId b = black.is_none() ? scene_.netlist.reference : scene_.netlist.points.at(black.index()).node;
  if (b.is_none()) return 0.0;
  if (which.bench.status() != electrical::Status::kSettled || !which.bench.together(a, b)) return 0.0;
  return which.bench.volts(a) - which.bench.volts(b);
}

Campaign::Across Campaign::healthy_across(const circuit::Configuration& configuration, const circuit::Fitted& fitted) {
  // By element: a fuse that is blown, a driver that switched itself off.
  const auto off = [&](const circuit::Configuration& state) {
    electrical::FaultBench& bench = setting(state).bench;
    bench.clear();
    std::vector<char> list(scene_.netlist.elements.size(), 0);
    for (std::size_t i = 0; i < list.size(); ++i) {
      const circuit::ElementKind kind = scene_.netlist.elements[i].kind;
      if (kind == circuit::ElementKind::kFuse) list[i] = bench.states().on[i] == 0 ? 1 : 0;
      if (kind == circuit::ElementKind::kDriver) list[i] = bench.states().tripped[i];
    }
    return list;
  };
  const std::vector<char> without = off(configuration);
  circuit::Configuration with = configuration;
  with.fitted.insert(fitted);
  const std::vector<char> now = off(with);
  Across across;
  electrical::FaultBench& bench = setting(with).bench;
  const circuit::NodeId a = scene_.netlist.points.at(fitted.a.index()).node;
  const circuit::NodeId b = scene_.netlist.points.at(fitted.b.index()).node;
  // What buzzes under a short is a short all the same.
  if (bench.status() != electrical::Status::kSingular) across.volts = bench.volts(a) - bench.volts(b);
  for (std::size_t i = 0; i < now.size(); ++i)
    if (now[i] != 0 && without[i] == 0) across.gone.emplace_back(i);
  return across;
}

electrical::BenchCounts Campaign::counts() const {
  electrical::BenchCounts sum = gone_;
  for (const auto& [configuration, setting] : settings_) add(sum, setting->bench.counts());
  return sum;
}

std::vector<std::size_t> list_fuses(const circuit::Netlist& netlist) {
  std::vector<std::size_t> fuses;
  for (std::size_t i = 0; i < netlist.elements.size(); ++i)
    if (netlist.elements[i].kind == circuit::ElementKind::kFuse) fuses.push_back(i);
  return fuses;
}

void add_melted_fuses(const std::vector<std::size_t>& fuses, CircuitView& at_work,
                      std::vector<fault::Change>& changes) {
  if (!at_work.settled()) return;
  for (const std::size_t i : fuses)
    if (!at_work.on(i))
      changes.push_back({fault::Change::Kind::kOhm, circuit::ElementId(i), {}, {}, {}, fault::kOpenOhm, 0.0});
}

}  // namespace halfsplit::predict
