// SPDX-License-Identifier: Apache-2.0
// The names of fault codes as readers, papers and people write them: "SPN 639 FMI 9", "639/9", "spn639 fmi09",
// "SPN: 639 FMI: 9", "639-9", "639.9", "639:9" are one code. SPN 0 to 524287, FMI 0 to 31 (SAE J1939-73, from memory).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "circuit/loom.h"

namespace halfsplit::circuit {

constexpr std::uint32_t kMostSpn = 524287, kMostFmi = 31;

struct SpnFmi {
  std::uint32_t spn = 0, fmi = 0;
  bool operator==(const SpnFmi&) const = default;
};

// None: it is not written so, or the numbers are beyond what there can be.
[[nodiscard]] std::optional<SpnFmi> read_spn_fmi(std::string_view name);
// "SPN 639 FMI 9" of whatever is written so; every other name as it is.
[[nodiscard]] std::string usual_code_name(std::string_view name);

// Written so, but with numbers that no code has.
[[nodiscard]] bool is_beyond_spn_fmi(std::string_view name);
// Of a code of the loom, whose name may hold its module's.
[[nodiscard]] std::optional<SpnFmi> spn_fmi_of(const Loom& loom, const Code& code);

// A module's codes of that name, with or without the module's name before or behind it; capitals and blanks do not
// matter, hyphens neither in names such as U0155-87.
[[nodiscard]] std::vector<CodeId> find_codes(const Loom& loom, ModuleId module, std::string_view name);
// Of all modules.
[[nodiscard]] std::vector<CodeId> find_codes(const Loom& loom, std::string_view name);
// "VCU (SPN 639 FMI 9), DSP (DSP SPN 639 FMI 9)": who can set them, and what each is called.
[[nodiscard]] std::string who_sets(const Loom& loom, const std::vector<CodeId>& codes);

// May a name that is no code of the module be one of its codes all the same, misread or mistyped? One that shares SPN
// or FMI with it, or that is no SPN with FMI and holds the number of one of them.
[[nodiscard]] bool may_be_code(const Loom& loom, CodeId code, std::string_view name);

}  // namespace halfsplit::circuit
