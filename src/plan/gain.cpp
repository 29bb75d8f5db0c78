// SPDX-License-Identifier: Apache-2.0
// Bits: I(class; outcome) = H(outcome) - sum over classes of P(class) H(outcome | class); for a class with one fault
// left the inner entropy is the row's own (Model::noise_bits), so most tests cost one pass and a logarithm per outcome.
// Edge cutting: Golovin, Krause and Ray 2010 (EC2). With noise the outcome's likelihoods are taken relative to the
// likeliest class, after the discount of Chen, Hassani and Krause 2017 (from memory).
#include "plan/gain.h"

#include <algorithm>
#include <cmath>

namespace halfsplit::plan {

namespace {
double x_log2_x(double x) { return x > 0.0 ? x * std::log2(x) : 0.0; }
}  // namespace

Gain::Gain(const Model& model) : model_(&model) {
  mended_mass_.assign(model.repairs.size(), 0.0);
  mended_mass_bits_.assign(model.repairs.size(), 0.0);
  std::size_t most = 1;
  for (const ModelTest& test : model.tests) most = std::max<std::size_t>(most, test.outcomes);
  outcome_mass_.assign(most, 0.0);
  part_mass_.assign(most, 0.0);
  group_mass_.assign(model.fault_count, 0.0);
  runs_.reserve(model.fault_count);
}

void Gain::look_at(const Belief& belief) {
  belief_ = belief;
  find_runs();
  total_bits_ = x_log2_x(belief.mass);
  mass_bits_ = 0.0;
  for (const Run& run : runs_) mass_bits_ += x_log2_x(run.mass);
  class_bits_ = std::max(0.0, total_bits_ - mass_bits_);
  group_bits_ = model_->groups_are_classes ? class_bits_ : find_group_bits();
  add_up_repairs();
}

void Gain::find_runs() {
  runs_.clear();
  for (std::uint32_t i = 0; i < belief_.count; ++i) {
    if (i == 0 || model_->class_of[belief_.fault[i]] != model_->class_of[belief_.fault[i - 1]])
      runs_.push_back({i, i, 0.0, belief_.fault[i]});
    runs_.back().end = i + 1;
    runs_.back().mass += belief_.weight[i];
  }
  single_ = runs_.size() == belief_.count;
}

double Gain::find_group_bits() {
  for (std::uint32_t i = 0; i < belief_.count; ++i)
    group_mass_[model_->group_of[belief_.fault[i]]] += belief_.weight[i];
  double bits = total_bits_;
  for (std::uint32_t i = 0; i < belief_.count; ++i) {
    double& mass = group_mass_[model_->group_of[belief_.fault[i]]];
    bits -= x_log2_x(mass);
    mass = 0.0;
  }
  return std::max(0.0, bits);
}

void Gain::add_up_repairs() {
  for (const std::uint16_t r : touched_) mended_mass_[r] = mended_mass_bits_[r] = 0.0;
  touched_.clear();
  for (const Run& run : runs_) {
    const FaultNumber f = belief_.fault[run.begin];
    for (std::uint32_t i = model_->repairs_begin[f]; i < model_->repairs_begin[f + 1]; ++i) {
      const std::uint16_t r = model_->repair_list[i];
      if (mended_mass_[r] == 0.0) touched_.push_back(r);
      mended_mass_[r] += run.mass;
      mended_mass_bits_[r] += x_log2_x(run.mass);
    }
  }
  if (!std::is_sorted(touched_.begin(), touched_.end())) std::sort(touched_.begin(), touched_.end());
}

bool Gain::splits(std::size_t test) const {
  const ModelTest& t = model_->tests[test];
  if (t.sure) {
    const std::uint8_t* outcome = model_->sure_outcome.data() + test * model_->fault_count;
    for (std::uint32_t i = 1; i < belief_.count; ++i) {
      if (outcome[belief_.fault[i]] != outcome[belief_.fault[0]]) return true;
    }
    return false;
  }
  if (belief_.count < 2) return false;
  const double* rows = model_->table.data() + t.table;
  const double* first = rows + belief_.fault[0] * t.outcomes;
  for (std::uint32_t i = 1; i < belief_.count; ++i) {
    const double* row = rows + belief_.fault[i] * t.outcomes;
    for (std::uint32_t o = 0; o < t.outcomes; ++o) {
      if (row[o] != first[o]) return true;
    }
  }
  return false;
}

double Gain::bits(std::size_t test) {
  const ModelTest& t = model_->tests[test];
  const std::uint32_t k = t.outcomes;
  const double* rows = model_->table.data() + t.table;
  const std::uint8_t* sure = model_->sure_outcome.data() + test * model_->fault_count;
  const double* noise = model_->noise_bits.data() + test * model_->fault_count;
  std::fill_n(outcome_mass_.begin(), k, 0.0);
  double inner = 0.0;  // sum over classes of P(class) H(outcome | class)
  for (const Run& run : runs_) {
    const bool alone = run.end - run.begin == 1;
    double* into = alone ? outcome_mass_.data() : part_mass_.data();
    if (!alone) std::fill_n(part_mass_.begin(), k, 0.0);
    for (std::uint32_t i = run.begin; i < run.end; ++i) {
      const FaultNumber f = belief_.fault[i];
      const double w = belief_.weight[i];
      if (t.sure) {
        into[sure[f]] += w;
        continue;
      }
      const double* row = rows + f * k;
      for (std::uint32_t o = 0; o < k; ++o) into[o] += w * row[o];
      if (alone) inner += w * noise[f];
    }
    if (alone) continue;
    inner += x_log2_x(run.mass);
    for (std::uint32_t o = 0; o < k; ++o) {
      inner -= x_log2_x(part_mass_[o]);
      outcome_mass_[o] += part_mass_[o];
    }
  }
  double outer = total_bits_;
  for (std::uint32_t o = 0; o < k; ++o) outer -= x_log2_x(outcome_mass_[o]);
  return std::max(0.0, outer - inner);
}

double Gain::repair_bits(std::size_t repair) const {
  const double rest = std::max(0.0, belief_.mass - mended_mass_[repair]);
  const double rest_bits = x_log2_x(rest) - (mass_bits_ - mended_mass_bits_[repair]);
  return std::clamp(class_bits_ - std::max(0.0, rest_bits), 0.0, class_bits_);
}

double Gain::edges() const {
  double same = 0.0;
  for (const Run& run : runs_) same += run.mass * run.mass;
  return 0.5 * (belief_.mass * belief_.mass - same) / (belief_.mass * belief_.mass);
}

double Gain::edges_cut(std::size_t test) {
  const ModelTest& t = model_->tests[test];
  double left = 0.0;
  for (std::uint32_t o = 0; o < t.outcomes; ++o) {
    double mass = 0.0;
    double same = 0.0;
    double likeliest = 0.0;
    for (const Run& run : runs_) {
      double part = 0.0;
      for (std::uint32_t i = run.begin; i < run.end; ++i) {
        const double likelihood = model_->likelihood(test, belief_.fault[i], o);
        part += belief_.weight[i] * likelihood;
        likeliest = std::max(likeliest, likelihood);
      }
      mass += part;
      same += part * part;
    }
    if (likeliest > 0.0) left += mass * 0.5 * (mass * mass - same) / (likeliest * likeliest);
  }
  const double whole = belief_.mass * belief_.mass;
  return std::max(0.0, edges() - left / (whole * belief_.mass));
}

}  // namespace halfsplit::plan
