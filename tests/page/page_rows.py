#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Goes through the rows of docs/formats/loom.md, part 2: every kind of fault at severities 0, 0.3 and 1 with a test that shows it, every
code, live value, look and answer, every meter, every reason to refuse. On the looms given, by the second program and by the program, and
fails when they differ or when a row was met by none of the looms.

    page_rows.py --binary PROGRAM [--ngspice] [--all] [--seed N] LOOM...      --all: each fault of each loom, not one of each kind
"""
import argparse
import random
import sys
import time
from collections import Counter
from pathlib import Path

from faults import RATES
from netlist import NoAnswer, SpiceVehicle, start_spice
from page_oracle import Draw, Program, differs, holds_itself, lists_agree, resolution, summary
from reading import State, Vehicle

SEVERITIES = (0.0, 0.3, 1.0)
TRIES = 16                    # tests asked of the program until one shows the fault
METERS = ("volts", "highest", "lowest", "ohms", "continuity", "lamp", "clamp")
SHOWN = """volts value · highest value · lowest value · ohms value · ohms over · clamp value · continuity beep · continuity silent · lamp bright · lamp dim · lamp dark
code above_v active · code below_v active · code supply_above_v active · code supply_below_v active · code over_a active · code open_below_a active
code lost active · code past · code absent · code module dead · live value · live low end · live high end · live none · look bright · look dim · look dark
look works · look weak · look dead · module yes · module no · wiggle plug · wiggle wire · wiggle part · heat · cool · inspect marked · inspect clean · inspect run marked · inspect run clean · refused · no rest · comes and goes"""


def rows_of_page():
    """The records of the page's table of rates, and what tests show."""
    return {f"{row}: {kind}" for row, kind in RATES}, {one for line in SHOWN.splitlines() for one in line.split(" · ")}


