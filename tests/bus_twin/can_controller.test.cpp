// SPDX-License-Identifier: Apache-2.0
// The controller of the twin by itself, on an ideal bus: what ISO 11898-1 says about arbitration, acknowledgement,
// error signalling and fault confinement, one sentence each.
#include "tests/bus_twin/can_controller.h"

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "tests/bus_twin/recorded_frames.h"

namespace halfsplit::bus_twin {
namespace {

class IdealBus {
 public:
  explicit IdealBus(std::size_t nodes) : controllers(nodes), received(nodes), spoil_(nodes, 0) { run(11); }

  // One bit, which `spoil` turns round for some.
  Bit step() {
    Bit bus = kRecessive;
    for (Controller& controller : controllers) {
      if (controller.send() == kDominant) bus = kDominant;
    }
    if (hold_) bus = kDominant;
    for (std::size_t k = 0; k < controllers.size(); ++k) {
      controllers[k].read(spoil_[k] == 0 ? bus : bus == kDominant ? kRecessive : kDominant);
      spoil_[k] = 0;
      if (const Frame* frame = controllers[k].received()) received[k].push_back(*frame);
    }
    return bus;
  }
  std::string run(std::size_t bits) {
    std::string seen;
    for (std::size_t k = 0; k < bits; ++k) seen += step() == kDominant ? '0' : '1';
    return seen;
  }
  void spoil(std::size_t node) { spoil_[node] = 1; }
  void hold(bool on) { hold_ = on; }

  std::vector<Controller> controllers;
  std::vector<std::vector<Frame>> received;

