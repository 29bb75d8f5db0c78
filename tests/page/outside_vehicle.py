#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""An outside program at the other end of the job: a vehicle of its own with a hidden fault, made from docs/formats/loom.md, that performs what
`next` says and hands back what it reads, by docs/formats/replies.md alone. Fails when a reply holds a field the page does not know or lacks one it
promises, when the state of a test is not that of the steps before it, or when a vehicle is left that cannot be played to its end.

    outside_vehicle.py --binary PROGRAM [--ngspice] [--seed N] [--count VEHICLES] LOOM...
"""
import argparse
import random
import sys
from collections import Counter

from job_replay import Reader, Replayed, agrees, electrical
from netlist import SpiceVehicle, start_spice
from page_oracle import Program
from reading import State, Vehicle
from replies import Pages

MOST_ACTS = 60


class Left(Exception):
    """It cannot go on."""


class OutsideVehicle:
    """Stands in a state, with one fault in it until that is repaired."""

    def __init__(self, vehicle, fault, u, rng):
        self.v, self.cases, self.fault, self.rng = vehicle, [(fault, u)], fault, rng
        self.now, self.reader = Replayed(), Reader(vehicle)

    def act(self, words):
        self.reader.did(words, self.now)

    def mend(self, repair):
        if repair == self.fault.repair:
            self.cases = []

    def configuration(self):
        fitted = [("lead" if kind == "lead" else ohm, a, b) for kind, ohm, a, b in sorted(self.now.fitted)]
        return State(electrical(self.v, self.now.made), sorted(self.now.apart), fitted, sorted(self.now.swapped))

    def stands_as(self, told):
        """Is this its state, as far as it can change the circuit?"""
        mine = self.configuration()
        fitted = {(f["kind"], round(f["ohm"], 6), *sorted((f["a"], f["b"]))) for f in told["fitted"]}
        return (mine.made == told["made"] and set(mine.apart) == set(told["unplugged"]) and {n for _, n in mine.swapped} == set(told["swapped"]) and
                fitted == {(k, round(o, 6), a, b) for k, o, a, b in self.now.fitted})

    def number_or_word(self, what):
        shown = self.read(what)
        return "over" if shown in ("OL", "none") else shown if shown.isalpha() else float(shown)

    def read(self, what):
        """What is seen, as a person would type it."""
        test = self.reader.saw(what)
        shown = self.v.predict(self.configuration(), self.cases, test)
        if not shown["settled"]:
            raise Left("no rest")
        _, part = self.rng.choices(shown["parts"], [w for w, _ in shown["parts"]])[0]
        if isinstance(part, dict):
            return self.rng.choices(list(part), list(part.values()))[0]
        if part[0] == "over":
            return "none" if test[0] == "live" else "OL"
        return f"{self.rng.gauss(part[1], part[2]):.6g}"


def known_of(vehicle):
    tables = vehicle.loom.tables
    looks = [n for n, p in tables["parts"].items() if p["kind"] in ("lamp", "motor", "solenoid", "heater")]
    return [f"code {n}" for n in tables["codes"]] + [f"live {n}" for n in tables["live"]] + [f"look {n}" for n in looks]


def troubled(vehicle, rng):
    """A vehicle whose fault the driver or the reader can see."""
    reader, at_work = Reader(vehicle), State(vehicle.in_use)
    while True:
        fault, u = rng.choices(vehicle.faults.list, [f.rate for f in vehicle.faults.list])[0], rng.random()
        hidden = OutsideVehicle(vehicle, fault, u, rng)
        hidden.now.made |= set(vehicle.in_use)
        try:
            if any(not agrees(vehicle.predict(at_work, [], reader.saw(what)), hidden.number_or_word(what)) for what in known_of(vehicle)):
                hidden.now.made.clear()
                return hidden
        except Left:
            continue


class Game:
    def __init__(self, program, pages, path, vehicle, hidden, job):
        self.program, self.pages, self.path, self.hidden, self.job = program, pages, path, hidden, job
        self.v = vehicle

    def ask(self, operation, **arguments):
        reply = self.program.ask(operation, job=self.job, **arguments)
        self.pages.hold(operation, reply)
        if not reply["ok"]:
            raise Left(f"{operation} {arguments}: {reply['diagnostics']}")
        return reply["result"]

    def do(self, words):
        self.hidden.act(words)
        self.ask("did", what=words)

    def play(self):
        opened = self.ask("open", loom=self.path, complaint="something is wrong")
        for setup in opened["configuration"]["made"]:
            self.hidden.act(setup)
        self.tell_known()
        self.ask("suspects")
        self.other_commands()
        for _ in range(MOST_ACTS):
            told = self.ask("next")
            if told["kind"] == "nothing":
                raise Left("nothing more to test")
            if told["kind"] == "leave":
                self.end = "mended as far as it is worth looking"
                return "left with the fault in it" if self.hidden.cases else self.end
            if told["kind"] == "prove":
                if self.prove():
                    return "closed with the fault in it" if self.hidden.cases else self.end
                continue
            if told["kind"] == "test":
                self.test(told)
            elif told["repair"] == "look beyond this drawing":
                return "given up"
            else:
                self.repair(told)
        raise Left("no end")

    def other_commands(self):
        """What changes nothing, for its replies."""
        entry = self.ask("note", what="mud flap torn")["entry"]
        for _ in range(2):
            self.ask("undo", entry=str(entry))
        self.ask("skip", what="volts {} {}".format(*list(self.v.circuit.points)[:2]))
        self.ask("skip", what="volts {} {}".format(*list(self.v.circuit.points)[:2]), none=True)
        self.ask("kit")
        self.ask("sheet")
        self.ask("board")

    def tell_known(self):
        """What the driver and the reader tell."""
        for what in known_of(self.v):
            self.see(what)

    def see(self, what):
        self.ask("saw", what=what, shows=self.hidden.read(what))

    def test(self, told):
        test = told["test"]
        for step in told["steps"]:
            self.hidden.act(step["act"])
        if not self.hidden.stands_as(test["configuration"]) or set(told["state"]["made"]) != self.hidden.now.made:
            raise Left(f"the steps do not lead to the state of the test: {told}")
        value = self.hidden.read(test["what"])
        self.check_outcomes(test, told["outcomes"], value)
        self.ask("saw", what=value)
        status = self.ask("status")
        if set(status["configuration"]["made"]) != self.hidden.now.made:
            raise Left(f"the job stands in another state than the vehicle: {status['configuration']}")

    @staticmethod
    def check_outcomes(test, outcomes, value):
        """The value falls into one outcome, by the page's words."""
        hit = 0
        for one in outcomes:
            if "category" in one:
                hit += test["results"][one["category"]] == value
            elif one.get("over_range"):
                hit += value in ("OL", "none")
            elif value not in ("OL", "none"):
                hit += one.get("low", float("-inf")) <= float(value) < one.get("high", float("inf"))
        if hit != 1 and value not in ("OL", "none"):
            raise Left(f"{value} is in {hit} outcomes: {outcomes}")

    def repair(self, told):
        for step in told["steps"]:
            self.do(step["act"])
        for repair in told["repairs"]:
            self.hidden.mend(repair)
            self.ask("did", what="repaired " + repair)

    def prove(self):
        """True when it is closed: proven, or with nothing to prove it by. Else what there is was seen again, and the job goes on."""
        told = self.ask("proof")
        signs = [row for row in told["rows"] if row["symptom"]]
        if not told["complete"]:
            self.to_work()
            for what in {row["what"]: 0 for row in signs or told["rows"]}:
                if not self.v.refused(self.hidden.configuration(), self.hidden.reader.saw(what)):
                    self.see(what)
            told = self.ask("proof")
        if not told["complete"] and told["rows"]:
            return False
        for item in self.ask("status")["left_behind"]:
            self.do(item["undo"])
        self.end = "mended" if signs else "mended, without a sign"
        if self.ask("close")["proven"] != told["complete"]:
            raise Left("closed, and not proven")
        return True

    def to_work(self):
        for item in self.ask("status")["left_behind"]:
            self.do(item["undo"])
        state = self.ask("status")["configuration"]
        for setup in self.v.in_use:
            if setup not in state["made"]:
                self.do(setup)


