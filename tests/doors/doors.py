#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Every operation of the table, asked over HTTP and at the command line with --json: the same bytes.

What only reads is asked twice of one book. What changes a job is done to two books that began alike. An operation that
is not listed below is asked without arguments, so that a new one is compared from its first day on, if only in what it
refuses. Times of day, which differ from one second to the next, are masked. Usage: doors.py PROGRAM
"""
import hashlib
import json
import re
import sys
import unittest

from served import Served

TIME = re.compile(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ?")
# The job as a square code, and its text: it holds the times as well, where no mask reaches.
CODE = re.compile(rb'HALFSPLIT1:[^"]*|<path d=\\"M[^"]*')
SHELF = {"loom": "shelf:gritter"}
JOB = {"job": "book:1"}
TEST = "ohms HCU.A:7 B12:1"

# An invented recording, kept with the job from its opening on.
LOG = b"".join(b"(%d.%02d0000) can0 18FEF1%02X#00\n" % (1000 + i // 100, i % 100, 33 + i % 3) for i in range(3000))
RUN = "recording:" + hashlib.sha256(LOG).hexdigest()

# In this order: what comes later sees what the ones before did.
ASKED = [
    ("check", SHELF), ("check", {**SHELF, "points": True}), ("check", {"loom": "shelf:none"}),
    ("trace", {**SHELF, "from": "HCU.A:7", "to": "B12:1"}), ("draw", SHELF), ("draw", {**SHELF, "dark": True}),
    ("expect", {**SHELF, "with": ["key-on"], "what": "volts HCU.A:7 chassis"}), ("expect", {**SHELF, "codes": True}),
    ("hears", SHELF), ("faults", SHELF), ("wires", SHELF), ("sketch", {"list": True}), ("schema", {}),
    ("schema", {"parts": True}), ("meter", {}), ("operations", {}),
    ("rehearse", {**SHELF, "seed": 7}),
    ("bench", {**SHELF, "count": 1, "seed": 3}),
    ("open", {**SHELF, "complaint": "oil temperature shows \u201cnothing\u201d", "vehicle": "G 7"}),
    ("open", {**SHELF, "complaint": "again"}), ("open", {**SHELF, "complaint": "again", **JOB}),
    ("kit", {**JOB, "resistors": ["120R", "1k"], "clamp": "no"}),
    ("saw", {**JOB, "what": "code SPN 520210 FMI 3", "shows": "active"}),
    ("next", JOB), ("suspects", {**JOB, "quick": True}), ("suspects", {**JOB, "all": True}),
    ("plan", {**JOB, "before": True}), ("board", JOB), ("note", {**JOB, "what": "left mud flap torn"}),
    ("did", {**JOB, "what": "unplug J2", "minutes": 2}), ("status", JOB), ("undo", JOB), ("undo", {**JOB, "entry": 99}),
    ("skip", JOB), ("draw", JOB), ("sheet", JOB), ("sheet", {**JOB, "html": True}), ("proof", JOB),
    ("saw", {**JOB, "what": "volts nowhere chassis", "shows": "3"}), ("close", JOB), ("status", JOB),
    ("capture", {"file": RUN}), ("capture", {"file": RUN, "slots": True}), ("capture", {"file": RUN, "lines": ["3-5"]}),
    ("capture", {"file": "recording:" + "0" * 64}), ("witness", {**JOB, "file": RUN, "dry": True}),
    ("jobs", {"do": "recordings", "what": "1"}),
    ("jobs", {}), ("jobs", {"do": "find", "what": "temperature"}), ("jobs", {"do": "show", "what": "1"}),
    ("jobs", {"do": "history", "what": "1"}), ("jobs", {"do": "export", "what": "1"}), ("jobs", {"do": "check"}),
    ("jobs", {"do": "rates"}), ("jobs", {"do": "remove", "what": "2"}), ("jobs", {"do": "restore", "what": "2"}),
    ("shelf", {}), ("shelf", {"do": "get", "what": "gritter"}), ("shelf", {"do": "find", "what": "oil"}),
]


def words_of(fields, arguments):
    """The arguments as words of the command line."""
    words, last = [], []
    for field in fields:
        name, kind = field["name"], field["kind"]
        if name not in arguments:
            continue
        value = arguments[name]
        if kind == "flag":
            words.append(f"--{name}")
        elif kind in ("positional", "rest"):
            last.append(str(value))
        else:
            for one in value if isinstance(value, list) else [value]:
                words += [f"--{name}", str(one)]
    return words + last


def keep_recording(served, other):
    """The same recording with job 1 of both books; over HTTP as its bytes, at the command line as a file."""
    (other.folder / "run.log").write_bytes(LOG)
    status, _, answer = served.ask("POST", "/recording?job=book%3A1&name=run.log", LOG,
                                   headers={"Content-Type": "application/octet-stream"})
    assert status == 200 and json.loads(answer)["ok"], answer
    line = other.command("jobs", "recording", "1", "run.log", "--json").stdout.removesuffix(b"\n")
    assert TIME.sub(b"T", answer) == TIME.sub(b"T", line), (answer, line)


class Doors(unittest.TestCase):
    maxDiff = 2000

    def test_same_bytes(self):
        with Served(PROGRAM) as served, Served(PROGRAM) as other:
            served.let_in()
            served.put_on_shelf("gritter")
            other.put_on_shelf("gritter")
            table = {one["name"]: one["fields"] for one in served.result("operations", {})["operations"]}
            rest = [(name, {}) for name in table if name not in {name for name, _ in ASKED}]
            for operation, arguments in ASKED + rest:
                with self.subTest(operation=operation, arguments=arguments):
                    if operation == "capture":
                        keep_recording(served, other)
                    status, headers, over_http = served.run(operation, arguments)
                    self.assertEqual((status, headers["Content-Type"]), (200, "application/json"))
                    line = other.command(operation, *words_of(table[operation], arguments), "--json").stdout
                    if not line.startswith(b"{"):  # refused by the reader of the command line, before the operation
                        self.assertEqual(json.loads(over_http)["exit_code"], 2, line)
                        continue
                    answers = [TIME.sub(b"T", over_http), TIME.sub(b"T", line.removesuffix(b"\n"))]
                    if operation == "sheet" and self.times(served) != self.times(other):
                        answers = [CODE.sub(b"C", answer) for answer in answers]
                    self.assertEqual(*answers)

    def times(self, book):
        """All times that job 1 of a book holds."""
        times = TIME.findall(book.command("jobs", "export", "1", "--json").stdout)
        self.assertTrue(times)
        return times

    def test_the_table_has_its_route(self):
        with Served(PROGRAM) as served:
            served.let_in()
            self.assertEqual(served.ask("GET", "/api/operations")[2], served.run("operations", {})[2])


if __name__ == "__main__":
    PROGRAM = sys.argv.pop(1)
    unittest.main()
