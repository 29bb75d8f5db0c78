// SPDX-License-Identifier: Apache-2.0
// QR codes (ISO/IEC 18004, by libqrencode) of an address: for the terminal in half blocks, and as SVG. With the quiet
// zone of four modules. Empty when the text does not fit.
#pragma once

#include <string>

namespace halfsplit::http {

// Light modules are drawn, so that the code is dark on light on a dark terminal; `inverse` for a light terminal.
[[nodiscard]] std::string qr_text(const std::string& text, bool inverse = false);
[[nodiscard]] std::string qr_svg(const std::string& text);

}  // namespace halfsplit::http
