// SPDX-License-Identifier: Apache-2.0
// A text log of candump (candump_line.h has its forms) as frames. Each line stands on its own; what is no frame is
// counted, the first few with line and column. Which times the log has is decided by its first half megabyte: since
// 1970, from the first frame on, or from frame to frame, which are then summed up. Takes about 3 MB however long the
// log.
#pragma once

#include <memory>

#include "base/seams.h"
#include "capture/frame_source.h"

namespace halfsplit::capture {

// `workers` is used within next() and deliver(), and must outlive what is returned.
[[nodiscard]] std::unique_ptr<FrameSource> read_candump_text(std::unique_ptr<base::ByteSource> bytes,
                                                             base::Workers& workers);

}  // namespace halfsplit::capture
