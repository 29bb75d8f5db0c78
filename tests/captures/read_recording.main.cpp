// SPDX-License-Identifier: Apache-2.0
// read_recording FILE HANDS: reads every frame and prints how many; what captures.bench.py times.
#include <cstdio>
#include <cstdlib>

#include "capture/open_recording.h"
#include "system/posix_files.h"
#include "system/threads.h"

int main(int argc, char** argv) {
  using namespace halfsplit;
  if (argc != 3) return 2;
  system::PosixFiles files;
  system::Threads threads(std::strtoull(argv[2], nullptr, 10));
  auto bytes = files.open(argv[1]);
  if (!bytes.ok()) return 3;
  auto source = capture::open_recording(std::move(bytes).value(), threads, argv[1]);
  if (!source.ok()) return 3;
  std::uint64_t count = 0, mixed = 0;
  (*source)->deliver([&](std::span<const can::Frame> frames) {
    count += frames.size();
    for (const can::Frame& frame : frames) mixed += frame.id ^ frame.data[0];
    return true;
  });
  std::printf("%llu %llx\n", static_cast<unsigned long long>(count), static_cast<unsigned long long>(mixed));
  return 0;
}
