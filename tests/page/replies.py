# SPDX-License-Identifier: Apache-2.0
"""docs/formats/replies.md as a list of fields: does a reply hold what the page says, and nothing else?"""
import re
from dataclasses import dataclass, field
from pathlib import Path

PAGE = Path(__file__).resolve().parent.parent.parent / "docs/formats/replies.md"


@dataclass
class Field:
    optional: bool = False
    refers_to: str = ""            # heading of an object
    free: bool = True              # values are not looked into (text, numbers, objects of free names)
    fields: dict = field(default_factory=dict)


def read_page(path=PAGE):
    """heading -> {name: Field}"""
    headings, names = {}, []
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("#"):
            names = [line.lstrip("# ").strip()]
            headings.setdefault(names[0], {})
        row = re.fullmatch(r"\| (`.+?) \| (.*?) \| .*\|", line)
        if row and names:
            for path_, optional in re.findall(r"`([^`]+)`(\?)?", row[1]):
                put(headings[names[0]], path_.replace("[]", "").split("."), bool(optional), row[2])
    return headings


def put(fields, path, optional, kind):
    one = fields.setdefault(path[0], Field())
    if len(path) > 1:
        one.free = False
        return put(one.fields, path[1:], optional, kind)
    one.optional = optional
    link = re.search(r"\[[^\]]+\]\(#([\w-]+)\)", kind)
    one.refers_to = link[1].replace("-", " ") if link else ""
    return None


class Pages:
    def __init__(self):
        self.headings = read_page()
        self.wrong, self.met = set(), set()

    def hold(self, operation, reply):
        """A whole reply."""
        result = reply["result"]
        self.look("Around every reply", self.headings["Around every reply"], {**reply, "result": {}})
        if reply["ok"]:
            self.look(operation, self.headings[operation], {k: v for k, v in result.items() if k != "id"})

    def look(self, where, fields, value):
        for name, one in fields.items():
            if name not in value and not one.optional:
                self.wrong.add(f"{where}: {name} is missing")
        for name, inside in value.items():
            if name not in fields:
                self.wrong.add(f"{where}: {name} is not on the page")
                continue
            self.met.add(f"{where}: {name}")
            self.look_inside(f"{where}: {name}", fields[name], inside)

    def look_inside(self, where, one, value):
        for item in value if isinstance(value, list) else [value]:
            if isinstance(item, dict) and one.refers_to:
                self.look(one.refers_to, self.headings[one.refers_to], item)
            elif isinstance(item, dict) and one.fields:
                self.look(where, one.fields, item)

    def all_fields(self, operations):
        def walk(where, fields):
            for name, one in fields.items():
                yield f"{where}: {name}"
                yield from walk(f"{where}: {name}", one.fields)
        for heading in operations:
            yield from walk(heading, self.headings[heading])
