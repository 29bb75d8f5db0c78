// SPDX-License-Identifier: Apache-2.0
// Recordings made by others, against what tshark's J1939 dissector counts in them
// (tests/data/captures/tshark-counts.csv, made by tests/captures/tshark_table.py with tshark 4.0.17) and against the
// figures of their README files.
#include <gtest/gtest.h>

#include <fstream>
#include <map>
#include <set>
#include <sstream>

#include "base/bytes.h"
#include "can/j1939_id.h"
#include "capture/open_recording.h"
#include "capture/study.h"

namespace halfsplit::capture {
namespace {

const std::string kFolder = "tests/data/captures/";

std::string file_bytes(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  EXPECT_TRUE(file.good()) << path;
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

Findings study_file(const std::string& name) {
  base::OneWorker alone;
  base::Result<std::unique_ptr<FrameSource>> source =
      open_recording(std::make_unique<base::StringBytes>(file_bytes(kFolder + name)), alone, name);
  EXPECT_TRUE(source.ok()) << name;
  if (!source.ok()) return {};
  Study study;
  (*source)->deliver([&](std::span<const can::Frame> frames) {
    study.take(frames);
    return true;
  });
  return study.findings();
}

// Each file once for all tests.
const Findings& findings_of(const std::string& name) {
  static std::map<std::string, Findings> studied;
  const auto found = studied.find(name);
  return found != studied.end() ? found->second : studied.emplace(name, study_file(name)).first->second;
}

struct Row {
  std::string kind;
  std::uint32_t a = 0, b = 0, c = 0;
  std::uint64_t frames = 0;
};

std::map<std::string, std::vector<Row>> table() {
  std::map<std::string, std::vector<Row>> rows;
  std::istringstream text(file_bytes(kFolder + "tshark-counts.csv"));
  for (std::string line; std::getline(text, line);) {
    std::vector<std::string> cells;
    std::istringstream cut(line);
    for (std::string cell; std::getline(cut, cell, ',');) cells.push_back(cell);
    if (cells.size() != 6 || cells[0] == "kind") continue;
    const auto number = [&](std::size_t i) {
      return cells[i].empty() ? 0U : static_cast<std::uint32_t>(std::stoul(cells[i]));
    };
    rows[cells[1]].push_back({cells[0], number(2), number(3), number(4), number(5)});
  }
  return rows;
}

using Counts = std::map<std::pair<std::uint32_t, std::uint32_t>, std::uint64_t>;

TEST(Tshark, FramesByGroupAndSource) {
  const auto rows = table();
  EXPECT_EQ(rows.size(), 13U);
  for (const auto& [name, of_file] : rows) {
    SCOPED_TRACE(name);
    Counts theirs;
    for (const Row& row : of_file)
      if (row.kind == "group") theirs[{row.a, row.b}] = row.frames;
    Counts ours;
    for (const Sender& sender : findings_of(name).senders)
      for (const Message& m : sender.messages) ours[{m.pgn, sender.key.number}] += m.frames;
    EXPECT_EQ(ours, theirs);
  }
}

TEST(Tshark, CodesBySource) {
  for (const auto& [name, of_file] : table()) {
    SCOPED_TRACE(name);
    std::map<std::vector<std::uint32_t>, std::uint64_t> theirs;
    for (const Row& row : of_file)
      if (row.kind == "code") theirs[{row.a, row.b, row.c}] = row.frames;
    std::map<std::vector<std::uint32_t>, std::uint64_t> ours;
    for (const SeenCode& code : findings_of(name).codes)
      if (code.pgn == can::kPgnActiveCodes) ours[{code.source.number, code.code.spn, code.code.fmi}] = code.times;
    EXPECT_EQ(ours, theirs);
  }
}

TEST(Tshark, LongMessagesByTheirControlBytes) {
  constexpr std::uint32_t kRts = 16, kDone = 19, kBam = 32;
  for (const auto& [name, of_file] : table()) {
    SCOPED_TRACE(name);
    std::map<std::uint32_t, std::uint64_t> controls;
    for (const Row& row : of_file)
      if (row.kind == "control") controls[row.c] += row.frames;
    std::uint64_t begun = 0, complete_between_two = 0;
    for (const LongMessages& l : findings_of(name).long_messages) {
      begun += l.begun;
      if (l.to != can::kGlobalAddress) complete_between_two += l.complete;
    }
    EXPECT_EQ(begun, controls[kRts] + controls[kBam]);
    EXPECT_EQ(complete_between_two, controls[kDone]);
  }
}

// Figures of j1939-multi-ecu/README.md and SUMMARY.txt.
TEST(Recorded, SeveralUnits) {
  const Findings& f = findings_of("j1939-multi-ecu/multi-ecu-a.candump.log.zst");
  EXPECT_EQ(f.frames, 33300U);
  EXPECT_NEAR(static_cast<double>(f.duration_us) / 1e6, 218.547, 0.001);
  std::set<std::uint16_t> sources;
  for (const Sender& sender : f.senders) sources.insert(sender.key.number);
  EXPECT_EQ(sources, (std::set<std::uint16_t>{0, 11, 23, 28, 39, 65, 121, 134, 135, 167}));
  ASSERT_EQ(f.long_messages.size(), 4U);
  for (const LongMessages& l : f.long_messages) {
    EXPECT_EQ(l.pgn, 65242U);
    EXPECT_EQ(l.complete, 1U);
    EXPECT_EQ(l.largest_bytes, 115U);
  }
  std::uint64_t claims = 0;
  for (const Sender& sender : f.senders)
    for (const Claim& claim : sender.claims) claims += claim.times;
  EXPECT_EQ(claims, 25U);
  for (const SeenLamps& lamps : f.lamps) {
    // Amber warning in 25 frames without a code.
    EXPECT_EQ(lamps.lit[2], lamps.source.number == 11 ? 25U : 0U);
  }
  std::map<std::uint32_t, std::uint64_t> requests;
  for (const Request& r : f.requests) requests[r.pgn] += r.times;
  EXPECT_EQ(requests, (std::map<std::uint32_t, std::uint64_t>{{65242, 5}, {60928, 2}, {65387, 3}, {65253, 1}}));
}

TEST(Recorded, TheSameInEveryForm) {
  const Findings& log = findings_of("j1939-multi-ecu/multi-ecu-a-30s.candump.log");
  for (const char* name : {"j1939-multi-ecu/multi-ecu-a-30s.pcap.zst", "j1939-multi-ecu/multi-ecu-a-30s.pcapng.zst"}) {
    SCOPED_TRACE(name);
    const Findings& f = findings_of(name);
    EXPECT_EQ(f.frames, log.frames);
    ASSERT_EQ(f.senders.size(), log.senders.size());
    for (std::size_t s = 0; s < f.senders.size(); ++s) {
      EXPECT_EQ(f.senders[s].messages.size(), log.senders[s].messages.size());
      EXPECT_NEAR(f.senders[s].fastest_us, log.senders[s].fastest_us, 2.0);
    }
    EXPECT_EQ(f.events.size(), log.events.size());
    EXPECT_EQ(f.load.at(0).bits_most, log.load.at(0).bits_most);
  }
}

// j1939-engine-start/README.md: no times, no code, the last of ten voltages 13.10.
TEST(Recorded, AnEngineStart) {
  const Findings& f = findings_of("j1939-engine-start/engine-start.candump-console.txt");
  EXPECT_EQ(f.frames, 853U);
  EXPECT_FALSE(f.timed);
  EXPECT_TRUE(f.codes.empty());
  ASSERT_FALSE(f.last_volts.empty());
  EXPECT_NEAR(f.last_volts[0].volts, 13.10, 1e-9);
  ASSERT_EQ(f.senders.size(), 1U);
  ASSERT_EQ(f.senders[0].claims.size(), 1U);
  EXPECT_EQ(f.senders[0].claims[0].name, 0x40649600E8DDF28EU);
}

}  // namespace
}  // namespace halfsplit::capture
