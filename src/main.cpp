// SPDX-License-Identifier: Apache-2.0
#include "cli/command_line.h"

int main(int argc, char** argv) { return halfsplit::cli::run_command_line(argc, argv); }
