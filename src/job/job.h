// SPDX-License-Identifier: Apache-2.0
// A job as a document: which loom, which complaint, and every entry in the order it was made. What the entries mean for
// the circuit is worked out by app; a job remembers what people said and did, nothing that can be worked out again.
// Plain values; reading and writing is formats/job_text.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "meters/meter_profile.h"

namespace halfsplit::job {

// One thing seen or done. Struck entries stay in the file and count for nothing: that is what undo does.
struct Entry {
  int number = 0;        // from 1, never used again
  std::string at;        // ISO 8601, UTC
  std::string verb;      // "saw", "did", "note"
  std::string what;      // saw: "ohms J4:12@cab J4:13@cab"; did: "unplug J4"; note: free text
  std::string shows;     // saw: "121.7", "OL", "active"; empty otherwise
  double minutes = 0.0;  // spent, as planned or as told
  bool struck = false;
  std::string struck_at;
  friend bool operator==(const Entry&, const Entry&) = default;
};

// The test last proposed, so that a bare number can answer it.
struct Asked {
  std::string what;                // "ohms J4:12@cab J4:13@cab"
  std::vector<std::string> first;  // what to do before it: "cab-raised", "unplug J4"
  double minutes = 0.0;
  friend bool operator==(const Asked&, const Asked&) = default;
};

// What the technician has along (profile; overridable in the job).
struct Kit {
  std::vector<std::string> resistors = {"10R", "47R", "120R", "220R", "470R", "1k", "2k2", "4k7", "10k", "47k", "100k"};
  bool meter = true;
  bool test_lamp = true;
  bool clamp = true;
  bool long_lead = true;
  bool reader = true;    // a code reader
  bool heat_gun = true;  // hot air
  bool cold_spray = false;
  bool scope = false;            // or a meter that holds peaks of microseconds
  double money_per_hour = 90.0;  // turns money into minutes when weighing a part against a test
  double fetch_minutes = 0.0;    // to come by a part dearer than a quarter of an hour: road time, a second visit
  double road_minutes = 30.0;    // there and back: what it costs to come once more
  friend bool operator==(const Kit&, const Kit&) = default;
};

struct Job {
  int version = 1;
  std::string loom;        // path as given, relative to the job file
  std::string loom_print;  // fingerprint of the loom's text when the job was opened or last accepted
  std::string vehicle;
  std::string complaint;
  std::string customer;
  std::string opened_at;
  std::string closed_at;
  Kit kit;
  std::optional<meters::MeterProfile> meter;  // none: the common handheld
  // Each thing of the loom with a print of what it said when the job was opened, to tell later what changed.
  std::vector<std::pair<std::string, std::string>> drawn;
  std::vector<std::string> skipped;  // tests that cannot be reached, as `what`
  std::optional<Asked> asked;
  std::vector<Entry> entries;
  friend bool operator==(const Job&, const Job&) = default;
};

}  // namespace halfsplit::job
