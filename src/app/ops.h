// SPDX-License-Identifier: Apache-2.0
// The operations, one function each; operations.cpp puts them in the table.
#pragma once

#include "app/operation.h"

namespace halfsplit::app {

// On a loom.
Reply op_check(Context& context, const Arguments& arguments);
Reply op_trace(Context& context, const Arguments& arguments);
Reply op_draw(Context& context, const Arguments& arguments);
Reply op_hears(Context& context, const Arguments& arguments);
Reply op_expect(Context& context, const Arguments& arguments);
Reply op_wires(Context& context, const Arguments& arguments);
Reply op_faults(Context& context, const Arguments& arguments);
Reply op_sketch(Context& context, const Arguments& arguments);
Reply op_guess(Context& context, const Arguments& arguments);
Reply op_import(Context& context, const Arguments& arguments);
// On a job.
Reply op_open(Context& context, const Arguments& arguments);
Reply op_saw(Context& context, const Arguments& arguments);
Reply op_witness(Context& context, const Arguments& arguments);
Reply op_did(Context& context, const Arguments& arguments);
Reply op_mind(Context& context, const Arguments& arguments);
Reply op_undo(Context& context, const Arguments& arguments);
Reply op_skip(Context& context, const Arguments& arguments);
Reply op_kit(Context& context, const Arguments& arguments);
Reply op_suspects(Context& context, const Arguments& arguments);
Reply op_next(Context& context, const Arguments& arguments);
Reply op_plan(Context& context, const Arguments& arguments);
Reply op_proof(Context& context, const Arguments& arguments);
Reply op_note(Context& context, const Arguments& arguments);
Reply op_board(Context& context, const Arguments& arguments);
Reply op_status(Context& context, const Arguments& arguments);
Reply op_sheet(Context& context, const Arguments& arguments);
Reply op_close(Context& context, const Arguments& arguments);
// The book of jobs and the shelf of looms.
Reply op_jobs(Context& context, const Arguments& arguments);
Reply op_shelf(Context& context, const Arguments& arguments);
// In the pocket.
Reply op_decode(Context& context, const Arguments& arguments);
// A recording of a bus.
Reply op_capture(Context& context, const Arguments& arguments);
// To practise, and about the formats.
Reply op_rehearse(Context& context, const Arguments& arguments);
Reply op_bench(Context& context, const Arguments& arguments);
Reply op_meter(Context& context, const Arguments& arguments);
Reply op_schema(Context& context, const Arguments& arguments);
Reply op_profile(Context& context, const Arguments& arguments);
Reply op_operations(Context& context, const Arguments& arguments);

}  // namespace halfsplit::app
