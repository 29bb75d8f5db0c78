// SPDX-License-Identifier: Apache-2.0
// NetworkDefinition holds Node (id, name) and Bus (name); a Bus holds Message (id, name, length, interval, format); a
// Message holds Producer/NodeRef (id), Signal (name, offset, length, endianess) and Multiplex, which is a signal itself
// and holds MuxGroup (count) with Signals. A signal holds Value (type, slope, intercept, min, max, unit), LabelSet with
// Label (name, value) or LabelGroup (name, from, to), and Notes. Bits of "big" signals are counted from the highest of
// each byte. Source: the schema of the format, Definition.xsd of its project.
#include "formats/kcd_text.h"

#include <expat.h>

#include <algorithm>
#include <charconv>
#include <map>
#include <memory>

#include "can/j1939_id.h"

namespace halfsplit::formats {

namespace {

constexpr std::size_t kKcdLongestGroup = 256;  // values of one LabelGroup
constexpr std::size_t kKcdLongestRemark = 2000;
constexpr std::size_t kNoSignal = static_cast<std::size_t>(-1);

// Decimal, or 0x and hexadecimal.
std::optional<std::uint64_t> kcd_whole(std::string_view text) {
  const bool hex = text.starts_with("0x") || text.starts_with("0X");
  if (hex) text.remove_prefix(2);
  std::uint64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value, hex ? 16 : 10);
  return error == std::errc() && end == text.data() + text.size() ? std::optional<std::uint64_t>(value) : std::nullopt;
}

class KcdAttributes {
 public:
  explicit KcdAttributes(const XML_Char** pairs) : pairs_(pairs) {}
  // None: the element does not have it.
  [[nodiscard]] std::optional<std::string_view> find(std::string_view name) const {
    for (const XML_Char** at = pairs_; at[0] != nullptr; at += 2) {
      if (name == at[0]) return std::string_view(at[1]);
    }
    return std::nullopt;
  }
  [[nodiscard]] std::string text(std::string_view name) const { return std::string(find(name).value_or("")); }

 private:
  const XML_Char** pairs_;
};

class KcdReader {
 public:
  explicit KcdReader(const text::Source& source);
  base::Result<DescriptionFile> run();

 private:
  struct Level {
    std::string element;
    std::size_t signal = kNoSignal;  // of the message under way, to which Value, LabelSet and Notes belong
    std::string selector;            // inside a MuxGroup
    std::uint64_t selected = 0;
  };

  void open(std::string_view element, const KcdAttributes& with);
  void close();
  void message(const KcdAttributes& with);
  void signal(Level& level, const KcdAttributes& with, bool selector);
  void value(can::Signal& signal, const KcdAttributes& with);
  void label(can::Signal& signal, const KcdAttributes& with);
  void label_group(can::Signal& signal, const KcdAttributes& with);
  void notes();
  void node_ref(const KcdAttributes& with);
  can::Signal* signal_of(const Level& level);
  [[nodiscard]] bool inside(std::string_view element) const {
    return !levels_.empty() && levels_.back().element == element;
  }
  double number(const KcdAttributes& with, std::string_view name, double fallback);
  std::uint64_t whole(const KcdAttributes& with, std::string_view name, std::uint64_t fallback, std::uint64_t most);
  void warn(std::string code, std::string message, std::string hint);
  [[nodiscard]] std::size_t at() const {
    return static_cast<std::size_t>(std::max<XML_Index>(0, XML_GetCurrentByteIndex(parser_.get())));
  }
  base::Result<DescriptionFile> refuse(std::string code, std::string message, std::string hint);
  void finish();

