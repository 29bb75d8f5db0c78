# SPDX-License-Identifier: Apache-2.0
"""The faults of a circuit, in order: docs/formats/loom.md, part 2, section 8."""
from dataclasses import dataclass

from drawing import LOADS, number

SENSORS = ("ntc", "ptc", "sender", "potentiometer")
STRESS = {
    "flex": {"open": 3, "high": 1.5, "comes and goes": 4, "to ground": 2, "touch": 2},
    "wet": {"open": 1.5, "high": 4, "comes and goes": 1.5, "water": 10},
    "heat": {"open": 1.5, "high": 2, "to ground": 2, "wrong value": 2},
    "chafe": {"open": 2, "to ground": 5, "to supply": 4, "touch": 5},
    "vibration": {"open": 2, "high": 1.5, "comes and goes": 3},
}
REPAIRS = {  # words, minutes, money
    "contact": ("remake contact", 10, 2), "plug": ("dry and clean plug", 15, 3), "splice": ("remake splice", 15, 2),
    "stud": ("clean and remake ground stud", 12, 2), "lug": ("clean and remake lug at", 10, 2), "wire": ("repair wire", 20, 5),
    "fuse": ("replace fuse", 2, 1), "switch": ("replace switch", 20, 40), "relay": ("replace relay", 4, 15),
    "diode": ("replace diode", 10, 5), "lamp": ("replace lamp", 5, 5), "resistor": ("replace resistor", 10, 5),
    "motor": ("replace motor", 25, 80), "solenoid": ("replace solenoid", 25, 80), "heater": ("replace heater", 25, 80),
    "terminator": ("fit or remove terminator", 8, 20), "sensor": ("replace sensor", 15, 50),
    "three-wire-sensor": ("replace sensor", 15, 70), "battery": ("charge or replace battery", 20, 220),
    "alternator": ("replace alternator", 60, 350), "module": ("replace module", 45, 600),
}


@dataclass
class Fault:
    name: str
    words: str                  # the name without what it sits on
    kind: str                   # column of the stress table, or "" when it has none
    rate: float
    repair: str
    item: tuple
    low: float = 0.0
    high: float = 0.0
    even: bool = False
    # severity -> list of changes: ("set", element, field, value), ("add", element, x), ("times", element, field, x),
    # ("open", element), ("force", element, bool), ("between", a, b, ohm, inside item, plug), ("dead", module)
    changes: object = None
    comes_and_goes: bool = False

    def severity(self, u):
        if self.high <= self.low:
            return self.low
        return self.low + (self.high - self.low) * u if self.even else self.low * (self.high / self.low) ** u


@dataclass
class Site:
    name: str
    item: tuple
    place: str
    rate: float
    repair: str