class Sweep:
    def __init__(self, program, path, kind, given, held):
        self.program, self.path, self.every = program, path, given.all
        self.rng = random.Random(f"{given.seed} {Path(path).name}")
        self.v = kind(path)
        self.draw = Draw(self.v, self.rng)
        self.met, self.held = Counter(), held      # rows shown; rows, or with --all faults, held against the page
        self.count = self.different = self.silent = 0
        self.asked = self.v.faults.list if given.all else self.some()

    def some(self):
        """One fault of each row."""
        rows = {}
        for fault in self.rng.sample(self.v.faults.list, len(self.v.faults.list)):
            rows.setdefault(self.row_of(fault), []).append(fault)
        return [fault for faults in rows.values() for fault in faults[:1]]

    def say(self, text):
        self.different += 1
        print("  " + text, flush=True)

    def fuses(self):
        """Which fuses the program says that a fault melts at work, in the middle of its range and at its ends only."""
        told = {}
        for fault in self.program.ask("faults", loom=self.path)["result"]["faults"]:
            told.setdefault(fault["name"], (set(fault.get("blows", [])), set(fault.get("can_blow", []))))
        shorts = [f for f in self.asked if f.changes(f.severity(0.5))[0][0] == "between" and self.v.faults.by_name[f.name] is f]
        for fault in shorts if self.every else shorts[:10]:
            middle = self.melts(fault, 0.5)
            ends = self.melts(fault, 0.0) | self.melts(fault, 1.0) if fault.high > fault.low else set()
            if told[fault.name] != (middle, ends - middle):
                self.say(f"fuses of {fault.name}: page {middle}, {ends - middle}, program {told[fault.name]}")

    def melts(self, fault, u):
        fuses = {k: e.name for k, e in enumerate(self.v.circuit.elements) if e.kind == "fuse"}
        return {fuses[c[1]] for c in self.v.changes([(fault, u)])[len(fault.changes(fault.severity(u))):] if c[1] in fuses}

    # ---- which row a fault and a reading belong to

    def row_of(self, fault):
        """What it sits on and how it is named: finer than the records of the page."""
        kind, name = fault.item
        kind = self.v.loom.tables["parts"][name]["kind"] if kind == "part" else kind
        return f"{kind}: {fault.row}: {fault.words}"

    def shown_row(self, test, told, case):
        """The row of SHOWN; counted."""
        kind, subject = test
        if not told["settled"]:
            row = "no rest"
        elif any(f.comes_and_goes for f, _ in case) and kind not in ("wiggle", "heat", "cool", "look", "module", "inspect"):
            row = "comes and goes"
        elif kind in ("heat", "cool"):
            row = kind
        elif kind == "inspect":
            run = "run " if subject in self.v.circuit.wire_number and subject not in self.v.circuit.points else ""
            row = f"inspect {run}{'marked' if told['chances']['marked'] > 0.1 else 'clean'}"
        elif kind == "wiggle":
            row = "wiggle " + ("plug" if subject in self.v.loom.plugs else "wire" if subject in self.v.circuit.wire_number else "part")
        elif "chances" in told:
            row = self.row_of_word(kind, subject, told["chances"])
        elif kind == "live":
            live = self.v.loom.tables["live"][subject]
            row = {None: "live none", live["low"]: "live low end", live["high"]: "live high end"}.get(told["value"], "live value")
        else:
            row = f"{kind} {'over' if told['value'] is None else 'value'}"
        self.met[row] += 1
        return row

    def row_of_word(self, kind, subject, chances):
        word = max(chances, key=chances.get)
        if kind == "code":
            code = self.v.loom.tables["codes"][subject]
            monitor = next(key for key in ("above_v", "below_v", "supply_above_v", "supply_below_v", "over_a", "open_below_a", "lost") if key in code)
            return "code module dead" if abs(chances["absent"] - 0.996) < 1e-6 else f"code {monitor} active" if word == "active" else "code " + word
        if kind == "look" and self.v.loom.tables["parts"][subject]["kind"] == "lamp":
            word = {"works": "bright", "weak": "dim", "dead": "dark"}[word]
        return f"{kind} {word}"

    # ---- asking both

    def ask(self, state, words, test, what, cases):
        """[(cases, what the program says)]; nothing when it refuses, which must be as the page says."""
        reply = self.program.ask("expect", loom=self.path, what=what, **{"with": words, "if": [f"{f.name}@{u}" for case in cases for f, u in case]})
        refused = not reply["ok"] and reply["diagnostics"][0]["code"] == "test.refused"
        if not reply["ok"] and not refused:
            raise SystemExit(f"{what}: {reply['diagnostics']}")
        if refused != self.v.refused(state, test):
            self.say(f"refused by the {'program' if refused else 'page'} only: {what} with {words}")
        if refused:
            self.met["refused"] += 1
            return []
        return [([], reply["result"]["healthy"])] + list(zip(cases, (u["prediction"] for u in reply["result"]["under"])))

    def hold(self, state, words, test, what, cases, theirs):
        self.count += 1
        try:
            mine = summary(self.v.predict(state, cases, test))
        except NoAnswer:
            return
        why = differs(test[0], mine, theirs)
        if why and holds_itself(self.v, state, cases, test, theirs):
            self.met["held"] += 1
        elif why:
            self.say(f"{why}: {what!r} with {words} if {[f'{f.name}@{u}' for f, u in cases]}\n    page    {mine}\n    program {theirs}")

    def all_faults(self, state, words, test, what):
        """Of what the program says under every fault, held against the page is what shows a row that no reading has shown yet."""
        cases = [[(f, u)] for f in self.asked for u in (SEVERITIES if f.high > f.low else (0.5,))]
        told = self.ask(state, words, test, what, cases)
        for case, theirs in told:
            rows = [self.shown_row(test, theirs, case)]
            if case and self.shows(test[0], told[0][1], theirs):
                fault, u = case[0]
                rows.append(f"{fault.name}@{u}" if self.every else f"{self.row_of(fault)}@{u if fault.high > fault.low else ''}")
                self.met[self.row_of(fault)] += 1
                self.met[f"{fault.row}: {fault.kind}"] += 1
            if any(row not in self.held for row in rows):
                self.held.update(rows)
                self.hold(state, words, test, what, case, theirs)

    def eyes(self):
        """All that readers, gauges and eyes show: at work, parked, and with all else made; with --all with each other setup."""
        tables, at_work = self.v.loom.tables, list(self.v.in_use)
        looks = [n for n, p in tables["parts"].items() if p["kind"] in ("lamp", "motor", "solenoid", "heater", "relay")]
        bare = [n for n in tables["parts"] if n not in self.v.loom.plugs]
        things = [("code", tables["codes"]), ("live", tables["live"]), ("module", tables["modules"]), ("look", looks),
                  ("wiggle", list(self.v.loom.plugs)[:2] + list(self.v.circuit.wire_number)[:2] + bare[:2]),
                  ("inspect", list(self.v.circuit.points)[:8] + list(self.v.circuit.wire_number)[:4])]
        others = [s for s in tables["setups"] if s not in at_work]
        for made in [at_work, []] + ([at_work + [s] for s in others] if self.every else [at_work + others]):
            for kind, names in things:
                for name in names:
                    self.all_faults(State(made), list(made), (kind, name), f"{kind} {name}")

    def meters(self, before):
        """Tests near faults whose row no reading has shown yet, on this loom or those before."""
        for fault in self.asked:
            for count in range(TRIES):
                if self.is_done(fault, before):
                    break
                self.all_faults(*(self.across(fault, count) or self.drawn(fault)))
            else:
                self.silent += 0 if self.is_done(fault, before) else 1
        for kind in METERS:
            for _ in range(3):
                self.all_faults(*self.drawn(self.rng.choice(self.asked), kind))

    def drawn(self, fault, kind=None):
        return *self.draw.state(fault), *self.draw.test(fault, kind)

    def across(self, fault, count):
        """Ohms or volts right across what the fault changes; None where no probe reaches."""
        kind = ("ohms", "volts")[count] if count < 2 else None
        change = fault.changes(fault.severity(0.5))[0]
        circuit = self.v.circuit
        ends = change[1:3] if change[0] == "between" else None if change[0] in ("dead", "mute", "babbles", "passes nothing on") else (circuit.elements[change[1]].a, circuit.elements[change[1]].b)
        points = [next((p for p, n in circuit.points.items() if n == end), None) for end in ends or ()]
        if kind is None or None in points or len(set(points)) < 2:
            return None
        made = [] if kind == "ohms" else list(self.v.in_use)
        return State(made), made, (kind, tuple(points)), f"{kind} {points[0]} {points[1]}"

    def is_done(self, fault, before):
        if self.every:
            return f"{fault.name}@{SEVERITIES[-1] if fault.high > fault.low else 0.5}" in self.held
        return self.met[self.row_of(fault)] > 0 or self.row_of(fault) in before

    @staticmethod
    def shows(kind, healthy, under):
        if not healthy["settled"] or not under["settled"]:
            return healthy["settled"] != under["settled"]
        if "chances" in under:
            return any(abs(under["chances"][w] - healthy["chances"][w]) > 0.01 for w in under["chances"])
        if healthy["value"] is None or under["value"] is None:
            return (healthy["value"] is None) != (under["value"] is None)
        return abs(healthy["value"] - under["value"]) > resolution(kind, healthy["value"])


