#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Runs the bench programs of one build, or of two in turn, and prints the times and their ratio.

Two builds are run alternately, several rounds, and the fastest round of each counts: what else the machine does then
falls on both alike. A ratio above 1 means this build is slower than the other.

A bench with a counter "ratio" measured a peer in the same run; its counter "goal_at_least" or "goal_at_most" says what
the ratio should be. Those are printed a second time, beside their goals (docs/performance.md). Benches of whole
processes are scripts, tests/<subject>/*.bench.py: run once a build, with the build folder as argument.

Usage: bench.py BUILD-FOLDER [--against BUILD-FOLDER] [--rounds N] [--filter REGEX]
"""
import argparse
import json
import re
import subprocess
import sys
from pathlib import Path

UNITS = {"ns": 1e-9, "us": 1e-6, "ms": 1e-3, "s": 1.0}


MANNER = re.compile(r"/(iterations:\d+|manual_time|process_time|real_time)")  # how it was timed, put behind the name
ROOT = Path(__file__).resolve().parents[1]


def programs(folder):
    """{name: command} of what is built in a folder, and of the scripts."""
    built = {p.name: [str(p)] for p in sorted(Path(folder).glob("bench_*")) if p.is_file() and p.stat().st_mode & 0o100}
    scripts = {p.name: [sys.executable, str(p), str(folder)] for p in sorted(ROOT.glob("tests/*/*.bench.py"))}
    return built | scripts


def run(command, pattern):
    """{bench: its figures, "seconds" per iteration among them}"""
    if len(command) == 1:
        options = ["--benchmark_format=json", "--benchmark_min_time=0.2", f"--benchmark_filter={pattern}"]
    else:
        options = ["--filter", pattern]
    done = subprocess.run(command + options, stdout=subprocess.PIPE, stdin=subprocess.DEVNULL, check=True)
    return read(json.loads(done.stdout or b"{}"))


def read(report):
    found = {}
    for bench in report.get("benchmarks", []):
        if bench.get("error_occurred"):
            print(f"{bench['name']}: {bench['error_message']}", file=sys.stderr)
        elif bench.get("run_type") == "iteration":
            found[MANNER.sub("", bench["name"])] = bench | {"seconds": bench["real_time"] * UNITS[bench["time_unit"]]}
    return found


def keep_fastest(best, new):
    for name, bench in new.items():
        if name not in best or bench["seconds"] < best[name]["seconds"]:
            best[name] = bench


def goal_line(name, bench, width):
    """One line of the second table; empty for a bench without a ratio."""
    if "ratio" not in bench:
        return ""
    line = f"{name:{width}}  {bench['ratio']:10.4g}"
    for key, word, met in (("goal_at_least", ">=", lambda ratio, goal: ratio >= goal),
                           ("goal_at_most", "<=", lambda ratio, goal: ratio <= goal)):
        if key in bench:
            line += f"  {word} {bench[key]:<9.4g}  {'met' if met(bench['ratio'], bench[key]) else 'NOT met'}"
    return line


def show_time(seconds):
    for unit in ("s", "ms", "us", "ns"):
        if seconds >= UNITS[unit] or unit == "ns":
            return f"{seconds / UNITS[unit]:.3g} {unit}"
    return ""


def main(arguments):
    parser = argparse.ArgumentParser(description="Runs the bench programs of one build, or of two in turn.")
    parser.add_argument("folder")
    parser.add_argument("--against", help="the build folder to compare with")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--filter", default=".*")
    options = parser.parse_args(arguments)
    here = programs(options.folder)
    there = programs(options.against) if options.against else {}
    ours, theirs = {}, {}
    for name, command in here.items():
        for _ in range(options.rounds if len(command) == 1 else 1):
            keep_fastest(ours, run(command, options.filter))
            if name in there:
                keep_fastest(theirs, run(there[name], options.filter))
    if not ours:
        print("no benches yet: they are src/<room>/*.bench.cpp and tests/<subject>/*.bench.cpp")
        return 0
    width = max(map(len, ours))
    print(f"{'bench':{width}}  {'now':>10}" + (f"  {'then':>10}  now/then" if options.against else ""))
    for name, bench in ours.items():
        line = f"{name:{width}}  {show_time(bench['seconds']):>10}"
        if name in theirs:
            line += f"  {show_time(theirs[name]['seconds']):>10}  {bench['seconds'] / theirs[name]['seconds']:8.2f}"
        elif options.against:
            line += f"  {'-':>10}  {'new':>8}"
        print(line)
    for name in theirs.keys() - ours.keys():
        print(f"{name:{width}}  {'gone':>10}")
    goals = [line for line in (goal_line(name, bench, width) for name, bench in ours.items()) if line]
    if goals:
        print(f"\n{'against a peer in the same run':{width}}  {'figure':>10}  goal")
        print("\n".join(goals))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
