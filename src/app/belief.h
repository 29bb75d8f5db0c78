// SPDX-License-Identifier: Apache-2.0
// Belief about one job: which faults, how probable, after everything seen. Keeps what it worked out - benches, columns
// of predictions - so that a new reading costs one column, and that only of the hypotheses still in question
// (infer/narrowing.h). A repair done divides the evidence: what was seen after it
// is predicted with that repair's faults gone, so a repair that did not help counts against its faults.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "app/loaded_loom.h"
#include "base/seams.h"
#include "candidates/generate.h"
#include "infer/explain.h"
#include "infer/groups.h"
#include "infer/narrowing.h"
#include "infer/one_severity.h"
#include "infer/pairs.h"
#include "predict/campaign.h"

namespace halfsplit::app {

constexpr std::size_t kSeverities = 12;  // rows of a fault with a range

// A piece of evidence in the order of the job.
struct Evidence {
  int entry = 0;  // number in the job
  std::string what, shows;
  evidence::Observation observation;
  std::vector<fault::RepairId> repaired;  // before it
};

struct Belief {
  std::vector<infer::Row> rows;  // of the hypotheses looked at everywhere; the others are in `unexplored`
  evidence::ResponseTable table{0, 1};
  infer::LikelihoodTable likelihoods{0};  // by row, each reading given those before it (infer/one_severity.h)
  infer::Leans leans;                     // by row of a single fault; pairs follow behind
  double healthy_beyond = 0.5;            // of further readings, if it is not on this drawing
  std::vector<infer::Reading> readings;
  infer::Posterior posterior;
  std::vector<std::size_t> ranked;   // positions in posterior.suspects
  infer::Explanations explanations;  // of the first few ranked
  std::vector<double> fault_weight;  // by FaultId
  double fixed = 0.0;                // chance that all that was wrong is mended by the repairs done
  std::size_t pairs_evaluated = 0;
  double unexplored = 0.0;  // share of belief that what was not looked at may hold, at most
};

// The most probable of a suspect's rows: its severity thought likeliest.
[[nodiscard]] std::size_t likeliest_row(const Belief& belief, const infer::Suspect& suspect);

class BeliefEngine {
 public:
  explicit BeliefEngine(std::shared_ptr<const LoadedLoom> loom, meters::MeterProfile meter = meters::default_meter());
  [[nodiscard]] const LoadedLoom& loom() const { return *loom_; }
  [[nodiscard]] const meters::MeterProfile& meter() const { return meter_; }
  [[nodiscard]] predict::Campaign& campaign() { return campaign_; }
  // Hands for much that is asked at once; none, or null: one pair. They must outlive what is asked next. What comes out
  // does not depend on them.
  void use_hands(base::Workers* workers) { workers_ = workers; }
  [[nodiscard]] const infer::Noise& noise() const { return noise_; }
  [[nodiscard]] const infer::PriorShares& shares() const { return shares_; }

  // Every single fault at every severity looked at, and "not on this drawing".
  [[nodiscard]] const std::vector<infer::Row>& rows();
  // The same evidence gives the same belief and is not worked out twice.
  [[nodiscard]] const Belief& update(const std::vector<Evidence>& evidence, const base::CancelToken& cancel);

  [[nodiscard]] std::string suspect_name(const infer::Suspect& suspect) const;
  [[nodiscard]] std::vector<fault::RepairId> own_repairs_of(const infer::Suspect& suspect) const;  // of its faults
  // What mends a suspect: the repairs of its faults, and of the fuses that these melt at work at the severity thought
  // likeliest. Sorted; empty: "not on this drawing".
  [[nodiscard]] std::vector<fault::RepairId> repairs_of(const Belief& belief, const infer::Suspect& suspect);
  // The faults of a row that are not repaired. A fuse that one of them melted stays blown until it is replaced.
  [[nodiscard]] predict::Case case_of(const infer::Row& row, const std::vector<fault::RepairId>& repaired);
  // Fuses that melt in the vehicle at work because of these faults, as the faults "P blown", in the loom's order.
  [[nodiscard]] std::vector<fault::FaultId> melted_by(const predict::Case& which);
  // The same of a suspect, at the severity thought likeliest.
  [[nodiscard]] std::vector<fault::FaultId> melted_by(const Belief& belief, const infer::Suspect& suspect);
  // What each case would show at each observable; what was asked before is kept, as long as it is not too much.
  [[nodiscard]] evidence::ResponseTable forecast(const std::vector<predict::Case>& cases,
                                                 const std::vector<evidence::Observable>& whats,
                                                 const base::CancelToken& cancel);
  // A test with what it showed so far; nothing seen yet by itself.
  [[nodiscard]] infer::Reading read_again(const std::vector<Evidence>& evidence, const evidence::Observable& what,
                                          const std::vector<fault::RepairId>& repaired) const {
    return {what.kind, {}, scale_of(what), read_before(evidence, what, repaired)};
  }
  [[nodiscard]] infer::Scale scale_of(const evidence::Observable& what) const;

