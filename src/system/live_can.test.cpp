// SPDX-License-Identifier: Apache-2.0
// On a virtual interface, where this machine lets us make one; skipped aloud where not.
#include "system/live_can.h"

#include <gtest/gtest.h>
#include <linux/can.h>
#include <linux/can/raw.h>
#include <net/if.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cstdlib>

namespace halfsplit::system {
namespace {

constexpr const char* kInterface = "hs-vcan0";

bool has_can_sockets() {
  const int socket = ::socket(PF_CAN, SOCK_RAW, CAN_RAW);
  if (socket >= 0) ::close(socket);
  return socket >= 0;
}

void send(canid_t id, std::uint8_t length) {
  const int socket = ::socket(PF_CAN, SOCK_RAW, CAN_RAW);
  sockaddr_can address{};
  address.can_family = AF_CAN;
  address.can_ifindex = static_cast<int>(::if_nametoindex(kInterface));
  ASSERT_EQ(::bind(socket, reinterpret_cast<sockaddr*>(&address), sizeof address), 0);
  can_frame frame{};
  frame.can_id = id;
  frame.can_dlc = length;
  frame.data[0] = 0xAB;
  ASSERT_EQ(::write(socket, &frame, sizeof frame), static_cast<ssize_t>(sizeof frame));
  ::close(socket);
}

TEST(LiveCan, AMachineWithoutItOrAnInterfaceThatIsNotThereIsSaid) {
  const auto opened = open_live_can("hs-none", {}, {});
  ASSERT_FALSE(opened.ok());
  EXPECT_EQ(opened.diagnostics().front().code, has_can_sockets() ? "live.no-interface" : "live.no-can");
  EXPECT_FALSE(opened.diagnostics().front().hint.empty());
}

TEST(LiveCan, FramesComeAsTheyWereSentUntilTheLimit) {
  if (!has_can_sockets()) GTEST_SKIP() << "this kernel has no CAN sockets";
  const std::string make =
      std::string("ip link add ") + kInterface + " type vcan 2>/dev/null && ip link set " + kInterface + " up";
  if (std::system(make.c_str()) != 0)
    GTEST_SKIP() << "no virtual CAN interface can be made here (ip link add type vcan)";
  auto opened = open_live_can(kInterface, {5.0, 2}, {});
  ASSERT_TRUE(opened.ok());
  send(0x98FEF100, 3);
  send(0x123 | CAN_RTR_FLAG, 4);
  send(0x124, 0);
  std::vector<can::Frame> frames(10), all;
  for (std::size_t count = (*opened)->next(frames); count > 0; count = (*opened)->next(frames))
    all.insert(all.end(), frames.begin(), frames.begin() + static_cast<std::ptrdiff_t>(count));
  EXPECT_EQ(std::system((std::string("ip link del ") + kInterface).c_str()), 0);
  ASSERT_EQ(all.size(), 2U);
  EXPECT_EQ(all[0].id, 0x18FEF100U);
  EXPECT_TRUE(all[0].extended);
  EXPECT_EQ(all[0].length, 3);
  EXPECT_EQ(all[0].data[0], 0xAB);
  EXPECT_GT(all[0].time_us, 1'600'000'000'000'000);
  EXPECT_EQ(all[1].kind, can::FrameKind::kRemote);
  EXPECT_EQ(all[1].length, 4);
}

TEST(LiveCan, ACancelledTapEnds) {
  if (!has_can_sockets() || ::if_nametoindex("vcan0") == 0) GTEST_SKIP() << "there is no interface vcan0 here";
  const base::CancelToken cancel;
  auto opened = open_live_can("vcan0", {}, cancel);
  ASSERT_TRUE(opened.ok());
  cancel.cancel();
  can::Frame frame;
  EXPECT_EQ((*opened)->next(std::span(&frame, 1)), 0U);
}

}  // namespace
}  // namespace halfsplit::system
