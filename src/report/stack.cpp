// SPDX-License-Identifier: Apache-2.0
// With the distances taken off, tops must only not fall: isotonic regression in the sum of absolute differences. Pool
// adjacent violators: neighbours in the wrong order become one block, which lies at the weighted median of all its
// wishes. Source: Barlow, Bartholomew, Bremner, Brunk, "Statistical Inference under Order Restrictions" (1972).
#include "report/stack.h"

#include <algorithm>
#include <cstddef>

namespace halfsplit::report {

namespace {

using Wish = std::pair<int, int>;

struct Block {
  std::size_t count = 0;
  std::vector<Wish> wishes;
  int at = 0;
  bool free = false;  // no wishes: it follows the one before
};

// The lower weighted median.
int median(std::vector<Wish>& wishes) {
  std::sort(wishes.begin(), wishes.end());
  long total = 0;
  for (const Wish& wish : wishes) total += wish.second;
  long sum = 0;
  for (const Wish& wish : wishes) {
    sum += wish.second;
    if (2 * sum >= total) return wish.first;
  }
  return 0;
}

void merge_last(std::vector<Block>& blocks) {
  Block last = std::move(blocks.back());
  blocks.pop_back();
  Block& into = blocks.back();
  into.count += last.count;
  into.wishes.insert(into.wishes.end(), last.wishes.begin(), last.wishes.end());
  into.free = into.free && last.free;
  if (!into.free) into.at = median(into.wishes);
}

}  // namespace

std::vector<int> place_stack(const std::vector<StackItem>& items) {
  std::vector<Block> blocks;
  int offset = 0;
  for (const StackItem& item : items) {
    offset += blocks.empty() ? 0 : item.below;
    Block block;
    block.count = 1;
    block.free = item.wishes.empty();
    for (const Wish& wish : item.wishes) block.wishes.emplace_back(wish.first - offset, wish.second);
    if (!block.free) block.at = median(block.wishes);
    blocks.push_back(std::move(block));
    while (blocks.size() > 1 &&
           (blocks.back().free || blocks[blocks.size() - 2].free || blocks[blocks.size() - 2].at > blocks.back().at))
      merge_last(blocks);
  }
  std::vector<int> tops;
  offset = 0;
  for (const Block& block : blocks)
    for (std::size_t i = 0; i < block.count; ++i) {
      offset += tops.empty() ? 0 : items[tops.size()].below;
      tops.push_back(block.at + offset);
    }
  return tops;
}

}  // namespace halfsplit::report
