// SPDX-License-Identifier: Apache-2.0
// What the text and the page of a job sheet say alike: sentences, the list of what else is possible, sums of money.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "report/sheet.h"

namespace halfsplit::report {

inline constexpr const char* kSheetTitle = "Job sheet";
inline constexpr const char* kNothingLeft = "Nothing: all that was fitted, unplugged or raised has been undone.";
inline constexpr const char* kLeftBehind = "LEFT BEHIND - NOT YET UNDONE";
inline constexpr const char* kLeftBehindWarning = "Undo this before the vehicle leaves:";
inline constexpr const char* kContradicts = "! does not fit the prediction: worth repeating before it is relied on";
inline constexpr const char* kStatement =
    "A cause is stated with a probability, from the readings above and the drawing that was used; it is never a "
    "certainty. "
    "The vehicle maker's instructions and the local rules come first.";
inline constexpr const char* kSignature = "Date, signature";

[[nodiscard]] std::string cause_sentence(const Sheet& sheet);       // with its probability; or that none was found
[[nodiscard]] std::string correction_sentence(const Sheet& sheet);  // or that nothing was repaired
[[nodiscard]] std::string proof_sentence(const Sheet& sheet);       // or, loudly, that there is none; may be empty
[[nodiscard]] bool is_unproven(const Sheet& sheet);                 // repaired, and no proof taken

// "not on this drawing: about 4 %"; always holds kNotDrawn.
[[nodiscard]] std::vector<std::string> also_possible_lines(const Sheet& sheet);

[[nodiscard]] std::string time_words(double minutes);       // "1 h 25 min"
[[nodiscard]] std::string money_words(double amount);       // "1234.50"; "?" for what is no number
[[nodiscard]] std::string quantity_words(double quantity);  // "2", "1.5"

struct MoneyLine {
  std::string what;
  std::string amount;  // with the currency
};
// Parts, labour, tax and sum as far as they are known; empty when there is no amount at all.
[[nodiscard]] std::vector<MoneyLine> money_lines(const Sheet& sheet);

}  // namespace halfsplit::report