def main():
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--binary", required=True)
    arguments.add_argument("--ngspice", action="store_true", help="solutions from ngspice where it is there")
    arguments.add_argument("--all", action="store_true")
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("looms", nargs="+")
    given = arguments.parse_args()
    kind = SpiceVehicle if given.ngspice and start_spice() else Vehicle
    faults, shown = rows_of_page()
    met, different, held, shown_before = Counter(), 0, 0, set()
    program = Program(given.binary)
    for path in given.looms:
        start = time.monotonic()
        sweep = Sweep(program, path, kind, given, set() if given.all else shown_before)
        for line in lists_agree(program, sweep.v, path):
            sweep.say(line)
        sweep.fuses()
        sweep.eyes()
        sweep.meters(set(met))
        held += sweep.met.pop("held", 0)
        met += sweep.met
        different += sweep.different
        print(f"{Path(path).name}: {sweep.count} readings, {sweep.different} different, {sweep.silent} faults shown by no test tried, "
              f"{time.monotonic() - start:.0f} s", flush=True)
    missing = sorted((faults | shown) - set(met))
    if held:
        print(f"{held} as section 13 says of the program")
    for row in missing:
        print("not met: " + row)
    program.close()
    return 1 if different or missing else 0


if __name__ == "__main__":
    sys.exit(main())
