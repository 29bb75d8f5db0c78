// SPDX-License-Identifier: Apache-2.0
// The table. Command line, batch, help and documentation are made from it; a new operation is one record here and one
// function in ops.h.
#include <algorithm>

#include "app/ops.h"
#include "formats/sketch.h"

namespace halfsplit::app {

namespace {

using Kind = Field::Kind;

const Field kJob{"job", Kind::kOption, false, "the job file; not needed when the folder holds just one"};
const Field kLoom{"loom", Kind::kPositional, true, "the loom file"};
const Field kMeter{"meter", Kind::kOption, false, "read with this meter, a file"};
const Field kLoomOption{"loom", Kind::kOption, false, "a loom file, when there is no job"};

// The questions of all templates, each once.
std::vector<Field> sketch_fields() {
  std::vector<Field> fields{{"template", Kind::kPositional, false, "which template"},
                            {"list", Kind::kFlag, false, "which templates there are, and what they ask"}};
  for (const formats::SketchTemplate& one : formats::sketch_templates())
    for (const formats::SketchQuestion& question : one.questions) {
      const bool there =
          std::any_of(fields.begin(), fields.end(), [&](const Field& field) { return field.name == question.name; });
      if (!there) fields.push_back({question.name, question.list ? Kind::kList : Kind::kOption, false, question.asks});
    }
  fields.push_back({"out", Kind::kOption, false, "the new file; made from the loom's name when left out"});
  fields.push_back({"force", Kind::kFlag, false, "replace a file of that name"});
  return fields;
}

std::vector<Operation> make_operations() {
  return {
      {"check",
       "read a loom: every error at once, and what is electrically odd",
       {kLoom, {"points", Kind::kFlag, false, "list every point a probe can touch"}},
       "halfsplit check gritter.loom.toml",
       op_check},
      {"trace",
       "the path between two points, hop by hop, with places and minutes",
       {{"from", Kind::kPositional, true, "a point"}, {"to", Kind::kPositional, true, "a point"}, kLoomOption, kJob},
       "halfsplit trace --loom gritter.loom.toml HCU.A:7 B12:1",
       op_trace},
      {"draw",
       "the circuit as SVG; of a job: with the suspicion as line weight and percentage",
       {kLoomOption,
        kJob,
        {"out", Kind::kOption, false, "write to this file"},
        {"dark", Kind::kFlag, false, "light lines on a dark ground"}},
       "halfsplit draw --loom gritter.loom.toml --out gritter.svg",
       op_draw},
      {"expect",
       "what should I read here: healthy, and under each suspect",
       {{"what", Kind::kRest, false, "a test, as in saw: volts A B, ohms A B, code NAME ..."},
        {"codes", Kind::kFlag, false, "instead of one test: the list of codes, and which modules answer the reader"},
        {"with", Kind::kList, false, "something done first: key-on, \"unplug J4\""},
        {"if", Kind::kList, false, "under this fault: NAME or NAME@SEVERITY, severity 0 to 1; two: NAME and NAME"},
        kMeter,
        kLoomOption,
        kJob},
       "halfsplit expect --loom gritter.loom.toml --with key-on volts HCU.A:7 chassis",
       op_expect},
      {"hears",
       "who hears whom on each bus, healthy or under a fault: levels, margins, who is cut off and why",
       {{"bus", Kind::kOption, false, "this bus only"},
        {"with", Kind::kList, false,
         "something done first: key-on, \"unplug J4\"; without: the vehicle at work, as the job has it otherwise"},
        {"if", Kind::kList, false, "under this fault: NAME or NAME@SEVERITY, severity 0 to 1"},
        kLoomOption,
        kJob},
       "halfsplit hears --loom refuse-truck.loom.toml --bus body --if \"J8:2 open\"",
       op_hears},
      {"faults",
       "every single fault of a loom, with the name that expect and rehearse take, and the fuses it blows",
       {kLoomOption,
        kJob,
        {"blows", Kind::kFlag, false, "work out which fuses they blow, however large the loom (from 3,000 faults on)"}},
       "halfsplit faults --loom gritter.loom.toml",
       op_faults},
      {"wires",
       "the wire list of a loom as CSV",
       {kLoomOption, kJob, {"out", Kind::kOption, false, "write to this file"}},
       "halfsplit wires --loom gritter.loom.toml --out wires.csv",
       op_wires},
      {"sketch",
       "a loom from a few answers, asked for at the keyboard when none are given; what is not known stands as usual",
       sketch_fields(),
       "halfsplit sketch can-backbone --nodes \"VCU, DSP, BC1, BC2\" --plugs \"J7 between DSP and BC1\"", op_sketch},
      {"open",
       "open a job: which loom, which complaint",
       {kLoom,
        {"complaint", Kind::kOption, true, "what the customer says"},
        {"job", Kind::kOption, false, "name of the new job file; made from the loom's name when left out"},
        {"vehicle", Kind::kOption, false, "which vehicle"},
        {"customer", Kind::kOption, false, "for whom"},
        {"meter", Kind::kOption, false, "your meter, a file; `default`: the common handheld"},
        {"parked", Kind::kFlag, false, "the vehicle is parked, not in its working state"},
        {"force", Kind::kFlag, false, "replace a job of that name"}},
       "halfsplit open gritter.loom.toml --complaint \"oil temperature shows nothing\"",
       op_open},
      {"saw",
       "enter what was seen: a reading, a code, a live value, a lamp; or just the value that next asked for",
       {{"what", Kind::kRest, true,
         "a test and what it showed (121.7, OL, 4k7, 23.8V, active, dim), or the bare value; list MODULE CODE, CODE "
         "past: "
         "all codes of a module"},
        {"shows", Kind::kOption, false, "what it showed, when not said with the test"},
        kJob},
       "halfsplit saw \"ohms J4:12@cab J4:13@cab\" 121.7",
       op_saw},
      {"did",
       "enter what was done: a setup, unplug, plug, fit, remove, swap, put back, repaired",
       {{"what", Kind::kRest, true, "what was done"}, {"minutes", Kind::kOption, false, "how long it took"}, kJob},
       "halfsplit did \"unplug J4\"",
       op_did},
      {"undo",
       "take back the newest entry, or entry N; again: it counts again",
       {{"entry", Kind::kPositional, false, "number of an entry"}, kJob},
       "halfsplit undo 5",
       op_undo},
      {"skip",
       "leave out the test just proposed (or a named one): next plans around it",
       {{"what", Kind::kRest, false, "a test"}, {"none", Kind::kFlag, false, "take all skips back"}, kJob},
       "halfsplit skip",
       op_skip},
      {"suspects",
       "what may be wrong, how probable, and why",
       {{"all", Kind::kFlag, false, "every suspect"},
        {"quick", Kind::kFlag, false, "without asking which of them tests can part"},
        kJob},
       "halfsplit suspects",
       op_suspects},
      {"next",
       "the next test worth its minutes, or the repair when testing on would cost more",
       {kJob},
       "halfsplit next",
       op_next},
      {"proof",
       "what the vehicle should show when mended, against what it shows; what is left behind",
       {kJob},
       "halfsplit proof",
       op_proof},
      {"note",
       "enter something found on the way; it stands on the sheet",
       {{"what", Kind::kRest, true, "in your own words"}, kJob},
       "halfsplit note \"left mud flap torn\"",
       op_note},
      {"status",
       "the job so far: entries, state of the vehicle, what is still to undo",
       {kJob},
       "halfsplit status",
       op_status},
      {"sheet",
       "the job sheet, as text or HTML",
       {{"html", Kind::kFlag, false, "as HTML"}, {"out", Kind::kOption, false, "write to this file"}, kJob},
       "halfsplit sheet --html --out sheet.html",
       op_sheet},
      {"close",
       "close the job; refused while something is left behind",
       {{"anyway", Kind::kFlag, false, "close all the same; it stands on the sheet"}, kJob},
       "halfsplit close",
       op_close},
      {"kit",
       "what you have along: resistors to stand in, instruments, hot air, cold spray, and which meter",
       {{"resistors", Kind::kList, false, "the roll: 120R 1k 4k7"},
        {"clamp", Kind::kOption, false, "yes or no"},
        {"test-lamp", Kind::kOption, false, "yes or no"},
        {"long-lead", Kind::kOption, false, "yes or no"},
        {"reader", Kind::kOption, false, "yes or no"},
        {"heat-gun", Kind::kOption, false, "yes or no"},
        {"cold-spray", Kind::kOption, false, "yes or no"},
        {"scope", Kind::kOption, false, "yes or no: a scope, or a meter that holds peaks of microseconds"},
        {"meter", Kind::kOption, false, "your meter, a file that is copied into the job; `default` takes it out"},
        kJob},
       "halfsplit kit --resistors 120R --resistors 1k --clamp no",
       op_kit},
      {"meter",
       "the meter in force: its ranges, how far each may be off, what it puts into the circuit",
       {{"meter", Kind::kOption, false, "this file instead; `default`: the common handheld"},
        {"write", Kind::kFlag, false, "as a file to start from; the common handheld unless --meter or --job is given"},
        kJob},
       "halfsplit meter --write > my.meter.toml",
       op_meter},
      {"rehearse",
       "practise on a virtual vehicle with a hidden fault; the program plays, scored in minutes",
       {kLoom,
        {"seed", Kind::kOption, false, "same seed, same vehicle"},
        {"fault", Kind::kOption, false, "this fault instead of a drawn one"},
        {"severity", Kind::kOption, false, "0 to 1, where in its range"},
        {"mis-probe", Kind::kOption, false, "share of meter readings that are nonsense"},
        kMeter,
        {"count", Kind::kOption, false, "so many vehicles, seeds counted up"},
        {"auto", Kind::kFlag, false, "the program plays; the only way for now, and the default"}},
       "halfsplit rehearse gritter.loom.toml --seed 7 --auto",
       op_rehearse},
      {"bench",
       "many rehearsals over one or several looms: mended or not by kind of fault, and is belief calibrated",
       {{"loom", Kind::kList, true, "a loom file; may be given several times"},
        {"count", Kind::kOption, false, "vehicles per loom; 100 when left out"},
        {"seed", Kind::kOption, false, "first seed"},
        kMeter,
        {"calibration", Kind::kFlag, false,
         "only percentages against truth, repairs left out: pairs, slips and what is not drawn as well; quick"},
        {"quality", Kind::kFlag, false,
         "the program against other rules on the same vehicles: mended, wrong parts, minutes, by kind of fault"},
        {"out", Kind::kOption, false,
         "write the reliability diagram (SVG) here; with --calibration a folder for calibration.svg and .json, "
         "with --quality one for quality.md and .json"}},
       "halfsplit bench --loom gritter.loom.toml --count 200",
       op_bench},
      {"schema",
       "the JSON Schema of the loom file, or the tables of part kinds and of faults",
       {{"parts", Kind::kFlag, false, "the parts table of docs/formats/loom.md"},
        {"faults", Kind::kFlag, false, "the tables of rates, stress and repairs of docs/formats/loom.md"}},
       "halfsplit schema",
       op_schema},
  };
}

}  // namespace

const std::vector<Operation>& operations() {
  static const std::vector<Operation> table = make_operations();
  return table;
}

}  // namespace halfsplit::app
