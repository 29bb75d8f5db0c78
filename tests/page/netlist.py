# SPDX-License-Identifier: Apache-2.0
"""A circuit as an ngspice netlist, and section 5 of docs/formats/loom.md, part 2, with every solution taken from ngspice.

What conducts is written down as it stands: an open element is left out, each island hangs on ground by one 0 V source, so
that no current flows through it; filaments are behavioural sources that ngspice solves by Newton's method; diodes that are
on are a knee behind their slope. Then the states move as section 5 says. Below an ohm a resistance is written as a voltage that
follows its own current: ngspice then keeps nine digits where milliohms stand beside megohms.

The spread (section 7) comes from a second netlist, the adjoint network (Director and Rohrer, 1969): the same circuit with its
sources dead, a unit source at the probes and the ratios turned round; the change of the reading for a change of ln(value) is
the product of what the element carries in the two.

    netlist.py FILE.loom.toml "volts A B" [--with WHAT]... [--if FAULT@SEVERITY]...     prints what it reads and the last netlist
"""
import argparse
import copy
import math
import sys

from asked import read_cases, read_state, read_test
from reading import Vehicle
from solve import K, NoRest, filament_current, filament_slope
from spice import Missing, Spice

OPTIONS = ".options reltol=1e-9 abstol=1e-12 vntol=1e-9 gmin=1e-15 itl1=300"
FALLS_BACK = 1e-10        # A: a diode that carries less backwards is at its knee
JUST_ON = 1e-7            # V above its knee at which a diode turns on


PLAIN = ("wire", "contact", "joint", "resistor")


class NoAnswer(Exception):
    """ngspice found no operating point."""


class Standing:
    """The states of section 5, from power-up."""

    def __init__(self, circuit, elements):
        none = [False] * len(elements)
        self.diode, self.coil, self.ratio, self.driver, self.tripped, self.melted = (list(none) for _ in range(6))
        self.alive = {name: False for name in circuit.modules}

    def copied(self, elements):
        other = copy.copy(self)
        for name in ("diode", "coil", "ratio", "driver", "tripped", "melted"):
            setattr(other, name, list(getattr(self, name)))
        other.alive, other.elements = dict(self.alive), elements
        return other

    def middle(self):
        return tuple(self.coil), tuple(self.ratio), tuple(self.driver), tuple(self.alive.values())

    @property
    def on(self):
        """Of each element: whole, in, sending, on (as reading.py and ways.py ask)."""
        every = zip(self.elements, self.melted, self.coil, self.ratio, self.driver)
        return [{"fuse": not m, "coil": c, "ratio": r}.get(e.kind, d) for e, m, c, r, d in every]

    def hold_driver(self, k, on, tripped):
        self.driver[k], self.tripped[k] = on, tripped


