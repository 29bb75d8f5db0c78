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
// behind it (active when none), or `none`. A code is found by its name as it may be written (circuit/code_names.h).
// Errors: saw.list-what, saw.list-module-only.
[[nodiscard]] base::Result<CodeList> parse_code_list(const circuit::Loom& loom, std::string_view what,
                                                     std::string_view shows);
// "list VCU", and "CODE, CODE past" or "none": what the job keeps.
[[nodiscard]] std::string list_what(const CodeList& list);
[[nodiscard]] std::string list_shows(const CodeList& list);

// Names in the list that are no code of the module but may be one misread or mistyped that the list does not name.
[[nodiscard]] std::vector<std::string> maybe_of_module(const circuit::Loom& loom, const CodeList& list);
// What a list says code by code: those named as named, the other codes of that module absent, unless a name in it may
// be one of them; the module answers, unless its own display may have told.
[[nodiscard]] std::vector<evidence::Observation> readings_of(const circuit::Loom& loom, const CodeList& list);

// "code NAME" of a code the loom does not know, or of which it cannot be told whose it is.
[[nodiscard]] bool is_unknown_code(const circuit::Loom& loom, std::string_view what);
// That one, as a list without a module. Errors: value.unknown-word.
[[nodiscard]] base::Result<CodeList> other_code(std::string_view what, std::string_view shows);
// The loom's name of the only code that is meant; of one it does not know the usual way to write it. Errors:
// saw.which-code when several modules can set it.
[[nodiscard]] base::Result<std::string> code_meant(const circuit::Loom& loom, const std::string& name);
[[nodiscard]] std::vector<OtherCode> others_of(const CodeList& list, int entry);

}  // namespace halfsplit::app
