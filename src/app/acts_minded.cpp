// SPDX-License-Identifier: Apache-2.0
#include "app/acts_minded.h"

#include <algorithm>

#include "app/advice.h"
#include "app/cautions.h"
#include "base/number.h"
#include "candidates/generate.h"

namespace halfsplit::app {

std::vector<base::Diagnostic> refused_act(Session& session, const candidates::Act& act) {
  const LoadedLoom& loom = session.loom();
  if (act.kind != candidates::Act::Kind::kFit) {
    if (!candidates::carries(loom.loom, candidates::item_of(act), circuit::Hazard::kHighVoltage)) return {};
    return {base::make_error("did.refused", candidates::hazard_caution(circuit::Hazard::kHighVoltage),
                             "leave it to qualified people")};
  }
  const candidates::Roll roll = roll_of(session.job.kit);
  Belief none;
  none.fault_weight.assign(loom.universe.faults.size(), 0.0);
  const std::string refused =
      candidates::refusal_to_fit(generate_input(session, roll, none), session.state, act.fitted);
  if (refused.empty()) return {};
  bool hazard = false;
  for (const circuit::PointId p : {act.fitted.a, act.fitted.b})
    for (const circuit::Hazard one : {circuit::Hazard::kAirbag, circuit::Hazard::kHighVoltage})
      hazard = hazard || candidates::carries(loom.loom, loom.netlist.points[p.index()], one);
  return {base::make_error("did.refused", refused,
                           hazard ? "nothing may be fitted into this circuit"
                                  : "a fused lead may feed a load from battery +, or lie beside a wire in doubt")};
}

std::vector<std::string> deed_cautions(Session& session, const candidates::Act& act, bool make) {
  const LoadedLoom& loom = session.loom();
  std::vector<std::string> cautions = act_cautions(loom, act, make);
  if (!make || act.kind != candidates::Act::Kind::kFit) return cautions;
  const candidates::Roll roll = roll_of(session.job.kit);
  Belief none;
  none.fault_weight.assign(loom.universe.faults.size(), 0.0);
  const candidates::GenerateInput input = generate_input(session, roll, none);
  for (const circuit::Hazard hazard :
       {circuit::Hazard::kBrakes, circuit::Hazard::kSteering, circuit::Hazard::kDangerousGoods}) {
    const std::string caution = candidates::hazard_caution(hazard);
    if (candidates::within_reach(input, session.state, act.fitted.a, act.fitted.b, hazard) &&
        std::find(cautions.begin(), cautions.end(), caution) == cautions.end())
      cautions.push_back(caution);
  }
  if (act.fitted.kind == circuit::Fitted::Kind::kLead) return cautions;
  const double watts = candidates::most_watts(input, session.state, act.fitted);
  if (watts > candidates::kSmallResistor_w)
    cautions.push_back("It may turn " + base::format_significant(watts, 2) +
                       " W into heat: take a resistor that bears it, and mind what it touches.");
  return cautions;
}

}  // namespace halfsplit::app
