#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Compares the program with a second one, written from docs/formats/loom.md alone: random tests with random faults in
random states of the vehicle; fault lists and points as a whole. Standard library only.

    page_oracle.py --binary PROGRAM [--seed N] [--count N] [--random N] [--keep FOLDER] [LOOM...]
"""
import argparse
import json
import math
import os
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from netlist import NoAnswer, SpiceVehicle, start_spice
from random_loom import random_loom
from reading import State, Vehicle

RESISTORS = ["10R", "47R", "120R", "220R", "470R", "1k", "2k2", "4k7", "10k", "47k", "100k"]
OHMS = {"R": 1.0, "k": 1e3}


class Program:
    """halfsplit batch, one request a line."""

    def __init__(self, binary):
        self.pipe = subprocess.Popen([binary, "batch"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8")

    def ask(self, operation, **arguments):
        self.pipe.stdin.write(json.dumps({"operation": operation, "arguments": arguments}) + "\n")
        self.pipe.stdin.flush()
        return json.loads(self.pipe.stdout.readline())

    def close(self):
        self.pipe.stdin.close()
        self.pipe.wait()


def resistor(text):
    letter = next(c for c in text if c in OHMS)
    return float(text.replace(letter, ".")) * OHMS[letter]


class Draw:
    """Random questions about one vehicle."""

    def __init__(self, vehicle, rng):
        self.v, self.rng = vehicle, rng
        self.points = list(vehicle.circuit.points)
        self.tables = vehicle.loom.tables
        self.by_words = {}
        for fault in vehicle.faults.list:
            self.by_words.setdefault(fault.words, []).append(fault)

    def state(self, fault):
        """(State, words of --with); what is apart or swapped is often what the fault sits on."""
        rng, tables = self.rng, self.tables
        setups = list(tables["setups"])
        made = list(self.v.in_use) if rng.random() < 0.5 else [s for s in setups if rng.random() < 0.5]
        state = State(made)
        words = list(made)
        pluggable = [p.name for p in self.v.loom.plugs.values() if p.pluggable]
        for _ in range(rng.choice([0, 0, 1, 1, 2])):
            plug = fault.item[1] if fault.item[1] in pluggable and rng.random() < 0.4 else rng.choice(pluggable) if pluggable else None
            if plug and plug not in state.apart:
                state.apart.append(plug)
                words.append("unplug " + plug)
        if rng.random() < 0.2:
            what, (a, b) = rng.choice(RESISTORS + ["lead"] * 4), rng.sample(self.points, 2)
            state.fitted.append((what if what == "lead" else resistor(what), a, b))
            words.append(f"fit {what} at {a} {b}")
        if rng.random() < 0.15:
            things = [("part", n) for n in tables["parts"]] + [("module", n) for n in tables["modules"]]
            thing = fault.item if fault.item in things and rng.random() < 0.6 else rng.choice(things)
            state.swapped.append(thing)
            words.append("swap " + thing[1])
        return state, words

    def fault(self):
        """Half of them drawn by kind first, so that rare kinds come as well."""
        faults = self.v.faults.list if self.rng.random() < 0.5 else self.by_words[self.rng.choice(sorted(self.by_words))]
        fault = self.rng.choice(faults)
        return fault, self.rng.choice([0.0, 0.1, 0.25, 0.5, 0.75, 0.9, 1.0])

    def test(self, fault, kind=None):
        """((kind, subject), words)"""
        rng, tables = self.rng, self.tables
        kind = kind or rng.choice(["volts"] * 6 + ["ohms"] * 6 + ["clamp"] * 2 + ["highest", "lowest", "continuity", "lamp", "code", "code", "live", "live", "look", "module", "wiggle", "heat", "cool", "inspect", "inspect"])
        if kind in ("volts", "highest", "lowest", "ohms", "continuity", "lamp"):
            subject = tuple(self.two_points(fault))
            return (kind, subject), f"{kind} {subject[0]} {subject[1]}"
        lists = {"clamp": list(self.v.circuit.wire_number), "code": list(tables["codes"]), "live": list(tables["live"]),
                 "look": [n for n, p in tables["parts"].items() if p["kind"] in ("lamp", "motor", "solenoid", "heater", "relay")],
                 "module": list(tables["modules"]), "wiggle": list(self.v.loom.plugs) + list(self.v.circuit.wire_number) + list(tables["parts"]) + list(tables["modules"])}
        lists["heat"] = lists["cool"] = lists["wiggle"]
        at_fault = [p for p in self.points if p.partition(":")[0] in fault.name]
        lists["inspect"] = at_fault if at_fault and rng.random() < 0.7 else self.points
        if rng.random() < 0.4:
            runs = [w for w in self.v.circuit.wire_number if w in fault.name]
            lists["inspect"] = runs if runs and rng.random() < 0.7 else list(self.v.circuit.wire_number) or lists["inspect"]
        if not lists[kind]:
            return self.test(fault)
        subject = rng.choice(lists[kind])
        return (kind, subject), f"{kind} {subject}"

    def two_points(self, fault):
        """Near the fault half of the time: points whose names share a piece with its name. Sometimes at a fuse."""
        fuses = [n for n, p in self.tables["parts"].items() if p["kind"] == "fuse"]
        where = self.rng.random()
        near = [p for p in self.points if p.partition(":")[0] in (fault.name if where < 0.5 else fuses)] if where < 0.65 else []
        one = self.rng.choice(near or self.points)
        grounds = list(self.tables["frames"])
        two = self.rng.choice(grounds if self.rng.random() < 0.4 else near or self.points)
        return (one, two) if one != two else self.two_points(fault)


def summary(prediction):
    """As the program's JSON: settled, over_range, value, low, high or chances."""
    parts = prediction["parts"]
    told = {"settled": prediction["settled"]}
    if parts and isinstance(parts[0][1], dict):
        words = parts[0][1]
        return {**told, "chances": {word: sum(w * part[word] for w, part in parts) for word in words}}
    values = [(w, part[1], part[2]) for w, part in parts if part[0] == "value"]
    told["over_range"] = sum(w for w, part in parts if part[0] == "over")
    weight = sum(w for w, _, _ in values)
    told["value"] = sum(w * mean for w, mean, _ in values) / weight if values else None
    told["low"] = min(mean - 2 * sigma for _, mean, sigma in values) if values else None
    told["high"] = max(mean + 2 * sigma for _, mean, sigma in values) if values else None
    return told


