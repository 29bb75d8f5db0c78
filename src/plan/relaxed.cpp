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
constexpr std::size_t kMostKinds = 255;
constexpr std::size_t kFewFaults = 8;
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
    out_.log_steps.clear();
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

RelaxedBound::RelaxedBound(const Model& model)
    : model_(make_relaxed(model)), survey_(model_, SetupSet{}), search_(survey_, 0, base::CancelToken{}) {
  const auto is_sure = [](const ModelTest& test) { return test.sure; };
  const auto is_countable = [](const ModelTest& test) { return test.outcomes <= kMostKinds; };
  const bool sure = std::all_of(model.tests.begin(), model.tests.end(), is_sure);
  const bool countable = std::all_of(model_.tests.begin(), model_.tests.end(), is_countable);
  applies_ = countable && (sure || model.goal == Goal::kRepair);
}

double RelaxedBound::value(const Belief& belief, const SetupSet& made, TestList tests, std::size_t work) {
  if (!applies_) return 0.0;
  search_.forget();
  const BeliefStack::Mark mark = survey_.stack().mark();
  const Belief here = survey_.stack().push(belief);
  Place place{survey_.moves().number_of(made), tests, kFewFaults, work_ + work};
  double best = of_group(here, place);
  while (place.most_faults < belief.count && work_ < place.limit) {
    place.most_faults *= 2;
    best = std::max(best, of_group(here, place));
  }
  survey_.stack().release(mark);
  return best;
}

// Exact when the group is small enough and the work lasts; else the sum of its parts.
double RelaxedBound::of_group(const Belief& belief, const Place& place) {
  const Surroundings around = survey_.glance(belief, place.made);
  const double bound = survey_.bound(belief, place.made, around);
  if (belief.count <= 1 || around.ended) return bound;
  if (belief.count <= place.most_faults && work_ < place.limit) {
    const std::size_t per_state = work_per_state(place.tests.size());
    const std::size_t before = search_.states();
    search_.allow((place.limit - work_) / per_state);
    const double value = search_.value(belief, place.made, place.tests, std::numeric_limits<double>::infinity());
    work_ += (search_.states() - before) * per_state;
    if (!search_.stopped()) return value;
  }
  return std::max(bound, of_parts(belief, place));
}

double RelaxedBound::of_parts(const Belief& belief, const Place& place) {
  const Surroundings around = survey_.glance(belief, place.made);
  std::vector<Step> steps;
  survey_.list(belief, place.made, place.tests, around, steps);
  work_ += work_per_state(place.tests.size());
  std::erase_if(steps, [](const Step& step) { return step.kind != ActionKind::kTest; });
  const Step* step = Thrift().pick(model_, belief.mass, around.class_bits, steps);
  if (step == nullptr) return 0.0;
  const std::uint8_t* kind = model_.sure_outcome.data() + step->index * model_.fault_count;
  double sum = 0.0;
  for (std::size_t o = 0; o < model_.tests[step->index].outcomes; ++o) {
    std::vector<double> weights(model_.fault_count, 0.0);
    bool any = false;
    for (std::uint32_t i = 0; i < belief.count; ++i) {
      if (kind[belief.fault[i]] != o) continue;
      weights[belief.fault[i]] = belief.weight[i];
      any = true;
    }
    if (any) sum += of_group(survey_.stack().push(weights), place);
  }
  return sum;
}

}  // namespace halfsplit::plan
