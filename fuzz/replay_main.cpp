// SPDX-License-Identifier: Apache-2.0
// Stands in for libFuzzer in ordinary builds: gives every file of the folders named on the command line to the fuzz
// target, then the same files cut short and with bytes changed, from a fixed seed. A crash is the failure; a target has
// no other way to fail. Exit 0 when all came back.
#include <algorithm>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "base/rng.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace {

constexpr int kVariantsPerFile = 40;  // unless the first argument is another number

// An exact-size copy on the heap, so that the address sanitizer sees a read one byte too far.
void run(const std::string& bytes) {
  const std::vector<std::uint8_t> copy(bytes.begin(), bytes.end());
  LLVMFuzzerTestOneInput(copy.data(), copy.size());
}

std::string make_variant(std::string bytes, halfsplit::base::Rng& rng) {
  if (bytes.empty()) return std::string(1, static_cast<char>(rng.below(256)));
  if (rng.chance(0.5)) bytes.resize(rng.below(bytes.size()));
  for (std::size_t edits = rng.below(4); edits > 0 && !bytes.empty(); --edits) {
    bytes[rng.below(bytes.size())] = static_cast<char>(rng.below(256));
  }
  return bytes;
}

std::vector<std::filesystem::path> list_files(const std::filesystem::path& folder) {
  std::vector<std::filesystem::path> files;
  if (!std::filesystem::is_directory(folder)) return files;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    if (entry.is_regular_file()) files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  return files;
}

}  // namespace

int main(int argc, char** argv) {
  halfsplit::base::Rng rng(1);
  std::size_t files = 0;
  const int told = argc > 1 ? std::atoi(argv[1]) : 0;
  const int variants = told > 0 ? told : kVariantsPerFile;
  run("");
  for (int i = told > 0 ? 2 : 1; i < argc; ++i) {
    for (const auto& path : list_files(argv[i])) {
      std::ifstream in(path, std::ios::binary);
      const std::string bytes{std::istreambuf_iterator<char>(in), {}};
      std::fprintf(stderr, "%s\n", path.c_str());  // the last line names the culprit
      run(bytes);
      for (int variant = 0; variant < variants; ++variant) run(make_variant(bytes, rng));
      ++files;
    }
  }
  std::printf("%zu files, %d variants of each\n", files, variants);
  return 0;
}