def resolution(kind, value):
    """What two programs may differ by: the meter's own last digit and better."""
    if kind == "ohms":
        return max(0.1, 1e-3 * abs(value))
    return max(1e-4, 1e-4 * abs(value))


def differs(kind, mine, theirs):
    """Why the two predictions disagree; empty: they agree."""
    if mine["settled"] != theirs["settled"]:
        return "rest"
    if "chances" in theirs or "chances" in mine:
        if not theirs.get("chances") or not mine.get("chances"):
            return "" if not any(theirs.get("chances", {}).values()) and not mine.get("chances") else "chances"
        apart = [w for w in theirs["chances"] if abs(theirs["chances"][w] - mine["chances"].get(w, 0.0)) > 0.005]
        return "chances" if apart else ""
    if abs(mine["over_range"] - theirs["over_range"]) > 1e-9:
        return "over range"
    if (mine["value"] is None) != (theirs["value"] is None):
        return "value"
    if mine["value"] is None:
        return ""
    if abs(mine["value"] - theirs["value"]) > resolution(kind, theirs["value"]):
        return "value"
    width = abs(theirs["high"] - theirs["low"])
    if any(abs(mine[end] - theirs[end]) > 0.02 * width + resolution(kind, theirs["value"]) for end in ("low", "high")):
        return "spread"
    return ""


def lists_agree(program, vehicle, path):
    """Points, faults, rates, ranges and repairs."""
    wrong = []
    points = {p["point"] for p in program.ask("check", loom=path, points=True)["result"]["point_list"]}
    wrong += [f"point {p}" for p in sorted(points ^ set(vehicle.circuit.points))]
    theirs = program.ask("faults", loom=path)["result"]["faults"]
    theirs.sort(key=lambda t: t["name"])          # of two of the same name the order counts
    mine = sorted(vehicle.faults.list, key=lambda f: f.name)
    if [t["name"] for t in theirs] != [f.name for f in mine]:
        return wrong + [f"fault {n}" for n in sorted({t["name"] for t in theirs} ^ {f.name for f in mine}) or ["twice"]]
    for f, t in zip(mine, theirs):
        span = t.get("range")
        mine_span = (f.low, f.high, not f.even) if f.high > f.low else None
        if (span and (span["low"], span["high"], span["logarithmic"])) != mine_span:
            wrong.append(f"range of {f.name}")
        if f.kind != t["kind"]:
            wrong.append(f"kind of {f.name}: page {f.kind}, program {t['kind']}")
        if not math.isclose(f.rate, t["rate_per_year"], rel_tol=1e-9):
            wrong.append(f"rate of {f.name}: page {f.rate}, program {t['rate_per_year']}")
        if f.repair != t["repair"]:
            wrong.append(f"repair of {f.name}: page {f.repair}, program {t['repair']}")
        effort = vehicle.faults.repairs[f.repair]
        if effort != (t["repair_minutes"], t["part_money"]):
            wrong.append(f"minutes and money of {f.repair}: page {effort}, program {t['repair_minutes'], t['part_money']}")
    return wrong


