// SPDX-License-Identifier: Apache-2.0
#include "tests/oracle/ngspice.h"

#ifdef HALFSPLIT_HAS_NGSPICE

#include <ngspice/sharedspice.h>

#include <algorithm>
#include <cctype>

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
  for (int i = 0; i < all->veccount; ++i) {
    std::string name = all->vecsa[i]->name;
    std::transform(name.begin(), name.end(), name.begin(),
                   [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    static_cast<Ngspice*>(self)->take(name, all->vecsa[i]->creal);
  }
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

bool Ngspice::run(const std::vector<std::string>& lines) {
  said_.clear();
  values_.clear();
  ++runs_;
  std::vector<std::string> text = lines;
  text.emplace_back(".end");
  std::vector<char*> pointers;
  for (std::string& line : text) pointers.push_back(line.data());
  pointers.push_back(nullptr);
  const bool loaded = ngSpice_Circ(pointers.data()) == 0;
  const bool solved = loaded && command("op");
  if (loaded) command("remcirc");
  command("destroy all");
  return solved && !values_.empty() && said_.find("failed") == std::string::npos;
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
double Ngspice::volts(const std::string&) const { return 0.0; }
double Ngspice::amperes(const std::string&) const { return 0.0; }
}  // namespace halfsplit::oracle

#endif
