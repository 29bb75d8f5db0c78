# SPDX-License-Identifier: Apache-2.0
"""A made-up vehicle as the text of a loom file: battery, switches, fuses, relays, lamps, loads, sensors, modules with
every role, plugs, splices, studs, two frames; codes of every monitor and live values. No circuit that holds itself."""


class Grower:
    def __init__(self, rng):
        self.rng = rng
        self.sections = {name: [] for name in ("setups", "places", "frames", "studs", "splices", "connectors", "parts", "modules", "runs", "codes", "live")}
        self.counts = {}
        self.setups = []
        self.feeds = []        # points with supply behind a fuse or switch
        self.grounds = []

    def name(self, letter):
        self.counts[letter] = self.counts.get(letter, 0) + 1
        return f"{letter}{self.counts[letter]}"

    def put(self, section, name, **fields):
        self.sections[section].append((name, fields))
        return name

    def pick(self, *items):
        return self.rng.choice(items)

    # ---- wires

    def wire(self):
        """Attributes of one link."""
        rng = self.rng
        if rng.random() < 0.1:
            return "->"
        size, length = rng.choice([0.5, 0.75, 1, 1.5, 2.5, 4]), round(rng.uniform(0.2, 9), 1)
        about = [f"0R{rng.randint(1, 99):02d}"] if rng.random() < 0.15 else [f"{size}mm2"] + ([f"{length}m"] if rng.random() < 0.9 else [])
        if rng.random() < 0.3:
            about.append("bundle=" + rng.choice(["left", "rear"]))
        if rng.random() < 0.3:
            about.append("place=" + rng.choice([n for n, _ in self.sections["places"]]))
        return f"-[{' '.join(about)}]->"

    def inline(self):
        """A free cavity of an inline connector as a hop, or nothing."""
        if self.rng.random() < 0.45:
            return ""
        name, fields = self.rng.choice(self.sections["connectors"])
        used = fields.setdefault("_used", set())
        free = [c for row in fields["rows"] for c in row if c not in used]
        if not free:
            return ""
        cavity = self.rng.choice(free)
        used.add(cavity)
        return f"{name}:{cavity} "

    def run(self, *hops):
        """Hops joined by links, inline connectors strewn in."""
        text = hops[0]
        for hop in hops[1:]:
            through = self.inline()
            text += " " + self.wire() + " " + (through + self.wire() + " " if through else "") + hop
        self.put("runs", self.name("r"), _text=text)

    # ---- pieces

    def setup(self, **sets):
        name = self.put("setups", self.name("s"), sets=dict(sets))
        self.setups.append(name)
        return name

    def frame_work(self):
        rng = self.rng
        for place in ("cab", "bay", "tail"):
            stress = rng.sample(["flex", "wet", "heat", "chafe", "vibration"], rng.randint(0, 3))
            self.put("places", place, stress=stress)
        frames = ["chassis"] + (["trailer"] if rng.random() < 0.5 else [])
        for frame in frames:
            self.put("frames", frame)
        for i in range(rng.randint(2, 3)):
            stud = self.put("studs", self.name("G"), frame=frames[0] if i == 0 else rng.choice(frames), place=rng.choice(["cab", "tail"]))
            self.grounds.append(stud)
        self.grounds.append("chassis")
        for _ in range(rng.randint(1, 2)):
            self.put("connectors", self.name("J"), sides=["one", "two"], rows=[["1", "2", "3", "4"], ["5", "6", "7", "8"]][:rng.randint(1, 2)],
                     place=rng.choice(["cab", "bay"]))
        if len(frames) == 2:
            self.run("chassis", "trailer")
        self.put("splices", "SP")
        self.put("parts", "BAT", kind="battery")
        self.run("BAT:-", self.grounds[0])
        isolator = self.put("parts", "S0", kind="switch", plug=False, normally=self.pick("open", "closed"))
        self.run("BAT:+", isolator, "SP")
        self.isolator = self.setup(S0="closed")
        if rng.random() < 0.4:
            self.put("parts", "ALT", kind="alternator", runs_with=[self.isolator])
            self.run("ALT:+", "SP")
            self.run("ALT:-", "chassis")

    def feed(self):
        """A fused and perhaps switched supply."""
        rng = self.rng
        fuse = self.put("parts", self.name("F"), kind="fuse", rating_a=rng.choice([3, 5, 10, 15]))
        splice = self.put("splices", self.name("SF"))
        hops = ["SP", fuse]
        if rng.random() < 0.5:
            switch = self.put("parts", self.name("S"), kind="switch", plug=rng.random() < 0.5)
            self.setup(**{switch: "closed"})
            hops.append(switch)
        self.run(*hops, splice)
        self.feeds.append(splice)

    def load(self):
        """A two-terminal consumer."""
        rng = self.rng
        kind = rng.choice(["lamp", "lamp", "led", "motor", "solenoid", "heater", "resistor", "diode"])
        name = self.name("L")
        if rng.random() < 0.03:
            return self.put("parts", name, kind="resistor", ohm=2, plug=True, hazard=self.pick("airbag", "airbag", "high-voltage"))
        if kind == "lamp":
            return self.put("parts", name, kind="lamp", watt=rng.choice([5, 10, 21, 70]))
        if kind == "led":
            return self.put("parts", name, kind="lamp", watt=rng.choice([2, 5]), led=True)
        if kind == "motor":
            return self.put("parts", name, kind=kind, watt=rng.choice([30, 90]))
        if kind == "diode":
            self.put("parts", name, kind="diode")
            resistor = self.put("parts", self.name("L"), kind="resistor", ohm=rng.choice([100, 470]), plug=True)
            return f"{name}|{resistor}"
        return self.put("parts", name, kind=kind, ohm=rng.choice([8, 24, 47]))

    def simple_circuit(self):
        self.run(self.rng.choice(self.feeds), *self.load().split("|"), self.rng.choice(self.grounds))

    def relay_circuit(self):
        rng = self.rng
        relay = self.put("parts", self.name("K"), kind="relay", coil_ohm=rng.choice([90, 300]))
        switch = self.put("parts", self.name("S"), kind="switch", plug=False)
        self.setup(**{switch: "closed"})
        self.run(rng.choice(self.feeds), switch, f"{relay}:86/85", rng.choice(self.grounds))
        if rng.random() < 0.5:
            diode = self.put("parts", self.name("D"), kind="diode")
            self.run(rng.choice(self.grounds), diode, f"{relay}:86")
        self.run(rng.choice(self.feeds), f"{relay}:30")
        self.run(f"{relay}:87", *self.load().split("|"), rng.choice(self.grounds))
        if rng.random() < 0.5:
            self.run(f"{relay}:87a", *self.load().split("|"), rng.choice(self.grounds))

    # ---- modules

    def module(self, bus):
        rng, name, pins = self.rng, self.name("M"), {}
        more = {"pins": pins}
        drawn = rng.random() < 0.8
        if drawn:
            pins["1"] = {"role": "supply", "draw_a": rng.choice([0, 0.2, 0.5])}
            self.run(rng.choice(self.feeds), f"{name}:1")
        elif rng.random() < 0.7:
            more["powered_with"] = [rng.choice(self.setups)]
        if rng.random() < 0.85:
            pins["2"] = {"role": "ground"}
            self.run(f"{name}:2", rng.choice(self.grounds))
        else:
            more["frame"] = "chassis"
        self.put("modules", name, **more)
        for _ in range(rng.randint(1, 3)):
            self.sensor(name, pins)
        for _ in range(rng.randint(0, 2)):
            self.driver(name, pins)
        if bus:
            self.join_bus(name, pins, more)
        if rng.random() < 0.3:
            self.run(f"{name}:{self.pin(pins, role='unknown')}", rng.choice(self.grounds))
        for key in ("supply_below_v", "supply_above_v"):
            if rng.random() < 0.5:
                self.put("codes", f"{name} {key}", module=name, **{key: rng.choice([20, 26])})
        return name

    def pin(self, pins, **table):
        key = str(3 + sum(k.isdigit() and int(k) > 2 for k in pins))
        pins[key] = table
        return key

    def curve(self, low, high):
        return [[0, low], [self.rng.choice([30, 60]), (low + high) / 2 + 0.1 * (high - low)], [100, high]]

    def sensor(self, name, pins):
        rng, part = self.rng, self.name("B")
        kind = rng.choice(["ntc", "ptc", "sender", "potentiometer", "three-wire-sensor"])
        back = self.pin(pins, role="return") if rng.random() < 0.8 else None
        ground = f"{name}:{back}" if back else rng.choice(self.grounds)
        spread = {"at_tolerance": 3} if rng.random() < 0.5 else {}
        if kind in ("three-wire-sensor", "potentiometer"):
            up = self.pin(pins, role="reference")
            key = self.pin(pins, role="input", **({"pull_down_ohm": 47000} if rng.random() < 0.4 else {}))
            if kind == "potentiometer":
                self.put("parts", part, kind=kind, ohm=5000, at=round(rng.random(), 2), at_tolerance=0.02)
                ends = ("3", "2", "1")
            else:
                self.put("parts", part, kind=kind, curve=self.curve(0.1, 0.9), at=rng.randint(0, 100), **spread)
                ends = ("+", "S", "-")
            for end, point in zip(ends, (f"{name}:{up}", f"{name}:{key}", ground)):
                self.run(point, f"{part}:{end}")
        else:
            key = self.pin(pins, role="input", pull_up_ohm=rng.choice([1000, 2200]))
            more = {"r25_ohm": 2252, "b_k": 3976} if kind == "ntc" and rng.random() < 0.5 else {
                "curve": self.curve(*((3000, 200) if kind == "ntc" else (100, 1500)))}
            self.put("parts", part, kind=kind, at=rng.randint(0, 100), **more, **spread)
            self.run(f"{name}:{key}", part, ground)
        self.put("live", f"{part} value", module=name, pin=key, part=part, low=0, high=1 if kind == "potentiometer" else 100)
        way = rng.choice(["above_v", "below_v"])
        needs = {"needs": [rng.choice(self.setups)]} if rng.random() < 0.4 else {}
        self.put("codes", f"{part} {way}", module=name, pin=key, **{way: 4.6 if way == "above_v" else 0.3}, **needs)

    def driver(self, name, pins):
        rng = self.rng
        high = rng.random() < 0.6
        told = {"on_with": [rng.choice(self.setups)]}
        if rng.random() < 0.4:
            follow = self.pin(pins, role="input", **({"pull_up_ohm": 4700, "pull_up_v": 24} if rng.random() < 0.5 else {"pull_down_ohm": 10000}))
            below = "pull_up_ohm" in pins[follow]
            switch = self.put("parts", self.name("S"), kind="switch", plug=False)
            self.setup(**{switch: "closed"})
            self.run(rng.choice(self.grounds if below else self.feeds), switch, f"{name}:{follow}")
            told = {"follows": follow, "follows_below": below}
        limit = {"limit_a": rng.choice([0.5, 2, 6])} if rng.random() < 0.6 else {}
        key = self.pin(pins, role="high-side" if high else "low-side", **told, **limit)
        ends = (f"{name}:{key}", rng.choice(self.grounds)) if high else (rng.choice(self.feeds), f"{name}:{key}")
        self.run(ends[0], *self.load().split("|"), ends[1])
        way = rng.choice(["open_below_a", "over_a"])
        self.put("codes", f"{name} {key} {way}", module=name, pin=key, **{way: rng.choice([0.05, 0.3, 1.5])})

    def bus(self):
        """Two lines with a splice each for every module on them."""
        self.lines = (self.put("splices", "SH"), self.put("splices", "SL"))
        self.put("parts", "RT", kind="terminator")
        self.run(self.lines[0], "RT", self.lines[1])
        self.members = []

    def join_bus(self, name, pins, more):
        high, low = self.pin(pins, role="can-high"), self.pin(pins, role="can-low")
        self.run(f"{name}:{high}", self.lines[0])
        self.run(f"{name}:{low}", self.lines[1])
        if self.rng.random() < 0.4:
            more["inside"] = [{"kind": "terminator", "pins": [high, low]}]
        for other in self.members:
            self.put("codes", f"{name} lost {other}", module=name, lost=other)
        self.members.append(name)

    def grow(self):
        rng = self.rng
        self.frame_work()
        for _ in range(rng.randint(2, 4)):
            self.feed()
        for _ in range(rng.randint(1, 3)):
            self.simple_circuit()
        for _ in range(rng.randint(0, 2)):
            self.relay_circuit()
        bus = rng.random() < 0.6
        if bus:
            self.bus()
        for _ in range(rng.randint(1, 3)):
            self.module(bus and rng.random() < 0.8)
        return self.text()

    def text(self):
        rng = self.rng
        in_use = [self.isolator] + [s for s in self.setups if s != self.isolator and rng.random() < 0.6]
        lines = ["loom = 1", 'name = "made up by tests/page/random_loom.py"', f"in_use = {toml(in_use)}", f"ambient_c = {rng.choice([-10, 20, 45])}"]
        if rng.random() < 0.1:
            lines.append('hazard = "dangerous-goods"')
        for section, share in (("places", 0.03), ("studs", 0.02), ("splices", 0.05)):
            for _, fields in self.sections[section]:
                if rng.random() < share:
                    fields["hazard"] = rng.choice(["airbag", "airbag", "high-voltage", "dangerous-goods"])
        for section, entries in self.sections.items():
            if entries:
                lines.append(f"\n[{section}]")
            for name, fields in entries:
                shown = {key: value for key, value in fields.items() if not key.startswith("_")}
                lines.append(f'"{name}" = ' + (toml(fields["_text"]) if "_text" in fields else toml(shown)))
        return "\n".join(lines) + "\n"


def toml(value):
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, dict):
        return "{ " + ", ".join(f'"{key}" = {toml(one)}' for key, one in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(toml(one) for one in value) + "]"
    return repr(value)


def random_loom(rng):
    return Grower(rng).grow()
