// SPDX-License-Identifier: Apache-2.0
#include "app/named_parts.h"

#include <algorithm>

#include "app/calibration.h"
#include "circuit/metal.h"

namespace halfsplit::app {

namespace {

using circuit::Item;

class NamesReader {
 public:
  explicit NamesReader(const LoadedLoom& loom) : loom_(loom), nets_(circuit::label_nets(loom.netlist)) {}

  void read(const evidence::Observable& what) {
    switch (what.kind) {
      case evidence::Kind::kCode:
        return read_code(loom_.loom.codes[what.code.index()]);
      case evidence::Kind::kLive: {
        const circuit::Live& live = loom_.loom.lives[what.live.index()];
        named_.tellers.insert(live.module);
        if (!live.part.is_none()) named_.parts.insert(live.part);
        return;
      }
      case evidence::Kind::kLook:
        if (!what.part.is_none()) named_.parts.insert(what.part);
        return;
      case evidence::Kind::kAnswers:
        named_.modules.insert(what.module);
        return;
      case evidence::Kind::kHeard:
      case evidence::Kind::kHears:
        named_.modules.insert(what.module);
        return;
      case evidence::Kind::kQuiet:
        named_.modules.insert(what.together.begin(), what.together.end());
        return;
      default:
        return;
    }
  }

  [[nodiscard]] const NamedItems& named() const { return named_; }

 private:
  void read_code(const circuit::Code& code) {
    named_.tellers.insert(code.module);
    if (code.monitor == circuit::Code::Monitor::kLost) {
      if (!code.lost.is_none()) named_.modules.insert(code.lost);
      return;
    }
    const std::size_t net = nets_[loom_.netlist.modules[code.module.index()].pin_node[code.pin].index()];
    for (const circuit::Point& point : loom_.netlist.points)
      if (!point.part.is_none() && nets_[point.node.index()] == net) named_.parts.insert(point.part);
  }

  const LoadedLoom& loom_;
  std::vector<std::size_t> nets_;
  NamedItems named_;
};

}  // namespace

int NamedItems::rank(const LoadedLoom& loom, const std::vector<fault::RepairId>& repairs) const {
  int best = repairs.empty() ? 0 : 1;
  for (const fault::RepairId id : repairs) {
    const Item& item = loom.universe.repairs[id.index()].item;
    if (item.kind == Item::Kind::kPart && parts.contains(circuit::PartId(item.index))) best = std::max(best, 3);
    if (item.kind != Item::Kind::kModule) continue;
    const circuit::ModuleId module(item.index);
    best = std::max(best, modules.contains(module) ? 3 : tellers.contains(module) ? 2 : 1);
  }
  return best;
}

NamedItems items_named(Session& session) {
  NamesReader reader(session.loom());
  for (const Evidence& e : session.evidence)
    if (e.repaired.empty() && is_complaint(*session.engine, {e.observation})) reader.read(e.observation.what);
  return reader.named();
}

double prior_rate(const LoadedLoom& loom, const std::vector<fault::RepairId>& repairs) {
  double rate = 0.0;
  for (const fault::Fault& f : loom.universe.faults)
    if (std::find(repairs.begin(), repairs.end(), f.repair) != repairs.end()) rate += f.rate_per_year;
  return rate;
}

}  // namespace halfsplit::app
