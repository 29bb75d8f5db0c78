// SPDX-License-Identifier: Apache-2.0
// The whole line through the one door: from a complaint to a proven repair on a virtual vehicle, the job kept in
// memory.
#include <gtest/gtest.h>

#include <map>

#include "app/memory_files.h"
#include "app/operation.h"
#include "base/bytes.h"
#include "tests/support/example_loom.h"

namespace halfsplit {
namespace {

using app::Json;

class ReadOnlyFiles final : public base::Files {
 public:
  base::Result<std::string> read(const std::string& path, std::size_t) override { return test::read_file(path); }
  base::Result<std::unique_ptr<base::ByteSource>> open(const std::string& path) override {
    return base::open_text(read(path, std::string::npos));
  }
  base::Result<base::Done> write(const std::string& path, std::string_view) override {
    return base::make_error("file.unwritable", path);
  }
  bool exists(const std::string&) override { return false; }
  std::vector<std::string> list(const std::string&) override { return {}; }
};

class StillClock final : public base::Clock {
 public:
  std::int64_t now_s() override { return 1795600000; }
};

class WholeJob : public ::testing::Test {
 protected:
  app::Reply call(const std::string& operation, const std::map<std::string, std::string>& values) {
    app::Arguments arguments;
    for (const auto& [name, value] : values) arguments.add(name, value);
    return app::run_operation(context_, operation, arguments);
  }
  app::Reply job(const std::string& operation, std::map<std::string, std::string> values = {}) {
    values["job"] = "mem:job";
    return call(operation, values);
  }
  void open(const std::string& example) {
    const app::Reply reply =
        call("open", {{"loom", loom(example)}, {"complaint", "it does not work"}, {"job", "mem:job"}});
    ASSERT_EQ(reply.exit_code, 0) << base::format_diagnostics(reply.diagnostics);
  }
  static std::string loom(const std::string& example) {
    return std::string(".") + "/examples/" + example + "/" + example + ".loom.toml";
  }
  double probability_of(const std::string& repair) {
    const app::Reply reply = job("suspects", {{"quick", "true"}});
    for (const Json& group : reply.result["groups"])
      if (group["repair"] == repair) return group["probability"].get<double>();
    return 0.0;
  }

