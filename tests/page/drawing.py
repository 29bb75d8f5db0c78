# SPDX-License-Identifier: Apache-2.0
"""Reads a loom file: docs/formats/loom.md, part 1, and nothing else. Sound files only; a wrong one raises."""
import functools
import math
import re
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

# The parts table: terminals in the order of the table (a run goes in at the first, out at the second), a plug or not,
# defaults of the fields.
KINDS = {
    "fuse": (["1", "2"], True, {"tolerance_percent": 20}),
    "switch": (["1", "2"], True, {"ohm": 0.01, "tolerance_percent": 50}),
    "relay": (["30", "87", "85", "86", "87a"], True, {"ohm": 0.01, "tolerance_percent": 10}),
    "diode": (["A", "K"], False, {"forward_v": 0.7, "ohm": 0.05, "tolerance_percent": 7}),
    "lamp": (["1", "2"], True, {"tolerance_percent": 8}),
    "motor": (["1", "2"], True, {"tolerance_percent": 10}),
    "solenoid": (["1", "2"], True, {"tolerance_percent": 10}),
    "heater": (["1", "2"], True, {"tolerance_percent": 10}),
    "resistor": (["1", "2"], False, {"tolerance_percent": 5}),
    "terminator": (["1", "2"], True, {"ohm": 120, "tolerance_percent": 1}),
    "potentiometer": (["1", "3", "2"], True, {"at_tolerance": 0, "tolerance_percent": 10}),
    "ntc": (["1", "2"], True, {"at_tolerance": 0, "tolerance_percent": 5}),
    "ptc": (["1", "2"], True, {"at_tolerance": 0, "tolerance_percent": 5}),
    "sender": (["1", "2"], True, {"at_tolerance": 0, "tolerance_percent": 5}),
    "three-wire-sensor": (["+", "S", "-"], True,
                          {"at_tolerance": 0, "draw_a": 0.005, "ohm": 100, "alive_above_v": 4, "tolerance_percent": 1}),
    "battery": (["+", "-"], False, {"ohm": 0.01, "tolerance_percent": 2}),
    "alternator": (["+", "-"], False, {"ohm": 0.02, "tolerance_percent": 2}),
}
LOADS = ("motor", "solenoid", "heater")
DEFAULTS = {"contact_ohm": 0.005, "stud_ohm": 0.001, "splice_ohm": 0.001, "wire_size_mm2": 1.0, "wire_length_m": 2.0, "input_ohm": 1e6,
            "off_ohm": 1e4, "return_ohm": 0.05, "driver_ohm": 0.05, "reference_ohm": 1.0, "can_input_ohm": 30000.0}
PREFIX = {"n": 1e-9, "u": 1e-6, "m": 1e-3, "c": 1e-2, "k": 1e3, "K": 1e3, "M": 1e6, "G": 1e9}
UNITS = {"v": "V", "volt": "V", "volts": "V", "a": "A", "amp": "A", "amps": "A", "r": "ohm", "ohm": "ohm", "ohms": "ohm", "w": "W", "watt": "W",
         "watts": "W", "s": "s", "seconds": "s", "min": "min", "minutes": "min", "h": "h", "hours": "h", "mm2": "mm2", "c": "degC", "degc": "degC", "%": "%"}


def unit_of(text):
    """"V", "ohm", ...; "m" is metres, "M" is not."""
    return "m" if text == "m" else UNITS.get(text.lower())


def gauge(text):
    """mm2 of AWG18, 18AWG, AWG2/0; None when it is no gauge."""
    found = re.fullmatch(r"(?i:AWG\s*(\d+)(/0)?|(\d+)(/0)?\s*AWG|([1-4])(/0))", text)
    if not found:
        return None
    n = int(found[1] or found[3] or found[5])
    n = 1 - n if found[2] or found[4] or found[6] else n
    diameter = 0.127 * 92.0 ** ((36.0 - n) / 39.0)
    return math.pi / 4 * diameter * diameter


def quantity(text):
    """A number in the trade's forms and its unit: "4k7" is (4700, ""), "350mA" (0.35, "A"), "10 s" (10, "s")."""
    text = text.strip().replace(",", ".")
    if gauge(text) is not None:
        return gauge(text), "mm2"
    mark = re.fullmatch(r"([-+]?\d*)([RkKMunVA])(\d+)\s*([A-Za-z]*)", text)
    if mark and (mark[1] or mark[2] == "R"):
        value = float((mark[1] or "0") + "." + mark[3]) * PREFIX.get(mark[2], 1.0)
        return value, unit_of(mark[4]) or {"R": "ohm", "V": "V", "A": "A"}.get(mark[2], "")
    number = re.match(r"[-+]?(\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?", text)
    if not number:
        raise ValueError("no number: " + text)
    value, rest = float(number[0]), text[number.end():].strip()
    if not rest or unit_of(rest):
        return value, unit_of(rest) or ""
    if rest in tuple("nukKMG"):
        return value * PREFIX[rest], ""
    if rest[0] in PREFIX and unit_of(rest[1:].strip()):
        return value * PREFIX[rest[0]], unit_of(rest[1:].strip())
    raise ValueError("no number: " + text)


