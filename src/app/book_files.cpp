// SPDX-License-Identifier: Apache-2.0
#include "app/book_files.h"

#include <algorithm>
#include <charconv>
#include <cstdlib>

#include "app/loaded_loom.h"
#include "app/profile_files.h"
#include "app/session.h"
#include "base/bytes.h"
#include "base/nearest.h"
#include "formats/job_text.h"
#include "text/utf8.h"

namespace halfsplit::app {

namespace {

constexpr std::string_view kBook = "book:", kShelf = "shelf:", kPhoto = "photo:", kRecordingOf = "recording:",
                           kLoomEnd = ".loom.toml";
constexpr std::size_t kMostKept = 16;        // jobs as last read
constexpr std::size_t kMostNameBytes = 120;  // of a loom on the shelf

std::string from_environment(const char* name) {
  const char* value = std::getenv(name);
  return value == nullptr ? "" : value;
}

base::Diagnostic no_loom(const std::string& name, const std::vector<std::string>& names) {
  std::string hint = base::did_you_mean(name, names);
  if (hint.empty()) hint = names.empty() ? "put it there: halfsplit shelf put NAME FILE" : "halfsplit shelf lists them";
  return base::make_error("shelf.none", "there is no loom \"" + name + "\" on the shelf", std::move(hint));
}

constexpr std::size_t kPrintDigits = 64;      // of SHA-256, in hex
constexpr std::size_t kLeastPrintDigits = 8;  // that name a recording

bool is_print(std::string_view name) {
  return std::all_of(name.begin(), name.end(), [](char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); });
}

bool is_photo_name(std::string_view name) {
  const std::size_t dot = name.find('.');
  if (dot != kPrintDigits) return false;
  const std::string_view type = name.substr(dot + 1);
  return is_print(name.substr(0, dot)) && (type == "jpg" || type == "png" || type == "webp");
}

}  // namespace

std::string find_book_folder() {
  std::string named = from_environment("HALFSPLIT_BOOK");
  if (!named.empty()) return named;
  std::string data = from_environment("XDG_DATA_HOME");
  if (!data.starts_with('/')) {  // a relative one is to be ignored
    const std::string home = from_environment("HOME");
    if (home.empty()) return "";
    data = home + "/.local/share";
  }
  return data + "/halfsplit";
}

bool is_shelf_path(std::string_view path) { return path.starts_with(kShelf); }

bool is_recording_path(std::string_view path) { return path.starts_with(kRecordingOf); }

bool is_book_path(std::string_view path) {
  return path.starts_with(kBook) || path.starts_with(kShelf) || path.starts_with(kPhoto) || is_recording_path(path);
}

std::int64_t job_number(std::string_view path) {
  if (path.starts_with(kBook)) path.remove_prefix(kBook.size());
  std::int64_t number = 0;
  const auto [end, error] = std::from_chars(path.data(), path.data() + path.size(), number);
  return error == std::errc() && end == path.data() + path.size() && number > 0 ? number : 0;
}

std::string BookFiles::now() const { return iso_time(clock_.now_s()); }

base::Result<store::Book*> BookFiles::book() {
  if (folder_.empty())
    return base::make_error("book.nowhere", "there is no folder for the book of jobs",
                            "set HALFSPLIT_BOOK to a folder of yours");
  if (!book_) {
    base::Result<std::unique_ptr<store::Book>> opened = store::Book::open(folder_);
    if (!opened) return opened.diagnostics();
    book_ = std::move(opened).value();
  }
  return book_.get();
}

base::Result<std::string> BookFiles::next_job() {
  const base::Result<store::Book*> opened = book();
  if (!opened) return opened.diagnostics();
  const base::Result<std::int64_t> id = (*opened)->reserve();
  if (!id) return id.diagnostics();
  reserved_.insert(*id);
  return std::string(kBook) + std::to_string(*id);
}

base::Result<std::vector<store::Learned>> BookFiles::learned() {
  if (!book_ && (folder_.empty() || !beneath_.exists(folder_ + "/book.sqlite"))) return std::vector<store::Learned>{};
  const base::Result<store::Book*> opened = book();
  if (!opened) return opened.diagnostics();
  base::Result<std::vector<store::Learned>> all = (*opened)->learned();
  if (all) std::erase_if(*all, [](const store::Learned& one) { return one.forgotten; });
  return all;
}

