// SPDX-License-Identifier: Apache-2.0
// Which relays, modules and drivers may hold themselves: a relay whose contact can lead back to its own coil, a module
// whose own output can lead back to its own supply (where a fault joins something, its rail as well), a driver whose
// pin can lead back to the input it follows. By the drawing alone, whatever the states: "may" and not "does"; what may
// not holds itself under no fault that joins nothing. Answers are worked out when first asked. The model must outlive
// it.
#pragma once

#include <cstdint>
#include <span>
#include <unordered_map>
#include <utility>
#include <vector>

#include "electrical/model.h"

namespace halfsplit::electrical {

class Latches {
 public:
  // Two nodes that a fault has joined.
  using Joined = std::pair<NodeId, NodeId>;

  // Of the branches the model has now; what is added to it later is not seen, unless it is given as joined.
  explicit Latches(const Model& model) : model_(model), count_(model.branches.size()) {}

  [[nodiscard]] bool coil_may_hold(std::size_t branch, std::span<const Joined> joined = {});
  [[nodiscard]] bool module_may_hold(std::size_t module, std::span<const Joined> joined = {});
  [[nodiscard]] bool driver_may_hold(std::size_t branch, std::span<const Joined> joined = {});
  // Can what happens at this node bear on whether the module has its supply while its own drivers are off, or the coil
  // its volts while its own contacts have not moved? Walks against the direction of the other walks: through contacts
  // to their coils, through drivers to their module's supply and what they follow. Not across the nets of the posts,
  // which count as stiff.
  [[nodiscard]] bool bears_on_supply(std::size_t module, NodeId node);
  [[nodiscard]] bool bears_on_coil(std::size_t branch, NodeId node);
  // ... on whether a driver sees what it follows while it is off.
  [[nodiscard]] bool bears_on_input(std::size_t branch, NodeId node);
  // Marks the nodes joined to this one by metal, not those of the sources' posts.
  void mark_metal(NodeId from, std::vector<char>& marked);
  // Is there any of them?
  [[nodiscard]] bool anything_may_hold();
  // Is it part of the nets of the sources' posts? With such a branch broken the nets are no longer what the two answers
  // above took them for.
  [[nodiscard]] bool on_post_net(std::size_t branch);
  // Where such a branch is the only way from a source to a piece of its net: the nodes off the net next to that piece.
  // It is no longer stiff with the branch broken, and what bears on those nodes comes by it. Empty for others.
  [[nodiscard]] const std::vector<NodeId>& hanging_on(std::size_t branch);

 private:
  void prepare();
  void block_posts();
  void collect_hanging(std::size_t branch, NodeId from, std::vector<NodeId>& next_to);
  void start();
  void visit(NodeId node);
  void use_contacts(std::size_t coil);
  void use_drivers(std::size_t module);
  template <class Found>
  bool reach(Found found, std::size_t but, std::span<const Joined> joined = {});
  template <class Own>
  [[nodiscard]] std::vector<bool> trace_feed(Own is_own);
  [[nodiscard]] bool leads_on(std::span<const Joined> joined) const;
  [[nodiscard]] bool coil_reaches_itself(std::size_t branch, std::span<const Joined> joined);
  [[nodiscard]] bool module_reaches_itself(std::size_t module, std::span<const Joined> joined);
  [[nodiscard]] bool driver_reaches_itself(std::size_t branch, std::span<const Joined> joined);
  template <class Own>
  [[nodiscard]] bool bears_on(std::size_t branch, NodeId one, NodeId other, NodeId node, Own is_own);

  const Model& model_;
  std::size_t count_;
  std::vector<std::int8_t> coil_, module_;                        // -1: not asked yet; coil_ has drivers, too
  std::vector<std::vector<bool>> supply_feed_;                    // by module, then by node; empty: not asked yet
  std::unordered_map<std::size_t, std::vector<bool>> coil_feed_;  // by branch, then by node
  std::int8_t anything_ = -1;
  std::vector<std::uint32_t> start_, around_;  // branches at each node
  std::vector<std::uint32_t> supply_of_;       // by node: the module whose inner supply it is, or none
  std::vector<char> post_, blocked_;
  std::vector<char> source_;  // by node: an end of a source
  std::unordered_map<std::size_t, std::vector<NodeId>> hanging_;
  std::vector<std::uint32_t> seen_;  // by node: the walk that saw it last
  std::uint32_t walk_ = 0;
  std::vector<NodeId> waiting_;
  std::vector<std::pair<std::size_t, std::size_t>> contacts_, drivers_;  // coil, contact; module, driver
  std::size_t own_ = 0;                                                  // module whose outputs are not crossed
  bool rails_lead_ = false;                                              // and whether rails are among them
};

}  // namespace halfsplit::electrical
