# SPDX-License-Identifier: Apache-2.0
"""What a test shows on a loom in a state with faults: docs/formats/loom.md, part 2, sections 4, 6, 8 and 9.

A prediction is {"settled", "parts": [(weight, part)]}; a part is ("value", mean, sigma), ("over",) or {word: chance}."""
import copy
import math

from circuit import Circuit, Element, curve_at, sensor_ohm
from drawing import number, read_loom
from faults import Faults
from messages import Messages
from solve import NoRest, Singular, Solver
from ways import below, ways

LEAD = 0.05
HELD = ("coil", "module", "ratio", "follows", "limit", "fuse")  # by ways.py: the last word of such a change
SHOWS = {"water": 0.7, "high resistance": 0.6, "open": 0.5, "swapped": 0.5, "touches": 0.4, "comes and goes": 0.35}
SHOWS_ON_RUN = {"to ground": 0.6, "to supply": 0.6, "touches": 0.5, "open": 0.35, "high resistance": 0.25, "comes and goes": 0.25}
UNTOUCHED = ("wiggle", "heat", "cool", "inspect")  # by states
WORDS = {"continuity": ["beep", "silent"], "lamp": ["bright", "dim", "dark"], "code": ["active", "past", "absent"],
         "look": ["works", "weak", "dead"], "module": ["yes", "no"], "wiggle": ["changes", "steady"],
         "heat": ["changes", "steady"], "cool": ["changes", "steady"], "inspect": ["marked", "clean"]}


def above(x, threshold, sigma):
    return 0.5 * math.erfc((threshold - x) / (max(sigma, 1e-12) * math.sqrt(2)))


class State:
    """made: setups; apart: plugs; fitted: (ohm or "lead", point, point); swapped: ("part" or "module", name)."""

    def __init__(self, made=(), apart=(), fitted=(), swapped=()):
        self.made, self.apart, self.fitted, self.swapped = list(made), list(apart), list(fitted), list(swapped)

    def key(self):
        return (tuple(sorted(self.made)), tuple(sorted(self.apart)), tuple(sorted(map(str, self.fitted))), tuple(sorted(self.swapped)))


