// SPDX-License-Identifier: Apache-2.0
// A CAN interface of this machine (SocketCAN) as a source of frames: data, remote and CAN FD frames and the adapter's
// error reports, with the kernel's time stamps. Only listens; nothing is ever sent.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <utility>

#include "base/cancel.h"
#include "base/result.h"
#include "capture/frame_source.h"

namespace halfsplit::system {

struct LiveLimits {
  std::optional<double> seconds;  // from the opening on
  std::optional<std::uint64_t> frames;
};

// Ends when a limit is reached or `cancel` is set, whichever is first; looked at ten times a second.
// Errors: live.no-can (the kernel has no SocketCAN), live.no-interface, live.refused.
[[nodiscard]] base::Result<std::unique_ptr<capture::FrameSource>> open_live_can(const std::string& interface,
                                                                                const LiveLimits& limits,
                                                                                base::CancelToken cancel);

// Those of this machine, for the doors.
class KernelTaps final : public capture::LiveTaps {
 public:
  [[nodiscard]] base::Result<std::unique_ptr<capture::FrameSource>> open(const std::string& interface, double seconds,
                                                                         base::CancelToken cancel) override {
    return open_live_can(interface, {seconds, std::nullopt}, std::move(cancel));
  }
};

}  // namespace halfsplit::system
