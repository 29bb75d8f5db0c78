// SPDX-License-Identifier: Apache-2.0
#include "formats/job_code.h"

#include <gtest/gtest.h>

#include "base/rng.h"

namespace halfsplit::formats {
namespace {

job::Job small_job() {
  job::Job job;
  job.loom = "shelf:gritter";
  job.vehicle = "Räumer 7";
  job.complaint = "oil temperature shows nothing";
  job.opened_at = "2026-11-26T03:00:00Z";
  job.drawn = {{"wire a.1", "12345678"}};
  for (int i = 1; i <= 20; ++i)
    job.entries.push_back(
        {i, "2026-11-26T03:10:00Z", "saw", "volts J4:" + std::to_string(i) + "@cab chassis", "23.8V", 1.5, false, ""});
  return job;
}

TEST(JobCode, TheWorkedExamplesOfTheStandard) {  // RFC 9285, section 4.3 and 4.4
  EXPECT_EQ(base45_encode("AB"), "BB8");
  EXPECT_EQ(base45_encode("Hello!!"), "%69 VD92EX0");
  EXPECT_EQ(base45_encode("base-45"), "UJCLQE7W581");
  EXPECT_EQ(*base45_decode("QED8WEX0"), "ietf!");
  EXPECT_FALSE(base45_decode("GGW").ok() && base45_decode(":::").ok());
}

TEST(JobCode, TheJobComesBack) {
  const job::Job job = small_job();
  const auto code = write_job_code(job);
  ASSERT_TRUE(code.ok());
  EXPECT_LT(code->size(), 1000U);
  const auto again = read_job_code(*code);
  ASSERT_TRUE(again.ok()) << base::format_diagnostics(again.diagnostics());
  EXPECT_EQ(again->vehicle, job.vehicle);
  EXPECT_EQ(again->complaint, job.complaint);
  ASSERT_EQ(again->entries.size(), 20U);
  EXPECT_EQ(again->entries[19].what, "volts J4:20@cab chassis");
}

TEST(JobCode, DamageIsNoticed) {
  const std::string code = *write_job_code(small_job());
  EXPECT_FALSE(read_job_code("something").ok());
  EXPECT_FALSE(read_job_code(code.substr(0, code.size() - 4)).ok());
  base::Rng rng(5);
  for (int round = 0; round < 300; ++round) {
    std::string damaged = code;
    damaged[11 + rng.below(damaged.size() - 11)] = static_cast<char>('0' + rng.below(10));
    EXPECT_TRUE(damaged == code || !read_job_code(damaged).ok()) << damaged;
  }
}

}  // namespace
}  // namespace halfsplit::formats
