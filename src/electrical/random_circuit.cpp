// SPDX-License-Identifier: Apache-2.0
// A battery behind its clamps feeds rails; chains of joints, fuses, switches and relay contacts lead to loads, lamps,
// diodes, sensors and modules; everything returns through ground joints. Some ends float, as on a real vehicle.
#include "electrical/random_circuit.h"

#include <limits>

namespace halfsplit::electrical {

namespace {

using circuit::ElementKind;

class Maker {
 public:
  explicit Maker(base::Rng& rng) : rng_(rng), modules_(std::make_shared<std::vector<circuit::ModuleWiring>>()) {}

  RandomCircuit make() {
    const NodeId minus = node();
    const NodeId plus = node();
    Branch& battery = add(ElementKind::kSource, plus, minus, rng_.log_uniform(0.005, 0.1));
    battery.volt = rng_.uniform(22.0, 29.0);
    grounds_.push_back(chain(minus, 1));
    grounds_.push_back(chain(minus, 2));
    feeds_.push_back(chain(plus, 1));
    const std::size_t circuits = 2 + rng_.below(5);
    for (std::size_t i = 0; i < circuits; ++i) add_circuit();
    if (rng_.chance(0.5)) chain(node(), 2);  // a piece that hangs nowhere
    model_.nodes = nodes_;
    model_.dead.assign(modules_->size(), 0);
    model_.modules = modules_.get();
    return {modules_, std::move(model_)};
  }

 private:
  NodeId node() { return NodeId(nodes_++); }

  Branch& add(ElementKind kind, NodeId a, NodeId b, double ohm) {
    Branch branch;
    branch.kind = kind;
    branch.a = a;
    branch.b = b;
    branch.ohm = ohm;
    model_.branches.push_back(branch);
    return model_.branches.back();
  }

  // Joints and wires in a row; returns the far end.
  NodeId chain(NodeId from, std::size_t hops) {
    for (std::size_t i = 0; i < hops; ++i) {
      const NodeId to = node();
      const ElementKind kind = rng_.chance(0.5) ? ElementKind::kWire : ElementKind::kContact;
      Branch& branch = add(kind, from, to, rng_.log_uniform(0.001, 0.2));
      branch.connected = kind != ElementKind::kContact || !rng_.chance(0.03);
      from = to;
    }
    return from;
  }

  NodeId feed() { return feeds_[rng_.below(feeds_.size())]; }
  NodeId ground() { return grounds_[rng_.below(grounds_.size())]; }

  NodeId fused(NodeId from) {
    const NodeId to = node();
    Branch& fuse = add(ElementKind::kFuse, from, to, rng_.log_uniform(0.003, 0.1));
    fuse.blow_a = rng_.log_uniform(1.0, 60.0);
    return to;
  }

  NodeId switched(NodeId from) {
    const NodeId to = node();
    add(ElementKind::kSwitch, from, to, 0.01).connected = rng_.chance(0.85);
    return to;
  }

  void add_circuit() {
    NodeId at = chain(feed(), 1 + rng_.below(3));
    if (rng_.chance(0.6)) at = fused(at);
    if (rng_.chance(0.5)) at = switched(at);
    if (rng_.chance(0.4)) feeds_.push_back(at);
    at = chain(at, rng_.below(3));
    switch (rng_.below(6)) {
      case 0:
        return load(at);
      case 1:
        return lamp(at);
      case 2:
        return relay(at);
      case 3:
        return diode(at);
      default:
        return module(at);
    }
  }

  void load(NodeId at) {
    add(ElementKind::kResistor, at, chain(ground(), rng_.below(3)), rng_.log_uniform(1.0, 1000.0));
  }

  void lamp(NodeId at) {
    const NodeId back = chain(ground(), rng_.below(3));
    const std::size_t count = 1 + rng_.below(3);
    for (std::size_t i = 0; i < count; ++i) {
      Branch& b = add(ElementKind::kLamp, chain(at, rng_.below(2)), back, 0.0);
      b.volt = 24.0;
      b.ohm = 24.0 * 24.0 / rng_.uniform(3.0, 70.0);
    }
  }

  void relay(NodeId at) {
    Branch& coil = add(ElementKind::kRelayCoil, at, ground(), rng_.uniform(100.0, 400.0));
    coil.volt = 16.0;
    coil.drop_out_v = 5.0;
    const std::uint32_t control = static_cast<std::uint32_t>(model_.branches.size() - 1);
    const NodeId out = node();
    Branch& contact = add(ElementKind::kRelayContact, feed(), out, 0.01);
    contact.control = control;
    contact.normally_closed = rng_.chance(0.3);
    load(chain(out, 1));
  }

  void diode(NodeId at) {
    const NodeId to = node();
    Branch& b = add(ElementKind::kDiode, at, to, rng_.log_uniform(0.02, 1.0));
    b.volt = 0.7;
    if (rng_.chance(0.2)) std::swap(b.a, b.b);
    load(to);
  }

