// SPDX-License-Identifier: Apache-2.0
#include "tests/oracle/ngspice.h"

#ifdef HALFSPLIT_HAS_NGSPICE

#include <ngspice/sharedspice.h>

#include <algorithm>
#include <cctype>
#include <cstdio>

namespace halfsplit::oracle {

namespace {

int on_text(char* text, int, void* self) {
  static_cast<Ngspice*>(self)->hear(text);
  return 0;
}
int on_status(char*, int, void*) { return 0; }
int on_exit(int, bool, bool, int, void* self) {
  static_cast<Ngspice*>(self)->hear("ngspice wanted to exit");
  return 0;
}
int on_data(pvecvaluesall all, int, int, void* self) {
  if (!static_cast<Ngspice*>(self)->keeps()) return 0;
  for (int i = 0; i < all->veccount; ++i) {
    std::string name = all->vecsa[i]->name;
    std::transform(name.begin(), name.end(), name.begin(),
                   [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    static_cast<Ngspice*>(self)->take(name, all->vecsa[i]->creal);
  }
  static_cast<Ngspice*>(self)->at_point();
  return 0;
}
int on_data_begins(pvecinfoall, int, void*) { return 0; }
int on_thread(bool, int, void*) { return 0; }

bool command(const char* text) { return ngSpice_Command(const_cast<char*>(text)) == 0; }

}  // namespace

Ngspice::Ngspice() { ngSpice_Init(on_text, on_status, on_exit, on_data, on_data_begins, on_thread, this); }

Ngspice* Ngspice::instance() {
  static Ngspice one;
  return &one;
}

void Ngspice::hear(const char* text) {
  if (said_.size() < 20000) said_.append(text).append("\n");
}

bool Ngspice::load(const std::vector<std::string>& lines) {
  said_.clear();
  std::vector<std::string> text = lines;
  text.emplace_back(".end");
  std::vector<char*> pointers;
  for (std::string& line : text) pointers.push_back(line.data());
  pointers.push_back(nullptr);
  return ngSpice_Circ(pointers.data()) == 0;
}

bool Ngspice::alter(const std::string& device, double value) {
  return command(("alter " + device + " = " + std::to_string(value)).c_str());
}

bool Ngspice::solve(bool keep) {
  keeps_ = keep;
  if (keep) values_.clear();
  ++runs_;
  const bool solved = command("op") && said_.find("failed") == std::string::npos;
  keeps_ = true;
  command("destroy all");  // results pile up, and each makes the next slower
  return solved && !(keep && values_.empty());
}

void Ngspice::forget() { command("remcirc"); }

bool Ngspice::run(const std::vector<std::string>& lines) {
  if (!load(lines)) return false;
  const bool solved = solve(true);
  forget();
  return solved;
}

bool Ngspice::run_in_time(const std::vector<std::string>& lines, const std::vector<double>& times_s, double step_s,
                          const std::function<void(std::size_t)>& look) {
  if (!load(lines)) return false;
  values_.clear(), before_.clear();
  times_s_ = times_s, looked_ = 0, look_ = look;
  ++runs_;
  char text[80];
  std::snprintf(text, sizeof text, "tran %.6g %.9g", step_s, times_s.back() + step_s);
  const bool solved = command(text) && said_.find("failed") == std::string::npos && looked_ == times_s.size();
  look_ = nullptr;
  command("destroy all");
  forget();
  return solved;
}

void Ngspice::at_point() {
  if (!look_) return;
  const double now = volts("time"), then = before_.empty() ? now : before_["time"];
  const std::unordered_map<std::string, double> here = values_;
  for (; looked_ < times_s_.size() && times_s_[looked_] <= now; ++looked_) {
    const double share = now > then ? (times_s_[looked_] - then) / (now - then) : 1.0;
    for (auto& [name, value] : values_) value = before_[name] + share * (here.at(name) - before_[name]);
    look_(looked_);
  }
  values_ = here;
  before_ = here;
}

double Ngspice::volts(const std::string& node) const {
  const auto found = values_.find(node);
  return found == values_.end() ? 0.0 : found->second;
}

double Ngspice::amperes(const std::string& source) const { return volts(source + "#branch"); }

}  // namespace halfsplit::oracle

#else

namespace halfsplit::oracle {
Ngspice::Ngspice() = default;
Ngspice* Ngspice::instance() { return nullptr; }
void Ngspice::hear(const char*) {}
bool Ngspice::run(const std::vector<std::string>&) { return false; }
bool Ngspice::run_in_time(const std::vector<std::string>&, const std::vector<double>&, double,
                          const std::function<void(std::size_t)>&) {
  return false;
}
bool Ngspice::load(const std::vector<std::string>&) { return false; }
bool Ngspice::alter(const std::string&, double) { return false; }
bool Ngspice::solve(bool) { return false; }
void Ngspice::forget() {}
double Ngspice::volts(const std::string&) const { return 0.0; }
double Ngspice::amperes(const std::string&) const { return 0.0; }
}  // namespace halfsplit::oracle

#endif
