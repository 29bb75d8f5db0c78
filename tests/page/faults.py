# SPDX-License-Identifier: Apache-2.0
"""The faults of a circuit, in order: docs/formats/loom.md, part 2, section 8."""
import re
from dataclasses import dataclass, replace
from pathlib import Path

from drawing import LOADS, number

SENSORS = ("ntc", "ptc", "sender", "potentiometer")
POLAR = ("diode", "relay", "potentiometer", "three-wire-sensor", "battery", "alternator")
PAGE = Path(__file__).resolve().parents[2] / "docs" / "formats" / "loom.md"


@dataclass
class Record:
    """A row of the page's table of rates."""
    rate: float
    low: float
    high: float
    even: bool
    counts_under: str


def read_record(cells):
    row, kind, in_10000_years, told, counts_under = cells
    numbers = [float(n) for n in re.findall(r"[0-9.]+", told)]
    low, high = (numbers + numbers)[:2] if numbers else (0.0, 0.0)
    return (row, kind), Record(float(in_10000_years) / 1e4, low, high, told.endswith("even"), counts_under)


def read_page():
    """The three tables at the end of section 8: rates by row and kind, factors by stress and kind, repairs by row."""
    page = PAGE.read_text(encoding="utf-8")
    block = page[page.index("<!-- fault tables: generated -->"):page.index("<!-- end of fault tables -->")]
    tables = [[[cell.strip().strip("`") for cell in line[1:-1].split("|")] for line in lines.splitlines()]
              for lines in re.findall(r"(?:^\|.*\n)+", block, re.M)]
    rates, stress, repairs = ((table[0], table[2:]) for table in tables)
    factors = {row[0]: {kind: float(cell) for kind, cell in zip(stress[0][1:], row[1:]) if cell} for row in stress[1]}
    return (dict(read_record(cells) for cells in rates[1]), factors,
            {row: (words, float(minutes), float(money)) for row, words, minutes, money in repairs[1]})


RATES, STRESS, REPAIRS = read_page()


@dataclass
class Fault:
    name: str
    words: str                  # the name without what it sits on
    kind: str                   # of its record in the table of rates
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
    row: str = ""               # of the table of rates
    site: str = ""              # what it sits on, as its name begins

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
    row: str                    # of the table of rates


