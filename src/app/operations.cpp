// SPDX-License-Identifier: Apache-2.0
// The table. Command line, batch, help and documentation are made from it; a new operation is one record here and one
// function in ops.h.
#include <algorithm>

#include "app/ops.h"
#include "formats/sketch.h"

namespace halfsplit::app {

namespace {

using FieldKind = Field::Kind;

const Field kJob{"job", FieldKind::kOption, false, "the job file; not needed when the folder holds just one"};
const Field kLoom{"loom", FieldKind::kPositional, true, "the loom file"};
const Field kMeter{"meter", FieldKind::kOption, false, "read with this meter, a file"};
const Field kLoomOption{"loom", FieldKind::kOption, false, "a loom file, when there is no job"};

// The questions of all templates, each once.
std::vector<Field> sketch_fields() {
  std::vector<Field> fields{{"template", FieldKind::kPositional, false, "which template"},
                            {"list", FieldKind::kFlag, false, "which templates there are, and what they ask"}};
  for (const formats::SketchTemplate& one : formats::sketch_templates())
    for (const formats::SketchQuestion& question : one.questions) {
      const bool there =
          std::any_of(fields.begin(), fields.end(), [&](const Field& field) { return field.name == question.name; });
      if (!there)
        fields.push_back({question.name, question.list ? FieldKind::kList : FieldKind::kOption, false, question.asks});
    }
  fields.push_back({"out", FieldKind::kOption, false, "the new file; made from the loom's name when left out"});
  fields.push_back({"force", FieldKind::kFlag, false, "replace a file of that name"});
  fields.push_back({"text", FieldKind::kFlag, false, "show the loom and what check says of it; write nothing"});
  return fields;
}

std::vector<Operation> make_operations() {
  return {
      {"check",
       "read a loom: every error at once, and what is electrically odd",
       {kLoom, {"points", FieldKind::kFlag, false, "list every point a probe can touch"}},
       "halfsplit check gritter.loom.toml",
       op_check},
      {"trace",
       "the path between two points, hop by hop, with places and minutes",
       {{"from", FieldKind::kPositional, true, "a point"},
        {"to", FieldKind::kPositional, true, "a point"},
        kLoomOption,
        kJob},
       "halfsplit trace --loom gritter.loom.toml HCU.A:7 B12:1",
       op_trace},
      {"draw",
       "the circuit as SVG; of a job: with the suspicion as line weight and percentage",
       {kLoomOption,
        kJob,
        {"out", FieldKind::kOption, false, "write to this file"},
        {"dark", FieldKind::kFlag, false, "light lines on a dark ground"}},
       "halfsplit draw --loom gritter.loom.toml --out gritter.svg",
       op_draw},
      {"expect",
       "what should I read here: healthy, and under each suspect",
       {{"what", FieldKind::kRest, false, "a test, as in saw: volts A B, ohms A B, code NAME ..."},
        {"codes", FieldKind::kFlag, false,
         "instead of one test: the list of codes, and which modules answer the reader"},
        {"with", FieldKind::kList, false, "something done first: key-on, \"unplug J4\""},
        {"if", FieldKind::kList, false, "under this fault: NAME or NAME@SEVERITY, severity 0 to 1; two: NAME and NAME"},
        kMeter,
        kLoomOption,
        kJob},
       "halfsplit expect --loom gritter.loom.toml --with key-on volts HCU.A:7 chassis",
       op_expect},
      {"hears",
       "who hears whom on each bus, healthy or under a fault: levels, margins, who is cut off and why",
       {{"bus", FieldKind::kOption, false, "this bus only"},
        {"with", FieldKind::kList, false,
         "something done first: key-on, \"unplug J4\"; without: the vehicle at work, as the job has it otherwise"},
        {"if", FieldKind::kList, false, "under this fault: NAME or NAME@SEVERITY, severity 0 to 1"},
        kLoomOption,
        kJob},
       "halfsplit hears --loom refuse-truck.loom.toml --bus body --if \"J8:2 open\"",
       op_hears},
      {"faults",
       "every single fault of a loom, with the name that expect and rehearse take, and the fuses it blows",
       {kLoomOption,
        kJob,
        {"blows", FieldKind::kFlag, false,
         "work out which fuses they blow, however large the loom (from 3,000 faults on)"}},
       "halfsplit faults --loom gritter.loom.toml",
       op_faults},
      {"wires",
       "the wire list of a loom as CSV",
       {kLoomOption, kJob, {"out", FieldKind::kOption, false, "write to this file"}},
       "halfsplit wires --loom gritter.loom.toml --out wires.csv",
       op_wires},
      {"sketch",
       "a loom from a few answers, asked for at the keyboard when none are given; what is not known stands as usual",
       sketch_fields(),
       "halfsplit sketch can-backbone --nodes \"VCU, DSP, BC1, BC2\" --plugs \"J7 between DSP and BC1\"", op_sketch},
      {"open",
       "open a job: which loom, which complaint",
       {kLoom,
        {"complaint", FieldKind::kOption, true, "what the customer says"},
        {"job", FieldKind::kOption, false, "name of the new job file; made from the loom's name when left out"},
        {"vehicle", FieldKind::kOption, false, "which vehicle"},
        {"customer", FieldKind::kOption, false, "for whom"},
        {"meter", FieldKind::kOption, false, "your meter, a file; `default`: the common handheld"},
        {"parked", FieldKind::kFlag, false, "the vehicle is parked, not in its working state"},
        {"force", FieldKind::kFlag, false, "replace a job of that name"}},
       "halfsplit open gritter.loom.toml --complaint \"oil temperature shows nothing\"",
       op_open},
      {"saw",
       "enter what was seen: a reading, a code, a live value, a lamp; or just the value that next asked for",
       {{"what", FieldKind::kRest, true,
         "a test and what it showed (121.7, OL, 4k7, 23.8V, active, dim), or the bare value; list MODULE CODE, CODE "
         "past: "
         "all codes of a module"},
        {"shows", FieldKind::kOption, false, "what it showed, when not said with the test"},
        kJob},
       "halfsplit saw \"ohms J4:12@cab J4:13@cab\" 121.7",
       op_saw},
      {"did",
       "enter what was done: a setup, unplug, plug, fit, remove, swap, put back, repaired",
       {{"what", FieldKind::kRest, true, "what was done"},
        {"minutes", FieldKind::kOption, false, "how long it took"},
        kJob},
       "halfsplit did \"unplug J4\"",
       op_did},
      {"undo",
       "take back the newest entry, or entry N; again: it counts again",
       {{"entry", FieldKind::kPositional, false, "number of an entry"}, kJob},
       "halfsplit undo 5",
       op_undo},
      {"skip",
       "leave out the test just proposed (or a named one): next plans around it",
       {{"what", FieldKind::kRest, false, "a test"}, {"none", FieldKind::kFlag, false, "take all skips back"}, kJob},
       "halfsplit skip",
       op_skip},
      {"suspects",
       "what may be wrong, how probable, and why",
       {{"all", FieldKind::kFlag, false, "every suspect"},
        {"quick", FieldKind::kFlag, false, "without asking which of them tests can part"},
        kJob},
       "halfsplit suspects",
       op_suspects},
      {"next",
       "the next test worth its minutes, or the repair when testing on would cost more",
       {{"within", FieldKind::kOption, false,
         "minutes that are left: no test that takes longer, putting back included"},
        {"why-not", FieldKind::kOption, false, "instead: why this test is not the one proposed, refused ones too"},
        kJob},
       "halfsplit next",
       op_next},
      {"plan",
       "the whole strategy as a tree, each end a repair, with expected, median and 95 % minutes; or what to bring",
       {{"before", FieldKind::kFlag, false, "on the telephone: what to ask the driver, what to bring"},
        {"out", FieldKind::kOption, false, "write to this file: .txt, .html (to print), .svg or .json"},
        {"least", FieldKind::kOption, false, "percent; what is less likely is cut; 1 when left out"},
        {"within", FieldKind::kOption, false, "minutes: how likely all is done by then"},
        kJob},
       "halfsplit plan --out plan.html",
       op_plan},
      {"proof",
       "what the vehicle should show when mended, against what it shows; what is left behind",
       {kJob},
       "halfsplit proof",
       op_proof},
      {"note",
       "enter something found on the way; it stands on the sheet",
       {{"what", FieldKind::kRest, true, "in your own words"}, kJob},
       "halfsplit note \"left mud flap torn\"",
       op_note},
      {"status",
       "the job so far: entries, state of the vehicle, what is still to undo",
       {kJob},
       "halfsplit status",
       op_status},
      {"sheet",
       "the job sheet, as text or HTML",
       {{"html", FieldKind::kFlag, false, "as HTML"}, {"out", FieldKind::kOption, false, "write to this file"}, kJob},
       "halfsplit sheet --html --out sheet.html",
       op_sheet},
      {"close",
       "close the job; refused while something is left behind",
       {{"anyway", FieldKind::kFlag, false, "close all the same; it stands on the sheet"}, kJob},
       "halfsplit close",
       op_close},
      {"kit",
       "what you have along: resistors to stand in, instruments, hot air, cold spray, and which meter",
       {{"resistors", FieldKind::kList, false, "the roll: 120R 1k 4k7"},
        {"clamp", FieldKind::kOption, false, "yes or no"},
        {"test-lamp", FieldKind::kOption, false, "yes or no"},
        {"long-lead", FieldKind::kOption, false, "yes or no"},
        {"reader", FieldKind::kOption, false, "yes or no"},
        {"heat-gun", FieldKind::kOption, false, "yes or no"},
        {"cold-spray", FieldKind::kOption, false, "yes or no"},
        {"scope", FieldKind::kOption, false, "yes or no: a scope, or a meter that holds peaks of microseconds"},
        {"money-per-hour", FieldKind::kOption, false, "what an hour of yours costs: weighs a part against a test"},
        {"fetch-minutes", FieldKind::kOption, false,
         "to come by a dear part: road time, a second visit; 0: all are along"},
        {"like", FieldKind::kOption, false, "first everything as in this other job, its meter too"},
        {"meter", FieldKind::kOption, false, "your meter, a file that is copied into the job; `default` takes it out"},
        kJob},
       "halfsplit kit --resistors 120R --resistors 1k --clamp no",
       op_kit},
      {"meter",
       "the meter in force: its ranges, how far each may be off, what it puts into the circuit",
       {{"meter", FieldKind::kOption, false, "this file instead; `default`: the common handheld"},
        {"write", FieldKind::kFlag, false,
         "as a file to start from; the common handheld unless --meter or --job is given"},
        kJob},
       "halfsplit meter --write > my.meter.toml",
       op_meter},
      {"rehearse",
       "practise on a virtual vehicle with a hidden fault; the program plays, scored in minutes",
       {kLoom,
        {"seed", FieldKind::kOption, false, "same seed, same vehicle"},
        {"fault", FieldKind::kOption, false, "this fault instead of a drawn one"},
        {"severity", FieldKind::kOption, false, "0 to 1, where in its range"},
        {"mis-probe", FieldKind::kOption, false, "share of meter readings that are nonsense"},
        kMeter,
        {"count", FieldKind::kOption, false, "so many vehicles, seeds counted up"},
        {"auto", FieldKind::kFlag, false, "the program plays; the only way for now, and the default"}},
       "halfsplit rehearse gritter.loom.toml --seed 7 --auto",
       op_rehearse},
      {"bench",
       "many rehearsals over one or several looms: mended or not by kind of fault, and is belief calibrated",
       {{"loom", FieldKind::kList, true, "a loom file; may be given several times"},
        {"count", FieldKind::kOption, false, "vehicles per loom; 100 when left out"},
        {"seed", FieldKind::kOption, false, "first seed"},
        kMeter,
        {"calibration", FieldKind::kFlag, false,
         "only percentages against truth, repairs left out: pairs, slips and what is not drawn as well; quick"},
        {"quality", FieldKind::kFlag, false,
         "the program against other rules on the same vehicles: mended, wrong parts, minutes, by kind of fault"},
        {"out", FieldKind::kOption, false,
         "write the reliability diagram (SVG) here; with --calibration a folder for calibration.svg and .json, "
         "with --quality one for quality.md and .json"}},
       "halfsplit bench --loom gritter.loom.toml --count 200",
       op_bench},
      {"schema",
       "the JSON Schema of the loom file, or the tables of part kinds and of faults",
       {{"parts", FieldKind::kFlag, false, "the parts table of docs/formats/loom.md"},
        {"faults", FieldKind::kFlag, false, "the tables of rates, stress and repairs of docs/formats/loom.md"}},
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