class Lines:
    """The netlist of one circuit as it stands."""

    def __init__(self, solver, standing):
        self.solver, self.elements, self.standing = solver, solver.elements, standing
        self.conducting = [solver.conducts(k, e, standing) for k, e in enumerate(self.elements)]
        self.label = self.islands()

    def islands(self):
        label = list(range(len(self.solver.circuit.names)))

        def root(i):
            while label[i] != i:
                label[i] = label[label[i]]
                i = label[i]
            return i

        for e, there in zip(self.elements, self.conducting):
            if there and e.kind != "inject":
                label[root(e.a)] = root(e.b)
        return [root(i) for i in range(len(label))]

    def ties(self):
        """One node of each island that anything is written on: minus of its first source, so that what a meter's 10 Mohm sees is not the
        rounding of large currents."""
        used, tie = set(), {}
        for e, there in zip(self.elements, self.conducting):
            if there or e.kind == "inject":
                used |= {self.label[n] for n in (e.a, e.b, e.c, e.d) if n is not None}
            if there and e.kind == "source":
                tie.setdefault(self.label[e.b], e.b)
        return [f"vt{n} n{tie.get(n, n)} 0 0" for n in sorted(used)]

    @staticmethod
    def resistor(k, a, b, ohm):
        if ohm < 1:
            return [f"vr{k} {a} y{k} 0", f"h{k} y{k} {b} vr{k} {ohm!r}"]
        return [f"r{k} {a} {b} {ohm!r}"]

    def primal(self, comments=False):
        lines = ["as it stands"]
        for k, e in enumerate(self.elements):
            a, b = f"n{e.a}", f"n{e.b}"
            if comments and (e.kind == "inject" or self.conducting[k]):
                lines.append(f"* {e.kind} {e.name}: {self.named(e.a)} to {self.named(e.b)}")
            if e.kind == "inject":
                lines.append(f"i{k} {a} {b} {e.E!r}")
            elif not self.conducting[k]:
                continue
            elif e.kind in PLAIN and not comments:
                lines += self.solver.plain(k, e, self.resistor)
            elif self.has_volts(e):
                lines += self.resistor(k, a, f"x{k}", e.R) + [f"v{k} x{k} {b} {e.E!r}"]
            elif e.kind == "ratio":
                lines += self.resistor(k, a, f"x{k}", e.R) + [f"e{k} x{k} {b} n{e.c} n{e.d} {e.share!r}"]
            elif e.kind == "filament":
                v = f"v({a},{b})"
                lines.append(f"b{k} {a} {b} i={v}/({e.R!r}*sqrt({K * K!r}+{(1 - K * K) / e.E!r}*abs({v})))")
            else:
                lines += self.resistor(k, a, b, self.ohm(e))
        return lines + self.ties() + [OPTIONS]

    def named(self, node):
        return f"{self.solver.circuit.names[node]} (n{node})"

    def has_volts(self, e):
        return e.kind in ("source", "diode") or (e.kind in ("rail", "load") and self.standing.alive[e.module])

    def ohm(self, e):
        return e.off_ohm if e.kind in ("rail", "load") and not self.standing.alive[e.module] else e.R

    def adjoint(self, volts, across=None, through=None):
        """Sources dead, one ampere between two nodes or one volt in series with an element."""
        lines = ["adjoint"]
        for k, e in enumerate(self.elements):
            if e.kind == "inject" or not self.conducting[k]:
                continue
            a, b = f"n{e.a}", f"n{e.b}"
            if k == through:
                lines.append(f"vone {a} one 1")
                a = "one"
            if self.has_volts(e):
                lines += self.resistor(k, a, b, e.R)
            elif e.kind == "ratio":
                lines += [f"vr{k} {a} y{k} 0"] + self.resistor(f"{k}s", f"y{k}", b, e.R) + [f"f{k} n{e.c} n{e.d} vr{k} {-e.share!r}"]
            elif e.kind == "filament":
                lines += self.resistor(k, a, b, 1 / filament_slope(e, volts(e.a, e.b)))
            else:
                lines += self.resistor(k, a, b, self.ohm(e))
        if across:
            lines.append(f"ione n{across[1]} n{across[0]} 1")
        return lines + self.ties() + [OPTIONS]


