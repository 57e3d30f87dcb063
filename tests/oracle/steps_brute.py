"""What one step does to wires, mate by mate and side by side, as section 3 of the definitions says."""

from __future__ import annotations

from rules.build import Build, Placement
from tests.oracle.reading import Mate, Node, World
from tests.oracle.wirings_brute import Wiring

Side = tuple[str, str]


def replugged(before: Build, old: Wiring | None, after: Build, new: Wiring) -> Build:
    """Give the placements that stay and own a plug of a re-plugged mate."""
    if old is None:
        return frozenset()
    stay: set[Placement | None] = {None, *(before & after)}
    moved = {
        node for mate in old.mates - new.mates for node in mate if all(x.owner in stay for x in mate - {node})
    }
    owners: set[Placement] = set()
    for mate in new.mates - old.mates:
        if mate & moved and not _is_inserted(mate, after - before, old, new):
            owners |= {node.owner for node in mate if node.owner is not None and node.owner in stay}
    return frozenset(owners)


def _is_inserted(mate: Mate, come: Build, old: Wiring, new: Wiring) -> bool:
    """Tell whether a new part of this mate now lies between two plugs that were mated with each other."""
    for node in mate:
        (other,) = mate - {node}
        for former in _partners(other, old):
            if node.owner in come and any(end.owner == node.owner for end in _partners(former, new)):
                return True
    return False


def _partners(node: Node, wiring: Wiring) -> set[Node]:
    return {other for mate in wiring.mates if node in mate for other in mate - {node}}


def cuts_or_pulls(world: World, before: Build, after: Build) -> set[Placement]:
    """Give the parts whose coming or going is rewiring, whatever the wirings are."""
    cut = {one for one in after - before if world.part(one).rewires}
    run = {one for one in before - after if world.part(one).kind in {"harness", "power_kit"}}
    return cut | (run - world.stock)


def moves_sides(world: World, before: Build, old: Wiring | None, after: Build, new: Wiring) -> bool:
    """Tell whether a zone side that an amplifier fed is moved in a way that is rewiring."""
    was, now = sides(old), sides(new)
    return any(
        is_amplifier(world, was[side][0]) and now[side] not in _may_feed(world, before, after, *was[side])
        for side in was.keys() & now.keys()
    )


def _may_feed(world: World, before: Build, after: Build, amplifier: Placement, channel: str):
    """Give what may feed a zone side after an amplifier's channel did."""
    if amplifier in after:
        return [(amplifier, channel)]
    come = [one for one in after - before if world.slot(one) == world.slot(amplifier)]
    come = [one for one in come if is_amplifier(world, one)]
    return [(one, channel) for one in come] if come else _Anything()


class _Anything:
    """Contains whatever is asked."""

    def __contains__(self, thing: object) -> bool:
        return True


def sides(wiring: Wiring | None) -> dict[Side, tuple[Placement, str]]:
    """Give what feeds each zone side."""
    feeds = wiring.feeds if wiring else ()
    return {(feed.sink.speaker.place, feed.sink.side): (feed.source, feed.channel) for feed in feeds}


def is_amplifier(world: World, placement: Placement):
    return world.part(placement).kind == "amplifier"


def amplified(world: World, wiring: Wiring | None) -> frozenset[Side]:
    """Give the zone sides that an amplifier feeds."""
    return frozenset(side for side, (source, _) in sides(wiring).items() if is_amplifier(world, source))
