// SPDX-License-Identifier: Apache-2.0
// A wire list of somebody else as a loom.
#include "app/check_text.h"
#include "app/ops.h"
#include "app/words.h"
#include "formats/sketch.h"
#include "formats/wire_list_import.h"
#include "text/encodings.h"

namespace halfsplit::app {

namespace {

Json columns_json(const formats::WireList& list) {
  Json columns = Json::array();
  for (const formats::WireListColumn& one : list.columns)
    columns.push_back({{"number", one.number}, {"head", one.head}, {"meaning", one.meaning}, {"told", one.told}});
  return columns;
}

Json list_json(const formats::WireList& list) {
  return {{"columns", columns_json(list)},
          {"meanings", formats::wire_list_meanings()},
          {"separator", std::string(1, list.separator)},
          {"rows", list.rows},
          {"wires", list.paths.size()},
          {"left_out", list.left_out.size()}};
}

std::string columns_text(const formats::WireList& list) {
  std::string text = "Columns (put right with --column MEANING=NUMBER):\n";
  for (const formats::WireListColumn& one : list.columns)
    text += "  " + padded(std::to_string(one.number), 4) + padded(one.head, 24) + " " +
            (one.meaning.empty() ? "not taken" : one.meaning) + "\n";
  return text;
}

// A file of a spreadsheet in whatever it saved it; what is typed or sent is UTF-8.
base::Result<text::Decoded> text_of(Context& context, const Arguments& arguments) {
  if (arguments.has("text")) return text::Decoded{arguments.get("text"), ""};
  if (!arguments.has("file"))
    return base::make_error("import.nothing", "no wire list is given", "name a file: halfsplit import wires.csv");
  const base::Result<std::string> bytes =
      context.files.read(arguments.get("file"), 2 * formats::kMostWireListBytes + 1);
  if (!bytes) return bytes.diagnostics();
  return text::decode_text(*bytes);
}

base::Result<formats::Sketched> drawn_list(const formats::WireList& list, const Arguments& arguments) {
  formats::SketchAnswers answers{{"path", list.paths}};
  for (const char* name : {"name", "vehicle", "volts"})
    if (arguments.has(name)) answers[name] = {arguments.get(name)};
  if (!arguments.has("name"))
    answers["name"] = {"Wire list" + (arguments.has("file") ? " " + arguments.get("file") : "")};
  return formats::sketch_loom(*formats::find_sketch_template("path"), answers);
}

}  // namespace

Reply op_import(Context& context, const Arguments& arguments) {
  const std::string out = arguments.get("out");
  if (!out.empty() && context.files.exists(out) && !arguments.has("force"))
    return fail(base::make_error("import.exists", "there is already a file " + out,
                                 "name another with --out, or replace it with --force"));
  const base::Result<text::Decoded> csv = text_of(context, arguments);
  if (!csv) return fail(csv.diagnostics());
  const base::Result<formats::WireList> list =
      formats::read_wire_list_csv(arguments.get("file", "the wire list"), csv->text, arguments.all("column"));
  if (!list) {  // with its columns, so that a screen can have them put right
    Reply reply = fail(list.diagnostics());
    const formats::WireList heads = formats::read_wire_list_columns(csv->text, arguments.all("column"));
    if (!heads.columns.empty()) reply.result = list_json(heads);
    return reply;
  }
  Reply reply;
  reply.diagnostics = list->left_out;
  if (!csv->from.empty()) {
    base::Diagnostic note =
        base::make_warning("csv.read-as", arguments.get("file") + ": read as " + std::string(csv->from),
                           "see that names with accents are as they were written");
    note.severity = base::Severity::kNote;
    reply.diagnostics.push_back(std::move(note));
  }
  reply.result = list_json(*list);
  reply.text = columns_text(*list) + std::to_string(list->paths.size()) + " of " + std::to_string(list->rows) +
               " rows are wires.\n";
  const base::Result<formats::Sketched> sketched = drawn_list(*list, arguments);
  if (!sketched) {
    for (const base::Diagnostic& said : sketched.diagnostics()) reply.diagnostics.push_back(said);
    reply.exit_code = 3;
    return reply;
  }
  const Reply checked = check_text(context, out.empty() ? "import.loom.toml" : out, sketched->text);
  for (const base::Diagnostic& said : checked.diagnostics) reply.diagnostics.push_back(said);
  reply.exit_code = checked.exit_code;
  if (checked.exit_code != 0) return reply;
  reply.result.update(
      {{"name", sketched->name}, {"assumed", sketched->assumed}, {"check", checked.result}, {"loom", sketched->text}});
  if (out.empty()) {
    reply.text += "\n" + sketched->text;
    return reply;
  }
  const base::Result<base::Done> written = context.files.write(out, sketched->text);
  if (!written) return fail(written.diagnostics());
  reply.result["file"] = out;
  reply.text += "wrote " + out + "\nThen: halfsplit check " + out + "\n";
  return reply;
}

}  // namespace halfsplit::app
