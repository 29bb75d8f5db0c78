// SPDX-License-Identifier: Apache-2.0
#include "report/svg.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>

#include "report/columns.h"
#include "text/utf8.h"

namespace halfsplit::report {

namespace {

// Advance widths of ASCII 0x20 to 0x7E in thousandths of the size: about those of DejaVu Sans, measured from its
// rendering and rounded up; narrower faces (Arial, Helvetica) leave a little air.
constexpr std::uint16_t kAdvance[] = {320,  405, 465, 840, 640, 955, 785, 280, 395, 395, 505, 840, 320, 365, 320, 340,
                                      640,  640, 640, 640, 640, 640, 640, 640, 640, 640, 340, 340, 840, 840, 840, 535,
                                      1005, 690, 690, 700, 775, 635, 580, 780, 755, 300, 300, 660, 560, 865, 750, 790,
                                      605,  790, 700, 640, 615, 735, 690, 990, 690, 615, 690, 395, 340, 395, 840, 505,
                                      505,  615, 640, 555, 640, 620, 355, 640, 640, 280, 280, 580, 280, 975, 640, 615,
                                      640,  640, 415, 525, 395, 640, 595, 820, 595, 595, 530, 640, 340, 640, 840};

// Thousandths of the size that one character takes.
int advance(std::string_view character) {
  const auto lead = static_cast<unsigned char>(character[0]);
  if (lead >= 0x20U && lead < 0x7FU) return kAdvance[lead - 0x20U];
  if (lead < 0x80U) return 640;
  if (character.size() >= 3) return 1020;  // from U+0800 on: many scripts are as wide as they are high
  return lead <= 0xC5U ? 700 : 910;        // Latin letters with marks; Greek, Cyrillic and their neighbours
}

bool allowed_in_xml(std::string_view character) {
  const auto lead = static_cast<unsigned char>(character[0]);
  if (character.size() == 1) return lead == '\t' || lead == '\n' || lead == '\r' || (lead >= 0x20U && lead < 0x80U);
  return character != "\xEF\xBF\xBE" && character != "\xEF\xBF\xBF";
}

std::string points_text(const SvgPath& points) {
  std::string text;
  for (const auto& [x, y] : points) text += (text.empty() ? "M" : "L") + std::to_string(x) + " " + std::to_string(y);
  return text;
}

std::string attribute(const char* name, std::string_view value) {
  return std::string(" ") + name + "=\"" + std::string(value) + "\"";
}

std::string attribute(const char* name, int value) { return attribute(name, std::to_string(value)); }

}  // namespace

std::string escape_xml(std::string_view text) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const std::string_view character = text.substr(at, text::character_bytes(text, at));
    at += character.size();
    if (character == "&")
      out += "&amp;";
    else if (character == "<")
      out += "&lt;";
    else if (character == ">")
      out += "&gt;";
    else if (character == "\"")
      out += "&quot;";
    else if (character == "'")
      out += "&#39;";
    else
      out += allowed_in_xml(character) ? character : std::string_view("\xEF\xBF\xBD");
  }
  return out;
}

int text_width(std::string_view text, double size) {
  long thousandths = 0;
  for (std::size_t at = 0; at < text.size();) {
    const std::string_view character = text.substr(at, text::character_bytes(text, at));
    thousandths += advance(character);
    at += character.size();
  }
  return static_cast<int>(std::ceil(static_cast<double>(thousandths) * size / 1000.0));
}

int bold_width(std::string_view text, double size) { return text_width(text, kBoldWider * size); }

std::string fit_text(std::string_view text, double size, int width) {
  if (text_width(text, size) <= width) return std::string(text);
  std::string fitting;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t bytes = text::character_bytes(text, at);
    std::string longer = fitting + std::string(text.substr(at, bytes));
    if (text_width(longer + "...", size) > width) break;
    fitting = std::move(longer);
    at += bytes;
  }
  return fitting + "\xE2\x80\xA6";
}

std::vector<std::string> wrap_text(std::string_view text, double size, int width) {
  const auto thousandths = static_cast<std::size_t>(std::floor(std::max(0, width) * 1000.0 / size));
  return break_lines(text, thousandths, [](std::string_view one) { return static_cast<std::size_t>(advance(one)); });
}

std::string svg_number(double value) {
  const long hundredths = std::lround(value * 100.0);
  std::string text = (hundredths < 0 ? "-" : "") + std::to_string(std::abs(hundredths) / 100);
  const long rest = std::abs(hundredths) % 100;
  if (rest == 0) return text;
  text += "." + std::to_string(rest / 10);
  return rest % 10 == 0 ? text : text + std::to_string(rest % 10);
}

std::string SvgWriter::stroke(double weight, bool dashed) const {
  return attribute("stroke", ink()) + attribute("stroke-width", svg_number(weight)) +
         (dashed ? attribute("stroke-dasharray", "5 3") : "");
}

void SvgWriter::path(const SvgPath& points, double weight, bool dashed) {
  body_ += "<path" + attribute("d", points_text(points)) + attribute("fill", "none") + stroke(weight, dashed) + "/>\n";
}

void SvgWriter::marker(const SvgPath& points, int width) {
  body_ += "<path" + attribute("d", points_text(points)) + attribute("fill", "none") +
           attribute("stroke", marker_ink()) + attribute("stroke-width", width) +
           attribute("stroke-linejoin", "round") + attribute("stroke-linecap", "round") + "/>\n";
}

