#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A disk that is full under the book is called full, and what was there before stays.

The disk is a tmpfs of its own, mounted in a mount namespace; where that may not be made, the test is skipped (77).

Usage: full_disk.py PROGRAM LOOM
"""
import os
import shutil
import subprocess
import sys
import tempfile

SKIPPED = 77


def inside(program, loom, disk):
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=512k", "tmpfs", disk], capture_output=True, check=False).returncode:
        sys.exit(SKIPPED)
    environment = dict(os.environ, HALFSPLIT_BOOK=disk + "/book")

    def run(*words):
        return subprocess.run([program, *words], text=True, capture_output=True, env=environment, check=False)

    for words in (["shelf", "put", "demo", loom], ["open", "shelf:demo", "--complaint", "x"]):
        done = run(*words)
        if done.returncode != 0:
            sys.exit(f"full_disk: {' '.join(words)}: {done.stderr}")
    with open(disk + "/fill", "wb", buffering=0) as fill:
        try:
            while True:
                fill.write(b"x" * 512)
        except OSError:
            pass
    for number in range(200):  # until what the database has in hand is used up
        done = run("note", f"note {number}", "--job", "1")
        if done.returncode != 0:
            break
    if done.returncode != 3 or "[book.full]" not in done.stderr:
        sys.exit(f"full_disk: not called full: {done.returncode} {done.stderr}")
    os.remove(disk + "/fill")
    entries = run("status", "--job", "1").stdout
    for kept in range(number):
        if f"note note {kept}\n" not in entries:
            sys.exit(f"full_disk: confirmed and lost: note {kept}")


def main():
    if len(sys.argv) == 4:
        return inside(sys.argv[1], sys.argv[2], sys.argv[3])
    disk = tempfile.mkdtemp(prefix="halfsplit-full-disk-")
    own = ["unshare", "--mount"] if os.geteuid() == 0 else ["unshare", "--user", "--map-root-user", "--mount"]
    if subprocess.run([*own, "true"], capture_output=True, check=False).returncode != 0:
        sys.exit(SKIPPED)
    words = [sys.executable, os.path.abspath(__file__), os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2]), disk]
    code = subprocess.run([*own, *words], check=False).returncode
    shutil.rmtree(disk)
    sys.exit(code)


if __name__ == "__main__":
    main()
