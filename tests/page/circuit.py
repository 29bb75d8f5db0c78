# SPDX-License-Identifier: Apache-2.0
"""From drawing to circuit: docs/formats/loom.md, part 2, sections 1 to 3 and the tolerances of section 7."""
import math
from dataclasses import dataclass

from bus_kinds import ROLES, Seat, bus_of, read_buses, seats_on
from drawing import KINDS, LOADS, number


@dataclass
class Element:
    kind: str                  # wire contact joint fuse switch coil relay diode filament resistor source ratio rail driver load inject
    name: str
    a: int
    b: int
    R: float = 0.0
    E: float = 0.0             # knee of a diode, rated volts of a filament
    tolerance: float = 0.0
    c: int = None              # ratio: sensed pair; driver: followed pin and g
    d: int = None
    share: float = 0.0
    least_v: float = 0.0       # ratio
    melts_a: float = 0.0
    limit_a: float = None
    off_ohm: float = 0.0       # rail not alive; load of a module that is not
    pull_in_v: float = 0.0
    drop_out_v: float = 0.0
    closed_at_rest: bool = False
    coil: int = None
    follows_v: float = 0.0
    follows_below: bool = False
    on_with: tuple = ()
    plug: str = None           # contacts
    cavity: str = None
    part: str = None
    module: str = None
    item: tuple = None         # ("wire", name), ("stud", name), ...
    # State of the vehicle and faults:
    there: bool = True         # plug together, switch closed, setups made
    commanded: bool = False
    force: bool = None


def curve_at(points, x):
    if x <= points[0][0]:
        return points[0][1]
    for (x0, y0), (x1, y1) in zip(points, points[1:]):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return points[-1][1]


def sensor_ohm(part, at):
    if "curve" in part:
        return max(0.01, curve_at(part["curve"], at))
    return number(part["r25_ohm"]) * math.exp(number(part["b_k"]) * (1 / (at + 273.15) - 1 / 298.15))


