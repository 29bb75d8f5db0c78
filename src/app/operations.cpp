// SPDX-License-Identifier: Apache-2.0
// The table. Command line, batch, help and documentation are made from it; a new operation is one record here and one
// function in ops.h.
#include "app/ops.h"

namespace halfsplit::app {

namespace {

using Kind = Field::Kind;

const Field kJob{"job", Kind::kOption, false, "the job file; not needed when the folder holds just one"};
const Field kLoom{"loom", Kind::kPositional, true, "the loom file"};
const Field kLoomOption{"loom", Kind::kOption, false, "a loom file, when there is no job"};

std::vector<Operation> make_operations() {
  return {
      {"check", "read a loom: every error at once, and what is electrically odd", {kLoom, {"points", Kind::kFlag, false, "list every point a probe can touch"}},
       "halfsplit check gritter.loom.toml", op_check},
      {"trace", "the path between two points, hop by hop, with places and minutes",
       {{"from", Kind::kPositional, true, "a point"}, {"to", Kind::kPositional, true, "a point"}, kLoomOption, kJob},
       "halfsplit trace --loom gritter.loom.toml HCU.A:7 B12:1", op_trace},
      {"draw", "the circuit as SVG; of a job: with the suspicion as line weight and percentage",
       {kLoomOption, kJob, {"out", Kind::kOption, false, "write to this file"}, {"dark", Kind::kFlag, false, "light lines on a dark ground"}},
       "halfsplit draw --loom gritter.loom.toml --out gritter.svg", op_draw},
      {"expect", "what should I read here: healthy, and under each suspect",
       {{"what", Kind::kRest, true, "a test, as in saw: volts A B, ohms A B, code NAME ..."},
        {"with", Kind::kList, false, "something done first: key-on, \"unplug J4\""},
        {"if", Kind::kList, false, "under this fault: NAME or NAME@SEVERITY, severity 0 to 1"},
        kLoomOption,
        kJob},
       "halfsplit expect --loom gritter.loom.toml --with key-on volts HCU.A:7 chassis", op_expect},
      {"faults", "every single fault of a loom, with the name that expect and rehearse take", {kLoomOption, kJob}, "halfsplit faults --loom gritter.loom.toml", op_faults},
      {"open", "open a job: which loom, which complaint",
       {kLoom,
        {"complaint", Kind::kOption, true, "what the customer says"},
        {"job", Kind::kOption, false, "name of the new job file; made from the loom's name when left out"},
        {"vehicle", Kind::kOption, false, "which vehicle"},
        {"customer", Kind::kOption, false, "for whom"},
        {"parked", Kind::kFlag, false, "the vehicle is parked, not in its working state"},
        {"force", Kind::kFlag, false, "replace a job of that name"}},
       "halfsplit open gritter.loom.toml --complaint \"oil temperature shows nothing\"", op_open},
      {"saw", "enter what was seen: a reading, a code, a live value, a lamp; or just the value that next asked for",
       {{"what", Kind::kPositional, true, "a test, or the bare value"}, {"shows", Kind::kPositional, false, "what it showed: 121.7, OL, 4k7, 23.8V, active, dim"}, kJob},
       "halfsplit saw \"ohms J4:12@cab J4:13@cab\" 121.7", op_saw},
      {"did", "enter what was done: a setup, unplug, plug, fit, remove, swap, put back, repaired",
       {{"what", Kind::kRest, true, "what was done"}, {"minutes", Kind::kOption, false, "how long it took"}, kJob}, "halfsplit did \"unplug J4\"", op_did},
      {"undo", "take back the newest entry, or entry N; again: it counts again", {{"entry", Kind::kPositional, false, "number of an entry"}, kJob}, "halfsplit undo 5", op_undo},
      {"skip", "leave out the test just proposed (or a named one): next plans around it",
       {{"what", Kind::kRest, false, "a test"}, {"none", Kind::kFlag, false, "take all skips back"}, kJob}, "halfsplit skip", op_skip},
      {"suspects", "what may be wrong, how probable, and why",
       {{"all", Kind::kFlag, false, "every suspect"}, {"quick", Kind::kFlag, false, "without asking which of them tests can part"}, kJob}, "halfsplit suspects", op_suspects},
      {"next", "the next test worth its minutes, or the repair when testing on would cost more", {kJob}, "halfsplit next", op_next},
      {"proof", "what the vehicle should show when mended, against what it shows; what is left behind", {kJob}, "halfsplit proof", op_proof},
      {"status", "the job so far: entries, state of the vehicle, what is still to undo", {kJob}, "halfsplit status", op_status},
      {"sheet", "the job sheet, as text or HTML", {{"html", Kind::kFlag, false, "as HTML"}, {"out", Kind::kOption, false, "write to this file"}, kJob},
       "halfsplit sheet --html --out sheet.html", op_sheet},
      {"close", "close the job; refused while something is left behind", {{"anyway", Kind::kFlag, false, "close all the same; it stands on the sheet"}, kJob}, "halfsplit close", op_close},
      {"kit", "what you have along: resistors to stand in, clamp, test lamp, long lead, reader",
       {{"resistors", Kind::kList, false, "the roll: 120R 1k 4k7"},
        {"clamp", Kind::kOption, false, "yes or no"},
        {"test-lamp", Kind::kOption, false, "yes or no"},
        {"long-lead", Kind::kOption, false, "yes or no"},
        {"reader", Kind::kOption, false, "yes or no"},
        kJob},
       "halfsplit kit --resistors 120R --resistors 1k --clamp no", op_kit},
      {"rehearse", "practise on a virtual vehicle with a hidden fault; the program plays, scored in minutes",
       {kLoom,
        {"seed", Kind::kOption, false, "same seed, same vehicle"},
        {"fault", Kind::kOption, false, "this fault instead of a drawn one"},
        {"severity", Kind::kOption, false, "0 to 1, where in its range"},
        {"mis-probe", Kind::kOption, false, "share of meter readings that are nonsense"},
        {"count", Kind::kOption, false, "so many vehicles, seeds counted up"},
        {"auto", Kind::kFlag, false, "the program plays (the only way for now outside `work`)"}},
       "halfsplit rehearse gritter.loom.toml --seed 7 --auto", op_rehearse},
      {"schema", "the JSON Schema of the loom file, or the table of part kinds", {{"parts", Kind::kFlag, false, "the parts table of docs/formats/loom.md"}}, "halfsplit schema", op_schema},
  };
}

}  // namespace

const std::vector<Operation>& operations() {
  static const std::vector<Operation> table = make_operations();
  return table;
}

}  // namespace halfsplit::app
