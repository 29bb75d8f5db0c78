#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Several processes write into one job file at the same time, and nothing that was confirmed is lost.

Every process that ended with 0 must have its entry in the file, every entry a number of its own; a process that holds
the file for too long costs the others a clear error, not the entry of a third. What it does not show: editors that write
the file without asking anybody.

Usage: same_job.py PROGRAM LOOM [WRITERS]
"""
import fcntl
import os
import shutil
import subprocess
import sys
import tempfile


class Job:
    def __init__(self, program, loom):
        self.program = program
        self.folder = tempfile.mkdtemp(prefix="halfsplit-same-job-")
        shutil.copy(loom, os.path.join(self.folder, "loom.toml"))
        self.file = os.path.join(self.folder, "a.job.toml")
        self.end("open", self.start("open", "loom.toml", "--complaint", "x"))

    def start(self, operation, *words):
        return subprocess.Popen([self.program, operation, *words, "--job", "a.job.toml"], cwd=self.folder, text=True,
                                stdout=subprocess.PIPE, stderr=subprocess.STDOUT)

    @staticmethod
    def end(what, process, code=0):
        said = process.communicate(timeout=300)[0]
        if process.returncode != code:
            sys.exit(f"same_job: {what} ended with {process.returncode}, not {code}: {said}")
        return said

    def lines(self):
        return subprocess.run([self.program, "status", "--job", "a.job.toml"], cwd=self.folder, text=True,
                              capture_output=True, check=True).stdout.splitlines()


def all_are_kept(job, writers):
    notes = [f"note {i}" for i in range(writers)]
    running = [(note, job.start("note", note)) for note in notes]
    running += [(reading, job.start("saw", "volts BAT:+ chassis", reading, "--brief")) for reading in ("25.1", "25.2")]
    for what, process in running:
        job.end(what, process)
    entries = [line.split() for line in job.lines() if line[2:3].isdigit() and "so far" not in line]
    numbers = [words[0] for words in entries]
    if len(set(numbers)) != len(numbers):
        sys.exit(f"same_job: two entries of one number: {numbers}")
    there = {" ".join(words[2:]) for words in entries}
    lost = [what for what in notes + ["volts BAT:+ chassis 25.1", "volts BAT:+ chassis 25.2"] if what not in there]
    if lost:
        sys.exit(f"same_job: confirmed and lost: {lost}")


def held_too_long(job):
    with open(job.file, encoding="utf-8") as held:
        before = held.read()
        fcntl.flock(held, fcntl.LOCK_EX)
        said = job.end("note", job.start("note", "while it is held"), code=3)
    if "[file.busy]" not in said:
        sys.exit(f"same_job: no word of the file being held: {said}")
    with open(job.file, encoding="utf-8") as after:
        if after.read() != before:
            sys.exit("same_job: written although it was held")
    job.end("note", job.start("note", "when it is free"))


def main():
    program, loom = os.path.abspath(sys.argv[1]), sys.argv[2]
    job = Job(program, loom)
    all_are_kept(job, int(sys.argv[3]) if len(sys.argv) > 3 else 8)
    held_too_long(job)
    shutil.rmtree(job.folder)


if __name__ == "__main__":
    main()
