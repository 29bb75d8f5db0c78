# SPDX-License-Identifier: Apache-2.0
"""What becomes of the messages on one bus: docs/formats/buses.md, "What becomes of the messages"."""

BUSY = {"works": 1.0, "disturbed": 1.0, "jammed": 1.0, "unheard": 1.0, "alone": 3.0, "jams": 3.0, "babbles": 4.0}


class Traffic:
    def __init__(self, there, rests, hears, babbles):
        """there: the seats that take part; rests[seat]; hears[sender, reader]; babbles: set of seats."""
        self.standing = {}
        self.arrives = {}
        left = []
        for seat in there:
            if not rests[seat]:
                self.standing[seat] = "held down"
            elif not hears[seat, seat]:
                self.standing[seat] = "cannot send"
            else:
                left.append(seat)
        heard_by = {s: [r for r in left if r != s and hears[s, r]] for s in left}
        hears_of = {r: [s for s in left if s != r and hears[s, r]] for r in left}
        jammers = [s for s in left if s in babbles or (heard_by[s] and not hears_of[s])]
        jammed = {r for s in jammers for r in heard_by[s]}
        for s in left:
            if s in babbles:
                self.standing[s] = "babbles"
            elif s in jammers:
                self.standing[s] = "jams"
            elif s in jammed:
                self.standing[s] = "jammed"
            elif not heard_by[s]:
                self.standing[s] = "unheard" if hears_of[s] else "alone"
            else:
                self.standing[s] = "works"
        rest = [s for s in left if self.standing[s] == "works"]
        self.share(rest, hears)

    def share(self, rest, hears):
        """Rule 6."""
        disturbed = set()
        for s in rest:
            hearing = [r for r in rest if r != s and hears[s, r]]
            deaf = [r for r in rest if r != s and not hears[s, r]]
            if any(hears[a, r] for r in deaf for a in hearing):
                disturbed.add(s)
        for s in rest:
            for r in rest:
                if r != s and hears[s, r]:
                    self.arrives[s, r] = 1.0
        for s in disturbed:
            for a in [s] + [r for r in rest if r != s and hears[s, r]]:
                self.standing[a] = "disturbed"
                for b in rest:
                    if (a, b) in self.arrives:
                        self.arrives[a, b] = 0.5

    def busy(self, seat):
        return BUSY.get(self.standing.get(seat), 0.0)
