// SPDX-License-Identifier: Apache-2.0
// The job sheet as PDF: A4, two pages where the job is of ordinary length (a longer one is set smaller first), black on
// white, fonts embedded. The library reads the two font files by itself; nothing else is opened. The bytes depend on
// the sheet and the fonts only: no clock.
#pragma once

#include <string>

#include "base/result.h"
#include "report/sheet.h"

namespace halfsplit::report {

struct PdfFonts {  // Debian package fonts-dejavu-core
  std::string regular = "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf";
  std::string bold = "/usr/share/fonts/truetype/dejavu/DejaVuSans-Bold.ttf";
};

// Errors: sheet.no-font, sheet.pdf.
[[nodiscard]] base::Result<std::string> format_sheet_pdf(const Sheet& sheet, const PdfFonts& fonts = {});

}  // namespace halfsplit::report
