// SPDX-License-Identifier: Apache-2.0
// `jobs backup`: the book as a folder of its own, looms, photos, recordings and the profile along, or its database
// alone. The folder is a book: going back is putting it where the book was.
#include "app/op_jobs.h"
#include "app/profile_files.h"
#include "app/words.h"

namespace halfsplit::app {

namespace {

constexpr std::string_view kDatabaseEnd = ".sqlite";

// What went into the copy beside the database.
struct Carried {
  std::size_t looms = 0, photos = 0, recordings = 0;
  bool profile = false;
  std::size_t written = 0;  // the others were there already
};

void count(Carried& carried, const std::string& file, bool written) {
  if (file.starts_with("shelf/")) ++carried.looms;
  if (file.starts_with("photos/")) ++carried.photos;
  if (file.starts_with("recordings/")) ++carried.recordings;
  if (file == kProfileFile) carried.profile = true;
  if (written) ++carried.written;
}

base::Result<Carried> carry_along(const JobsRequest& request, const std::string& folder) {
  const std::vector<std::string> files = request.context.book->kept_files();
  Carried carried;
  for (std::size_t i = 0; i < files.size(); ++i) {
    if (request.context.cancel.cancelled())
      return base::make_error("run.cancelled", "stopped; the copy in " + folder + " is not whole",
                              "the same command again goes on with it");
    if (request.context.progress != nullptr)
      request.context.progress->report("copying", static_cast<double>(i) / static_cast<double>(files.size()));
    const base::Result<bool> written = request.context.book->copy_kept(files[i], folder);
    if (!written) return written.diagnostics();
    count(carried, files[i], *written);
  }
  return carried;
}

// May this door write there, and is there nothing that would be lost?
base::Result<base::Done> may_write(const JobsRequest& request, const std::string& database) {
  const base::Result<std::string> there = request.context.files.read(database, 1);
  if (!there && there.diagnostics().front().code == "file.outside") return there.diagnostics();
  if (store::is_same_file(database, request.book.path()))
    return base::make_error("jobs.backup-onto-itself", database + " is the book itself", "name another place");
  if (request.context.files.exists(database) && !request.arguments.has("force"))
    return base::make_error("jobs.exists", "there is already a file " + database,
                            "name another, or replace it with --force");
  return base::Done{};
}

std::string counted(std::size_t n, const std::string& one) {
  return std::to_string(n) + " " + one + (n == 1 ? "" : "s");
}

Reply write_database(const JobsRequest& request, const std::string& out, const std::string& bytes) {
  const base::Result<base::Done> done = request.context.files.write(out, bytes);
  if (!done) return fail(done.diagnostics());
  Reply reply;
  reply.result = {{"out", out}, {"bytes", bytes.size()}};
  reply.text = "wrote " + out + ", " + std::to_string(bytes.size()) + " bytes: all jobs with their history.\n";
  return reply;
}

}  // namespace

Reply jobs_backup(const JobsRequest& request) {
  std::string out = request.arguments.has("out") ? request.arguments.get("out") : request.what;
  while (out.size() > 1 && out.ends_with('/')) out.pop_back();
  if (out.empty())
    return usage_error("jobs.no-file", "jobs backup needs the name of the new folder",
                       "halfsplit jobs backup /media/stick/book; FILE.sqlite: the database alone");
  const bool alone = out.ends_with(kDatabaseEnd);
  const std::string database = alone ? out : out + "/book.sqlite";
  const base::Result<base::Done> may = may_write(request, database);
  if (!may) return fail(may.diagnostics());
  // First the database: what it names is there already and is never taken away, so the copy lacks nothing of it.
  const base::Result<std::string> bytes = request.book.backup();
  if (!bytes) return fail(bytes.diagnostics());
  if (alone) {
    Reply reply = write_database(request, database, *bytes);
    if (reply.exit_code == 0)
      reply.text += "Without looms, photos, recordings and profile: a folder instead of a file takes them along.\n";
    return reply;
  }
  if (!store::make_private_folder(out))
    return fail(base::make_error("book.unwritable", out + ": the folder cannot be made", "name another place"));
  const base::Result<Carried> carried = carry_along(request, out);
  if (!carried) return fail(carried.diagnostics());
  Reply reply = write_database(request, database, *bytes);
  if (reply.exit_code != 0) return reply;
  reply.result["carried"] = {{"looms", carried->looms},
                             {"photos", carried->photos},
                             {"recordings", carried->recordings},
                             {"profile", carried->profile},
                             {"written", carried->written}};
  reply.text += wrap("With it " + counted(carried->looms, "loom") + ", " + counted(carried->photos, "photo") +
                         (carried->profile ? ", " : " and ") + counted(carried->recordings, "recording") +
                         (carried->profile ? " and the profile" : "") + "; " + std::to_string(carried->written) +
                         " written, the rest was there. It is a book of its own: HALFSPLIT_BOOK=" + out +
                         " halfsplit jobs check. To go back, put the folder in the place of " + request.book.folder() +
                         " while no halfsplit runs.",
                     0) +
                "\n";
  return reply;
}

}  // namespace halfsplit::app
