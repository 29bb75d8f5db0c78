#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Runs cases: commands with the text they should print.

A case is a text file, cases/<operation>/<what-it-shows>.case:

    # What it shows, in a line or two.
    $ cat > van.loom.toml <<END
    > name = "invented van"
    > END
    $ halfsplit check van.loom.toml
    no errors
    $ halfsplit check missing.toml
    missing.toml: error: there is no such file [file.missing]
    [exit 3]

- "$ " starts a command for bash; "> " lines continue it. What follows, up to the next "$ ", is what it prints (standard
  output and standard error in the order written). Blank lines before a "$ " are for the eye only.
- A command that does not exit with 0 ends its text with "[exit N]".
- Numbers and words compare exactly. "~23.8" accepts one step of the last written digit more or less (23.7 to 23.9),
  "~23.8:0.5" accepts 23.3 to 24.3. A printed line that begins with "$ ", "[exit" or a backslash has a backslash before it.
- Every case runs in an empty folder of its own, with halfsplit on the path, $EXAMPLES naming a copy of examples/, HOME
  in that folder, UTC, no colour. Commands of one case share the folder, not the shell.
- x.slow.case runs only with --slow.

Usage: cases.py --binary PROGRAM [--bless] [--slow] [--jobs N] FOLDER-OR-FILE...
--bless rewrites what does not hold; read the difference before you keep it.
"""
import argparse
import concurrent.futures
import difflib
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
SECONDS_PER_COMMAND = 120
NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:e[-+]?\d+)?"
TOLERANT = re.compile(rf"~({NUMBER})(?::({NUMBER}))?")


class CaseError(Exception):
    """A case file that cannot be read."""


@dataclass
class Step:
    line: int                                      # of the "$"
    command: list = field(default_factory=list)    # lines without "$ " and "> "
    expected: list = field(default_factory=list)
    blank: int = 0                                 # lines for the eye, before the next "$"


@dataclass
class Case:
    path: Path
    about: list
    steps: list


def strip_blank_end(lines):
    """Takes blank lines off the end, in place; how many."""
    count = len(lines)
    while lines and not lines[-1].strip():
        lines.pop()
    return count - len(lines)


def read_case(path):
    about, steps = [], []
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        if line.startswith("$ "):
            steps.append(Step(number, [line[2:]]))
        elif not steps:
            if line.strip() and not line.startswith("#"):
                raise CaseError(f"{path}:{number}: before the first '$ ' there may only be '#' lines")
            about.append(line)
        elif (line.startswith("> ") or line == ">") and not steps[-1].expected:
            steps[-1].command.append(line[2:])
        else:
            steps[-1].expected.append(line)
    if not steps:
        raise CaseError(f"{path}:1: no command; a case has at least one line '$ command'")
    if not any(line.startswith("#") for line in about):
        raise CaseError(f"{path}:1: no '#' line that says what the case shows")
    for step in steps:
        step.blank = strip_blank_end(step.expected)
    return Case(path, about, steps)


def write_case(case):
    lines = list(case.about)
    for step in case.steps:
        lines += ["$ " + step.command[0]] + [("> " + line).rstrip() for line in step.command[1:]]
        lines += step.expected + [""] * step.blank
    case.path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def escape(line):
    return "\\" + line if line.startswith(("$ ", "[exit", "\\", "> ")) or line == ">" else line


def step_of_last_digit(number):
    mantissa, _, exponent = number.lower().partition("e")
    decimals = len(mantissa.partition(".")[2])
    return 10.0 ** ((int(exponent) if exponent else 0) - decimals)


def line_holds(expected, actual):
    if expected == actual:
        return True
    if "~" not in expected:
        return False
    pattern, limits, at = "", [], 0
    for match in TOLERANT.finditer(expected):
        pattern += re.escape(expected[at:match.start()]) + f"({NUMBER})"
        spread = float(match[2]) if match[2] else step_of_last_digit(match[1])
        limits.append((float(match[1]), abs(spread)))
        at = match.end()
    found = re.fullmatch(pattern + re.escape(expected[at:]), actual)
    return bool(found) and all(abs(float(text) - middle) <= spread * (1 + 1e-9)
                               for text, (middle, spread) in zip(found.groups(), limits))


def block_holds(expected, actual):
    return len(expected) == len(actual) and all(map(line_holds, expected, actual))


def run_step(step, folder, environment):
    """The lines it printed, escaped, with [exit N] when N is not 0."""
    with subprocess.Popen(["bash", "-c", "\n".join(step.command)], cwd=folder, env=environment, start_new_session=True,
                          stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT) as process:
        try:
            text, _ = process.communicate(timeout=SECONDS_PER_COMMAND)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)  # the shell and whatever it started
            text = process.communicate()[0] + f"\n[stopped after {SECONDS_PER_COMMAND} s]\n".encode()
    lines = [escape(line.rstrip("\r")) for line in text.decode("utf-8", "replace").split("\n")]
    strip_blank_end(lines)
    return lines + ([f"[exit {process.returncode}]"] if process.returncode != 0 else [])


def make_environment(binary, folder):
    return {
        "PATH": f"{binary.parent}:/usr/local/bin:/usr/bin:/bin",
        "HOME": str(folder), "EXAMPLES": "examples", "TZ": "UTC", "LC_ALL": "C.UTF-8", "NO_COLOR": "1", "COLUMNS": "100",
        **{name: os.environ[name] for name in ("ASAN_OPTIONS", "UBSAN_OPTIONS", "LSAN_OPTIONS") if name in os.environ},
    }


def run_case(path, binary, bless):
    """(failures as text, whether the file was rewritten)"""
    try:
        case = read_case(path)
    except (CaseError, OSError, UnicodeDecodeError) as error:
        return str(error) + "\n", False
    report, changed = "", False
    with tempfile.TemporaryDirectory(prefix="halfsplit-case-") as name:
        folder = Path(name)
        if (ROOT / "examples").is_dir() and "examples" in path.read_text(encoding="utf-8").lower():
            shutil.copytree(ROOT / "examples", folder / "examples")
        environment = make_environment(binary, folder)
        for step in case.steps:
            actual = run_step(step, folder, environment)
            if block_holds(step.expected, actual):
                continue
            if bless:
                held = {line for line in step.expected if "~" in line}
                step.expected = [next((old for old in held if line_holds(old, line)), line) for line in actual]
                changed = True
                continue
            report += f"{path}:{step.line}: $ {step.command[0]}\n"
            for line in list(difflib.unified_diff(step.expected, actual, "expected", "printed", lineterm="", n=2))[2:]:
                report += f"    {line}\n"
    if changed:
        write_case(case)
    return report, changed


def find_cases(names, slow):
    found = []
    for name in names:
        path = Path(name)
        if path.is_dir():
            found += sorted(p for p in path.rglob("*.case") if slow or not p.name.endswith(".slow.case"))
        elif path.is_file():
            found.append(path)
        else:
            raise CaseError(f"{path}: there is no such folder or file")
    return found


def main(arguments):
    parser = argparse.ArgumentParser(description="Runs cases: commands with the text they should print.")
    parser.add_argument("--binary", required=True, help="the halfsplit program to run")
    parser.add_argument("--bless", action="store_true", help="rewrite what the cases expect")
    parser.add_argument("--slow", action="store_true", help="run x.slow.case too")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("paths", nargs="*", default=[str(ROOT / "cases")])
    options = parser.parse_args(arguments)
    binary = Path(options.binary).resolve()
    try:
        paths = find_cases(options.paths, options.slow)
    except CaseError as error:
        print(f"cases: {error}", file=sys.stderr)
        return 2
    if paths and not binary.is_file():
        print(f"cases: {binary} is not built", file=sys.stderr)
        return 2
    with concurrent.futures.ThreadPoolExecutor(options.jobs) as pool:
        results = list(pool.map(lambda path: run_case(path, binary, options.bless), paths))
    failed = 0
    for path, (report, changed) in zip(paths, results):
        sys.stdout.write(report + (f"{path}: rewritten\n" if changed else ""))
        failed += bool(report)
    print(f"{len(paths)} cases, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
