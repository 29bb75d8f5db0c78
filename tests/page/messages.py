# SPDX-License-Identifier: Apache-2.0
"""What reaches whom over all buses of a vehicle, and what a meter sees of it: docs/formats/buses.md, the last three sections."""
from hearing import Q, Hearing
from traffic import Traffic

READER = None                  # as the module of a seat


class Messages:
    """In a circuit that is settled: `point`; `changes` are what faults do, `solve` is Hearing's."""

    def __init__(self, vehicle, changes, point, solve):
        self.vehicle, self.point, self.solve = vehicle, point, solve
        self.loom, self.buses = vehicle.loom, vehicle.circuit.buses
        self.mute = {change[1:] for change in changes if change[0] == "mute"}
        self.babbles = {change[1:] for change in changes if change[0] == "babbles"}
        self.silent_gateways = {change[1] for change in changes if change[0] == "passes nothing on"}
        self.heard, self.on_bus = {}, {}

    def alive(self, module):
        return module is READER or self.point.states.alive[module]

    # ---- one bus

    def hearing(self, bus):
        """With the drawn reader as the last seat, if there is one."""
        if bus.name not in self.heard:
            seats = bus.seats + ([bus.reader] if bus.reader else [])
            takes_part = [self.alive(seat.module) and (seat.module, bus.name) not in self.mute for seat in seats]
            self.heard[bus.name] = Hearing(bus, seats, takes_part, self.solve)
        return self.heard[bus.name]

    def traffic(self, bus, reader=False):
        """[(weight, Traffic)], by the spread of thresholds."""
        if (bus.name, reader) not in self.on_bus:
            hearing, every = self.hearing(bus), []
            there = [i for i, seat in enumerate(hearing.seats) if hearing.takes_part[i] and (reader or seat.module is not READER)]
            babble = {i for i in there if (hearing.seats[i].module, bus.name) in self.babbles}
            for q, weight in Q:
                every.append((weight, Traffic(len(bus.seats), there, *hearing.links(q), babble)))
            self.on_bus[bus.name, reader] = every
        return self.on_bus[bus.name, reader]

    def arrives(self, bus, sender, listener, reader=False):
        """The share of the messages of one module that arrives at another one on one bus."""
        seats = [seat.module for seat in self.hearing(bus).seats]
        if sender not in seats or listener not in seats:
            return 0.0
        link = seats.index(sender), seats.index(listener)
        return min(1.0, sum(weight * traffic.arrives.get(link, 0.0) for weight, traffic in self.traffic(bus, reader)))

    # ---- over gateways

    def buses_of(self, module):
        if module is READER:
            return [bus for bus in self.buses.values() if bus.reader]
        return [bus for bus in self.buses.values() if any(seat.module == module for seat in bus.seats)]

    def gateways(self, bus):
        """(module, bus on its other side)"""
        for name, table in self.loom.tables["modules"].items():
            sides = table.get("gateway", [])
            if bus.name in sides and self.alive(name) and name not in self.silent_gateways:
                yield from ((name, self.buses[side]) for side in sides if side != bus.name)

    def passes(self, sender, listener, start=None):
        """From one module to another over the best way: the largest product of what arrives on each bus."""
        reader = READER in (sender, listener)
        best = {(bus.name, sender): 1.0 for bus in start or self.buses_of(sender)}
        moved = dict(best)
        while moved:
            further = {}
            for (name, last), share in moved.items():
                bus = self.buses[name]
                for module, other in self.gateways(bus):
                    step = share if module == last else share * self.arrives(bus, last, module, reader and bus.reader is not None)
                    if step > best.get((other.name, module), 0.0):
                        best[other.name, module] = further[other.name, module] = step
            moved = further
        return max(share * self.arrives(self.buses[name], last, listener, reader and self.buses[name].reader is not None)
                   for (name, last), share in best.items())

    def reach(self, what, listener):
        """Of a module or a message that a monitor waits for."""
        messages = self.loom.tables["messages"]
        modules = self.loom.tables["modules"]
        sender = what if what in modules else messages[what]["from"]
        if not (self.alive(sender) and self.alive(listener)):
            return 0.0
        if not self.buses_of(sender) or not self.buses_of(listener):
            return 1.0
        only = messages[what].get("bus") if what not in modules else None
        return self.passes(sender, listener, [self.buses[only]] if only else None)

    def answers(self, module):
        """Chance that the reader's question reaches the module and the answer the reader."""
        if not self.buses_of(module):
            return 1.0
        host = READER
        if not self.buses_of(READER):
            host = next(name for name in self.vehicle.circuit.modules if self.buses_of(name))
            if host == module or not self.alive(host):
                return 1.0
        return self.passes(host, module) * self.passes(module, host)

    # ---- volts

    def shifts(self, red, black):
        """[(share of the time, how far that sender moves the volts)] where metal joins either point to a bus."""
        for bus in self.buses.values():
            if not bus.on_line & {red, black}:
                continue
            hearing = self.hearing(bus)
            way = hearing.way(0)
            for s in (s for s in way.points if hearing.seats[s].module is not READER):
                share = sum(weight * traffic.busy(s) for weight, traffic in self.traffic(bus)) * bus.dominant / len(bus.seats)
                yield min(1.0, share), way.points[s].between(red, black) - way.point.between(red, black)

    def mean_shift(self, red, black):
        return sum(share * shift for share, shift in self.shifts(red, black))

    def highest_shift(self, red, black):
        return max([0.0] + [shift for share, shift in self.shifts(red, black) if share > 0])

    def lowest_shift(self, red, black):
        return min([0.0] + [shift for share, shift in self.shifts(red, black) if share > 0])
