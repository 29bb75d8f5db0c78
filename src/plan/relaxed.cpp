// SPDX-License-Identifier: Apache-2.0
// Why it is a bound. (1) A test whose rows agree within a kind only garbles the answer "which kind", so knowing the
// kind is worth at least as much (Blackwell 1953). Rows that nearly agree have a common part of mass 1 - leak; with
// chance leak the answer may depend on the fault, so there the easier problem tells the fault outright. Leaking may be
// tried again and again for the test's minutes, which is worth minutes / leak per job: ExactSearch caps every value
// with that. (2) Whoever is told the group for nothing can still follow any plan, so the sum over groups of the best
// within each is no dearer than the best plan. The groups are those that the rule of thumb would part first: what is
// told for nothing is then what costs least to find out.
#include "plan/relaxed.h"

#include <algorithm>
#include <cmath>

#include "plan/greedy.h"

namespace halfsplit::plan {

namespace {

constexpr double kMostLeak = 0.02;
// Looks for a state: its tests are certain and mostly settled by a bound, so they are cheaper than elsewhere.
std::size_t work_per_state(std::size_t tests) { return 4 + tests / 6; }

// Rows of one kind: what they have in common, outcome by outcome.
struct Kind {
  std::vector<double> common;
  [[nodiscard]] double leak() const {
    double sum = 0.0;
    for (const double p : common) sum += p;
    return std::max(0.0, 1.0 - sum);
  }
};

class Relaxer {
 public:
  explicit Relaxer(const Model& model) : from_(model), out_(model) {}

  Model relax() {
    out_.table.clear();
    out_.leak.assign(from_.tests.size() * from_.fault_count, 0.0);
    for (std::size_t t = 0; t < from_.tests.size(); ++t) {
      sort_rows(t);
      write_test(t);
    }
    return std::move(out_);
  }

 private:
  // First fit: each row joins the first kind it nearly agrees with.
  void sort_rows(std::size_t t) {
    const ModelTest& test = from_.tests[t];
    kinds_.clear();
    kind_of_.clear();
    for (std::size_t f = 0; f < from_.fault_count; ++f) {
      const double* row = from_.table.data() + test.table + f * test.outcomes;
      std::size_t k = 0;
      while (k < kinds_.size() && !join(kinds_[k], row)) ++k;
      if (k == kinds_.size()) kinds_.push_back({std::vector<double>(row, row + test.outcomes)});
      kind_of_.push_back(k);
    }
  }

  static bool join(Kind& kind, const double* row) {
    Kind joined = kind;
    for (std::size_t o = 0; o < joined.common.size(); ++o) joined.common[o] = std::min(joined.common[o], row[o]);
    if (joined.leak() > kMostLeak) return false;
    kind = joined;
    return true;
  }

  void write_test(std::size_t t) {
    const std::size_t n = from_.fault_count;
    ModelTest& test = out_.tests[t];
    test.sure = true;
    test.dominated = false;
    test.outcomes = static_cast<std::uint32_t>(kinds_.size());
    test.table = out_.table.size();
    double most = 0.0;
    for (std::size_t f = 0; f < n; ++f) {
      const double raw = kinds_[kind_of_[f]].leak();
      const double leak = raw > 1e-9 ? raw : 0.0;
      most = std::max(most, leak);
      out_.leak[t * n + f] = leak;
      out_.sure_outcome[t * n + f] = static_cast<std::uint8_t>(kind_of_[f]);
      out_.noise_bits[t * n + f] = 0.0;
      for (std::size_t k = 0; k < kinds_.size(); ++k) out_.table.push_back(k == kind_of_[f] ? 1.0 - leak : 0.0);
    }
    const double bits = std::log2(static_cast<double>(kinds_.size()));
    test.capacity_bits = bits + most * std::log2(static_cast<double>(n));
    if (most > 0.0) out_.leak_minutes = std::min(out_.leak_minutes, test.minutes / most);
  }

  const Model& from_;
  Model out_;
  std::vector<Kind> kinds_;
  std::vector<std::size_t> kind_of_;  // by fault
};

}  // namespace

Model make_relaxed(const Model& model) { return Relaxer(model).relax(); }

RelaxedBound::RelaxedBound(const Model& model) : model_(make_relaxed(model)) {
  const bool sure =
      std::all_of(model.tests.begin(), model.tests.end(), [](const ModelTest& test) { return test.sure; });
  const bool countable =
      std::all_of(model_.tests.begin(), model_.tests.end(), [](const ModelTest& t) { return t.outcomes <= 255; });
  applies_ = countable && (sure || model.goal == Goal::kRepair);
}

double RelaxedBound::value(const Situation& here, std::size_t work) {
  if (!applies_) return 0.0;
  survey_ = std::make_unique<Survey>(model_, here.made);
  search_ = std::make_unique<ExactSearch>(*survey_, 0, base::CancelToken{});
  const Start start = start_at(*survey_, here);
  const std::size_t limit = work_ + work;
  double best = 0.0;
  for (std::size_t most_faults = 8; work_ < limit; most_faults *= 2) {
    best = std::max(best, in_groups(start, most_faults, limit));
    if (most_faults >= start.belief.count) break;
  }
  return best;
}

double RelaxedBound::in_groups(const Start& start, std::size_t most_faults, std::size_t limit) {
  const BeliefStack::Mark mark = survey_->stack().mark();
  const double value = of_group(start.belief, start.made, start.tests, most_faults, limit);
  survey_->stack().release(mark);
  return value;
}

// Mass-weighted. Exact when the group is small enough and the work lasts; else the sum of its parts.
double RelaxedBound::of_group(const Belief& belief, SetNumber made, TestList tests, std::size_t most_faults,
                              std::size_t limit) {
  const Surroundings around = survey_->glance(belief, made);
  const double bound = survey_->bound(belief, made, around);
  if (belief.count <= 1 || around.ended) return bound;
  if (belief.count <= most_faults && work_ < limit) {
    const std::size_t per_state = work_per_state(tests.size());
    const std::size_t before = search_->states();
    search_->allow((limit - work_) / per_state);
    const double value = search_->value(belief, made, tests, std::numeric_limits<double>::infinity());
    work_ += (search_->states() - before) * per_state;
    if (!search_->stopped()) return value;
  }
  return std::max(bound, split(belief, made, tests, most_faults, limit));
}

double RelaxedBound::split(const Belief& belief, SetNumber made, TestList tests, std::size_t most_faults,
                           std::size_t limit) {
  const Surroundings around = survey_->glance(belief, made);
  std::vector<Step> steps;
  survey_->list(belief, made, tests, around, steps);
  work_ += work_per_state(tests.size());
  std::erase_if(steps, [](const Step& step) { return step.kind != ActionKind::kTest; });
  const Step* step = Thrift().pick(model_, belief.mass, around.class_bits, steps);
  if (step == nullptr) return 0.0;
  const std::size_t test = step->index;
  double sum = 0.0;
  for (std::size_t o = 0; o < model_.tests[test].outcomes; ++o) {
    std::vector<double> weights(model_.fault_count, 0.0);
    bool any = false;
    for (std::uint32_t i = 0; i < belief.count; ++i) {
      if (model_.sure_outcome[test * model_.fault_count + belief.fault[i]] != o) continue;
      weights[belief.fault[i]] = belief.weight[i];
      any = true;
    }
    if (any) sum += of_group(survey_->stack().push(weights), made, tests, most_faults, limit);
  }
  return sum;
}

}  // namespace halfsplit::plan