 private:
  std::vector<char> spoil_;
  bool hold_ = false;
};

const Frame kHello{0x222, false, false, 5, {0x00, 0x11, 0x22, 0x33, 0x44}};

TEST(Controller, AnAcknowledgedFrameIsTheRecordedOne) {
  IdealBus bus(2);
  bus.controllers[0].offer(kHello);
  const std::string recorded = kRecorded[0].bits;
  EXPECT_EQ(bus.run(recorded.size()), recorded);
  ASSERT_EQ(bus.received[1].size(), 1U);
  EXPECT_EQ(bus.received[1][0], kHello);
  EXPECT_FALSE(bus.controllers[0].has_pending());
}

TEST(Controller, TheLowerIdentifierGoesFirstAndNobodyCountsAnError) {
  IdealBus bus(3);
  bus.controllers[0].offer({0x223, false, false, 1, {1}});
  bus.controllers[1].offer({0x222U << 18U, true, false, 1, {2}});  // an 11-bit one goes before a 29-bit one
  bus.controllers[2].offer({0x222, false, false, 1, {3}});
  bus.run(400);
  ASSERT_EQ(bus.received[0].size(), 2U);
  EXPECT_EQ(bus.received[0][0].data[0], 3);
  EXPECT_EQ(bus.received[0][1].data[0], 2);
  ASSERT_EQ(bus.received[1].size(), 2U);
  EXPECT_EQ(bus.received[1][1].data[0], 1);
  for (const Controller& controller : bus.controllers) {
    EXPECT_EQ(controller.transmit_errors() + controller.receive_errors(), 0);
  }
}

// Fault confinement, the exception for a passive transmitter that misses its acknowledgement.
TEST(Controller, AloneItBecomesPassiveAndNeverLeavesTheBus) {
  IdealBus bus(1);
  bus.controllers[0].offer(kHello);
  bus.run(100'000);
  EXPECT_EQ(bus.controllers[0].transmit_errors(), 128);
  EXPECT_TRUE(bus.controllers[0].passive());
  EXPECT_TRUE(bus.controllers[0].has_pending());
}

TEST(Controller, AFrameThatOneReaderMissesIsRepeated) {
  IdealBus bus(3);
  bus.controllers[0].offer(kHello);
  bus.run(30);
  bus.spoil(1);
  bus.run(60);
  EXPECT_EQ(bus.controllers[0].transmit_errors(), 8);
  bus.run(150);
  for (const std::size_t reader : {1U, 2U}) {
    EXPECT_EQ(bus.received[reader].size(), 1U);
    EXPECT_EQ(bus.controllers[reader].receive_errors() > 0, reader == 1);  // it flagged first: 8 more, 1 less since
  }
  EXPECT_EQ(bus.controllers[0].transmit_errors(), 7);
}

// 16 times 8 errors, then passive, then as many again.
TEST(Controller, OfThirtyTwoFailedAttemptsItLeavesTheBus) {
  IdealBus bus(2);
  bus.controllers[0].offer(kHello);
  int failed = 0;
  while (!bus.controllers[0].bus_off() && failed < 100) {
    while (!bus.controllers[0].sending()) bus.step();
    bus.run(30);  // well inside
    bus.spoil(0);
    bus.step();
    ++failed;
    EXPECT_EQ(bus.controllers[0].transmit_errors(), 8 * failed);
    EXPECT_EQ(bus.controllers[0].passive(), failed >= 16);
  }
  EXPECT_EQ(failed, 32);
}

TEST(Controller, ItComesBackAfter128Times11RecessiveBits) {
  IdealBus bus(1);
  Controller& controller = bus.controllers[0];
  controller.offer(kHello);
  bus.step();
  while (!controller.bus_off()) {
    bus.spoil(0);  // never reads what it sends
    bus.step();
  }
  bus.run(128 * 11 - 1);
  EXPECT_TRUE(controller.bus_off());
  bus.step();
  EXPECT_FALSE(controller.bus_off());
  EXPECT_EQ(controller.transmit_errors(), 0);
  EXPECT_EQ(bus.step(), kDominant);
}

TEST(Controller, APassiveSenderWaitsEightBitsLonger) {
  IdealBus bus(1);
  bus.controllers[0].offer(kHello);
  const std::string bits = bus.run(20'000);
  const std::size_t sequence = write_sequence(kHello).bits.size();
  // Active: flag of six dominant bits from the acknowledgement delimiter on, eight recessive, three of pause.
  EXPECT_EQ(bits.substr(sequence, 2 + 6 + 8 + 3 + 1),
            "11"
            "000000"
            "11111111"
            "111"
            "0");
  // Passive: CRC delimiter, slot, flag of six, delimiter of eight, three of pause, eight of suspension.
  const std::size_t last = bits.rfind(std::string(2 + 6 + 8 + 3 + 8, '1') + "0");
  EXPECT_NE(last, std::string::npos);
  EXPECT_EQ(bits.find(std::string(2 + 6 + 8 + 3 + 8 + 1, '1')), std::string::npos);
}

// Every eight dominant bits behind a flag: 8 for sender and reader; and a reader 8 more for the first of them.
TEST(Controller, ABusHeldDownCountsUpWithoutEnd) {
  IdealBus bus(2);
  bus.controllers[0].offer(kHello);
  bus.run(30);
  bus.hold(true);
  bus.run(5'000);
  EXPECT_TRUE(bus.controllers[0].bus_off());
  EXPECT_TRUE(bus.controllers[1].passive());
  EXPECT_FALSE(bus.controllers[1].bus_off());  // who only reads does not leave
  bus.hold(false);
  bus.run(128 * 11 + 200);
  EXPECT_EQ(bus.received[1].size(), 1U);
  EXPECT_EQ(bus.controllers[1].receive_errors(), Choices{}.recovered);  // from above 127, one good frame
}

TEST(Controller, ItJoinsAfterElevenRecessiveBitsOnly) {
  Controller late;
  late.offer(kHello);
  for (int k = 0; k < 10; ++k) {
    EXPECT_EQ(late.send(), kRecessive);
    late.read(kRecessive);
  }
  late.read(kDominant);
  for (int k = 0; k < 11; ++k) {
    EXPECT_EQ(late.send(), kRecessive);
    late.read(kRecessive);
  }
  EXPECT_EQ(late.send(), kDominant);
}

}  // namespace
}  // namespace halfsplit::bus_twin
