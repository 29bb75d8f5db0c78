// SPDX-License-Identifier: Apache-2.0
// What a code reader shows of one module, in one go: every code named is there, every other code the loom knows of that
// module is not. Codes that no monitor of the loom sets are kept beside them: nothing that was seen is refused.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "circuit/loom.h"
#include "evidence/observable.h"

namespace halfsplit::app {

struct ListedCode {
  std::string name;      // as the loom has it; of an unknown one as it was typed
  circuit::CodeId code;  // none: no monitor of the loom sets it
  int category = 0;      // active, past, absent
};

struct CodeList {
  std::string module;             // its name; of an unknown one its first word
  circuit::ModuleId id;           // none: not on this drawing
  std::vector<ListedCode> codes;  // those named, each once
};

// A code seen that nothing of the loom can set.
struct OtherCode {
  int entry = 0;
  std::string module;  // empty: not said
  std::string name;
  std::string word;  // active, past
};

// "list VCU" or "list VCU CODE, CODE": begins with the word.
[[nodiscard]] bool is_code_list(std::string_view what);
// `what`: "list MODULE" and, when `shows` is empty, the codes behind it. Codes: with commas between, each with its word
// behind it (active when none), or `none`. A code is found by its name, with or without the module's name before or
// behind it, "SPN 639 FMI 9" also as 639/9. Errors: saw.list-what, saw.list-module-only.
[[nodiscard]] base::Result<CodeList> parse_code_list(const circuit::Loom& loom, std::string_view what,
                                                     std::string_view shows);
// "list VCU", and "CODE, CODE past" or "none": what the job keeps.
[[nodiscard]] std::string list_what(const CodeList& list);
[[nodiscard]] std::string list_shows(const CodeList& list);

// What a list says code by code: those named as named, the other codes of that module absent; the module
// answers, unless its own display may have told.
[[nodiscard]] std::vector<evidence::Observation> readings_of(const circuit::Loom& loom, const CodeList& list);

// "code NAME" of a code the loom does not know.
[[nodiscard]] bool is_unknown_code(const circuit::Loom& loom, std::string_view what);
// That one, as a list without a module. Errors: value.unknown-word.
[[nodiscard]] base::Result<CodeList> other_code(std::string_view what, std::string_view shows);
// The name of the only code of the loom that is meant, when the module's name was left out or it is written otherwise;
// else the name as it is.
[[nodiscard]] std::string code_meant(const circuit::Loom& loom, const std::string& name);
[[nodiscard]] std::vector<OtherCode> others_of(const CodeList& list, int entry);

}  // namespace halfsplit::app
