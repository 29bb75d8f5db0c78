// SPDX-License-Identifier: Apache-2.0
#include "capture/unpack.h"

#include <zlib.h>
#include <zstd.h>

#include <algorithm>
#include <utility>
#include <vector>

namespace halfsplit::capture {

namespace {

constexpr std::size_t kPackedPiece = 128 * 1024;
constexpr int kLargestWindowLog = 27;  // of a zstd frame: 128 MiB, what zstd itself allows without being asked

// What both have in common: packed bytes at hand, the end, what went wrong.
class Unpacking : public base::ByteSource {
 public:
  explicit Unpacking(std::unique_ptr<base::ByteSource> packed) : packed_(std::move(packed)), piece_(kPackedPiece) {}
  [[nodiscard]] std::optional<base::Diagnostic> problem() const override { return problem_; }
  [[nodiscard]] std::optional<std::uint64_t> size() const override { return packed_->size(); }
  [[nodiscard]] std::uint64_t taken() const override { return packed_->taken(); }

  // `step` unpacks what it can from piece_ into `room` and says how many bytes came out.
  [[nodiscard]] std::size_t read(std::span<char> into) override {
    std::size_t filled = 0;
    while (filled == 0 && !over_ && !into.empty()) {
      if (begin_ == end_ && !fetch()) break;
      filled = step(into);
    }
    return filled;
  }

 protected:
  virtual std::size_t step(std::span<char> room) = 0;
  [[nodiscard]] virtual bool inside() const = 0;  // a member or frame is begun and not ended

  void stop_broken(const char* why) {
    over_ = true;
    problem_ =
        base::make_error("capture.broken-packing",
                         "the compressed file is damaged at its byte " + std::to_string(packed_->taken()) + ": " + why,
                         "what stands before it was read");
  }

  std::unique_ptr<base::ByteSource> packed_;
  std::vector<char> piece_;
  std::size_t begin_ = 0, end_ = 0;  // of the packed bytes at hand, in piece_
  bool over_ = false;

 private:
  bool fetch() {
    begin_ = 0;
    end_ = packed_->read(piece_);
    if (end_ > 0) return true;
    over_ = true;
    problem_ = packed_->problem();
    if (!problem_ && inside())
      problem_ = base::make_error("capture.truncated", "the compressed file ends in the middle",
                                  "what stands before it was read; was it copied whole?");
    return false;
  }

  std::optional<base::Diagnostic> problem_;
};

class Gzip final : public Unpacking {
 public:
  explicit Gzip(std::unique_ptr<base::ByteSource> packed) : Unpacking(std::move(packed)) {
    constexpr int kGzipOnly = 16 + MAX_WBITS;
    begun_ = inflateInit2(&stream_, kGzipOnly) == Z_OK;
  }
  ~Gzip() override {
    if (begun_) inflateEnd(&stream_);
  }
  Gzip(const Gzip&) = delete;
  Gzip& operator=(const Gzip&) = delete;

 protected:
  [[nodiscard]] bool inside() const override { return inside_; }

  std::size_t step(std::span<char> room) override {
    if (!begun_) return fail("no memory to unpack it");
    stream_.next_in = reinterpret_cast<Bytef*>(piece_.data() + begin_);
    stream_.avail_in = static_cast<uInt>(end_ - begin_);
    stream_.next_out = reinterpret_cast<Bytef*>(room.data());
    stream_.avail_out = static_cast<uInt>(std::min<std::size_t>(room.size(), 1 << 30));
    const uInt most = stream_.avail_out;
    if (!std::exchange(inside_, true) && members_ > 0 && piece_[begin_] == '\0') return skip_padding();
    const int said = inflate(&stream_, Z_NO_FLUSH);
    begin_ = end_ - stream_.avail_in;
    const std::size_t out = most - stream_.avail_out;
    if (said == Z_STREAM_END) {
      inside_ = false;
      ++members_;
      inflateReset(&stream_);
    } else if (said != Z_OK && said != Z_BUF_ERROR) {
      stop_broken(stream_.msg != nullptr ? stream_.msg : "it cannot be unpacked");
    }
    return out;
  }

 private:
  std::size_t fail(const char* why) {
    stop_broken(why);
    return 0;
  }
  // Zeroes behind a member, as tapes and some taps leave them.
  std::size_t skip_padding() {
    while (begin_ < end_ && piece_[begin_] == '\0') ++begin_;
    inside_ = false;
    return 0;
  }

  z_stream stream_{};
  bool begun_ = false, inside_ = false;
  std::uint64_t members_ = 0;
};

class Zstd final : public Unpacking {
 public:
  explicit Zstd(std::unique_ptr<base::ByteSource> packed)
      : Unpacking(std::move(packed)), stream_(ZSTD_createDStream()) {
    if (stream_ != nullptr) ZSTD_DCtx_setParameter(stream_, ZSTD_d_windowLogMax, kLargestWindowLog);
  }
  ~Zstd() override { ZSTD_freeDStream(stream_); }
  Zstd(const Zstd&) = delete;
  Zstd& operator=(const Zstd&) = delete;

 protected:
  [[nodiscard]] bool inside() const override { return inside_; }

  std::size_t step(std::span<char> room) override {
    ZSTD_inBuffer in{piece_.data(), end_, begin_};
    ZSTD_outBuffer out{room.data(), room.size(), 0};
    const std::size_t said = ZSTD_decompressStream(stream_, &out, &in);
    begin_ = in.pos;
    if (ZSTD_isError(said) != 0) stop_broken(ZSTD_getErrorName(said));
    inside_ = said != 0;
    return out.pos;
  }

 private:
  ZSTD_DStream* stream_;
  bool inside_ = false;
};

}  // namespace

Packing find_packing(std::string_view beginning) {
  if (beginning.starts_with("\x1F\x8B\x08")) return Packing::kGzip;
  if (beginning.starts_with("\x28\xB5\x2F\xFD")) return Packing::kZstd;
  const bool skippable =
      beginning.size() >= 4 && (beginning[0] & 0xF0) == 0x50 && beginning.substr(1, 3) == "\x2A\x4D\x18";
  return skippable ? Packing::kZstd : Packing::kNone;
}

std::unique_ptr<base::ByteSource> unpack(std::unique_ptr<base::ByteSource> packed, Packing packing) {
  if (packing == Packing::kZstd) return std::make_unique<Zstd>(std::move(packed));
  return std::make_unique<Gzip>(std::move(packed));
}

}  // namespace halfsplit::capture