class Circuit:
    """Nodes are numbers; `points` maps names to nodes, `ends` of a module's pins sit in `modules`."""

    def __init__(self, loom):
        self.loom = loom
        self.names, self.points, self.elements = [], {}, []
        self.modules = {}      # name -> s, g, alive_above_v, pins {key: node}, drivers {key: element number}
        self.wire_number = {}
        self.wires = {wire.name: wire for wire in loom.wires}
        self.frames = [self.point(name) for name in loom.tables["frames"]]
        self.add_studs()
        for name in loom.tables["splices"]:
            self.point(name)
        for plug in loom.plugs.values():
            self.add_contacts(plug)
        for wire in loom.wires:
            self.add_wire(wire)
        for name, part in loom.tables["parts"].items():
            self.add_part(name, part)
        self.buses = read_buses(loom)
        for name, module in loom.tables["modules"].items():
            Module(self, name, module)
        for bus in self.buses.values():
            self.about_lines(bus)
        batteries = [n for n, p in loom.tables["parts"].items() if p["kind"] == "battery"]
        supply = loom.top.get("supply", batteries[0] if batteries else None)
        self.plus = self.terminal(supply, "+") if supply else None
        self.minus = self.terminal(supply, "-") if supply else self.frames[0]

    def node(self, name):
        self.names.append(name)
        return len(self.names) - 1

    def point(self, name):
        if name not in self.points:
            self.points[name] = self.node(name)
        return self.points[name]

    def add(self, kind, name, a, b, R=0.0, tolerance=0.0, **more):
        self.elements.append(Element(kind, name, a, b, R, tolerance=tolerance, **more))
        return len(self.elements) - 1

    def add_studs(self):
        for name, stud in self.loom.tables["studs"].items():
            frame = self.points[stud["frame"]] if "frame" in stud else self.frames[0]
            ohm = number(stud["ohm"]) if "ohm" in stud else self.loom.defaults["stud_ohm"]
            self.add("joint", name, self.point(name), frame, ohm, 0.9, item=("stud", name))

    def cavity(self, plug, cavity, side):
        plug = self.loom.plugs[plug]
        bare = plug.owner and side == 0
        return self.points[plug.name + ":" + cavity + ("" if bare else "@" + plug.sides[side])]

    def add_contacts(self, plug):
        for cavity in plug.used:
            base = plug.name + ":" + cavity
            one = self.point(base if plug.owner else base + "@" + plug.sides[0])
            two = self.point(base + "@" + plug.sides[1])
            ohm = plug.contact_ohm if plug.contact_ohm is not None else self.loom.defaults["contact_ohm"]
            self.add("contact", base, one, two, ohm, 0.9, plug=plug.name, cavity=cavity, item=("plug", plug.name))

    def terminal(self, part, terminal):
        if part in self.loom.plugs:
            return self.cavity(part, terminal, 1)
        return self.point(part + ":" + terminal)

    def end(self, end, wire):
        """The wire's own node at this end; a joint is made where there is one."""
        d = self.loom.defaults
        if end[0] == "cavity":
            return self.cavity(*end[1:])
        if end[0] == "frame":
            return self.points[end[1]]
        at = end[1] if end[0] != "terminal" else end[1] + ":" + end[2]
        far = self.points[at] if end[0] != "terminal" else self.terminal(end[1], end[2])
        own = self.node(wire + " at " + at)
        item = {"splice": ("splice", end[1]), "stud": ("stud", end[1]), "terminal": ("clamp", end[1])}[end[0]]
        self.add("joint", f"{at} to {wire}", own, far, d["splice_ohm"] if end[0] == "splice" else d["stud_ohm"], 0.9, item=item)
        if end[0] != "splice":
            self.points[f"{at}@{wire}"] = own
        return own

    def add_wire(self, wire):
        d, table = self.loom.defaults, wire.table
        size, length = table.get("size_mm2"), table.get("length_m")
        ambient = number(self.loom.top.get("ambient_c", 20))
        if "ohm" in table:
            ohm = number(table["ohm"])
        else:
            ohm = (0.017241 * (number(length) if length is not None else d["wire_length_m"]) /
                   (number(size) if size is not None else d["wire_size_mm2"]) * (1 + 0.00393 * (ambient - 20)))
        known = "ohm" in table or (size is not None and length is not None)
        a, b = self.end(wire.ends[0], wire.name), self.end(wire.ends[1], wire.name)
        self.wire_number[wire.name] = self.add("wire", wire.name, a, b, ohm, 0.1 if known else 0.5, item=("wire", wire.name))

    def about_lines(self, bus):
        """What metal joins to the bus, metres of its high line, where the reader sits."""
        metal = ("wire", "contact", "joint")
        high = self.joined([seat.pins["high"] for seat in bus.seats], lambda e: e.kind in metal)
        low = self.joined([seat.pins["low"] for seat in bus.seats if "low" in seat.pins], lambda e: e.kind in metal)
        bus.on_line = high | low
        for name, wire in self.wires.items():
            if self.elements[self.wire_number[name]].a in high:
                bus.metres += number(wire.table.get("length_m", self.loom.defaults["wire_length_m"]))
        bus.reference = self.frames[0]
        if "reader" in bus.table:
            told = bus.table["reader"]
            ends = [self.at(text) for text in ([told] if isinstance(told, str) else told)]
            bus.reader = Seat(None, bus.name, self.frames[0], dict(zip(bus.kind.lines, ends)))

    def at(self, text):
        """The node of a point as it is typed."""
        if text in self.points:
            return self.points[text]
        plug = self.loom.plugs.get(text.partition(":")[0])
        return self.points[text + "@" + plug.sides[0] if plug and not plug.owner and "@" not in text else text.removesuffix("@loom")]

    def first_element_of(self, part):
        return next(k for k, e in enumerate(self.elements) if e.part == part)

    def on_signal_pin(self, node):
        """Joined by metal to a pin that is no supply, ground or driver; not over what wires and joints join to a frame."""
        grounded = self.joined(self.frames, lambda e: e.kind in ("wire", "joint"))
        sturdy = ("supply", "ground", "high-side", "low-side")
        pins = [n for m in self.modules.values() for key, n in m.pins.items() if m.tables[key]["role"] not in sturdy]
        return node in self.joined(pins, lambda e: e.kind in ("wire", "contact", "joint") and not grounded & {e.a, e.b})

    def joined(self, nodes, over):
        reached, more = set(nodes), True
        while more:
            more = False
            for e in self.elements:
                if (e.a in reached) != (e.b in reached) and over(e):
                    reached |= {e.a, e.b}
                    more = True
        return reached

    # ---- parts, section 2

    def add_part(self, name, part):
        kind, volts = part["kind"], self.loom.volts
        defaults = KINDS[kind][2]

        def value(key, fallback=None):
            told = part.get(key, defaults.get(key, fallback))
            return None if told is None else number(told)

        tolerance = value("tolerance_percent") / 100

        def put(element, label, one, two, R, **more):
            more.setdefault("tolerance", tolerance)
            return self.add(element, label, self.terminal(name, one), self.terminal(name, two), R, part=name, item=("part", name), **more)

        if kind == "fuse":
            rating = value("rating_a")
            put("fuse", name, "1", "2", value("ohm", 0.1 / rating), melts_a=1.35 * rating)
        elif kind == "switch":
            put("switch", name, "1", "2", value("ohm"), closed_at_rest=part.get("normally", "open") == "closed")
        elif kind == "relay":
            pull = value("pull_in_v", 0.67 * volts)
            coil = put("coil", name + " coil", "85", "86", value("coil_ohm"), pull_in_v=pull, drop_out_v=value("drop_out_v", min(0.2 * volts, pull)))
            put("relay", name + ":30-87", "30", "87", value("ohm"), coil=coil, tolerance=0.5)
            if name + ":87a" in self.points:
                put("relay", name + ":30-87a", "30", "87a", value("ohm"), coil=coil, closed_at_rest=True, tolerance=0.5)
        elif kind == "diode":
            put("diode", name, "A", "K", value("ohm"), E=value("forward_v"))
        elif kind == "lamp":
            rated, watt = value("volt", volts), value("watt")
            if part.get("led"):
                put("diode", name, "1", "2", 0.6 * rated**2 / watt, E=0.4 * rated)
            else:
                put("filament", name, "1", "2", rated**2 / watt, E=rated)
        elif kind in LOADS:
            put("resistor", name, "1", "2", value("ohm") if "ohm" in part else value("volt", volts) ** 2 / value("watt"))
        elif kind in ("resistor", "terminator"):
            put("resistor", name, "1", "2", value("ohm"))
        elif kind == "potentiometer":
            at, off, wiper = value("at"), value("at_tolerance"), self.node(name + " under the wiper")
            one, two, three = (self.terminal(name, t) for t in "123")
            for label, a, b, share in ((":1-2", one, wiper, at), (":2-3", wiper, three, 1 - at)):
                self.add("resistor", name + label, a, b, max(0.5, value("ohm") * share), min(0.9, math.hypot(tolerance, off / max(share, 0.01))),
                         part=name, item=("part", name))
            self.add("resistor", name + ":wiper", wiper, two, 0.001, 0, part=name, item=("part", name))
        elif kind in ("ntc", "ptc", "sender"):
            at, off = value("at"), value("at_tolerance")
            R = sensor_ohm(part, at)
            if off > 0:
                tolerance = min(0.9, math.hypot(tolerance, abs(sensor_ohm(part, at + off) - sensor_ohm(part, at - off)) / 2 / R))
            put("resistor", name, "1", "2", R, tolerance=tolerance)
        elif kind == "three-wire-sensor":
            at, off = value("at"), value("at_tolerance")
            if value("draw_a") > 0:
                put("resistor", name + " supply", "+", "-", 5 / value("draw_a"))
            share = curve_at(part["curve"], at)
            swing = abs(curve_at(part["curve"], at + off) - curve_at(part["curve"], at - off)) / 2
            put("ratio", name, "S", "-", value("ohm"), c=self.terminal(name, "+"), d=self.terminal(name, "-"), share=share,
                least_v=value("alive_above_v"), tolerance=min(0.9, math.hypot(tolerance, swing) / max(share, 0.05)))
        elif kind == "battery":
            put("source", name, "+", "-", value("ohm"), E=value("volt", 1.05 * volts))
        elif kind == "alternator":
            put("diode", name, "-", "+", value("ohm"), E=-value("volt", 1.18 * volts), on_with=tuple(part.get("runs_with", ())))


