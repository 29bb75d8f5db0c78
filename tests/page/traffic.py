# SPDX-License-Identifier: Apache-2.0
"""What becomes of the messages on one bus: docs/formats/buses.md, "What becomes of the messages"."""

BUSY = {"works": 1.0, "jammed": 0.7, "disturbed": 2.0, "cannot send": 0.4}
BUSY_TIMES_N = {"alone": 3.3, "jams": 3.3, "unheard": 2.6, "babbles": 3.9}


class Traffic:
    def __init__(self, seats, there, rests, good, reads, babbles):
        """seats: how many sit on the bus; there: those that take part; rests[seat]; good and reads[sender, reader]; babbles: set of seats."""
        self.standing, self.arrives, self.seats = {}, {}, seats
        self.good, self.dominant = good, reads
        awake = [seat for seat in there if rests[seat]]
        self.n = len(awake)
        for seat in there:
            self.standing[seat] = ("held down" if not rests[seat] else "cannot send" if not good[seat, seat] else
                                   "babbles" if seat in babbles else "works")
        talkers = self.those("works", "babbles")
        self.own_lingers = {seat for seat in self.those("cannot send") if reads[seat, seat]}
        self.follow_somebody = {c for c in self.own_lingers if any(good[s, c] for s in talkers)}
        self.jammed(talkers)
        left = self.those("works")
        self.unanswered(left)
        self.groups(left)
        self.shares(left)

    def those(self, *standings):
        return [seat for seat, standing in self.standing.items() if standing in standings]

    def reads(self, r, s):
        return s != r and self.dominant[s, r]

    def follows(self, r, s):
        return s != r and self.good[s, r]

    def lingers(self, s, r):
        return self.reads(r, s) and not self.follows(r, s)

    def jammed(self, talkers):
        """Rules 3 and 4."""
        plain = self.those("works")
        self.reads_nobody = {k for k in plain if not any(self.reads(k, s) for s in talkers)}
        for k in self.reads_nobody:
            self.standing[k] = "jams" if any(self.reads(r, k) for r in plain + self.those("cannot send")) else "alone"
        loud = self.those("jams", "babbles")
        self.talked_over = {c for c in self.those("cannot send") if any(self.reads(c, s) for s in loud)}
        self.own_lingers -= self.talked_over
        for r in self.those("works"):
            if any(self.reads(r, s) for s in loud):
                self.standing[r] = "jammed"

    def unanswered(self, left):
        """Rule 5."""
        for s in left:
            if not any(self.follows(r, s) and self.follows(s, r) for r in left):
                self.standing[s] = "unheard"
        self.harmless = {k for k in left if self.standing[k] == "unheard" and (
            not any(self.reads(r, k) for r in left) or
            not any(self.follows(k, s) for s in left) and not any(self.lingers(k, r) for r in left))}

    def groups(self, left):
        """Rule 6: who is in a group where not all follow all."""
        self.not_whole = set()
        met = set(self.harmless)
        for first in left:
            if first in met:
                continue
            group, new = {first}, {first}
            while new:
                new = {k for k in left if k not in group and k not in self.harmless and any(self.reads(k, g) or self.reads(g, k) for g in new)}
                group |= new
            met |= group
            if not all(self.follows(r, s) for s in group for r in group if r != s):
                self.not_whole |= group
                for k in group:
                    if self.standing[k] == "works":
                        self.standing[k] = "disturbed"

    def shares(self, left):
        for s in left:
            for r in left:
                if self.follows(r, s):
                    self.arrives[s, r] = self.share(s, r, left)
        for s in self.those("works", "disturbed"):
            for c in self.those("cannot send"):
                if c not in self.own_lingers | self.talked_over and self.follows(c, s):
                    self.arrives[s, c] = 0.1

    def share(self, s, r, left):
        if self.standing[s] == "unheard":
            if self.standing[r] == "unheard" or not self.reads(s, r):
                return 0.1
            return 0.8 if s in self.harmless else 0.5
        if self.standing[r] == "unheard":
            return 0.1
        read = {c for c in self.own_lingers if self.reads(s, c) or self.reads(r, c)}
        share = 0.5 if read & self.follow_somebody else 1.0 - 1.0 / self.n if read else 1.0
        if s not in self.not_whole:
            return share
        acknowledge = [k for k in left if self.follows(k, s)]
        if any(self.lingers(k, r) for k in acknowledge):
            return 0.1
        return share * self.disturbed(s, r, left, acknowledge)

    def disturbed(self, s, r, left, acknowledge):
        """The factors of rule 6."""
        share = 0.8
        if any(self.lingers(k, s) for k in acknowledge):
            share *= 0.55
        if any(self.reads(s, k) and not self.reads(k, s) and any(self.reads(k, a) for a in acknowledge) for k in left):
            share *= 0.65
        if any(self.reads(r, k) and not self.reads(k, s) and not self.reads(s, k) for k in left if k != s):
            share *= 0.3
        if any(self.reads(s, k) and not self.reads(r, k) for k in left if k != r):
            share *= 0.75
        return share * (1.0 if self.reads(s, r) else 0.8)

    def busy(self, seat):
        standing = self.standing.get(seat)
        if seat in self.own_lingers:
            return 2.0
        return BUSY[standing] if standing in BUSY else BUSY_TIMES_N.get(standing, 0.0) * self.seats
