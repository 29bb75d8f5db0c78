// SPDX-License-Identifier: Apache-2.0
// Format: RFC 4180, with ; tab or | as well for the comma. Lines count from 1, columns in characters.
#include "formats/wire_list_import.h"

#include <algorithm>
#include <map>

#include "base/nearest.h"
#include "base/number.h"
#include "text/blanks.h"
#include "text/source.h"
#include "text/utf8.h"

namespace halfsplit::formats {

namespace {

struct CsvRow {
  std::size_t line = 0;
  std::vector<std::string> cells;
};

struct HeadWord {
  std::string_view head, meaning;
};

// Heads in small letters, letters and digits only. What is measured in another unit has a meaning of its own.
constexpr HeadWord kHeads[] = {
    {"name", "name"},
    {"wire", "name"},
    {"wireno", "name"},
    {"wirenumber", "name"},
    {"wirename", "name"},
    {"no", "name"},
    {"nr", "name"},
    {"number", "name"},
    {"id", "name"},
    {"leitung", "name"},
    {"leitungsnummer", "name"},
    {"leitungsnr", "name"},
    {"leitungnr", "name"},
    {"ader", "name"},
    {"draht", "name"},
    {"kabel", "name"},
    {"nummer", "name"},
    {"from", "from"},
    {"frompoint", "from"},
    {"fromconnector", "from"},
    {"fromcomponent", "from"},
    {"start", "from"},
    {"source", "from"},
    {"von", "from"},
    {"vonstecker", "from"},
    {"vonbauteil", "from"},
    {"anfang", "from"},
    {"quelle", "from"},
    {"frompin", "from-pin"},
    {"fromcavity", "from-pin"},
    {"fromterminal", "from-pin"},
    {"vonpin", "from-pin"},
    {"vonkammer", "from-pin"},
    {"vonklemme", "from-pin"},
    {"to", "to"},
    {"topoint", "to"},
    {"toconnector", "to"},
    {"tocomponent", "to"},
    {"end", "to"},
    {"target", "to"},
    {"destination", "to"},
    {"nach", "to"},
    {"nachstecker", "to"},
    {"nachbauteil", "to"},
    {"zu", "to"},
    {"ziel", "to"},
    {"ende", "to"},
    {"topin", "to-pin"},
    {"tocavity", "to-pin"},
    {"toterminal", "to-pin"},
    {"nachpin", "to-pin"},
    {"nachkammer", "to-pin"},
    {"nachklemme", "to-pin"},
    {"zupin", "to-pin"},
    {"zielpin", "to-pin"},
    {"colour", "colour"},
    {"color", "colour"},
    {"farbe", "colour"},
    {"col", "colour"},
    {"size", "size"},
    {"sizemm2", "size"},
    {"crosssection", "size"},
    {"crosssectionmm2", "size"},
    {"area", "size"},
    {"mm2", "size"},
    {"gauge", "size"},
    {"querschnitt", "size"},
    {"querschnittmm2", "size"},
    {"length", "length"},
    {"lengthm", "length"},
    {"laenge", "length"},
    {"länge", "length"},
    {"laengem", "length"},
    {"längem", "length"},
    {"lengthmm", "length-mm"},
    {"laengemm", "length-mm"},
    {"längemm", "length-mm"},
    {"lengthcm", "length-cm"},
    {"längecm", "length-cm"},
    {"laengecm", "length-cm"},
    {"ohm", "ohm"},
    {"resistance", "ohm"},
    {"widerstand", "ohm"},
    {"bundle", "bundle"},
    {"buendel", "bundle"},
    {"bündel", "bundle"},
    {"strang", "bundle"},
    {"pair", "pair"},
    {"paar", "pair"},
    {"hazard", "hazard"},
    {"caution", "caution"},
    {"warning", "caution"},
    {"warnung", "caution"},
    {"vorsicht", "caution"},
};

constexpr std::string_view kMeanings[] = {"name",   "from",   "from-pin", "to",        "to-pin",
                                          "colour", "size",   "length",   "length-mm", "length-cm",
                                          "ohm",    "bundle", "pair",     "hazard",    "caution"};

std::string head_key(std::string_view head) {
  std::string key;
  for (std::size_t i = 0; i < head.size(); ++i) {
    const char c = head[i];
    if (c == '\xC2' && i + 1 < head.size() && head[i + 1] == '\xB2') {  // superscript two
      key += '2';
      ++i;
    } else if (c >= 'A' && c <= 'Z') {
      key += static_cast<char>(c - 'A' + 'a');
    } else if (c == '\xC3' && i + 1 < head.size() &&
               (head[i + 1] == '\x84' || head[i + 1] == '\x9C')) {  // capital umlauts
      key += c;
      key += static_cast<char>(head[++i] + 0x20);
    } else if ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || (static_cast<unsigned char>(c) & 0x80U) != 0) {
      key += c;
    }
  }
  return key;
}

// The mark that stands most often outside quotes in the first line.
char find_separator(std::string_view text) {
  std::map<char, std::size_t> count;
  bool quoted = false;
  for (const char c : text.substr(0, text.find('\n'))) {
    quoted = quoted != (c == '"');
    if (!quoted) ++count[c];
  }
  char best = ',';
  for (const char c : {';', '\t', '|'})
    if (count[c] > count[best]) best = c;
  return best;
}

class CsvReader {
 public:
  CsvReader(std::string_view text, char separator) : text_(text), separator_(separator) {}

