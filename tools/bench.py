#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Runs the bench programs of one build, or of two in turn, and prints the times and their ratio.

Two builds are run alternately, several rounds, and the fastest round of each counts: what else the machine does then
falls on both alike. A ratio above 1 means this build is slower than the other.

Usage: bench.py BUILD-FOLDER [--against BUILD-FOLDER] [--rounds N] [--filter REGEX]
"""
import argparse
import json
import subprocess
import sys
from pathlib import Path

UNITS = {"ns": 1e-9, "us": 1e-6, "ms": 1e-3, "s": 1.0}


def programs(folder):
    return {p.name: p for p in sorted(Path(folder).glob("bench_*")) if p.is_file() and p.stat().st_mode & 0o100}


def run(program, pattern):
    """{bench: seconds per iteration}"""
    done = subprocess.run([str(program), "--benchmark_format=json", "--benchmark_min_time=0.2",
                           f"--benchmark_filter={pattern}"], stdout=subprocess.PIPE, stdin=subprocess.DEVNULL, check=True)
    found = {}
    for bench in json.loads(done.stdout or b"{}").get("benchmarks", []):
        if bench.get("run_type") == "iteration" and not bench.get("error_occurred"):
            found[bench["name"]] = bench["real_time"] * UNITS[bench["time_unit"]]
        elif bench.get("error_occurred"):
            print(f"{bench['name']}: {bench['error_message']}", file=sys.stderr)
    return found


def keep_fastest(best, new):
    for name, seconds in new.items():
        best[name] = min(seconds, best.get(name, seconds))


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
    for name, program in here.items():
        for _ in range(options.rounds):
            keep_fastest(ours, run(program, options.filter))
            if name in there:
                keep_fastest(theirs, run(there[name], options.filter))
    if not ours:
        print("no benches yet: they are src/<room>/*.bench.cpp")
        return 0
    width = max(map(len, ours))
    print(f"{'bench':{width}}  {'now':>10}" + (f"  {'then':>10}  now/then" if options.against else ""))
    for name, seconds in ours.items():
        line = f"{name:{width}}  {show_time(seconds):>10}"
        if name in theirs:
            line += f"  {show_time(theirs[name]):>10}  {seconds / theirs[name]:8.2f}"
        elif options.against:
            line += f"  {'-':>10}  {'new':>8}"
        print(line)
    for name in theirs.keys() - ours.keys():
        print(f"{name:{width}}  {'gone':>10}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
