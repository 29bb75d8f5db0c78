#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Two million frames of invented J1939 traffic (traffic.h, seed 1), as a log (102 MB) and as pcapng (96 MB).

capture_read/FORM/HANDS    reading every frame, with one thread and with two, against `wc -l` of the log: its time over
                           ours, by turns, the median of each. Goal: at least 0.25.
capture_tshark/FORM        `tshark -T fields -e can.id` on the pcapng over ours with two threads. Goal: at least 150.
capture_all/FORM           `halfsplit capture FILE`, once the program has it: all that it tells, against `wc -l`, and
                           against tshark (capture_all_tshark). Goals: as above.
capture_memory             `halfsplit capture` or else the reader on the log ten times over, through a pipe: largest
                           resident set. Goal: below 200 MB.

Usage: captures.bench.py BUILD-FOLDER [--filter REGEX]. Prints JSON in the form of Google Benchmark, for tools/bench.py.
"""
import argparse
import json
import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

FRAMES = 2_000_000
TURNS = 15
MEMORY_TIMES = 10
MEGABYTE = 1e6


def wall_ms(command):
    start = time.perf_counter()
    subprocess.run(command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=True)
    return 1e3 * (time.perf_counter() - start)


def by_turns(command, peer):
    ours, theirs = [], []
    for turn in range(TURNS + 1):
        times = wall_ms(command), wall_ms(peer)
        if turn > 0:  # the first one brings the file into memory
            ours.append(times[0])
            theirs.append(times[1])
    return statistics.median(ours), statistics.median(theirs)


def against_wc(command, log):
    ours, wc = by_turns(command, ["wc", "-l", log])
    return {"real_time": ours, "time_unit": "ms", "wc_ms": wc, "frames_per_second": FRAMES / ours * 1e3, "ratio": wc / ours,
            "goal_at_least": 0.25}


def tshark_ms(packets, known={}):
    if "ms" not in known:
        known["ms"] = wall_ms(["tshark", "-r", packets, "-T", "fields", "-e", "can.id"])
    return known["ms"]


def against_tshark(command, packets):
    ours = statistics.median(wall_ms(command) for _ in range(TURNS))
    peer = tshark_ms(packets)
    return {"real_time": ours, "time_unit": "ms", "tshark_ms": peer, "ratio": peer / ours, "goal_at_least": 150}


def memory(command, log):
    writer = subprocess.Popen(["sh", "-c", f"for i in $(seq {MEMORY_TIMES}); do cat '{log}'; done"], stdout=subprocess.PIPE)
    start = time.perf_counter()
    process = subprocess.Popen(command, stdin=writer.stdout, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    writer.stdout.close()
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    writer.wait()
    if process.returncode != 0:
        raise RuntimeError(f"{command}: exit {process.returncode}")
    megabytes = usage.ru_maxrss * 1024 / MEGABYTE
    return {"real_time": 1e3 * (time.perf_counter() - start), "time_unit": "ms", "megabytes": megabytes,
            "ratio": megabytes / 200, "goal_at_most": 1.0}


def benches(folder, work):
    """{name: what measures it}"""
    log, packets = f"{work}/traffic.log", f"{work}/traffic.pcapng"
    for form, path in (("log", log), ("pcapng", packets)):
        with open(path, "wb") as out:
            subprocess.run([folder / "make_traffic", form, str(FRAMES), "1"], stdout=out, check=True)
    reader, program = str(folder / "read_recording"), str(folder / "halfsplit")
    has_verb = subprocess.run([program, "capture", "--help"], capture_output=True).returncode == 0
    found = {}
    for form, path in (("log", log), ("pcapng", packets)):
        for hands in ("1", "2"):
            found[f"capture_read/{form}/{hands}"] = lambda p=path, h=hands: against_wc([reader, p, h], log)
        if shutil.which("tshark"):
            found[f"capture_tshark/{form}"] = lambda p=path: against_tshark([reader, p, "2"], packets)
        if has_verb:
            found[f"capture_all/{form}"] = lambda p=path: against_wc([program, "capture", p], log)
            if shutil.which("tshark"):
                found[f"capture_all_tshark/{form}"] = lambda p=path: against_tshark([program, "capture", p], packets)
    found["capture_memory"] = lambda: memory([program, "capture", "-"] if has_verb else [reader, "/dev/stdin", "2"], log)
    return found


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--filter", default="")
    options = parser.parse_args()
    if not (options.folder / "make_traffic").exists():
        print(json.dumps({"benchmarks": []}))
        return
    if not shutil.which("tshark"):
        print("captures.bench.py: no tshark here, so nothing is compared with it", file=sys.stderr)
    with tempfile.TemporaryDirectory() as work:
        measured = [{"name": name, "run_type": "iteration"} | measure()
                    for name, measure in benches(options.folder.resolve(), work).items() if re.search(options.filter, name)]
    print(json.dumps({"benchmarks": measured}))


main()