// --- jobs ------------------------------------------------------------------------------------------------------------

base::Result<std::string> BookFiles::read_job(const std::string& path) {
  const std::int64_t id = job_number(path);
  if (id == 0)
    return base::make_error("book.bad-number", "\"" + path + "\" names no job of the book",
                            "jobs have numbers: book:7; halfsplit jobs lists them");
  const base::Result<store::Book*> opened = book();
  if (!opened) return opened.diagnostics();
  base::Result<store::StoredJob> stored = (*opened)->read(id);
  if (!stored) return stored.diagnostics();
  if (seen_.size() >= kMostKept) seen_.clear();
  base::Result<std::string> text = formats::write_job_text(stored->job);
  seen_[id] = std::move(stored).value();
  return text;
}

base::Result<base::Done> BookFiles::write_job(const std::string& path, std::string_view text,
                                              const store::Taught* taught) {
  base::Result<job::Job> next = formats::read_job_text(path, text);
  if (!next) return next.diagnostics();
  if (!is_shelf_path(next->loom))
    return base::make_error("book.loom", "a job of the book has its loom on the shelf, not in " + next->loom,
                            "halfsplit shelf put NAME FILE, then open shelf:NAME");
  const base::Result<store::Book*> opened = book();
  if (!opened) return opened.diagnostics();
  const std::int64_t id = job_number(path);
  if (!seen_.contains(id) && !reserved_.contains(id)) {  // written without having been read: on top of what is there
    const base::Result<std::string> now = read_job(path);
    if (!now) return now.diagnostics();
  }
  store::StoredJob& before = seen_[id];
  const base::Result<std::int64_t> head = (*opened)->write(id, before.head, before.job, *next, now(), taught);
  if (!head) {
    seen_.erase(id);
    return head.diagnostics();
  }
  reserved_.erase(id);
  before.head = *head;
  before.job = std::move(next).value();
  return base::Done{};
}

// --- looms -----------------------------------------------------------------------------------------------------------

base::Result<std::string> BookFiles::shelf_file(std::string_view name) const {
  if (folder_.empty())
    return base::make_error("book.nowhere", "there is no folder for the shelf of looms",
                            "set HALFSPLIT_BOOK to a folder of yours");
  if (is_shelf_path(name)) name.remove_prefix(kShelf.size());
  if (name.ends_with(kLoomEnd)) name.remove_suffix(kLoomEnd.size());
  const bool odd = std::any_of(name.begin(), name.end(), [](char c) {
    return c == '/' || c == '\\' || c == ':' || c == ' ' || static_cast<unsigned char>(c) < 32;
  });
  if (name.empty() || name.front() == '.' || name.size() > kMostNameBytes || odd || text::find_invalid_utf8(name))
    return base::make_error("shelf.bad-name", "\"" + std::string(name) + "\" cannot be the name of a loom on the shelf",
                            "letters, digits, hyphens; no blank, slash or colon, no point in front");
  return folder_ + "/shelf/" + std::string(name) + std::string(kLoomEnd);
}

base::Result<base::Done> BookFiles::write_loom(const std::string& path, std::string_view text) {
  const base::Result<std::string> file = shelf_file(path);
  if (!file) return file.diagnostics();
  if (!store::make_private_folder(folder_ + "/shelf"))
    return base::make_error("book.unwritable", folder_ + "/shelf: the folder cannot be made", "");
  return beneath_.write(*file, text);
}

std::vector<std::string> BookFiles::looms_in(const std::string& folder) {
  std::vector<std::string> names;
  for (const std::string& name : beneath_.list(folder))
    if (name.ends_with(kLoomEnd) && !name.starts_with('.'))
      names.push_back(name.substr(0, name.size() - kLoomEnd.size()));
  return names;
}

base::Result<base::Done> BookFiles::remove_loom(const std::string& name) {
  const base::Result<std::string> file = shelf_file(name);
  if (!file) return file.diagnostics();
  if (!beneath_.exists(*file)) return no_loom(name, list(std::string(kShelf)));
  const std::string removed = folder_ + "/shelf/removed/";
  if (!store::make_private_folder(folder_ + "/shelf/removed"))
    return base::make_error("book.unwritable", removed + ": the folder cannot be made", "");
  const std::string base_name =
      file->substr(file->rfind('/') + 1, file->size() - file->rfind('/') - 1 - kLoomEnd.size());
  std::string to = removed + base_name + std::string(kLoomEnd);
  for (int copy = 2; beneath_.exists(to); ++copy)
    to = removed + base_name + "-" + std::to_string(copy) + std::string(kLoomEnd);
  if (!store::move_file(*file, to))
    return base::make_error("book.unwritable", *file + ": cannot be moved to " + to, "");
  return base::Done{};
}

