// SPDX-License-Identifier: Apache-2.0
// What a test may show, cut into outcomes (cuts.h), and the chance of each under every suspect.
#include <algorithm>
#include <cmath>
#include <map>

#include "base/number.h"
#include "candidates/cuts.h"
#include "candidates/problem.h"
#include "infer/read_again.h"

namespace halfsplit::candidates {

namespace {

using evidence::Component;
using evidence::Kind;

// One way a suspect's reading can come out, with its share of the suspect.
struct Part {
  Component component;
  double share;
};

bool is_beyond(const SuspectRows& suspect) { return suspect.repairs.empty() && !suspect.mended; }

// What a suspect shows, where the same was read before: infer/read_again.h. A vehicle that is mended is another one
// than before the repairs.
class Again {
 public:
  Again(const infer::Reading& reading, const infer::Noise& noise) : reading_(reading), mended_(reading), noise_(noise) {
    std::erase_if(mended_.before, [](const infer::Before& before) { return !before.mended.empty(); });
  }
  evidence::Prediction of(const evidence::Prediction& prediction, const SuspectRows& suspect) const {
    if (is_beyond(suspect)) return infer::predict_beyond_again(prediction, reading_, noise_);
    return infer::predict_again(prediction, suspect.mended ? mended_ : reading_, noise_);
  }