class Faults:
    def __init__(self, circuit):
        self.circuit, self.loom = circuit, circuit.loom
        self.list, self.repairs = [], {}
        self.doubled = set()
        self.metal = self.join_metal()
        for k, e in enumerate(circuit.elements):
            self.element(k, e)
        self.wet_splices()
        for plug in self.loom.plugs.values():
            self.neighbours(plug)
        self.bundles()
        for name in circuit.modules:
            self.put(self.module_site(name), "dead", "dead", lambda x, name=name: [("dead", name)])
            self.put(self.module_site(name), "comes and goes", "comes and goes", lambda x, name=name: [("dead", name)])
            self.seats(name)
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

    def at_ground(self, node):
        return any(self.same(node, other) for other in self.circuit.frames + [self.circuit.minus])

    # ---- putting one in

    def put(self, site, words, kind, changes, row=None, factor=1.0):
        record = RATES[row or site.row, kind]
        rate = record.rate * site.rate * factor
        for stress in self.loom.tables["places"].get(site.place, {}).get("stress", []):
            rate *= STRESS[stress].get(record.counts_under, 1)
        self.list.append(Fault(f"{site.name} {words}", words, kind, rate, site.repair, site.item, record.low, record.high, record.even,
                               changes, kind == "comes and goes", row or site.row, site.name))

    def repair(self, row, name, table=None):
        words, minutes, money = REPAIRS[row]
        told = table or {}
        full = f"{words} {name}"
        self.repairs.setdefault(full, (number(told.get("repair_minutes", minutes)), number(told.get("part_money", money))))
        return full

    def three(self, site, k):
        self.put(site, "open", "open", lambda x: [("open", k)])
        self.put(site, "high", "high resistance", lambda x: [("add", k, x)])
        self.put(site, "comes and goes", "comes and goes", lambda x: [("open", k)])

    def between(self, site, words, kind, a, b, inside=None, row=None, factor=1.0):
        self.put(site, words, kind, lambda x: [("between", a, b, x, inside, None)], row, factor)

    # ---- by element

    def element(self, k, e):
        kind, name = e.item
        getattr(self, "of_" + kind)(k, e, name)

    def contact_site(self, plug, cavity):
        told = {key: value for key, value in (("repair_minutes", plug.repair_minutes), ("part_money", plug.part_money)) if value is not None}
        name = f"{plug.name}:{cavity}"
        return Site(name, ("plug", plug.name), plug.places[0], plug.rate, self.repair("contact", name, told), "contact")

    def of_plug(self, k, e, name):
        self.three(self.contact_site(self.loom.plugs[name], e.cavity), k)

    def of_splice(self, k, e, name):
        table = self.loom.tables["splices"][name]
        site = Site(e.name, e.item, table.get("place"), number(table.get("rate", 1)), self.repair("splice", name, minutes_only(table)), "splice")
        self.three(site, k)

    def wet_splices(self):
        for name, table in self.loom.tables["splices"].items():
            node = self.circuit.points[name]
            if not self.at_ground(node):
                site = Site(name, ("splice", name), table.get("place"), number(table.get("rate", 1)),
                            self.repair("splice", name, minutes_only(table)), "splice")
                self.between(site, "water", "water", node, self.circuit.frames[0])

    def of_stud(self, k, e, name):
        table = self.loom.tables["studs"][name]
        site = Site(e.name, e.item, table.get("place"), number(table.get("rate", 1)), self.repair("stud", name, minutes_only(table)),
                    "stud" if e.name == name else "lug")
        self.three(site, k)

    def of_clamp(self, k, e, name):
        part = self.loom.tables["parts"][name]
        site = Site(e.name, ("part", name), part.get("place"), number(part.get("rate", 1)), self.repair("lug", e.name), "lug")
        self.three(site, k)

    def place_of_end(self, end):
        kind, tables = end[0], self.loom.tables
        if kind == "cavity":
            return self.loom.plugs[end[1]].places[end[3]]
        return tables[{"splice": "splices", "stud": "studs", "terminal": "parts", "frame": "frames"}[kind]][end[1]].get("place")

    def wire_site(self, wire, name):
        place = wire.table.get("place") or self.place_of_end(wire.ends[0])
        return Site(name, ("wire", wire.name), place, number(wire.table.get("rate", 1)), self.repair("wire", wire.name, wire.table), "wire")

    def of_wire(self, k, e, name):
        wire = self.circuit.wires[name]
        site = self.wire_site(wire, name)
        self.three(site, k)
        c = self.circuit
        if not self.at_ground(e.b):
            self.between(site, "to ground", "to ground", e.b, c.frames[0])
            self.between(site, "to ground now and then", "comes and goes", e.b, c.frames[0], row="wire, now and then")
        if c.plus is not None and not self.same(e.b, c.plus):
            self.between(site, "to supply", "to supply", e.b, c.plus)

    def of_part(self, k, e, name):
        part = self.loom.tables["parts"][name]
        kind, me = part["kind"], ("part", name)
        row = ("load" if kind in LOADS else "sensor" if kind in SENSORS else "active sensor" if kind == "three-wire-sensor" else
               "led lamp" if kind == "lamp" and part.get("led") else kind)
        site = Site(name, me, part.get("place"), number(part.get("rate", 1)),
                    self.repair(row, f"{kind} {name}" if kind in LOADS else name, part), row)

        def simple(words, changes, of=None):
            self.put(site, words, of or words, changes)

        def open_(words="open", of=None):
            simple(words, lambda x: [("open", k)], of or words)

        def shorted(words="shorted", a=e.a, b=e.b):
            self.between(site, words, "shorted", a, b, me)

        def wrong(field="R", words="wrong value"):
            simple(words, lambda x: [("times", k, field, x)], "wrong value")

        def stuck(changes):
            simple("stuck open", lambda x: changes(False))
            simple("stuck closed", lambda x: changes(True))
            burnt("burnt")
            open_("comes and goes")

        def burnt(words):
            simple(words, lambda x: [("add", k, x)], "burnt")

        if kind == "fuse":
            open_("blown")
        elif kind == "switch":
            stuck(lambda closed: [("force", k, closed)])
        elif kind == "relay" and e.kind == "coil":
            open_("coil open"), shorted("coil shorted")
        elif kind == "relay" and e.closed_at_rest:
            burnt("87a burnt")
        elif kind == "relay":
            twins = [i for i, other in enumerate(self.circuit.elements) if other.kind == "relay" and other.coil == e.coil]
            stuck(lambda closed: [("force", i, closed != self.circuit.elements[i].closed_at_rest) for i in twins])
        elif kind == "diode":
            open_(), shorted()
        elif kind == "lamp":
            open_(), shorted(), wrong(), open_("comes and goes")
        elif kind in LOADS:
            open_(), shorted(), wrong(), open_("comes and goes")
            live = e.b if self.at_ground(e.a) else e.a
            if not self.at_ground(live):
                self.between(site, "to ground", "to ground", live, self.circuit.frames[0], me)
        elif kind == "resistor":
            open_(), wrong()
        elif kind == "terminator":
            open_("missing"), wrong()
            self.double(site, e)
        elif kind == "potentiometer":
            self.potentiometer(site, k, e, open_, shorted, wrong)
        elif kind in SENSORS:
            open_(), shorted(), wrong(), open_("comes and goes")
        elif kind == "three-wire-sensor" and e.kind == "ratio":
            open_("dead", "open"), shorted(a=e.c, b=e.d), wrong("share"), open_("comes and goes")
            simple("stuck", lambda x: [("set", k, "share", x)])
        elif kind == "battery":
            open_()
            simple("flat", lambda x: [("times", k, "E", x)])
            simple("weak", lambda x: [("set", k, "R", x)])
        elif kind == "alternator":
            open_("no charge")
            simple("weak", lambda x: [("set", k, "R", x)])
            simple("low charge", lambda x: [("times", k, "E", x)])
            simple("overcharge", lambda x: [("times", k, "E", x)])
            self.between(site, "leaks", "leaks", e.a, e.b, me)

    def potentiometer(self, site, k, e, open_, shorted, wrong):
        half = e.name.rpartition(":")[2]
        if half == "wiper":
            self.three(replace(site, name=site.name + " wiper", row="wiper"), k)
            return
        open_(half + " open", "open"), shorted(half + " shorted")
        if half == "1-2":
            wrong(words=half + " wrong value")
            track = e.R + self.circuit.elements[k + 1].R
            self.put(site, "stuck", "stuck", lambda x: [("set", k, "R", max(0.5, track * x)), ("set", k + 1, "R", max(0.5, track * (1 - x)))])

    def double(self, site, e):
        lines = frozenset((self.metal[e.a], self.metal[e.b]))
        if lines not in self.doubled:
            self.doubled.add(lines)
            self.put(site, "doubled", "doubled", lambda x: [("between", e.a, e.b, e.R, None, None)], "terminator")

    def module_site(self, name):
        table = self.loom.tables["modules"][name]
        return Site(name, ("module", name), table.get("place"), number(table.get("rate", 1)), self.repair("module", name, table), "module")

    def of_module(self, k, e, name):
        site = replace(self.module_site(name), name=e.name, row="inside")
        me, inner = ("module", name), self.circuit.modules[name]
        what = e.name.rpartition(" ")[2]
        if e.kind == "driver":
            site.row = "output"
            self.put(site, "output dead", "output dead", lambda x: [("force", k, False)])
            self.put(site, "output stuck on", "output stuck on", lambda x: [("force", k, True)])
            self.put(site, "output weak", "high resistance", lambda x: [("add", k, x)])
            self.between(site, "output leaks", "leaks", e.a, e.b, me)
            pin, other = (e.b, inner.g) if e.a == inner.s else (e.a, inner.s)
            self.between(site, "output shorted inside", "shorted", pin, other, me, "inside")
        elif e.name == name + " terminator":
            self.put(site, "missing", "missing", lambda x: [("open", k)], "terminator")
            self.double(site, e)
        elif what == "input":
            self.between(site, "damaged", "input damaged", e.a, e.b, me, "input")
            self.between(site, "leaks to supply", "input damaged", e.a, inner.s, me, "input")
        elif what in ("pull-up", "pull-down", "reference", "return", "supply", "ground"):
            self.put(site, "open inside", "open", lambda x: [("open", k)])
            if what == "reference":
                self.put(site, "weak inside", "high resistance", lambda x: [("add", k, x)])
                self.between(site, "shorted inside", "shorted", e.b, inner.g, me)

    def seats(self, name):
        """docs/formats/buses.md, "Faults"."""
        for bus in self.circuit.buses.values():
            for seat in bus.seats:
                if seat.module == name:
                    site = replace(self.module_site(name), name=f"{name} {bus.name}", row="seat")
                    self.put(site, "mute", "mute", lambda x, bus=bus: [("mute", name, bus.name)])
                    self.put(site, "holds the bus", "holds the bus", lambda x, bus=bus, seat=seat: [
                        ("between", seat.rails[line], pin, bus.driven(line)[1], ("module", name), None) for line, pin in seat.pins.items()])
                    self.put(site, "babbles", "babbles", lambda x, bus=bus: [("babbles", name, bus.name)])
        if "gateway" in self.loom.tables["modules"][name]:
            self.put(replace(self.module_site(name), row="gateway"), "passes nothing on", "passes nothing on", lambda x: [("passes nothing on", name)])

    # ---- neighbours

    def neighbours(self, plug):
        part = self.loom.tables["parts"][plug.owner[1]] if plug.owner and plug.owner[0] == "part" else None
        if part and part["kind"] == "fuse":
            return
        self.crossed = part is None or part["kind"] in POLAR or part["kind"] == "lamp" and part.get("led")
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
        if self.crossed:
            self.put(site, "swapped", "swapped", lambda x: [("open", i), ("open", j), ("between", e.a, f.b, e.R, None, plug.name),
                                                            ("between", f.a, e.b, f.R, None, plug.name)])
        self.between(site, "touch", "touches", e.a, f.a)
        site.repair = self.repair("plug", plug.name)
        self.between(site, "water", "water", e.a, f.a)

    def bundles(self):
        bundles = {}
        for wire in self.loom.wires:
            if wire.table.get("bundle"):
                bundles.setdefault(wire.table["bundle"], []).append(wire)
        for _, wires in sorted(bundles.items()):
            for i, one in enumerate(wires):
                for two in wires[i + 1:]:
                    e, f = (self.circuit.elements[self.circuit.wire_number[w.name]] for w in (one, two))
                    if not self.same(e.b, f.b):
                        site = self.wire_site(one, f"{one.name}+{two.name}")
                        self.between(site, "touch", "touches", e.b, f.b, factor=2 / len(wires))


def minutes_only(table):
    return {"repair_minutes": table["repair_minutes"]} if "repair_minutes" in table else {}
