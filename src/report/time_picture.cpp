// SPDX-License-Identifier: Apache-2.0
#include "report/time_picture.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "base/number.h"
#include "can/trouble_codes.h"
#include "report/svg.h"
#include "report/time_axis.h"

namespace halfsplit::report {

namespace {

constexpr int kWholeWidth = 1160, kLaneLeft = 270, kLaneWidth = 850, kMargin = 24;
constexpr int kLaneHeight = 17, kLanesTop = 96, kCurveHeight = 64, kBetween = 26, kCodeHeight = 15;
constexpr double kLabelText = 10.0;
constexpr int kChunks = 96;      // pieces of a lane that may differ in weight
constexpr int kWeightSteps = 4;  // from thin to heavy
constexpr double kLeastWeight = 1.0, kMostWeight = 5.0;
constexpr int kLeastGap = 3;  // pixels: shorter silences are still seen
constexpr int kErrorHeight = 18;

// From and to, in pixels.
using Stretch = std::pair<int, int>;

class TimePainter {
 public:
  explicit TimePainter(const TimePicture& picture)
      : picture_(picture), f_(*picture.findings), axis_(kLaneLeft, kLaneWidth, f_.duration_us), out_(picture.dark) {
    choose_lanes();
  }

  std::string draw() {
    out_.text({kMargin, 30, 16.0, 's', true, false}, fit_text(picture_.title, 16.0, kWholeWidth - 2 * kMargin));
    out_.text({kMargin, 50, 11.0, 's', false, true}, fit_text(picture_.note, 11.0, kWholeWidth - 2 * kMargin));
    const int lanes_bottom = kLanesTop + static_cast<int>(lanes_.size()) * kLaneHeight;
    bands();
    for (std::size_t l = 0; l < lanes_.size(); ++l) lane(l);
    int y = lanes_bottom + 8;
    if (lanes_.size() < f_.senders.size()) {
      out_.text({kMargin, y + 6, kLabelText, 's', false, true},
                "and " + std::to_string(f_.senders.size() - lanes_.size()) + " more senders");
      y += 16;
    }
    y = codes(y);
    y = errors(y);
    y = volts(y);
    y = load(y);
    y = time_marks(y);
    return out_.document(kWholeWidth, legend(y), picture_.title, about());
  }

 private:
  void choose_lanes();
  void bands();
  void lane(std::size_t l);
  [[nodiscard]] std::vector<Stretch> silent(std::size_t sender) const;
  [[nodiscard]] std::vector<int> weights(const capture::Sender& sender) const;
  int codes(int y);
  int errors(int y);
  int volts(int y);
  int load(int y);
  int time_marks(int y);
  int legend(int y);
  void label(int y, const std::string& text, bool quiet = false) {
    out_.text({kLaneLeft - 12, y, kLabelText, 'e', false, quiet}, fit_text(text, kLabelText, kLaneLeft - 12 - kMargin));
  }
  [[nodiscard]] int lane_y(std::size_t l) const {
    return kLanesTop + static_cast<int>(l) * kLaneHeight + kLaneHeight / 2;
  }
  [[nodiscard]] int slot_x(std::size_t slot) const { return axis_.at(static_cast<std::int64_t>(slot) * f_.slot_us); }
  [[nodiscard]] std::string about() const;