class Vehicle:
    solver_class = Solver

    def __init__(self, path):
        self.loom = read_loom(path)
        self.circuit = Circuit(self.loom)
        self.faults = Faults(self.circuit)
        self.in_use = list(self.loom.top.get("in_use", []))
        self.melted = {}
        self.stood = {}             # states without a meter, of the circuit last read
        self.talk = (None, None)    # the messages of the circuit last asked for them
        self.as_it_stands = False   # True: the fault comes to a circuit that stands, as section 13 says of the program

    # ---- the circuit in a state with changes

    def solver(self, state, changes):
        loom, made = self.loom, set(state.made)
        elements = [copy.copy(e) for e in self.circuit.elements]
        for e in elements:
            if e.kind == "contact":
                e.there = e.plug not in state.apart
            elif e.kind == "switch":
                e.there = e.closed_at_rest
            elif e.kind in ("source", "diode"):
                e.there = made.issuperset(e.on_with)
            elif e.kind == "driver":
                e.commanded = bool(e.on_with) and made.issuperset(e.on_with)
        for name, setup in loom.tables["setups"].items():
            if name in made:
                for part, to in setup.get("sets", {}).items():
                    elements[self.circuit.first_element_of(part)].there = to == "closed"
        for ohm, a, b in state.fitted:
            elements.append(extra(self.node(a), self.node(b), LEAD + (0.0 if ohm == "lead" else ohm)))
        return self.solver_class(self.circuit, elements, apply_changes(elements, self.remaining(state, changes)))

    def remaining(self, state, changes):
        """Without what the state undoes."""
        kept = []
        for change in changes:
            if change[-1] in HELD:
                undone = False
            elif change[0] == "between":
                undone = change[4] in state.swapped or change[5] in state.apart
            elif change[0] in ("dead", "mute", "babbles", "passes nothing on"):
                undone = ("module", change[1]) in state.swapped
            else:
                e = self.circuit.elements[change[1]]
                undone = e.kind not in ("contact", "joint") and (("part", e.part) in state.swapped or ("module", e.module) in state.swapped)
            if not undone:
                kept.append(change)
        return kept

    def changes(self, cases, closed=False):
        """Of [(fault, quantile)], with the fuses that melt at work; closed: what comes and goes is whole just now."""
        key = (tuple((f.name, u) for f, u in cases), closed, self.as_it_stands)
        if key not in self.melted:
            moments = (False, True) if any(f.comes_and_goes for f, _ in cases) else (False,)
            its = {one: [c for f, u in cases if not (one and f.comes_and_goes) for c in f.changes(f.severity(u))] for one in moments}
            blown = sorted({k for one in moments for k in self.melts(its[one])})
            self.melted[key] = its[closed if True in its else False] + [("open", k) for k in blown]
        return self.melted[key]

    def melts(self, changes):
        point = self.rest(State(self.in_use), changes) if changes and self.in_use else None
        if point is None:
            return []
        return [k for k, e in enumerate(self.circuit.elements) if e.kind == "fuse" and not point.states.on[k]]

    def rest(self, state, changes, meter=None):
        """The circuit at rest, or None."""
        solver = self.solver(state, changes)
        if meter is not None:
            solver.elements.append(meter)
        try:
            point = solver.settle(self.standing(state, changes, meter))
        except (NoRest, Singular):
            return None
        for change in changes:
            if change[0] == "force" and change[3:] in (("follows",), ("limit",)):  # held near its threshold: section 7
                point.states.hold_driver(change[1], change[2], change[3] == "limit" and not change[2])
        return point

    def standing(self, state, changes, meter):
        """Where the states go on from: those of the circuit without the meter; without one, None: from power-up."""
        came = self.solver(state, []).settle().states if changes and self.as_it_stands else None
        if meter is None:
            return came
        key = (state.key(), repr(changes), self.as_it_stands)
        if key not in self.stood:
            self.stood = {key: self.solver(state, changes).settle(came).states}
        return self.stood[key]

    def node(self, text):
        name = self.canonical(text)
        return self.circuit.points[name]

    def canonical(self, text):
        if text in self.circuit.points:
            return text
        head = text.partition(":")[0]
        plug = self.loom.plugs.get(head)
        if "@" not in text and plug and not plug.owner:
            return text + "@" + plug.sides[0]
        return text.removesuffix("@loom")

    # ---- tests

    def predict(self, state, cases, test):
        if not any(f.comes_and_goes for f, _ in cases):
            return self.moment(state, cases, test, False)
        open_, whole = self.moment(state, cases, test, False), self.moment(state, cases, test, True)
        return {"settled": open_["settled"] or whole["settled"],
                "parts": [(0.5 * w, part) for w, part in open_["parts"] + whole["parts"]]}

    def moment(self, state, cases, test, closed):
        kind, subject = test
        changes = self.changes(cases, closed)
        work = None if state.key() == State(self.in_use, swapped=state.swapped).key() and not closed else self.changes(cases)
        see = getattr(self, "see_" + kind)
        try:
            as_it_is, others = ways(self, state, changes) if kind not in UNTOUCHED else (1.0, [])
            parts = [(as_it_is * w, part) for w, part in in_parts(see(state, changes, subject, cases=cases, work=work))]
        except NoRest:
            return {"settled": False, "parts": []}
        for chance, held in others:
            try:
                more = in_parts(see(state, changes + held, subject, cases=cases, work=work))
            except NoRest:
                continue
            for w, part in more:
                add_part(parts, chance * w, part)
        return {"settled": True, "parts": parts}

    def settled(self, state, changes, meter=None):
        point = self.rest(state, changes, meter)
        if point is None:
            raise NoRest()
        return point

    def messages(self, state, changes, point):
        """On all buses of the circuit that stands so."""
        key = (state.key(), repr(changes), self.as_it_stands)
        if self.talk[0] != key:
            self.talk = key, Messages(self, self.remaining(state, changes), point, lambda more, forced: self.as_it_stood(state, changes, point, more, forced))
        return self.talk[1]

    def as_it_stood(self, state, changes, point, more, forced):
        solver = self.solver(state, changes)
        for k, conducts in forced.items():
            if solver.elements[k].force is not False:
                solver.elements[k].force = conducts
        solver.elements += more
        return solver.as_it_stands(point)

    # ---- section 6, and what buses.md adds to it

    def see_volts(self, state, changes, points, talk=None, share=1 / 3, **_):
        red, black = self.node(points[0]), self.node(points[1])
        shift = (talk or Messages.mean_shift)(self.messages(state, changes, self.settled(state, changes)), red, black)
        point = self.settled(state, changes, extra(red, black, 1e7))
        value = point.volts(red, black) + shift
        size = abs(value)
        percent, counts, digit = 0.5, 3 if size < 0.6 else 2, 1e-4 if size < 0.6 else 1e-3 if size < 6 else 0.01 if size < 60 else 0.1
        return "value", value, math.sqrt(point.sigma_volts(red, black) ** 2 + ((size * percent / 100 + counts * digit) / 3) ** 2 + (share * shift) ** 2)

    def see_highest(self, state, changes, points, **_):
        return self.see_volts(state, changes, points, Messages.highest_shift, 0.12)

    def see_lowest(self, state, changes, points, **_):
        return self.see_volts(state, changes, points, Messages.lowest_shift, 0.12)

    def ohms(self, state, changes, points):
        """(ohm, sigma of the circuit), which may be over the last range; None where nothing can be read."""
        red, black = self.node(points[0]), self.node(points[1])
        before = self.settled(state, changes)
        if not before.together(red, black) or abs(before.volts(red, black)) > 0.05:
            return None
        for top in (600, 6e3, 6e4, 6e5, 6e6, 6e7):
            current = 0.6 / top
            point = self.settled(state, changes, Element("inject", "meter", black, red, E=current))
            ohm = point.volts(red, black) / current
            if ohm <= top:
                break
        return ohm, point.sigma_volts(red, black) / current

    def see_ohms(self, state, changes, points, **_):
        read = self.ohms(state, changes, points)
        if read is None or read[0] > 1.2e8:
            return ("over",)
        ohm, sigma = read
        size = abs(ohm)
        digit = 0.1
        for top in (600, 6e3, 6e4, 6e5, 6e6):
            digit *= 10 if size > top else 1
        meter = (size * (2 if size > 6e6 else 0.9) / 100 + 3 * digit) / 3
        sigma = math.sqrt(sigma**2 + meter**2 + 0.1**2)
        share = sigma / ohm if ohm > 3e7 else 0.0
        z = math.log(6e7 / ohm) / share if share > 0 else math.inf
        if below(-z) < 1e-3:
            return "value", ohm, sigma
        if below(z) < 1e-3:
            return ("over",)
        steep = math.exp(-z * z / 2) / math.sqrt(2 * math.pi) / below(z)
        mean = ohm * math.exp(-share * steep)
        return [(below(z), ("value", mean, mean * share * math.sqrt(1 - z * steep - steep * steep))), (below(-z), ("over",))]

    def see_continuity(self, state, changes, points, **_):
        read = self.ohms(state, changes, points)
        silent = 1.0 if read is None or read[0] > 6e7 else above(read[0], 30, math.hypot(read[1], 3))
        return {"beep": 1 - silent, "silent": silent}

    def see_clamp(self, state, changes, wire, **_):
        k = self.circuit.wire_number[wire]
        point = self.settled(state, changes)
        value = point.amperes(k)
        return "value", value, math.hypot(point.sigma_amperes(k), (abs(value) * 0.02 + 0.05) / 3)

    def see_lamp(self, state, changes, points, **_):
        red, black, volts = self.node(points[0]), self.node(points[1]), self.loom.volts
        meter = extra(red, black, volts**2 / 5)
        meter.kind, meter.E = "filament", volts
        point = self.settled(state, changes, meter)
        return graded("lamp", abs(point.volts(red, black)) / volts, point.sigma_volts(red, black) / volts, 0.85, 0.30)

    # ---- section 9

    def see_code(self, state, changes, name, cases, work):
        code = self.loom.tables["codes"][name]
        point = self.settled(state, changes)
        if not point.states.alive[code["module"]]:
            return {"active": 0.002, "past": 0.002, "absent": 0.996}
        chance = number(code.get("chance", 0.97))
        runs = set(state.made).issuperset(code.get("needs", []))
        active = chance * self.condition(code, point, state, changes) if runs else 0.0
        past = 0.9 * max(0.0, chance * self.stored(code, point, state, changes, work) - active)
        shown = [active + 0.004, past + 0.008, max(0.0, 1 - active - past) + 0.004]
        shows = self.loom.tables["modules"][code["module"]].get("shows_codes", False)
        read = 1.0 if shows else self.messages(state, changes, point).answers(code["module"])
        return {word: read * p / sum(shown) + (1 - read) * unread for word, p, unread in zip(WORDS["code"], shown, (0.002, 0.002, 0.996))}

    def stored(self, code, point, state, changes, work):
        """Chance of the condition at work; over all ways the states may stand there when that is another circuit."""
        if work is None:
            return self.condition(code, point, state, changes)
        at_work = State(self.in_use, swapped=state.swapped)
        as_it_is, others = ways(self, at_work, work)
        sum_ = 0.0
        for chance, held in [(as_it_is, [])] + others:
            then = self.rest(at_work, work + held)
            sum_ += chance * self.condition(code, then, at_work, work + held) if then else 0.0
        return sum_

    def condition(self, code, point, state, changes):
        module = self.circuit.modules[code["module"]]
        if not point.states.alive[module.name]:
            return 0.0
        for key, a, floor in (("above_v", None, 0.01), ("below_v", None, 0.01), ("supply_above_v", module.s, 0.05), ("supply_below_v", module.s, 0.05)):
            if key in code:
                a = module.pins[code["pin"]] if a is None else a
                p = above(point.volts(a, module.g), number(code[key]), math.hypot(point.sigma_volts(a, module.g), floor))
                return 1 - p if "below" in key else p
        if "lost" in code:
            return 1 - self.messages(state, changes, point).reach(code["lost"], module.name)
        k = module.drivers[code["pin"]]
        if not point.states.on[k]:
            return 1.0 if "over_a" in code and point.states.tripped[k] else 0.0
        p = above(abs(point.amperes(k)), number(code.get("over_a", code.get("open_below_a"))), math.hypot(point.sigma_amperes(k), 0.01))
        return p if "over_a" in code else 1 - p

    def see_live(self, state, changes, name, **_):
        live = self.loom.tables["live"][name]
        point = self.settled(state, changes)
        module = self.circuit.modules[live["module"]]
        if not point.states.alive[module.name]:
            return ("over",)
        pin = module.pins[live["pin"]]
        volts = point.volts(pin, module.g)
        d = max(0.005, point.sigma_volts(pin, module.g))
        slope = abs(self.value(live, module, volts + d) - self.value(live, module, volts - d)) / 2
        scale = number(live["high"]) - number(live["low"])
        return "value", self.value(live, module, volts), math.hypot(slope, number(live.get("percent", 3)) / 100 * scale / 3)

    def value(self, live, module, volts):
        table, part = module.tables[live["pin"]], self.loom.tables["parts"][live["part"]]
        low, high, up = number(live["low"]), number(live["high"]), number(table.get("pull_up_v", 5))

        def within(x):
            return min(max(x, low), high)

        if part["kind"] == "potentiometer":
            return within(low + (high - low) * volts / up)
        if "pull_up_ohm" not in table:
            y, own, off = volts / up, lambda x: curve_at(part["curve"], x), lambda a, b: abs(a - b)
        else:
            headroom = up - volts
            y = 1e12 if headroom <= 1e-6 * up else max(0.0, number(table["pull_up_ohm"]) * volts / headroom)
            own, off = lambda x: sensor_ohm(part, x), lambda a, b: abs(math.log(max(a, 1e-3) / max(b, 1e-3)))
        back = turned_back(part, y)
        if back is not None:
            return within(back)
        return low if off(y, own(low)) < off(y, own(high)) else high

    def see_look(self, state, changes, name, **_):
        point = self.settled(state, changes)
        k = self.circuit.first_element_of(name)
        drawn = self.circuit.elements[k]
        amperes = abs(point.amperes(k))
        if drawn.kind == "filament":
            watt = number(self.loom.tables["parts"][name]["watt"])
            share = (amperes * abs(point.volts(drawn.a, drawn.b)) / watt) ** (2 / 3)
            return graded("look", share, point.sigma_volts(drawn.a, drawn.b) / drawn.E, 0.85, 0.30)
        rated = (self.loom.volts - (drawn.E if drawn.kind == "diode" else 0)) / drawn.R
        return graded("look", amperes / rated, point.sigma_amperes(k) / rated, 0.7, 0.25)

    def see_module(self, state, changes, name, **_):
        point = self.settled(state, changes)
        if not point.states.alive[name] or not self.loom.tables["modules"][name].get("answers", True):
            return {"yes": 0.01, "no": 0.99}
        h = self.messages(state, changes, point).answers(name)
        return {"yes": 0.01 + 0.98 * h, "no": 0.99 - 0.98 * h}

    def see_wiggle(self, state, changes, name, cases, **_):
        order = [("plug", self.loom.plugs), ("wire", self.circuit.wire_number), ("part", self.loom.tables["parts"]),
                 ("module", self.loom.tables["modules"])]
        return self.provoked(next((kind, name) for kind, names in order if name in names), cases, 0)

    def see_heat(self, state, changes, name, cases, **_):
        return self.provoked(self.warmed(name), cases, 1)

    see_cool = see_heat

    def warmed(self, name):
        tables = self.loom.tables
        order = [("part", tables["parts"]), ("module", tables["modules"]), ("plug", self.loom.plugs), ("wire", self.circuit.wire_number)]
        return next((kind, name) for kind, names in order if name in names)

    def see_inspect(self, state, changes, name, cases, **_):
        if name in self.circuit.wire_number and name not in self.circuit.points:
            return self.see_run(name, cases)
        node, marked = self.node(name), 0.06
        there = [(k, e) for k, e in enumerate(self.circuit.elements) if e.kind in ("contact", "joint") and node in (e.a, e.b)]
        for fault, _ in cases:
            done = fault.changes(fault.high) if fault.changes else []
            at_joint = any(change[0] in ("open", "add") and change[1] == k for change in done for k, _ in there)
            between = [change for change in done if change[0] == "between"] if fault.item[0] in ("plug", "splice") else []
            near = {node} | {e.a for _, e in there if e.kind == "contact"}
            if at_joint or any(near & set(change[1:3]) for change in between):
                marked = max(marked, SHOWS.get(fault.kind, 0.06))
        return {"marked": marked, "clean": 1 - marked}

    def see_run(self, wire, cases):
        end, marked = self.circuit.elements[self.circuit.wire_number[wire]].b, 0.08
        for fault, _ in cases:
            if fault.item[0] != "wire":
                continue
            touches = fault.kind == "touches" and any(end in change[1:3] for change in fault.changes(fault.high) if change[0] == "between")
            if fault.item[1] == wire or touches:
                marked = max(marked, 0.6 if fault.row == "wire, now and then" else SHOWS_ON_RUN.get(fault.kind, 0.08))
        return {"marked": marked, "clean": 1 - marked}

    def provoked(self, thing, cases, column):
        chance = 0.02
        for fault, _ in cases:
            inside = fault.item[0] in ("part", "module") and fault.row != "lug"
            if fault.comes_and_goes:
                its = (0.25, 0.6) if inside else (0.7, 0.15)
            else:
                its = (0.12, 0.06) if not inside and fault.kind in ("open", "high resistance") else (0.02, 0.02)
            if self.sits_at(fault, thing):
                chance = max(chance, its[column])
        return {"changes": chance, "steady": 1 - chance}

    def sits_at(self, fault, thing):
        kind, name = thing
        if kind == "wire":
            return fault.item == thing or fault.row in ("splice", "lug") and fault.site.endswith(" to " + name)
        if fault.item == thing:
            return True
        owner = self.loom.plugs[name].owner if kind == "plug" else None
        if owner and owner[0] == "part":
            return fault.item == owner
        return kind in ("part", "module") and fault.item[0] == "plug" and self.loom.plugs[fault.item[1]].owner == thing

    # ---- section 10

    def refused(self, state, test):
        kind, subject = test
        if kind in ("heat", "cool"):
            hazards = self.hazards_of(self.warmed(subject))
            return bool(hazards & {"airbag", "high-voltage"}) or kind == "heat" and "dangerous-goods" in hazards
        if kind == "inspect":
            return "high-voltage" in self.hazards(subject)
        points = list(subject) if kind in ("volts", "highest", "lowest", "ohms", "continuity", "lamp") else []
        hazards = set().union(*map(self.hazards, points))
        if "high-voltage" in hazards or self.reaches(state, points, "high-voltage"):
            return True
        if kind in ("ohms", "continuity", "lamp") and ("airbag" in hazards or self.reaches(state, points, "airbag")):
            return True
        if kind == "lamp" and any(self.circuit.on_signal_pin(self.node(p)) for p in points):
            return True
        if any(self.hazards(p) & {"airbag", "high-voltage"} for _, a, b in state.fitted for p in (a, b)):
            return True
        if kind in ("ohms", "continuity"):
            point = self.rest(state, [])
            red, black = map(self.node, points)
            pairs = [(red, black), (red, self.circuit.minus), (black, self.circuit.minus)]
            return point is not None and any(abs(point.between(a, b)) > 0.05 for a, b in pairs)
        return False

    def reaches(self, state, points, hazard):
        elements = [e for e in self.circuit.elements if not (e.kind == "contact" and e.plug in state.apart)]
        if not any(hazard in self.hazards_of(e.item) for e in self.circuit.elements):
            return False
        ends = set(self.circuit.frames) | {self.circuit.plus, self.circuit.minus}
        leads = [tuple(map(self.node, (a, b))) for _, a, b in state.fitted]
        seen, work = set(), [n for n in map(self.node, points) if n not in ends]
        while work:
            node = work.pop()
            if node in seen:
                continue
            seen.add(node)
            for e in elements:
                if node in (e.a, e.b):
                    if hazard in self.hazards_of(e.item):
                        return True
                    work += [n for n in (e.a, e.b) if n not in ends]
            work += [n for lead in leads if node in lead for n in lead if n not in ends]
        return False

    def of_places(self, places):
        tables = self.loom.tables
        return {self.loom.top.get("hazard")} | {tables["places"][p].get("hazard") for p in places if p}

    def hazards_of(self, item):
        kind, name = item or (None, None)
        if kind == "plug":
            plug = self.loom.plugs[name]
            return {plug.hazard} | self.of_places(plug.places)
        if kind == "wire":
            table = self.circuit.wires[name].table
        else:
            section = {"part": "parts", "clamp": "parts", "module": "modules", "splice": "splices", "stud": "studs"}.get(kind)
            table = self.loom.tables[section][name] if section else {}
        return {table.get("hazard")} | self.of_places([table.get("place")])

    def hazards(self, text):
        head, _, side = self.canonical(text).partition("@")
        head = head.partition(":")[0]
        if head in self.loom.plugs:
            plug = self.loom.plugs[head]
            return {plug.hazard} | self.of_places([plug.places[plug.sides.index(side) if side in plug.sides else 0]])
        table = next((self.loom.tables[s][head] for s in ("parts", "studs", "splices", "frames") if head in self.loom.tables[s]), {})
        wire = self.circuit.wires.get(text.partition("@")[2])
        own = table.get("hazard") or (wire.table.get("hazard") if wire is not None else None)
        return {own} | self.of_places([table.get("place")])


