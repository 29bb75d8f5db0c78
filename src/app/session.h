// SPDX-License-Identifier: Apache-2.0
// A job open at work: the document, the loom it is about, and what its entries add up to - the state of the vehicle,
// the evidence, the repairs. Everything here follows from the job file and the loom; nothing is kept that they do not
// say.
#pragma once

#include <map>
#include <memory>
#include <string>
#include <variant>
#include <vector>

#include "app/belief.h"
#include "app/code_list.h"
#include "app/operation.h"
#include "candidates/state.h"
#include "job/job.h"

namespace halfsplit::app {

// What a "did" says: an act made or undone, or a repair.
struct Deed {
  enum class Kind : std::uint8_t { kMake, kUndo, kRepair };
  Kind kind = Kind::kMake;
  candidates::Act act;
  fault::RepairId repair;
};

// Reads "cab-raised", "undo cab-raised", "unplug J4", "plug J4", "fit 1k at B7:1 B7:2", "fit lead at A B", "remove
// ...", "swap F3", "put back F3", "repaired J4:12". Errors: did.empty, did.unknown, did.unknown-name.
[[nodiscard]] base::Result<Deed> parse_deed(const LoadedLoom& loom, std::string_view text);
// The same, and "repaired A and B": several repairs in the order said.
[[nodiscard]] base::Result<std::vector<Deed>> parse_deeds(const LoadedLoom& loom, std::string_view text);
// Canonical words of a deed.
[[nodiscard]] std::string format_deed(const LoadedLoom& loom, const Deed& deed);

struct Session {
  std::string path;     // of the job file
  std::string as_read;  // that file's text; empty: the job is new
  job::Job job;
  std::shared_ptr<BeliefEngine> engine;
  circuit::Configuration state;  // as the entries leave it
  std::vector<Evidence> evidence;
  std::vector<OtherCode> others;          // codes seen that nothing on the drawing can set
  std::vector<fault::RepairId> repaired;  // in order
  std::vector<base::Diagnostic> notes;    // entries that no longer fit the loom, the loom changed

  [[nodiscard]] const LoadedLoom& loom() const { return engine->loom(); }
  [[nodiscard]] const circuit::Loom& drawing() const { return engine->loom().loom; }
};

class Cache {
 public:
  // The engine for a loom as its files stand now, read with that meter; the same text gives the same engine.
  [[nodiscard]] base::Result<std::shared_ptr<BeliefEngine>> engine(
      Context& context, const std::string& path, const meters::MeterProfile& meter = meters::default_meter(),
      const TaughtUntil& until = {});

 private:
  std::map<std::string, std::shared_ptr<BeliefEngine>> engines_;
};

// Finds the job: `given`, or the only *.job.toml in this folder. Errors: job.none, job.several, and those of reading.
[[nodiscard]] base::Result<Session> open_session(Context& context, const std::string& given);
// The job alone, as its file has it; `path` is where it was found, `as_read` the file's text where it is wanted.
[[nodiscard]] base::Result<job::Job> read_job(Context& context, const std::string& given, std::string& path,
                                              std::string* as_read = nullptr);
// Works out state and evidence anew from the entries.
void replay(Session& session);
// Writes the job file, when it is as it was read. Errors: file.changed, and those of writing.
[[nodiscard]] base::Result<base::Done> save(Context& context, Session& session);

// Adds an entry and replays; the entry's number is returned.
int add_entry(Context& context, Session& session, const std::string& verb, const std::string& what,
              const std::string& shows, double minutes);

[[nodiscard]] candidates::Roll roll_of(const job::Kit& kit);
[[nodiscard]] candidates::GenerateInput generate_input(Session& session, const candidates::Roll& roll,
                                                       const Belief& belief);
[[nodiscard]] std::string iso_time(std::int64_t seconds);

}  // namespace halfsplit::app