  const text::Source& source_;
  std::unique_ptr<XML_ParserStruct, decltype(&XML_ParserFree)> parser_;
  DescriptionNotes notes_;
  DescriptionFile file_;
  std::vector<Level> levels_;
  std::map<std::string, std::string> nodes_;
  std::string bus_;
  bool in_message_ = false;        // never in two: one inside another is passed over
  std::size_t message_depth_ = 0;  // levels when it is the innermost one
  bool entities_ = false;
  std::string remark_;
};

KcdReader::KcdReader(const text::Source& source)
    : source_(source), parser_(XML_ParserCreate("UTF-8"), &XML_ParserFree), notes_(source) {
  XML_Parser parser = parser_.get();
  HS_CHECK(parser != nullptr, "memory for an XML parser");
  XML_SetUserData(parser, this);
  XML_SetElementHandler(
      parser,
      [](void* self, const XML_Char* element, const XML_Char** pairs) {
        static_cast<KcdReader*>(self)->open(element, KcdAttributes(pairs));
      },
      [](void* self, const XML_Char*) { static_cast<KcdReader*>(self)->close(); });
  XML_SetCharacterDataHandler(parser, [](void* self, const XML_Char* text, int length) {
    auto& reader = *static_cast<KcdReader*>(self);
    if (reader.inside("Notes") && reader.remark_.size() < kKcdLongestRemark) {
      reader.remark_.append(text, static_cast<std::size_t>(length));
    }
  });
  XML_SetEntityDeclHandler(parser, [](void* self, const XML_Char*, int, const XML_Char*, int, const XML_Char*,
                                      const XML_Char*, const XML_Char*, const XML_Char*) {
    auto& reader = *static_cast<KcdReader*>(self);
    reader.entities_ = true;
    XML_StopParser(reader.parser_.get(), XML_FALSE);
  });
}

base::Result<DescriptionFile> KcdReader::refuse(std::string code, std::string message, std::string hint) {
  base::Diagnostic error = base::make_error(std::move(code), std::move(message), std::move(hint));
  const text::Position place = source_.position(std::min(at(), source_.text().size()));
  error.where = source_.span(place.line, place.column, 1, 200);
  std::vector<base::Diagnostic> all = notes_.take();
  all.push_back(std::move(error));
  return all;
}

base::Result<DescriptionFile> KcdReader::run() {
  const std::string& text = source_.text();
  constexpr std::size_t kPiece = 1U << 20;
  for (std::size_t from = 0, last = 0; last == 0; from += kPiece) {
    const std::size_t count = std::min(kPiece, text.size() - from);
    last = from + count == text.size() ? 1 : 0;
    if (XML_Parse(parser_.get(), text.data() + from, static_cast<int>(count), static_cast<int>(last)) ==
        XML_STATUS_OK) {
      continue;
    }
    if (entities_) {
      return refuse("kcd.entities", "this file defines entities, which no message description needs",
                    "remove the <!ENTITY ...> lines and write out what they stand for");
    }
    return refuse("kcd.broken-xml", XML_ErrorString(XML_GetErrorCode(parser_.get())),
                  "the file is not whole or not XML in UTF-8; fetch it again or save it as UTF-8");
  }
  if (file_.descriptions.messages.empty()) {
    return refuse("kcd.nothing-described", "no message is described in this file",
                  "a KCD file has elements like: <Bus name=\"..\"><Message id=\"0x123\" name=\"..\">");
  }
  finish();
  return {std::move(file_), notes_.take()};
}

void KcdReader::warn(std::string code, std::string message, std::string hint) {
  notes_.add(std::move(code), std::move(message), std::move(hint), at());
}

// Elements and where they may stand; all others, and those elsewhere, are passed over with what they hold.
void KcdReader::open(std::string_view element, const KcdAttributes& with) {
  Level level;
  level.element = element;
  if (!levels_.empty()) {
    level.signal = levels_.back().signal;
    level.selector = levels_.back().selector;
    level.selected = levels_.back().selected;
  }
  can::Signal* about = signal_of(level);
  if (element == "Node") {
    nodes_[with.text("id")] = with.text("name");
  } else if (element == "Bus") {
    bus_ = with.text("name");
  } else if (element == "Message" && inside("Bus") && !in_message_) {
    message(with);
  } else if (element == "Signal" || element == "Multiplex") {
    signal(level, with, element == "Multiplex");
  } else if (element == "MuxGroup" && about != nullptr) {
    level.selector = about->name;
    level.selected = whole(with, "count", 0, UINT64_MAX);
  } else if (element == "Value" && about != nullptr) {
    value(*about, with);
  } else if (element == "Label" && about != nullptr) {
    label(*about, with);
  } else if (element == "LabelGroup" && about != nullptr) {
    label_group(*about, with);
  } else if (element == "NodeRef" && inside("Producer")) {
    node_ref(with);
  } else if (element == "Notes") {
    remark_.clear();
  } else if (element != "NetworkDefinition" && element != "LabelSet" && element != "Producer") {
    ++file_.passed_over;
  }
  levels_.push_back(std::move(level));
}

void KcdReader::close() {
  if (inside("Notes")) notes();
  if (in_message_ && levels_.size() == message_depth_) in_message_ = false;
  levels_.pop_back();
}

can::Signal* KcdReader::signal_of(const Level& level) {
  if (!in_message_ || level.signal == kNoSignal) return nullptr;
  return &file_.descriptions.messages.back().signals[level.signal];
}

void KcdReader::message(const KcdAttributes& with) {
  can::Message message;
  message.name = with.text("name");
  message.bus = bus_;
  message.extended = with.text("format") == "extended";
  const std::optional<std::uint64_t> id = kcd_whole(with.text("id"));
  if (!id || *id > can::kLargestExtendedId || (!message.extended && *id > can::kLargestStandardId)) {
    warn("kcd.broken-number",
         "message " + message.name + " has no number of " + (message.extended ? "29" : "11") + " bits",
         "write id=\"0x18FEF100\" format=\"extended\" or id=\"0x123\"; this message is passed over");
    return;
  }
  message.id = static_cast<std::uint32_t>(*id);
  message.by_group = message.extended && can::j1939_source(message.id) == can::kNullAddress;
  if (with.text("length") != "auto") message.length = static_cast<std::uint16_t>(whole(with, "length", 0, 1785));
  const double every = number(with, "interval", 0.0);
  if (every > 0) message.every_ms = every;
  file_.descriptions.messages.push_back(std::move(message));
  in_message_ = true;
  message_depth_ = levels_.size() + 1;
}

void KcdReader::signal(Level& level, const KcdAttributes& with, bool selector) {
  level.signal = kNoSignal;
  if (!in_message_) return;
  can::Message& message = file_.descriptions.messages.back();
  can::Signal signal;
  signal.name = with.text("name");
  signal.selector = selector;
  signal.length_bits = static_cast<std::uint16_t>(whole(with, "length", 1, 0xFFFF));
  const auto offset = static_cast<std::uint16_t>(whole(with, "offset", 0, 0xFFFF));
  const bool big = with.text("endianess") == "big";
  signal.order = big ? can::ByteOrder::kHighestFirst : can::ByteOrder::kLowestFirst;
  signal.start_bit = big ? static_cast<std::uint16_t>(offset / 8 * 8 + (7 - offset % 8)) : offset;
  if (!level.selector.empty()) signal.selected = can::Selected{level.selector, {{level.selected, level.selected}}};
  const std::string why = impossible_signal(signal, message.length);
  if (signal.length_bits == 0) {
    return warn("kcd.impossible-signal", "signal " + signal.name + " cannot be: " + why, "this signal is passed over");
  }
  if (!why.empty()) {
    warn("kcd.impossible-signal", "signal " + signal.name + " of message " + message.name + ": " + why,
         "it has no value in messages of that length");
  }
  level.signal = message.signals.size();
  message.signals.push_back(std::move(signal));
}

void KcdReader::value(can::Signal& signal, const KcdAttributes& with) {
  const std::string type = with.text("type");
  if (type == "signed") signal.number = can::NumberKind::kSigned;
  if (type == "single" || type == "double") signal.number = can::NumberKind::kFloat;
  signal.factor = number(with, "slope", 1.0);
  signal.offset = number(with, "intercept", 0.0);
  if (with.find("min")) signal.least = number(with, "min", 0.0);
  if (with.find("max")) signal.most = number(with, "max", 0.0);
  signal.unit = with.text("unit");
  const std::string why = impossible_signal(signal, 0);
  if (why.empty()) return;
  signal.number = can::NumberKind::kUnsigned;
  warn("kcd.impossible-signal", "signal " + signal.name + " cannot be: " + why, "it is read as a whole number");
}

void KcdReader::label(can::Signal& signal, const KcdAttributes& with) {
  const std::optional<double> value = description_number(with.text("value"));
  if (!value || *value < -9.2e18 || *value > 9.2e18) {
    return warn("kcd.broken-number", "label " + with.text("name") + " has no value", "write value=\"3\"");
  }
  signal.words.emplace_back(static_cast<std::int64_t>(*value), with.text("name"));
}

void KcdReader::label_group(can::Signal& signal, const KcdAttributes& with) {
  const std::uint64_t from = whole(with, "from", 0, INT64_MAX);
  const std::uint64_t to = whole(with, "to", from, INT64_MAX);
  if (to < from || to - from >= kKcdLongestGroup) {
    ++file_.passed_over;
    return;
  }
  for (std::uint64_t k = from; k <= to; ++k) signal.words.emplace_back(static_cast<std::int64_t>(k), with.text("name"));
}

void KcdReader::node_ref(const KcdAttributes& with) {
  if (!in_message_) return;
  const auto found = nodes_.find(with.text("id"));
  if (found == nodes_.end()) {
    return warn("kcd.unknown-node", "no node has the id \"" + with.text("id") + "\"",
                "add <Node id=\"" + with.text("id") + "\" name=\"..\"/> before the bus");
  }
  file_.descriptions.messages.back().senders.push_back(found->second);
}

// Belongs to the signal or else to the message it stands in.
void KcdReader::notes() {
  if (!in_message_ || levels_.size() < 2) return;
  can::Signal* about = signal_of(levels_[levels_.size() - 2]);
  (about != nullptr ? about->remark : file_.descriptions.messages.back().remark) = std::move(remark_);
  remark_.clear();
}

double KcdReader::number(const KcdAttributes& with, std::string_view name, double fallback) {
  const std::optional<std::string_view> text = with.find(name);
  if (!text) return fallback;
  const std::optional<double> value = description_number(*text);
  if (!value) {
    warn("kcd.broken-number", std::string(name) + "=\"" + std::string(*text) + "\" is no number",
         "it is read as if it were not there");
  }
  return value.value_or(fallback);
}

std::uint64_t KcdReader::whole(const KcdAttributes& with, std::string_view name, std::uint64_t fallback,
                               std::uint64_t most) {
  const std::optional<std::string_view> text = with.find(name);
  if (!text) return fallback;
  const std::optional<std::uint64_t> value = kcd_whole(*text);
  if (value && *value <= most) return *value;
  warn("kcd.broken-number",
       std::string(name) + "=\"" + std::string(*text) + "\" is no whole number from 0 to " + std::to_string(most),
       "it is read as if it were not there");
  return fallback;
}

void KcdReader::finish() {
  for (can::Message& message : file_.descriptions.messages) {
    for (can::Signal& signal : message.signals) tidy_words(signal);
  }
}

}  // namespace

base::Result<DescriptionFile> read_kcd_text(std::string_view name, std::string_view text) {
  const text::Source source{std::string(name), description_utf8(text)};
  return KcdReader(source).run();
}

}  // namespace halfsplit::formats
