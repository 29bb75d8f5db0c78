// SPDX-License-Identifier: Apache-2.0
// Message descriptions in KCD, an open XML format: buses, messages, signals, label sets, multiplexes. Reading only. A
// file that defines entities is refused; elements not needed here are passed over and counted.
#pragma once

#include <string_view>

#include "formats/dbc_text.h"

namespace halfsplit::formats {

// Errors: kcd.broken-xml, kcd.entities, kcd.nothing-described. Warnings beside a value: kcd.broken-number,
// kcd.impossible-signal, kcd.unknown-node.
[[nodiscard]] base::Result<DescriptionFile> read_kcd_text(std::string_view name, std::string_view text);

}  // namespace halfsplit::formats