  const TimePicture& picture_;
  const capture::Findings& f_;
  TimeAxis axis_;
  SvgWriter out_;
  std::vector<std::size_t> lanes_;  // senders, by key
};

// All of them, or those that were silent once and the busiest.
void TimePainter::choose_lanes() {
  std::set<std::size_t> silent_once;
  for (const capture::SilentEvent& event : f_.events)
    for (const capture::Silence& silence : event.silences) silent_once.insert(silence.sender);
  for (std::size_t s = 0; s < f_.senders.size(); ++s) lanes_.push_back(s);
  std::stable_sort(lanes_.begin(), lanes_.end(), [&](std::size_t a, std::size_t b) {
    const bool x = silent_once.contains(a);
    return x != silent_once.contains(b) ? x : f_.senders[a].frames > f_.senders[b].frames;
  });
  if (lanes_.size() > kMostLanes) lanes_.resize(kMostLanes);
  std::sort(lanes_.begin(), lanes_.end());
}

// A band joins the lanes of one event; its number is that of the group, the same each time.
void TimePainter::bands() {
  std::size_t drawn = 0;
  std::vector<Stretch> numbers;
  for (std::size_t p = 0; p < f_.patterns.size(); ++p) {
    for (const std::size_t e : f_.patterns[p].events) {
      if (drawn++ == kMostBands) return;
      const capture::SilentEvent& event = f_.events[e];
      std::size_t top = lanes_.size();
      std::size_t bottom = 0;
      for (const capture::Silence& silence : event.silences) {
        const auto found = std::find(lanes_.begin(), lanes_.end(), silence.sender);
        if (found == lanes_.end()) continue;
        const auto l = static_cast<std::size_t>(found - lanes_.begin());
        top = std::min(top, l);
        bottom = std::max(bottom, l);
      }
      if (top > bottom) continue;
      const int x = axis_.at(event.begin().at_us);
      out_.open_group("event");
      out_.hint("silence " + std::to_string(p + 1) + " at " +
                base::format_number(static_cast<double>(event.begin().at_us) / 1.0e6) + " s, line " +
                std::to_string(event.begin().line));
      out_.band(x, lane_y(top) - kLaneHeight / 2, kLeastGap, (static_cast<int>(bottom - top) + 1) * kLaneHeight, true);
      out_.line(x, kLanesTop - 8, x, lane_y(bottom) + kLaneHeight / 2, 0.6);
      const bool room = std::none_of(numbers.begin(), numbers.end(),
                                     [x](const Stretch& n) { return x - 8 < n.second && x + 8 > n.first; });
      if (room) {
        out_.text({x, kLanesTop - 12, kLabelText, 'm', true, false}, std::to_string(p + 1));
        numbers.emplace_back(x - 8, x + 8);
      }
      out_.close_group();
    }
  }
}

// Its silences across the lane, by time.
std::vector<Stretch> TimePainter::silent(std::size_t sender) const {
  std::vector<Stretch> list;
  for (const capture::SilentEvent& event : f_.events)
    for (const capture::Silence& silence : event.silences)
      if (silence.sender == sender) {
        const int from = axis_.at(silence.gap.before.at_us);
        list.emplace_back(from, std::max(axis_.at(silence.gap.after.at_us), from + kLeastGap));
      }
  std::sort(list.begin(), list.end());
  return list;
}

// Frames of each piece of the lane, a slot's spread evenly over its time.
std::vector<double> frames_by_piece(const std::vector<std::uint32_t>& rate, double slots) {
  std::vector<double> frames(kChunks, 0.0);
  const double pieces_a_slot = kChunks / slots;
  for (std::size_t s = 0; s < rate.size(); ++s) {
    const double from = static_cast<double>(s) * pieces_a_slot;
    const double to = std::min(from + pieces_a_slot, static_cast<double>(kChunks));
    for (auto c = static_cast<std::size_t>(from); static_cast<double>(c) < to && c < frames.size(); ++c) {
      const double overlap = std::min(to, static_cast<double>(c + 1)) - std::max(from, static_cast<double>(c));
      frames[c] += rate[s] * std::max(0.0, overlap) / pieces_a_slot;
    }
  }
  return frames;
}

// Of each piece of the lane, from 0 to kWeightSteps: its frames and half of its neighbours' against the most of them.
std::vector<int> TimePainter::weights(const capture::Sender& sender) const {
  const double slots =
      std::max(1.0, static_cast<double>(f_.duration_us) / static_cast<double>(std::max<std::int64_t>(1, f_.slot_us)));
  const std::vector<double> frames = frames_by_piece(sender.rate, slots);
  std::vector<double> smooth(frames.size());
  for (std::size_t c = 0; c < frames.size(); ++c) {
    const double before = c > 0 ? frames[c - 1] : frames[c];
    const double after = c + 1 < frames.size() ? frames[c + 1] : frames[c];
    smooth[c] = frames[c] <= 0.0 ? 0.0 : frames[c] / 2.0 + (before + after) / 4.0;
  }
  const double most = std::max(1.0e-9, *std::max_element(smooth.begin(), smooth.end()));
  std::vector<int> steps;
  steps.reserve(smooth.size());
  for (const double count : smooth)
    steps.push_back(count <= 0.0 ? 0 : 1 + static_cast<int>(std::floor(count / most * (kWeightSteps - 1) + 0.5)));
  return steps;
}

void TimePainter::lane(std::size_t l) {
  const capture::Sender& sender = f_.senders[lanes_[l]];
  const int y = lane_y(l);
  out_.open_group("lane");
  out_.hint(picture_.sender_names[lanes_[l]] + ": " + std::to_string(sender.frames) + " frames, lines " +
            std::to_string(sender.first.line) + " to " + std::to_string(sender.last.line));
  label(y + 4, picture_.sender_names[lanes_[l]]);
  const std::vector<Stretch> silences = silent(lanes_[l]);
  const std::vector<int> steps = weights(sender);
  const int first = axis_.at(sender.first.at_us);
  const int last = std::max(axis_.at(sender.last.at_us), first + 1);
  const auto weight_at = [&](int x) {
    const int step = steps[static_cast<std::size_t>(
        std::clamp((x - kLaneLeft) * kChunks / std::max(1, kLaneWidth), 0, kChunks - 1))];
    // Between two frames of a slow sender nothing is silent.
    return sender.quiet_us > 0 ? std::max(step, 1) : step;
  };
  const auto is_silent = [&](int x) {
    return std::any_of(silences.begin(), silences.end(),
                       [x](const Stretch& s) { return x >= s.first && x < s.second; });
  };
  int from = first;
  int step = 0;
  for (int x = first; x <= last; ++x) {
    const int now = x == last || is_silent(x) ? 0 : weight_at(x);
    if (now == step) continue;
    if (step > 0)
      out_.line(from, y, x, y, kLeastWeight + (kMostWeight - kLeastWeight) * (step - 1) / (kWeightSteps - 1));
    from = x;
    step = now;
  }
  out_.close_group();
}

int TimePainter::codes(int y) {
  std::size_t rows = 0;
  for (const capture::SeenCode& code : f_.codes) {
    if (code.pgn != can::kPgnActiveCodes) continue;
    if (rows++ == kMostCodeRows) {
      label(y + 8, "more codes: see the list", true);
      return y + kCodeHeight;
    }
    const int middle = y + kCodeHeight / 2;
    const int from = axis_.at(code.first.at_us);
    const int to = axis_.at(code.last.at_us);
    out_.open_group("code");
    out_.hint("told " + std::to_string(code.times) + " times, lines " + std::to_string(code.first.line) + " to " +
              std::to_string(code.last.line));
    label(middle + 4, "SA " + std::to_string(code.source.number) + " " + can::trouble_code_text(code.code), true);
    out_.path({{from, middle}, {to, middle}}, SvgWriter::kThin, true);
    out_.dot(from, middle, 3);
    if (code.went >= code.came && !code.at_the_end)
      out_.line(to, middle - 4, to, middle + 4);
    else
      out_.dot(to, middle, 3);
    out_.close_group();
    y += kCodeHeight;
  }
  return rows > 0 ? y + 6 : y;
}

int TimePainter::errors(int y) {
  if (f_.errors.frames == 0) return y;
  label(y + kErrorHeight, "error frames");
  for (const capture::ChannelLoad& load : f_.load)
    for (std::size_t s = 0; s < load.slots.size(); ++s) {
      if (load.slots[s].errors == 0) continue;
      const int high = std::min(kErrorHeight, 4 + static_cast<int>(4.0 * std::log10(load.slots[s].errors)));
      out_.line(slot_x(s), y + kErrorHeight - high + 4, slot_x(s), y + kErrorHeight + 4);
    }
  return y + kErrorHeight + 12;
}

int TimePainter::volts(int y) {
  double least = 1.0e9;
  double most = 0.0;
  for (const capture::ChannelLoad& load : f_.load)
    for (const capture::LoadSlot& slot : load.slots)
      if (slot.least_volts >= 0.0F) {
        least = std::min(least, double{slot.least_volts});
        most = std::max(most, double{slot.most_volts});
      }
  if (most <= 0.0) return y;
  const double bottom = std::floor(least - 0.5);
  const double top = std::max(std::ceil(most + 0.5), bottom + 1.0);
  const auto up = [&](double v) {
    return y + kBetween + kCurveHeight - static_cast<int>(std::lround((v - bottom) / (top - bottom) * kCurveHeight));
  };
  label(y + kBetween + kCurveHeight / 2 + 4, "supply as reported, lowest");
  for (const double v : {bottom, top}) {
    out_.path({{axis_.left(), up(v)}, {axis_.right(), up(v)}}, 0.5, true);
    out_.text({axis_.right() + 4, up(v) + 4, 9.0, 's', false, true}, base::format_number(v) + " V");
  }
  for (const capture::ChannelLoad& load : f_.load) {
    SvgPath path;
    for (std::size_t s = 0; s < load.slots.size(); ++s)
      if (load.slots[s].least_volts >= 0.0F) path.emplace_back(slot_x(s), up(load.slots[s].least_volts));
    if (path.size() == 1) out_.dot(path[0].first, path[0].second, 2);
    if (path.size() > 1) out_.path(path, 1.4);
  }
  return y + kBetween + kCurveHeight;
}

int TimePainter::load(int y) {
  const int base_y = y + kBetween + kCurveHeight;
  const auto up = [&](double share) {
    return base_y - static_cast<int>(std::lround(std::clamp(share, 0.0, 1.0) * kCurveHeight));
  };
  label(base_y - kCurveHeight / 2 + 4, "bus load");
  for (const double share : {0.0, 0.5, 1.0}) {
    out_.path({{axis_.left(), up(share)}, {axis_.right(), up(share)}}, 0.5, share > 0.0);
    out_.text({axis_.right() + 4, up(share) + 4, 9.0, 's', false, true}, base::format_number(100.0 * share) + " %");
  }
  const double slot_s = static_cast<double>(std::max<std::int64_t>(1, f_.slot_us)) / 1.0e6;
  for (std::size_t c = 0; c < f_.load.size(); ++c) {
    SvgPath path;
    for (std::size_t s = 0; s < f_.load[c].slots.size(); ++s)
      path.emplace_back(slot_x(s), up(static_cast<double>(f_.load[c].slots[s].bits) / slot_s / f_.load[c].bit_rate));
    if (f_.load[c].frames == 0 || path.size() < 2) continue;
    out_.open_group("load");
    out_.hint(c < picture_.channel_names.size() ? picture_.channel_names[c] : "");
    out_.path(path, 1.2, c % 2 == 1);
    out_.close_group();
  }
  return base_y;
}

int TimePainter::time_marks(int y) {
  for (const auto& [x, text] : axis_.marks()) {
    out_.line(x, y, x, y + 5);
    out_.text({x, y + 18, kLabelText, 'm', false, false}, text);
  }
  out_.text({axis_.left() + kLaneWidth / 2, y + 34, kLabelText, 'm', false, true}, "from the first frame");
  return y + 40;
}

int TimePainter::legend(int y) {
  const std::string text =
      "A line: heard, the heavier the more frames against its own busiest stretch; a gap in it: silent. A number: "
      "silences that began at one moment; the same number is the same group of senders. Codes: first and last time "
      "told. Load: as if every frame were stuffed as much as can be.";
  for (const std::string& line : wrap_text(text, kLabelText, kWholeWidth - 2 * kMargin)) {
    y += 15;
    out_.text({kMargin, y, kLabelText, 's', false, true}, line);
  }
  return y + 16;
}

std::string TimePainter::about() const {
  return std::to_string(f_.senders.size()) + " senders over " +
         base::format_significant(static_cast<double>(f_.duration_us) / 1.0e6, 4) + " s, " +
         std::to_string(f_.events.size()) + " silences in " + std::to_string(f_.patterns.size()) + " groups, " +
         std::to_string(f_.errors.frames) + " error frames.";
}

constexpr const char* kPictureStyle = R"css(
@page { size: A4 landscape; margin: 12mm; }
html { background: #fff; color: #000; }
body { font: 10pt/1.4 Arial, Helvetica, "Liberation Sans", "DejaVu Sans", sans-serif; margin: 6mm auto; max-width: 310mm; }
svg { max-width: 100%; height: auto; }
table { border-collapse: collapse; }
th, td { text-align: left; vertical-align: top; padding: 0.2em 1em 0.2em 0; border-bottom: 0.3pt solid #999; }
)css";

}  // namespace

std::string draw_time_picture(const TimePicture& picture) { return TimePainter(picture).draw(); }

std::string time_picture_html(const TimePicture& picture) {
  const capture::Findings& f = *picture.findings;
  std::string out =
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\"/>\n"
      "<title>" +
      escape_xml(picture.title) + "</title>\n<style>" + kPictureStyle + "</style>\n</head>\n<body>\n" +
      draw_time_picture(picture);
  if (!f.patterns.empty()) {
    out += "<table>\n<tr><th>silence</th><th>who</th><th>when, from the first frame</th><th>lines</th></tr>\n";
    std::size_t rows = 0;
    for (std::size_t p = 0; p < f.patterns.size(); ++p)
      for (const std::size_t e : f.patterns[p].events) {
        if (rows++ == kMostBands) break;
        const capture::SilentEvent& event = f.events[e];
        std::string who;
        for (const capture::Silence& s : event.silences)
          who += (who.empty() ? "" : ", ") + picture.sender_names[s.sender];
        const capture::Gap& gap = event.longest();
        out += "<tr><td>" + std::to_string(p + 1) + "</td><td>" + escape_xml(who) + "</td><td>" +
               base::format_significant(static_cast<double>(event.begin().at_us) / 1.0e6, 6) + " s for " +
               base::format_significant(static_cast<double>(gap.length_us()) / 1.0e6, 3) + " s</td><td>" +
               std::to_string(gap.before.line) + " to " + std::to_string(gap.after.line) + "</td></tr>\n";
      }
    out += "</table>\n";
  }
  return out + "</body>\n</html>\n";
}

}  // namespace halfsplit::report
