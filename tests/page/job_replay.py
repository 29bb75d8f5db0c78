#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Replays job files by docs/formats/job.md alone and compares with the program: the state after the entries, what is set aside, what is
left behind, minutes, and the rows of the proof, each with what the vehicle should show in the state its reading was taken in.

    job_replay.py --binary PROGRAM [--seed N] [--count JOBS] LOOM...      random jobs on these looms
    job_replay.py --binary PROGRAM --job FILE...                          these job files
"""
import argparse
import random
import re
import sys
import tempfile
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

from asked import TWO_POINTS
from drawing import number, quantity
from netlist import SpiceVehicle, start_spice
from page_oracle import Draw, Program, differs, summary
from random_job import random_job
from reading import WORDS, State, Vehicle

OTHER_WORDS = {
    "continuity": {"yes": "beep", "no": "silent", "ol": "silent"},
    "lamp": {"on": "bright", "off": "dark"},
    "look": {"bright": "works", "dim": "weak", "dark": "dead", "ok": "works", "lit": "works", "on": "works", "slow": "weak",
             "off": "dead"},
    "code": {"present": "active", "stored": "past", "previous": "past", "inactive": "past", "none": "absent", "gone": "absent"},
    "module": {"answers": "yes", "silent": "no", "dead": "no"},
    "wiggle": {"yes": "changes", "no": "steady"},
    "heat": {"yes": "changes", "no": "steady"},
    "cool": {"yes": "changes", "no": "steady"},
    "inspect": {word: "marked" for word in ("yes", "corroded", "green", "burnt", "wet", "loose", "bent", "rusty", "dirty", "broken", "rubbed", "melted")} | {word: "clean" for word in ("no", "ok", "fine", "dry")},
}
UNITS = {"volts": "V", "ohms": "ohm", "clamp": "A"}
OVER = {"ol", "0l", ".ol", "o.l", "ol.", "over"}
SIGNS = ("code", "live", "look", "module")


class SetAside(Exception):
    """The words do not fit the loom."""


@dataclass
class Seen:
    number: int
    test: tuple
    state: State               # what can change the circuit
    repaired: int              # repairs done before it
    shows: object              # a number, "over", or a word


@dataclass
class Replayed:
    made: set = field(default_factory=set)
    apart: set = field(default_factory=set)
    fitted: set = field(default_factory=set)     # (kind, ohm, point, point), points in order of their names
    swapped: set = field(default_factory=set)
    repaired: list = field(default_factory=list)
    seen: list = field(default_factory=list)
    set_aside: list = field(default_factory=list)
    minutes: float = 0.0


class Reader:
    """Words of entries."""

    def __init__(self, vehicle):
        self.v, self.tables = vehicle, vehicle.loom.tables
        self.repair_of = {f.name: f.repair for f in reversed(vehicle.faults.list)}

    # ---- did

    def did(self, text, now):
        text = text.strip(" ")
        if text in self.tables["setups"]:
            now.made.add(text)
            return
        for words, act in ((("make",), self.make), (("undo",), self.undo), (("unplug", "unplugged"), self.unplug), (("plug", "plugged"), self.plug),
                           (("fit", "fitted"), self.fit), (("remove", "removed"), self.remove), (("swap", "swapped"), self.swap),
                           (("put back",), self.put_back), (("repaired", "repair", "mended"), self.repair)):
            for word in words:
                if text == word or text.startswith(word + " "):
                    return act(text[len(word):].strip(" "), now)
        raise SetAside()

    def make(self, name, now):
        now.made.add(self.one_of(name, self.tables["setups"]))

    def undo(self, name, now):
        now.made.discard(self.one_of(name, self.tables["setups"]))

    def pluggable(self, name):
        if not self.v.loom.plugs[self.one_of(name, self.v.loom.plugs)].pluggable:
            raise SetAside()
        return name

    def unplug(self, name, now):
        now.apart.add(self.pluggable(name))

    def plug(self, name, now):
        now.apart.discard(self.pluggable(name))

    def fit(self, text, now):
        now.fitted.add(self.fitting(text))

    def remove(self, text, now):
        now.fitted.discard(self.fitting(text))

    def fitting(self, text):
        value, _, points = text.partition(" at " if " at " in text else " ")
        one, two = self.two_points(points)
        if value.strip() == "lead":
            return ("lead", 0.0, *sorted((one, two)))
        ohm = self.amount(value)
        if ohm == "over" or ohm < 0:
            raise SetAside()
        return ("resistor", ohm, *sorted((one, two)))

    def thing(self, name):
        return ("part" if name in self.tables["parts"] else "module", self.one_of(name, {**self.tables["parts"], **self.tables["modules"]}))

    def swap(self, name, now):
        now.swapped.add(self.thing(name))

    def put_back(self, name, now):
        now.swapped.discard(self.thing(name))

    def repair(self, name, now):
        repairs = self.v.faults.repairs
        ends = [r for r in repairs if r.endswith(" " + name)]
        if len(ends) > 1:  # the name of a part means its own repair, not its plug's
            ends = [r for r in ends if r != "dry and clean plug " + name]
        found = name if name in repairs else self.repair_of.get(name) or (ends[0] if len(ends) == 1 else None)
        if found is None:
            raise SetAside()
        now.repaired.append(found)

    @staticmethod
    def one_of(name, names):
        if name not in names:
            raise SetAside()
        return name

    # ---- saw

    def saw(self, text):
        kind, _, rest = text.strip(" ").partition(" ")
        kind, rest = {"answers": "module"}.get(kind, kind), rest.strip(" ")
        if kind in TWO_POINTS:
            return kind, self.two_points(rest)
        if kind == "inspect":
            if rest in self.v.circuit.wire_number and rest not in self.v.circuit.points:
                return kind, rest
            if self.point(rest) is None:
                raise SetAside()
            return kind, self.first_side(self.point(rest))
        lists = {"clamp": self.v.circuit.wire_number, "look": self.tables["parts"], "code": self.tables["codes"], "live": self.tables["live"],
                 "module": self.tables["modules"], "wiggle": {**self.v.loom.plugs, **self.v.circuit.wire_number, **self.tables["parts"], **self.tables["modules"]}}
        warmed = {**lists["wiggle"], **lists["module"]}
        lists |= {"heat": warmed, "cool": warmed}
        if kind not in lists:
            raise SetAside()
        if kind == "code" and rest and rest not in lists["code"]:
            return "other code", rest  # kept, weighed with nothing
        return kind, self.one_of(rest, lists[kind])

    def first_side(self, point):
        """Both halves of a cavity are looked at in one go."""
        head, _, side = point.partition("@")
        plug = self.v.loom.plugs.get(head.partition(":")[0])
        if plug is None or not side:
            return point
        return head + ("" if plug.owner else "@" + plug.sides[0]) if side in list(plug.sides) + ["unit"] else point

    def two_points(self, text):
        """The first blank at which both sides are points."""
        for blank in re.finditer(" ", text):
            one, two = self.point(text[:blank.start()].strip()), self.point(text[blank.end():].strip())
            if one and two:
                if one == two:
                    break
                return one, two
        raise SetAside()

    def point(self, text):
        name = self.v.canonical(text)
        return name if name in self.v.circuit.points else None

    def shows(self, kind, text):
        text = text.strip(" ")
        if kind in WORDS:
            word = OTHER_WORDS[kind].get(text.lower(), text.lower())
            if word not in WORDS[kind]:
                raise SetAside()
            return word
        if kind == "live" and text in ("---", "none"):
            return "over"
        value = self.amount(text, UNITS.get(kind))
        if value == "over" and kind not in ("ohms", "live"):
            raise SetAside()
        return value

    @staticmethod
    def amount(text, unit=None):
        if text.strip().lower() in OVER:
            return "over"
        try:
            value, written = quantity(text)
        except ValueError:
            raise SetAside() from None
        if unit and written and written != unit:
            raise SetAside()
        return value


def electrical(vehicle, made):
    """Of the setups made those that can change the circuit."""
    tables = vehicle.loom.tables
    named = set(vehicle.in_use)
    named |= {s for name, setup in tables["setups"].items() if setup.get("sets") for s in [name]}
    named |= {s for part in tables["parts"].values() for s in part.get("runs_with", [])}
    named |= {s for code in tables["codes"].values() for s in code.get("needs", [])}
    for name, module in tables["modules"].items():
        named |= set(module.get("powered_with", []))
        named |= {s for _, _, pin in vehicle.loom.pins[name] for s in pin.get("on_with", [])}
    return [s for s in tables["setups"] if s in made & named]


def replay(vehicle, entries):
    now, reader = Replayed(), Reader(vehicle)
    for entry in entries:
        if entry.get("struck"):
            continue
        now.minutes += number(entry.get("minutes", 0))
        try:
            if "did" in entry:
                reader.did(entry["did"], now)
            elif "saw" in entry:
                test = reader.saw(entry["saw"])
                shows = reader.shows("code" if test[0] == "other code" else test[0], entry.get("shows", ""))
                if test[0] == "other code":
                    continue
                fitted = [(ohm if kind == "resistor" else "lead", a, b) for kind, ohm, a, b in sorted(now.fitted)]
                state = State(electrical(vehicle, now.made), sorted(now.apart), fitted, sorted(now.swapped))
                now.seen.append(Seen(entry["n"], test, state, len(now.repaired), shows))
        except SetAside:
            now.set_aside.append(entry["n"])
    return now


# ---- what follows from it

def left_behind(vehicle, now):
    """Names of what is still to undo; of fitted things only that they are."""
    setups = vehicle.loom.tables["setups"]
    left = [s for s in now.made if not setups[s].get("leave") and s not in vehicle.in_use]
    return sorted(left + ["unplug " + p for p in now.apart] + ["swap " + name for _, name in now.swapped] + ["fit" for _ in now.fitted])


@dataclass
class Row:
    test: tuple
    state: State
    healthy: dict
    before: bool = False
    after: bool = False
    fits: bool = False
    sign: bool = False


def proof(vehicle, now):
    rows = []
    for seen in now.seen:
        sign = seen.test[0] in SIGNS
        state = State(vehicle.in_use) if sign else seen.state
        if seen.test[0] in ("wiggle", "heat", "cool", "inspect") or seen.state.apart or seen.state.fitted or seen.state.swapped:
            continue
        row = next((r for r in rows if r.test == seen.test and r.state.key() == state.key()), None)
        if row is None:
            row = Row(seen.test, state, vehicle.predict(state, [], seen.test))
            rows.append(row)
        healthy = row.healthy if state.key() == seen.state.key() else vehicle.predict(seen.state, [], seen.test)
        fits = agrees(healthy, seen.shows)
        if now.repaired and seen.repaired == len(now.repaired):
            row.after, row.fits = True, fits
        else:
            row.before = True
            row.sign = row.sign or (sign and not fits)
    return rows


def agrees(healthy, shows):
    for chance, part in healthy["parts"]:
        if chance < 0.05:
            continue
        if isinstance(part, dict):
            if part[shows] > 0.05:
                return True
        elif part[0] == "over" or shows == "over":
            if part[0] == "over" and shows == "over":
                return True
        elif abs(shows - part[1]) <= 4 * part[2] + 1e-9:
            return True
    return not healthy["parts"]


# ---- against the program

def close_call(row, seen):
    """A number right at four sigma: two programs may fall on either side."""
    return any(part[0] == "value" and not isinstance(seen.shows, str) and abs(abs(seen.shows - part[1]) - 4 * part[2]) < 0.05 * part[2] + 1e-6
               for _, part in row.healthy["parts"] if not isinstance(part, dict))


def compare(program, vehicle, path, say):
    entries = tomllib.loads(Path(path).read_text(encoding="utf-8")).get("entry", [])
    now = replay(vehicle, entries)
    status = program.ask("status", job=path)
    if not status["ok"]:
        raise SystemExit(f"{path}: {status['diagnostics']}")
    told = status["result"]
    state = told["configuration"]
    aside = [int(d["message"].split()[1]) for d in status["diagnostics"] if d["code"] == "job.entry-set-aside"]
    fitted = {(f["kind"], round(f["ohm"], 6), *sorted((f["a"], f["b"]))) for f in state["fitted"]}
    left = sorted("fit" if item["act"].startswith("fit ") else item["act"] for item in told["left_behind"])
    for what, mine, theirs in (("made", now.made, set(state["made"])), ("apart", now.apart, set(state["unplugged"])),
                               ("fitted", {(k, round(o, 6), a, b) for k, o, a, b in now.fitted}, fitted),
                               ("swapped", {n for _, n in now.swapped}, set(state["swapped"])), ("set aside", now.set_aside, aside),
                               ("left behind", left_behind(vehicle, now), left), ("minutes", round(now.minutes, 6), round(told["minutes"], 6))):
        if mine != theirs:
            say(f"{what}: page {mine}, program {theirs}")
    compare_proof(program.ask("proof", job=path)["result"], vehicle, now, say)
    return len(entries)


def compare_proof(told, vehicle, now, say):
    mine = proof(vehicle, now)
    if bool(now.repaired) != told["repaired"]:
        say(f"repaired: page {now.repaired}, program {told['repaired']}")
    if len(mine) != len(told["rows"]):
        say(f"rows of the proof: page {[r.test for r in mine]}, program {[r['what'] for r in told['rows']]}")
        return
    sure = True
    for row, theirs in zip(mine, told["rows"]):
        why = differs(row.test[0], summary(row.healthy), theirs["predicted"])
        if why:
            say(f"{why} of the proof, {theirs['what']}: page {summary(row.healthy)}, program {theirs['predicted']}")
        if any(close_call(row, seen) for seen in now.seen if seen.test == row.test):
            sure = False
            continue
        if (row.before, row.after, row.after and row.fits, row.sign) != (theirs["before"] != "", theirs["after"] != "", theirs["fits"], theirs["symptom"]):
            say(f"row {theirs['what']}: page {row}, program {theirs}")
    signs = [r for r in mine if r.sign]
    asked = signs or [r for r in mine if r.after]
    seen_well = bool(now.repaired) and bool(asked) and all(r.after and r.fits for r in asked)
    if sure and seen_well != (told["complete"] or told["look_again"]):
        say(f"all signs seen again and well: page {seen_well}, program {told['complete'] or told['look_again']}")
    if sure and told["complete"] != (seen_well and told["fixed"] >= 0.9):
        say(f"proven: page {seen_well} with {told['fixed']}, program {told['complete']}")
    if sure and told["contradicted"] != any(r.after and not r.fits for r in mine):
        say(f"contradicted: program {told['contradicted']}")


def main():
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--binary", required=True)
    arguments.add_argument("--ngspice", action="store_true", help="solutions from ngspice where it is there")
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--count", type=int, default=40)
    arguments.add_argument("--job", action="append", default=[])
    arguments.add_argument("looms", nargs="*")
    given = arguments.parse_args()
    kind = SpiceVehicle if given.ngspice and start_spice() else Vehicle
    program, bad, total = Program(given.binary), [], 0
    with tempfile.TemporaryDirectory() as folder:
        jobs = [(path, str(Path(path).parent / tomllib.loads(Path(path).read_text(encoding="utf-8"))["loom"])) for path in given.job]
        vehicles = {loom: kind(loom) for loom in {loom for _, loom in jobs} | set(given.looms)}
        for i in range(given.count if given.looms else 0):
            loom = given.looms[i % len(given.looms)]
            rng = random.Random(f"{given.seed} {i}")
            jobs.append((str(Path(folder) / f"{i}.job.toml"), loom))
            Path(jobs[-1][0]).write_text(random_job(rng, vehicles[loom], Draw(vehicles[loom], rng), str(Path(loom).resolve())), encoding="utf-8")
        for path, loom in jobs:
            def say(text, path=path, loom=loom):
                bad.append(text)
                print(f"  {Path(path).name} on {Path(loom).name}: {text}", flush=True)
            total += compare(program, vehicles[loom], path, say)
    program.close()
    print(f"seed {given.seed}: {len(jobs)} jobs, {total} entries, {len(bad)} different")
    return 1 if bad or not jobs else 0


if __name__ == "__main__":
    sys.exit(main())
