// SPDX-License-Identifier: Apache-2.0
// The program at work on a virtual vehicle: asks itself what is next, does it, sees what the vehicle shows, until the
// repair is proven. Keeps the story, the score, and what it believed at every step against what was true.
#pragma once

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "app/advice.h"
#include "app/claims.h"
#include "app/proof.h"
#include "app/virtual_vehicle.h"

namespace halfsplit::app {

// Where a job's minutes go. Sum: all of them.
struct Spent {
  double setups = 0.0;  // before readings
  double readings = 0.0;
  double repairs = 0.0;        // of what was truly wrong, with their setups
  double wrong_repairs = 0.0;  // of anything else, with theirs
  double proofs = 0.0;         // two minutes for each look, and back to work before it
  double leaving = 0.0;        // putting back at the end
  [[nodiscard]] double minutes() const { return setups + readings + repairs + wrong_repairs + proofs + leaving; }
  void add(const Spent& other) {
    setups += other.setups;
    readings += other.readings;
    repairs += other.repairs;
    wrong_repairs += other.wrong_repairs;
    proofs += other.proofs;
    leaving += other.leaving;
  }
};

struct Score {
  std::string fault;
  std::string kind;          // of the fault
  bool right = false;        // mended at the end
  bool first_right = false;  // the first repair chosen mended it
  bool gave_up = false;
  int tests = 0;
  int repairs = 0;
  int wrong_parts = 0;
  double minutes = 0.0;
  Spent spent;
  double paid_minutes = 0.0;  // with parts bought as minutes of pay: what the plan's minutes are to be held against
  // Of the first thing advised: what it said the job would take, parts paid; what no plan undercuts; whether they meet.
  double expected_minutes = 0.0;
  double bound_minutes = 0.0;
  bool exact = false;
};

class Player {
 public:
  Player(Context& context, std::shared_ptr<BeliefEngine> engine, VirtualVehicle vehicle, Chooser strategy = {});
  // An entry behind the complaint, before the first test.
  void tell_first(const std::string& verb, const std::string& what, const std::string& shows) {
    told_first_.push_back({verb, what, shows});
  }
  Score play();
  [[nodiscard]] const std::string& story() const { return story_; }
  [[nodiscard]] const std::vector<Claim>& claims() const {
    return claims_;
  }  // of every repair above 1 %, at every step
  [[nodiscard]] const std::vector<Claim>& stops() const {
    return stops_;
  }  // of the repair chosen, when testing stopped

 private:
  void say(const std::string& line) { story_ += line + "\n"; }
  void enter(const std::string& verb, const std::string& what, const std::string& shows);
  void open();
  void note_start(const Advice& advice);
  void see(const evidence::Observable& what, const evidence::Seen& seen, const std::string& indent);
  void say_standing();
  void note_claims();
  void do_steps(const Advice& advice);
  void one_step(const Advice& advice);
  [[nodiscard]] evidence::Observable in_state(evidence::Observable what) const;
  [[nodiscard]] bool needs(fault::RepairId repair) const;  // of what is truly wrong
  void repair(const Advice& advice);
  void prove();
  void put_back();
  void leave();

  struct Told {
    std::string verb, what, shows;
  };

  Context& context_;
  std::vector<Told> told_first_;
  Session session_;
  VirtualVehicle vehicle_;
  Chooser strategy_;
  Score score_;
  std::string story_;
  std::vector<Claim> claims_, stops_;
  int looks_ = 0;  // since the last repair
  bool done_ = false;
};

// "121.7", "OL", "dim": a reading as it would be typed.
[[nodiscard]] std::string typed(const evidence::Observable& what, const evidence::Seen& seen);

}  // namespace halfsplit::app