  // False: a quote is never closed; open_line() says where it opened.
  bool run(std::vector<CsvRow>& rows) {
    CsvRow row{1, {""}};
    for (std::size_t i = 0; i < text_.size(); ++i) {
      const char c = text_[i];
      if (c == '\n') ++line_;
      if (quoted_ && c == '"' && i + 1 < text_.size() && text_[i + 1] == '"') {
        row.cells.back() += text_[++i];
      } else if (c == '"' && (quoted_ || row.cells.back().empty())) {
        quoted_ = !quoted_;
        open_line_ = line_;
      } else if (quoted_) {
        row.cells.back() += c;
      } else if (c == separator_) {
        row.cells.emplace_back();
      } else if (c == '\n') {
        finish(row, rows);
        row = {line_, {""}};
      } else if (c != '\r') {
        row.cells.back() += c;
      }
    }
    finish(row, rows);
    return !quoted_;
  }
  [[nodiscard]] std::size_t open_line() const { return open_line_; }

 private:
  static void finish(CsvRow& row, std::vector<CsvRow>& rows) {
    bool empty = true;
    for (std::string& cell : row.cells) {
      cell = std::string(text::without_blanks(cell));
      empty = empty && cell.empty();
    }
    if (!empty) rows.push_back(std::move(row));
  }

  std::string_view text_;
  char separator_;
  std::size_t line_ = 1, open_line_ = 1;
  bool quoted_ = false;
};

class WireListReader {
 public:
  WireListReader(const std::string& name, std::string_view text) : source_(name, std::string(text)) {}

  WireList columns(const std::vector<std::string>& told) {
    std::vector<CsvRow> rows;
    list_.separator = find_separator(source_.text());
    if (!CsvReader(source_.text(), list_.separator).run(rows) || rows.empty()) return {};
    guess_columns(rows.front());
    for (const std::string& one : told) tell_column(one);
    list_.rows = rows.size() - 1;
    return std::move(list_);
  }

  base::Result<WireList> run(const std::vector<std::string>& told) {
    std::vector<CsvRow> rows;
    list_.separator = find_separator(source_.text());
    CsvReader reader(source_.text(), list_.separator);
    if (!reader.run(rows))
      return said("csv.open-quote", reader.open_line(), "a quote is opened here and never closed",
                  "a quote within quotes stands twice", true);
    if (rows.empty()) return said("csv.empty", 1, "the wire list is empty", "its first row names the columns", true);
    guess_columns(rows.front());
    for (const std::string& one : told) tell_column(one);
    if (problems_.empty()) check_columns();
    if (!problems_.empty()) return problems_;
    for (std::size_t i = 1; i < rows.size(); ++i) read_row(rows[i]);
    if (list_.paths.empty()) {
      std::vector<base::Diagnostic> all = list_.left_out;
      all.insert(all.begin(), said("csv.empty", 1, "no row of the wire list is a wire",
                                   "say which columns hold its ends: --column from=1", true));
      return all;
    }
    return std::move(list_);
  }

 private:
  base::Diagnostic said(std::string code, std::size_t line, std::string message, std::string hint, bool error) {
    base::Diagnostic d = error ? base::make_error(std::move(code), std::move(message), std::move(hint))
                               : base::make_warning(std::move(code), std::move(message), std::move(hint));
    d.where = source_.span(line, 1, 1, 200);
    return d;
  }

