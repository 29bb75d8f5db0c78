#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Fails on an include that the room table does not allow, and on two helpers of one name.

Reads the room(...) lines of CMakeLists.txt and every source of src/ and tests/. Four rules:
1. A file of room A includes "B/..." only when B is A or stands in A's USES. The table itself has no cycle, and a room
   uses only rooms of earlier lines.
2. Files, clock, threads, chance and console streams (OUTSIDE below) come in only at the doors (system, cli, http, wasm,
   main.cpp), in files of app named system_*, and in tests, benches and fuzz targets.
3. An include names a file that exists, from the source root, room first.
4. Functions in unnamed namespaces of the tests of one folder differ in name: CMake compiles them a few files at a time,
   where two of one name are overloads of each other.

Usage: layers.py [root]. Prints file:line: what and why. Exit 0 clean, 1 findings, 2 cannot read the table.
"""
import re
import sys
from pathlib import Path

OUTSIDE = {
    "iostream", "fstream", "filesystem", "thread", "chrono", "random", "ctime",
    "future", "syncstream", "time.h", "unistd.h", "pthread.h", "fcntl.h",
}
DOORS = {"system", "cli", "http", "wasm"}
SOURCES = {".h", ".cpp"}
INCLUDE = re.compile(r'^\s*#\s*include\s*(["<])([^">]+)[">]')
UNNAMED = re.compile(r"^namespace \{")
NAMESPACE_END = re.compile(r"^\}  // namespace$")
FUNCTION = re.compile(r"^(?!TEST|INSTANTIATE|return|namespace|using|struct|class|enum)[A-Za-z_\[][\w:<>,\s*&\[\]]*?[\s*&](\w+)\([^;]*\{")
ROOM_LINE = re.compile(r"^\s*room\(([^)]*)\)", re.MULTILINE)


class TableError(Exception):
    pass


def read_table(text):
    """{room: [rooms it uses]} in the order of the lines."""
    text = re.sub(r"#.*", "", text)
    table = {}
    for match in ROOM_LINE.finditer(text):
        name, *words = match.group(1).split()
        if name in table:
            raise TableError(f"room '{name}' has two lines")
        uses, taking = [], False
        for word in words:
            if word in ("USES", "LINKS"):
                taking = word == "USES"
            elif taking:
                uses.append(word)
        table[name] = uses
    if not table:
        raise TableError("no room(...) line found")
    return table


def find_cycle(table):
    """A list of rooms that closes on itself, or []."""
    done, path = set(), []

    def visit(room):
        if room in path:
            return path[path.index(room):] + [room]
        if room in done or room not in table:
            return []
        path.append(room)
        for used in table[room]:
            cycle = visit(used)
            if cycle:
                return cycle
        path.pop()
        done.add(room)
        return []

    for room in table:
        cycle = visit(room)
        if cycle:
            return cycle
    return []


def check_table(table):
    findings = []
    cycle = find_cycle(table)
    if cycle:
        findings.append("CMakeLists.txt: the room table has a cycle: " + " -> ".join(cycle))
    seen = set()
    for room, uses in table.items():
        for used in uses:
            if used not in table:
                findings.append(f"CMakeLists.txt: room '{room}' uses '{used}', which has no line")
            elif used not in seen and not cycle:
                findings.append(f"CMakeLists.txt: room '{room}' uses '{used}', whose line comes later; move it up")
        seen.add(room)
    return findings


def may_touch_outside(path):
    """path: relative to src, as parts."""
    name = path.name
    if name.endswith((".test.cpp", ".bench.cpp", ".fuzz.cpp")) or len(path.parts) == 1:
        return True
    return path.parts[0] in DOORS or (path.parts[0] == "app" and name.startswith("system_"))


def check_include(table, source_root, path, kind, target):
    """One finding as text, or ''."""
    room = path.parts[0] if len(path.parts) > 1 else ""
    if kind == "<":
        if target in OUTSIDE and not may_touch_outside(path):
            return (f"<{target}> brings the outside world into room '{room}'; take it through base/seams.h "
                    "(allowed: system, cli, http, wasm, main.cpp, app/system_*, tests)")
        return ""
    other = target.split("/")[0] if "/" in target else ""
    if not (source_root / target).is_file():
        return f'"{target}" is no file under src/; includes start at the room: "room/file.h"'
    if room and other and other != room and other not in table.get(room, []):
        allowed = ", ".join(table.get(room, [])) or "no other room"
        return f"room '{room}' may not include '{other}' (its line in CMakeLists.txt allows {allowed})"
    return ""


def unnamed_functions(text):
    """[(name, line number)] of functions that begin in the first column within unnamed namespaces."""
    found, inside = [], False
    for number, line in enumerate(text.splitlines(), start=1):
        if UNNAMED.match(line):
            inside = True
        elif NAMESPACE_END.match(line):
            inside = False
        match = inside and FUNCTION.match(line)
        if match:
            found.append((match.group(1), number))
    return found


def check_names(root):
    findings = []
    folders = [*sorted((root / "src").glob("*")), *sorted((root / "tests").glob("*"))]
    for folder in folders:
        first = {}
        for file in sorted(folder.glob("*.test.cpp")):
            for name, number in unnamed_functions(file.read_text(encoding="utf-8")):
                other = first.setdefault(name, file)
                if other != file:
                    findings.append(f"{file.relative_to(root)}:{number}: '{name}' is in the unnamed namespace of "
                                    f"{other.name} too; give one of them another name, or both one file")
    return findings


def check_tree(root):
    source_root = root / "src"
    table = read_table((root / "CMakeLists.txt").read_text(encoding="utf-8"))
    findings = check_table(table) + check_names(root)
    files = 0
    for file in sorted(source_root.rglob("*")):
        if file.suffix not in SOURCES or not file.is_file():
            continue
        files += 1
        path = file.relative_to(source_root)
        if len(path.parts) > 1 and path.parts[0] not in table:
            findings.append(f"src/{path}:1: room '{path.parts[0]}' has no line in CMakeLists.txt")
            continue
        for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), start=1):
            match = INCLUDE.match(line)
            finding = match and check_include(table, source_root, path, match.group(1), match.group(2))
            if finding:
                findings.append(f"src/{path}:{number}: {finding}")
    return findings, files, len(table)


def main(arguments):
    root = Path(arguments[0]) if arguments else Path(__file__).resolve().parent.parent
    try:
        findings, files, rooms = check_tree(root)
    except (TableError, OSError) as error:
        print(f"layers: {error}", file=sys.stderr)
        return 2
    for finding in findings:
        print(finding)
    print(f"layers: {files} files, {rooms} rooms, {len(findings)} findings")
    return 1 if findings else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
