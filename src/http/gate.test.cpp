// SPDX-License-Identifier: Apache-2.0
#include "http/gate.h"

#include <gtest/gtest.h>

#include "base/rng.h"
#include "http/gate_fixture.h"

namespace halfsplit::http {
namespace {

class GateTest : public ::testing::Test, protected GateFixture {
 protected:
  Decision decide(const RequestHead& head) { return gate.decide(head, now_ += 1000); }
  std::string code(const RequestHead& head) { return decide(head).code; }
  std::int64_t now_ = kNow;
};

TEST_F(GateTest, ThePageItselfIsLetThrough) {
  EXPECT_EQ(decide(get("/")).route, Route::kAsset);
  EXPECT_EQ(decide(get("/page.js")).name, "page.js");
  const Decision run = decide(post("/api/next"));
  EXPECT_EQ(run.route, Route::kOperation);
  EXPECT_EQ(run.name, "next");
  EXPECT_TRUE(run.here);
  EXPECT_EQ(run.most_body, kMostJsonBody);
  EXPECT_EQ(decide(get("/events?job=book%3A7")).query.at("job"), "book:7");
  EXPECT_EQ(decide(get("/photo/" + std::string(64, 'a'))).route, Route::kPhoto);
}

TEST_F(GateTest, AnotherNameIsRefused) {  // DNS rebinding
  for (const char* host : {"evil.example:8471", "127.0.0.1", "127.0.0.1:80", "", "127.0.0.1:8471.evil.example"}) {
    RequestHead head = post("/api/next");
    set(head, "host", host);
    set(head, "origin", std::string("http://") + host);
    EXPECT_EQ(code(head), "http.wrong-host") << host;
  }
  RequestHead none = get("/");
  drop(none, "host");
  EXPECT_EQ(code(none), "http.wrong-host");
  RequestHead twice = get("/");
  twice.headers.emplace_back("host", "evil.example");
  EXPECT_EQ(code(twice), "http.wrong-host");
  std::swap(twice.headers.front(), twice.headers.back());  // ours last
  EXPECT_EQ(code(twice), "http.wrong-host");
}

TEST_F(GateTest, AnotherPageChangesNothing) {
  RequestHead head = post("/api/next");
  drop(head, "origin");
  EXPECT_EQ(code(head), "http.no-origin");
  for (const char* origin :
       {"null", "http://evil.example", "https://127.0.0.1:8471", "http://127.0.0.1:9", "http://localhost:8471"}) {
    set(head, "origin", origin);
    EXPECT_EQ(code(head), "http.wrong-origin") << origin;
  }
  RequestHead read = get("/api/operations");
  set(read, "origin", "http://evil.example");
  EXPECT_EQ(code(read), "http.wrong-origin");
}

TEST_F(GateTest, AnotherPageReadsNothingAndMayLeadHere) {
  for (const char* site : {"cross-site", "same-site", "odd"}) {
    for (const char* target : {"/events", "/api/operations", "/page.js", "/photo/00"}) {
      RequestHead head = get(target);
      set(head, "sec-fetch-site", site);
      EXPECT_EQ(code(head), "http.other-site") << site << " " << target;
    }
    RequestHead link = get("/");
    set(link, "sec-fetch-site", site);
    EXPECT_EQ(code(link), "http.other-site") << "not a navigation";
    set(link, "sec-fetch-mode", "navigate");
    set(link, "sec-fetch-dest", "iframe");
    EXPECT_EQ(code(link), "http.other-site") << "in a frame";
    set(link, "sec-fetch-dest", "document");
    EXPECT_EQ(decide(link).route, Route::kAsset);
  }
}

TEST_F(GateTest, WithoutACookieThereIsOnlyThePage) {
  for (const std::string& value : {std::string(), std::string(32, '0'), here() + "0", phone().substr(1)}) {
    RequestHead head = post("/api/next");
    set(head, "cookie", cookie(value));
    EXPECT_EQ(code(head), "http.no-session") << value;
  }
  RequestHead none = get("/events");
  drop(none, "cookie");
  EXPECT_EQ(code(none), "http.no-session");
  none.target = "/";
  EXPECT_EQ(decide(none).route, Route::kAsset);
}

TEST_F(GateTest, TheCookieOfThisMachineIsGoodOnThisMachineOnly) {
  RequestHead head = post("/api/next");
  head.peer = "192.168.1.9";
  head.peer_is_here = false;
  EXPECT_EQ(code(head), "http.no-session");
  set(head, "cookie", "other=1; " + cookie(phone()));
  EXPECT_EQ(decide(head).route, Route::kOperation);
}

TEST_F(GateTest, APhoneDoesNotLetOthersIn) {
  RequestHead head = post("/api/devices/pair");
  EXPECT_EQ(decide(head).route, Route::kMakePairing);
  set(head, "cookie", cookie(phone()));
  for (const char* target : {"/api/devices/pair", "/api/devices/revoke"}) {
    head.target = target;
    EXPECT_EQ(code(head), "http.only-here") << target;
  }
}

TEST_F(GateTest, ARevokedPhoneIsOut) {
  RequestHead head = post("/api/next");
  set(head, "cookie", cookie(phone()));
  EXPECT_EQ(decide(head).route, Route::kOperation);
  EXPECT_TRUE(gate.sessions().revoke(2));
  EXPECT_EQ(code(head), "http.no-session");
  EXPECT_FALSE(gate.sessions().revoke(1)) << "the screen at the machine is no phone";
}

TEST_F(GateTest, BodiesAreCappedAndTyped) {
  EXPECT_EQ(decide(post("/api/next", kMostJsonBody)).route, Route::kOperation);
  EXPECT_EQ(decide(post("/api/next", kMostJsonBody + 1)).status, 413);
  RequestHead head = post("/api/next");
  for (const char* length : {"-1", "1e3", "0x10", "99999999999999999999999999", "+5"}) {
    set(head, "content-length", length);
    EXPECT_EQ(decide(head).route, Route::kRefused) << length;
  }
  head = post("/api/next");
  for (const char* type : {"text/plain", "", "application/x-www-form-urlencoded", "application/jsonx"}) {
    set(head, "content-type", type);
    EXPECT_EQ(code(head), "http.wrong-type") << type;
  }
  set(head, "content-type", "application/json; charset=utf-8");
  EXPECT_EQ(decide(head).route, Route::kOperation);
  RequestHead photo = post("/photo?job=book:1", kMostPhotoBody);
  set(photo, "content-type", "image/jpeg");
  EXPECT_EQ(decide(photo).route, Route::kAddPhoto);
  RequestHead recording = post("/recording?job=book:1&name=run.log", kMostRecordingBody);
  EXPECT_EQ(code(recording), "http.wrong-type");
  set(recording, "content-type", "application/octet-stream");
  EXPECT_EQ(decide(recording).route, Route::kAddRecording);
  set(recording, "content-length", std::to_string(kMostRecordingBody + 1));
  EXPECT_EQ(code(recording), "http.too-large");
  drop(recording, "cookie");
  EXPECT_EQ(code(recording), "http.no-session");
}

TEST_F(GateTest, PathsArePlainOrRefused) {
  for (const char* target : {"/../etc/passwd", "/%2e%2e/x", "/a//b", "/a\\b", "/page.js%00.png", "*", "http://x/", "",
                             "/ä", "/x?a=%zz", "/x?a=1&a=2", "/x?a=%00"})
    EXPECT_NE(decide(get(target)).status, 200) << target;
  EXPECT_EQ(decide(get(std::string("/") + std::string(2000, 'a'))).status, 400);
}

TEST_F(GateTest, AWrongMethodSaysTheRightOnes) {
  const Decision no = decide(get("/api/next"));
  EXPECT_EQ(no.status, 405);
  EXPECT_EQ(no.allow, "POST");
  RequestHead put = post("/pair");
  put.method = "DELETE";
  EXPECT_EQ(decide(put).allow, "GET, POST");
}

TEST_F(GateTest, AFloodFromOutsideDoesNotShutTheUserOut) {
  RequestHead stranger = get("/");
  drop(stranger, "cookie");
  int refused = 0;
  for (int i = 0; i < 1000; ++i) refused += gate.decide(stranger, now_).status == 429 ? 1 : 0;
  EXPECT_EQ(refused, 940) << "a burst of sixty at one moment";
  EXPECT_EQ(gate.decide(post("/api/next"), now_).route, Route::kOperation);
  EXPECT_EQ(gate.decide(stranger, now_ + 1000).status, 200) << "twenty more a second later";
}

TEST_F(GateTest, AStartSecretWorksOnce) {
  const std::string start = gate.sessions().make_start();
  RequestHead head = get("/start?secret=" + start);
  set(head, "sec-fetch-site", "cross-site");  // from a file of the user's own
  set(head, "sec-fetch-mode", "navigate");
  set(head, "sec-fetch-dest", "document");
  EXPECT_EQ(decide(head).name, start);
  EXPECT_TRUE(gate.sessions().use_start(start, now_).has_value());
  EXPECT_FALSE(gate.sessions().use_start(start, now_).has_value());
  head.peer_is_here = false;
  EXPECT_EQ(code(head), "http.only-here");
  EXPECT_EQ(code(get("/start?secret=12")), "http.wrong-secret");
}

TEST_F(GateTest, APairingIsGoodOnceAndForMinutes) {
  Sessions& sessions = gate.sessions();
  std::string secret = sessions.make_pairing(now_);
  EXPECT_EQ(sessions.pair(secret, "a", "10.0.0.1", now_ + 5 * 60 * 1000).outcome, PairOutcome::kNone) << "too late";
  secret = sessions.make_pairing(now_);
  EXPECT_EQ(sessions.pair(secret, "a", "10.0.0.1", now_ + 1).outcome, PairOutcome::kPaired);
  EXPECT_EQ(sessions.pair(secret, "b", "10.0.0.2", now_ + 2).outcome, PairOutcome::kNone) << "used";
}

// A hundred thousand guesses, from one address and from many: nobody gets in, guessers are locked, the secret is
// withdrawn, and who was in stays in.
TEST_F(GateTest, GuessingAPairingIsHopeless) {
  base::Rng rng(7);
  Sessions& sessions = gate.sessions();
  const std::string right = sessions.make_pairing(now_);
  int locked = 0;
  for (int i = 0; i < 100'000; ++i) {
    std::string guess = right;
    guess[rng.below(32)] = 'x';
    const std::string from =
        i % 2 == 0 ? "10.0.0.1" : "10.0." + std::to_string(i % 200) + "." + std::to_string(i % 250);
    const PairOutcome outcome = sessions.pair(guess, "guess", from, now_ + i / 1000).outcome;
    ASSERT_NE(outcome, PairOutcome::kPaired);
    locked += outcome == PairOutcome::kLocked ? 1 : 0;
  }
  EXPECT_GT(locked, 49'000);
  EXPECT_EQ(sessions.pair(right, "late", "10.9.9.9", now_ + 200).outcome, PairOutcome::kNone) << "withdrawn";
  RequestHead head = post("/api/next");
  set(head, "cookie", cookie(phone()));
  EXPECT_EQ(decide(head).route, Route::kOperation);
}

TEST_F(GateTest, ALockedGuesserMayTryAgainAfterAMinute) {
  Sessions& sessions = gate.sessions();
  const std::string right = sessions.make_pairing(now_);
  for (int i = 0; i < 5; ++i) EXPECT_EQ(sessions.pair("no", "x", "10.0.0.1", now_).outcome, PairOutcome::kWrong);
  EXPECT_EQ(sessions.pair(right, "x", "10.0.0.1", now_ + 59'000).outcome, PairOutcome::kLocked);
  EXPECT_EQ(sessions.pair(right, "x", "10.0.0.1", now_ + 60'000).outcome, PairOutcome::kPaired);
}

TEST(Secret, IsOf128BitsAndNeverTheSame) {
  const std::string one = make_secret();
  EXPECT_TRUE(is_secret(one));
  EXPECT_NE(one, make_secret());
  EXPECT_TRUE(same_secret(one, std::string(one)));
  EXPECT_FALSE(same_secret(one, one.substr(1)));
  EXPECT_FALSE(same_secret(one, one.substr(0, 31) + (one[31] == '0' ? "1" : "0")));
}

}  // namespace
}  // namespace halfsplit::http
