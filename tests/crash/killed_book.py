#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Kills the program at random moments of a scripted job of the book, and looks what is left.

A `batch` process enters readings, takes some back and attaches notes, one request after the other; every reply that has
come back is a promise. It is killed with SIGKILL at a random moment, and a new one goes on. In the end, and after every
kill: each entry whose reply was seen is in the job, each one taken back is struck, the log has no gap, and `jobs check`
finds the book whole. Then a job that is proven is closed again and again and killed at random moments of that: closed and
learned from go together, or neither. What it does not show: a power cut (SQLite's synchronous=FULL answers for that).

Usage: killed_book.py PROGRAM LOOM [KILLS [SEED]]
"""
import json
import os
import random
import subprocess
import sys
import tempfile
import threading
import time


class Book:
    def __init__(self, program, folder):
        self.program = program
        self.environment = dict(os.environ, HALFSPLIT_BOOK=folder)

    def start(self):
        return subprocess.Popen([self.program, "batch"], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                env=self.environment, text=True, bufsize=1)

    def run(self, *words):
        done = subprocess.run([self.program, *words, "--json"], capture_output=True, text=True, env=self.environment,
                              check=False)
        reply = json.loads(done.stdout)
        if not reply["ok"]:
            sys.exit(f"killed_book: {' '.join(words)}: {done.stdout}")
        return reply["result"]


def ask(process, operation, **arguments):
    """The reply, or None when the process was killed before it came whole."""
    try:
        process.stdin.write(json.dumps({"operation": operation, "arguments": arguments}) + "\n")
        process.stdin.flush()
        line = process.stdout.readline()
    except (BrokenPipeError, ValueError):
        return None
    return json.loads(line) if line.endswith("\n") else None


class Promises:
    """What replies have said, by number of entry: its words, and whether it is struck."""

    def __init__(self):
        self.entries = {}
        self.open_change = None    # what was asked for without a reply yet

    def hold(self, job):
        """Faults found; what was asked for without a reply may have happened or not."""
        found = {entry["n"]: (entry["what"], entry["struck"]) for entry in job["entries"]}
        faults = []
        for number, (what, struck) in self.entries.items():
            if number not in found:
                faults.append(f"entry {number} ({what}) is lost")
            elif found[number][0] != what:
                faults.append(f"entry {number} says {found[number][0]}, not {what}")
            elif found[number][1] != struck and self.open_change != ("undo", number):
                faults.append(f"entry {number}: struck {found[number][1]}, promised {struck}")
        more = set(found) - set(self.entries)
        if len(more) > (1 if self.open_change else 0):
            faults.append(f"entries nobody made: {sorted(more)}")
        self.entries = found
        self.open_change = None
        return faults


def work(process, job, promises, chance):
    """Enters things until the process is gone; how many replies came."""
    replies = 0
    while True:
        standing = [n for n, (_, struck) in promises.entries.items() if not struck]
        if standing and chance.random() < 0.2:
            number = chance.choice(standing)
            promises.open_change = ("undo", number)
            reply = ask(process, "undo", job=job, entry=str(number))
            if reply is None:
                return replies
            promises.entries[number] = (promises.entries[number][0], reply["result"]["struck"])
        else:
            what = f"note {chance.randrange(10**9)} " + "x" * chance.randrange(400)
            promises.open_change = ("note", what)
            reply = ask(process, "note", job=job, what=what)
            if reply is None:
                return replies
            promises.entries[reply["result"]["entry"]] = (what, False)
        if not reply["ok"]:
            sys.exit(f"killed_book: refused: {reply}")
        promises.open_change = None
        replies += 1


PROVEN = [("saw", "code SPN 520210 FMI 3 active"), ("saw", "live oil-temperature -40"), ("did", "repaired J5:3"),
          ("saw", "code SPN 520210 FMI 3 absent"), ("saw", "live oil-temperature 8")]


def closings(book, loom, kills, chance):
    """Kills while a proven job is closed; how often it was closed then. A note opens it again."""
    book.run("shelf", "put", "proven", loom)
    job = book.run("open", "shelf:proven", "--complaint", "gauge dead")["job"]
    for verb, words in PROVEN:
        book.run(verb, words, "--job", job)
    process = book.start()
    ask(process, "jobs", do="show", what=job)
    started = time.monotonic()
    reply = ask(process, "close", job=job, anyway=True)
    longest = time.monotonic() - started
    process.kill()
    process.wait()
    if not reply["result"].get("learned"):
        sys.exit(f"killed_book: the job that should teach something does not: {reply}")
    closed = 0
    for kill in range(kills):
        book.run("note", f"open again {kill}", "--job", job)
        process = book.start()
        ask(process, "jobs", do="show", what=job)
        timer = threading.Timer(longest * chance.uniform(0.3, 1.8), process.kill)
        timer.start()
        ask(process, "close", job=job, anyway=True)
        process.kill()
        process.wait()
        timer.cancel()
        is_closed = book.run("jobs", "show", job)["closed_at"] != ""
        has_taught = book.run("jobs", "rates")["kinds"] != []
        if is_closed != has_taught:
            sys.exit(f"killed_book: closing {kill}: closed is {is_closed}, learned from is {has_taught}")
        closed += is_closed
    return closed


def main(arguments):
    program, loom = arguments[0], arguments[1]
    kills = int(arguments[2]) if len(arguments) > 2 else 100
    seed = int(arguments[3]) if len(arguments) > 3 else 20240506
    chance = random.Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        book = Book(os.path.abspath(program), folder)
        book.run("shelf", "put", "van", loom)
        promises, replies, job = Promises(), 0, None
        for kill in range(kills):
            if kill % 25 == 0:    # the longer a job, the longer a step
                job = book.run("open", "shelf:van", "--complaint", f"complaint {kill}")["job"]
                promises = Promises()
                promises.hold(book.run("jobs", "show", job))
            process = book.start()
            if chance.random() < 0.8:    # else also while it starts and opens the book
                ask(process, "jobs", do="show", what=job)
            timer = threading.Timer(0.01 * 25 ** chance.random(), process.kill)
            timer.start()
            replies += work(process, job, promises, chance)
            process.wait()
            timer.cancel()
            faults = promises.hold(book.run("jobs", "show", job))
            if kill % 10 == 0 or kill == kills - 1:
                faults += book.run("jobs", "check")["findings"]
            if faults:
                sys.exit(f"killed_book: seed {seed}, kill {kill}: " + "; ".join(faults))
        print(f"killed_book: seed {seed}, {kills} kills, {replies} replies, nothing lost, the book whole")
        closed = closings(book, loom, kills // 8, chance)
        print(f"killed_book: {kills // 8} kills while a job is closed, {closed} times it was closed and had taught, else neither")
        if replies < kills:
            sys.exit("killed_book: too few steps came through for this to mean anything")


if __name__ == "__main__":
    started = time.monotonic()
    main(sys.argv[1:])
    print(f"killed_book: {time.monotonic() - started:.1f} s")
