#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Section 12 of docs/formats/loom.md: what the page says is read is what the program and the second program read.

    page_examples.py --binary PROGRAM [PAGE]

A fenced block that begins with "# NAME.loom.toml" is a loom; a table headed `NAME.loom.toml` | reads has, per row, what stands
behind `halfsplit expect --loom FILE` and what is read: "2.50 V", "2000 ohm, 1932 to 2068", "OL", "none", "active 0.96, past 0.01",
or the code of the error it is refused with. A number holds to one step of its last digit."""
import argparse
import json
import re
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

from asked import read_cases, read_state, read_test
from netlist import SpiceVehicle, start_spice
from page_oracle import summary
from reading import Vehicle

ROOT = Path(__file__).resolve().parent.parent.parent
NUMBER = r"-?[\d,]*\d(?:\.\d+)?"


def looms(page):
    for block in re.findall(r"```toml\n(.*?)```", page, re.S):
        name = re.match(r"# (\S+\.loom\.toml)\n", block)
        if name:
            yield name[1], block


def rows(page):
    """(loom, arguments of expect, what is read)"""
    loom = None
    for line in page.splitlines():
        head = re.fullmatch(r"\| `(\S+\.loom\.toml)` \| reads \|", line)
        row = re.fullmatch(r"\| `(.+)` \| (.+) \|", line)
        if head:
            loom = head[1]
        elif not line.startswith("|"):
            loom = None
        elif loom and row:
            yield loom, shlex.split(row[1]), row[2]


def near(said, read):
    plain = said.replace(",", "")
    step = 10.0 ** -len(plain.partition(".")[2])
    return read is not None and abs(float(plain) - read) <= 1.001 * step


def holds(said, told):
    """Does a summary of a prediction read as the page says?"""
    if "chances" in told:
        return all(near(number, told["chances"].get(word)) for word, number in re.findall(rf"(\w+) ({NUMBER})", said))
    if said in ("OL", "none"):
        return told["over_range"] == 1
    numbers = re.findall(NUMBER, re.sub(r"(?<=[a-z]),", ";", said))
    return all(near(number, told[key]) for number, key in zip(numbers, ("value", "low", "high")))


def options(words):
    values = {"--with": [], "--if": []}
    for i, word in enumerate(words):
        if word in values:
            values[word].append(words[i + 1])
    return words[0], values["--with"], values["--if"]


def page_reads(vehicle, words):
    """The second program's summary; None when the page would refuse it."""
    what, done, faults = options(words)
    test, state = read_test(what), read_state(vehicle, done)
    return None if vehicle.refused(state, test) else summary(vehicle.predict(state, read_cases(vehicle, faults), test))


def program_reads(binary, folder, loom, words):
    """(summary or None, code of the error)"""
    run = subprocess.run([binary, "expect", *words, "--loom", loom, "--json"], cwd=folder, capture_output=True, text=True, encoding="utf-8")
    reply = json.loads(run.stdout)
    if not reply["ok"]:
        return None, reply["diagnostics"][0]["code"]
    under = reply["result"]["under"]
    return (under[0]["prediction"] if "--if" in words else reply["result"]["healthy"]), ""


def main():
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--binary", required=True)
    arguments.add_argument("--ngspice", action="store_true", help="solutions from ngspice (libngspice0), not from solve.py")
    arguments.add_argument("page", nargs="?", default=ROOT / "docs/formats/loom.md")
    given = arguments.parse_args()
    if given.ngspice and not start_spice():
        return 0
    kind = SpiceVehicle if given.ngspice else Vehicle
    page = Path(given.page).read_text(encoding="utf-8")
    count = bad = 0
    with tempfile.TemporaryDirectory() as folder:
        vehicles = {}
        for name, text in looms(page):
            (Path(folder) / name).write_text(text, encoding="utf-8")
            vehicles[name] = kind(Path(folder) / name)
        for loom, words, said in rows(page):
            count += 1
            told, code = program_reads(str(Path(given.binary).resolve()), folder, loom, words)
            if code:
                fits = code == said
            else:
                mine = page_reads(vehicles[loom], words)
                fits = holds(said, told) and mine is not None and holds(said, mine)
            if not fits:
                bad += 1
                print(f"{loom}: {shlex.join(words)}\n  page says {said}\n  program   {code or told}")
    print(f"{count} readings of the page{', by ngspice' if given.ngspice else ''}, {bad} wrong")
    return 1 if bad or not count else 0


if __name__ == "__main__":
    sys.exit(main())