def main():
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--binary", required=True)
    arguments.add_argument("--ngspice", action="store_true", help="solutions from ngspice where it is there")
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--count", type=int, default=10)
    arguments.add_argument("--unmet", action="store_true", help="list the fields of the page that no reply held")
    arguments.add_argument("looms", nargs="+")
    given = arguments.parse_args()
    kind = SpiceVehicle if given.ngspice and start_spice() else Vehicle
    program, pages, ends = Program(given.binary), Pages(), Counter()
    vehicles = {path: kind(path) for path in given.looms}
    for path in given.looms:
        ends_of_all = list(vehicles[path].circuit.points)[:2]
        code = next(iter(vehicles[path].loom.tables["codes"]), None)
        fault = vehicles[path].faults.list[0].name
        for operation, more in (("check", {"points": True}), ("faults", {}), ("trace", {"from": ends_of_all[0], "to": ends_of_all[1]}), ("wires", {}),
                                ("draw", {}), ("schema", {}), ("expect", {"what": "volts {} {}".format(*ends_of_all)}), ("expect", {"what": f"code {code}"}), ("expect", {"what": f"code {code}", "if": [fault]}),
                                ("rehearse", {"count": 2}), ("bench", {"count": 1})):
            pages.hold(operation, program.ask(operation, **({} if operation == "schema" else {"loom": path}), **more))
    for i in range(given.count):
        path, rng = given.looms[i % len(given.looms)], random.Random(f"{given.seed} {i}")
        vehicle = vehicles[path]
        hidden = troubled(vehicle, rng)
        try:
            end = Game(program, pages, path, vehicle, hidden, f"mem:outside-{given.seed}-{i}").play()
        except Left as why:
            end = f"left: {str(why)[:300]}"
        ends[end.partition(":")[0]] += 1
        print(f"{path.rpartition('/')[2]}: {hidden.fault.name}: {end}", flush=True)
    program.close()
    for line in sorted(pages.wrong):
        print("page: " + line)
    if given.unmet:
        print("\n".join(sorted(set(pages.all_fields(pages.headings)) - pages.met)))
    print(f"seed {given.seed}: " + ", ".join(f"{n} {end}" for end, n in ends.items()) + f"; {len(pages.met)} fields met, {len(pages.wrong)} wrong")
    return 1 if pages.wrong or ends["left"] or not ends["mended"] else 0


if __name__ == "__main__":
    sys.exit(main())
