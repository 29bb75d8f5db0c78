// SPDX-License-Identifier: Apache-2.0
// Reads the answers of a sketch: lists, names as a loom allows them, numbers with their units; collects what is wrong.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/diagnostic.h"
#include "base/number.h"
#include "formats/sketch.h"

namespace halfsplit::formats {

[[nodiscard]] std::string trim(std::string_view text);

class AnswerReader {
 public:
  explicit AnswerReader(const SketchAnswers& answers) : answers_(answers) {}

  // Trimmed, without empty ones.
  [[nodiscard]] std::vector<std::string> list(std::string_view question) const;
  [[nodiscard]] std::string one(std::string_view question, std::string_view fallback = "") const;
  [[nodiscard]] bool told(std::string_view question) const { return !list(question).empty(); }
  // A number within limits, in that unit or none; what is wrong is an error and the fallback comes back.
  double number(std::string_view question, double fallback, base::Unit unit, double low, double high);
  double number_of(std::string_view question, const std::string& text, double fallback, base::Unit unit, double low,
                   double high);
  // A name as a loom takes it (docs/formats/loom.md, "Names"), and not used before in this sketch.
  bool take_name(std::string_view question, const std::string& name);
  // A name made from that one that nothing else has: "G-VCU", "G-VCU-2".
  [[nodiscard]] std::string fresh_name(const std::string& wanted);

  void error(std::string code, std::string message, std::string hint);
  [[nodiscard]] const std::vector<base::Diagnostic>& errors() const { return errors_; }

 private:
  const SketchAnswers& answers_;
  std::vector<std::string> names_;
  std::vector<base::Diagnostic> errors_;
};

}  // namespace halfsplit::formats