 private:
  const infer::Reading& reading_;
  infer::Reading mended_;
  const infer::Noise& noise_;
};

// Gives each part of a range a spread that reaches to the next.
void join_range(std::vector<Part>& parts, std::vector<std::size_t>& range) {
  const auto mean = [&](std::size_t i) { return parts[range[i]].component.mean; };
  std::sort(range.begin(), range.end(),
            [&](std::size_t a, std::size_t b) { return parts[a].component.mean < parts[b].component.mean; });
  std::vector<double> width(range.size(), 0.0);  // of the stretch for which each stands
  for (std::size_t i = 0; i < range.size() && range.size() > 1; ++i) {
    const std::size_t below = i == 0 ? 0 : i - 1;
    const std::size_t above = std::min(i + 1, range.size() - 1);
    width[i] = (mean(above) - mean(below)) / static_cast<double>(above - below);
  }
  const double even_spread = 1.0 / std::sqrt(12.0);
  for (std::size_t i = 0; i < range.size(); ++i) {
    double& sigma = parts[range[i]].component.sigma;
    sigma = std::hypot(sigma, even_spread * width[i]);
  }
}

// A suspect's rows are a few severities out of a range: between neighbours of the same states lie all the others. What
// stands apart within one row (comes and goes; a relay in or out) keeps its gap.
std::vector<Part> parts_of(const evidence::ResponseTable& table, std::size_t column, const SuspectRows& suspect,
                           const Again& again) {
  std::vector<Part> parts;
  std::map<std::uint32_t, std::vector<std::size_t>> ranges;  // by states
  for (const auto& [row, weight] : suspect.rows) {
    const evidence::Prediction prediction = again.of(table.at(row, column), suspect);
    if (!prediction.settled) continue;
    for (const Component& c : prediction.components) {
      parts.push_back({c, weight * c.weight});
      const auto alone =
          std::count_if(prediction.components.begin(), prediction.components.end(),
                        [&](const Component& other) { return !other.over_range && other.states == c.states; });
      if (!c.over_range && alone == 1) ranges[c.states].push_back(parts.size() - 1);
    }
  }
  for (auto& [states, range] : ranges) join_range(parts, range);
  return parts;
}

std::vector<Lump> lumps_of(const evidence::ResponseTable& table, std::size_t column,
                           const std::vector<SuspectRows>& suspects, const Again& again, bool& over_range) {
  std::vector<Lump> lumps;
  std::map<std::pair<bool, std::vector<fault::RepairId>>, std::size_t> repairs;
  for (const SuspectRows& suspect : suspects) {
    const std::size_t repair = repairs.try_emplace({suspect.mended, suspect.repairs}, repairs.size()).first->second;
    for (const Part& part : parts_of(table, column, suspect, again)) {
      const double mass = suspect.probability * part.share;
      if (part.component.over_range)
        over_range = over_range || mass > 1.0e-6;
      else if (mass > 1.0e-7)
        lumps.push_back({part.component.mean, part.component.sigma, mass, repair});
    }
  }
  std::sort(lumps.begin(), lumps.end(), [](const Lump& a, const Lump& b) { return a.mean < b.mean; });
  return lumps;
}

base::Unit unit_of(Kind kind) {
  return evidence::is_volts(kind) ? base::Unit::kVolt
         : kind == Kind::kOhms    ? base::Unit::kOhm
         : kind == Kind::kClamp   ? base::Unit::kAmpere
                                  : base::Unit::kNone;
}

// By what is predicted within; where predictions run over its edge, by the edge.
void name_outcome(Outcome& outcome, const std::vector<Lump>& lumps, bool from_gap, bool to_gap, Kind kind,
                  const std::string& unit) {
  double weight = 0.0;
  double sum = 0.0;
  double low = 0.0;
  double high = 0.0;
  double least = std::numeric_limits<double>::infinity(), most = 0.0;  // what the meter may show of them
  for (const Lump& lump : lumps) {
    if (lump.mean < outcome.low || lump.mean >= outcome.high) continue;
    least = std::min(least, lump.mean - 2.0 * lump.sigma);
    most = std::max(most, std::min(lump.mean + 2.0 * lump.sigma, outcome.high));
    low = weight == 0.0 ? lump.mean : std::min(low, lump.mean);
    high = weight == 0.0 ? lump.mean : std::max(high, lump.mean);
    weight += lump.weight;
    sum += lump.weight * lump.mean;
  }
  outcome.middle = weight > 0.0 ? sum / weight : 0.0;
  const auto text = [&](double v) {
    if (kind == Kind::kLive) return base::format_significant(v, 3) + (unit.empty() ? "" : " " + unit);
    return base::format_quantity(std::abs(v) < 1.0e-4 ? 0.0 : v, unit_of(kind));
  };
  if (!from_gap || !to_gap) {
    outcome.name = from_gap && std::isinf(outcome.low) ? "below " + text(outcome.high)
                   : to_gap && std::isinf(outcome.high)
                       ? "above " + text(outcome.low)
                       : text(from_gap ? low : outcome.low) + " to " + text(to_gap ? high : outcome.high);
    return;
  }
  if (kind == Kind::kOhms && least < 0.0 && most > 0.0) {  // too little for this meter to tell from none
    outcome.name = "0 to " + text(most);
    return;
  }
  const bool wide = high - low > 0.15 * std::max(std::abs(high), std::abs(low)) && high - low > 0.05;
  outcome.name = wide ? text(low) + " to " + text(high) : "about " + text(outcome.middle);
}

// Chances of the outcomes for one component.
void add_component(const Component& c, double weight, const std::vector<Outcome>& outcomes, double* chance) {
  for (std::size_t o = 0; o < outcomes.size(); ++o) {
    const Outcome& outcome = outcomes[o];
    double p = 0.0;
    if (outcome.category >= 0)
      p = static_cast<double>(c.category[static_cast<std::size_t>(outcome.category)]);
    else if (outcome.over_range || c.over_range)
      p = outcome.over_range && c.over_range ? 1.0 : 0.0;
    else
      p = share_below(outcome.high, c.mean, c.sigma) - share_below(outcome.low, c.mean, c.sigma);
    chance[o] += weight * p;
  }
}

std::vector<Outcome> make_outcomes(const circuit::Loom& loom, const evidence::Observable& what,
                                   const evidence::ResponseTable& table, std::size_t column,
                                   const std::vector<SuspectRows>& suspects, const Again& again) {
  std::vector<Outcome> outcomes;
  if (!evidence::is_numeric(what.kind)) {
    for (std::size_t i = 0; i < evidence::categories(what.kind).size(); ++i) {
      Outcome outcome;
      outcome.category = static_cast<int>(i);
      constexpr std::string_view kLampWords[] = {"bright", "dim", "dark"};
      const bool lamp = what.kind == Kind::kLook && loom.parts.at(what.part.index()).kind == circuit::PartKind::kLamp;
      outcome.name = std::string(lamp ? kLampWords[i] : evidence::categories(what.kind)[i]);
      outcomes.push_back(outcome);
    }
    return outcomes;
  }
  bool over_range = false;
  const std::vector<Lump> lumps = lumps_of(table, column, suspects, again, over_range);
  double low = -std::numeric_limits<double>::infinity();
  bool from_gap = true;
  std::vector<Cut> cuts = find_cuts(lumps);
  cuts.push_back({std::numeric_limits<double>::infinity(), true});
  const std::string unit = what.kind == Kind::kLive ? loom.lives.at(what.live.index()).unit : "";
  for (const Cut& cut : cuts) {
    Outcome outcome;
    outcome.low = low;
    outcome.high = cut.at;
    name_outcome(outcome, lumps, from_gap, cut.in_gap, what.kind, unit);
    if (!lumps.empty()) outcomes.push_back(outcome);
    low = cut.at;
    from_gap = cut.in_gap;
  }
  if (over_range || outcomes.empty()) {
    Outcome outcome;
    outcome.over_range = true;
    outcome.name = what.kind == Kind::kLive ? "no value" : "OL";
    outcomes.push_back(outcome);
  }
  return outcomes;
}

// Of a reading that tells nothing of the circuit, as belief weighs it.
std::vector<double> broad_chances(const std::vector<Outcome>& outcomes, const infer::Reading& reading,
                                  const infer::Noise& noise) {
  std::vector<double> chances;
  double sum = 0.0;
  for (const Outcome& o : outcomes) {
    if (o.category >= 0 || o.over_range)
      chances.push_back(infer::broad_density({reading.kind, {o.over_range, 0.0, o.category}, reading.scale}, noise));
    else
      chances.push_back(infer::broad_below(reading.kind, reading.scale, noise, o.high) -
                        infer::broad_below(reading.kind, reading.scale, noise, o.low));
    sum += chances.back();
  }
  for (double& chance : chances) chance /= sum;
  return chances;
}

double entropy_term(double p) { return p > 0.0 ? -p * std::log2(p) : 0.0; }

// Bits a test gives about which repair is needed, or none any more.
double repair_bits(const Test& test, const std::vector<SuspectRows>& suspects) {
  const std::size_t count = test.outcomes.size();
  std::map<std::pair<bool, std::vector<fault::RepairId>>, std::vector<double>> joint;
  std::vector<double> total(count, 0.0);
  for (std::size_t s = 0; s < suspects.size(); ++s) {
    std::vector<double>& row = joint.try_emplace({suspects[s].mended, suspects[s].repairs}, count, 0.0).first->second;
    for (std::size_t o = 0; o < count; ++o) {
      const double p = suspects[s].probability * test.chance[s * count + o];
      row[o] += p;
      total[o] += p;
    }
  }
  double bits = 0.0;
  for (std::size_t o = 0; o < count; ++o) bits += entropy_term(total[o]);
  for (const auto& [repairs, row] : joint) {
    double mass = 0.0;
    for (const double p : row) mass += p;
    for (const double p : row)
      if (mass > 0.0) bits -= mass * entropy_term(p / mass);
  }
  return bits;
}

}  // namespace

Test make_test(const circuit::Loom& loom, const Candidate& candidate, std::size_t index,
               const evidence::ResponseTable& table, std::size_t column, const std::vector<SuspectRows>& suspects,
               std::size_t healthy_row, const infer::Noise& noise, const infer::Reading& before) {
  Test test;
  test.candidate = index;
  infer::Reading reading = before;
  reading.kind = candidate.what.kind;
  const Again again(reading, noise);
  test.outcomes = make_outcomes(loom, candidate.what, table, column, suspects, again);
  const std::size_t count = test.outcomes.size();
  test.chance.assign(suspects.size() * count, 0.0);
  const std::vector<double> broad = broad_chances(test.outcomes, reading, noise);
  const double slip = infer::wrong_share(candidate.what.kind, noise);
  for (std::size_t s = 0; s < suspects.size(); ++s) {
    double* chance = &test.chance[s * count];
    SuspectRows beyond;
    beyond.rows = {{healthy_row, 1.0}};
    for (const Part& part : parts_of(table, column, is_beyond(suspects[s]) ? beyond : suspects[s], again))
      add_component(part.component, part.share, test.outcomes, chance);
    double sum = 0.0;
    for (std::size_t o = 0; o < count; ++o) sum += chance[o];
    const double rest = std::max(0.0, 1.0 - sum);  // where the prediction says nothing, anything may come
    for (std::size_t o = 0; o < count; ++o)
      chance[o] = (1.0 - slip) * (chance[o] + rest * broad[o]) / (sum + rest) + slip * broad[o];
  }
  test.bits = count > 1 ? repair_bits(test, suspects) : 0.0;
  return test;
}

}  // namespace halfsplit::candidates