  ReadOnlyFiles disk_;
  app::MemoryFiles files_{disk_};
  StillClock clock_;
  std::shared_ptr<app::Cache> cache_ = app::make_cache();
  app::Context context_{files_, clock_, *cache_, nullptr, {}};
};

TEST_F(WholeJob, EachDemoFaultIsMendedByReadingsTheProgramChose) {
  const std::map<std::string, std::map<std::string, std::string>> hidden = {
      {"gritter", {{"fault", "J5:3 open"}, {"seed", "3"}}},
      {"tipper-trailer", {{"fault", "GR high"}, {"severity", "0.15"}, {"seed", "5"}}},
      {"refuse-truck", {{"fault", "J8:2 open"}, {"seed", "3"}}},
      {"road-sweeper", {{"fault", "J5:1 open"}, {"seed", "5"}}}};
  for (auto [example, values] : hidden) {
    values["loom"] = loom(example);
    const app::Reply reply = call("rehearse", values);
    ASSERT_EQ(reply.exit_code, 0) << example;
    const Json& run = reply.result["runs"][0];
    EXPECT_TRUE(run["right"].get<bool>()) << example << "\n" << reply.text;
    EXPECT_EQ(run["wrong_parts"].get<int>(), 0) << example;
    EXPECT_LE(run["tests"].get<int>(), 8) << example;
  }
}

TEST_F(WholeJob, AReadingMovesBeliefTheWayThePhysicsSays) {
  open("gritter");
  job("saw", {{"what", "code SPN 520210 FMI 3"}, {"shows", "active"}});
  const double before = probability_of("remake contact J2:5");
  // Open-circuit volts at the bulkhead plug's chassis side: everything up to there is good.
  ASSERT_EQ(job("saw", {{"what", "volts J2:5@chassis J2:6@chassis"}, {"shows", "4.98"}}).exit_code, 0);
  EXPECT_LT(probability_of("remake contact J2:5"), before / 5.0);
  EXPECT_GT(probability_of("replace sensor B12"), 0.1);
}

TEST_F(WholeJob, UndoTakesAnEntryBackAndAgainBringsItBack) {
  open("gritter");
  job("saw", {{"what", "code SPN 520210 FMI 3"}, {"shows", "active"}});
  const double before = probability_of("replace sensor B12");
  job("saw", {{"what", "volts J2:5@chassis J2:6@chassis"}, {"shows", "0.01"}});
  const double after = probability_of("replace sensor B12");
  ASSERT_NE(before, after);
  job("undo");
  EXPECT_DOUBLE_EQ(probability_of("replace sensor B12"), before);
  job("undo", {{"entry", "3"}});
  EXPECT_DOUBLE_EQ(probability_of("replace sensor B12"), after);
}

TEST_F(WholeJob, ABareNumberAnswersTheTestJustProposed) {
  open("gritter");
  EXPECT_EQ(job("saw", {{"what", "4.98"}}).exit_code, 3);
  job("saw", {{"what", "code SPN 520210 FMI 3"}, {"shows", "active"}});
  const app::Reply next = job("next");
  ASSERT_EQ(next.result["kind"], "test");
  const app::Reply saw = job("saw", {{"what", "4.98"}});
  ASSERT_EQ(saw.exit_code, 0) << base::format_diagnostics(saw.diagnostics);
  EXPECT_EQ(saw.result["saw"], next.result["test"]["what"]);
}

TEST_F(WholeJob, ASkippedTestIsPlannedAround) {
  open("gritter");
  job("saw", {{"what", "code SPN 520210 FMI 3"}, {"shows", "active"}});
  const Json first = job("next").result["test"]["what"];
  ASSERT_EQ(job("skip").exit_code, 0);
  EXPECT_NE(job("next").result["test"]["what"], first);
}

TEST_F(WholeJob, OhmsOnALiveCircuitAreRefusedWithTheReason) {
  open("gritter");
  const app::Reply reply = job("saw", {{"what", "ohms F4:2 chassis"}, {"shows", "60"}});
  EXPECT_EQ(reply.exit_code, 3);
  ASSERT_FALSE(reply.diagnostics.empty());
  EXPECT_EQ(reply.diagnostics.front().code, "test.refused");
  EXPECT_NE(reply.diagnostics.front().message.find("supply off"), std::string::npos);
}

TEST_F(WholeJob, NothingCertainAndNotOnThisDrawingAlwaysInTheList) {
  open("gritter");
  job("saw", {{"what", "code SPN 520210 FMI 3"}, {"shows", "active"}});
  job("saw", {{"what", "volts J5:2@chassis J5:3@chassis"}, {"shows", "4.98"}});
  job("saw", {{"what", "volts J5:2@body J5:3@body"}, {"shows", "0.0"}});
  const app::Reply reply = job("suspects", {{"quick", "true"}});
  bool there = false;
  double sum = 0.0;
  for (const Json& group : reply.result["groups"]) {
    there = there || group["repair"] == "not on this drawing";
    EXPECT_LT(group["probability"].get<double>(), 1.0);
    sum += group["probability"].get<double>();
  }
  EXPECT_TRUE(there);
  EXPECT_LE(sum, 1.0 + 1e-9);
}

TEST_F(WholeJob, ARepairThatDidNotHelpCountsAgainstItsFaults) {
  open("gritter");
  job("saw", {{"what", "code SPN 520210 FMI 3"}, {"shows", "active"}});
  const double before = probability_of("replace sensor B12");
  job("did", {{"what", "repaired replace sensor B12"}});
  job("saw", {{"what", "code SPN 520210 FMI 3"}, {"shows", "active"}});
  EXPECT_LT(probability_of("replace sensor B12"), before / 5.0);
}

TEST_F(WholeJob, TheJobDoesNotCloseOverWhatIsLeftBehind) {
  open("gritter");
  job("did", {{"what", "body-raised"}});
  job("did", {{"what", "unplug J5"}});
  const app::Reply refused = job("close");
  EXPECT_EQ(refused.exit_code, 3);
  EXPECT_EQ(refused.result["left_behind"].size(), 2U);
  job("did", {{"what", "plug J5"}});
  job("did", {{"what", "undo body-raised"}});
  EXPECT_EQ(job("close").exit_code, 0);
}

TEST_F(WholeJob, TheSameRequestsGiveTheSameBytes) {
  std::string bytes[2];
  for (std::string& text : bytes) {
    cache_ = app::make_cache();
    app::Context fresh{files_, clock_, *cache_, nullptr, {}};
    app::Arguments arguments;
    arguments.add("loom", loom("gritter"));
    arguments.add("complaint", "x");
    arguments.add("job", "mem:twice");
    arguments.add("force", "true");
    text += app::to_json_text(app::run_operation(fresh, "open", arguments));
    app::Arguments saw;
    saw.add("job", "mem:twice");
    saw.add("what", "code SPN 520210 FMI 3");
    saw.add("shows", "active");
    text += app::to_json_text(app::run_operation(fresh, "saw", saw));
    app::Arguments next;
    next.add("job", "mem:twice");
    text += app::to_json_text(app::run_operation(fresh, "next", next));
  }
  EXPECT_EQ(bytes[0], bytes[1]);
}

TEST_F(WholeJob, BadRequestsAreRefusedNeverThrown) {
  EXPECT_EQ(app::run_json(context_, "not json").exit_code, 2);
  EXPECT_EQ(app::run_json(context_, "[]").exit_code, 2);
  EXPECT_EQ(app::run_json(context_, R"({"operation":"nonsense"})").exit_code, 2);
  EXPECT_EQ(app::run_json(context_, R"({"operation":"check","arguments":{"loom":{"a":1}}})").exit_code, 2);
  EXPECT_EQ(app::run_json(context_, R"({"operation":"check","arguments":{"loom":"nowhere.toml"}})").exit_code, 3);
  EXPECT_EQ(app::run_json(context_, R"({"operation":"next","arguments":{"job":"mem:none"}})").exit_code, 3);
}

}  // namespace
}  // namespace halfsplit
