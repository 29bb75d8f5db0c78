// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "app/operation.h"

namespace halfsplit::cli {

// Text to standard output and diagnostics to standard error, or one JSON line; returns the exit code.
int print_reply(const app::Reply& reply, bool json);

// The exit code, or where standard output cannot be written a message and file.unwritable's.
int with_output_written(int exit_code);

}  // namespace halfsplit::cli
