// SPDX-License-Identifier: Apache-2.0
// What recorded frames say against the figures that their origins and our own counts give
// (tests/data/captures/README.md).
#include <gtest/gtest.h>

#include <algorithm>
#include <map>

#include "can/fast_packet.h"
#include "can/j1939_id.h"
#include "can/j1939_name.h"
#include "can/j1939_requests.h"
#include "can/parameters.h"
#include "can/transport.h"
#include "can/trouble_codes.h"
#include "tests/frames/recorded_frames.h"

namespace halfsplit::frames {
namespace {

using can::Frame;

std::vector<double> values_of(const std::vector<Frame>& frames, std::uint32_t spn) {
  const can::Parameter& parameter = *can::find_parameter(spn);
  std::vector<double> values;
  for (const Frame& frame : frames) {
    if (can::j1939_pgn(frame.id) != parameter.pgn) continue;
    const can::ParameterReading reading = can::read_parameter(parameter, frame.bytes());
    if (reading.reading == can::Reading::kValue) values.push_back(reading.value);
  }
  return values;
}

TEST(EngineStart, SpeedAndVoltageAsCounted) {
  const std::vector<Frame> frames = read_recorded("j1939-engine-start/engine-start.candump-console.txt");
  ASSERT_EQ(frames.size(), 853U);
  const std::vector<double> speed = values_of(frames, can::kSpnEngineSpeed);
  ASSERT_EQ(speed.size(), 495U);
  EXPECT_EQ(speed.front(), 113.25);
  EXPECT_EQ(*std::max_element(speed.begin(), speed.end()), 2183.625);
  EXPECT_EQ(speed.back(), 1316.375);
  const std::vector<double> volts = values_of(frames, can::kSpnBatteryVoltage);
  const std::vector<double> counted = {10.70, 12.05, 12.80, 12.95, 12.95, 13.00, 12.95, 13.05, 13.05, 13.10};
  ASSERT_EQ(volts.size(), counted.size());
  for (std::size_t k = 0; k < volts.size(); ++k) EXPECT_NEAR(volts[k], counted[k], 1e-9);
}

TEST(EngineStart, ItClaimsItsAddressAndHasNoCode) {
  std::map<std::uint32_t, int> groups;
  for (const Frame& frame : read_recorded("j1939-engine-start/engine-start.candump-console.txt")) {
    ++groups[can::j1939_pgn(frame.id)];
    if (can::j1939_pgn(frame.id) == can::kPgnAddressClaimed) {
      const std::uint64_t name = can::read_j1939_name(frame.bytes()).value();
      const auto bytes = can::write_j1939_name(name);
      EXPECT_EQ(std::vector<std::uint8_t>(bytes.begin(), bytes.end()), bytes_of("8E F2 DD E8 00 96 64 40"));
      const can::J1939Name parts = can::split_j1939_name(name);  // worked out from the bytes by hand
      EXPECT_EQ(parts.identity_number, 0x1DF28EU);
      EXPECT_EQ(parts.manufacturer_code, 0xE8 << 3 | 0xDD >> 5);
      EXPECT_EQ(parts.function, 0x96);
      EXPECT_EQ(parts.vehicle_system, 0x64 >> 1);
      EXPECT_EQ(parts.industry_group, 4);
      EXPECT_FALSE(parts.arbitrary_address_capable);
    }
    if (can::j1939_pgn(frame.id) != can::kPgnActiveCodes) continue;
    const auto report = can::read_code_report(frame.bytes());
    EXPECT_TRUE(report->codes.empty());
    EXPECT_EQ(report->lamps, can::Lamps{});
  }
  const std::map<std::uint32_t, int> counted = {{60928, 1},  {61443, 198}, {61444, 495}, {65226, 10}, {65262, 10},
                                                {65266, 99}, {65269, 10},  {65270, 20},  {65271, 10}};
  EXPECT_EQ(groups, counted);
}

TEST(MicroCaptures, AsTheirOriginsSay) {
  const auto codes = read_recorded("j1939-micro/dm1-none-then-one.candump.log");
  EXPECT_TRUE(can::read_code_report(codes.at(0).bytes())->codes.empty());
  const auto one = can::read_code_report(codes.at(1).bytes());
  EXPECT_EQ(one->lamps.malfunction, can::LampState::kOn);
  ASSERT_EQ(one->codes.size(), 1U);
  EXPECT_EQ(one->codes[0].spn, 91U);
  EXPECT_EQ(one->codes[0].fmi, 3);
  EXPECT_EQ(one->codes[0].occurrences, 1);

  const Frame request = read_recorded("j1939-micro/request-global-65260.candump.log").at(0);
  EXPECT_EQ(can::j1939_pgn(request.id), can::kPgnRequest);
  EXPECT_EQ(can::read_request(request.bytes()), 65260U);
  EXPECT_EQ(can::split_j1939_id(request.id).destination(), 0xFF);
  EXPECT_EQ(can::j1939_source(request.id), 0x0B);

  const auto three = read_recorded("j1939-micro/three-frames.candump.log");
  EXPECT_EQ(can::j1939_pgn(three.at(0).id), 64931U);
  EXPECT_EQ(can::split_j1939_id(three[0].id).priority, 4);
  EXPECT_EQ(values_of(three, can::kSpnEngineSpeed), std::vector<double>{649.0});
  EXPECT_EQ(values_of(three, 245), std::vector<double>{854934.0});

  std::vector<int> priorities;
  for (const Frame& frame : read_recorded("j1939-micro/numbered-lines-priorities.txt")) {
    EXPECT_EQ(can::j1939_pgn(frame.id), 61444U);
    priorities.push_back(can::split_j1939_id(frame.id).priority);
  }
  EXPECT_EQ(priorities, (std::vector<int>{3, 6, 7}));
  const can::J1939Id page = can::split_j1939_id(read_recorded("j1939-micro/numbered-line-edp.txt").at(0).id);
  EXPECT_EQ(page.pgn(), 126720U);
  EXPECT_TRUE(page.data_page);
  EXPECT_EQ(page.destination(), 0x00);
  const can::J1939Id unknown = can::split_j1939_id(read_recorded("j1939-micro/numbered-line-unknown-pgn.txt").at(0).id);
  EXPECT_EQ(unknown.pgn(), 123392U);
  EXPECT_EQ(unknown.destination(), 0x40);
}

std::vector<can::TransportMessage> transfers(const std::vector<Frame>& frames, can::TransportCounts* counts = nullptr) {
  can::Transport transport;
  std::vector<can::TransportMessage> ended;
  for (const Frame& frame : frames) transport.take(frame, ended);
  transport.finish(ended);
  if (counts != nullptr) *counts = transport.counts();
  return ended;
}

TEST(MicroCaptures, ARequestToSendToEveryoneIsNoMessage) {
  can::TransportCounts counts;
  const auto ended = transfers(read_recorded("j1939-micro/tp-rts-two-packets.candump.log"), &counts);
  ASSERT_EQ(ended.size(), 1U);
  EXPECT_EQ(ended[0].end, can::TransportEnd::kMalformed);
  EXPECT_EQ(ended[0].size, 9);
  EXPECT_EQ(ended[0].packets, 2);
  EXPECT_EQ(counts.stray, 2U);
}

TEST(MultiEcu, TransfersAndCodesAsCounted) {
  const auto frames = read_recorded("j1939-multi-ecu/multi-ecu-a-30s.candump.log");
  EXPECT_EQ(frames.size(), 4623U);
  can::TransportCounts counts;
  const auto ended = transfers(frames, &counts);
  std::vector<int> to;
  for (const can::TransportMessage& message : ended) {
    if (message.end != can::TransportEnd::kComplete) continue;
    EXPECT_EQ(message.pgn, 65242U);
    EXPECT_EQ(message.source, 0);
    EXPECT_EQ(message.bytes.size(), 115U);
    EXPECT_TRUE(message.acknowledged);
    to.push_back(message.destination);
  }
  EXPECT_EQ(to, (std::vector<int>{39, 23, 167, 65}));
  EXPECT_EQ(counts.complete, 4U);

  std::map<std::string, int> codes;
  for (const Frame& frame : frames) {
    if (can::j1939_pgn(frame.id) != can::kPgnActiveCodes) continue;
    const can::CodeReport report = can::read_code_report(frame.bytes()).value();
    for (const can::TroubleCode& code : report.codes) {
      ++codes[std::to_string(can::j1939_source(frame.id)) + ": " + can::trouble_code_text(code) + " x" +
              std::to_string(code.occurrences)];
    }
  }
  const std::map<std::string, int> counted = {{"39: SPN 520302 FMI 17 x30", 18}, {"65: SPN 520230 FMI 31 x1", 18}};
  EXPECT_EQ(codes, counted);
  const std::vector<double> volts = values_of(frames, can::kSpnBatteryVoltage);
  EXPECT_EQ(volts.size(), 30U);
}

TEST(LongBroadcasts, AsTheirOriginSays) {
  const auto longest = read_recorded_csv("n2k/iso-tp-bam-1779-bytes.plain.csv");
  std::vector<Frame> frames;
  for (const RecordedPart& part : longest) frames.insert(frames.end(), part.frames.begin(), part.frames.end());
  const auto ended = transfers(frames);
  ASSERT_EQ(ended.size(), 1U);
  EXPECT_EQ(ended[0].end, can::TransportEnd::kComplete);
  EXPECT_EQ(ended[0].pgn, 129540U);
  EXPECT_EQ(ended[0].bytes.size(), 1779U);
  EXPECT_EQ(ended[0].packets, 255);
  can::TransportCounts counts;
  frames.clear();
  for (const RecordedPart& part : read_recorded_csv("n2k/iso-tp-bam.plain.csv")) {
    frames.insert(frames.end(), part.frames.begin(), part.frames.end());
  }
  // Two announcements, 32 packets and one; the third control frame breaks off a group that nobody sends.
  const auto two = transfers(frames, &counts);
  ASSERT_EQ(two.size(), 2U);
  EXPECT_EQ(two[0].pgn, 129540U);
  EXPECT_EQ(two[0].bytes.size(), 219U);
  EXPECT_EQ(two[0].packets, 32);
  EXPECT_EQ(two[1].bytes.size(), 5U);
  EXPECT_EQ(counts.complete, 2U);
  EXPECT_EQ(counts.stray, 1U);
}

// "Should result in 2 explained PGNs": one of them may be a single frame of another group.
TEST(FastPackets, AsTheirOriginSays) {
  std::size_t number = 0;
  for (const RecordedPart& part : read_recorded_csv("n2k/fastpacket-interleaved.plain.csv")) {
    SCOPED_TRACE(part.says);
    const std::size_t at = part.says.find("result in ");
    ASSERT_NE(at, std::string::npos);
    can::FastPackets packets;
    std::vector<can::FastMessage> ended;
    std::size_t single = 0;
    for (const Frame& frame : part.frames) {
      if (!can::is_fast_packet(can::j1939_pgn(frame.id))) ++single;
      packets.take(frame, ended);
    }
    const auto complete = static_cast<std::size_t>(
        std::count_if(ended.begin(), ended.end(), [](const can::FastMessage& message) { return message.complete; }));
    EXPECT_EQ(complete + single, std::stoul(part.says.substr(at + 10)));
    ++number;
  }
  EXPECT_EQ(number, 6U);
}

}  // namespace
}  // namespace halfsplit::frames
