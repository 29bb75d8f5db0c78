// SPDX-License-Identifier: Apache-2.0
#include "formats/job_code.h"

#include <zlib.h>

#include <algorithm>

#include "formats/job_text.h"

namespace halfsplit::formats {

namespace {

constexpr std::string_view kAlphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";
constexpr std::string_view kCodeHead = "HALFSPLIT1:";
constexpr std::size_t kMostCodeJobBytes = std::size_t{1} << 20U;  // a printed code cannot hold more

base::Diagnostic damaged_code(const std::string& what) {
  return base::make_error("code.damaged", "the code is damaged: " + what, "read it again, all of it");
}

std::string deflated(std::string_view text) {
  uLongf size = compressBound(text.size());
  std::string out(size, '\0');
  compress2(reinterpret_cast<Bytef*>(out.data()), &size, reinterpret_cast<const Bytef*>(text.data()), text.size(), 9);
  out.resize(size);
  return out;
}

base::Result<std::string> inflated(std::string_view bytes) {
  std::string out(kMostCodeJobBytes, '\0');
  uLongf size = out.size();
  const int done = uncompress(reinterpret_cast<Bytef*>(out.data()), &size, reinterpret_cast<const Bytef*>(bytes.data()),
                              bytes.size());
  if (done != Z_OK) return damaged_code("it does not unpack");
  out.resize(size);
  return out;
}

}  // namespace

std::string base45_encode(std::string_view bytes) {
  std::string text;
  for (std::size_t i = 0; i < bytes.size(); i += 2) {
    const bool two = i + 1 < bytes.size();
    unsigned value = static_cast<unsigned char>(bytes[i]);
    if (two) value = value * 256U + static_cast<unsigned char>(bytes[i + 1]);
    text += kAlphabet[value % 45U];
    text += kAlphabet[value / 45U % 45U];
    if (two) text += kAlphabet[value / 2025U];
  }
  return text;
}

base::Result<std::string> base45_decode(std::string_view text) {
  std::string bytes;
  if (text.size() % 3 == 1) return damaged_code("a letter is missing");
  for (std::size_t i = 0; i < text.size(); i += 3) {
    const std::size_t count = std::min<std::size_t>(3, text.size() - i);
    unsigned value = 0;
    for (std::size_t k = count; k > 0; --k) {
      const std::size_t digit = kAlphabet.find(text[i + k - 1]);
      if (digit == std::string_view::npos) return damaged_code("it holds a letter that is none of base 45");
      value = value * 45U + static_cast<unsigned>(digit);
    }
    if (value > (count == 3 ? 0xFFFFU : 0xFFU)) return damaged_code("a group is out of range");
    if (count == 3) bytes += static_cast<char>(value / 256U);
    bytes += static_cast<char>(value % 256U);
  }
  return bytes;
}

base::Result<std::string> write_job_code(const job::Job& job) {
  job::Job small = job;
  small.kit = {};
  small.meter.reset();
  small.drawn.clear();
  small.asked.reset();
  const base::Result<std::string> text = write_job_text(small);
  if (!text) return text.diagnostics();
  return std::string(kCodeHead) + base45_encode(deflated(*text));
}

base::Result<job::Job> read_job_code(std::string_view text) {
  if (!text.starts_with(kCodeHead))
    return base::make_error("code.not-a-job", "this is no job's code", "it begins with " + std::string(kCodeHead));
  const base::Result<std::string> packed = base45_decode(text.substr(kCodeHead.size()));
  if (!packed) return packed.diagnostics();
  const base::Result<std::string> job = inflated(*packed);
  if (!job) return job.diagnostics();
  return read_job_text("the code", *job);
}

}  // namespace halfsplit::formats
