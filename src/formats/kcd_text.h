// SPDX-License-Identifier: Apache-2.0
// Message descriptions in KCD, an open XML format: buses, messages, signals, their label sets and multiplexes. A file
// that defines entities is refused (they can grow without bound); elements not needed here are passed over and counted.
#pragma once

#include <string_view>

#include "base/result.h"
#include "formats/description_file.h"

namespace halfsplit::formats {

// Errors: kcd.broken-xml, kcd.entities, kcd.nothing-described. Warnings beside a value: kcd.broken-number,
// kcd.impossible-signal, kcd.unknown-node, kcd.misplaced, descriptions.more.
[[nodiscard]] base::Result<DescriptionFile> read_kcd_text(std::string_view name, std::string_view text);

}  // namespace halfsplit::formats