  void guess_columns(const CsvRow& heads) {
    for (std::size_t i = 0; i < heads.cells.size(); ++i) {
      WireListColumn column{i + 1, heads.cells[i], "", false};
      const std::string key = head_key(heads.cells[i]);
      for (const HeadWord& one : kHeads)
        if (key == one.head && !find(std::string(one.meaning))) column.meaning = std::string(one.meaning);
      list_.columns.push_back(std::move(column));
    }
  }

  WireListColumn* find(const std::string& meaning) {
    for (WireListColumn& one : list_.columns)
      if (one.meaning == meaning) return &one;
    return nullptr;
  }

  void tell_column(const std::string& text) {
    const std::size_t equals = std::min(text.find('='), text.size());
    const std::string meaning = text.substr(0, equals), where = equals < text.size() ? text.substr(equals + 1) : "";
    const std::vector<std::string> all = wire_list_meanings();
    if (equals == text.size() || std::find(all.begin(), all.end(), meaning) == all.end()) {
      const std::string near = base::did_you_mean(meaning, all);
      problems_.push_back(base::make_error("csv.bad-column", "\"" + text + "\" does not say what a column means",
                                           near.empty() ? "for example: from=3, or colour=Farbe" : near));
      return;
    }
    if (WireListColumn* const before = find(meaning)) before->meaning.clear();
    if (where.empty()) return;
    for (WireListColumn& one : list_.columns)
      if (one.head == where || std::to_string(one.number) == where) {
        one.meaning = meaning;
        one.told = true;
        return;
      }
    problems_.push_back(
        base::make_error("csv.bad-column", "there is no column \"" + where + "\"",
                         "by number 1 to " + std::to_string(list_.columns.size()) + ", or by its head"));
  }

  void check_columns() {
    for (const char* needed : {"from", "to"})
      if (find(needed) == nullptr) {
        std::string heads;
        for (const WireListColumn& one : list_.columns)
          heads += (heads.empty() ? "" : ", ") + std::to_string(one.number) + " " + one.head;
        problems_.push_back(said("csv.no-column", 1, std::string("no column says where a wire goes ") + needed,
                                 std::string("say which: --column ") + needed + "=NUMBER; there are " + heads, true));
      }
  }

  std::string cell(const CsvRow& row, const std::string& meaning) {
    const WireListColumn* const column = find(meaning);
    return column == nullptr || column->number > row.cells.size() ? "" : row.cells[column->number - 1];
  }

  void leave_out(const CsvRow& row, const std::string& message, const std::string& hint) {
    list_.left_out.push_back(said("csv.left-out", row.line, message, hint, false));
  }

  std::string end_of(const CsvRow& row, const std::string& end) {
    const std::string pin = cell(row, end + "-pin");
    std::string point = cell(row, end);
    if (!pin.empty() && !point.empty()) {
      const std::size_t at = std::min(point.find('@'), point.size());
      point.insert(at, ":" + pin);
    }
    return point;
  }

  void read_row(const CsvRow& row) {
    ++list_.rows;
    const std::string from = end_of(row, "from"), to = end_of(row, "to");
    if (from.empty() || to.empty())
      return leave_out(row, std::string("the row has no ") + (from.empty() ? "from" : "to") + " and is left out",
                       "say where the wire ends");
    for (const std::string& end : {from, to})
      if (end.find_first_of(",>;[]\"'\n") != std::string::npos)
        return leave_out(row, "\"" + end + "\" cannot be the end of a wire; the row is left out",
                         "none of , > ; [ ] \" '");
    list_.paths.push_back(from + " -[" + attributes(row) + "]-> " + to);
    if (row.cells.size() > list_.columns.size())
      leave_out(row,
                std::to_string(row.cells.size() - list_.columns.size()) +
                    " cells stand beyond the last column and are left out",
                "quote what holds a separator");
  }

