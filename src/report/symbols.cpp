// SPDX-License-Identifier: Apache-2.0
#include "report/symbols.h"

namespace halfsplit::report {

namespace {

using circuit::PartKind;

void leads(Pen& out, int from, double weight) {
  out.line(-kSymbolReach, 0, -from, 0, weight);
  out.line(from, 0, kSymbolReach, 0, weight);
}

void draw_resistor(Pen& out, double weight) {
  leads(out, 13, weight);
  out.box(-13, -5, 26, 10, weight);
}

void draw_fuse(Pen& out, double weight) {
  out.box(-13, -5, 26, 10, weight);
  out.line(-kSymbolReach, 0, kSymbolReach, 0, weight);
}

void draw_heater(Pen& out, double weight) {
  draw_resistor(out, weight);
  for (const int x : {-6, 0, 6}) out.line(x, -5, x, 5);
}

void draw_lamp(Pen& out, double weight) {
  leads(out, 9, weight);
  out.circle(0, 0, 9, weight);
  out.line(-6, -6, 6, 6);
  out.line(-6, 6, 6, -6);
}

void draw_round(Pen& out, double weight) {
  leads(out, 9, weight);
  out.circle(0, 0, 9, weight);
}

void draw_diode(Pen& out, double weight) {
  out.path({{-7, -7}, {-7, 7}, {7, 0}, {-7, -7}}, weight);
  out.line(7, -7, 7, 7, weight);
  out.line(-kSymbolReach, 0, kSymbolReach, 0, weight);
}

void draw_light_arrow(Pen& out, int x) {
  out.line(x, -8, x + 5, -13);
  out.solid({{x + 7, -15}, {x + 6, -11}, {x + 3, -14}});
}

void draw_switch(Pen& out, bool normally_closed, double weight) {
  leads(out, 12, weight);
  if (normally_closed) {
    out.line(-12, 0, 14, -5, weight);  // the blade lies against the contact
    out.line(12, 0, 12, -8, weight);
  } else {
    out.line(-12, 0, 11, -9, weight);
  }
}

void draw_winding(Pen& out, double weight) {
  leads(out, 16, weight);
  for (const int x : {-12, -4, 4, 12}) out.bump(x, 0, 4, weight);
}

// A slanted stroke through it: its value moves. With a foot: by itself, with what it senses.
void draw_moving(Pen& out, bool foot, double weight) {
  draw_resistor(out, weight);
  if (foot) {
    out.path({{-15, 9}, {-9, 9}, {9, -9}}, Pen::kThin);
  } else {
    out.line(-10, 10, 9, -9);
    out.solid({{12, -12}, {10, -6}, {6, -10}});
  }
}

void draw_battery(Pen& out, double weight) {
  leads(out, 7, weight);
  out.line(-7, -9, -7, 9, weight);  // the long thin stroke is +
  out.line(-2, -4, -2, 4, weight + 1.6);
  out.line(3, -9, 3, 9, weight);
  out.line(8, -4, 8, 4, weight + 1.6);
}

}  // namespace

void draw_symbol(Pen& out, const circuit::Part& part, double weight) {
  switch (part.kind) {
    case PartKind::kFuse:
      return draw_fuse(out, weight);
    case PartKind::kSwitch:
      return draw_switch(out, part.normally_closed, weight);
    case PartKind::kDiode:
      return draw_diode(out, weight);
    case PartKind::kLamp:
      if (!part.led) return draw_lamp(out, weight);
      draw_diode(out, weight);
      draw_light_arrow(out, -4);
      return draw_light_arrow(out, 3);
    case PartKind::kMotor:
    case PartKind::kAlternator:
      return draw_round(out, weight);
    case PartKind::kSolenoid:
      return draw_winding(out, weight);
    case PartKind::kHeater:
      return draw_heater(out, weight);
    case PartKind::kNtc:
    case PartKind::kPtc:
      return draw_moving(out, true, weight);
    case PartKind::kSender:
      return draw_moving(out, false, weight);
    case PartKind::kBattery:
      return draw_battery(out, weight);
    case PartKind::kResistor:
    case PartKind::kTerminator:
    case PartKind::kRelay:
    case PartKind::kPotentiometer:
    case PartKind::kThreeWireSensor:
      return draw_resistor(out, weight);
  }
}

const char* symbol_letter(const circuit::Part& part) {
  if (part.kind == PartKind::kMotor) return "M";
  if (part.kind == PartKind::kAlternator) return "G";
  return "";
}

void draw_earth(Pen& out, int x, int y, double weight) {
  out.line(x, y, x, y + 10, weight);
  out.line(x - 9, y + 10, x + 9, y + 10, weight);
  out.line(x - 6, y + 14, x + 6, y + 14, weight);
  out.line(x - 2, y + 18, x + 2, y + 18, weight);
}

void draw_frame(Pen& out, int x, int y, double weight) {
  out.line(x, y, x, y + 10, weight);
  out.line(x - 9, y + 10, x + 9, y + 10, weight);
  for (const int dx : {-9, 0, 9}) out.line(x + dx, y + 10, x + dx - 4, y + 18, weight);
}

void draw_contact(Pen& out, int x, int y, bool wire_left, double weight) {
  out.arc(x, y, 5, !wire_left, weight);
  out.line(x - 3, y, x + 3, y, weight + 1.8);
}

}  // namespace halfsplit::report
