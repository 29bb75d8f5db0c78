// SPDX-License-Identifier: Apache-2.0
#include "http/qr.h"

#include <qrencode.h>

#include <memory>

namespace halfsplit::http {

namespace {

constexpr int kQuiet = 4;

struct FreeCode {
  void operator()(QRcode* code) const { QRcode_free(code); }
};

class Code {
 public:
  explicit Code(const std::string& text) : code_(QRcode_encodeString8bit(text.c_str(), 0, QR_ECLEVEL_M)) {}
  [[nodiscard]] bool ok() const { return code_ != nullptr; }
  [[nodiscard]] int size() const { return code_->width + 2 * kQuiet; }
  [[nodiscard]] bool dark(int x, int y) const {
    x -= kQuiet;
    y -= kQuiet;
    if (x < 0 || y < 0 || x >= code_->width || y >= code_->width) return false;
    return (code_->data[y * code_->width + x] & 1U) != 0;
  }

 private:
  std::unique_ptr<QRcode, FreeCode> code_;
};

}  // namespace

std::string qr_text(const std::string& text, bool inverse) {
  const Code code(text);
  if (!code.ok()) return "";
  std::string out;
  for (int y = 0; y < code.size(); y += 2) {
    for (int x = 0; x < code.size(); ++x) {
      const bool upper = code.dark(x, y) == inverse;
      const bool lower = y + 1 < code.size() ? code.dark(x, y + 1) == inverse : inverse == false;
      out += upper ? (lower ? "\u2588" : "\u2580") : (lower ? "\u2584" : " ");
    }
    out += "\n";
  }
  return out;
}

std::string qr_svg(const std::string& text) {
  const Code code(text);
  if (!code.ok()) return "";
  const std::string size = std::to_string(code.size());
  std::string path;
  for (int y = 0; y < code.size(); ++y)
    for (int x = 0; x < code.size(); ++x)
      if (code.dark(x, y)) path += "M" + std::to_string(x) + " " + std::to_string(y) + "h1v1h-1z";
  return "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 " + size + " " + size +
         "\" role=\"img\" aria-label=\"QR code\" shape-rendering=\"crispEdges\"><rect width=\"" + size +
         "\" height=\"" + size + "\" fill=\"#fff\"/><path fill=\"#000\" d=\"" + path + "\"/></svg>";
}

}  // namespace halfsplit::http
