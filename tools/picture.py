#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Shows the program at work, from real runs: plays the transcripts of our pages anew and draws pictures for them.

In README.md, docs/guide.md, docs/guide-buses.md and docs/planning.md a block that begins with ```console is a transcript. "$ " starts a command for bash; what
follows is what it printed, standard output and standard error together, and "[exit N]" when it did not end with 0.
- ```console keep 1-9,14   shows only these lines of the output of its one command; "..." stands for the others.
- In a transcript of `halfsplit work` the lines that begin with "> " are what was typed; they are always shown.
- ```toml file NAME (any language) is written to the file NAME before what follows is played.
Each page is played in an empty folder of its own that holds a copy of every loom of examples/, with halfsplit on the
path, UTC, no colour. A time of day differs at every run: text that differs in nothing else is left as it stands.

The pictures (PICTURES below) are docs/pictures/*.svg: the text of a run in a monospace font, or the program's drawing.

Usage: picture.py [--check] PROGRAM
Without --check, pages and pictures are rewritten; with it, what is stale is named and the exit code is 1.
"""
import difflib
import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from xml.sax.saxutils import escape

ROOT = Path(__file__).resolve().parent.parent
PAGES = ["README.md", "docs/guide.md", "docs/guide-buses.md", "docs/planning.md"]
SECONDS_PER_COMMAND = 120
FENCE = re.compile(r"^```(\w*)(?: (keep|file) (\S+))?\s*$")
TIME = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(?::\d\d)?Z?")

CALL = ['halfsplit open gritter.loom.toml --complaint "oil temperature shows nothing"',
        'halfsplit saw "code SPN 520210 FMI 3" active',
        'halfsplit saw "live oil-temperature" -40']
HALFWAY = CALL + ['halfsplit saw "volts J2:5@chassis J2:6@chassis" 4.97', "halfsplit did body-raised",
                  'halfsplit saw "volts J5:2@body J5:3@body" 0.0002']
# Name, what it shows, commands that come before, the command shown; a command without output to the screen: its file.
PICTURES = [
    ("next.svg", "The next test, as the program proposes it for the gritter job", CALL, "halfsplit next"),
    ("suspects.svg", "The suspects of the gritter job, with their reasons", HALFWAY, "halfsplit suspects"),
    ("circuit.svg", None, HALFWAY, "halfsplit draw --out picture"),
]


class PageError(Exception):
    """A page that cannot be played."""


class Stage:
    """An empty folder with the example looms and the program on the path."""

    def __init__(self, program):
        self.folder = Path(tempfile.mkdtemp(prefix="halfsplit-page-"))
        tools = self.folder / ".bin"
        tools.mkdir()
        (tools / "halfsplit").symlink_to(Path(program).resolve())
        for loom in sorted(ROOT.glob("examples/*/*.loom.toml")):
            shutil.copy(loom, self.folder)
        self.environment = {"PATH": f"{tools}:{os.environ['PATH']}", "HOME": str(self.folder), "TZ": "UTC",
                            "LC_ALL": "C.UTF-8", "TERM": "dumb"}

    def __enter__(self):
        return self

    def __exit__(self, *_):
        shutil.rmtree(self.folder)

    def run(self, command, typed=""):
        done = subprocess.run(["bash", "-c", command], cwd=self.folder, env=self.environment, input=typed, text=True,
                              stdout=subprocess.PIPE, stderr=subprocess.STDOUT, timeout=SECONDS_PER_COMMAND, check=False)
        lines = done.stdout.splitlines()
        if done.returncode != 0:
            lines.append(f"[exit {done.returncode}]")
        return lines


def kept(lines, ranges):
    """The lines that `ranges` ("1-9,14,20-") names, and those that were typed; "..." for what is left out."""
    wanted = set()
    for part in ranges.split(","):
        first, dash, last = part.partition("-")
        wanted.update(range(int(first), (int(last) if last else len(lines)) + 1 if dash else int(first) + 1))
    shown, gap = [], False
    for number, line in enumerate(lines, 1):
        if number in wanted or line.startswith("> "):
            shown += ["..."] if gap else []
            shown.append(line)
            gap = False
        else:
            gap = True
    return shown + (["..."] if gap else [])


def steps_of(block):
    steps = []
    for line in block:
        if line.startswith("$ "):
            steps.append((line[2:], []))
        elif steps:
            steps[-1][1].append(line)
        elif line:
            raise PageError(f"output before any command: {line}")
    return steps


def same_but_for_time(one, other):
    return [TIME.sub("", line) for line in one] == [TIME.sub("", line) for line in other]


