// SPDX-License-Identifier: Apache-2.0
// Reads the planning instances of tests/data/planning (format: that folder's README) into a plan::Problem. Tests only:
// a file that is not as expected throws.
#pragma once

#include <algorithm>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <stdexcept>
#include <string>
#include <vector>

#include "plan/problem.h"

namespace halfsplit::test_support {

using OrderedJson = nlohmann::ordered_json;  // the order in the file is the numbering

inline OrderedJson read_json(const std::string& path) {
  std::ifstream file(path);
  if (!file) throw std::runtime_error("cannot open " + path);
  return OrderedJson::parse(file);
}

class PlanningReader {
 public:
  explicit PlanningReader(const OrderedJson& json) : json_(json) {}

  plan::Problem read() {
    problem_.goal = json_.value("goal", "repair") == "isolate" ? plan::Goal::kIsolate : plan::Goal::kRepair;
    for (const auto& [name, prior] : json_.at("faults").items()) {
      fault_[name] = problem_.faults.size();
      problem_.faults.push_back({name, prior.get<double>()});
    }
    read_setups();
    const OrderedJson tests = part("tests");  // named, since the loops below only borrow them
    const OrderedJson repairs = part("repairs");
    for (const auto& [name, test] : tests.items()) read_test(name, test);
    for (const auto& [name, repair] : repairs.items()) read_repair(name, repair);
    const OrderedJson check = part("check");
    problem_.check = {check.value("minutes", 0.0), conditions(check)};
    return problem_;
  }

 private:
  [[nodiscard]] OrderedJson part(const char* key) const { return json_.value(key, OrderedJson::object()); }

  [[nodiscard]] plan::SetupSet named(const OrderedJson& entry, const char* key) const {
    plan::SetupSet out;
    if (!entry.contains(key)) return out;
    for (const auto& name : entry.at(key)) out.insert(plan::SetupId(setup_.at(name)));
    return out;
  }

  [[nodiscard]] plan::Conditions conditions(const OrderedJson& entry) const {
    return {named(entry, "needs"), named(entry, "forbids")};
  }

  void read_setups() {
    const OrderedJson setups = part("setups");
    for (const auto& [name, setup] : setups.items()) setup_.emplace(name, setup_.size());
    for (const auto& [name, setup] : setups.items()) {
      problem_.setups.push_back(
          {name, setup.at("do"), setup.at("undo"), named(setup, "needs"), named(setup, "excludes")});
    }
  }

  void read_test(const std::string& name, const OrderedJson& json) {
    plan::Test test;
    test.name = name;
    test.minutes = json.at("minutes");
    test.conditions = conditions(json);
    std::vector<std::map<std::string, double>> rows;
    std::set<std::string> outcomes;
    for (const plan::Fault& fault : problem_.faults) {
      const OrderedJson& table = json.at("outcome");
      const OrderedJson& row = table.contains(fault.name) ? table.at(fault.name) : table.at("*");
      rows.emplace_back();
      if (row.is_object()) {
        for (const auto& [outcome, p] : row.items()) rows.back()[outcome] = p;
      } else {
        rows.back()[row] = 1.0;
      }
      for (const auto& [outcome, p] : rows.back()) outcomes.insert(outcome);
    }
    test.outcomes.assign(outcomes.begin(), outcomes.end());
    for (const auto& row : rows) {
      for (const std::string& outcome : test.outcomes)
        test.table.push_back(row.count(outcome) != 0 ? row.at(outcome) : 0.0);
    }
    problem_.tests.push_back(std::move(test));
  }

  void read_repair(const std::string& name, const OrderedJson& json) {
    plan::Repair repair;
    repair.name = name;
    for (const auto& fault : json.at("mends")) repair.mends.emplace_back(fault_.at(fault));
    repair.minutes = json.value("minutes", 0.0);
    repair.conditions = conditions(json);
    problem_.repairs.push_back(std::move(repair));
  }

  const OrderedJson& json_;
  plan::Problem problem_;
  std::map<std::string, std::size_t> fault_;
  std::map<std::string, std::size_t> setup_;
};

inline plan::Problem read_planning_instance(const std::string& path) {
  const OrderedJson json = read_json(path);
  return PlanningReader(json).read();
}

}  // namespace halfsplit::test_support
