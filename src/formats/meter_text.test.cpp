// SPDX-License-Identifier: Apache-2.0
// The meter file: what it means, what is refused and how it is said, and that nothing is lost in writing.
#include "formats/meter_text.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "base/rng.h"
#include "formats/job_text.h"

namespace halfsplit::formats {
namespace {

using meters::MeterProfile;
using meters::MeterRange;

constexpr const char* kWhole = R"toml(meter = 1
name = "bench meter (invented)"
note = "cal. due in May"

[volts]
input_ohm = "1M"
ranges = [{ to = "200 mV", percent = 0.8, counts = 2, digit = "0.1 mV" }, { to = 200, percent = 1, counts = 3, digit = 0.1 }]

[ohms]
full_scale_v = "300 mV"
live_v = "20 mV"
lead_ohm = 0.2
lead_spread_ohm = 0.1
continuity_ohm = 50
continuity_spread_ohm = 15
ranges = [{ to = 200, percent = 1.2, counts = 4, digit = "0R1" }, { to = "2M", percent = 1.5, counts = 5, digit = "1k" }]

[clamp]
ranges = [{ to = 40, percent = 2.5, counts = 8, digit = "10 mA" }]

[lamp]
watt = "21W"
)toml";

MeterProfile whole() {
  MeterProfile meter;
  meter.name = "bench meter (invented)";
  meter.note = "cal. due in May";
  meter.input_ohm = 1.0e6;
  meter.volts = {{0.2, 0.8, 2.0, 0.0001}, {200.0, 1.0, 3.0, 0.1}};
  meter.full_scale_v = 0.3;
  meter.live_v = 0.02;
  meter.lead_ohm = 0.2;
  meter.lead_spread_ohm = 0.1;
  meter.continuity_ohm = 50.0;
  meter.continuity_spread_ohm = 15.0;
  meter.ohms = {{200.0, 1.2, 4.0, 0.1}, {2.0e6, 1.5, 5.0, 1000.0}};
  meter.clamp = {{40.0, 2.5, 8.0, 0.01}};
  meter.lamp_watt = 21.0;
  return meter;
}

std::vector<std::string> codes(const base::Result<MeterProfile>& read) {
  std::vector<std::string> list;
  for (const base::Diagnostic& d : read.diagnostics())
    list.push_back(d.code + " " + std::to_string(d.where.line) + ":" + std::to_string(d.where.column));
  return list;
}

std::vector<std::string> refused(const std::string& text) {
  const base::Result<MeterProfile> read = read_meter_text("x.meter.toml", text);
  EXPECT_FALSE(read.ok());
  for (const base::Diagnostic& d : read.diagnostics()) EXPECT_FALSE(d.message.empty());
  return codes(read);
}

TEST(MeterText, SaysEveryThingOfAMeter) {
  const base::Result<MeterProfile> read = read_meter_text("x.meter.toml", kWhole);
  ASSERT_TRUE(read.ok()) << base::format_diagnostics(read.diagnostics());
  EXPECT_EQ(*read, whole());
}

TEST(MeterText, LeavesWhatIsNotSaidAsTheCommonHandheldHasIt) {
  const base::Result<MeterProfile> read =
      read_meter_text("x.meter.toml", "meter = 1\nname = \"mine\"\n[volts]\ninput_ohm = 1e6\n");
  ASSERT_TRUE(read.ok());
  MeterProfile expected;
  expected.name = "mine";
  expected.input_ohm = 1.0e6;
  EXPECT_EQ(*read, expected);
}

TEST(MeterText, RefusesEverythingAtOnceEachInItsPlace) {
  const std::string text = R"toml(meter = 1
name = ""
colour = "red"
[volts]
input_ohm = 10
ranges = []
[ohms]
full_scale_v = "5 A"
ranges = [
  { to = 600, percent = 60, counts = 3, digit = 0.1 },
  { to = 600, percent = 1, counts = 3, digit = 700 },
  { to = 500, percent = 1, counts = 3, digit = 0.1 },
  { to = 700, percent = 1, counts = 3 },
  5,
]
[lamp]
watt = nan
)toml";
  const std::vector<std::string> expected = {
      "meter.empty-text 2:8",   "meter.unknown-key 3:1",    "meter.out-of-range 5:13",  "meter.bad-type 6:10",
      "meter.bad-unit 8:17",    "meter.out-of-range 10:25", "meter.out-of-range 11:48", "meter.range-order 12:10",
      "meter.missing-key 13:3", "meter.bad-type 14:3",      "meter.bad-number 17:8"};
  EXPECT_EQ(refused(text), expected);
}