  void module(NodeId at) {
    const circuit::ModuleId id(modules_->size());
    circuit::ModuleWiring wiring;
    wiring.supply = chain(at, 1);
    wiring.ground = chain(ground(), 1);
    wiring.alive_above_v = 15.0;
    modules_->push_back(wiring);
    add(ElementKind::kResistor, wiring.supply, wiring.ground, rng_.uniform(30.0, 200.0));
    const NodeId rail = node();
    Branch& source = add(ElementKind::kRail, rail, wiring.ground, 0.001);
    source.volt = 5.0;
    source.off_ohm = 1.0e4;
    source.module = id;
    const NodeId pin = node();
    add(ElementKind::kResistor, rail, pin, rng_.log_uniform(500.0, 50000.0));
    add(ElementKind::kResistor, pin, wiring.ground, 1.0e6);
    const NodeId far = chain(pin, 1 + rng_.below(3));
    if (rng_.chance(0.7))
      add(ElementKind::kResistor, far, chain(rng_.chance(0.5) ? wiring.ground : ground(), 1),
          rng_.log_uniform(50.0, 50000.0));
    if (rng_.chance(0.5)) driver(id, wiring, pin);
    if (rng_.chance(0.4)) sensor(rail, wiring);
  }

  void driver(circuit::ModuleId id, const circuit::ModuleWiring& wiring, NodeId pin) {
    const NodeId out = node();
    Branch& b = add(ElementKind::kDriver, wiring.supply, out, 0.05);
    b.module = id;
    b.limit_a = rng_.chance(0.5) ? rng_.uniform(2.0, 20.0) : 0.0;
    b.commanded = rng_.chance(0.6);
    if (!b.commanded) {
      b.c = pin;
      b.d = wiring.ground;
      b.follows_v = 2.5;
      b.follows_below = rng_.chance(0.5);
    }
    rng_.chance(0.5) ? lamp(chain(out, 2)) : load(chain(out, 2));
  }

  void sensor(NodeId rail, const circuit::ModuleWiring& wiring) {
    const NodeId plus = chain(rail, 2);
    const NodeId minus = chain(wiring.ground, 2);
    add(ElementKind::kResistor, plus, minus, 1000.0);
    const NodeId signal = node();
    Branch& b = add(ElementKind::kRatio, signal, minus, 100.0);
    b.c = plus;
    b.d = minus;
    b.volt = 4.0;
    b.share = rng_.uniform(0.1, 0.9);
    add(ElementKind::kResistor, chain(signal, 2), wiring.ground, 1.0e5);
  }

  base::Rng& rng_;
  std::shared_ptr<std::vector<circuit::ModuleWiring>> modules_;
  Model model_;
  std::size_t nodes_ = 0;
  std::vector<NodeId> feeds_, grounds_;
};

}  // namespace

RandomCircuit make_random_circuit(base::Rng& rng) { return Maker(rng).make(); }

std::vector<fault::Change> make_random_changes(base::Rng& rng, const RandomCircuit& circuit) {
  std::vector<fault::Change> changes;
  const std::size_t count = 1 + rng.below(3);
  for (std::size_t n = 0; n < count; ++n) {
    fault::Change change;
    const std::size_t i = rng.below(circuit.model.branches.size());
    change.element = ElementId(i);
    switch (rng.below(6)) {
      case 0:
      case 1:
        change.value = std::numeric_limits<double>::infinity();
        break;
      case 2:
        if (circuit.model.branches[i].kind == circuit::ElementKind::kLamp) continue;
        change.value = circuit.model.branches[i].ohm + rng.log_uniform(0.05, 1.0e4);
        break;
      case 3:
      case 4:
        change.kind = fault::Change::Kind::kBranch;
        change.element = {};
        change.a = NodeId(rng.below(circuit.model.nodes));
        change.b = NodeId(rng.below(circuit.model.nodes));
        change.value = rng.chance(0.3) ? 0.0 : rng.log_uniform(0.01, 1.0e5);
        break;
      default:
        change.kind = fault::Change::Kind::kForce;
        change.value = rng.chance(0.5) ? 1.0 : 0.0;
    }
    changes.push_back(change);
  }
  return changes;
}

Probe make_random_probe(base::Rng& rng, const RandomCircuit& circuit) {
  constexpr Instrument kAll[] = {Instrument::kVolts, Instrument::kOhms, Instrument::kClamp, Instrument::kTestLamp};
  Probe probe;
  probe.instrument = kAll[rng.below(4)];
  probe.red = NodeId(rng.below(circuit.model.nodes));
  probe.black = NodeId(rng.below(circuit.model.nodes));
  probe.branch = rng.below(circuit.model.branches.size());
  return probe;
}

}  // namespace halfsplit::electrical
