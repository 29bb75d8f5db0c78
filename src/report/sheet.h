// SPDX-License-Identifier: Apache-2.0
// The job sheet: what is handed over when a job ends or pauses, as 80-column text and as one self-contained HTML page
// that prints on two sheets of A4 at most. Values in, text out; every field is shown as given, escaped, never
// interpreted. A cause is a probability with reasons: 100 % and 0 % are never printed.
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace halfsplit::report {

struct SheetReading {
  std::string what;              // "ohms J4:12@cab J4:13@cab"
  std::string where;             // "cab floor, left"
  std::string predicted_before;  // with the fault: "120 +/- 1 ohm"; empty: none
  std::string seen_before;       // "121.7 ohm"; empty: not taken
  std::string predicted_after;   // with the repair made
  std::string seen_after;
  bool contradicts = false;  // what was seen does not fit what was predicted: marked for the reader
};

struct SheetCode {
  std::string module, name, text;  // "BCM", "SPN 175 FMI 3", "oil temperature above range"
  std::string before, after;       // "active", "gone"; empty: not read
};

struct SheetPart {
  std::string what;
  std::string part_number;  // the user's own
  double quantity = 1.0;
  std::optional<double> price_each;
};

struct SheetSuspect {
  std::string fault;  // "J4 cavity 12: open"; "not on this drawing"
  double probability = 0.0;
};

struct SheetCaution {
  std::string where;  // "Cab raised"
  std::string text;
};

struct Sheet {
  std::string number;    // the user's own job number
  std::string workshop;  // name, address, one line or several
  std::string vehicle, customer, complaint;
  std::string opened, closed;  // dates as they shall be read; closed empty: the job is still open
  std::string technician;

  std::string cause;  // the fault in words; empty: none found yet
  double cause_probability = 0.0;
  std::vector<std::string> reasons;  // why, strongest first
  std::string correction;            // the repair in words; empty: nothing repaired
  // Probability that the complaint is gone, from what was seen after the repair; none: no proof was taken.
  std::optional<double> proof_probability;
  std::string proof;  // in words

  std::vector<SheetReading> readings;
  std::vector<SheetCode> codes;
  std::vector<SheetPart> parts;
  std::optional<double> labour_rate_per_hour;
  double minutes = 0.0;
  std::optional<double> tax_percent;
  std::string currency;  // "EUR"; empty: amounts stand alone

  std::vector<SheetCaution> cautions;    // shown during the job
  std::vector<std::string> left_behind;  // fitted, unplugged or raised and not undone: must be empty
  std::vector<std::string> found_on_the_way;
  std::vector<SheetSuspect> also_possible;  // holds "not on this drawing" (kNotDrawn); added when missing
  std::vector<std::string> repeat_worth;    // readings that contradict the rest
  std::string job_code;                     // the job for a machine to read, printed as a square; empty: none
};

inline constexpr const char* kNotDrawn = "not on this drawing";

[[nodiscard]] std::string format_sheet_text(const Sheet& sheet);
[[nodiscard]] std::string format_sheet_html(const Sheet& sheet);

// "about 93 %", "above 99 %", "below 1 %": never certain.
[[nodiscard]] std::string format_probability(double probability);

}  // namespace halfsplit::report
