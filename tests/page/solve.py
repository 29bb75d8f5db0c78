# SPDX-License-Identifier: Apache-2.0
"""Solves a circuit as docs/formats/loom.md, part 2, sections 4, 5 and 7 say: every law and Kirchhoff's law at every
node as one sparse system in node volts and element currents, elimination with Markowitz pivots (Markowitz 1957), states
from power-up, first-order spread by the transposed system."""
import copy
import math

K = 1 / 12                    # cold filament
PIVOT = 0.01                  # a pivot is not smaller than this share of its column
OPEN = "open"


class Singular(Exception):
    pass


def solve_sparse(rows, right):
    """rows: list of {column: value}. Returns x."""
    n = len(rows)
    rows = [dict(row) for row in rows]
    right = list(right)
    columns = [set() for _ in range(n)]
    for i, row in enumerate(rows):
        for j in row:
            columns[j].add(i)
    waiting = [set() for _ in range(n + 2)]
    for i, row in enumerate(rows):
        waiting[min(len(row), n + 1)].add(i)
    order = []
    done_columns = set()
    for _ in range(n):
        i, j = find_pivot(rows, columns, waiting)
        row = rows[i]
        waiting[len(row)].discard(i)
        for column in row:
            columns[column].discard(i)
        order.append((i, j))
        done_columns.add(j)
        pivot = row[j]
        for other in sorted(columns[j]):
            target = rows[other]
            factor = target.pop(j) / pivot
            waiting[len(target) + 1].discard(other)
            for column, value in row.items():
                if column == j:
                    continue
                if column in target:
                    target[column] -= factor * value
                else:
                    target[column] = -factor * value
                    columns[column].add(other)
            right[other] -= factor * right[i]
            waiting[len(target)].add(other)
        columns[j].clear()
    x = [0.0] * n
    for i, j in reversed(order):
        row = rows[i]
        x[j] = (right[i] - sum(value * x[column] for column, value in row.items() if column != j)) / row[j]
    return x


def find_pivot(rows, columns, waiting):
    tried = 0
    best = None
    for bucket in waiting:
        for i in sorted(bucket):
            for j, value in rows[i].items():
                largest = max(abs(rows[k][j]) for k in columns[j])
                if value == 0.0 or abs(value) < PIVOT * largest:
                    continue
                cost = (len(rows[i]) - 1) * (len(columns[j]) - 1)
                if best is None or cost < best[0]:
                    best = (cost, i, j)
            tried += 1
            if best is not None and (best[0] == 0 or tried >= 4):
                return best[1], best[2]
    if best is None:
        raise Singular()
    return best[1], best[2]


def filament_current(e, v):
    return v / (e.R * math.sqrt(K * K + (1 - K * K) * abs(v) / e.E))


def filament_slope(e, v):
    s = K * K + (1 - K * K) * abs(v) / e.E
    return (1 - 0.5 * (1 - K * K) * abs(v) / e.E / s) / (e.R * math.sqrt(s))


class States:
    def __init__(self, circuit, elements):
        n = len(elements)
        self.diode = [False] * n
        self.on = [e.kind == "fuse" for e in elements]     # fuse whole, coil in, ratio on, driver on
        self.tripped = [False] * n
        self.v = [0.0] * n                                 # filaments
        self.alive = {name: False for name in circuit.modules}

    def hold_driver(self, k, on, tripped):
        self.on[k], self.tripped[k] = on, tripped

    def take(self, other):
        """Of a circuit with fewer elements."""
        for k in range(min(len(other.on), len(self.on))):
            self.diode[k], self.v[k], self.on[k], self.tripped[k] = other.diode[k], other.v[k], other.on[k], other.tripped[k]
        self.alive = dict(other.alive)


