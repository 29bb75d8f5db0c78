// SPDX-License-Identifier: Apache-2.0
// For benches: a job on a whole vehicle with a wire broken in a sensor's circuit, kept in memory and run through the
// operations that every door uses. Six pieces of evidence are in and thought through; more can be put in and taken
// back, each a reading not asked before. What is read comes from the slow path.
#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "app/operation.h"
#include "base/fakes.h"
#include "tests/support/example_loom.h"

namespace halfsplit::bench {

class WarmJob {
 public:
  WarmJob(const test::ExampleLoom& vehicle, const std::string& loom_text);
  // Takes the newest reading back, if one was put in, and thinks.
  void take_back();
  // Enters the next reading, which thinks it through already, then suspects and next.
  void see_another();
  // Why something did not work; empty: it did.
  [[nodiscard]] const std::string& trouble() const { return trouble_; }

 private:
  struct Reading {
    std::string what, shows;
  };
  void choose_readings(const test::ExampleLoom& vehicle);
  app::Reply call(const std::string& operation, const std::map<std::string, std::string>& values);
  void see(const Reading& reading);
  void think();

  base::MemoryFiles files_;
  base::FixedClock clock_{1795600000};
  std::shared_ptr<app::Cache> cache_ = app::make_cache();
  app::Context context_{files_, clock_, *cache_, nullptr, {}};
  std::vector<Reading> readings_;
  std::size_t next_ = 0;
  bool extra_ = false;
  std::string trouble_;
};

}  // namespace halfsplit::bench
