"""What adds up over the parts of a build on one bike, column by column in one number.

How many are in each slot and want each kind of plug, what they weigh on each limit, and who is there to be looked at.
"""

from __future__ import annotations

from rules.bench import Bench
from rules.build import Build, Placement, Slot
from rules.columns import Column, Columns
from rules.kinds import mass_limit
from rules.loads import Limit, Loads
from rules.mating import Face, faces_mate
from rules.scene import number
from rules.sights import Sights


class Totals:
    """The columns of one bike. One thread at a time may ask for what is new.

    Attributes:
        there, held, amplifiers, odd: Columns of parts of which there may be none: where there is one, somebody looks which.
        limited, needy: Likewise of parts that are not odd, on which limits or needs are found alone.
        sights, plugged: The bits of placements as others look at them, and as they have plugs.
        present: What is there now, by slot.
        rooms_over, seats_over: The highest bits of slots, and of kinds of plug, of which there are only so many.
    """

    __slots__ = (
        "_bench",
        "_now",
        "_now_over",
        "_rooms",
        "_seats",
        "amplifiers",
        "columns",
        "held",
        "limited",
        "loads",
        "needy",
        "odd",
        "plugged",
        "present",
        "rooms_over",
        "seats_over",
        "sights",
        "there",
    )

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self.present = _present(bench)
        self.columns = Columns()
        self.there, self.held, self.amplifiers = (self.columns.sum(0) for _ in range(3))
        self.odd, self.limited, self.needy = (self.columns.sum(0) for _ in range(3))
        self.sights, self.plugged = Sights(self.columns), Sights(self.columns)
        self.loads = Loads(_limits(bench), self.columns)
        self.rooms_over = self.seats_over = 0
        self._rooms: dict[Slot, Column] = {}
        self._seats: dict[tuple[str, Face], Column] = {}
        # All slots now, before there are bits: so what a part adds is a short number, unless somebody looks at it.
        for place in sorted(bench.has.places):
            for slot in bench.tables.catalog.places[place].slots:
                self.room((place, slot))
        # What is in slots now, added up.
        self._now = sum(self.room(slot).unit * len(there) for slot, there in self.present.items())
        self._now_over = sum(self.room(slot).over for slot in self.present)

    def over(self, sums: int) -> int:
        """Add the slack of all columns to sums: then the highest bits are set of those that are over their most."""
        return sums + self.columns.slack

    def crowded_by(self, coming: int) -> int:
        """Give the highest bits of slots in which there is no room for what is there beside what comes in."""
        return self.over(self._now + coming) & self._now_over

    def displaced(self, crowded: int) -> Build:
        """Give what is now in slots of which these are the highest bits."""
        rooms = [there for slot, there in self.present.items() if self.room(slot).over & crowded]
        return frozenset([placed for there in rooms for placed in there])

    def room(self, slot: Slot) -> Column:
        """Give the column of the parts in a slot."""
        room = self._rooms.get(slot)
        if room is None:
            room = self._rooms[slot] = self.columns.sum(self._bench.capacity(*slot))
            self.rooms_over += room.over
        return room

    def seat(self, placed: Placement) -> Column | None:
        """Give the column of those that want the same plug as a part, if the bike takes only so many whatever else is fitted.

        None where more could come, or a part has no plug or several.
        """
        bench, part = self._bench, self._bench.part(placed)
        wires = bench.tables.wires[placed.part]
        has_tags = not bench.tables.needs_tags.isdisjoint(part.tags)
        if part.kind != "speaker" or len(wires.connectors) != 1 or part.channels or has_tags:
            return None
        (name, connector), *_ = wires.connectors.items()
        place, face = connector.place or placed.place, wires.faces[name]
        if not wires.sinks or bench.mateable(place, face):
            return None
        seat = self._seats.get((place, face))
        if seat is None:
            takes = (
                other.accepts
                for node, other in bench.loom.connectors.items()
                if other.place == place and faces_mate(face, bench.loom.faces[node])
            )
            seat = self._seats[place, face] = self.columns.sum(sum(takes))
            self.seats_over += seat.over
        return seat


def _present(bench: Bench) -> dict[Slot, list[Placement]]:
    found: dict[Slot, list[Placement]] = {}
    for placed in sorted(bench.present):
        found.setdefault(bench.slot(placed), []).append(placed)
    return found


def _limits(bench: Bench) -> list[Limit] | None:
    """Give every limit of a bike on masses; None where one is not known."""
    limits: list[Limit] = []
    for rule in bench.tables.mass_limits:
        for places, cause in mass_limit.limits(rule, bench, bench.has.places):
            most = number(cause.value)
            if most is None:
                return None
            limits.append((places, most))
    return limits
