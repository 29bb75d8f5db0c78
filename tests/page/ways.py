# SPDX-License-Identifier: Apache-2.0
"""Near a threshold: docs/formats/loom.md, part 2, section 7. Which states the tolerances may have stand the other way, with what
chance, and what is held for it."""
import math

NEAR = 0.15       # of the larger of quantity and threshold: further off is not looked at
FAR = 3.0         # sigmas
LEAST = 1e-3      # chance


def below(z):
    return 0.5 * math.erfc(-z / math.sqrt(2))


def both_below(z1, z2, r, steps=4000):
    """Two standard normals of correlation r: x below z1, and then the other, z2 away less r x."""
    if r > 0.9999:
        return below(min(z1, z2))
    if r < -0.9999:
        return max(0.0, below(z1) + below(z2) - 1)
    rest, low, total = math.sqrt(1 - r * r), -9.0, 0.0
    width = (z1 - low) / steps
    for i in range(steps):
        x = low + (i + 0.5) * width
        total += math.exp(-x * x / 2) / math.sqrt(2 * math.pi) * below((z2 - r * x) / rest) * width
    return total


class State:
    """kind: coil, module, ratio, follows, limit, fuse; which: the element's number, or the module's name."""

    def __init__(self, vehicle, kind, which):
        self.kind, self.which = kind, which
        self.module = vehicle.circuit.modules[which] if kind == "module" else None
        self.e = None if self.module else vehicle.circuit.elements[which]
        self.starts_on = kind in ("limit", "fuse")
        self.threshold = {"coil": lambda: self.e.pull_in_v, "module": lambda: self.module.alive_above_v, "ratio": lambda: self.e.least_v,
                          "follows": lambda: self.e.follows_v, "limit": lambda: self.e.limit_a, "fuse": lambda: self.e.melts_a}[kind]()

    def can_move(self, point):
        """With the circuit's changes in."""
        if self.module:
            return not {self.which, ("lives", self.which)} & point.solver.dead
        e, states = point.solver.elements[self.which], point.states
        if self.kind == "coil":
            return e.force is not False and bool(self.held(point, True))
        if e.force is not None or not e.there:
            return False
        if self.kind == "follows":
            return not e.commanded and not states.tripped[self.which] and states.alive[e.module]
        return self.kind != "limit" or states.on[self.which] or states.tripped[self.which]

    def on(self, point):
        return point.states.alive[self.which] if self.module else point.states.on[self.which]

    def value(self, point):
        if self.starts_on:
            return abs(point.amperes(self.which))
        a, b = (self.module.s, self.module.g) if self.module else (self.e.a, self.e.b) if self.kind == "coil" else (self.e.c, self.e.d)
        volts = point.between(a, b)
        return abs(volts) if self.kind == "coil" else volts

    def moves(self, point):
        """Of its margin, by element, one sigma each."""
        if self.starts_on:
            moved, sign = point.moves_amperes(self.which), point.amperes(self.which)
        else:
            a, b = (self.module.s, self.module.g) if self.module else (self.e.a, self.e.b) if self.kind == "coil" else (self.e.c, self.e.d)
            moved, sign = point.moves_volts(a, b), point.between(a, b) if self.kind == "coil" else 1
        turned = -1 if (sign < 0) != (self.kind == "follows" and self.e.follows_below) else 1
        return {k: turned * move for k, move in moved.items()}

    def margin(self, value):
        off = value - self.threshold
        return -off if self.kind == "follows" and self.e.follows_below else off

    def held(self, point, on):
        """Changes that hold it."""
        if self.module:
            return [("lives" if on else "dead", self.which, "module")]
        if self.kind != "coil":
            return [("force", self.which, on, self.kind)]
        return [("force", k, on != e.closed_at_rest, "coil") for k, e in enumerate(point.solver.elements)
                if e.kind == "relay" and e.coil == self.which and e.force is None]


def all_states(vehicle):
    kinds = [("coil", lambda e: e.kind == "coil"), ("module", None), ("ratio", lambda e: e.kind == "ratio"),
             ("follows", lambda e: e.kind == "driver" and e.c is not None), ("limit", lambda e: e.kind == "driver" and e.limit_a),
             ("fuse", lambda e: e.kind == "fuse")]
    for kind, fits in kinds:
        if fits is None:
            yield from (State(vehicle, kind, name) for name in vehicle.circuit.modules)
        else:
            yield from (State(vehicle, kind, k) for k, e in enumerate(vehicle.circuit.elements) if fits(e))


class Near:
    def __init__(self, state, on, z, moved, stays, moves, other):
        self.state, self.on, self.z, self.moved, self.stays, self.moves, self.other = state, on, z, moved, stays, moves, other
        self.has_moved = on != state.starts_on


def norm(moves):
    return math.sqrt(sum(move * move for move in moves.values()))


def look_at(vehicle, at, changes, point, state):
    """A Near, or None."""
    if not state.can_move(point):
        return None
    on = state.on(point)
    moved = on != state.starts_on
    value = state.value(point)
    margin = state.margin(value)
    always = moved and (state.starts_on or margin < 0)
    if not always and abs(margin) > NEAR * max(abs(value), state.threshold):
        return None
    if not moved and abs(margin) >= FAR * norm(state.moves(point)):
        return None
    other = state.held(point, not on)
    held = vehicle.rest(at, changes + other)
    before, after = (held, point) if moved else (point, held)
    if before is None:
        return None
    moves = state.moves(before)
    sigma = norm(moves)
    margin = state.margin(state.value(before))
    if abs(margin) >= FAR * sigma:
        return None
    z = margin / sigma
    if moved and z < 0:
        return None
    stays = 1.0
    if not state.starts_on:
        left = None if after is None else state.value(after) - state.e.drop_out_v if state.kind == "coil" else state.margin(state.value(after))
        stays = min(1.0, (0.0 if left is None else below(left / sigma)) / below(z))
    return Near(state, on, z, below(z), stays, moves, other)


def ways(vehicle, at, changes):
    """(chance as it is, [(chance, changes held)]) of the circuit in this state of the vehicle."""
    point = vehicle.rest(at, changes)
    if point is None:
        return 1.0, []
    near = [n for n in (look_at(vehicle, at, changes, point, s) for s in all_states(vehicle)) if n]
    near = sorted(near, key=lambda n: abs(n.z))[:2]
    if not near:
        return 1.0, []
    chance = {(True,): near[0].moved, (False,): 1 - near[0].moved}
    if len(near) == 2:
        a, b = near
        r = sum(move * b.moves.get(k, 0.0) for k, move in a.moves.items()) / (norm(a.moves) * norm(b.moves))
        both = both_below(a.z, b.z, r)
        chance = {(True, True): both, (True, False): a.moved - both, (False, True): b.moved - both, (False, False): 1 - a.moved - b.moved + both}
    as_it_is, others = 0.0, []
    for has_moved, p in chance.items():
        p = max(0.0, p)
        for n, moved in zip(near, has_moved):
            p *= n.stays if moved else 1
        turned = [n for n, moved in zip(near, has_moved) if moved != n.has_moved]
        if not turned or p < LEAST:
            as_it_is += p
        else:
            others.append((p, [change for n in turned for change in n.other]))
    return as_it_is, others