def holds_itself(vehicle, state, cases, test, theirs):
    """Section 13: would the page agree if fault and meter came while all was well, and not before power-up?"""
    vehicle.as_it_stands = True
    mine = summary(vehicle.predict(state, cases, test))
    vehicle.as_it_stands = False
    return not differs(test[0], mine, theirs)


def compare(program, vehicle, path, rng, count, report):
    draw = Draw(vehicle, rng)
    done = {"readings": 0, "refused": 0, "held": 0, "no answer": 0, "different": 0}
    while done["readings"] < count:
        fault, u = draw.fault()
        state, words = draw.state(fault)
        test, what = draw.test(fault)
        reply = program.ask("expect", loom=path, what=what, **{"with": words, "if": [f"{fault.name}@{u}"]})
        refused = not reply["ok"] and reply["diagnostics"][0]["code"] == "test.refused"
        if not reply["ok"] and not refused:
            raise SystemExit(f"{what}: {reply['diagnostics']}")
        if refused or vehicle.refused(state, test):
            done["refused"] += 1
            if refused != vehicle.refused(state, test):
                done["different"] += 1
                report(f"  refused: page {not refused}, program {refused}: {what} with {words}")
            continue
        for cases, theirs in (([], reply["result"]["healthy"]), ([(fault, u)], reply["result"]["under"][0]["prediction"])):
            done["readings"] += 1
            try:
                mine = summary(vehicle.predict(state, cases, test))
            except NoAnswer:
                done["no answer"] += 1
                continue
            why = differs(test[0], mine, theirs)
            if why and holds_itself(vehicle, state, cases, test, theirs):
                done["held"] += 1
            elif why:
                done["different"] += 1
                report(f"  {why}: {what!r} with {words} if {[f'{f.name}@{q}' for f, q in cases]}\n    page    {mine}\n    program {theirs}")
    return done


def check(program, path, seed, count, kind=Vehicle):
    """How many disagreements there are over one loom."""
    start = time.monotonic()
    vehicle = kind(path)
    wrong = lists_agree(program, vehicle, path)
    for line in wrong:
        print("  " + line)
    done = compare(program, vehicle, path, random.Random(f"{seed} {Path(path).name}"), count, print)
    print(f"{Path(path).name}: {len(vehicle.faults.list)} faults, " + ", ".join(f"{n} {word}" for word, n in done.items()) +
          f", {time.monotonic() - start:.1f} s", flush=True)
    return len(wrong) + done["different"]


def main():
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--binary", required=True)
    arguments.add_argument("--seed", type=int, default=int.from_bytes(os.urandom(3), "big"))
    arguments.add_argument("--count", type=int, default=300, help="readings, shared over the looms")
    arguments.add_argument("--random", type=int, default=0, help="so many looms made up")
    arguments.add_argument("--ngspice", action="store_true", help="solutions from ngspice (libngspice0), not from solve.py")
    arguments.add_argument("--keep", help="put the made-up looms there")
    arguments.add_argument("looms", nargs="*")
    given = arguments.parse_args()
    print(f"seed {given.seed}", flush=True)
    if given.ngspice and not start_spice():
        return 0
    program = Program(given.binary)
    with tempfile.TemporaryDirectory() as folder:
        looms = list(given.looms)
        for i in range(given.random):
            looms.append(str(Path(given.keep or folder) / f"random-{given.seed}-{i}.loom.toml"))
            Path(looms[-1]).write_text(random_loom(random.Random(f"{given.seed} {i}")), encoding="utf-8")
        bad = sum(check(program, path, given.seed, math.ceil(given.count / len(looms)), SpiceVehicle if given.ngspice else Vehicle) for path in looms)
    program.close()
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