TEST(MeterText, RefusesOtherFilesByName) {
  EXPECT_EQ(refused(""), std::vector<std::string>{"meter.empty 0:0"});
  EXPECT_EQ(refused("loom = 1\nname = \"x\"\n"), std::vector<std::string>{"meter.not-a-meter 1:8"});
  EXPECT_EQ(refused("job = 1\nloom = \"x\"\n"), std::vector<std::string>{"meter.not-a-meter 1:7"});
  EXPECT_EQ(refused("meter = 2\nname = \"x\"\n"), std::vector<std::string>{"meter.version 1:9"});
  EXPECT_EQ(refused("name = \"x\"\n"), std::vector<std::string>{"meter.missing-key 1:1"});
  EXPECT_EQ(refused("meter = 1\nname = \"\xE9\"\n"), std::vector<std::string>{"meter.not-utf8 2:9"});
  EXPECT_EQ(refused(std::string(kMostMeterBytes + 1, ' ')), std::vector<std::string>{"meter.too-large 0:0"});
}

MeterProfile random_meter(base::Rng& rng) {
  MeterProfile meter;
  meter.name = "m" + std::to_string(rng.below(1000)) + (rng.chance(0.5) ? " \"quoted\" \xC3\xA4 \\" : "");
  meter.note = rng.chance(0.5) ? "two\nlines" : "";
  meter.input_ohm = rng.log_uniform(1.0e3, 1.0e12);
  meter.full_scale_v = rng.log_uniform(0.01, 20.0);
  meter.lead_ohm = rng.uniform(0.0, 10.0);
  meter.continuity_ohm = rng.log_uniform(0.1, 1.0e4);
  meter.lamp_watt = rng.log_uniform(0.05, 100.0);
  for (std::vector<MeterRange>* list : {&meter.volts, &meter.ohms, &meter.clamp}) {
    list->clear();
    double top = 1.0;
    const std::size_t count = 1 + rng.below(5);
    for (std::size_t i = 0; i < count; ++i) {
      top *= rng.uniform(1.5, 8.0);
      list->push_back({top, rng.uniform(0.0, 50.0), rng.uniform(0.0, 99.0), top / 6000.0});
    }
  }
  return meter;
}

TEST(MeterText, ReadsBackWhatItWrites) {
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    SCOPED_TRACE(seed);
    base::Rng rng(seed);
    const MeterProfile meter = random_meter(rng);
    const base::Result<MeterProfile> read = read_meter_text("x.meter.toml", write_meter_text(meter));
    ASSERT_TRUE(read.ok()) << base::format_diagnostics(read.diagnostics());
    EXPECT_EQ(*read, meter);
  }
}

// ---- inside a job

TEST(MeterText, AJobKeepsItsMeter) {
  base::Rng rng(7);
  job::Job job;
  job.loom = "x.loom.toml";
  job.meter = random_meter(rng);
  const base::Result<std::string> text = write_job_text(job);
  ASSERT_TRUE(text.ok());
  const base::Result<job::Job> read = read_job_text("x.job.toml", *text);
  ASSERT_TRUE(read.ok()) << base::format_diagnostics(read.diagnostics());
  EXPECT_EQ(read->meter, job.meter);
  job.meter.reset();
  EXPECT_EQ(write_job_text(job)->find("[meter"), std::string::npos);
}

TEST(MeterText, WhatIsWrongInAJobsMeterIsTheJobs) {
  const base::Result<job::Job> read =
      read_job_text("x.job.toml", "job = 1\nloom = \"x\"\n[meter]\nmeter = 1\n[meter.volts]\ninput_ohm = 1\n");
  ASSERT_FALSE(read.ok());
  std::vector<std::string> list;
  for (const base::Diagnostic& d : read.diagnostics()) list.push_back(d.code);
  const std::vector<std::string> expected = {"job.missing-key", "job.unknown-key", "job.out-of-range"};
  EXPECT_EQ(list, expected);
}

}  // namespace
}  // namespace halfsplit::formats
