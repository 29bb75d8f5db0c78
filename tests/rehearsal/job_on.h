// SPDX-License-Identifier: Apache-2.0
// A job in memory on one loom, for the tests of this folder.
#pragma once

#include <memory>
#include <string>

#include "app/session.h"
#include "base/fakes.h"

namespace halfsplit::test {

struct JobOn {
  // Begins anew, with nothing entered.
  void begin(const std::string& name, const std::string& loom) {
    files.files[name + ".loom.toml"] = loom;
    session = {};
    session.engine = context.cache.engine(context, name + ".loom.toml").value();
    session.state = candidates::at_work(session.drawing());
  }
  void enter(const std::string& verb, const std::string& what, const std::string& shows = "") {
    app::add_entry(context, session, verb, what, shows, 0.0);
  }
  const app::Belief& belief() { return session.engine->update(session.evidence, context.cancel); }

  base::MemoryFiles files;
  base::FixedClock clock{0};
  std::shared_ptr<app::Cache> cache = app::make_cache();
  app::Context context{files, clock, *cache, nullptr, {}};
  app::Session session;
};

}  // namespace halfsplit::test
