// SPDX-License-Identifier: Apache-2.0
// gzip (RFC 1952) and Zstandard (RFC 8878) files as the bytes that were packed, several members or frames one behind
// the other included. What ends too early, or is damaged, ends with problem() capture.truncated or
// capture.broken-packing.
#pragma once

#include <memory>
#include <string_view>

#include "base/seams.h"

namespace halfsplit::capture {

enum class Packing : std::uint8_t { kNone, kGzip, kZstd };

// By the first four bytes.
[[nodiscard]] Packing find_packing(std::string_view beginning);

// `packing` is not kNone. size() and taken() are those of the packed bytes.
[[nodiscard]] std::unique_ptr<base::ByteSource> unpack(std::unique_ptr<base::ByteSource> packed, Packing packing);

}  // namespace halfsplit::capture
