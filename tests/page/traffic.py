# SPDX-License-Identifier: Apache-2.0
"""What becomes of the messages on one bus: docs/formats/buses.md, "What becomes of the messages", rule by rule."""


class Traffic:
    def __init__(self, there, rests, reads, follows, babbles):
        """there: the seats that take part; rests[seat]; reads, follows[sender, reader]; babbles: set of seats."""
        self.reads, self.follows = reads, follows
        self.standing, self.arrives = {}, {}
        for seat in there:
            self.standing[seat] = ("held down" if not rests[seat] else "cannot send" if not follows[seat, seat] else
                                   "babbles" if seat in babbles else "works")
        self.senders = sum(self.standing[seat] != "held down" for seat in there)
        self.spoils = {s for s in there if self.standing[s] == "cannot send" and reads[s, s]}
        self.jam()
        self.link()
        self.group()
        for s in there:
            for r in there:
                if r != s:
                    self.arrives[s, r] = self.share(s, r)

    def of(self, *words):
        return [seat for seat, standing in self.standing.items() if standing in words]

    # ---- rules 3 and 4

    def jam(self):
        works, talk = self.of("works"), self.of("works", "babbles")
        self.talkers = set(talk)
        alone = [k for k in works if not any(self.reads[s, k] for s in talk if s != k)]
        for k in alone:
            self.standing[k] = "jams" if any(self.reads[k, r] for r in works if r != k) else "alone"
        for s in self.of("jams", "babbles"):
            for r in works:
                if r != s and self.standing[r] == "works" and self.reads[s, r]:
                    self.standing[r] = "jammed"

    # ---- rule 5

    def link(self):
        """Who reads whom of those that are left."""
        left = self.left = self.of("works")
        self.hears = {r: {s for s in left if s != r and self.reads[s, r]} for r in left}
        self.heard_by = {s: {r for r in left if r != s and self.reads[s, r]} for s in left}
        self.followers = {s: {r for r in self.heard_by[s] if self.follows[s, r]} for s in left}
        self.lingers = {r: {s for s in self.hears[r] if not self.follows[s, r]} for r in left}
        bad = [(s, any(self.follows[k, s] for k in self.talkers if k != s and self.standing[k] in ("works", "babbles"))) for s in self.spoils]
        self.spoiled = {r for r in left for s, follows in bad if follows and self.reads[s, r]}
        self.hasty = {r for r in left for s, follows in bad if not follows and self.reads[s, r]}
        unheard = [s for s in left if not any(s in self.followers[r] for r in self.followers[s])]
        for s in unheard:
            self.standing[s] = "unheard"
        self.harmless = {s for s in unheard if not self.heard_by[s] or
                         self.hears[s] == self.lingers[s] and self.heard_by[s] == self.followers[s]}

    # ---- rule 6

    def group(self):
        rest = [s for s in self.left if s not in self.harmless]
        self.whole, met = set(self.harmless), set()
        for first in rest:
            if first in met:
                continue
            group, more = {first}, [first]
            while more:
                k = more.pop()
                new = {o for o in self.hears[k] | self.heard_by[k] if o not in self.harmless} - group
                group |= new
                more += new
            met |= group
            if all(r in self.followers[s] for s in group for r in group if r != s):
                self.whole |= group
            else:
                for k in group:
                    if self.standing[k] == "works":
                        self.standing[k] = "disturbed"

    def share(self, s, r):
        """Of the messages of S, those that arrive at R."""
        if r not in self.left or s not in self.left:
            off = self.standing[r] == "cannot send" and r not in self.spoils
            return 0.1 if off and self.standing[s] in ("works", "disturbed") and self.follows[s, r] else 0.0
        if r not in self.followers[s]:
            return 0.0
        if self.standing[s] == "unheard":
            if r not in self.hears[s] or self.standing[r] == "unheard":
                return 0.1
            return 0.8 if s in self.harmless else 0.5
        if self.standing[r] == "unheard":
            return 0.1
        share = 0.5 if self.spoiled & {s, r} else 1 - 1 / self.senders if self.hasty & {s, r} else 1.0
        return share if s in self.whole else share * self.disturbed(s, r) if not self.followers[s] & self.lingers[r] else 0.1

    def disturbed(self, s, r):
        share = 0.8
        if self.followers[s] & self.lingers[s]:
            share *= 0.55
        if self.hears[r] - self.hears[s] - self.heard_by[s] - {s}:
            share *= 0.3
        if any(k not in self.heard_by[s] and self.hears[k] & self.followers[s] for k in self.hears[s]):
            share *= 0.65
        if self.hears[s] - self.hears[r] - {r}:
            share *= 0.75
        if r not in self.hears[s]:
            share *= 0.8
        return share

    def busy(self, seat):
        """How long it has frames on the bus, over its ordinary share."""
        if seat in self.spoils:
            return 2.0
        n = self.senders
        return {"works": 1.0, "jammed": 1.0, "alone": 3.3 * n, "jams": 3.3 * n, "unheard": 2.6 * n, "babbles": 3.9 * n, "cannot send": 0.4,
                "disturbed": 2.0}.get(self.standing.get(seat), 0.0)
