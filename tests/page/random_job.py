# SPDX-License-Identifier: Apache-2.0
"""A made-up job on a vehicle as the text of a job file: sound entries, entries that no longer fit, struck ones, repairs."""
from page_oracle import RESISTORS, summary
from reading import WORDS, State

SYNONYMS = {"works": ["ok", "bright", "OK"], "weak": ["dim", "slow"], "dead": ["off", "dark"], "active": ["present", "Active"],
            "past": ["stored", "previous", "inactive"], "absent": ["none", "gone"], "beep": ["yes"], "silent": ["no", "OL"],
            "bright": ["on"], "dark": ["off"], "changes": ["yes"], "steady": ["no"], "yes": ["answers"], "no": ["silent"]}


class JobGrower:
    def __init__(self, rng, vehicle, draw):
        self.rng, self.v, self.draw, self.tables = rng, vehicle, draw, vehicle.loom.tables
        self.lines, self.number, self.done, self.tests = [], 0, [], []

    def entry(self, **fields):
        self.number += self.rng.choice([1, 1, 1, 3])
        self.lines += ["[[entry]]", f"n = {self.number}", f'at = "2024-05-06T07:{self.number % 60:02d}:00Z"']
        self.lines += [f"{key} = {value if isinstance(value, (int, float)) else toml_text(value)}" for key, value in fields.items()]
        if self.rng.random() < 0.4:
            self.lines.append(f'minutes = {self.rng.choice(["2", "0.5", chr(34) + "90 s" + chr(34)])}')
        if self.rng.random() < 0.12:
            self.lines += ["struck = true", f'struck_at = "2024-05-06T08:{self.number % 60:02d}:00Z"']

    # ---- did

    def did(self):
        rng = self.rng
        if self.done and rng.random() < 0.3:
            deed = self.undone(rng.choice(self.done))
        elif rng.random() < 0.08:
            deed = rng.choice(["unplug NOTHING", "fit 1k at A B", "raise the roof", "repaired", "swap", "make", "undo NOTHING", "fit OL at chassis chassis"])
        else:
            deed = self.deed()
            self.done.append(deed)
        self.entry(did=deed)

    def deed(self):
        rng = self.rng
        kind = rng.choice(["setup", "setup", "plug", "plug", "fit", "swap", "repair", "repair"])
        if kind == "setup" and self.tables["setups"]:
            return rng.choice(["", "", "make "]) + rng.choice(list(self.tables["setups"]))
        if kind == "fit":
            a, b = rng.sample(self.draw.points, 2)
            return f"{rng.choice(['fit', 'fitted'])} {rng.choice(RESISTORS + ['lead', '1.5 kohm', '0'])} at {a} {b}"
        if kind == "swap":
            return f"{rng.choice(['swap', 'swapped'])} {rng.choice(list(self.tables['parts']) + list(self.tables['modules']))}"
        if kind == "repair":
            fault = rng.choice(self.v.faults.list)
            words = rng.choice([fault.repair, fault.name, fault.repair.rpartition(" ")[2]])
            return f"{rng.choice(['repaired', 'repair', 'mended'])} {words}"
        return f"{rng.choice(['unplug', 'unplugged'])} {rng.choice(list(self.v.loom.plugs))}"

    def undone(self, deed):
        verb, _, rest = deed.partition(" ")
        if deed in self.tables["setups"]:
            return "undo " + deed
        if verb.startswith("unplug"):
            return self.rng.choice(["plug ", "plugged "]) + rest
        if verb.startswith("fit"):
            value, _, points = rest.partition(" at ")
            a, _, b = points.partition(" ")
            turned = f"{b} {a}" if " " not in b and self.rng.random() < 0.5 else points
            return f"{self.rng.choice(['remove', 'removed'])} {value} at {turned}"
        return "put back " + rest if verb.startswith("swap") else "undo " + rest

    # ---- saw

    def saw(self):
        if self.tests and self.rng.random() < 0.4:
            test, what = self.rng.choice(self.tests)
        else:
            test, what = self.draw.test(self.rng.choice(self.v.faults.list))
            self.tests.append((test, what))
        if self.rng.random() < 0.05:
            what = self.rng.choice(["volts NOWHERE chassis", "code NONE", "scope X", "volts", "look at it"])
        self.entry(saw=what, shows=self.shown(test))

    def shown(self, test):
        """Near what a vehicle in order shows at work, or something else, or nonsense."""
        rng, kind = self.rng, test[0]
        if rng.random() < 0.06:
            return rng.choice(["", "???", "12 V", "3 ohm", "4 A", "OL", "maybe"])
        if kind in WORDS:
            word = rng.choice(WORDS[kind])
            return rng.choice([word, word] + [s for s in SYNONYMS.get(word, []) if fits(kind, s)])
        healthy = summary(self.v.predict(State(self.v.in_use), [], test)) if rng.random() < 0.6 else {"value": None}
        if kind in ("ohms", "live") and rng.random() < 0.2:
            return rng.choice(["OL", "0L"] if kind == "ohms" else ["---", "none"])
        value = healthy["value"] if healthy.get("value") is not None else rng.uniform(0, 30)
        text = f"{value * rng.choice([1, 1, 1, 1.001, 1.2, 0.5]):.4g}"
        return text + rng.choice(["", "", {"volts": "V", "ohms": " ohm", "clamp": "A"}.get(kind, "")])

    def text(self, loom):
        for setup in self.v.in_use:
            self.entry(did=setup)
        for _ in range(self.rng.randint(5, 25)):
            self.rng.choice([self.did, self.saw, self.saw])()
        self.entry(note="done for today")
        return "\n".join(["job = 1", f"loom = {toml_text(loom)}"] + self.lines) + "\n"


def fits(kind, word):
    """Synonyms that this kind of test has."""
    own = {"code": ("present", "Active", "stored", "previous", "inactive", "none", "gone"), "look": ("ok", "OK", "bright", "dim", "slow", "off", "dark"),
           "lamp": ("on", "off"), "continuity": ("yes", "no", "OL"), "module": ("answers", "silent"), "wiggle": ("yes", "no"),
           "heat": ("yes", "no"), "cool": ("yes", "no"), "inspect": ("yes", "no", "green", "wet", "rubbed", "ok")}
    return word in own[kind]


def toml_text(text):
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def random_job(rng, vehicle, draw, loom):
    return JobGrower(rng, vehicle, draw).text(loom)