def in_parts(seen):
    return seen if isinstance(seen, list) else [(1.0, seen)]


def add_part(parts, weight, part):
    """To one that reads the same, or as one of its own."""
    for i, (w, other) in enumerate(parts):
        if alike(part, other):
            parts[i] = (w + weight, other)
            return
    parts.append((weight, part))


def alike(one, other):
    if isinstance(one, dict):
        return all(abs(one[word] - other[word]) <= 1e-3 for word in one)
    if one[0] != other[0] or one[0] == "over":
        return one[0] == other[0]
    widest = 0.1 * max(one[2], other[2])
    return abs(one[1] - other[1]) <= widest and abs(one[2] - other[2]) <= widest


def extra(a, b, R):
    return Element("resistor", "added", a, b, max(R, 1e-6))


def graded(kind, share, sigma, upper, lower):
    sigma = math.hypot(sigma, 0.05)
    top, bottom = above(share, upper, sigma), 1 - above(share, lower, sigma)
    three = [top, max(0.0, 1 - top - bottom), bottom]
    return {word: p / sum(three) for word, p in zip(WORDS[kind], three)}


def turned_back(part, y):
    """The value whose resistance or share is y; None off the curve."""
    if "curve" not in part:
        if y <= 0:
            return None
        inverse = math.log(y / number(part["r25_ohm"])) / number(part["b_k"]) + 1 / 298.15
        celsius = 1 / inverse - 273.15 if inverse > 0 else math.inf
        return celsius if -60 <= celsius <= 300 else None
    for (x0, y0), (x1, y1) in zip(part["curve"], part["curve"][1:]):
        if min(y0, y1) <= y <= max(y0, y1):
            return x0 if y0 == y1 else x0 + (y - y0) / (y1 - y0) * (x1 - x0)
    return None


def apply_changes(elements, changes):
    """Puts them in; returns the modules that are dead."""
    dead = []
    for change in changes:
        kind, rest = change[0], change[1:]
        if kind == "lives":
            dead.append((kind, rest[0]))
        if kind == "between":
            elements.append(extra(rest[0], rest[1], rest[2]))
        elif kind == "dead":
            dead.append(rest[0])
        elif kind == "open":
            elements[rest[0]].force = False
        elif kind == "force":
            if elements[rest[0]].force is not False:
                elements[rest[0]].force = rest[1]
        elif kind == "add":
            elements[rest[0]].R += rest[1]
        elif kind == "times":
            setattr(elements[rest[0]], rest[1], getattr(elements[rest[0]], rest[1]) * rest[2])
        elif kind == "set":
            setattr(elements[rest[0]], rest[1], rest[2])
    return dead