def number(value):
    if isinstance(value, str):
        amount, unit = quantity(value)
        return amount / 60 if unit == "s" else amount * 60 if unit == "h" else amount
    return float(value)


def compare_natural(a, b):
    """2 before 10: runs of digits by their number, all else by character; 02 before 2."""
    pieces_a, pieces_b = re.findall(r"\d+|\D", a), re.findall(r"\d+|\D", b)
    for x, y in zip(pieces_a, pieces_b):
        if x.isdigit() and y.isdigit():
            if int(x) != int(y):
                return -1 if int(x) < int(y) else 1
        elif x != y:
            return -1 if x < y else 1
    return len(pieces_a) - len(pieces_b) or (a > b) - (a < b)


natural = functools.cmp_to_key(compare_natural)


@dataclass
class Plug:
    name: str
    sides: tuple
    places: tuple = (None, None)
    rows: list = None          # None: its cavities are those that are used
    owner: tuple = None        # ("part", name) or ("module", name)
    contact_ohm: float = None
    backprobe: bool = True
    pluggable: bool = True
    hazard: str = None
    rate: float = 1.0
    repair_minutes: float = None
    part_money: float = None
    used: list = field(default_factory=list)

    def use(self, cavity):
        if cavity not in self.used:
            self.used.append(cavity)


@dataclass
class Wire:
    name: str
    ends: list = None          # two of ("cavity", plug, cavity, side), ("splice", n), ("stud", n), ("terminal", part, t), ("frame", n)
    table: dict = None         # size_mm2, length_m, ohm, bundle, place, rate, repair_minutes, part_money


@dataclass
class Loom:
    top: dict
    defaults: dict
    tables: dict               # section -> name -> table, in the order of the files
    plugs: dict = field(default_factory=dict)
    wires: list = field(default_factory=list)
    pins: dict = field(default_factory=dict)   # module -> list of (plug, cavity, table)

    @property
    def volts(self):
        return number(self.top.get("system_volts", 24))


def read_files(path, top, defaults, tables):
    document = tomllib.loads(Path(path).read_text(encoding="utf-8"))
    for other in document.get("include", []):
        read_files(Path(path).parent / other, top, defaults, tables)
    for key, value in document.items():
        if key == "defaults":
            defaults.update({name: number(v) for name, v in value.items()})
        elif isinstance(value, dict):
            tables.setdefault(key, {}).update(value)
        else:
            top[key] = value


def rows_of(table):
    if "rows" in table:
        return [list(row) for row in table["rows"]]
    pins = table.get("pins")
    if not isinstance(pins, (str, list)):
        return None
    if isinstance(pins, list):
        return [list(pins)]
    names = []
    for item in pins.split(","):
        span = re.fullmatch(r"\s*(\D*)(\d+)\s*-\s*(\D*)(\d+)\s*", item)
        if span and span[1] == span[3]:
            names += [span[1] + str(i) for i in range(int(span[2]), int(span[4]) + 1)]
        else:
            names.append(item.strip())
    return [names]


def make_plug(loom, name, sides, table, owner=None, place=None, hazard=None):
    where = table.get("place", place)
    places = tuple(where.get(side) for side in sides) if isinstance(where, dict) else (where, where)
    plug = Plug(name, tuple(sides), places, rows_of(table), owner)
    plug.contact_ohm = number(table["contact_ohm"]) if "contact_ohm" in table else None
    plug.backprobe, plug.pluggable = table.get("backprobe", True), table.get("pluggable", True)
    plug.hazard = table.get("hazard", hazard)
    if owner is None:
        plug.rate = number(table.get("rate", 1))
        plug.repair_minutes = number(table["repair_minutes"]) if "repair_minutes" in table else None
        plug.part_money = number(table["part_money"]) if "part_money" in table else None
    loom.plugs[name] = plug
    return plug


def make_plugs(loom):
    for name, table in loom.tables["connectors"].items():
        make_plug(loom, name, table["sides"], table)
    for name, part in loom.tables["parts"].items():
        terminals, has_plug, _ = KINDS[part["kind"]]
        told = part.get("plug", has_plug)
        if told is not False:
            table = told if isinstance(told, dict) else {}
            plug = make_plug(loom, name, ("loom", "unit"), table, ("part", name), part.get("place"), part.get("hazard"))
            plug.rows = plug.rows or [sorted(terminals, key=natural)]
            for terminal in terminals:
                if terminal != "87a":
                    plug.use(terminal)
    for name, module in loom.tables["modules"].items():
        loom.pins[name] = []
        for plug, table in module.get("plugs", {}).items():
            module_plug(loom, name, plug, table)
        for key, told in module.get("pins", {}).items():
            plug, _, cavity = key.rpartition(":")
            table = {"role": told} if isinstance(told, str) else told
            module_plug(loom, name, plug, {}).use(cavity)
            loom.pins[name].append((plug_name(name, plug), cavity, table))