class SpicePoint:
    """One solution, asked as solve.Point is."""

    def __init__(self, solver, standing):
        self.solver = solver
        self.states = standing.copied(solver.elements)
        self.lines = Lines(solver, self.states)
        self.values = self.solved(self.lines.primal())
        SpiceSolver.last = self.lines

    def solved(self, lines):
        values = self.solver.spice.run(lines)
        if values is None:
            raise NoAnswer("\n".join(lines + self.solver.spice.said))
        return values

    def together(self, a, b):
        return self.lines.label[a] == self.lines.label[b]

    def volts(self, a, b):
        return self.values.get(f"n{a}", 0.0) - self.values.get(f"n{b}", 0.0)

    def between(self, a, b):
        return self.volts(a, b) if self.together(a, b) else 0.0

    def over_ground(self, node):
        """As section 5 has it for diodes between islands: a frame stands at 0 V, and so does an island without one."""
        label = self.lines.label[node]
        frame = next((n for n in self.solver.circuit.frames if self.lines.label[n] == label), None)
        return self.values.get(f"n{node}", 0.0) - (0.0 if frame is None else self.values.get(f"n{frame}", 0.0))

    def amperes(self, k):
        e = self.solver.elements[k]
        if e.kind == "inject":
            return e.E
        if not self.lines.conducting[k]:
            return 0.0
        if e.kind == "filament":
            return filament_current(e, self.volts(e.a, e.b))
        if self.lines.has_volts(e):
            return self.values[f"v{k}#branch"]
        if e.kind == "ratio":
            return self.values[f"e{k}#branch"]
        return self.carried(k, e, self.values)

    def carried(self, k, e, values):
        ohm = self.lines.ohm(e)
        return values[f"vr{k}#branch"] if ohm < 1 else (values.get(f"n{e.a}", 0.0) - values.get(f"n{e.b}", 0.0)) / ohm

    def moves(self, **probe):
        """How far the probe's reading moves for one sigma of each element; signs by kind of element, whatever the probe."""
        turned = self.solved(self.lines.adjoint(self.volts, **probe))
        return {k: self.slope(k, e, turned, probe.get("through")) * e.tolerance / 3 for k, e in enumerate(self.solver.elements)
                if e.tolerance > 0 and self.lines.conducting[k]}

    def sigma(self, **probe):
        """Spread of what the probe reads."""
        return math.sqrt(sum(move * move for move in self.moves(**probe).values()))

    def moves_volts(self, a, b):
        return {} if a == b or not self.together(a, b) else self.moves(across=(a, b))

    def moves_amperes(self, k):
        return self.moves(through=k) if self.lines.conducting[k] else {}

    def slope(self, k, e, turned, through):
        """Change of the reading for a change of ln(value), but for its sign."""
        if e.kind == "filament":
            steep = filament_slope(e, self.volts(e.a, e.b))
            carried = turned["vone#branch"] if k == through else (turned.get(f"n{e.a}", 0.0) - turned.get(f"n{e.b}", 0.0)) * steep
            return carried * self.amperes(k) / steep
        if e.kind == "ratio":
            return turned[f"vr{k}#branch"] * e.share * self.volts(e.c, e.d)
        carried = turned["vone#branch"] if k == through else self.carried_turned(k, e, turned)
        return carried * (e.E if self.lines.has_volts(e) else self.lines.ohm(e) * self.amperes(k))

    def carried_turned(self, k, e, turned):
        ohm = e.R if self.lines.has_volts(e) else self.lines.ohm(e)
        return turned[f"vr{k}#branch"] if ohm < 1 else (turned.get(f"n{e.a}", 0.0) - turned.get(f"n{e.b}", 0.0)) / ohm

    def sigma_volts(self, a, b):
        return 0.0 if a == b or not self.together(a, b) else self.sigma(across=(a, b))

    def sigma_amperes(self, k):
        return self.sigma(through=k) if self.lines.conducting[k] else 0.0


