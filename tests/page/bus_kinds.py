# SPDX-License-Identifier: Apache-2.0
"""The kinds of bus and the seats of a loom: docs/formats/buses.md, "Keys" and the tables of "Circuit" and "Who reads whom"."""
from dataclasses import dataclass, field

from drawing import number

# (T, sigma, {line: factor}): y = sum of factor * V(line, g). One way of reading.
BOTH = {"high": 1.0, "low": -1.0}


@dataclass(frozen=True)
class Kind:
    rest: tuple                # (E, ohm) by line; ohm None: by the number of seats; E None: from s through a diode
    driven: tuple
    ways: tuple
    bit_rate: float
    sample: float = 87.0
    tolerance: float = 0.1     # of the receivers
    common: tuple = None       # of the mean of the two lines
    node_f: float = 50e-12
    metre_f: float = 42e-12
    scales: bool = False       # volts go with system_volts / 24

    @property
    def lines(self):
        return ("high", "low")[:len(self.rest)]


KINDS = {
    "can": Kind(((2.5, None), (2.5, None)), ((4.5, 30.0), (0.5, 30.0)), ((0.7, 0.1, BOTH),), 250.0, tolerance=0.5, common=(-12.0, 12.0)),
    "can-fault-tolerant": Kind(((0.0, None), (5.0, None)), ((5.0, 30.0), (0.0, 30.0)),
                               ((-3.2, 0.15, BOTH), (1.7, 0.1, {"high": 1.0}), (-3.3, 0.1, {"low": -1.0})), 125.0),
    "can-single-wire": Kind(((0.0, 9090.0),), ((4.2, 30.0),), ((2.1, 0.1, {"high": 1.0}),), 33.3, 80.0, node_f=150e-12, metre_f=60e-12),
    "truck-trailer": Kind(((8.0, 1200.0), (16.0, 1200.0)), ((20.0, 300.0), (4.0, 300.0)),
                          ((0.0, 0.6, BOTH), (12.0, 0.6, {"high": 1.0}), (-12.0, 0.6, {"low": -1.0})), 125.0, scales=True),
    "lin": Kind(((None, 30000.0),), ((0.0, 25.0),), ((-12.0, 0.8, {"high": -1.0}),), 19.2, 50.0, tolerance=0.5, node_f=220e-12,
                metre_f=60e-12, scales=True),
}
ROLES = {"can-high": "high", "can-low": "low", "bus-wire": "high"}
ONLY = "CAN"                   # the bus of a loom that declares none


@dataclass
class Seat:
    module: str                # None: the reader
    bus: str
    g: int
    pins: dict = field(default_factory=dict)       # line -> node
    rails: dict = field(default_factory=dict)      # line -> node of the driven rail; None of the reader, which has none
    receivers: dict = field(default_factory=dict)  # line -> element number
    diode: int = None          # LIN


class Bus:
    def __init__(self, name, table, volts):
        self.name, self.table = name, table
        self.kind = KINDS[table.get("kind", "can")]
        self.bit_s = 1e-3 / number(table.get("bit_rate", self.kind.bit_rate))
        self.sample_s = self.bit_s * number(table.get("sample_percent", self.kind.sample)) / 100
        self.dominant = number(table.get("dominant_percent", 12)) / 100
        self.times = volts / 24 if self.kind.scales else 1.0
        self.seats, self.reader = [], None
        self.half_v, self.reference = volts / 2, None
        self.on_line = set()   # nodes that metal joins to a pin of the bus
        self.metres = 0.0

    def rest(self, line, seats, ohm_of_can, told):
        """(E, ohm) that hold the line."""
        volts, ohm = self.kind.rest[self.kind.lines.index(line)]
        if ohm is None:
            ohm = ohm_of_can if self.kind is KINDS["can"] else min(max(100.0 * seats, 500.0), 16000.0)
        return (None if volts is None else volts * self.times), (ohm if told is None else told)

    def rest_volts(self, line):
        """Of a load that blocks; LIN's are the system's."""
        volts = self.kind.rest[self.kind.lines.index(line)][0]
        return (24.0 if volts is None else volts) * self.times

    def driven(self, line):
        volts, ohm = self.kind.driven[self.kind.lines.index(line)]
        return volts * self.times, ohm


def read_buses(loom):
    """name -> Bus; without a declaration the one of a loom that has bus pins."""
    declared = loom.tables["buses"]
    pins = any(pin["role"] in ROLES for pins in loom.pins.values() for _, _, pin in pins)
    return {name: Bus(name, table, loom.volts) for name, table in (declared or ({ONLY: {}} if pins else {})).items()}


def bus_of(pin, buses):
    return pin.get("bus", next(iter(buses)))


def seats_on(loom, buses, bus):
    """How many modules have pins on it."""
    return sum(any(pin["role"] in ROLES and bus_of(pin, buses) == bus for _, _, pin in pins) for pins in loom.pins.values())