class Point:
    """One solution: volts of nodes, currents of elements, islands."""

    def __init__(self, solver, states):
        self.solver, self.states = solver, states
        elements = solver.elements
        self.laws = [solver.law(i, states) for i in range(len(elements))]
        self.label = islands(len(solver.circuit.names), elements, self.laws)
        self.x = solve_sparse(*self.system())

    def system(self):
        """Rows: Kirchhoff by node (of one node per island: 0 V), then one law per conducting element."""
        elements, n = self.solver.elements, len(self.solver.circuit.names)
        rows = [{i: 1.0} if self.label[i] == i else {} for i in range(n)]
        right = [0.0] * n
        self.column = {}
        for k, e in enumerate(elements):
            law = self.laws[k]
            if law is OPEN:
                continue
            if e.kind == "inject":
                for node, sign in ((e.a, -1.0), (e.b, 1.0)):
                    if self.label[node] != node:
                        right[node] += sign * e.E
                continue
            alpha, share, beta, gamma = law
            column = self.column[k] = len(rows)
            row = {column: beta}
            for node, value in ((e.a, alpha), (e.b, -alpha)) + (((e.c, -share), (e.d, share)) if share else ()):
                row[node] = row.get(node, 0.0) + value
            rows.append({j: v for j, v in row.items() if v != 0.0})
            right.append(gamma)
            for node, sign in ((e.a, 1.0), (e.b, -1.0)):
                if self.label[node] != node:
                    rows[node][column] = rows[node].get(column, 0.0) + sign
        self.rows = rows
        return rows, right

    def together(self, a, b):
        return self.label[a] == self.label[b]

    def volts(self, a, b):
        return self.x[a] - self.x[b]

    def between(self, a, b):
        return self.volts(a, b) if self.together(a, b) else 0.0

    def amperes(self, k):
        e = self.solver.elements[k]
        return e.E if e.kind == "inject" else self.x[self.column[k]] if k in self.column else 0.0

    def moves(self, weights):
        """How far the sum of weights * unknown moves for one sigma of each element."""
        n = len(self.rows)
        turned = [{} for _ in range(n)]
        for i, row in enumerate(self.rows):
            for j, value in row.items():
                turned[j][i] = value
        right = [0.0] * n
        for j, value in weights.items():
            right[j] += value
        w = solve_sparse(turned, right)
        return {k: w[column] * self.law_slope(k) * self.solver.elements[k].tolerance / 3 for k, column in self.column.items()
                if self.solver.elements[k].tolerance > 0}

    def sigma(self, weights):
        """Spread of the sum of weights * unknown, by section 7."""
        return math.sqrt(sum(move * move for move in self.moves(weights).values()))

    def moves_volts(self, a, b):
        return {} if a == b or not self.together(a, b) else self.moves({a: 1.0, b: -1.0})

    def moves_amperes(self, k):
        return self.moves({self.column[k]: 1.0}) if k in self.column else {}

    def sigma_volts(self, a, b):
        return 0.0 if a == b else self.sigma({a: 1.0, b: -1.0})

    def sigma_amperes(self, k):
        return self.sigma({self.column[k]: 1.0}) if k in self.column else 0.0

    def law_slope(self, k):
        """Change of the law as stamped for a change of ln(value)."""
        e, (alpha, _, beta, _) = self.solver.elements[k], self.laws[k]
        if e.kind in ("source", "diode") or (e.kind == "rail" and self.states.alive[e.module]):
            return -e.E
        if e.kind == "ratio":
            return -e.share * self.volts(e.c, e.d)
        return beta * self.amperes(k)      # V - R I: -R I; V / R - I: -V / R = -I; filament: -I


def islands(n, elements, laws):
    label = list(range(n))

    def root(i):
        while label[i] != i:
            label[i] = label[label[i]]
            i = label[i]
        return i

    for e, law in zip(elements, laws):
        if law is not OPEN and e.kind != "inject":
            a, b = root(e.a), root(e.b)
            label[max(a, b)] = min(a, b)
    return [root(i) for i in range(n)]


class NoRest(Exception):
    pass


