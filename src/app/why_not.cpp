// SPDX-License-Identifier: Apache-2.0
#include "app/why_not.h"

#include <algorithm>

#include "app/words.h"
#include "base/number.h"
#include "evidence/observable_text.h"

namespace halfsplit::app {

namespace {

using evidence::Observable;

// The same test, whatever state it is taken in and whichever way round the probes are.
bool same_test(Observable a, Observable b) {
  a.configuration = b.configuration = {};
  if (a == b) return true;
  std::swap(b.red, b.black);
  return a == b;
}

// Refused in the state the vehicle is in and in the one it is made safe for (ohms: the supply off)?
std::string refused(const candidates::GenerateInput& input, Observable what, const circuit::Loom& loom,
                    const circuit::Configuration& now) {
  what.configuration = candidates::electrical_part(loom, now);
  const std::string here = candidates::refusal(input, what);
  if (here.empty()) return "";
  what.configuration = {};
  return candidates::refusal(input, what).empty() ? "" : here;
}

// Whatever the state: no test is proposed there. What is only refused in some states is told by `refused`.
std::string not_proposed(const candidates::GenerateInput& input, Observable what) {
  what.configuration = {};
  return candidates::refusal(input, what).empty() ? candidates::why_not_proposed(input, what) : "";
}

}  // namespace

base::Result<WhyNot> why_not(Context& context, Session& session, const std::string& words) {
  const circuit::Loom& loom = session.drawing();
  const circuit::Netlist& netlist = session.loom().netlist;
  const base::Result<Observable> asked = evidence::parse_observable(loom, netlist, words);
  if (!asked) return asked.diagnostics();
  WhyNot why;
  why.what = evidence::format_observable(loom, netlist, *asked);
  const Belief& belief = session.engine->update(session.evidence, context.cancel);
  const candidates::Roll roll = roll_of(session.job.kit);
  const candidates::GenerateInput input = generate_input(session, roll, belief);
  why.refusal = refused(input, *asked, loom, session.state);
  if (why.refusal.empty()) why.refusal = not_proposed(input, *asked);
  why.taken = std::any_of(session.evidence.begin(), session.evidence.end(),
                          [&](const Evidence& e) { return same_test(e.observation.what, *asked); });
  const std::vector<std::string>& skipped = session.job.skipped;
  why.skipped = std::find(skipped.begin(), skipped.end(), why.what) != skipped.end();
  const Outlook outlook = look_ahead(context, session, std::numeric_limits<double>::infinity(), Mended::kWeighed);
  const auto rate = [](const candidates::Test& test) { return test.bits / std::max(test.rough_minutes, 0.1); };
  const candidates::Test* best = nullptr;
  for (const candidates::Test& test : outlook.rough) {
    if (!same_test(outlook.candidates[test.candidate].what, *asked)) continue;
    if (best == nullptr || rate(test) > rate(*best)) best = &test;
  }
  if (best == nullptr) return why;
  why.weighed = true;
  why.state = configuration_text(session.loom(), outlook.candidates[best->candidate].what.configuration);
  why.bits = best->bits;
  why.minutes = best->rough_minutes;
  why.of = outlook.rough.size();
  why.better = static_cast<std::size_t>(std::count_if(
      outlook.rough.begin(), outlook.rough.end(), [&](const candidates::Test& t) { return rate(t) > rate(*best); }));
  return why;
}

std::string why_not_text(const WhyNot& why) {
  std::string text = why.what + "\n";
  if (!why.refusal.empty()) text += wrap("  refused: " + why.refusal, 2) + "\n";
  if (why.taken) text += "  taken already, in this state or another; halfsplit status lists what was seen\n";
  if (why.skipped) text += "  skipped; halfsplit skip --none takes all skips back\n";
  if (why.weighed) {
    text += wrap("  in the state " + why.state + " it would tell " + base::format_significant(why.bits, 2) +
                     " bits about which repair is needed, for " + minutes_text(why.minutes) +
                     " with all that is made for it and undone again; " + std::to_string(why.better) + " of " +
                     std::to_string(why.of) + " tests tell more for a minute",
                 2) +
            "\n";
    if (why.bits < 0.005) text += "  it would show the same under every suspect that is left\n";
  } else if (why.refusal.empty() && !why.taken && !why.skipped) {
    text += wrap(
                "  not weighed: no suspect that is left touches these points, or nothing along reads it "
                "(halfsplit kit)",
                2) +
            "\n";
  }
  return text;
}

Json why_not_json(const WhyNot& why) {
  Json json{{"what", why.what}, {"taken", why.taken}, {"skipped", why.skipped}, {"weighed", why.weighed}};
  if (!why.refusal.empty()) json["refused"] = why.refusal;
  if (why.weighed) {
    json["state"] = why.state;
    json["bits"] = why.bits;
    json["minutes"] = why.minutes;
    json["better"] = why.better;
    json["of"] = why.of;
  }
  return json;
}

}  // namespace halfsplit::app
