// SPDX-License-Identifier: Apache-2.0
// What a number means: an identifier, a frame, a code, a failure mode, a socket's pins. Nothing is opened but a
// description file when one is named.
#include "app/decoded.h"
#include "app/ops.h"
#include "formats/description_file.h"
#include "text/blanks.h"

namespace halfsplit::app {

namespace {

constexpr std::size_t kMostDescriptionBytes = std::size_t{64} << 20U;
constexpr std::size_t kMostDecodeBytes = 1000;

Reply unknown_to_decode(const std::string& text) {
  return fail(
      base::make_error("decode.unknown", "\"" + text.substr(0, 80) + "\" is nothing that is read here",
                       "an identifier 18FEF100 or 7E8, a frame 18FECA0B#40FF5B000301FFFF, SPN 639 FMI 9, PGN 65226, "
                       "address 11, NAME and "
                       "its eight bytes, a code U0100, P0562-16 or C1 00 87, status 2F, a socket 24N or 15-pin:4"));
}

}  // namespace

Reply op_decode(Context& context, const Arguments& arguments) {
  std::string joined;
  for (const std::string& word : arguments.all("what")) joined += (joined.empty() ? "" : " ") + word;
  const std::string text(text::without_blanks(joined));
  if (text.size() > kMostDecodeBytes) return unknown_to_decode(text);
  std::optional<formats::DescriptionFile> descriptions;
  Reply reply;
  if (arguments.has("with")) {
    const std::string path = arguments.get("with");
    const base::Result<std::string> bytes = context.files.read(path, kMostDescriptionBytes);
    if (!bytes) return fail(bytes.diagnostics());
    base::Result<formats::DescriptionFile> file = formats::read_description_text(path, *bytes);
    if (!file) return fail(file.diagnostics());
    reply.diagnostics = file.diagnostics();
    descriptions = std::move(file).value();
  }
  std::optional<Decoded> decoded = decode_socket(text);
  if (!decoded) decoded = decode_number(text);
  if (!decoded) decoded = decode_code(text);
  if (!decoded) decoded = decode_frame(text, descriptions ? &descriptions->descriptions : nullptr);
  if (!decoded) return unknown_to_decode(text);
  reply.result = {{"what", text}};
  reply.result.update(decoded->fields);
  reply.text = decoded_text(*decoded);
  return reply;
}

}  // namespace halfsplit::app
