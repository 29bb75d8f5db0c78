// SPDX-License-Identifier: Apache-2.0
// A raw socket as Documentation/networking/can.rst of Linux describes it.
#include "system/live_can.h"

#include <linux/can.h>
#include <linux/can/error.h>
#include <linux/can/raw.h>
#include <net/if.h>
#include <poll.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <system_error>
#include <utility>

namespace halfsplit::system {

namespace {

constexpr int kTapLookMs = 100;  // how long a wait goes on before cancel and limits are looked at again

std::string reason_of(int error) { return std::system_category().message(error); }

class LiveCan final : public capture::FrameSource {
 public:
  LiveCan(int socket, const std::string& interface, const LiveLimits& limits, base::CancelToken cancel)
      : socket_(socket), limits_(limits), cancel_(std::move(cancel)) {
    recording_.format = "live";
    recording_.time_base = capture::TimeBase::kAbsolute;
    recording_.channels = {interface};
  }
  ~LiveCan() override { ::close(socket_); }
  LiveCan(const LiveCan&) = delete;
  LiveCan& operator=(const LiveCan&) = delete;

  // Waits for the first frame, then takes what is there already.
  [[nodiscard]] std::size_t next(std::span<can::Frame> into) override {
    if (limits_.frames) into = into.first(std::min<std::size_t>(into.size(), *limits_.frames - recording_.frames));
    std::size_t count = 0;
    while (!into.empty() && count == 0 && wait())
      while (count < into.size() && receive(into[count])) count += take(into[count]) ? 1 : 0;
    return count;
  }
  [[nodiscard]] const capture::Recording& recording() const override { return recording_; }

 private:
  using Clock = std::chrono::steady_clock;

  [[nodiscard]] bool over() const {
    if (cancel_.cancelled() || recording_.problem) return true;
    return limits_.seconds && std::chrono::duration<double>(Clock::now() - begin_).count() >= *limits_.seconds;
  }

  // Until there is something to take; false: it is over.
  [[nodiscard]] bool wait() const {
    while (!over()) {
      pollfd asked{socket_, POLLIN, 0};
      if (::poll(&asked, 1, kTapLookMs) > 0) return true;
    }
    return false;
  }

  // One frame into raw_; false: there is none just now.
  bool receive(can::Frame& frame) {
    iovec room{&raw_, sizeof raw_};
    alignas(cmsghdr) char control[CMSG_SPACE(sizeof(timeval)) + CMSG_SPACE(sizeof(std::uint32_t))];
    msghdr message{};
    message.msg_iov = &room;
    message.msg_iovlen = 1;
    message.msg_control = control;
    message.msg_controllen = sizeof control;
    size_ = ::recvmsg(socket_, &message, MSG_DONTWAIT);
    if (size_ < 0) {
      if (errno != EAGAIN && errno != EINTR)
        recording_.problem = base::make_error("live.refused", recording_.channels[0] + ": " + reason_of(errno),
                                              "was the adapter unplugged, or the interface set down?");
      return false;
    }
    for (const cmsghdr* told = CMSG_FIRSTHDR(&message); told != nullptr;
         told = CMSG_NXTHDR(&message, const_cast<cmsghdr*>(told)))
      read_told(*told, frame);
    return true;
  }
  void read_told(const cmsghdr& told, can::Frame& frame) {
    if (told.cmsg_level != SOL_SOCKET) return;
    if (told.cmsg_type == SO_TIMESTAMP) {
      timeval time{};
      std::memcpy(&time, CMSG_DATA(&told), sizeof time);
      frame.time_us = std::int64_t{time.tv_sec} * 1'000'000 + time.tv_usec;
    }
    if (told.cmsg_type == SO_RXQ_OVFL) {
      std::uint32_t lost = 0;
      std::memcpy(&lost, CMSG_DATA(&told), sizeof lost);
      recording_.lost = lost;
    }
  }