class SpiceSolver:
    spice = None              # spice.Spice, set once by start_spice
    last = None               # Lines of the last solution

    def __init__(self, circuit, elements, dead=()):
        self.circuit, self.elements, self.dead = circuit, elements, set(dead)
        self.written = {}     # lines of what never changes, by element

    def plain(self, k, e, resistor):
        if k not in self.written:
            self.written[k] = resistor(k, f"n{e.a}", f"n{e.b}", e.R)
        return self.written[k]

    def conducts(self, k, e, s):
        if e.force is not None:
            return e.force
        if e.kind == "relay":
            return s.coil[e.coil] != e.closed_at_rest
        state = {"diode": s.diode, "ratio": s.ratio, "driver": s.driver}.get(e.kind)
        if e.kind == "fuse":
            return not s.melted[k]
        return e.there and (state is None or state[k])

    def settle(self, start=None):
        """The circuit at rest, from power-up; start: from where it stands, with a meter put in."""
        standing = Standing(self.circuit, self.elements)
        if start is not None:
            self.take(standing, start)
        for _ in range(40):
            point = self.middle(standing)
            if not self.goes_for_good(point, standing):
                return point
        raise NoRest()

    def as_it_stands(self, point):
        """One solution with the states of another circuit's, which has these elements and no more but at its end."""
        standing = Standing(self.circuit, self.elements)
        self.take(standing, point.states)
        return SpicePoint(self, standing)

    @staticmethod
    def take(standing, start):
        for name in ("diode", "coil", "ratio", "driver", "tripped", "melted"):
            old, new = getattr(start, name), getattr(standing, name)
            new[:len(old)] = old[:len(new)]
        standing.alive = dict(start.alive)

    def middle(self, standing):
        met = set()
        for _ in range(60):
            point = self.fast(standing)
            if not self.moves_together(point, standing):
                return point
            if standing.middle() in met:
                raise NoRest()
            met.add(standing.middle())
        raise NoRest()

    def fast(self, standing):
        """Step 1. Diodes turn together at first, then the worst alone."""
        for count in range(100):
            point = SpicePoint(self, standing)
            wrong = []
            for k, e in enumerate(self.elements):
                if e.kind != "diode" or not e.there or e.force is not None:
                    continue
                if standing.diode[k]:
                    off = -point.amperes(k) * (1 + e.R) if -point.amperes(k) > FALLS_BACK else 0
                else:
                    over = point.over_ground(e.a) - point.over_ground(e.b) - e.E
                    off = over if over > JUST_ON else 0
                if off > 0:
                    wrong.append((off, k))
            if not wrong:
                return point
            for _, k in wrong if count < 10 else [max(wrong)]:
                standing.diode[k] = not standing.diode[k]
        raise NoRest()

    def moves_together(self, point, standing):
        """Step 2; True when anything moved."""
        before = standing.middle()
        for name, module in self.circuit.modules.items():
            apart = not point.together(module.s, module.g)
            lives = name not in self.dead and not apart and point.volts(module.s, module.g) >= module.alive_above_v
            standing.alive[name] = lives or ("lives", name) in self.dead
        for k, e in enumerate(self.elements):
            if e.kind == "coil":
                least = e.drop_out_v if standing.coil[k] else e.pull_in_v
                standing.coil[k] = e.force is None and abs(point.between(e.a, e.b)) >= least
            elif e.kind == "ratio":
                standing.ratio[k] = e.least_v <= 0 or point.between(e.c, e.d) >= e.least_v
            elif e.kind == "driver":
                wanted = e.commanded or (e.c is not None and self.follows(e, point.between(e.c, e.d)))
                standing.driver[k] = wanted and standing.alive[e.module] and not standing.tripped[k]
        return standing.middle() != before

    @staticmethod
    def follows(e, volts):
        return volts < e.follows_v if e.follows_below else volts > e.follows_v

    def goes_for_good(self, point, standing):
        """Step 3; True when a driver tripped or a fuse melted."""
        drivers = {k: abs(point.amperes(k)) / e.limit_a for k, e in enumerate(self.elements)
                   if e.kind == "driver" and e.force is None and standing.driver[k] and e.limit_a}
        fuses = {k: abs(point.amperes(k)) / e.melts_a for k, e in enumerate(self.elements)
                 if e.kind == "fuse" and e.force is None and not standing.melted[k]}
        for ratios, gone in ((drivers, standing.tripped), (fuses, standing.melted)):
            worst = max(ratios, key=ratios.get, default=None)
            if worst is not None and ratios[worst] > 1:
                gone[worst] = True
                standing.driver[worst] = False
                return True
        return False


class SpiceVehicle(Vehicle):
    """As reading.Vehicle, each solution from ngspice."""
    solver_class = SpiceSolver


def start_spice():
    """False, and said, when the library is not there."""
    try:
        SpiceSolver.spice = Spice()
    except Missing as problem:
        print(f"{problem}: NOTHING WAS COMPARED")
        return False
    return True


def main():
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("loom")
    arguments.add_argument("what")
    arguments.add_argument("--with", dest="done", action="append", default=[])
    arguments.add_argument("--if", dest="faults", action="append", default=[])
    given = arguments.parse_args()
    if not start_spice():
        return 4
    vehicle = SpiceVehicle(given.loom)
    shown = vehicle.predict(read_state(vehicle, given.done), read_cases(vehicle, given.faults), read_test(given.what))
    print("* " + given.what)
    print(f"* {shown}")
    if SpiceSolver.last is not None:
        print("\n".join(SpiceSolver.last.primal(comments=True) + [".op", ".end"]))
    return 0


if __name__ == "__main__":
    sys.exit(main())
