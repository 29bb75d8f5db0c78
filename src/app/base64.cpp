// SPDX-License-Identifier: Apache-2.0
#include "app/base64.h"

#include <gpg-error.h>

#include <algorithm>
#include <memory>

namespace halfsplit::app {

std::optional<std::string> from_base64(std::string text) {
  const auto usable = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '+' || c == '/' ||
           c == '=';
  };
  std::erase_if(text, [](char c) { return c == '\n' || c == '\r' || c == ' '; });
  if (text.size() % 4 != 0 || !std::all_of(text.begin(), text.end(), usable)) return std::nullopt;
  gpgrt_b64state_t state = gpgrt_b64dec_start(nullptr);
  if (state == nullptr) return std::nullopt;
  std::size_t length = 0;
  gpg_error_t error = text.empty() ? 0 : gpgrt_b64dec_proc(state, text.data(), text.size(), &length);
  const gpg_error_t end = gpgrt_b64dec_finish(state);
  if (gpg_err_code(error) == GPG_ERR_EOF) error = 0;
  if (error != 0 || end != 0) return std::nullopt;
  text.resize(length);
  return text;
}

std::optional<std::string> to_base64(std::string_view bytes) {
  if (bytes.empty()) return std::string();
  gpgrt_stream_t stream = gpgrt_fopenmem(0, "w+b");
  if (stream == nullptr) return std::nullopt;
  gpgrt_b64state_t state = gpgrt_b64enc_start(stream, "");
  bool good = state != nullptr;
  good = good && gpgrt_b64enc_write(state, bytes.data(), bytes.size()) == 0;
  if (state != nullptr) good = gpgrt_b64enc_finish(state) == 0 && good;
  void* text = nullptr;
  std::size_t length = 0;
  if (gpgrt_fclose_snatch(stream, &text, &length) != 0 || text == nullptr) return std::nullopt;
  std::string out(static_cast<const char*>(text), length);
  gpgrt_free(text);
  if (!good) return std::nullopt;
  std::erase(out, '\n');
  return out;
}

}  // namespace halfsplit::app
