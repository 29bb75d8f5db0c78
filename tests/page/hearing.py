# SPDX-License-Identifier: Apache-2.0
"""Who reads whom on a bus: docs/formats/buses.md, section "Who reads whom"."""
import math

from circuit import Element

Q = ((0.0, 0.53333), (-1.3556, 0.22208), (1.3556, 0.22208), (-2.8570, 0.01126), (2.8570, 0.01126))   # sigmas, weight
LEAST = 0.1                    # sigmas: a level nearer to the threshold is on neither side
TEST_A = 1e-3                  # any current: what it moves is divided by it


class Way:
    """One way of reading: y of every seat at rest and driven by every one that may drive, and how fast it goes back."""

    def __init__(self, bus, told):
        self.bus = bus
        self.threshold, self.sigma, self.factors = told[0] * bus.times, told[1] * bus.times, told[2]
        self.rest, self.driven, self.tau = [], {}, []     # (y, is within the common mode) by seat; by sender; s
        self.volts, self.shifts = None, {}                # points: at rest and by sender

    def y(self, point, seat):
        volts = {line: point.between(node, seat.g) for line, node in seat.pins.items()}
        common = self.bus.kind.common
        within = common is None or common[0] <= sum(volts.values()) / 2 <= common[1]
        return sum(factor * volts[line] for line, factor in self.factors.items()), within

    def rests(self, r, q):
        y, within = self.rest[r]
        return not within or y < self.threshold + (q - LEAST) * self.sigma

    def reads(self, s, r, q):
        y, within = self.driven[s][r]
        return within and self.rest[r][1] and y > self.threshold + (q + LEAST) * self.sigma

    def at_sample(self, s, r):
        rest, driven = self.rest[r][0], self.driven[s][r][0]
        left = math.exp(-self.bus.sample_s / self.tau[r]) if self.tau[r] > 0 else 0.0
        return rest + (driven - rest) * left

    def returns(self, s, r, q):
        return self.at_sample(s, r) < self.threshold + (q - LEAST) * self.sigma

    def good(self, s, r, q):
        return self.rests(r, q) and self.reads(s, r, q) and self.returns(s, r, q)

    def margin(self, s, r):
        return min(self.driven[s][r][0] - self.threshold, self.threshold - self.at_sample(s, r))


class Hearing:
    """Of one bus in a circuit that is settled. `solve(extra elements, {element: conducts})` gives a point with the states it stands in."""

    def __init__(self, bus, seats, takes_part, solve):
        self.bus, self.seats, self.takes_part, self.solve = bus, seats, takes_part, solve
        self.farad = bus.kind.node_f + bus.kind.metre_f * bus.metres / len(bus.seats)
        self.ways, self.by_q = [], {}

    def way(self, w):
        while len(self.ways) <= w:
            self.ways.append(self.measure(self.bus.kind.ways[len(self.ways)]))
        return self.ways[w]

    def measure(self, told):
        way = Way(self.bus, told)
        lines = list(way.factors)
        let_go = {k: False for seat in self.seats for line, k in seat.receivers.items() if line not in lines}
        way.point = self.solve([], let_go)
        pulled = self.pull_ups(way.point)
        way.rest = [way.y(way.point, seat) for seat in self.seats]
        quiet = self.solve(pulled, let_go)
        before = [way.y(quiet, seat)[0] for seat in self.seats]
        way.tau = [0.0] * len(self.seats)
        for seat in self.bus.seats:
            put = self.solve(pulled + [self.one_ampere(seat, lines)], let_go)
            for r, reader in enumerate(self.seats):
                # y has a factor of -1 where it is the low line alone, or LIN's: volts between the lines are meant.
                sign = 1 if len(lines) == 2 else way.factors[lines[0]]
                way.tau[r] += sign * (way.y(put, reader)[0] - before[r]) / TEST_A * self.farad
        way.tau = [max(0.0, tau) for tau in way.tau]
        way.points = {}
        for s, seat in enumerate(self.seats):
            if self.takes_part[s]:
                way.points[s] = self.solve(pulled + [self.driver(seat, line) for line in lines], let_go)
                way.driven[s] = [way.y(way.points[s], reader) for reader in self.seats]
        return way

    def pull_ups(self, point):
        """Of LIN seats that are off at rest, those whose supply stands above half of the vehicle's."""
        elements = point.solver.elements
        supply = {seat.module: elements[seat.diode].a for seat in self.bus.seats if seat.diode is not None}
        return [Element("source", "pulls up", seat.pins["high"], supply[seat.module], elements[seat.receivers["high"]].R + 1.0, E=-0.7)
                for seat in self.bus.seats if seat.diode is not None and not point.states.diode[seat.diode]
                and point.between(supply[seat.module], self.bus.reference) > self.bus.half_v]

    @staticmethod
    def one_ampere(seat, lines):
        """Into the high line out of the low one; of one line alone, out of the seat's ground."""
        high = seat.pins[lines[0]]
        low = seat.pins[lines[1]] if len(lines) == 2 else seat.g
        return Element("inject", "one ampere", low, high, E=TEST_A)

    def driver(self, seat, line):
        volts, ohm = self.bus.driven(line)
        return Element("source", "drives", seat.pins[line], seat.g, ohm + 0.001, E=volts)

    def ways_used(self):
        """The first one where all links are good in it at the middle threshold; else all."""
        there = [i for i, takes in enumerate(self.takes_part) if takes]
        good = all(self.way(0).good(s, r, 0.0) for s in there for r in there)
        return [self.way(w) for w in range(1 if good else len(self.bus.kind.ways))]

    def links(self, q):
        """(rests, D, reads): of each seat, and twice of each sender and reader; only of those that take part."""
        if q not in self.by_q:
            there = [i for i, takes in enumerate(self.takes_part) if takes]
            ways = self.ways_used()
            self.by_q[q] = ({r: any(way.rests(r, q) for way in ways) for r in there},
                            {(s, r): any(way.good(s, r, q) for way in ways) for s in there for r in there},
                            {(s, r): any(way.rests(r, q) and way.reads(s, r, q) for way in ways) for s in there for r in there})
        return self.by_q[q]
