// SPDX-License-Identifier: Apache-2.0
#include "app/belief.h"

#include <algorithm>

#include "predict/severity_cuts.h"

namespace halfsplit::app {

namespace {

constexpr std::size_t kFewestColumns = 60;     // columns kept whatever their size
constexpr std::size_t kMostCells = 4'000'000;  // cells kept beyond that
constexpr std::size_t kMostCut = 600;  // with more faults, the steps within a range of severities are not looked for
constexpr std::size_t kExplained = 8;
constexpr double kLeastWorthAFuse = 1e-6;  // suspects less probable are not asked which fuses they melt

std::string key_of(const std::vector<Evidence>& evidence) {
  std::string key;
  for (const Evidence& e : evidence) {
    key +=
        std::to_string(e.entry) + "|" + e.what + "|" + e.shows + "|" + std::to_string(e.observation.seen.value) + "|";
    for (const circuit::SetupId s : e.observation.what.configuration.made) key += std::to_string(s.value) + ",";
    for (const circuit::ConnectorId c : e.observation.what.configuration.unplugged)
      key += "u" + std::to_string(c.value) + ",";
    for (const circuit::Fitted& f : e.observation.what.configuration.fitted)
      key += "f" + std::to_string(f.a.value) + "-" + std::to_string(f.b.value) + "=" + std::to_string(f.ohm);
    for (const circuit::PartId p : e.observation.what.configuration.swapped_parts) key += "s" + std::to_string(p.value);
    for (const circuit::ModuleId m : e.observation.what.configuration.swapped_modules)
      key += "m" + std::to_string(m.value);
    for (const fault::RepairId r : e.repaired) key += "r" + std::to_string(r.value);
    key += ";";
  }
  return key;
}

}  // namespace

BeliefEngine::BeliefEngine(std::shared_ptr<const LoadedLoom> loom, meters::MeterProfile meter)
    : loom_(std::move(loom)),
      meter_(std::move(meter)),
      campaign_(loom_->loom, loom_->netlist, loom_->universe, meter_) {
  noise_.system_volts = loom_->loom.system_volts;
  noise_.codes = loom_->loom.codes.size();
  for (std::size_t i = 0; i < loom_->universe.faults.size(); ++i) {
    const fault::Fault& f = loom_->universe.faults[i];
    if (f.kind == fault::FaultKind::kBlown) blown_[f.element] = fault::FaultId(i);
  }
}

// When first asked for: a loom that is only looked at needs none.
void BeliefEngine::make_rows() {
  if (!rows_.empty()) return;
  const bool few = loom_->universe.faults.size() <= kMostCut;
  for (std::size_t i = 0; i < loom_->universe.faults.size(); ++i) {
    const fault::Fault& f = loom_->universe.faults[i];
    const bool range = fault::has_range(f);
    rates_.push_back({fault::FaultId(i), f.rate_per_year, range ? kSeverities : 1, {}});
    if (range && few) rates_.back().cuts = predict::find_cuts(campaign_, fault::FaultId(i), kSeverities);
  }
  rows_ = infer::make_rows(rates_, shares_);
  groups_ = infer::group_rows(rows_);
}

const std::vector<infer::Row>& BeliefEngine::rows() {
  make_rows();
  return rows_;
}

infer::Scale BeliefEngine::scale_of(const evidence::Observable& what) const {
  if (what.kind != evidence::Kind::kLive) return {};
  const circuit::Live& live = loom_->loom.lives.at(what.live.index());
  return {std::min(live.low, live.high), std::max(live.low, live.high)};
}

predict::Case BeliefEngine::case_of(const infer::Row& row, const std::vector<fault::RepairId>& repaired) {
  const auto is_repaired = [&](fault::FaultId id) {
    return std::find(repaired.begin(), repaired.end(), repair_of(id)) != repaired.end();
  };
  predict::Case all;
  predict::Case left;
  const auto add = [&](fault::FaultId id, double quantile) {
    if (id.is_none()) return;
    all.faults.emplace_back(id, quantile);
    if (!is_repaired(id)) left.faults.emplace_back(id, quantile);
  };
  add(row.first, row.first_quantile);
  add(row.second, row.second_quantile);
  if (left.faults.size() == all.faults.size()) return left;
  for (const fault::FaultId fuse : melted_by(all))
    if (!is_repaired(fuse)) left.faults.emplace_back(fuse, 0.5);
  return left;
}

std::vector<fault::FaultId> BeliefEngine::melted_by(const predict::Case& which) {
  std::vector<fault::FaultId> melted;
  if (blown_.empty() || which.faults.empty()) return melted;
  for (const fault::Change& change : campaign_.changes_of(which)) {
    if (change.kind != fault::Change::Kind::kOhm || change.value != fault::kOpenOhm) continue;
    const auto fuse = blown_.find(change.element);
    if (fuse == blown_.end()) continue;
    const bool its_own = std::any_of(which.faults.begin(), which.faults.end(),
                                     [&](const auto& entry) { return entry.first == fuse->second; });
    if (!its_own) melted.push_back(fuse->second);
  }
  return melted;
}

const Belief& BeliefEngine::update(const std::vector<Evidence>& evidence, const base::CancelToken& cancel) {
  const std::string key = key_of(evidence) + "#";
  if (key == last_key_) return last_;
  make_rows();
  if (columns_.size() > std::max(kFewestColumns, kMostCells / std::max<std::size_t>(rows_.size(), 1))) columns_.clear();
  Belief belief;
  for (std::size_t i = 0; i < evidence.size(); ++i) {
    const evidence::Observation& read = evidence[i].observation;
    belief.readings.push_back({read.what.kind, read.seen, scale_of(read.what),
                               read_before(std::span(evidence).first(i), read.what, evidence[i].repaired)});
  }
  looking_at_ = &evidence;
  infer::Narrowing narrowing(rows_, belief.readings, noise_);
  narrow(evidence, narrowing, belief, cancel);
  collect(evidence, narrowing, belief);
  infer::Joined joined = infer::join_severities(belief.rows, belief.table, belief.readings, noise_, belief.likelihoods);
  belief.leans = std::move(joined.leans);
  belief.healthy_beyond = joined.healthy_beyond;
  belief.posterior = infer::compute_posterior(belief.rows, belief.likelihoods, {narrowing.log_left_out()});
  belief.unexplored = belief.posterior.unexplored;
  if (!evidence.empty()) add_pairs(belief, evidence, narrowing, cancel);
  looking_at_ = nullptr;
  weigh(belief, evidence);
  last_ = std::move(belief);
  last_key_ = cancel.cancelled() ? "" : key;  // what was cut short is not kept for the next who asks
  return last_;
}

// What the same test showed before, and the faults that have been repaired since.
std::vector<infer::Before> BeliefEngine::read_before(std::span<const Evidence> evidence,
                                                     const evidence::Observable& what,
                                                     const std::vector<fault::RepairId>& done) const {
  std::vector<infer::Before> before;
  for (const Evidence& e : evidence) {
    if (e.observation.what != what) continue;
    before.push_back({e.observation.seen, {}});
    for (std::size_t f = 0; f < loom_->universe.faults.size() && e.repaired.size() != done.size(); ++f) {
      const fault::RepairId repair = loom_->universe.faults[f].repair;
      const bool is_done = std::find(done.begin(), done.end(), repair) != done.end();
      if (is_done && std::find(e.repaired.begin(), e.repaired.end(), repair) == e.repaired.end())
        before.back().mended.emplace_back(f);
    }
  }
  return before;
}

void BeliefEngine::weigh(Belief& belief, const std::vector<Evidence>& evidence) {
  belief.ranked = infer::rank_suspects(belief.posterior);
  belief.fault_weight.assign(loom_->universe.faults.size(), 0.0);
  for (std::size_t i = 0; i < belief.posterior.fault.size() && i < belief.fault_weight.size(); ++i)
    belief.fault_weight[i] = belief.posterior.fault[i];
  std::vector<fault::RepairId> done;
  if (!evidence.empty()) done = evidence.back().repaired;
  for (const infer::Suspect& suspect : belief.posterior.suspects) {
    if (done.empty()) break;
    const std::vector<fault::RepairId> repairs = repairs_of(belief, suspect);
    const bool mended = !repairs.empty() && std::all_of(repairs.begin(), repairs.end(), [&](fault::RepairId r) {
      return std::find(done.begin(), done.end(), r) != done.end();
    });
    if (mended) belief.fixed += suspect.probability;
  }
  if (evidence.empty()) return;
  const std::vector<std::size_t> top(
      belief.ranked.begin(),
      belief.ranked.begin() + static_cast<std::ptrdiff_t>(std::min(kExplained, belief.ranked.size())));
  belief.explanations = infer::explain(
      {belief.rows, &belief.table, &belief.likelihoods, belief.readings, noise_, &belief.posterior}, top);
}

std::string BeliefEngine::suspect_name(const infer::Suspect& suspect) const {
  const std::vector<fault::FaultId> faults = infer::faults_of(suspect.faults);
  if (faults.empty()) return "not on this drawing";
  std::string name;
  for (const fault::FaultId id : faults)
    name += (name.empty() ? "" : " and ") + loom_->universe.faults.at(id.index()).name;
  return name;
}

std::vector<fault::FaultId> BeliefEngine::melted_by(const Belief& belief, const infer::Suspect& suspect) {
  return melted_by(case_of(belief.rows[likeliest_row(belief, suspect)], {}));
}

std::vector<fault::RepairId> BeliefEngine::own_repairs_of(const infer::Suspect& suspect) const {
  std::vector<fault::RepairId> repairs;
  for (const fault::FaultId id : infer::faults_of(suspect.faults)) repairs.push_back(repair_of(id));
  std::sort(repairs.begin(), repairs.end());
  repairs.erase(std::unique(repairs.begin(), repairs.end()), repairs.end());
  return repairs;
}

std::vector<fault::RepairId> BeliefEngine::repairs_of(const Belief& belief, const infer::Suspect& suspect) {
  std::vector<fault::RepairId> repairs = own_repairs_of(suspect);
  if (repairs.empty() || suspect.probability < kLeastWorthAFuse) return repairs;
  for (const fault::FaultId fuse : melted_by(belief, suspect)) repairs.push_back(repair_of(fuse));
  std::sort(repairs.begin(), repairs.end());
  repairs.erase(std::unique(repairs.begin(), repairs.end()), repairs.end());
  return repairs;
}

std::size_t likeliest_row(const Belief& belief, const infer::Suspect& suspect) {
  return *std::max_element(suspect.rows.begin(), suspect.rows.end(), [&](std::size_t a, std::size_t b) {
    return belief.posterior.row[a] < belief.posterior.row[b];
  });
}

}  // namespace halfsplit::app