base::Result<base::Done> BookFiles::restore_loom(const std::string& name) {
  const base::Result<std::string> file = shelf_file(name);
  if (!file) return file.diagnostics();
  const std::string from = folder_ + "/shelf/removed" + file->substr(file->rfind('/'));
  if (!beneath_.exists(from)) return no_loom(name, removed_looms());
  if (beneath_.exists(*file) || !store::move_file(from, *file))
    return base::make_error("shelf.exists", "there is a loom \"" + name + "\" on the shelf again",
                            "remove that one first");
  return base::Done{};
}

std::vector<std::string> BookFiles::removed_looms() { return looms_in(folder_ + "/shelf/removed"); }

base::Result<base::Done> BookFiles::keep_photo(const store::Photo& photo, const std::string& bytes) {
  if (!store::make_private_folder(folder_ + "/photos"))
    return base::make_error("book.unwritable", folder_ + "/photos: the folder cannot be made", "");
  const std::string file = folder_ + "/photos/" + photo.sha256 + "." + photo.type;
  if (beneath_.exists(file)) return base::Done{};
  return beneath_.write(file, bytes);
}

// --- recordings ------------------------------------------------------------------------------------------------------

base::Result<base::Done> BookFiles::keep_recording(const std::string& sha256, const std::string& bytes) {
  const std::string folder = folder_ + "/recordings";
  if (!store::make_private_folder(folder))
    return base::make_error("book.unwritable", folder + ": the folder cannot be made", "");
  if (beneath_.exists(folder + "/" + sha256)) return base::Done{};
  return beneath_.write(folder + "/" + sha256, bytes);
}

base::Result<std::string> BookFiles::recording_file(const std::string& path) {
  const std::string print = path.substr(kRecordingOf.size()), folder = folder_ + "/recordings";
  std::vector<std::string> names;
  if (!folder_.empty() && is_print(print) && print.size() >= kLeastPrintDigits)
    for (const std::string& name : beneath_.list(folder))
      if (name.size() == kPrintDigits && name.starts_with(print)) names.push_back(name);
  if (names.size() == 1) return folder + "/" + names.front();
  if (names.empty())
    return base::make_error("file.missing", path + ": the book has no such recording",
                            "halfsplit jobs recordings 7 lists those of job 7");
  return base::make_error("recording.several", "several recordings begin with " + print, "give more of it");
}

std::string BookFiles::recording_name(std::int64_t job, const std::string& path) {
  if (!is_recording_path(path)) return path.substr(path.rfind('/') + 1);
  const std::string print = path.substr(kRecordingOf.size());
  const base::Result<store::Book*> opened = book();
  const auto all =
      opened ? (*opened)->recordings(job) : base::Result<std::vector<store::Recording>>(opened.diagnostics());
  if (all)
    for (const store::Recording& one : *all)
      if (one.sha256.starts_with(print)) return one.name;
  return print.substr(0, 12);
}

// --- a copy of it ----------------------------------------------------------------------------------------------------

std::vector<std::string> BookFiles::kept_files() {
  std::vector<std::string> files;
  const auto add = [&](const std::string& sub, const auto& is_kept) {
    for (const std::string& name : beneath_.list(folder_ + "/" + sub))
      if (is_kept(name)) files.push_back(sub + "/" + name);
  };
  const auto is_loom = [](const std::string& name) { return name.ends_with(kLoomEnd) && !name.starts_with('.'); };
  add("shelf", is_loom);
  add("shelf/removed", is_loom);
  add("photos", is_photo_name);
  add("recordings", [](const std::string& name) { return name.size() == kPrintDigits && is_print(name); });
  if (beneath_.exists(folder_ + "/" + kProfileFile)) files.emplace_back(kProfileFile);
  return files;
}

