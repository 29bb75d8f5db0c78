// SPDX-License-Identifier: Apache-2.0
// Writes SVG 1.1 elements as text: whole-pixel coordinates, escaped texts, and how wide a text will be about, so that
// what is laid out without a font still fits. Source: W3C SVG 1.1 (Second Edition); XML 1.0, section 2.2 and 2.4.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "report/pen.h"

namespace halfsplit::report {

// &, <, > and quotes as entities; what XML 1.0 does not allow (control characters, bytes that are no UTF-8) as U+FFFD.
[[nodiscard]] std::string escape_xml(std::string_view text);

// Pixels, from above: widths of a wide sans-serif face, so that a narrower one fits too.
[[nodiscard]] int text_width(std::string_view text, double size);
inline constexpr double kBoldWider = 1.14;  // a bold text is about as wide as one so much larger
[[nodiscard]] int bold_width(std::string_view text, double size);
// The longest beginning that fits, with an ellipsis when something was cut.
[[nodiscard]] std::string fit_text(std::string_view text, double size, int width);
// All of it, in lines of at most `width`, as break_lines (columns.h) makes them.
[[nodiscard]] std::vector<std::string> wrap_text(std::string_view text, double size, int width);

using SvgText = PenText;
using SvgPath = PenPath;

class SvgWriter final : public Pen {
 public:
  explicit SvgWriter(bool dark) : dark_(dark) {}

  using Pen::box;
  using Pen::path;
  void path(const SvgPath& points, double weight, bool dashed) override;
  void marker(const SvgPath& points, int width) override;
  void box(int x, int y, int width, int height, double weight, bool dashed) override;
  void band(int x, int y, int width, int height, bool shaded);
  void circle(int x, int y, int radius, double weight) override;
  void dot(int x, int y, int radius) override;
  void arc(int x, int y, int radius, bool right, double weight) override;
  void bump(int x, int y, int radius, double weight) override;
  void solid(const SvgPath& points) override;
  void text(const SvgText& how, std::string_view text) override;
  void hint(std::string_view text);  // shown by a browser for the group it stands in
  void open_group(std::string_view what = "");
  void open_turned(int x, int y, int degrees) override;
  void close_group() override;
  // A probe's tag: a filled label with its tip at (x, y); the tag stands above it.
  void probe(int x, int y, bool red);

  [[nodiscard]] const std::string& body() const { return body_; }
  // The whole document.
  [[nodiscard]] std::string document(int width, int height, std::string_view title, std::string_view about) const;

 private:
  void half_circle(int x1, int y1, int x2, int y2, int radius, bool clockwise, double weight);
  [[nodiscard]] std::string stroke(double weight, bool dashed = false) const;
  [[nodiscard]] const char* ink() const { return dark_ ? "#e9e7e2" : "#141414"; }
  [[nodiscard]] const char* quiet_ink() const { return dark_ ? "#a9a7a2" : "#4c4c4c"; }
  [[nodiscard]] const char* paper() const { return dark_ ? "#16181b" : "#ffffff"; }
  [[nodiscard]] const char* shade() const { return dark_ ? "#1d2024" : "#f5f5f2"; }
  [[nodiscard]] const char* marker_ink() const { return dark_ ? "#3d4148" : "#dadad4"; }

  std::string body_;
  bool dark_;
};

// "1.2": at most two decimals, the same everywhere.
[[nodiscard]] std::string svg_number(double value);

}  // namespace halfsplit::report