def plug_name(module, plug):
    return module + "." + plug if plug else module


def module_plug(loom, module, plug, table):
    name = plug_name(module, plug)
    if name in loom.plugs:
        return loom.plugs[name]
    about = loom.tables["modules"][module]
    return make_plug(loom, name, ("loom", "unit"), table, ("module", module), about.get("place"), about.get("hazard"))


class Points:
    """Points as text into ends of wires."""

    def __init__(self, loom):
        self.loom = loom

    def find(self, text, terminal=None):
        """An end; the side is None for an inline cavity without one."""
        loom = self.loom
        text, _, side = text.strip().partition("@")
        head, _, cavity = text.partition(":")
        head, cavity, side = head.strip(), cavity.strip(), side.strip()
        if terminal is not None:
            cavity = terminal
        for section, kind in (("splices", "splice"), ("studs", "stud"), ("frames", "frame")):
            if head in loom.tables[section]:
                return (kind, head)
        if head in loom.tables["parts"] and head not in loom.plugs:
            return ("terminal", head, cavity)
        plug = loom.plugs.get(head)
        if plug is None:
            module, _, rest = head.partition(".")
            plug = module_plug(loom, module, rest, {})
        if plug.owner and plug.owner[0] == "module":
            self.note_pin(plug, cavity)
        plug.use(cavity)
        number_of_side = plug.sides.index(side) if side else (0 if plug.owner else None)
        return ("cavity", plug.name, cavity, number_of_side)

    def note_pin(self, plug, cavity):
        pins = self.loom.pins[plug.owner[1]]
        if not any(p == plug.name and c == cavity for p, c, _ in pins):
            pins.append((plug.name, cavity, {"role": "unknown"}))

    def hop(self, text, place):
        """(arrive, leave) of one hop; place is "first", "middle" or "last"."""
        head = text.strip().partition(":")[0].partition("@")[0].strip()
        part = self.loom.tables["parts"].get(head)
        if part is not None:
            terminals = KINDS[part["kind"]][0]
            inside = text.partition(":")[2]
            if not inside:
                return self.find(head, terminals[0]), self.find(head, terminals[1])
            if "/" in inside and place == "middle":
                one, two = inside.split("/")
                return self.find(head, one.strip()), self.find(head, two.strip())
        end = self.find(text)
        if end[0] != "cavity" or self.loom.plugs[end[1]].owner:
            return end, end
        side = end[3]
        arrive = end[:3] + (0 if side is None else side,)
        if place == "middle":
            return arrive, end[:3] + (1 - arrive[3],)
        return arrive, end[:3] + (1 if side is None else side,)


LINK = re.compile(r"(?:-\[((?:[^\]']|'[^']*')*)\])?->")
ATTRIBUTE = re.compile(r"(\w+)='([^']*)'|(\w+)=(\S+)|(\S+)")


def attributes(text):
    table = {}
    for key, quoted, key2, plain, bare in ATTRIBUTE.findall(text or ""):
        if bare:
            if re.match(r"\d|R\d", bare) or gauge(bare):
                value, unit = quantity(bare)
                table[{"mm2": "size_mm2", "m": "length_m", "ohm": "ohm"}[unit]] = value
        else:
            table[key or key2] = quoted or plain
    return table


def read_runs(loom, points):
    for run, texts in loom.tables["runs"].items():
        count = 0
        for text in [texts] if isinstance(texts, str) else texts:
            pieces = LINK.split(text)
            hops, links = pieces[0::2], pieces[1::2]
            ends = [points.hop(hop, "first" if i == 0 else "last" if i + 1 == len(hops) else "middle") for i, hop in enumerate(hops)]
            for i, link in enumerate(links):
                count += 1
                table = attributes(link)
                loom.wires.append(Wire(table.pop("name", f"{run}.{count}"), [ends[i][1], ends[i + 1][0]], table))


def read_loom(path):
    top, defaults, tables = {}, dict(DEFAULTS), {}
    read_files(path, top, defaults, tables)
    for section in ("places", "setups", "connectors", "splices", "studs", "frames", "parts", "modules", "runs", "wires", "codes", "live", "buses", "messages"):
        tables.setdefault(section, {})
    if not tables["frames"]:
        tables["frames"]["chassis"] = {}
    loom = Loom(top, defaults, tables)
    make_plugs(loom)
    points = Points(loom)
    for name, table in tables["wires"].items():
        loom.wires.append(Wire(name, [points.find(table["from"]), points.find(table["to"])], table))
    read_runs(loom, points)
    for plug in loom.plugs.values():
        plug.rows = plug.rows or [sorted(plug.used, key=natural)]
    return loom