class Faults:
    def __init__(self, circuit):
        self.circuit, self.loom = circuit, circuit.loom
        self.list, self.repairs = [], {}
        self.doubled = set()
        self.metal = self.join_metal()
        for k, e in enumerate(circuit.elements):
            self.element(k, e)
        for plug in self.loom.plugs.values():
            if not (plug.owner and plug.owner[0] == "part"):
                self.neighbours(plug)
        self.bundles()
        for name in circuit.modules:
            self.put(self.module_site(name), "dead", "", 8e-4, lambda x, name=name: [("dead", name)])
        self.by_name = {}
        for fault in self.list:
            self.by_name.setdefault(fault.name, fault)

    def join_metal(self):
        label = list(range(len(self.circuit.names)))

        def root(i):
            while label[i] != i:
                i = label[i]
            return i

        for e in self.circuit.elements:
            if e.kind in ("wire", "contact", "joint"):
                label[root(e.a)] = root(e.b)
        return [root(i) for i in range(len(label))]

    def same(self, a, b):
        return self.metal[a] == self.metal[b]

    # ---- putting one in

    def put(self, site, words, kind, rate, changes, low=0.0, high=0.0, even=False, factor=1.0):
        place = self.loom.tables["places"].get(site.place, {})
        for stress in place.get("stress", []):
            rate *= STRESS[stress].get(kind, 1)
        self.list.append(Fault(f"{site.name} {words}", words, kind, rate * site.rate * factor, site.repair, site.item, low, high, even, changes,
                               words == "comes and goes"))

    def repair(self, word, name, table=None):
        words, minutes, money = REPAIRS[word]
        told = table or {}
        full = f"{words} {name}"
        self.repairs.setdefault(full, (number(told.get("repair_minutes", minutes)), number(told.get("part_money", money))))
        return full

    def three(self, site, k, low, high, rates):
        self.put(site, "open", "open", rates[0], lambda x: [("open", k)])
        self.put(site, "high", "high", rates[1], lambda x: [("add", k, x)], low, high)
        self.put(site, "comes and goes", "comes and goes", rates[2], lambda x: [("open", k)])

    def between(self, site, words, kind, rate, a, b, low, high, inside=None, factor=1.0):
        self.put(site, words, kind, rate, lambda x: [("between", a, b, x, inside, None)], low, high, factor=factor)

    # ---- by element

    def element(self, k, e):
        kind, name = e.item
        getattr(self, "of_" + kind)(k, e, name)

    def contact_site(self, plug, cavity):
        told = {key: value for key, value in (("repair_minutes", plug.repair_minutes), ("part_money", plug.part_money)) if value is not None}
        name = f"{plug.name}:{cavity}"
        return Site(name, ("plug", plug.name), plug.places[0], plug.rate, self.repair("contact", name, told))

    def of_plug(self, k, e, name):
        self.three(self.contact_site(self.loom.plugs[name], e.cavity), k, 0.2, 20000, (6e-4, 8e-4, 8e-4))

    def of_splice(self, k, e, name):
        table = self.loom.tables["splices"][name]
        site = Site(e.name, e.item, table.get("place"), number(table.get("rate", 1)), self.repair("splice", name, minutes_only(table)))
        self.three(site, k, 0.2, 2000, (3e-4, 8e-4, 3e-4))

    def of_stud(self, k, e, name):
        table = self.loom.tables["studs"][name]
        site = Site(e.name, e.item, table.get("place"), number(table.get("rate", 1)), self.repair("stud", name, minutes_only(table)))
        self.three(site, k, 0.1, 2000, (2e-4, 2e-3, 4e-4) if e.name == name else (2e-4, 5e-4, 2e-4))

    def of_clamp(self, k, e, name):
        part = self.loom.tables["parts"][name]
        site = Site(e.name, ("part", name), part.get("place"), number(part.get("rate", 1)), self.repair("lug", e.name))
        self.three(site, k, 0.1, 2000, (2e-4, 5e-4, 2e-4))

    def place_of_end(self, end):
        kind, tables = end[0], self.loom.tables
        if kind == "cavity":
            return self.loom.plugs[end[1]].places[end[3]]
        return tables[{"splice": "splices", "stud": "studs", "terminal": "parts", "frame": "frames"}[kind]][end[1]].get("place")

    def wire_site(self, wire, name):
        place = wire.table.get("place") or self.place_of_end(wire.ends[0])
        return Site(name, ("wire", wire.name), place, number(wire.table.get("rate", 1)), self.repair("wire", wire.name, wire.table))

    def of_wire(self, k, e, name):
        wire = self.circuit.wires[name]
        site = self.wire_site(wire, name)
        self.three(site, k, 0.2, 2000, (6e-4, 3e-4, 4e-4))
        c = self.circuit
        if not any(self.same(e.a, node) for node in c.frames + [c.minus]):
            self.between(site, "to ground", "to ground", 4e-4, e.a, c.frames[0], 0.01, 10)
        if c.plus is not None and not self.same(e.a, c.plus):
            self.between(site, "to supply", "to supply", 1e-4, e.a, c.plus, 0.01, 10)

    def of_part(self, k, e, name):
        part = self.loom.tables["parts"][name]
        kind = part["kind"]
        word = "sensor" if kind in SENSORS else kind
        site = Site(name, ("part", name), part.get("place"), number(part.get("rate", 1)), self.repair(word, name, part))

        def simple(words, rate, changes, low=0.0, high=0.0, even=False):
            self.put(site, words, {"open": "open", "dead": "open", "wrong value": "wrong value"}.get(words, ""), rate, changes, low, high, even)

        def open_(rate, words="open"):
            simple(words, rate, lambda x: [("open", k)])

        def shorted(rate, words="shorted"):
            self.between(site, words, "", rate, e.a, e.b, 0.01, 1, ("part", name))

        def wrong(rate, low, high, words="wrong value"):
            self.put(site, words, "wrong value", rate, lambda x: [("times", k, "R", x)], low, high)

        def stuck(rate_open, rate_closed, changes):
            simple("stuck open", rate_open, lambda x: changes(False))
            simple("stuck closed", rate_closed, lambda x: changes(True))
            simple("burnt", 1e-3, lambda x: [("add", k, x)], 0.2, 200)

        if kind == "fuse":
            simple("blown", 2e-3, lambda x: [("open", k)])
        elif kind == "switch":
            stuck(2e-3, 5e-4, lambda closed: [("force", k, closed)])
        elif kind == "relay" and e.kind == "coil":
            simple("coil open", 1e-3, lambda x: [("open", k)])
        elif kind == "relay" and not e.closed_at_rest:
            twins = [i for i, other in enumerate(self.circuit.elements) if other.kind == "relay" and other.coil == e.coil]
            stuck(1e-3, 1e-3, lambda closed: [("force", i, closed != self.circuit.elements[i].closed_at_rest) for i in twins])
        elif kind == "diode":
            open_(3e-4), shorted(3e-4)
        elif kind == "lamp":
            open_(2e-2), shorted(2e-4)
        elif kind in LOADS:
            open_(2e-3), shorted(4e-4), wrong(5e-4, 0.3, 3)
        elif kind == "resistor":
            open_(3e-4), wrong(3e-4, 0.2, 5)
        elif kind == "terminator":
            simple("missing", 8e-4, lambda x: [("open", k)])
            wrong(3e-4, 0.2, 5)
            self.double(site, e)
        elif kind in SENSORS:
            half = e.name[len(name) + 1:] + " " if kind == "potentiometer" else ""
            self.put(site, half + "open", "open", 3e-3, lambda x: [("open", k)])
            shorted(1e-3, half + "shorted")
            if half != "2-3 ":
                wrong(3e-3, 0.1, 10, half + "wrong value")
        elif kind == "three-wire-sensor" and e.kind == "ratio":
            open_(3e-3, "dead")
            simple("stuck", 3e-3, lambda x: [("set", k, "share", x)], 0, 1, True)
        elif kind == "battery":
            simple("flat", 1e-2, lambda x: [("times", k, "E", x)], 0.6, 0.93, True)
            simple("weak", 5e-3, lambda x: [("set", k, "R", x)], 0.05, 1)
        elif kind == "alternator":
            simple("no charge", 5e-3, lambda x: [("open", k)])

    def double(self, site, e):
        lines = frozenset((self.metal[e.a], self.metal[e.b]))
        if lines not in self.doubled:
            self.doubled.add(lines)
            self.put(site, "doubled", "", 3e-4, lambda x: [("between", e.a, e.b, e.R, None, None)])

    def module_site(self, name):
        table = self.loom.tables["modules"][name]
        return Site(name, ("module", name), table.get("place"), number(table.get("rate", 1)), self.repair("module", name, table))

    def of_module(self, k, e, name):
        site = self.module_site(name)
        site.name = e.name
        if e.kind == "driver":
            self.put(site, "output dead", "", 5e-4, lambda x: [("force", k, False)])
            self.put(site, "output stuck on", "", 2e-4, lambda x: [("force", k, True)])
        elif e.name == name + " terminator":
            self.put(site, "missing", "", 8e-4, lambda x: [("open", k)])
            self.double(site, e)
        elif e.name.endswith((" return", " reference")):
            self.put(site, "open inside", "open", 2e-4, lambda x: [("open", k)])
        elif e.name.endswith(" input"):
            self.between(site, "damaged", "", 3e-4, e.a, e.b, 50, 5000, ("module", name))

    # ---- neighbours

    def neighbours(self, plug):
        contacts = {e.cavity: k for k, e in enumerate(self.circuit.elements) if e.kind == "contact" and e.plug == plug.name}
        for r, row in enumerate(plug.rows):
            for c, cavity in enumerate(row):
                if c + 1 < len(row):
                    self.pair(plug, contacts, cavity, row[c + 1])
                if r + 1 < len(plug.rows) and c < len(plug.rows[r + 1]):
                    self.pair(plug, contacts, cavity, plug.rows[r + 1][c])

    def pair(self, plug, contacts, one, two):
        if one not in contacts or two not in contacts:
            return
        i, j = contacts[one], contacts[two]
        e, f = self.circuit.elements[i], self.circuit.elements[j]
        if self.same(e.a, f.a) or self.same(e.b, f.b):
            return
        site = self.contact_site(plug, one)
        site.name = f"{plug.name}:{one}+{two}"
        self.put(site, "swapped", "", 4e-5, lambda x: [("open", i), ("open", j), ("between", e.a, f.b, e.R, None, plug.name),
                                                       ("between", f.a, e.b, f.R, None, plug.name)])
        self.between(site, "touch", "touch", 1e-4, e.a, f.a, 0.01, 10)
        site.repair = self.repair("plug", plug.name)
        self.between(site, "water", "water", 2e-4, e.a, f.a, 100, 100000)

    def bundles(self):
        bundles = {}
        for wire in self.loom.wires:
            if wire.table.get("bundle"):
                bundles.setdefault(wire.table["bundle"], []).append(wire)
        for _, wires in sorted(bundles.items()):
            for i, one in enumerate(wires):
                for two in wires[i + 1:]:
                    e, f = (self.circuit.elements[self.circuit.wire_number[w.name]] for w in (one, two))
                    if not self.same(e.a, f.a):
                        site = self.wire_site(one, f"{one.name}+{two.name}")
                        self.between(site, "touch", "touch", 2e-4, e.a, f.a, 0.01, 10, factor=2 / len(wires))


def minutes_only(table):
    return {"repair_minutes": table["repair_minutes"]} if "repair_minutes" in table else {}