  // What a value means, or a word in left_out.
  std::string attributes(const CsvRow& row) {
    std::string out;
    const auto add = [&](const std::string& word) { out += (out.empty() ? "" : " ") + word; };
    if (const std::string colour = colour_of(row); !colour.empty()) add(colour);
    if (const std::string size = number(row, "size", base::Unit::kSquareMillimetre, 1.0, 0.05, 200.0); !size.empty())
      add(size + "mm2");
    for (const auto& [meaning, factor] : {std::pair{"length", 1.0}, {"length-mm", 0.001}, {"length-cm", 0.01}})
      if (const std::string length = number(row, meaning, base::Unit::kMetre, factor, 0.001, 1000.0); !length.empty())
        add(length + "m");
    if (const std::string ohm = number(row, "ohm", base::Unit::kOhm, 1.0, 1e-6, 1e6);
        !ohm.empty() && out.find("mm2") == std::string::npos)
      add(ohm + "ohm");
    for (const char* meaning : {"name", "bundle", "pair", "hazard"}) {
      const std::string word = cell(row, meaning);
      if (word.empty()) continue;
      if (word.find_first_of("'[]>;\n\"@:/\\<") != std::string::npos)
        leave_out(row,
                  std::string(meaning) + " \"" + word + "\" holds what a name may not; the wire is taken without it",
                  "");
      else
        add(std::string(meaning) + "='" + word + "'");
    }
    if (const std::string caution = caution_of(row); !caution.empty()) add("caution='" + caution + "'");
    return out;
  }

  // A sentence, in the quotes of a run: what ends them or the link becomes what looks like it.
  std::string caution_of(const CsvRow& row) {
    std::string out;
    for (const char c : cell(row, "caution")) switch (c) {
        case '\'':
        case '"':
          out += "\xE2\x80\x99";  // right single quotation mark
          break;
        case '[':
        case '<':
          out += '(';
          break;
        case ']':
        case '>':
          out += ')';
          break;
        case '\\':
          out += '/';
          break;
        case ';':
          out += ',';
          break;
        default:
          out += static_cast<unsigned char>(c) < 0x20 ? ' ' : c;
      }
    return out;
  }

  // "rd/wh", "RDWH", "RD-WH": two letters each.
  std::string colour_of(const CsvRow& row) {
    constexpr std::string_view kCodes[] = {"BK", "BN", "RD", "OG", "YE", "GN", "BU",
                                           "VT", "GY", "WH", "PK", "GD", "TQ", "SR"};
    const std::string told = cell(row, "colour");
    std::string letters, out;
    for (const char c : told)
      if (c != '/' && c != '-' && c != ' ') letters += c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
    for (std::size_t i = 0; i < letters.size(); i += 2) {
      const std::string code = letters.substr(i, 2);
      if (std::find(std::begin(kCodes), std::end(kCodes), code) == std::end(kCodes) || i > 4) {
        leave_out(row, "colour \"" + told + "\" is none of IEC 60757; the wire is taken without it",
                  "two letters each: RD, RD/WH");
        return "";
      }
      out += (out.empty() ? "" : "/") + code;
    }
    return out;
  }

  std::string number(const CsvRow& row, const std::string& meaning, base::Unit unit, double factor, double low,
                     double high) {
    const std::string told = cell(row, meaning);
    if (told.empty()) return "";
    const base::Result<base::Quantity> read = base::parse_quantity(told);
    if (read && !read->over_range && (read->unit == base::Unit::kNone || read->unit == unit)) {
      const double value = read->value * (read->unit == base::Unit::kNone ? factor : 1.0);
      if (value >= low && value <= high) return base::format_number(value);
    }
    leave_out(row, meaning + " \"" + told + "\" is not understood; the wire is taken without it",
              "a number, with its unit or without: 0,75 or 1.5 mm2");
    return "";
  }

  text::Source source_;
  WireList list_;
  std::vector<base::Diagnostic> problems_;
};

}  // namespace

std::vector<std::string> wire_list_meanings() { return {std::begin(kMeanings), std::end(kMeanings)}; }

base::Result<WireList> read_wire_list_csv(const std::string& name, std::string_view text,
                                          const std::vector<std::string>& told) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);  // byte order mark
  if (text.size() > kMostWireListBytes)
    return base::make_error("csv.too-large", name + ": the wire list is larger than 4 MiB",
                            "leave out what is far from the fault");
  if (const std::optional<std::size_t> bad = text::find_invalid_utf8(text)) {
    const text::Source source(name, std::string(text.substr(0, *bad)));
    const text::Position at = source.position(*bad);
    base::Diagnostic d =
        base::make_error("csv.not-utf8", "the wire list is not UTF-8", "save it as CSV UTF-8 in the spreadsheet");
    d.where = source.span(at.line, at.column, 1, 200);
    return d;
  }
  return WireListReader(name, text).run(told);
}

WireList read_wire_list_columns(std::string_view text, const std::vector<std::string>& told) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);  // byte order mark
  if (text.size() > kMostWireListBytes || text::find_invalid_utf8(text)) return {};
  return WireListReader("", text).columns(told);
}

}  // namespace halfsplit::formats
