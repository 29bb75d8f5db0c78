// SPDX-License-Identifier: Apache-2.0
#include "report/time_picture.h"

#include <gtest/gtest.h>

#include "report/time_axis.h"
#include "report/xml_check.h"

namespace halfsplit::report {
namespace {

std::string xml_problem(const std::string& text) { return XmlCheck(text).run(); }

std::size_t occurrences(const std::string& text, const std::string& what) {
  std::size_t count = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++count;
  return count;
}

// Sixty seconds, so many senders, of which the first `quiet` are silent together from 20 to 25 s.
capture::Findings some_findings(std::size_t senders, std::size_t quiet) {
  capture::Findings f;
  f.timed = true;
  f.duration_us = 60'000'000;
  f.slot_us = 200'000;
  f.last = {f.duration_us, 1000};
  for (std::size_t s = 0; s < senders; ++s) {
    capture::Sender sender;
    sender.key = {0, true, static_cast<std::uint16_t>(s)};
    sender.frames = 600;
    sender.first = {0, 1};
    sender.last = {f.duration_us, 1000};
    sender.fastest_us = 100'000.0;
    sender.quiet_us = 500'000;
    sender.rate.assign(300, 2);
    f.senders.push_back(sender);
  }
  if (quiet > 0) {
    capture::SilentEvent event;
    capture::SilentPattern pattern;
    for (std::size_t s = 0; s < quiet; ++s) {
      event.silences.push_back({s, {{20'000'000, 300 + s}, {25'000'000, 500 + s}}, false, false});
      pattern.senders.push_back(s);
    }
    pattern.events = {0};
    f.events.push_back(event);
    f.patterns.push_back(pattern);
  }
  capture::ChannelLoad load;
  load.frames = 600 * senders;
  load.bit_rate = 250'000;
  load.slots.assign(300, {12'500, 0, -1.0F, -1.0F});
  f.load.push_back(load);
  return f;
}

TimePicture picture_of(const capture::Findings& findings) {
  TimePicture picture;
  picture.findings = &findings;
  picture.title = "a drive <1> & \"more\"";
  for (std::size_t s = 0; s < findings.senders.size(); ++s)
    picture.sender_names.push_back("SA " + std::to_string(s) + " <&>");
  picture.channel_names = {"can0"};
  return picture;
}

TEST(TimePicture, ALaneForEachSenderAndABandForEachEvent) {
  const capture::Findings f = some_findings(5, 2);
  const std::string svg = draw_time_picture(picture_of(f));
  EXPECT_EQ(xml_problem(svg), "");
  EXPECT_EQ(occurrences(svg, "<g class=\"lane\">"), 5U);
  EXPECT_EQ(occurrences(svg, "<g class=\"event\">"), 1U);
  EXPECT_NE(svg.find("line 301"), std::string::npos) << "the last line ahead of the silence";
  EXPECT_EQ(occurrences(svg, "<g class=\"load\">"), 1U);
  EXPECT_EQ(svg.find("supply"), std::string::npos);
  EXPECT_EQ(svg.find(">error frames<"), std::string::npos);
}

// A sender that was silent has one stroke more than one that was not: its line is broken.
TEST(TimePicture, TheLineIsBrokenWhereItWasSilent) {
  const capture::Findings without = some_findings(1, 0);
  const capture::Findings with = some_findings(1, 1);
  const auto strokes = [](const std::string& svg) {
    const std::size_t lane = svg.find("<g class=\"lane\">");
    return occurrences(svg.substr(lane, svg.find("</g>", lane) - lane), "<path") +
           occurrences(svg.substr(lane, svg.find("</g>", lane) - lane), "<polyline") +
           occurrences(svg.substr(lane, svg.find("</g>", lane) - lane), "<line");
  };
  EXPECT_EQ(strokes(draw_time_picture(picture_of(with))), strokes(draw_time_picture(picture_of(without))) + 1);
}

TEST(TimePicture, WhatThereIsToTell) {
  capture::Findings f = some_findings(2, 0);
  f.errors.frames = 3;
  f.load[0].slots[10].errors = 3;
  f.load[0].slots[20].least_volts = 11.5F;
  f.load[0].slots[20].most_volts = 12.5F;
  f.load[0].slots[30].least_volts = 24.0F;
  f.load[0].slots[30].most_volts = 24.0F;
  capture::SeenCode code;
  code.pgn = can::kPgnActiveCodes;
  code.source = {0, true, 1};
  code.code.spn = 168;
  code.code.fmi = 4;
  code.first = {1'000'000, 20};
  code.last = {9'000'000, 180};
  f.codes.push_back(code);
  const std::string svg = draw_time_picture(picture_of(f));
  EXPECT_EQ(xml_problem(svg), "");
  for (const char* word : {"error frames", "supply as reported", "SPN 168 FMI 4", ">11 V<", ">25 V<"})
    EXPECT_NE(svg.find(word), std::string::npos) << word;
}

TEST(TimePicture, BoundedHoweverMuchThereIs) {
  capture::Findings f = some_findings(400, 300);
  const std::string svg = draw_time_picture(picture_of(f));
  EXPECT_EQ(xml_problem(svg), "");
  EXPECT_EQ(occurrences(svg, "<g class=\"lane\">"), kMostLanes);
  EXPECT_NE(svg.find("and 352 more senders"), std::string::npos);
  EXPECT_LT(svg.size(), 400'000U);
}

TEST(TimePicture, NothingAtAll) {
  const capture::Findings f;
  EXPECT_EQ(xml_problem(draw_time_picture(picture_of(f))), "");
}

TEST(TimePicture, PageOfItsOwn) {
  const capture::Findings f = some_findings(3, 2);
  const std::string page = time_picture_html(picture_of(f));
  EXPECT_EQ(page.find("<script"), std::string::npos);
  EXPECT_NE(page.find("300 to 500"), std::string::npos) << "lines of the silence";
  EXPECT_EQ(occurrences(page, "<svg"), 1U);
}

TEST(TimeAxis, RoundTimes) {
  const auto texts = [](std::int64_t duration_us) {
    std::string all;
    for (const auto& [x, text] : TimeAxis(0, 1000, duration_us).marks()) all += text + "|";
    return all;
  };
  EXPECT_EQ(texts(60'000'000), "0 s|10 s|20 s|30 s|40 s|50 s|1:00|");
  EXPECT_EQ(texts(5'000), "0 s|0.001 s|0.002 s|0.003 s|0.004 s|0.005 s|");
  EXPECT_EQ(texts(7'200'000'000), "0 s|20:00|40:00|1:00:00|1:20:00|1:40:00|2:00:00|");
  for (std::int64_t duration = 1; duration < 10'000'000'000'000; duration = duration * 3 + 1)
    EXPECT_LE(TimeAxis(0, 1000, duration).marks().size(), 12U) << duration;
  EXPECT_EQ(TimeAxis(100, 1000, 10).at(5), 600);
}

}  // namespace
}  // namespace halfsplit::report
