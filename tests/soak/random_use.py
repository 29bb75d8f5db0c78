#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Uses halfsplit at random, as people might, and holds every reply to what is promised.

Drives `halfsplit batch` with jobs in memory on looms. Each job has a hidden fault: most readings are what that fault
would show (asked of `expect`), some are nonsense. In between: plugs, setups, repairs, undo, skip, sheets, drawings.

Held to, for every reply: one line of JSON without NaN; exit code 0, 2 or 3 (4 only where a circuit finds no rest); a
diagnostic with code and message when it is not 0; probabilities, chances and shares in [0, 1]; those of suspects sum
to 1 at most; chances of outcomes sum to 1; minutes finite and not negative; the bound not above the plan. And over
several: what is refused changes nothing; an entry taken back and counted again gives the same suspects; another
process given the same requests gives the same suspects.

The seed is printed and --seed repeats it. A failure is printed with the fewest requests found that still show it.

Usage: random_use.py --binary PROGRAM [--minutes 3] [--seed N] [LOOM ...]   (default: the looms of examples/)
Exit code 0 when all held, 1 when not.
"""
import argparse
import json
import math
import os
import random
import re
import select
import subprocess
import sys
import time
import tomllib
import xml.etree.ElementTree
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
SECONDS_PER_REPLY = 300       # of waiting; the machine may be busy
CPU_SECONDS_PER_REPLY = 20.0  # of work
ROUNDING = 1e-6
REPEATS_TO_SHRINK = 60
SECONDS_TO_SHRINK = 120


class Fault(Exception):
    """A promise that was not kept; str() tells which, without what differs from run to run."""


class Ended(Fault):
    """No more replies will come from this process."""


def no_constant(word):
    raise Fault(f"the reply holds {word}")


class Batch:
    """One `halfsplit batch` and what it was sent."""

    def __init__(self, binary):
        self.process = subprocess.Popen([str(binary), "batch"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        self.rest = b""

    def close(self):
        self.process.kill()
        self.process.wait()
        for pipe in (self.process.stdin, self.process.stdout, self.process.stderr):
            pipe.close()

    def cpu_seconds(self):
        try:
            fields = Path(f"/proc/{self.process.pid}/stat").read_text().rsplit(")", 1)[1].split()
        except OSError:
            return 0.0
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def line(self):
        until = time.monotonic() + SECONDS_PER_REPLY
        while b"\n" not in self.rest:
            if not select.select([self.process.stdout], [], [], max(0.0, until - time.monotonic()))[0]:
                raise Ended(f"no reply within {SECONDS_PER_REPLY} s")
            piece = os.read(self.process.stdout.fileno(), 1 << 20)
            if not piece:
                code = self.process.wait()
                words = os.read(self.process.stderr.fileno(), 2000).decode("utf-8", "replace")
                raise Ended(f"the process ended with {code} {words}".strip())
            self.rest += piece
        line, _, self.rest = self.rest.partition(b"\n")
        return line

    def ask(self, request):
        """The checked reply."""
        before = self.cpu_seconds()
        try:
            self.process.stdin.write(json.dumps(request).encode() + b"\n")
            self.process.stdin.flush()
        except BrokenPipeError:
            pass  # line() tells how it ended
        line = self.line()
        try:
            reply = json.loads(line, parse_constant=no_constant)
        except ValueError as error:
            raise Fault(f"the reply is no JSON: {error}") from error
        check_reply(request, reply)
        if self.cpu_seconds() - before > CPU_SECONDS_PER_REPLY:
            raise Fault(f"{request['operation']} took more than {CPU_SECONDS_PER_REPLY:.0f} s of work")
        return reply


# ---- what every reply is held to --------------------------------------------------------------------------------------

SHARES = {"probability", "chance", "cause_probability", "pairs_unexplored_at_most", "right_share", "fixed", "over_range"}
AMOUNTS = {"minutes", "undo_minutes", "expected_minutes", "lower_bound_minutes", "mean_minutes", "part_money", "rate_per_year"}


def require(holds, what):
    if not holds:
        raise Fault(what)


def is_number(value):
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def check_numbers(value, path):
    if isinstance(value, dict):
        for key, inner in value.items():
            where = f"{path}.{key}"
            if key in SHARES and not isinstance(inner, bool):
                require(is_number(inner) and -ROUNDING <= inner <= 1 + ROUNDING, f"{where} is no share of 1")
            elif key in AMOUNTS:
                require(is_number(inner) and inner >= 0, f"{where} is no amount")
            else:
                check_numbers(inner, where)
    elif isinstance(value, list):
        for inner in value:
            check_numbers(inner, path + "[]")
    elif isinstance(value, float):
        require(math.isfinite(value), f"{path} is not finite")


def check_suspects(result):
    groups = result["groups"]
    require(sum(g["probability"] for g in groups) <= 1 + ROUNDING, "the suspects' probabilities sum to more than 1")
    for group in groups:
        inside = sum(s["probability"] for s in group["suspects"])
        require(inside <= group["probability"] + ROUNDING, "a group's suspects weigh more than the group")
    require(any(g["repair"] == "not on this drawing" for g in groups), "\"not on this drawing\" is missing")


def check_next(result):
    require(result["kind"] in ("test", "repair", "prove", "leave", "nothing"), "next gives a kind of its own")
    if result["kind"] in ("test", "repair"):
        require(result["lower_bound_minutes"] <= result["expected_minutes"] * (1 + ROUNDING) + ROUNDING, "the bound is above the plan")
        require(result["gap"] is None or result["gap"] >= -ROUNDING, "the gap is below 0")
    if result["kind"] == "test":
        require(abs(sum(o["chance"] for o in result["outcomes"]) - 1) < 1e-3, "the outcomes' chances do not sum to 1")
        require(len(result["outcomes"]) > 1, "a test with one outcome is proposed")
        for outcome in result["outcomes"]:
            require(outcome.get("low", -math.inf) <= outcome.get("high", math.inf), "an outcome ends before it begins")


def check_text(text):
    require(not re.search(r"(?<![A-Za-z])-?(nan|inf)(?![A-Za-z])", text), "the text holds nan or inf")


def check_result(operation, result):
    if operation == "suspects":
        check_suspects(result)
    elif operation == "next":
        check_next(result)
    elif operation in ("saw", "undo"):
        require(sum(s["probability"] for s in result["leading"]) <= 1 + ROUNDING, "the leading suspects sum to more than 1")
    elif operation == "draw" and "svg" in result:
        try:
            xml.etree.ElementTree.fromstring(result["svg"])
        except xml.etree.ElementTree.ParseError as error:
            raise Fault(f"the drawing is not well-formed: {error}") from error
        check_text(result["svg"])
    elif operation == "sheet":
        check_text(result["sheet"])
    elif operation == "expect":
        for row in result["under"]:
            check_text(row.get("shows", ""))


def check_reply(request, reply):
    operation = request["operation"]
    require(isinstance(reply, dict) and set(reply) == {"ok", "exit_code", "result", "diagnostics"}, "the reply has other fields")
    code = reply["exit_code"]
    words = "; ".join(d.get("message", "") for d in reply["diagnostics"])
    require(code in (0, 2, 3, 4), f"{operation}: exit code {code}: {re.sub(r'/[^ ]*/', '', words)}")
    require(code != 4 or "rest" in words, f"{operation}: exit code 4 though the circuit has a rest: {words}")
    require(reply["ok"] == (code == 0), "ok and exit_code differ")
    require(code == 0 or reply["diagnostics"], f"{operation}: exit code {code} without a word")
    for diagnostic in reply["diagnostics"]:
        require(diagnostic.get("code") and diagnostic.get("message"), "a diagnostic without code or message")
    check_numbers(reply["result"], operation)
    if code == 0:
        check_result(operation, reply["result"])


# ---- a loom's names ---------------------------------------------------------------------------------------------------


class Names:
    def __init__(self, batch, path):
        self.path = str(path)
        toml = tomllib.loads(Path(path).read_text(encoding="utf-8"))
        points = batch.ask({"operation": "check", "arguments": {"loom": self.path, "points": True}})["result"]["point_list"]
        self.points = [p["point"] for p in points]
        self.by_connector = {}
        for point in points:
            if "connector" in point:
                self.by_connector.setdefault(point["connector"], []).append(point["point"])
        faults = batch.ask({"operation": "faults", "arguments": {"loom": self.path}})["result"]["faults"]
        self.faults = [f["name"] for f in faults]
        self.repairs = sorted({f["repair"] for f in faults})
        self.setups = list(toml.get("setups", {}))
        self.codes = list(toml.get("codes", {}))
        self.lives = list(toml.get("live", {}))
        self.parts = list(toml.get("parts", {}))
        self.modules = list(toml.get("modules", {}))
        self.wires = sorted({f["name"].removesuffix(" open") for f in faults if f["description"].startswith("wire ") and f["name"].endswith(" open")})


WORDS = {"code": ["active", "past", "absent"], "look": ["bright", "dim", "dark"], "module": ["answers", "silent"], "wiggle": ["changes", "steady"],
         "heat": ["changes", "steady"], "cool": ["changes", "steady"], "inspect": ["marked", "clean"],
         "continuity": ["beep", "silent"], "lamp": ["bright", "dim", "dark"]}
NONSENSE = ["OL", "0", "-3", "1e9", "4k7", "0R3", "23.8V", "5 furlongs", "", "---", "dim", "active", "nan", "1e999", "121.7", "12.2 V", "350mA"]


class Person:
    """Makes up requests for one job."""

    def __init__(self, dice, names, job):
        self.dice, self.names, self.job = dice, names, job
        self.hidden = dice.choice(names.faults)
        self.severity = round(dice.random(), 2)
        self.last_next = None
        self.did = []

    def request(self, operation, **arguments):
        return {"operation": operation, "arguments": {"job": self.job, **arguments}}

    def open(self):
        flags = {"parked": True} if self.dice.random() < 0.2 else {}
        return self.request("open", loom=self.names.path, complaint=self.dice.choice(["does not work", "comes and goes", "lamp dim"]), **flags)

    def two_points(self):
        if self.names.by_connector and self.dice.random() < 0.6:
            near = self.names.by_connector[self.dice.choice(list(self.names.by_connector))]
            if len(near) > 1:
                return " ".join(self.dice.sample(near, 2))
        return " ".join(self.dice.sample(self.names.points, 2))

    def test(self):
        n, dice = self.names, self.dice
        ways = [lambda: "volts " + self.two_points(), lambda: "volts " + self.two_points(), lambda: "ohms " + self.two_points(), lambda: "continuity " + self.two_points(),
                lambda: "lamp " + self.two_points(), lambda: "clamp " + dice.choice(n.wires), lambda: "look " + dice.choice(n.parts),
                lambda: "inspect " + dice.choice(n.points + n.wires),
                lambda: dice.choice(["wiggle ", "heat ", "cool "]) + dice.choice(n.wires + n.parts + list(n.by_connector))]
        if n.codes:
            ways += [lambda: "code " + dice.choice(n.codes)] * 2
        if n.lives:
            ways += [lambda: "live " + dice.choice(n.lives)] * 2
        if n.modules:
            ways.append(lambda: "module " + dice.choice(n.modules))
        return dice.choice(ways)()

    def deed(self):
        n, dice = self.names, self.dice
        if self.did and dice.random() < 0.45:
            return self.did.pop(dice.randrange(len(self.did)))
        kind = dice.choice(["setup", "setup", "unplug", "unplug", "fit", "lead", "swap", "repaired"])
        if kind == "setup" and n.setups:
            name = dice.choice(n.setups)
            self.did.append("undo " + name)
            return name
        if kind == "unplug" and n.by_connector:
            name = dice.choice(list(n.by_connector))
            self.did.append("plug " + name)
            return "unplug " + name
        if kind in ("fit", "lead"):
            what = ("lead" if kind == "lead" else dice.choice(["1k", "120R", "4k7", "0", "1M"])) + " at " + self.two_points()
            self.did.append("remove " + what)
            return "fit " + what
        if kind == "swap":
            name = dice.choice(n.parts + n.modules)
            self.did.append("put back " + name)
            return "swap " + name
        return "repaired " + dice.choice(n.repairs + n.faults)

    def value(self, batch, test):
        """What the hidden fault would show, mostly."""
        verb = test.split()[0]
        if self.dice.random() < 0.15:
            return self.dice.choice(NONSENSE + WORDS.get(verb, []))
        asked = batch.ask(self.request("expect", what=test, **{"if": f"{self.hidden}@{self.severity}"}))
        if asked["exit_code"] != 0:
            return self.dice.choice(WORDS.get(verb, ["OL", "0", "5", "24"]))
        shown = asked["result"]["under"][0]["prediction"]
        if "chances" in shown:
            if not any(shown["chances"].values()):
                return self.dice.choice(WORDS[verb])
            return self.dice.choices(list(shown["chances"]), list(shown["chances"].values()))[0]
        if shown["value"] is None or self.dice.random() < shown["over_range"]:
            return "---" if verb == "live" else "OL"
        return f"{shown['value'] * self.dice.gauss(1, 0.01):.4g}"

    def requests(self, batch):
        """One wish: one request, or a few that belong together."""
        dice = self.dice
        wish = dice.choices(["answer", "saw", "did", "next", "suspects", "undo", "skip", "kit", "look", "expect", "end", "slip", "practise"],
                            [18, 24, 22, 5, 8, 7, 3, 2, 8, 8, 2, 4, 0.2])[0]
        if wish == "answer" and self.last_next and self.last_next["kind"] == "test":
            test = self.last_next["test"]["what"]
            self.last_next = None
            return [self.request("saw", what=self.value(batch, test))]
        if wish == "answer" and self.last_next and self.last_next["kind"] == "repair" and self.last_next["repair"]:
            repair = self.last_next["repair"]
            self.last_next = None
            return [self.request("did", what="repaired " + repair), self.request("next"), self.request("proof")]
        if wish in ("answer", "next"):
            return [self.request("next")]
        if wish == "saw":
            test = self.test()
            return [self.request("saw", what=test, shows=self.value(batch, test))]
        if wish == "did":
            minutes = {"minutes": dice.choice([0, 2.5, 90])} if dice.random() < 0.1 else {}
            return [self.request("did", what=self.deed(), **minutes)]
        if wish == "suspects":
            return [self.request("suspects", **({"all": True} if dice.random() < 0.3 else {}), **({"quick": True} if dice.random() < 0.85 else {}))]
        if wish == "undo":
            return [self.request("undo", **({"entry": dice.randint(1, 12)} if dice.random() < 0.6 else {}))]
        if wish == "skip":
            return [dice.choice([self.request("skip"), self.request("skip", none=True), self.request("skip", what=self.test())])]
        if wish == "kit":
            return [self.request("kit", resistors=dice.sample(["10R", "120R", "1k", "4k7", "100k"], dice.randint(1, 5)), clamp=dice.choice(["yes", "no"]), **{"long-lead": dice.choice(["yes", "no"])},
                                 reader=dice.choice(["yes", "no"]))]
        if wish == "look":
            return [self.request(dice.choice(["status", "proof", "sheet", "draw"]))]
        if wish == "expect":
            return [self.request("expect", what=self.test(), **{"with": [self.deed() for _ in range(dice.randint(0, 2))], "if": dice.sample(self.names.faults, dice.randint(0, 3))}),
                    {"operation": "trace", "arguments": {"loom": self.names.path, "from": dice.choice(self.names.points), "to": dice.choice(self.names.points)}}]
        if wish == "end":
            return [self.request("close", **({"anyway": True} if dice.random() < 0.5 else {}))]
        if wish == "practise":
            return [{"operation": "rehearse", "arguments": {"loom": self.names.path, "seed": dice.randint(0, 10**6), "fault": dice.choice(self.names.faults), "mis-probe": dice.choice([0, 0.1])}}]
        return [self.request(dice.choice(["saw", "did", "skip", "expect"]), what=dice.choice(["", " ", "volts", "volts nowhere chassis", "x" * 500, "\u202e", "unplug", "repaired", "5", "OL", "fit at"]))]


# ---- promises over several replies ------------------------------------------------------------------------------------


def standing(batch, job):
    reply = batch.ask({"operation": "suspects", "arguments": {"job": job, "quick": True}})
    require(reply["exit_code"] == 0, "suspects is refused: " + "; ".join(d["message"] for d in reply["diagnostics"]))
    return [(g["repair"], g["probability"], [(s["name"], s["probability"]) for s in g["suspects"]]) for g in reply["result"]["groups"]]


def standing_differs(one, other):
    flat = [{(g[0], name): p for g in groups for name, p in g[2]} for groups in (one, other)]
    return any(abs(flat[0].get(key, 0.0) - flat[1].get(key, 0.0)) > 1e-6 for key in set(flat[0]) | set(flat[1]))


def status_of(batch, job):
    result = batch.ask({"operation": "status", "arguments": {"job": job}})["result"]
    return [(e["n"], e["verb"], e["what"], e["shows"], e["struck"]) for e in result["entries"]], result["configuration"], result.get("asked")


CHANGING = {"saw", "did", "undo", "skip", "kit", "close"}


def send(batch, job, request, dice=None):
    """Asks, and holds a refusal to changing nothing. With dice: now and then undoes an entry twice."""
    watched = request["operation"] in CHANGING and request["arguments"].get("job") == job
    before = status_of(batch, job) if watched else None
    reply = batch.ask(request)
    if watched and reply["exit_code"] != 0:
        require(status_of(batch, job) == before, f"{request['operation']} is refused and yet changes the job")
    if watched and reply["exit_code"] == 0 and dice and dice.random() < 0.05 and reply["result"].get("entry"):
        twice(batch, job, reply["result"]["entry"])
    return reply


def twice(batch, job, entry):
    one = standing(batch, job)
    for _ in range(2):
        batch.ask({"operation": "undo", "arguments": {"job": job, "entry": entry}})
    require(not standing_differs(one, standing(batch, job)), "an entry taken back and counted again gives other suspects")


# ---- one job, and shrinking what failed ---------------------------------------------------------------------------------


def replay(binary, job, requests, kept_standing=None):
    """The faults that these requests show in a fresh process."""
    batch, faults = Batch(binary), []
    try:
        for request in requests:
            try:
                send(batch, job, request)
            except Ended:
                raise
            except Fault as fault:
                faults.append(str(fault))
        if kept_standing is not None:
            require(not standing_differs(kept_standing, standing(batch, job)), "another process gives other suspects")
    except Fault as fault:
        faults.append(str(fault))
    finally:
        batch.close()
    return faults


def shrink(binary, job, requests, fault):
    """Fewer requests that show the same fault: leaves out ever smaller pieces (delta debugging, Zeller 1999)."""
    tries, size, until = 0, max(1, len(requests) // 2), time.monotonic() + SECONDS_TO_SHRINK
    while size:
        at = 1  # the opening stays
        while at < len(requests):
            if tries >= REPEATS_TO_SHRINK or time.monotonic() > until:
                return requests
            fewer = requests[:at] + requests[at + size:]
            tries += 1
            if fault in replay(binary, job, fewer):
                requests = fewer
            else:
                at += size
        size //= 2
    return requests


def one_job(binary, names, seed, number):
    """(requests sent, [(fault, requests that show it)])"""
    dice = random.Random(f"{seed}/{number}")
    person = Person(dice, names, f"mem:{number}")
    batch, sent, faults = Batch(binary), [], []

    def go(request):
        sent.append(request)
        try:
            reply = send(batch, person.job, request, dice)
        except Ended:
            raise
        except Fault as fault:
            faults.append((str(fault), list(sent)))
            return
        if request["operation"] == "next" and reply["exit_code"] == 0:
            person.last_next = reply["result"]

    try:
        go(person.open())
        for _ in range(dice.randint(10, 45)):
            for request in person.requests(batch):
                go(request)
        if number % 4 == 0 and not faults:
            faults += [(fault, list(sent)) for fault in replay(binary, person.job, sent, standing(batch, person.job))]
    except Fault as fault:
        faults.append((str(fault), list(sent)))
    finally:
        batch.close()
    return len(sent), faults


def tell(binary, job, fault, sent, where):
    again = fault in replay(binary, job, sent)
    fewest = shrink(binary, job, sent, fault) if again else sent
    print(f"\nFAILED: {fault}\n  {where}; " + (f"{len(fewest)} requests show it:" if again else "not again in a fresh process; what was sent:"))
    for request in fewest:
        print("  " + json.dumps(request, ensure_ascii=False))
    sys.stdout.flush()


def main(arguments):
    parser = argparse.ArgumentParser(description="Uses halfsplit at random and holds every reply to what is promised.")
    parser.add_argument("--binary", required=True)
    parser.add_argument("--minutes", type=float, default=3.0)
    parser.add_argument("--seed", type=int, default=None)
    parser.add_argument("looms", nargs="*", default=sorted(str(p) for p in ROOT.glob("examples/*/*.loom.toml")))
    options = parser.parse_args(arguments)
    seed = options.seed if options.seed is not None else random.SystemRandom().randrange(10**9)
    print(f"seed {seed}", flush=True)
    batch = Batch(options.binary)
    looms = [Names(batch, path) for path in options.looms]
    batch.close()
    until = time.monotonic() + options.minutes * 60
    seen, jobs, requests = {}, 0, 0
    while time.monotonic() < until:
        names = looms[jobs % len(looms)]
        count, faults = one_job(options.binary, names, seed, jobs)
        requests += count
        for fault, sent in faults:
            if fault not in seen:
                tell(options.binary, f"mem:{jobs}", fault, sent, f"job {jobs} of seed {seed} on {names.path}")
            seen[fault] = seen.get(fault, 0) + 1
        jobs += 1
    print(f"\n{jobs} jobs, {requests} requests, {len(seen)} kinds of failure")
    for fault, count in sorted(seen.items(), key=lambda item: -item[1]):
        print(f"  {count} times: {fault}")
    return 1 if seen else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
