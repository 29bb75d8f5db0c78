// SPDX-License-Identifier: Apache-2.0
#include "report/reliability_svg.h"

#include <algorithm>
#include <cmath>

#include "report/svg.h"

namespace halfsplit::report {

namespace {

constexpr int kSide = 440;  // of the square
constexpr int kSquareLeft = 84, kSquareTop = 76;
constexpr int kPictureWidth = kSquareLeft + kSide + 36;
constexpr int kBars = 96;                          // height of the counts
constexpr int kCountRoom = 34;                     // above the highest, for its count
constexpr int kBarsTop = kSquareTop + kSide + 64;  // below the square and its ticks
constexpr int kBarsBottom = kBarsTop + kBars;
constexpr int kPictureHeight = kBarsBottom + 52;
constexpr int kTicks = 5;
constexpr double kSmallText = 10.0;
constexpr double kWeight = 2.0;  // of a point's line

int across(double share) { return kSquareLeft + static_cast<int>(std::lround(share * kSide)); }
int up(double share) { return kSquareTop + kSide - static_cast<int>(std::lround(share * kSide)); }

std::string percent_of(int tick) { return std::to_string(tick * 100 / kTicks) + " %"; }

void draw_axes(SvgWriter& out) {
  for (int i = 0; i <= kTicks; ++i) {
    const double at = static_cast<double>(i) / kTicks;
    out.line(across(at), up(0.0), across(at), up(0.0) + 5);
    out.line(kSquareLeft - 5, up(at), kSquareLeft, up(at));
    out.text({across(at), up(0.0) + 19, kSmallText, 'm', false, true}, percent_of(i));
    out.text({kSquareLeft - 9, up(at) + 4, kSmallText, 'e', false, true}, percent_of(i));
  }
  out.path({{kSquareLeft, kSquareTop}, {kSquareLeft, kSquareTop + kSide}, {kSquareLeft + kSide, kSquareTop + kSide}},
           SvgWriter::kThin);
  out.path({{across(0.0), up(0.0)}, {across(1.0), up(1.0)}}, SvgWriter::kThin, true);
  out.text({kSquareLeft + kSide / 2, up(0.0) + 38, 11.0, 'm', false, false}, "said");
  out.open_turned(28, kSquareTop + kSide / 2, -90);
  out.text({0, 0, 11.0, 'm', false, false}, "was so");
  out.close_group();
}

// Two standard errors as if claims were independent, about what was said.
double chance_spread(const infer::Reliability::Bin& bin) {
  const double said = bin.mean_said();
  return 2.0 * std::sqrt(said * (1.0 - said) / static_cast<double>(bin.claims));
}

std::string hint_of(const infer::Reliability::Bin& bin) {
  const auto percent = [](double share) { return svg_number(100.0 * share) + " %"; };
  return "said " + percent(bin.mean_said()) + ", was so " + percent(bin.share_right()) + ", " +
         std::to_string(bin.claims) + " claims";
}

void draw_points(SvgWriter& out, const infer::Reliability& claims) {
  SvgPath path;
  for (const infer::Reliability::Bin& bin : claims.bins())
    if (bin.claims > 0) path.emplace_back(across(bin.mean_said()), up(bin.share_right()));
  if (path.size() > 1) out.path(path, kWeight);
  for (const infer::Reliability::Bin& bin : claims.bins()) {
    if (bin.claims == 0) continue;
    const double share = bin.share_right();
    const double spread = chance_spread(bin);
    const int x = across(bin.mean_said());
    out.open_group();
    out.hint(hint_of(bin));
    out.line(x, up(std::max(0.0, share - spread)), x, up(std::min(1.0, share + spread)));
    out.dot(x, up(share), 4);
    out.close_group();
  }
}

void draw_counts(SvgWriter& out, const infer::Reliability& claims) {
  std::size_t most = 1;
  for (const infer::Reliability::Bin& bin : claims.bins()) most = std::max(most, bin.claims);
  const double scale = (kBars - kCountRoom) / std::log10(static_cast<double>(most) + 1.0);
  const double step = 1.0 / static_cast<double>(infer::Reliability::kBins);
  for (std::size_t b = 0; b < infer::Reliability::kBins; ++b) {
    const std::size_t count = claims.bins()[b].claims;
    if (count == 0) continue;
    const int left = across(step * static_cast<double>(b)) + 3;
    const int right = across(step * static_cast<double>(b + 1)) - 3;
    const int height = static_cast<int>(std::lround(scale * std::log10(static_cast<double>(count) + 1.0)));
    out.box(left, kBarsBottom - height, right - left, height);
    out.open_turned((left + right) / 2 + 3, kBarsBottom - height - 4, -90);
    out.text({0, 0, 9.0, 's', false, false}, std::to_string(count));
    out.close_group();
  }
  out.line(kSquareLeft, kBarsBottom, kSquareLeft + kSide, kBarsBottom);
  out.text({kSquareLeft + kSide / 2, kBarsBottom + 18, 11.0, 'm', false, false},
           "how often each was said (heights: logarithm)");
  out.text({kSquareLeft + kSide / 2, kBarsBottom + 36, kSmallText, 'm', false, true},
           "upright lines: two standard errors of chance");
}

}  // namespace

std::string draw_reliability(const ReliabilityDrawing& drawing) {
  SvgWriter out(drawing.dark);
  out.text({24, 28, 16.0, 's', true, false}, fit_text(drawing.title, 16.0, kPictureWidth - 48));
  out.text({24, 48, 11.0, 's', false, true}, fit_text(drawing.note, 11.0, kPictureWidth - 48));
  draw_axes(out);
  draw_points(out, drawing.claims);
  draw_counts(out, drawing.claims);
  return out.document(kPictureWidth, kPictureHeight, drawing.title, drawing.about);
}

}  // namespace halfsplit::report