  bool take(can::Frame& frame) {
    ++recording_.lines;
    const bool flexible = size_ == CANFD_MTU;
    if (!flexible && size_ != CAN_MTU) {
      ++recording_.skipped;
      return false;
    }
    frame.line = recording_.lines;
    frame.kind = (raw_.can_id & CAN_ERR_FLAG) != 0   ? can::FrameKind::kError
                 : (raw_.can_id & CAN_RTR_FLAG) != 0 ? can::FrameKind::kRemote
                                                     : can::FrameKind::kData;
    frame.extended = frame.kind != can::FrameKind::kError && (raw_.can_id & CAN_EFF_FLAG) != 0;
    frame.id = raw_.can_id & (frame.extended || frame.kind == can::FrameKind::kError ? CAN_EFF_MASK : CAN_SFF_MASK);
    frame.flexible = flexible;
    frame.channel = 0;
    frame.length = std::min<std::uint8_t>(raw_.len, flexible ? CANFD_MAX_DLEN : CAN_MAX_DLEN);
    std::memcpy(frame.data.data(), raw_.data, frame.length);
    if (recording_.frames > 0 && frame.time_us < last_time_us_) ++recording_.backwards;
    last_time_us_ = frame.time_us;
    ++recording_.frames;
    recording_.bytes += static_cast<std::uint64_t>(size_);
    return true;
  }

  int socket_;
  LiveLimits limits_;
  base::CancelToken cancel_;
  Clock::time_point begin_ = Clock::now();
  capture::Recording recording_;
  canfd_frame raw_{};
  ssize_t size_ = 0;
  std::int64_t last_time_us_ = 0;
};

base::Diagnostic no_interface(const std::string& interface) {
  return base::make_error(
      "live.no-interface", interface + ": there is no such CAN interface",
      "ip -br link shows which there are; ip link set " + interface + " up type can bitrate 250000 starts one");
}

// Empty: all is set.
std::optional<base::Diagnostic> set_up(int socket, const std::string& interface) {
  const int on = 1;
  const can_err_mask_t all_errors = CAN_ERR_MASK;
  (void)::setsockopt(socket, SOL_CAN_RAW, CAN_RAW_FD_FRAMES, &on, sizeof on);  // an older kernel has none
  (void)::setsockopt(socket, SOL_CAN_RAW, CAN_RAW_ERR_FILTER, &all_errors, sizeof all_errors);
  (void)::setsockopt(socket, SOL_SOCKET, SO_TIMESTAMP, &on, sizeof on);
  (void)::setsockopt(socket, SOL_SOCKET, SO_RXQ_OVFL, &on, sizeof on);
  const unsigned number = interface.size() < IFNAMSIZ ? ::if_nametoindex(interface.c_str()) : 0;
  if (number == 0) return no_interface(interface);
  sockaddr_can address{};
  address.can_family = AF_CAN;
  address.can_ifindex = static_cast<int>(number);
  if (::bind(socket, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0) return std::nullopt;
  if (errno == ENODEV) return no_interface(interface);
  return base::make_error("live.refused", interface + ": " + reason_of(errno), "is it a CAN interface, and up?");
}

}  // namespace

base::Result<std::unique_ptr<capture::FrameSource>> open_live_can(const std::string& interface,
                                                                  const LiveLimits& limits, base::CancelToken cancel) {
  const int socket = ::socket(PF_CAN, SOCK_RAW | SOCK_CLOEXEC, CAN_RAW);
  if (socket < 0)
    return base::make_error("live.no-can", "this machine's kernel offers no CAN sockets: " + reason_of(errno),
                            "record with another machine or adapter, and read its file");
  auto live = std::make_unique<LiveCan>(socket, interface, limits, std::move(cancel));
  if (std::optional<base::Diagnostic> problem = set_up(socket, interface)) return *std::move(problem);
  return std::unique_ptr<capture::FrameSource>(std::move(live));
}

}  // namespace halfsplit::system
