// SPDX-License-Identifier: Apache-2.0
// Money is reckoned in hundredths, each line rounded by itself, so that what is printed adds up.
#include "report/sheet_words.h"

#include <algorithm>
#include <cmath>

#include "base/number.h"

namespace halfsplit::report {

namespace {

constexpr double kMostMoney = 1.0e12;

std::optional<long long> hundredths(double amount) {
  if (!(std::fabs(amount) < kMostMoney)) return std::nullopt;
  return std::llround(amount * 100.0);
}

std::string money_text(long long hundredths) {
  const long long size = std::llabs(hundredths);
  const std::string rest = std::to_string(size % 100);
  return (hundredths < 0 ? "-" : "") + std::to_string(size / 100) + "." + (rest.size() < 2 ? "0" : "") + rest;
}

class Sum {
 public:
  explicit Sum(const Sheet& sheet) : sheet_(sheet) {}

  std::vector<MoneyLine> run() {
    add_parts();
    add_labour();
    if (!known_) return {};
    const long long net = sum_;
    if (sheet_.tax_percent && hundredths(*sheet_.tax_percent)) {
      line("Sum without tax", net);
      const long long tax = std::llround(static_cast<double>(net) * *sheet_.tax_percent / 100.0);
      add("Tax " + quantity_words(*sheet_.tax_percent) + " %", tax);
    }
    line(complete_ ? "Sum" : "Sum of what has a price", sum_);
    return std::move(lines_);
  }

 private:
  void add_parts() {
    long long parts = 0;
    bool priced = false;
    for (const SheetPart& part : sheet_.parts) {
      const auto price = part.price_each ? hundredths(*part.price_each * part.quantity) : std::nullopt;
      complete_ = complete_ && price.has_value();
      priced = priced || price.has_value();
      parts += price.value_or(0);
    }
    if (priced) add("Parts", parts);
  }

  void add_labour() {
    if (!sheet_.labour_rate_per_hour || !(sheet_.minutes > 0.0)) return;
    const auto labour = hundredths(sheet_.minutes / 60.0 * *sheet_.labour_rate_per_hour);
    if (labour)
      add("Work, " + time_words(sheet_.minutes) + " at " + money_words(*sheet_.labour_rate_per_hour) + " an hour",
          *labour);
  }

  void add(std::string what, long long amount) {
    line(std::move(what), amount);
    sum_ += amount;
    known_ = true;
  }

  void line(std::string what, long long amount) {
    lines_.push_back({std::move(what), money_text(amount) + (sheet_.currency.empty() ? "" : " " + sheet_.currency)});
  }

  const Sheet& sheet_;
  std::vector<MoneyLine> lines_;
  long long sum_ = 0;
  bool known_ = false, complete_ = true;
};

}  // namespace

std::string format_probability(double probability) {
  if (!std::isfinite(probability)) return "not reckoned";
  if (probability > 0.99) return "above 99 %";
  if (probability < 0.01) return "below 1 %";
  return "about " + std::to_string(std::lround(probability * 100.0)) + " %";
}

std::string cause_sentence(const Sheet& sheet) {
  if (sheet.cause.empty()) return "No cause has been found yet.";
  return sheet.cause + " - probability " + format_probability(sheet.cause_probability);
}

std::string correction_sentence(const Sheet& sheet) {
  return sheet.correction.empty() ? "Nothing has been repaired." : sheet.correction;
}

bool is_unproven(const Sheet& sheet) { return !sheet.correction.empty() && !sheet.proof_probability; }

std::string proof_sentence(const Sheet& sheet) {
  if (is_unproven(sheet)) return "NOT PROVEN: nothing was measured or seen after the repair.";
  if (!sheet.proof_probability) return sheet.proof;
  const std::string sentence = "By what was seen after the repair, the complaint is gone: probability " +
                               format_probability(*sheet.proof_probability) + ".";
  return sheet.proof.empty() ? sentence : sentence + " " + sheet.proof;
}

std::vector<std::string> also_possible_lines(const Sheet& sheet) {
  std::vector<std::string> lines;
  bool named = false;
  for (const SheetSuspect& suspect : sheet.also_possible) {
    named = named || suspect.fault == kNotDrawn;
    lines.push_back(suspect.fault + ": " + format_probability(suspect.probability));
  }
  if (!named) lines.push_back(std::string(kNotDrawn) + ": not reckoned");
  return lines;
}

std::string time_words(double minutes) {
  if (!std::isfinite(minutes) || minutes < 0.0 || minutes > 1.0e9) return "?";
  const long long whole = std::llround(minutes);
  if (whole < 60) return std::to_string(whole) + " min";
  return std::to_string(whole / 60) + " h" + (whole % 60 == 0 ? "" : " " + std::to_string(whole % 60) + " min");
}

std::string money_words(double amount) {
  const auto exact = hundredths(amount);
  return exact ? money_text(*exact) : "?";
}

std::string quantity_words(double quantity) {
  return std::isfinite(quantity) ? base::format_number(std::round(quantity * 1000.0) / 1000.0) : "?";
}

std::vector<MoneyLine> money_lines(const Sheet& sheet) { return Sum(sheet).run(); }

}  // namespace halfsplit::report
