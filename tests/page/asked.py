# SPDX-License-Identifier: Apache-2.0
"""The words of `halfsplit expect` as values of reading.py: a test, what was done before it, the faults."""
import re

from drawing import quantity
from reading import State

TWO_POINTS = ("volts", "highest", "lowest", "ohms", "continuity", "lamp")


def read_test(what):
    kind, _, subject = what.partition(" ")
    return kind, tuple(subject.split()) if kind in TWO_POINTS else subject


def read_state(vehicle, deeds):
    state = State()
    for deed in deeds:
        verb, _, rest = deed.partition(" ")
        if deed in vehicle.loom.tables["setups"]:
            state.made.append(deed)
        elif verb == "unplug":
            state.apart.append(rest)
        elif verb == "fit":
            value, a, b = re.fullmatch(r"(\S+) at (\S+) (\S+)", rest).groups()
            state.fitted.append((value if value == "lead" else quantity(value)[0], a, b))
        elif verb == "swap":
            state.swapped.append(("part" if rest in vehicle.loom.tables["parts"] else "module", rest))
        else:
            raise ValueError("not a thing that can be done: " + deed)
    return state


def read_cases(vehicle, faults):
    return [(vehicle.faults.by_name[name], float(u or 0.5)) for name, _, u in (f.partition("@") for f in faults)]
