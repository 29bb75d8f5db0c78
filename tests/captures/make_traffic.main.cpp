// SPDX-License-Identifier: Apache-2.0
// make_traffic log|pcapng|kinds FRAMES SEED > FILE: invented J1939 traffic (traffic.h) as a candump log or as pcapng;
// "kinds": pcapng with frames of every kind there is.
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <string>
#include <vector>

#include "capture/random_frames.h"
#include "capture/write_recording.h"
#include "tests/captures/traffic.h"

int main(int argc, char** argv) {
  using namespace halfsplit;
  if (argc != 4) return 2;
  const bool text = std::strcmp(argv[1], "log") == 0, kinds = std::strcmp(argv[1], "kinds") == 0;
  auto left = std::strtoull(argv[2], nullptr, 10);
  const auto seed = std::strtoull(argv[3], nullptr, 10);
  const std::vector<std::string> names = {"can0"};
  std::string out;
  if (!text) capture::append_pcapng_head(out, names);
  if (kinds) {
    capture::append_pcapng(out, capture::make_random_frames(seed, left, 1), names);
    left = 0;
  }
  test::Traffic traffic(seed);
  std::vector<can::Frame> frames(10'000);
  while (left > 0) {
    frames.resize(std::min<std::size_t>(frames.size(), left));
    traffic.next(frames);
    left -= frames.size();
    if (text)
      capture::append_candump(out, frames, names);
    else
      capture::append_pcapng(out, frames, names);
    if (std::fwrite(out.data(), 1, out.size(), stdout) != out.size()) return 3;
    out.clear();
  }
  return std::fwrite(out.data(), 1, out.size(), stdout) == out.size() ? 0 : 3;
}
