"""What happens to connections from one build to the next, and what of it is rewiring."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from rules.answer import Change, Feed
from rules.bench import Bench
from rules.build import Build, Placement
from rules.catalog.facts import Unknown
from rules.catalog.part import RUN_KINDS
from rules.electrical.load import parallel_impedance
from rules.net import LOOM, Mate, Node, Sink, Wiring
from rules.wiring import Option, mated_nodes


def feeds_of(bench: Bench, option: Option) -> tuple[Feed, ...]:
    """Give every speaker side with its channel and the load on that channel [ohm]."""
    return tuple(
        Feed(
            place=sink.speaker.place,
            side=sink.side,
            speaker=sink.speaker.part,
            source=fed.owner,
            channel=fed.channel.id,
            load_ohm=_load(bench, option, fed.owner, fed.channel.id),
        )
        for sink, fed in sorted(option.feeds.items())
    )


def _load(bench: Bench, option: Option, owner: Placement, channel: str) -> float | None:
    speakers = [
        bench.part(sink.speaker).speaker
        for sink, fed in option.feeds.items()
        if (fed.owner, fed.channel.id) == (owner, channel)
    ]
    known = [x.impedance_ohm for x in speakers if x is not None and not isinstance(x.impedance_ohm, Unknown)]
    return round(float(parallel_impedance(known)), 3) if known and len(known) == len(speakers) else None


def changes_between(
    bench: Bench, before: Build, old: Option | None, after: Build, new: Option
) -> Iterator[Change]:
    """Classify every connection of two builds, in order."""
    was = mated_nodes(old.mates) if old else {}
    now = mated_nodes(new.mates)
    old_mates = old.mates if old else frozenset()
    for pair in sorted(old_mates | new.mates):
        kind = _kind(pair, was, now, before, after)
        if kind is not None:
            yield Change(kind=kind, first=str(pair[0]), second=str(pair[1]))  # type: ignore[arg-type]
    for placed in sorted(rewired_parts(bench, before, after)):
        yield Change(kind="rewired", first=str(placed), second="")
    for was_fed, is_fed in moved_channels(bench, old, after, new) if old else ():
        yield Change(kind="rewired", first=was_fed, second=is_fed)


def _kind(
    pair: Mate,
    was: Mapping[Node, tuple[Node, ...]],
    now: Mapping[Node, tuple[Node, ...]],
    before: Build,
    after: Build,
) -> str | None:
    one, other = pair
    is_old, is_new = other in was.get(one, ()), other in now.get(one, ())
    if is_old and is_new:
        return "kept"
    if is_new:
        if _goes_between(pair, was, now, before):
            return "inserted"
        if _goes_between(pair, now, was, after) or _was_split(pair, was, now, after):
            return "extracted"
        return "re-plugged" if any(_has_left(x, was, now, after) for x in pair) else "connected"
    if _was_split(pair, now, was, before):
        return None  # told by the two "inserted" connections that took its place
    return "released"


def _goes_between(
    pair: Mate, was: Mapping[Node, tuple[Node, ...]], now: Mapping[Node, tuple[Node, ...]], before: Build
) -> bool:
    """Tell whether a new part of this pair now lies between two plugs that were mated with each other."""
    for old_node, new_node in (pair, pair[::-1]):
        if new_node.owner in before or new_node.owner == LOOM:
            continue
        for former in was.get(old_node, ()):
            if any(x.owner == new_node.owner for x in now.get(former, ())):
                return True
    return False


def _was_split(
    pair: Mate, now: Mapping[Node, tuple[Node, ...]], was: Mapping[Node, tuple[Node, ...]], before: Build
) -> bool:
    """Tell whether something that was not there now lies between the two plugs of this pair."""
    one, other = pair
    owners = {x.owner for x in now.get(one, ())} & {x.owner for x in now.get(other, ())}
    return other in was.get(one, ()) and any(owner not in before and owner != LOOM for owner in owners)


def _has_left(
    node: Node, was: Mapping[Node, tuple[Node, ...]], now: Mapping[Node, tuple[Node, ...]], after: Build
) -> bool:
    """Tell whether a plug has moved away from something that is still there."""
    left = set(was.get(node, ())) - set(now.get(node, ()))
    return any(x.owner == LOOM or x.owner in after for x in left)


def replugged_parts(before: Build, old: Option | None, after: Build, new: Option) -> frozenset[Placement]:
    """Give the parts that stay and take part in a connection that is re-plugged."""
    if old is None:
        return frozenset()
    return replugged_between(before, Plugged.of(old), after, Plugged.of(new), before)


class Plugged(NamedTuple):
    """The mates of a wiring, with what each of its plugs is mated with."""

    mates: Wiring
    mated: Mapping[Node, tuple[Node, ...]]

    @classmethod
    def of(cls, option: Option) -> Plugged:
        """Look up the plugs of a wiring."""
        return cls(option.mates, mated_nodes(option.mates))


def replugged_between(
    before: Build, old: Plugged, after: Build, new: Plugged, asked: Build
) -> frozenset[Placement]:
    """Give the parts, of those asked about, that stay and take part in a connection that is re-plugged.

    Args:
        old, new: Wirings that are looked up already.
    """
    asked = asked & before
    return frozenset(
        node.owner
        for pair in new.mates - old.mates
        if (pair[0].owner in asked or pair[1].owner in asked)
        and _kind(pair, old.mated, new.mated, before, after) == "re-plugged"
        for node in pair
    ).intersection(asked)


def rewired_parts(bench: Bench, before: Build, after: Build) -> frozenset[Placement]:
    """Give the parts whose coming or going cuts, splices, removes or re-runs wires."""
    spliced = {x for x in after - before if bench.part(x).rewires}
    run = {x for x in before - after if bench.part(x).kind in RUN_KINDS and x not in bench.stock}
    return frozenset(spliced | run)


Side = tuple[str, str]
"""A place and a side of it."""


@dataclass(frozen=True, slots=True)
class Feeding:
    """What feeds each zone side after a step, and which sides have gone from an amplifier back to something else."""

    sources: tuple[tuple[Side, tuple[Placement, str]], ...]
    returned: frozenset[Side] = frozenset()


def feeding_of(option: Option) -> Feeding:
    """Give the feeding of a build that is the first of a path."""
    return Feeding(tuple(sorted(_sources(option.feeds.keys(), option).items())))


def _sources(sinks: Iterable[Sink], option: Option) -> dict[Side, tuple[Placement, str]]:
    return {
        (sink.speaker.place, sink.side): (option.feeds[sink].owner, option.feeds[sink].channel.id)
        for sink in sinks
    }


def moved_channels(bench: Bench, old: Option, after: Build, new: Option) -> list[tuple[str, str]]:
    """Give each amplifier channel off which a zone side is moved, with the channel that feeds it instead."""
    was, now = _sources(old.feeds.keys(), old), _sources(new.feeds.keys(), new)
    moved = {
        (f"{was[side][0]}:{was[side][1]}", f"{now[side][0]}:{now[side][1]}")
        for side in was.keys() & now.keys()
        if _is_amplifier(bench, was[side][0]) and not _is_kept(bench, was[side], now[side], after)
    }
    return sorted(moved)


def next_feeding(bench: Bench, feeding: Feeding, after: Build, option: Option) -> Feeding | None:
    """Follow the zone sides over one step; None if one of them is moved in a way that is rewiring."""
    return follow(bench, feeding, after, sources_of(option))


Sources = Mapping[Side, tuple[Placement, str]]
"""What feeds each zone side."""


def sources_of(option: Option) -> Sources:
    """Give what feeds each zone side in a wiring."""
    return _sources(option.feeds.keys(), option)


def follow(bench: Bench, feeding: Feeding, after: Build, new: Sources) -> Feeding | None:
    """Follow the zone sides over one step, to what feeds them then; None as above."""
    old = dict(feeding.sources)
    returned = set(feeding.returned)
    for side, (source, channel) in new.items():
        before = old.get(side)
        if _is_amplifier(bench, source) and side in returned:
            return None
        if before is None or not _is_amplifier(bench, before[0]):
            continue
        if not _is_kept(bench, before, (source, channel), after):
            return None
        if not _is_amplifier(bench, source):
            returned.add(side)
    # A side whose speakers are out for a while keeps its history.
    kept = {side: source for side, source in old.items() if side not in new}
    return Feeding(tuple(sorted({**kept, **new}.items())), frozenset(returned))


def is_moved(bench: Bench, before: tuple[Placement, str], now: tuple[Placement, str], after: Build) -> bool:
    """Tell whether a zone side leaves the channel of an amplifier that still binds it: the same, or the one in its stead."""
    return _is_amplifier(bench, before[0]) and not _is_kept(bench, before, now, after)


def successor_of(bench: Bench, amplifier: Placement, after: Build) -> Placement | None:
    """Give what is in an amplifier's slot in a later build."""
    slot = bench.part(amplifier).slot
    return next((x for x in sorted(after) if x.place == amplifier.place and bench.part(x).slot == slot), None)


def _is_kept(bench: Bench, before: tuple[Placement, str], now: tuple[Placement, str], after: Build) -> bool:
    old, channel = before
    if old in after:
        return now == before
    successor = successor_of(bench, old, after)
    return successor is None or now == (successor, channel)


def _is_amplifier(bench: Bench, placed: Placement) -> bool:
    return bench.part(placed).kind == "amplifier"