class Module:
    """Section 3."""

    def __init__(self, circuit, name, table):
        self.circuit, self.name, self.table = circuit, name, table
        self.s, self.g = circuit.node(name + " s"), circuit.node(name + " g")
        self.alive_above_v = number(table.get("alive_above_v", 0.625 * circuit.loom.volts))
        self.pins, self.tables, self.drivers, self.rails = {}, {}, {}, {}
        circuit.modules[name] = self
        pins = circuit.loom.pins[name]
        for plug, cavity, pin in pins:
            self.pins[self.key(plug, cavity)] = circuit.cavity(plug, cavity, 1)
            self.tables[self.key(plug, cavity)] = pin
        for plug, cavity, pin in pins:
            self.add_pin(plug, cavity, pin)
        self.add_rest([pin for _, _, pin in pins])

    def key(self, plug, cavity):
        return cavity if plug == self.name else plug[len(self.name) + 1:] + ":" + cavity

    def put(self, kind, name, a, b, R, tolerance, **more):
        return self.circuit.add(kind, name, a, b, R, tolerance, module=self.name, item=("module", self.name), **more)

    def rail(self, volts):
        if volts not in self.rails:
            self.rails[volts] = self.circuit.node(f"{self.name} rail {volts}")
            self.put("rail", self.name + " rail", self.rails[volts], self.g, 0.001, 0.01, E=volts, off_ohm=self.circuit.loom.defaults["off_ohm"])
        return self.rails[volts]

    def add_pin(self, plug, cavity, pin):
        d, role, PIN = self.circuit.loom.defaults, pin["role"], plug + ":" + cavity
        node = self.pins[self.key(plug, cavity)]

        def value(key, fallback=None):
            return number(pin[key]) if key in pin else fallback

        if role == "supply":
            self.put("resistor", PIN + " supply", node, self.s, 0.001, 0)
        elif role == "ground":
            self.put("resistor", PIN + " ground", node, self.g, 0.001, 0)
        elif role == "input":
            if "pull_up_ohm" in pin:
                self.put("resistor", PIN + " pull-up", self.rail(value("pull_up_v", 5.0)), node, value("pull_up_ohm"), 0.02)
            if "pull_down_ohm" in pin:
                self.put("resistor", PIN + " pull-down", node, self.g, value("pull_down_ohm"), 0.02)
            self.put("resistor", PIN + " input", node, self.g, value("input_ohm", d["input_ohm"]), 0.2)
        elif role == "return":
            self.put("resistor", PIN + " return", node, self.g, value("ohm", d["return_ohm"]), 0.5)
        elif role == "reference":
            self.put("resistor", PIN + " reference", self.rail(value("volt", 5.0)), node, value("ohm", d["reference_ohm"]), 0.5)
        elif role in ROLES:
            self.add_seat(PIN, node, role, pin)
        elif role in ("high-side", "low-side"):
            a, b = (self.s, node) if role == "high-side" else (node, self.g)
            more = {"on_with": tuple(pin.get("on_with", ())), "limit_a": value("limit_a")}
            if "follows" in pin:
                more.update(c=self.pins[pin["follows"]], d=self.g, follows_v=value("follows_v", self.circuit.loom.volts / 2),
                            follows_below=pin.get("follows_below", False))
            self.drivers[self.key(plug, cavity)] = self.put("driver", PIN, a, b, value("ohm", d["driver_ohm"]), 0.5, **more)

    def add_seat(self, PIN, node, role, pin):
        """One line of the module's seat on a bus: docs/formats/buses.md, "Circuit"."""
        c, line = self.circuit, ROLES[role]
        bus = c.buses[bus_of(pin, c.buses)]
        seat = next((one for one in bus.seats if one.module == self.name), None)
        if seat is None:
            seat = Seat(self.name, bus.name, self.g)
            bus.seats.append(seat)
        told = number(pin["input_ohm"]) if "input_ohm" in pin else 1000.0 if pin.get("commander") else None
        volts, ohm = bus.rest(line, seats_on(c.loom, c.buses, bus.name), c.loom.defaults["can_input_ohm"], told)
        if volts is None:
            up = c.node(PIN + " under the pull-up")
            seat.diode = self.put("diode", PIN + " pull-up diode", self.s, up, 1.0, 0.1, E=0.7)
        else:
            up = self.rail(volts)
        seat.pins[line] = node
        seat.receivers[line] = self.put("resistor", PIN + " receiver", up, node, ohm, bus.kind.tolerance)
        seat.rails[line] = self.rail(bus.driven(line)[0])
        if "unpowered_ohm" in pin:
            self.put("load", PIN + " unpowered load", node, self.g, 1e9, 0, E=bus.rest_volts(line), off_ohm=number(pin["unpowered_ohm"]))

    def add_rest(self, pins):
        loom, roles = self.circuit.loom, [pin["role"] for pin in pins]
        draw = sum(number(pin.get("draw_a", 0)) for pin in pins)
        if draw > 0:
            self.put("resistor", self.name + " own draw", self.s, self.g, loom.volts / draw, 0.3)
        if "ground" not in roles:
            frame = self.circuit.points[self.table["frame"]] if "frame" in self.table else self.circuit.frames[0]
            self.put("resistor", self.name + " ground (not drawn)", self.g, frame, 0.001, 0)
        if "supply" not in roles:
            self.put("source", self.name + " supply (not drawn)", self.s, self.g, 0.05, 0.05, E=loom.volts,
                     on_with=tuple(self.table.get("powered_with", ())))
        for inside in self.table.get("inside", []):
            one, two = (self.pins[key] for key in inside["pins"])
            self.put("resistor", self.name + " " + inside["kind"], one, two, number(inside.get("ohm", 120)),
                     number(inside.get("tolerance_percent", 1)) / 100)