def play_block(stage, block, ranges):
    steps = steps_of(block)
    if ranges and len(steps) != 1:
        raise PageError("keep needs exactly one command")
    fresh = []
    for command, shown in steps:
        typed = [line[2:] + "\n" for line in shown if line.startswith("> ")]
        lines = stage.run(command, "".join(typed))
        lines = kept(lines, ranges) if ranges else lines
        while shown and not shown[-1]:
            shown.pop()
        fresh += ([""] if fresh else []) + ["$ " + command] + (shown if same_but_for_time(lines, shown) else lines)
    return fresh


def play_page(program, text):
    """The page with its transcripts played anew."""
    lines, out, at = text.split("\n"), [], 0
    with Stage(program) as stage:
        while at < len(lines):
            out.append(lines[at])
            fence = FENCE.match(lines[at])
            at += 1
            if not fence:
                continue
            try:
                end = lines.index("```", at)
            except ValueError:
                raise PageError(f"line {at}: a block without an end") from None
            language, verb, value = fence.groups()
            block = lines[at:end]
            if language == "console":
                try:
                    block = play_block(stage, block, value if verb == "keep" else "")
                except PageError as error:
                    raise PageError(f"line {at}: {error}") from None
            elif verb == "file":
                (stage.folder / value).write_text("\n".join(block) + "\n", encoding="utf-8")
            out += block + ["```"]
            at = end + 1
    return "\n".join(out)


def draw_text(title, lines):
    """Lines of text as SVG; a line that begins with "$ " is what was typed."""
    size, leading, margin = 14, 19, 18
    width = round(max(map(len, lines)) * size * 0.602) + 2 * margin  # monospace fonts advance by about 0.6 em
    height = len(lines) * leading + 2 * margin
    out = [f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}" '
           f"font-family=\"'DejaVu Sans Mono', 'Liberation Mono', monospace\" font-size=\"{size}\" fill=\"#141414\" "
           'role="img">',
           f"<title>{escape(title)}</title>",
           f'<rect x="0.5" y="0.5" width="{width - 1}" height="{height - 1}" fill="#fcfcf9" stroke="#b8b8b0"/>']
    for number, line in enumerate(lines):
        weight = ' font-weight="bold"' if line.startswith("$ ") else ""
        y = margin + number * leading + size
        if line.strip():
            out.append(f'<text x="{margin}" y="{y}" xml:space="preserve"{weight}>{escape(line)}</text>')
    return "\n".join(out + ["</svg>", ""])


def make_picture(program, title, before, command):
    with Stage(program) as stage:
        for quiet in before:
            printed = stage.run(quiet)
            if printed and printed[-1].startswith("[exit"):
                raise PageError(f"{quiet}: " + "; ".join(printed))
        printed = stage.run(command)
        if printed and printed[-1].startswith("[exit"):
            raise PageError(f"{command}: " + "; ".join(printed))
        if title is None:
            return (stage.folder / "picture").read_text(encoding="utf-8")
        return draw_text(title, ["$ " + command] + printed)


def made_anew(program):
    """Path and fresh text of everything this script makes."""
    for page in PAGES:
        path = ROOT / page
        if not path.exists():
            continue
        try:
            yield path, play_page(program, path.read_text(encoding="utf-8"))
        except PageError as error:
            raise PageError(f"{page}: {error}") from None
    for name, title, before, command in PICTURES:
        yield ROOT / "docs" / "pictures" / name, make_picture(program, title, before, command)


def tell_stale(path, old, fresh):
    name = path.relative_to(ROOT)
    print(f"stale: {name}")
    difference = difflib.unified_diff(old.splitlines(), fresh.splitlines(), f"{name}", "as it is now", n=1, lineterm="")
    print("\n".join(list(difference)[:24]))


def main(arguments):
    check = arguments[:1] == ["--check"]
    programs = arguments[1:] if check else arguments
    if len(programs) != 1 or programs[0].startswith("-"):
        print(__doc__.split("\n\n")[-1].strip(), file=sys.stderr)
        return 2
    stale = 0
    try:
        for path, fresh in made_anew(programs[0]):
            old = path.read_text(encoding="utf-8") if path.exists() else ""
            if old == fresh:
                continue
            stale += 1
            if check:
                tell_stale(path, old, fresh)
            else:
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_text(fresh, encoding="utf-8")
                print(f"wrote {path.relative_to(ROOT)}")
    except (PageError, OSError, subprocess.TimeoutExpired) as error:
        print(f"picture.py: {error}", file=sys.stderr)
        return 1
    return 1 if check and stale else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
