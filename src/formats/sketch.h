// SPDX-License-Identifier: Apache-2.0
// Looms from a few answers: templates that ask what a technician knows of a circuit and write a whole loom, defaults
// for the rest, each marked in the text. Text in, text out; a door asks, app writes the file. A new template is a
// record in sketch.cpp and a function that turns its answers into text.
#pragma once

#include <cstdint>
#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace halfsplit::formats {

// How an answer is given: a page makes a field of it.
enum class SketchAnswerKind : std::uint8_t { kText, kNumber, kChoice, kYesNo, kPath };

struct SketchQuestion {
  std::string_view name;      // of the answer: "nodes"
  std::string_view asks;      // as one is asked at the keyboard
  std::string_view fallback;  // what stands when there is no answer; empty: nothing
  std::string_view example;   // an answer that works
  bool list = false;          // several, with commas between
  bool required = false;
  SketchAnswerKind kind = SketchAnswerKind::kText;
  std::string_view choices = {};    // kChoice: the words, with blanks between
  std::string_view only_with = {};  // asked only when that one was answered
};

// By name of the question; a list is one text with commas or several texts. An empty text is no answer.
using SketchAnswers = std::map<std::string, std::vector<std::string>, std::less<>>;

// A loom as text. `assumed`: what was not told and stands as usual, a phrase each.
struct Sketched {
  std::string name;
  std::string text;
  std::vector<std::string> assumed;
};

struct SketchTemplate {
  std::string_view name;
  std::string_view title;    // a heading: "CAN backbone"
  std::string_view summary;  // what is drawn
  std::string_view use;      // when to take it
  std::string_view example;  // answers that work, as options of the command line
  std::span<const SketchQuestion> questions;
  base::Result<Sketched> (*draw)(const SketchAnswers& answers);
};

[[nodiscard]] std::span<const SketchTemplate> sketch_templates();
[[nodiscard]] const SketchTemplate* find_sketch_template(std::string_view name);

// Errors: sketch.missing-answer, sketch.bad-answer, sketch.bad-name, sketch.same-name, sketch.too-few-nodes,
// sketch.too-many, sketch.unknown-node, sketch.not-asked (an answer this template has no question for).
[[nodiscard]] base::Result<Sketched> sketch_loom(const SketchTemplate& which, const SketchAnswers& answers);

}  // namespace halfsplit::formats