 private:
  using PairKey = std::tuple<fault::FaultId, fault::FaultId, double, double>;  // with both severities
  // What the hypotheses show at one observable, with these repairs done: what was worked out so far, kept.
  struct Column {
    std::vector<evidence::Prediction> cells;            // by row; only of the groups known
    std::vector<char> known;                            // by group
    std::map<std::size_t, evidence::Prediction> ahead;  // by row: worked out with another column, not yet asked for
    // Log-likelihoods by row, of a reading given those before it; NaN: not yet.
    std::vector<std::pair<infer::Reading, std::vector<double>>> weighed;
    std::map<PairKey, evidence::Prediction> pairs;
  };
  // belief_columns.cpp
  Column& column(const Evidence& evidence);
  [[nodiscard]] std::vector<double>& weighed(Column& column, const infer::Reading& reading) const;
  void predict_groups(const Evidence& evidence, const std::vector<std::size_t>& groups, Column& column);
  void predict_rows(const Evidence& evidence, const std::vector<std::size_t>& rows, Column& column);
  // What else was seen in the same state: a fault is put in once, and who hears whom is worked out once, for all of it.
  [[nodiscard]] std::vector<const Evidence*> read_together(const Evidence& evidence) const;
  void look(const Evidence& evidence, const infer::Reading& reading, const std::vector<std::size_t>& groups,
            infer::Narrowing& narrowing, std::size_t at);
  void narrow(const std::vector<Evidence>& evidence, infer::Narrowing& narrowing, const Belief& belief,
              const base::CancelToken& cancel);
  void collect(const std::vector<Evidence>& evidence, const infer::Narrowing& narrowing, Belief& belief);
  // belief_hands.cpp
  [[nodiscard]] std::size_t hands();
  [[nodiscard]] predict::Campaign& campaign_of(std::size_t hand) { return hand == 0 ? campaign_ : *others_[hand - 1]; }
  [[nodiscard]] evidence::ResponseTable predict(const std::vector<predict::Case>& cases,
                                                const std::vector<evidence::Observable>& whats);
  void add_forecast(const std::vector<predict::Case>& cases, const std::vector<evidence::Observable>& whats,
                    const base::CancelToken& cancel);
  // belief_pairs.cpp
  [[nodiscard]] std::vector<std::size_t> find_bearing(const Belief& belief, const std::vector<const Column*>& columns,
                                                      const infer::Narrowing& narrowing) const;
  [[nodiscard]] infer::PairGuess guess_pairs(const Belief& belief, const std::vector<const Column*>& columns,
                                             const infer::Narrowing& narrowing,
                                             const std::vector<std::size_t>& among) const;
  void add_pairs(Belief& belief, const std::vector<Evidence>& evidence, const infer::Narrowing& narrowing,
                 const base::CancelToken& cancel);
  [[nodiscard]] std::vector<infer::PairRow> rows_of_pair(std::size_t first, std::size_t second) const;
  using Pairs = std::span<const std::pair<std::size_t, std::size_t>>;
  void predict_pairs(const Pairs& pairs, const std::vector<Evidence>& evidence);
  [[nodiscard]] std::vector<infer::PairRow> predict_pair(std::size_t first, std::size_t second,
                                                         const std::vector<Evidence>& evidence);
  // belief.cpp
  void make_rows();
  [[nodiscard]] std::vector<infer::Before> read_before(std::span<const Evidence> evidence,
                                                       const evidence::Observable& what,
                                                       const std::vector<fault::RepairId>& done) const;
  void weigh(Belief& belief, const std::vector<Evidence>& evidence);
  [[nodiscard]] fault::RepairId repair_of(fault::FaultId id) const {
    return loom_->universe.faults.at(id.index()).repair;
  }

  std::shared_ptr<const LoadedLoom> loom_;
  meters::MeterProfile meter_;
  predict::Campaign campaign_;
  base::Workers* workers_ = nullptr;
  std::vector<std::unique_ptr<predict::Campaign>> others_;  // one for each further pair of hands
  infer::Noise noise_;
  infer::PriorShares shares_;
  std::vector<infer::FaultRate> rates_;
  std::vector<infer::Row> rows_;
  std::vector<infer::RowGroup> groups_;                 // one per fault, in order; "not on this drawing" last
  std::map<circuit::ElementId, fault::FaultId> blown_;  // by the fuse's element
  std::map<std::pair<evidence::Observable, std::vector<fault::RepairId>>, Column> columns_;
  std::map<evidence::Observable, std::map<predict::Case, evidence::Prediction>> forecast_;
  std::size_t forecast_cells_ = 0;
  const std::vector<Evidence>* looking_at_ = nullptr;  // while belief is updated
  std::string last_key_;
  Belief last_;
};

}  // namespace halfsplit::app
