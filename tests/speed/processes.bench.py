#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""What only whole processes show: the cold start of `next`, and the memory of a whole vehicle.

cold_next/DEMO       `halfsplit next` on a demo job, from start to end of the process, against `/usr/bin/python3 -c pass`;
                     both by turns, the median of each. Goal: no slower.
peak_memory/30000    open, one code, suspects, next on a vehicle of 30,000 nodes in one process; its largest resident set.
                     Goal: below 1 GB. Stopped after four minutes; then it is the largest so far (stopped_early 1).

Usage: processes.bench.py BUILD-FOLDER [--filter REGEX]. Prints JSON in the form of Google Benchmark, for tools/bench.py.
"""
import argparse
import json
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PYTHON = "/usr/bin/python3"  # Debian's own: a version manager's stand-in takes several times as long
TURNS = 41
PATIENCE_S = 240
GIGABYTE = 1e9

# What stands in each demo job when `next` is asked.
DEMOS = {
    "gritter": [("code SPN 520210 FMI 3", "active"), ("live oil-temperature", "-40")],
    "tipper-trailer": [("look L1", "dim"), ("look L2", "dim"), ("look L5", "dim")],
    "refuse-truck": [("list VCU", "SPN 520312 FMI 9, SPN 520313 FMI 9, SPN 520315 FMI 9"),
                     ("list GWM", "SPN 520312 FMI 9, SPN 520313 FMI 9, SPN 520315 FMI 9"), ("module BC2", "no")],
}


def run(command, folder):
    done = subprocess.run(command, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    if done.returncode != 0:
        raise RuntimeError(f"{' '.join(map(str, command))}: exit {done.returncode}\n{done.stdout}")


def wall_ms(command, folder):
    start = time.perf_counter()
    subprocess.run(command, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=True)
    return 1e3 * (time.perf_counter() - start)


def cold_next(binary, demo):
    with tempfile.TemporaryDirectory() as folder:
        loom = ROOT / "examples" / demo / f"{demo}.loom.toml"
        run([binary, "open", loom, "--complaint", "it does not work", "--job", "demo.job.toml"], folder)
        for what, shows in DEMOS[demo]:
            run([binary, "saw", what, shows], folder)
        ours, peer = [], []
        for turn in range(TURNS + 2):
            times = wall_ms([binary, "next"], folder), wall_ms([PYTHON, "-c", "pass"], folder)
            if turn >= 2:  # the first two bring files into memory
                ours.append(times[0])
                peer.append(times[1])
    ours, peer = statistics.median(ours), statistics.median(peer)
    return {"real_time": ours, "time_unit": "ms", "peer_python3_ms": peer, "ratio": ours / peer, "goal_at_most": 1.0}


def one_sensor(loom):
    """The name of a code that a broken temperature sensor sets."""
    drawn = tomllib.loads(loom)
    live = next(l for name, l in drawn["live"].items() if name.startswith("temperature"))
    return next(name for name, code in drawn["codes"].items()
                if (code["module"], code["pin"]) == (live["module"], live["pin"]) and name.endswith("FMI 3"))


def peak_memory(folder, nodes):
    loom = subprocess.run([folder / "fleet_loom", str(nodes), "7"], stdout=subprocess.PIPE, check=True, text=True).stdout
    requests = [("open", {"loom": "vehicle.loom.toml", "complaint": "no temperature", "job": "mem:job"}),
                ("saw", {"what": "code " + one_sensor(loom), "shows": "active", "job": "mem:job"}),
                ("suspects", {"job": "mem:job"}), ("next", {"job": "mem:job"})]
    with tempfile.TemporaryDirectory() as work:
        Path(work, "vehicle.loom.toml").write_text(loom)
        Path(work, "requests").write_text("".join(json.dumps({"operation": o, "arguments": a}) + "\n" for o, a in requests))
        start = time.perf_counter()
        with open(Path(work, "requests")) as given, open(Path(work, "replies"), "w") as replies:
            child = subprocess.Popen([folder / "halfsplit", "batch"], cwd=work, stdin=given, stdout=replies)
            used, done = wait_for(child, start + PATIENCE_S)
        failed = [line[:300] for line in Path(work, "replies").read_text().splitlines()
                  if json.loads(line).get("exit_code", 0) != 0]
    if failed:
        return {"error_occurred": True, "error_message": failed[0]}
    return {"real_time": time.perf_counter() - start, "time_unit": "s", "peak_bytes": used,
            "ratio": used / GIGABYTE, "goal_at_most": 1.0, "stopped_early": 0.0 if done else 1.0}


def wait_for(child, until):
    """(largest resident set in bytes so far, whether it came to its end)"""
    used = 0.0
    while time.perf_counter() < until:
        for line in Path(f"/proc/{child.pid}/status").read_text().splitlines():
            if line.startswith("VmHWM:"):
                used = 1024.0 * float(line.split()[1])
        pid, _, resources = os.wait4(child.pid, os.WNOHANG)
        if pid != 0:
            child.returncode = 0
            return resources.ru_maxrss * 1024.0, True
        time.sleep(0.02)
    child.kill()
    child.wait()
    return used, False


def main(arguments):
    parser = argparse.ArgumentParser(description="Benches of whole processes.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--filter", default=".*")
    options = parser.parse_args(arguments)
    folder = options.folder.resolve()
    benches = {f"cold_next/{demo}": lambda demo=demo: cold_next(folder / "halfsplit", demo) for demo in DEMOS}
    benches["peak_memory/30000"] = lambda: peak_memory(folder, 30000)
    found = []
    for name, bench in benches.items():
        if not re.search(options.filter, name):
            continue
        try:
            result = bench()
        except (RuntimeError, OSError, subprocess.CalledProcessError) as error:
            result = {"error_occurred": True, "error_message": str(error)}
        found.append({"name": name, "run_type": "iteration"} | result)
    json.dump({"benchmarks": found}, sys.stdout, indent=1)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
