// SPDX-License-Identifier: Apache-2.0
#include "app/belief.h"

#include <algorithm>

#include "predict/severity_cuts.h"
namespace halfsplit::app {

namespace {

constexpr std::size_t kSeverities = 12;   // rows of a fault with a range
constexpr std::size_t kPairBudget = 150;  // pairs predicted
constexpr double kPairEstimate = 0.01;    // stop when no more than this can be expected of the rest
constexpr std::size_t kMostColumns = 4000;
constexpr std::size_t kExplained = 8;
constexpr double kLeastWorthAFuse = 1e-6;  // suspects less probable are not asked which fuses they melt
constexpr double kPairQuantiles[] = {0.2, 0.5, 0.8};

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
  for (std::size_t i = 0; i < loom_->universe.faults.size(); ++i) {
    const fault::Fault& f = loom_->universe.faults[i];
    if (f.kind == fault::FaultKind::kBlown) blown_[f.element] = fault::FaultId(i);
  }
}

// When first asked for: a loom that is only looked at needs none.
void BeliefEngine::make_rows() {
  if (!rows_.empty()) return;
  for (std::size_t i = 0; i < loom_->universe.faults.size(); ++i) {
    const fault::Fault& f = loom_->universe.faults[i];
    const bool range = fault::has_range(f);
    rates_.push_back({fault::FaultId(i), f.rate_per_year, range ? kSeverities : 1, {}});
    if (range) rates_.back().cuts = predict::find_cuts(campaign_, fault::FaultId(i), kSeverities);
  }
  rows_ = infer::make_rows(rates_, shares_);
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

const std::vector<evidence::Prediction>& BeliefEngine::column(const Evidence& e) {
  const auto key = std::make_pair(e.observation.what, e.repaired);
  const auto found = columns_.find(key);
  if (found != columns_.end()) return found->second;
  if (columns_.size() >= kMostColumns) columns_.clear();
  std::vector<predict::Case> cases;
  for (const infer::Row& row : rows_) cases.push_back(case_of(row, e.repaired));
  const evidence::ResponseTable table = campaign_.predict(cases, {e.observation.what});
  std::vector<evidence::Prediction> column;
  for (std::size_t row = 0; row < rows_.size(); ++row) column.push_back(table.at(row, 0));
  return columns_.emplace(key, std::move(column)).first->second;
}

const Belief& BeliefEngine::update(const std::vector<Evidence>& evidence, const base::CancelToken& cancel) {
  const std::string key = key_of(evidence) + "#";
  if (key == last_key_) return last_;
  make_rows();
  Belief belief;
  belief.rows = rows_;
  belief.table = evidence::ResponseTable(rows_.size(), evidence.size());
  for (std::size_t c = 0; c < evidence.size(); ++c) {
    const std::vector<evidence::Prediction>& cells = column(evidence[c]);
    for (std::size_t row = 0; row < rows_.size(); ++row) belief.table.at(row, c) = cells[row];
    belief.readings.push_back(
        {evidence[c].observation.what.kind, evidence[c].observation.seen, scale_of(evidence[c].observation.what)});
  }
  belief.likelihoods = infer::compute_likelihoods(belief.rows, belief.table, belief.readings, noise_);
  belief.posterior = infer::compute_posterior(belief.rows, belief.likelihoods);
  if (!evidence.empty()) add_pairs(belief, evidence, cancel);
  weigh(belief, evidence);
  last_ = std::move(belief);
  last_key_ = key;
  return last_;
}

void BeliefEngine::add_pairs(Belief& belief, const std::vector<Evidence>& evidence, const base::CancelToken& cancel) {
  const infer::PairGuess guess(rates_, belief.rows, belief.table, belief.likelihoods, belief.readings, noise_);
  infer::PairSearch search;
  search.faults = rates_;
  search.shares = shares_;
  search.readings = belief.readings;
  search.noise = noise_;
  search.guess = &guess;
  search.log_evidence_singles = belief.posterior.log_evidence;
  search.epsilon_of_estimate = kPairEstimate;
  search.budget = kPairBudget;
  search.keep = 1e-4;
  const auto predict_pair = [&](std::size_t first, std::size_t second) {
    const auto quantiles = [&](std::size_t i) {
      return fault::has_range(loom_->universe.faults[i])
                 ? std::vector<double>(std::begin(kPairQuantiles), std::end(kPairQuantiles))
                 : std::vector<double>{0.5};
    };
    std::vector<infer::PairRow> rows;
    const std::vector<double> firsts = quantiles(first);
    const std::vector<double> seconds = quantiles(second);
    for (const double a : firsts)
      for (const double b : seconds) {
        infer::PairRow row;
        row.first_quantile = a;
        row.second_quantile = b;
        row.weight = 1.0 / static_cast<double>(firsts.size() * seconds.size());
        row.follows = !rows.empty() && (seconds.size() > 1 ? b != seconds.front() : a != firsts.front());
        rows.push_back(std::move(row));
      }
    for (std::size_t c = 0; c < evidence.size(); ++c) {
      std::vector<predict::Case> cases;
      for (const infer::PairRow& row : rows) {
        infer::Row as_row;
        as_row.first = fault::FaultId(first);
        as_row.second = fault::FaultId(second);
        as_row.first_quantile = row.first_quantile;
        as_row.second_quantile = row.second_quantile;
        cases.push_back(case_of(as_row, evidence[c].repaired));
      }
      const evidence::ResponseTable table = campaign_.predict(cases, {evidence[c].observation.what});
      for (std::size_t r = 0; r < rows.size(); ++r) rows[r].cells.push_back(table.at(r, 0));
    }
    return rows;
  };
  const infer::PairsFound found = infer::explore_pairs(search, predict_pair, cancel);
  infer::append_pairs(found, belief.rows, belief.table, belief.likelihoods);
  belief.posterior = infer::compute_posterior(belief.rows, belief.likelihoods, {found.log_left_out_bound});
  belief.pairs_evaluated = found.evaluated;
  belief.unexplored = std::min(1.0, found.share_left_bound);
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