base::Result<bool> BookFiles::copy_kept(const std::string& file, const std::string& folder) {
  const std::string to = folder + "/" + file;
  const bool is_fingerprint = file.starts_with("photos/") || file.starts_with("recordings/");
  if (is_fingerprint && beneath_.exists(to)) return false;
  const std::string sub = to.substr(0, to.rfind('/'));
  if (!store::make_private_folder(sub))
    return base::make_error("book.unwritable", sub + ": the folder cannot be made", "");
  const base::Result<std::string> bytes = beneath_.read(folder_ + "/" + file, std::string::npos);
  if (!bytes) return bytes.diagnostics();
  const base::Result<base::Done> done = beneath_.write(to, *bytes);
  if (!done) return done.diagnostics();
  return true;
}

// --- the seam --------------------------------------------------------------------------------------------------------

base::Result<std::string> BookFiles::read(const std::string& path, std::size_t limit_bytes) {
  if (path.starts_with(kBook)) return read_job(path);
  if (path.starts_with(kPhoto)) {
    const std::string name = path.substr(kPhoto.size());
    if (folder_.empty() || !is_photo_name(name))
      return base::make_error("file.missing", path + ": there is no such photo", "");
    return beneath_.read(folder_ + "/photos/" + name, limit_bytes);
  }
  if (is_recording_path(path)) {
    const base::Result<std::string> file = recording_file(path);
    return file ? beneath_.read(*file, limit_bytes) : base::Result<std::string>(file.diagnostics());
  }
  if (!is_shelf_path(path)) return beneath_.read(path, limit_bytes);
  const base::Result<std::string> file = shelf_file(path);
  if (!file) return file.diagnostics();
  if (!beneath_.exists(*file)) return no_loom(path.substr(kShelf.size()), list(std::string(kShelf)));
  return beneath_.read(*file, limit_bytes);
}

base::Result<std::unique_ptr<base::ByteSource>> BookFiles::open(const std::string& path) {
  if (!is_book_path(path)) return beneath_.open(path);
  if (is_recording_path(path)) {
    const base::Result<std::string> file = recording_file(path);
    if (!file) return file.diagnostics();
    return beneath_.open(*file);
  }
  return base::open_text(read(path, std::string::npos));
}

base::Result<base::Done> BookFiles::write(const std::string& path, std::string_view text) {
  if (path.starts_with(kBook)) return write_job(path, text, nullptr);
  if (is_shelf_path(path)) return write_loom(path, text);
  if (path.starts_with(kPhoto)) return base::make_error("file.unwritable", path + ": photos are added to a job", "");
  if (is_recording_path(path))
    return base::make_error("file.unwritable", path + ": recordings are added to a job",
                            "halfsplit jobs recording 7 FILE");
  return beneath_.write(path, text);
}

base::Result<base::Done> BookFiles::replace(const std::string& path, std::string_view before, std::string_view text) {
  return is_book_path(path) ? write(path, text) : beneath_.replace(path, before, text);
}

bool BookFiles::exists(const std::string& path) {
  if (path.starts_with(kBook)) {
    const base::Result<store::Book*> opened = book();
    if (!opened) return false;
    const base::Result<bool> there = (*opened)->contains(job_number(path));
    return there && *there;
  }
  if (path.starts_with(kPhoto)) {
    const std::string name = path.substr(kPhoto.size());
    return !folder_.empty() && is_photo_name(name) && beneath_.exists(folder_ + "/photos/" + name);
  }
  if (is_recording_path(path)) return recording_file(path).ok();
  if (!is_shelf_path(path)) return beneath_.exists(path);
  const base::Result<std::string> file = shelf_file(path);
  return file && beneath_.exists(*file);
}

std::vector<std::string> BookFiles::list(const std::string& folder) {
  if (is_shelf_path(folder)) return folder_.empty() ? std::vector<std::string>{} : looms_in(folder_ + "/shelf");
  if (!folder.starts_with(kBook)) return beneath_.list(folder);
  std::vector<std::string> numbers;
  const base::Result<store::Book*> opened = book();
  if (!opened) return numbers;
  const base::Result<std::vector<store::JobHead>> heads = (*opened)->list({});
  if (!heads) return numbers;
  for (const store::JobHead& head : *heads) numbers.push_back(std::to_string(head.id));
  return numbers;
}

}  // namespace halfsplit::app
