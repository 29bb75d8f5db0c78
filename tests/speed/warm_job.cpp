// SPDX-License-Identifier: Apache-2.0
#include "tests/speed/warm_job.h"

#include <algorithm>
#include <set>

#include "base/number.h"
#include "candidates/generate.h"
#include "predict/observe.h"

namespace halfsplit::bench {

namespace {

constexpr std::size_t kBefore = 6;  // pieces of evidence before the one that is timed

// The first temperature sensor's signal wire, broken beyond the last plug.
fault::FaultId broken_wire(const test::ExampleLoom& vehicle, const std::string& run) {
  fault::FaultId found;
  for (std::size_t i = 0; i < vehicle.universe.faults.size(); ++i) {
    const fault::Fault& f = vehicle.universe.faults[i];
    if (f.kind == fault::FaultKind::kOpen && f.item.kind == circuit::Item::Kind::kWire && f.name.starts_with(run)) {
      if (!found.is_none()) return fault::FaultId(i);
      found = fault::FaultId(i);
    }
  }
  return found;
}

// Points of that run, in the order of the netlist.
std::vector<circuit::PointId> points_of(const test::ExampleLoom& vehicle, const std::string& run) {
  std::set<circuit::NodeId> nodes;
  for (const circuit::Element& e : vehicle.netlist.elements)
    if (e.name.starts_with(run)) nodes.insert({e.a, e.b});
  std::vector<circuit::PointId> points;
  for (std::size_t i = 0; i < vehicle.netlist.points.size(); ++i)
    if (nodes.contains(vehicle.netlist.points[i].node)) points.emplace_back(i);
  return points;
}

}  // namespace

WarmJob::WarmJob(const test::ExampleLoom& vehicle, const std::string& loom_text) {
  files_.files["vehicle.loom.toml"] = loom_text;
  choose_readings(vehicle);
  call("open", {{"loom", "vehicle.loom.toml"}, {"complaint", "no temperature"}});
  for (next_ = 0; next_ < kBefore; ++next_) see(readings_[next_]);
  think();
}

void WarmJob::choose_readings(const test::ExampleLoom& vehicle) {
  const circuit::Live* live = nullptr;
  for (const circuit::Live& l : vehicle.loom.lives)
    if (l.name.starts_with("temperature") && live == nullptr) live = &l;
  if (live == nullptr) {
    trouble_ = "no temperature sensor in this vehicle";
    return;
  }
  const std::string run = live->name + ".";
  const fault::FaultId fault = broken_wire(vehicle, run);
  const circuit::Configuration state = candidates::at_work(vehicle.loom);  // as a job begins
  electrical::Model model = electrical::make_model(vehicle.loom, vehicle.netlist, state);
  electrical::apply_changes(model, fault::changes_of(vehicle.netlist, vehicle.universe.faults[fault.index()], 1.0));
  predict::SlowView view(std::move(model), vehicle.loom.system_volts);
  for (const circuit::Code& code : vehicle.loom.codes)
    if (code.module == live->module && code.pin == live->pin)
      readings_.push_back({"code " + code.name, code.name.ends_with("FMI 3") ? "active" : "absent"});
  const std::vector<circuit::PointId> points = points_of(vehicle, run);
  for (const char* black : {"BAT:-", "chassis"})
    for (const circuit::PointId point : points) {
      evidence::Observable what;
      what.red = point;
      what.black = *circuit::find_point(vehicle.netlist, black);
      what.configuration = state;
      const predict::Scene scene{vehicle.loom, vehicle.netlist, vehicle.universe};
      const evidence::Prediction shown = predict::observe(scene, {view, view}, what, {fault});
      readings_.push_back({"volts " + vehicle.netlist.points[point.index()].name + " " + black,
                           base::format_significant(shown.components.at(0).mean, 3)});
    }
  if (readings_.size() < kBefore + 3) trouble_ = "too few points in this circuit";
}

app::Reply WarmJob::call(const std::string& operation, const std::map<std::string, std::string>& values) {
  if (!trouble_.empty()) return {};
  app::Arguments arguments;
  arguments.add("job", "warm.job.toml");
  for (const auto& [name, value] : values) arguments.add(name, value);
  app::Reply reply = app::run_operation(context_, operation, arguments);
  if (reply.exit_code != 0) trouble_ = operation + ": " + base::format_diagnostics(reply.diagnostics);
  return reply;
}

void WarmJob::see(const Reading& reading) { call("saw", {{"what", reading.what}, {"shows", reading.shows}}); }

void WarmJob::take_back() {
  if (!extra_) return;
  call("undo", {});
  think();
}

void WarmJob::see_another() {
  extra_ = true;
  see(readings_[next_]);
  next_ = next_ + 1 < readings_.size() ? next_ + 1 : kBefore;
  think();
}

void WarmJob::think() {
  call("suspects", {});
  call("next", {});
}

}  // namespace halfsplit::bench
