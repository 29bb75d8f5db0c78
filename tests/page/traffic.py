# SPDX-License-Identifier: Apache-2.0
"""What becomes of the messages on one bus: docs/formats/buses.md, "What becomes of the messages"."""

BUSY = {"works": 1.0, "disturbed": 1.0, "jammed": 1.0, "alone": 3.0, "unheard": 3.0, "jams": 3.0, "babbles": 4.0}
SILENT = ("held down", "cannot send")


class Traffic:
    def __init__(self, there, rests, reads, babbles):
        """there: the seats that take part; rests[seat]; reads[sender, reader]; babbles: set of seats."""
        self.standing, self.arrives = {}, {}
        for seat in there:
            self.standing[seat] = ("babbles" if seat in babbles else "held down" if not rests[seat] else
                                   "works" if reads[seat, seat] else "cannot send")
        left = [seat for seat in there if self.standing[seat] not in SILENT]
        self.hears = {r: {s for s in left if s != r and reads[s, r]} for r in left}
        self.one_way(left)
        self.broken(left)
        for s in left:
            share = {"works": 1.0, "disturbed": 0.5}.get(self.standing[s], 0.0)
            for r in left:
                if s in self.hears[r] and self.standing[r] not in ("jammed", "babbles"):
                    self.arrives[s, r] = share

    def one_way(self, left):
        """Rules 3 to 5."""
        heard = set().union(*self.hears.values()) if left else set()
        for seat in left:
            if self.standing[seat] == "works":
                self.standing[seat] = {(True, True): "works", (True, False): "unheard", (False, True): "jams", (False, False): "alone"}[
                    bool(self.hears[seat]), seat in heard]
        loud = {seat for seat in left if self.standing[seat] in ("jams", "babbles")}
        for seat in left:
            if self.hears[seat] & loud and self.standing[seat] != "babbles":
                self.standing[seat] = "jammed"

    def broken(self, left):
        """Rule 6: who hears an acknowledgement and not the message breaks the frame for all that hear him."""
        works = [seat for seat in left if self.standing[seat] == "works"]
        breakers = {r for s in works for r in works if r != s and s not in self.hears[r] and any(s in self.hears[a] for a in self.hears[r])}
        for seat in works:
            if self.hears[seat] & breakers:
                self.standing[seat] = "disturbed"

    def busy(self, seat):
        return BUSY.get(self.standing.get(seat), 0.0)
