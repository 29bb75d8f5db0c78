// SPDX-License-Identifier: Apache-2.0
// On the telephone, before the drive: from the complaint and the codes alone, what to bring and what to ask the driver.
// All instruments count as along; what is worth taking is the answer.
#pragma once

#include <string>
#include <vector>

#include "app/strategy.h"

namespace halfsplit::app {

struct Question {
  std::string asks;  // "Look at LD: bright, dim or dark?"
  std::string what;  // as in saw
  struct Answer {
    std::string seen;
    double chance = 0.0;
    std::string then_likely;
  };
  std::vector<Answer> answers;
  double bits = 0.0;  // about which repair is needed
};

struct PreVisit {
  struct Use {
    std::string repair, place;
    double chance = 0.0;
  };
  struct Part {
    std::string part;
    double chance = 0.0;    // that it is needed
    double money = 0.0;     // for one, the dearest of that name
    std::vector<Use> uses;  // the likeliest first
  };
  struct Need {
    std::string name, caution;
    double chance = 0.0;  // that the strategy uses it
    double minutes = 0.0;
  };
  std::vector<Part> parts;
  std::vector<Need> instruments;  // "meter", "long lead", "stand-in 120 ohm"
  std::vector<Need> room;         // setups that ask for room or help: "cab-raised"
  std::vector<Question> questions;
  double not_drawn = 0.0;
};

[[nodiscard]] PreVisit look_before_visit(const Session& session, const Belief& belief, const Strategy& strategy);

}  // namespace halfsplit::app
