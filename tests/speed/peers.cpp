// SPDX-License-Identifier: Apache-2.0
#include "tests/speed/peers.h"

#include "candidates/generate.h"
#include "electrical/operating_point.h"
#include "tests/oracle/spice_oracle.h"

namespace halfsplit::bench {

namespace {

// The circuit's matrix as docs/decisions/branch-current-form.md has it: Kirchhoff by node, a law by branch, the ties.
sparse::Matrix matrix_of(const electrical::Model& model, const electrical::OperatingPoint& point) {
  std::vector<sparse::Triplet> triplets;
  const auto put = [&](std::size_t row, std::size_t column, double value) {
    triplets.push_back({static_cast<int>(row), static_cast<int>(column), value});
  };
  for (std::size_t i = 0; i < model.branches.size(); ++i) {
    const electrical::Branch& b = model.branches[i];
    const electrical::Law& law = point.laws[i];
    const std::size_t row = point.layout.current(i);
    put(b.a.index(), row, 1.0);
    put(b.b.index(), row, -1.0);
    put(row, b.a.index(), law.alpha);
    put(row, b.b.index(), -law.alpha);
    if (law.kappa != 0.0) put(row, b.c.index(), law.kappa);
    if (law.kappa != 0.0) put(row, b.d.index(), -law.kappa);
    put(row, row, law.beta);
  }
  for (std::size_t t = 0; t < point.layout.ties.size(); ++t) {
    put(point.layout.ties[t].index(), point.layout.tie(t), 1.0);
    put(point.layout.tie(t), point.layout.ties[t].index(), 1.0);
  }
  return {point.layout.size(), triplets};
}

}  // namespace

double factor_and_solve_s(const test::ExampleLoom& loom) {
  const electrical::Model model = electrical::make_model(loom.loom, loom.netlist, candidates::at_work(loom.loom));
  const electrical::OperatingPoint point = electrical::solve_operating_point(model);
  const sparse::Matrix matrix = matrix_of(model, point);
  sparse::Lu lu;
  if (point.status != electrical::Status::kSettled || !lu.factor(matrix)) return 0.0;
  std::vector<double> x;
  bool whole = true;
  const double seconds = fastest_s(20, [&] {
    x.assign(matrix.size(), 0.0);
    for (std::size_t i = 0; i < point.laws.size(); ++i) x[point.layout.current(i)] = point.laws[i].gamma;
    whole = whole && lu.factor_again(matrix);
    lu.solve(x);
  });
  return whole ? seconds : 0.0;
}

double ngspice_operating_point_s(const test::ExampleLoom& loom, int count) {
  oracle::Ngspice* spice = oracle::Ngspice::instance();
  if (spice == nullptr) return 0.0;
  oracle::SpiceOracle twin(*spice, loom.loom, loom.netlist, candidates::at_work(loom.loom));
  oracle::Meter meter;
  meter.instrument = electrical::Instrument::kClamp;
  meter.wire = loom.netlist.wire_elements.front();
  if (twin.read(meter).kind != oracle::Answer::Kind::kValue || !spice->load(twin.lines())) return 0.0;
  bool whole = spice->solve(false);
  const std::size_t wires = loom.netlist.wire_elements.size();
  std::vector<double> seconds;
  for (std::size_t i = 1; static_cast<int>(seconds.size()) < count && i < wires && whole; ++i) {
    const circuit::ElementId element = loom.netlist.wire_elements[i];
    if (!twin.carries(element)) continue;
    const std::string name = "r" + std::to_string(element.value);
    seconds.push_back(fastest_s(1, [&] { whole = spice->alter(name, 63.0) && spice->solve(false) && whole; }));
    whole = spice->alter(name, loom.netlist.elements[element.index()].ohm) && whole;
  }
  spice->forget();
  if (!whole || seconds.empty()) return 0.0;
  std::sort(seconds.begin(), seconds.end());
  return seconds[seconds.size() / 2];
}

}  // namespace halfsplit::bench
