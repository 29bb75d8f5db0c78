// SPDX-License-Identifier: Apache-2.0
// Packed by zlib and by libzstd themselves.
#include "capture/unpack.h"

#include <gtest/gtest.h>
#include <zlib.h>
#include <zstd.h>

#include "base/bytes.h"
#include "base/rng.h"

namespace halfsplit::capture {
namespace {

std::string gzip(const std::string& text) {
  z_stream stream{};
  EXPECT_EQ(deflateInit2(&stream, 6, Z_DEFLATED, 16 + MAX_WBITS, 8, Z_DEFAULT_STRATEGY), Z_OK);
  std::string packed(text.size() + 1000, '\0');
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(text.data()));
  stream.avail_in = static_cast<uInt>(text.size());
  stream.next_out = reinterpret_cast<Bytef*>(packed.data());
  stream.avail_out = static_cast<uInt>(packed.size());
  EXPECT_EQ(deflate(&stream, Z_FINISH), Z_STREAM_END);
  packed.resize(stream.total_out);
  deflateEnd(&stream);
  return packed;
}
std::string zstd_packed(const std::string& text) {
  std::string packed(ZSTD_compressBound(text.size()), '\0');
  packed.resize(ZSTD_compress(packed.data(), packed.size(), text.data(), text.size(), 3));
  return packed;
}

struct Unpacked {
  std::string text, problem;
};
Unpacked unpack_all(const std::string& packed, std::size_t piece = 1000) {
  const Packing packing = find_packing(packed);
  EXPECT_NE(packing, Packing::kNone);
  const auto bytes = unpack(std::make_unique<base::StringBytes>(packed), packing);
  Unpacked all;
  std::string some(piece, ' ');
  for (std::size_t got = bytes->read(some); got > 0; got = bytes->read(some)) all.text.append(some, 0, got);
  if (bytes->problem()) all.problem = bytes->problem()->code;
  return all;
}

// Text that compresses a little, longer than any buffer.
std::string some_text(std::size_t length) {
  base::Rng rng(7);
  std::string text;
  while (text.size() < length) text += static_cast<char>('0' + rng.below(10));
  return text;
}

TEST(Unpack, BothGiveBackWhatWasPackedInPiecesOfAnySize) {
  for (const std::size_t length : {0U, 1U, 1000U, 700'000U})
    for (const std::size_t piece : {1U, 1000U, 1'000'000U}) {
      if (piece == 1 && length > 1000) continue;
      const std::string text = some_text(length);
      EXPECT_EQ(unpack_all(gzip(text), piece).text, text);
      EXPECT_EQ(unpack_all(zstd_packed(text), piece).text, text);
      EXPECT_EQ(unpack_all(zstd_packed(text), piece).problem, "");
      EXPECT_EQ(unpack_all(gzip(text), piece).problem, "");
    }
}

TEST(Unpack, MembersBehindEachOtherAreOneText) {
  EXPECT_EQ(unpack_all(gzip("one ") + gzip("two")).text, "one two");
  EXPECT_EQ(unpack_all(zstd_packed("one ") + zstd_packed("two")).text, "one two");
  EXPECT_EQ(unpack_all(gzip("one") + std::string(512, '\0')).text, "one");
  EXPECT_EQ(unpack_all(gzip("one") + std::string(512, '\0')).problem, "");
  const std::string skipped = std::string("\x50\x2A\x4D\x18\x03\0\0\0abc", 11);
  EXPECT_EQ(unpack_all(skipped + zstd_packed("two")).text, "two");
}

TEST(Unpack, WhatEndsTooEarlyGivesWhatItHasAndSaysSo) {
  const std::string text = some_text(300'000);
  for (const std::string& packed : {gzip(text), zstd_packed(text)}) {
    const Unpacked got = unpack_all(packed.substr(0, packed.size() - 5));
    EXPECT_EQ(got.problem, "capture.truncated");
    EXPECT_GT(got.text.size(), 100'000U);
    EXPECT_TRUE(text.starts_with(got.text));
    EXPECT_EQ(unpack_all(packed.substr(0, 6)).problem, "capture.truncated");
  }
}

TEST(Unpack, DamageIsFound) {
  for (std::string packed : {gzip(some_text(300'000)), zstd_packed(some_text(300'000))}) {
    for (std::size_t i = 0; i < 40; ++i) packed[packed.size() / 2 + i] = '\xA5';
    EXPECT_EQ(unpack_all(packed).problem, "capture.broken-packing");
  }
  EXPECT_EQ(unpack_all(gzip("one") + "rubbish").problem, "capture.broken-packing");
}

TEST(Unpack, OthersAreLeftAlone) {
  for (const char* text : {"", "(1600000000.0) can0 123#", "\x1F\x8B", "(\xB5/"})
    EXPECT_EQ(find_packing(text), Packing::kNone);
}

}  // namespace
}  // namespace halfsplit::capture
