// SPDX-License-Identifier: Apache-2.0
// Photos: the pictures stand beside the book as files named by their SHA-256; here stands which job has which.
#include <gcrypt.h>

#include <nlohmann/json.hpp>

#include "store/book.h"

namespace halfsplit::store {

namespace {

std::string photo_body(const Photo& photo) {
  const nlohmann::ordered_json body{{"sha256", photo.sha256},
                                    {"type", photo.type},
                                    {"name", photo.name},
                                    {"entry", photo.entry},
                                    {"bytes", photo.bytes}};
  return body.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

}  // namespace

std::string sha256_hex(const std::string& bytes) {
  gcry_check_version(nullptr);  // libgcrypt wants to be asked before its first use
  unsigned char digest[32];
  gcry_md_hash_buffer(GCRY_MD_SHA256, digest, bytes.data(), bytes.size());
  constexpr std::string_view kHex = "0123456789abcdef";
  std::string hex;
  for (const unsigned char byte : digest) {
    hex += kHex[byte >> 4U];
    hex += kHex[byte & 15U];
  }
  return hex;
}

// Signatures: ISO/IEC 10918-1 (SOI marker), W3C PNG, RFC 9649 (WebP); from memory.
std::string picture_type(const std::string& bytes) {
  const std::string_view all = bytes;
  if (all.starts_with("\xFF\xD8\xFF")) return "jpg";
  if (all.starts_with("\x89PNG\r\n\x1A\n")) return "png";
  if (all.starts_with("RIFF") && all.substr(std::min<std::size_t>(8, all.size()), 4) == "WEBP") return "webp";
  return "";
}

base::Result<base::Done> Book::add_photo(std::int64_t id, const Photo& photo) {
  return attempt([&]() -> base::Result<base::Done> {
    Transaction transaction(database_);
    const std::int64_t head = head_of(id);
    if (head == 0)
      return base::make_error("book.no-job", "there is no job " + std::to_string(id) + " in the book",
                              "halfsplit jobs lists them");
    Statement put(database_,
                  "INSERT INTO photos(job, sha256, type, name, entry, bytes, at) VALUES(?, ?, ?, ?, ?, ?, ?) "
                  "ON CONFLICT(job, sha256) DO UPDATE SET name = excluded.name, entry = excluded.entry, removed = 0");
    put.bind(id).bind(photo.sha256).bind(photo.type).bind(photo.name).bind(photo.entry).bind(photo.bytes);
    put.bind(photo.at).done();
    append(id, head, {{0, "", "photo", photo_body(photo)}}, photo.at);
    transaction.commit();
    return base::Done{};
  });
}

base::Result<bool> Book::set_photo_removed(std::int64_t id, const std::string& sha256, bool removed,
                                           const std::string& at) {
  return attempt([&]() -> base::Result<bool> {
    Transaction transaction(database_);
    Statement change(database_,
                     "UPDATE photos SET removed = ? WHERE job = ? AND sha256 = ? AND removed <> ? RETURNING name");
    change.bind(std::int64_t{removed}).bind(id).bind(sha256).bind(std::int64_t{removed});
    if (!change.step()) return false;
    Photo photo;
    photo.sha256 = sha256;
    photo.name = change.text(0);
    change.done();
    append(id, head_of(id), {{0, "", removed ? "photo-removed" : "photo-restored", photo_body(photo)}}, at);
    transaction.commit();
    return true;
  });
}

base::Result<std::vector<Photo>> Book::photos(std::int64_t id) {
  return attempt([&]() -> base::Result<std::vector<Photo>> {
    Statement all(database_,
                  "SELECT sha256, type, name, entry, bytes, at, removed FROM photos WHERE job = ? ORDER BY at, sha256");
    all.bind(id);
    std::vector<Photo> photos;
    while (all.step())
      photos.push_back(
          {all.text(0), all.text(1), all.text(2), all.number(3), all.number(4), all.text(5), all.number(6) != 0});
    return photos;
  });
}

}  // namespace halfsplit::store
