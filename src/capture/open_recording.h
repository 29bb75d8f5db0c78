// SPDX-License-Identifier: Apache-2.0
// What a recording is, by its content and never by its name: a text log, a packet file, either of them compressed.
#pragma once

#include <memory>
#include <string>

#include "base/seams.h"
#include "capture/frame_source.h"

namespace halfsplit::capture {

// `name` is how the user called it, for the sentences. `workers` must outlive what is returned.
// Errors: capture.empty, capture.unknown-form, capture.other-link (a packet file, but of no CAN bus), and what `bytes`
// itself says (file.unreadable).
[[nodiscard]] base::Result<std::unique_ptr<FrameSource>> open_recording(std::unique_ptr<base::ByteSource> bytes,
                                                                        base::Workers& workers,
                                                                        const std::string& name);

}  // namespace halfsplit::capture
