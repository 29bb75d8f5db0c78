// SPDX-License-Identifier: Apache-2.0
// The default strategy: look ahead over what could be done first, and further down where that pays, with a full rollout
// of the rule of thumb (rollout.h) at every edge of what was looked at. It keeps the cost of the best plan found (never
// too low) and a lower bound (bounds.h), so it can say how far from the best it may be; when the two meet, the plan is
// the best. Anytime: more work, better plan, tighter bound. Deterministic: work is counted in looks (one test weighed
// in one place; some 0.1 to 1 us each), not read from a clock. Minutes. Belongs to one caller; may be asked about many
// places of one problem.
#pragma once

#include <cstddef>
#include <vector>

#include "base/cancel.h"
#include "plan/decide.h"
#include "plan/memo.h"
#include "plan/relaxed.h"
#include "plan/rollout.h"
#include "plan/survey.h"

namespace halfsplit::plan {

struct LookaheadOptions {
  double floor = 1e-3;              // branches less likely than this are closed with the plainest plan
  std::size_t first_wave = 8;       // candidates rolled out before anything is looked at twice
  std::size_t sure_candidates = 2;  // of these, so many even when the work is spent
};

// One way to start.
struct LookaheadStep {
  Step step;
  double expected_minutes = 0.0;  // infinite: not rolled out
  double lower_bound = 0.0;
};

class Lookahead {
 public:
  // Both of the same model.
  Lookahead(Survey& survey, RelaxedBound& relaxed, const LookaheadOptions& options, const base::CancelToken& cancel)
      : survey_(&survey),
        relaxed_(&relaxed),
        rollout_(survey),
        store_(survey.model()),
        options_(options),
        cancel_(cancel) {}

  // Starts at a place and rolls out the first wave, spending at most about `work` looks.
  void start(const Start& start, std::size_t work);
  // Goes on for about `work` looks more, or until the best plan is found.
  void improve(std::size_t work);

  [[nodiscard]] double expected_minutes() const { return nodes_.front().high; }
  [[nodiscard]] double lower_bound() const { return nodes_.front().low; }
  [[nodiscard]] bool finished() const;
  // False: the job has ended, or nothing tells more.
  [[nodiscard]] bool has_steps() const { return !nodes_.front().edges.empty(); }
  [[nodiscard]] Action best() const;
  // Every way to start, cheapest first; those not rolled out last.
  [[nodiscard]] std::vector<LookaheadStep> steps() const;
  [[nodiscard]] std::size_t work() const { return work_ + rollout_.work(); }

 private:
  using NodeNumber = std::uint32_t;
  struct Link {
    NodeNumber node = 0;
    double probability = 0.0;
  };
  // Figures are per mass.
  struct Edge {
    Step step;
    double low = 0.0;          // no plan that starts so is cheaper
    double high = 0.0;         // of a plan found; infinite until opened
    double guess = 0.0;        // before it is opened
    double own_minutes = 0.0;  // once opened: without what the links cost
    std::vector<Link> links;
    bool opened = false;
  };
  struct Node {
    Belief belief;
    SetNumber made = 0;
    std::vector<std::uint16_t> tests;
    std::vector<Seen> seen;
    std::vector<Edge> edges;
    double low = 0.0;
    double high = 0.0;
    bool expanded = false;
  };
  using Path = std::vector<std::pair<NodeNumber, std::size_t>>;

  [[nodiscard]] double relaxed_bound(const Node& node, std::size_t work);
  NodeNumber add_node(const Belief& belief, SetNumber made, TestList tests);
  [[nodiscard]] NodeNumber child(const Belief& belief, SetNumber made, TestList tests);
  void expand(NodeNumber number);
  void open(NodeNumber number, std::size_t edge);
  [[nodiscard]] std::vector<Link> link_outcomes(const Node& from, const Step& step, double& ended);
  [[nodiscard]] std::size_t pick_edge(const Node& node) const;
  [[nodiscard]] NodeNumber pick_child(const Edge& edge) const;
  void improve_once();
  void refresh(NodeNumber number, std::size_t edge);
  void settle(Node& node) const;
  void sharpen_root(std::size_t work);
  void open_first_wave(std::size_t limit);

  Survey* survey_;
  RelaxedBound* relaxed_;
  Rollout rollout_;
  BeliefStack store_;  // the nodes' beliefs
  LookaheadOptions options_;
  base::CancelToken cancel_;
  std::deque<Node> nodes_;  // a deque: a node stays where it is while others are added
  Memo<NodeNumber> known_;
  Path path_;
  std::vector<Step> steps_;
  std::size_t work_ = 0;
};

}  // namespace halfsplit::plan
