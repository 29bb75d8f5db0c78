// SPDX-License-Identifier: Apache-2.0
#include "app/belief.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <span>

#include "infer/log_sum.h"

namespace halfsplit::app {

namespace {

constexpr std::size_t kPairBudget = 150;       // pairs predicted
constexpr double kPairEstimate = 0.01;         // stop when no more than this can be expected of the rest
constexpr std::size_t kMostPaired = 400;       // faults paired with one another
constexpr std::size_t kFewestColumns = 60;     // columns kept whatever their size
constexpr std::size_t kMostCells = 4'000'000;  // cells kept beyond that
constexpr std::size_t kMostPairCells = 20'000;
constexpr double kNothingShown = 0.05;   // of a spread
constexpr std::size_t kMostWeighed = 8;  // readings of one observable whose likelihoods are kept
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
    rates_.push_back({fault::FaultId(i), f.rate_per_year, fault::has_range(f) ? kSeverities : 1});
    if (f.kind == fault::FaultKind::kBlown) blown_[f.element] = fault::FaultId(i);
  }
  rows_ = infer::make_rows(rates_, shares_);
  groups_ = infer::group_rows(rows_);
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

BeliefEngine::Column& BeliefEngine::column(const Evidence& e) {
  const auto key = std::make_pair(e.observation.what, e.repaired);
  const auto found = columns_.find(key);
  if (found != columns_.end()) return found->second;
  Column& fresh = columns_[key];
  fresh.cells.resize(rows_.size());
  fresh.known.assign(groups_.size(), 0);
  return fresh;
}

std::vector<double>& BeliefEngine::weighed(Column& column, const evidence::Seen& seen) const {
  for (auto& [what, log_likelihoods] : column.weighed)
    if (what.over_range == seen.over_range && what.value == seen.value && what.category == seen.category)
      return log_likelihoods;
  if (column.weighed.size() >= kMostWeighed) column.weighed.erase(column.weighed.begin());
  column.weighed.emplace_back(seen, std::vector<double>(rows_.size(), std::nan("")));
  return column.weighed.back().second;
}

// A fault that shows nothing here at the least, the middle and the worst of its severities shows nothing at any.
void BeliefEngine::predict_groups(const Evidence& e, const std::vector<std::size_t>& groups, Column& column) {
  const std::size_t healthy = groups_.size() - 1;
  std::vector<std::size_t> fresh;
  for (const std::size_t g : groups)
    if (column.known[g] == 0) fresh.push_back(g);
  if (column.known[healthy] == 0) predict_rows(e, {groups_[healthy].first}, column);
  column.known[healthy] = 1;
  std::erase(fresh, healthy);
  std::vector<std::size_t> rows;
  const auto probes = [&](std::size_t g) {
    const infer::RowGroup& group = groups_[g];
    return std::array{group.first, group.first + group.count / 2, group.first + group.count - 1};
  };
  for (const std::size_t g : fresh)
    for (const std::size_t r : probes(g))
      if (rows.empty() || rows.back() != r) rows.push_back(r);
  predict_rows(e, rows, column);
  rows.clear();
  const evidence::Prediction& shown = column.cells[groups_[healthy].first];
  for (const std::size_t g : fresh) {
    column.known[g] = 1;
    const std::array at = probes(g);
    const bool shows_nothing = std::none_of(at.begin(), at.end(), [&](std::size_t r) {
      return infer::differ(column.cells[r], shown, e.observation.what.kind, kNothingShown);
    });
    for (std::size_t r = groups_[g].first; r < groups_[g].first + groups_[g].count; ++r) {
      if (std::find(at.begin(), at.end(), r) != at.end()) continue;
      if (shows_nothing)
        column.cells[r] = column.cells[at[1]];
      else
        rows.push_back(r);
    }
  }
  predict_rows(e, rows, column);
}

void BeliefEngine::predict_rows(const Evidence& e, const std::vector<std::size_t>& rows, Column& column) {
  std::vector<predict::Case> cases;
  for (const std::size_t r : rows) cases.push_back(case_of(rows_[r], e.repaired));
  evidence::ResponseTable fresh = campaign_.predict(cases, {e.observation.what});
  for (std::size_t i = 0; i < rows.size(); ++i) column.cells[rows[i]] = std::move(fresh.at(i, 0));
}

// Predicts what is not known of these groups, weighs what is not weighed, and tells the narrowing.
void BeliefEngine::look(const Evidence& e, const infer::Reading& reading, const std::vector<std::size_t>& groups,
                        infer::Narrowing& narrowing, std::size_t at) {
  Column& column = this->column(e);
  predict_groups(e, groups, column);
  std::vector<double>& likelihoods = weighed(column, reading.seen);
  std::vector<infer::Row> rows;
  std::vector<std::size_t> places;
  for (const std::size_t g : groups)
    for (std::size_t r = groups_[g].first; r < groups_[g].first + groups_[g].count; ++r) {
      if (!std::isnan(likelihoods[r])) continue;
      rows.push_back(rows_[r]);
      places.push_back(r);
    }
  evidence::ResponseTable table(rows.size(), 1);
  for (std::size_t i = 0; i < places.size(); ++i) table.at(i, 0) = std::move(column.cells[places[i]]);
  const std::vector<double> weights = infer::compute_column(rows, table, 0, reading, noise_);
  for (std::size_t i = 0; i < places.size(); ++i) {
    column.cells[places[i]] = std::move(table.at(i, 0));
    likelihoods[places[i]] = weights[i];
  }
  for (const std::size_t g : groups)
    narrowing.set(g, at, std::span<const double>(likelihoods).subspan(groups_[g].first, groups_[g].count));
}

void BeliefEngine::narrow(const std::vector<Evidence>& evidence, infer::Narrowing& narrowing, const Belief& belief,
                          const base::CancelToken& cancel) {
  for (std::size_t c = 0; c < evidence.size(); ++c) {
    const Column& column = this->column(evidence[c]);
    std::vector<std::size_t> known;
    for (std::size_t g = 0; g < groups_.size(); ++g)
      if (column.known[g] != 0 || g + 1 == groups_.size()) known.push_back(g);  // and the healthy vehicle always
    look(evidence[c], belief.readings[c], known, narrowing, c);
  }
  for (bool more = true; more && !cancel.cancelled();) {
    const std::vector<std::vector<std::size_t>> asked = narrowing.next();
    more = false;
    for (std::size_t c = 0; c < asked.size(); ++c) {
      more = more || !asked[c].empty();
      if (!asked[c].empty()) look(evidence[c], belief.readings[c], asked[c], narrowing, c);
    }
  }
}

// Rows, predictions and likelihoods of what was looked at everywhere.
void BeliefEngine::collect(const std::vector<Evidence>& evidence, const infer::Narrowing& narrowing, Belief& belief) {
  std::vector<std::size_t> places;
  for (std::size_t g = 0; g < groups_.size(); ++g)
    for (std::size_t r = groups_[g].first; narrowing.is_complete(g) && r < groups_[g].first + groups_[g].count; ++r) {
      places.push_back(r);
      belief.rows.push_back(rows_[r]);
    }
  belief.table = evidence::ResponseTable(places.size(), evidence.size());
  belief.likelihoods = infer::LikelihoodTable(places.size());
  for (std::size_t c = 0; c < evidence.size(); ++c) {
    const Column& column = this->column(evidence[c]);
    std::vector<double> likelihoods;
    for (std::size_t i = 0; i < places.size(); ++i) {
      belief.table.at(i, c) = column.cells[places[i]];
      likelihoods.push_back(narrowing.at(places[i], c));
    }
    belief.likelihoods.add_column(std::move(likelihoods));
  }
}

const Belief& BeliefEngine::update(const std::vector<Evidence>& evidence, const base::CancelToken& cancel) {
  const std::string key = key_of(evidence) + "#";
  if (key == last_key_) return last_;
  if (columns_.size() > std::max(kFewestColumns, kMostCells / std::max<std::size_t>(rows_.size(), 1))) columns_.clear();
  Belief belief;
  for (const Evidence& e : evidence)
    belief.readings.push_back({e.observation.what.kind, e.observation.seen, scale_of(e.observation.what)});
  infer::Narrowing narrowing(rows_, belief.readings, noise_);
  narrow(evidence, narrowing, belief, cancel);
  collect(evidence, narrowing, belief);
  belief.posterior = infer::compute_posterior(belief.rows, belief.likelihoods, {narrowing.log_left_out()});
  belief.unexplored = belief.posterior.unexplored;
  if (!evidence.empty()) add_pairs(belief, evidence, narrowing, cancel);
  weigh(belief, evidence);
  last_ = std::move(belief);
  last_key_ = key;
  return last_;
}

void BeliefEngine::add_pairs(Belief& belief, const std::vector<Evidence>& evidence, const infer::Narrowing& narrowing,
                             const base::CancelToken& cancel) {
  std::vector<const Column*> columns;
  for (const Evidence& e : evidence) columns.push_back(&column(e));
  const std::size_t healthy = groups_.back().first;
  // Faults that show something else than the healthy vehicle, the likeliest to explain what it does not.
  std::vector<std::pair<double, std::size_t>> bearing;  // score, fault
  for (std::size_t g = 0; g + 1 < groups_.size(); ++g) {
    bool bears = false;
    double score = std::log(std::max(rates_[g].rate_per_year, infer::kSmallestRate));
    for (std::size_t c = 0; c < columns.size(); ++c) {
      if (!narrowing.is_known(g, c)) continue;
      double gain = 0.0;
      for (std::size_t r = groups_[g].first; r < groups_[g].first + groups_[g].count; ++r) {
        bears = bears || infer::differ(columns[c]->cells[r], columns[c]->cells[healthy], belief.readings[c].kind);
        gain = std::max(gain, narrowing.at(r, c) - narrowing.at(healthy, c));
      }
      score += gain;
    }
    if (bears) bearing.emplace_back(score, g);
  }
  std::stable_sort(bearing.begin(), bearing.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  if (bearing.size() > kMostPaired) bearing.resize(kMostPaired);
  std::vector<std::size_t> among;
  for (const auto& entry : bearing) among.push_back(entry.second);
  std::sort(among.begin(), among.end());
  if (among.size() < 2) return;
  // Their predictions; where one was not looked at it is taken to show the healthy vehicle's.
  std::vector<infer::FaultRate> some;
  std::vector<infer::Row> rows;
  std::vector<std::size_t> places;
  std::vector<std::size_t> group_of;
  const auto add = [&](std::size_t g) {
    for (std::size_t r = groups_[g].first; r < groups_[g].first + groups_[g].count; ++r) {
      rows.push_back(rows_[r]);
      places.push_back(r);
      group_of.push_back(g);
    }
  };
  for (const std::size_t g : among) {
    some.push_back(rates_[g]);
    add(g);
  }
  add(groups_.size() - 1);
  evidence::ResponseTable table(rows.size(), evidence.size());
  infer::LikelihoodTable likelihoods(rows.size());
  for (std::size_t c = 0; c < columns.size(); ++c) {
    const infer::Reading& reading = belief.readings[c];
    const double least =
        std::log(infer::wrong_share(reading.kind, noise_)) + std::log(infer::broad_density(reading, noise_));
    std::vector<double> line;
    for (std::size_t i = 0; i < rows.size(); ++i) {
      const bool known = narrowing.is_known(group_of[i], c);
      table.at(i, c) = columns[c]->cells[known ? places[i] : healthy];
      line.push_back(known ? narrowing.at(places[i], c) : least);
    }
    likelihoods.add_column(std::move(line));
  }
  const infer::PairGuess guess(some, rows, table, likelihoods, belief.readings, noise_);
  infer::PairSearch search;
  search.faults = rates_;
  search.shares = shares_;
  search.readings = belief.readings;
  search.noise = noise_;
  search.among = among;
  search.guess = &guess;
  search.log_evidence_singles = belief.posterior.log_evidence;
  search.epsilon_of_estimate = kPairEstimate;
  search.budget = kPairBudget;
  search.keep = 1e-4;
  const infer::PairsFound found = infer::explore_pairs(
      search, [&](std::size_t first, std::size_t second) { return predict_pair(first, second, evidence); }, cancel);
  infer::append_pairs(found, belief.rows, belief.table, belief.likelihoods);
  const double left_out = infer::log_sum_exp(found.log_left_out_bound, narrowing.log_left_out());
  belief.posterior = infer::compute_posterior(belief.rows, belief.likelihoods, {left_out});
  belief.pairs_evaluated = found.evaluated;
  belief.unexplored = std::min(1.0, found.share_left_bound + belief.unexplored);
}

std::vector<infer::PairRow> BeliefEngine::predict_pair(std::size_t first, std::size_t second,
                                                       const std::vector<Evidence>& evidence) {
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
  for (const Evidence& e : evidence) {
    Column& column = this->column(e);
    if (column.pairs.size() > kMostPairCells) column.pairs.clear();
    std::vector<predict::Case> cases;
    std::vector<std::size_t> missing;
    for (std::size_t r = 0; r < rows.size(); ++r) {
      const std::tuple key(fault::FaultId(first), fault::FaultId(second), rows[r].first_quantile,
                           rows[r].second_quantile);
      if (column.pairs.contains(key)) continue;
      infer::Row as_row;
      std::tie(as_row.first, as_row.second, as_row.first_quantile, as_row.second_quantile) = key;
      cases.push_back(case_of(as_row, e.repaired));
      missing.push_back(r);
    }
    const evidence::ResponseTable table = campaign_.predict(cases, {e.observation.what});
    for (std::size_t i = 0; i < missing.size(); ++i)
      column.pairs[{fault::FaultId(first), fault::FaultId(second), rows[missing[i]].first_quantile,
                    rows[missing[i]].second_quantile}] = table.at(i, 0);
    for (infer::PairRow& row : rows)
      row.cells.push_back(
          column.pairs.at({fault::FaultId(first), fault::FaultId(second), row.first_quantile, row.second_quantile}));
  }
  return rows;
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
