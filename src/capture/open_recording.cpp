// SPDX-License-Identifier: Apache-2.0
#include "capture/open_recording.h"

#include <array>
#include <optional>
#include <string_view>
#include <utility>

#include "capture/candump_line.h"
#include "capture/candump_text.h"
#include "capture/packet_file.h"
#include "capture/peeked_bytes.h"
#include "capture/unpack.h"

namespace halfsplit::capture {

namespace {

constexpr int kMostLayers = 3;                // of a file compressed again and again
constexpr std::size_t kMagic = 4;             // bytes
constexpr std::size_t kLookedAt = 64 * 1024;  // bytes in which a text must show a frame

struct OtherForm {
  std::string_view beginning, hint;
};
// What people bring instead. Sources: the formats' own descriptions, from memory.
constexpr std::array<OtherForm, 7> kOtherForms = {{
    {"\xFD"
     "7zXZ",
     "unpack it first: xz -d"},
    {"BZh", "unpack it first: bzip2 -d"},
    {"PK\x03\x04", "it is a zip archive; unpack it first"},
    {"\xFF\xFE", "it is text in UTF-16; write it anew as UTF-8, for example with iconv -f UTF-16 -t UTF-8"},
    {"\xFE\xFF", "it is text in UTF-16; write it anew as UTF-8, for example with iconv -f UTF-16 -t UTF-8"},
    {"%PDF", "it is a PDF"},
    {"\x7F"
     "ELF",
     "it is a program"},
}};

constexpr const char* kReadable =
    "what can be read: text as candump prints it (candump -l can0), pcap and pcapng files, each also as .gz or .zst";

base::Diagnostic unknown_form(const std::string& name, std::string_view beginning) {
  std::string hint = kReadable;
  for (const OtherForm& form : kOtherForms)
    if (beginning.starts_with(form.beginning)) hint = std::string(form.hint);
  return base::make_error("capture.unknown-form", name + ": this is no recording of a CAN bus in a form known here",
                          std::move(hint));
}

// A frame among the lines looked at. The last of them may be cut off by the look itself.
bool shows_a_frame(std::string_view beginning) {
  std::string text(beginning);
  text += '\n';
  can::Frame frame;
  Line line;
  const char* end = text.data() + text.size();
  for (const char* at = text.data(); at < end;) {
    at = read_candump_line(at, end, frame, line);
    if (line.kind == LineKind::kFrame) return true;
  }
  return false;
}

}  // namespace

base::Result<std::unique_ptr<FrameSource>> open_recording(std::unique_ptr<base::ByteSource> bytes,
                                                          base::Workers& workers, const std::string& name) {
  auto peeked = std::make_unique<PeekedBytes>(std::move(bytes));
  Packing packing = find_packing(peeked->peek(kMagic));
  for (int layer = 0; packing != Packing::kNone && layer < kMostLayers; ++layer) {
    peeked = std::make_unique<PeekedBytes>(unpack(std::move(peeked), packing));
    packing = find_packing(peeked->peek(kMagic));
  }
  const std::string_view beginning = peeked->peek(kLookedAt);
  if (is_other_link(beginning))
    return base::make_error("capture.other-link", name + ": a packet file, but of another network than CAN",
                            "record the CAN interface: tshark -i can0 -w FILE, or candump -l can0");
  if (is_packet_file(beginning)) return read_packet_file(std::move(peeked), workers);
  if (beginning.empty()) {
    if (std::optional<base::Diagnostic> problem = peeked->problem()) return *std::move(problem);
    return base::make_error("capture.empty", name + ": there is nothing in it",
                            "was the tap connected, and the interface up? candump -l can0 records");
  }
  if (shows_a_frame(beginning)) return read_candump_text(std::move(peeked), workers);
  return unknown_form(name, beginning);
}

}  // namespace halfsplit::capture