void SvgWriter::box(int x, int y, int width, int height, double weight, bool dashed) {
  body_ += "<rect" + attribute("x", x) + attribute("y", y) + attribute("width", width) + attribute("height", height) +
           attribute("fill", paper()) + stroke(weight, dashed) + "/>\n";
}

void SvgWriter::band(int x, int y, int width, int height, bool shaded) {
  body_ += "<rect" + attribute("x", x) + attribute("y", y) + attribute("width", width) + attribute("height", height) +
           attribute("fill", shaded ? shade() : paper()) + "/>\n";
}

void SvgWriter::circle(int x, int y, int radius, double weight) {
  body_ += "<circle" + attribute("cx", x) + attribute("cy", y) + attribute("r", radius) + attribute("fill", paper()) +
           stroke(weight) + "/>\n";
}

void SvgWriter::dot(int x, int y, int radius) {
  body_ +=
      "<circle" + attribute("cx", x) + attribute("cy", y) + attribute("r", radius) + attribute("fill", ink()) + "/>\n";
}

void SvgWriter::arc(int x, int y, int radius, bool right, double weight) {
  half_circle(x, y - radius, x, y + radius, radius, right, weight);
}

void SvgWriter::bump(int x, int y, int radius, double weight) {
  half_circle(x - radius, y, x + radius, y, radius, true, weight);
}

void SvgWriter::half_circle(int x1, int y1, int x2, int y2, int radius, bool clockwise, double weight) {
  const std::string r = std::to_string(radius);
  body_ += "<path" +
           attribute("d", "M" + std::to_string(x1) + " " + std::to_string(y1) + "A" + r + " " + r + " 0 0 " +
                              (clockwise ? "1 " : "0 ") + std::to_string(x2) + " " + std::to_string(y2)) +
           attribute("fill", "none") + stroke(weight) + "/>\n";
}

void SvgWriter::solid(const SvgPath& points) {
  body_ += "<path" + attribute("d", points_text(points) + "Z") + attribute("fill", ink()) + "/>\n";
}

void SvgWriter::text(const SvgText& how, std::string_view text) {
  if (text.empty()) return;
  body_ += "<text" + attribute("x", how.x) + attribute("y", how.y);
  if (how.size != 10.0) body_ += attribute("font-size", svg_number(how.size));
  if (how.anchor != 's') body_ += attribute("text-anchor", how.anchor == 'm' ? "middle" : "end");
  if (how.bold) body_ += attribute("font-weight", "bold");
  if (how.quiet) body_ += attribute("fill", quiet_ink());
  body_ += ">" + escape_xml(text) + "</text>\n";
}

void SvgWriter::hint(std::string_view text) { body_ += "<title>" + escape_xml(text) + "</title>\n"; }

void SvgWriter::open_group(std::string_view what) {
  body_ += what.empty() ? "<g>\n" : "<g" + attribute("class", what) + ">\n";
}

void SvgWriter::open_turned(int x, int y, int degrees) {
  std::string how = "translate(" + std::to_string(x) + " " + std::to_string(y) + ")";
  if (degrees != 0) how += " rotate(" + std::to_string(degrees) + ")";
  body_ += "<g" + attribute("transform", how) + ">\n";
}

void SvgWriter::close_group() { body_ += "</g>\n"; }

void SvgWriter::probe(int x, int y, bool red) {
  const char* const word = red ? "red" : "black";
  const char* const fill = red ? "#b3131a" : "#000000";
  const int width = text_width(word, 9.0) + 8;
  const int top = y - 21, left = x - width / 2;
  const std::string edge = attribute("stroke", dark_ ? "#ffffff" : "#000000") + attribute("stroke-width", "0.8");
  body_ += "<g" + attribute("class", "probe") + ">\n<path" +
           attribute("d", points_text({{left, top},
                                       {left + width, top},
                                       {left + width, top + 13},
                                       {x + 4, top + 13},
                                       {x, y},
                                       {x - 4, top + 13},
                                       {left, top + 13}}) +
                              "Z") +
           attribute("fill", fill) + edge + "/>\n<text" + attribute("x", x) + attribute("y", top + 10) +
           attribute("font-size", "9") + attribute("text-anchor", "middle") + attribute("fill", "#ffffff") +
           attribute("font-weight", "bold") + ">" + word + "</text>\n</g>\n";
}

std::string SvgWriter::document(int width, int height, std::string_view title, std::string_view about) const {
  std::string out = "<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\"";
  out += attribute("width", width) + attribute("height", height) +
         attribute("viewBox", "0 0 " + std::to_string(width) + " " + std::to_string(height)) +
         attribute("font-family", "Arial, Helvetica, 'Liberation Sans', 'DejaVu Sans', sans-serif") +
         attribute("font-size", "10") + attribute("fill", ink()) + attribute("role", "img") + ">\n";
  out += "<title>" + escape_xml(title) + "</title>\n<desc>" + escape_xml(about) + "</desc>\n";
  out += "<rect" + attribute("width", width) + attribute("height", height) + attribute("fill", paper()) + "/>\n";
  return out + body_ + "</svg>\n";
}

}  // namespace halfsplit::report