class Solver:
    def __init__(self, circuit, elements, dead=()):
        self.circuit, self.elements, self.dead = circuit, elements, set(dead)

    def law(self, k, states):
        """(alpha, share, beta, gamma): alpha V(a, b) - share V(c, d) + beta I = gamma; or OPEN."""
        e = self.elements[k]
        if e.kind == "inject":
            return "inject"
        if not self.conducts(k, e, states):
            return OPEN
        if e.kind in ("rail", "load") and not states.alive[e.module]:
            return 1 / e.off_ohm, 0.0, -1.0, 0.0
        if e.kind in ("source", "rail", "load", "diode"):
            return 1.0, 0.0, -e.R, e.E
        if e.kind == "ratio":
            return 1.0, e.share, -e.R, 0.0
        if e.kind == "filament":
            slope = filament_slope(e, states.v[k])
            return slope, 0.0, -1.0, slope * states.v[k] - filament_current(e, states.v[k])
        return (1 / e.R, 0.0, -1.0, 0.0) if e.R > 1 else (1.0, 0.0, -e.R, 0.0)

    def conducts(self, k, e, states):
        if e.force is not None:
            return e.force
        if e.kind == "relay":
            return states.on[e.coil] != e.closed_at_rest
        if e.kind == "diode":
            return e.there and states.diode[k]
        if e.kind in ("fuse", "driver", "ratio"):
            return e.there and states.on[k]
        return e.there

    def settle(self, start=None):
        """The circuit at rest, from power-up; or from where it stands, with a meter put in."""
        states = States(self.circuit, self.elements)
        if start is not None:
            states.take(start)
        for _ in range(40):
            point = self.settle_middle(states)
            if not self.switch_off(point, states):
                return point
        raise NoRest()

    def as_it_stands(self, point):
        """One solution with the states of another circuit's, which has these elements and no more but at its end."""
        states = States(self.circuit, self.elements)
        states.take(point.states)
        return Point(self, states)

    def settle_middle(self, states):
        seen = set()
        for _ in range(60):
            point = self.settle_fast(states)
            if not self.move_together(point, states):
                return point
            key = (tuple(states.on), tuple(states.alive.values()))
            if key in seen:
                raise NoRest()
            seen.add(key)
        raise NoRest()

    def settle_fast(self, states):
        """Step 1: the one solution in which diodes and filaments hold their laws."""
        for count in range(200):
            point = Point(self, copy.copy(states))
            wrong, moved = [], False
            for k, e in enumerate(self.elements):
                if e.kind == "filament" and e.force is None:
                    v = point.volts(e.a, e.b)
                    if abs(v - states.v[k]) > 1e-10 * e.E:
                        states.v[k] = v if v * states.v[k] >= 0 else 0.0
                        moved = True
                elif e.kind == "diode" and e.there and e.force is None:
                    over = -point.amperes(k) if states.diode[k] else point.volts(e.a, e.b) - e.E
                    if over > 1e-9 if not states.diode[k] else over > 1e-12:
                        wrong.append((over * (e.R + 1) if states.diode[k] else over, k))
            if not wrong and not moved:
                return point
            for _, k in wrong if count < 10 else sorted(wrong)[-1:]:
                states.diode[k] = not states.diode[k]
        raise NoRest()

    def move_together(self, point, states):
        """Step 2; True when anything moved."""
        before = (list(states.on), dict(states.alive))
        for name, module in self.circuit.modules.items():
            apart = not point.together(module.s, module.g)
            lives = name not in self.dead and not apart and point.volts(module.s, module.g) >= module.alive_above_v
            states.alive[name] = lives or ("lives", name) in self.dead
        for k, e in enumerate(self.elements):
            if e.kind == "coil":
                v = abs(point.between(e.a, e.b))
                states.on[k] = e.force is not False and v >= (e.drop_out_v if before[0][k] else e.pull_in_v)
            elif e.kind == "ratio":
                states.on[k] = e.least_v <= 0 or point.between(e.c, e.d) >= e.least_v
            elif e.kind == "driver":
                states.on[k] = not states.tripped[k] and states.alive[e.module] and (e.commanded or self.follows(e, point))
        return before != (list(states.on), dict(states.alive))

    @staticmethod
    def follows(e, point):
        if e.c is None:
            return False
        v = point.between(e.c, e.d)
        return v < e.follows_v if e.follows_below else v > e.follows_v

    def switch_off(self, point, states):
        """Step 3; True when something went."""
        for kind in ("driver", "fuse"):
            over = []
            for k, e in enumerate(self.elements):
                if e.kind != kind or not states.on[k] or e.force is not None and (kind == "driver" or not e.force):
                    continue
                most = e.limit_a if kind == "driver" else e.melts_a
                if most and abs(point.amperes(k)) / most > 1:
                    over.append((abs(point.amperes(k)) / most, -k))
            if over:
                k = -max(over)[1]
                states.on[k] = False
                states.tripped[k] = kind == "driver"
                return True
        return False
