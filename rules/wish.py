"""What a rider wishes for: which placements satisfy it, and whether its speakers get the power that it asks for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction

from rules.bench import Bench
from rules.build import Placement
from rules.catalog.catalog import Catalog
from rules.catalog.facts import Unknown
from rules.catalog.part import Part
from rules.electrical.load import exact, parallel_impedance, power_share, rated_power
from rules.errors import MalformedQuestion
from rules.net import Fed, Sink
from rules.question import Want
from rules.scene import number
from rules.wiring import Option

SHOWN = 4
"""How many words of the catalog a cure names."""


def options_of(bench: Bench, want: Want) -> frozenset[Placement]:
    """Give every placement of the bike that is what the wish says; unknown figures satisfy nothing."""
    parts = [bench.tables.catalog.parts[x] for x in want.parts] or list(bench.tables.catalog.parts.values())
    places = [x for x in bench.has.places if _is_there(bench, want, x)]
    return frozenset(
        Placement(part.id, place)
        for part in parts
        if _is_such(bench, want, part)
        for place in places
        if bench.can_place(part, place)
    )


def _is_there(bench: Bench, want: Want, place: str) -> bool:
    return want.place in (None, place) and want.zone in (None, bench.tables.catalog.places[place].zone)


def _is_such(bench: Bench, want: Want, part: Part) -> bool:
    mass = number(part.mass_kg)
    return (
        want.kind in (None, part.kind)
        and set(want.functions) <= set(part.tags)
        and (not want.lines or bench.tables.catalog.lines.get(part.id) in want.lines)
        and want.colour in (None, part.colour)
        and (want.most_kg is None or (mass is not None and mass <= want.most_kg))
        and (want.least_w is None or _may_take(part, want.least_w))
        and (bool(want.parts) or _is_meant(want, part))
    )


def _is_meant(want: Want, part: Part) -> bool:
    """Take a zone alone as what serves it: speakers."""
    return bool(want.kind or want.functions) or part.speaker is not None


def _may_take(part: Part, least_w: float) -> bool:
    rms = number(part.speaker.rms_w) if part.speaker else None
    return rms is not None and rms >= least_w


def check_wish(catalog: Catalog, want: Want, field: str) -> None:
    """Refuse a wish that says nothing, or something that no place or part of the catalog has.

    Raises: `MalformedQuestion` with the field below `field`.
    """
    if not (want.parts or want.place or want.zone or want.kind or want.functions):
        raise MalformedQuestion(
            field, "a wish says nothing", "name parts, a place, a zone, a kind or functions"
        )
    for name, asked in (
        ("zone", (want.zone,)),
        ("functions", want.functions),
        ("lines", want.lines),
        ("colour", (want.colour,)),
    ):
        wished = {x for x in asked if x is not None}
        known = _known(catalog, name) if wished else set()
        if not wished <= known:
            raise MalformedQuestion(
                f"{field}.{name}",
                f"nothing in the catalog has what is wished for under {name}",
                _cure(name, known),
            )


def _known(catalog: Catalog, name: str) -> set[str | None]:
    """Give all zones, functions, lines or colours of a catalog."""
    match name:
        case "zone":
            return {x.zone for x in catalog.places.values()}
        case "functions":
            return {tag for x in catalog.parts.values() for tag in x.tags}
        case "lines":
            return set(catalog.lines.values())
        case _:
            return {x.colour for x in catalog.parts.values()}


def _cure(name: str, known: Iterable[str | None]) -> str:
    examples = sorted(x for x in known if x is not None)[:SHOWN]
    return f"take what the catalog has, such as {', '.join(examples)}" if examples else f"leave {name} out"


def about(want: Want) -> str:
    """Name a wish in a few words."""
    what = " or ".join(want.parts) or (want.kind or ("speaker" if want.zone else "part")).replace("_", " ")
    where = want.place or want.zone
    told = f"{what}@{where}" if where else what
    limits = [
        *(f"with {x}" for x in want.functions),
        *([f"of {' or '.join(want.lines)}"] if want.lines else ()),
        *([f"in {want.colour}"] if want.colour else ()),
        *([f"of at most {want.most_kg:g} kg"] if want.most_kg is not None else ()),
        *([f"at least {want.least_w:g} W a speaker"] if want.least_w is not None else ()),
    ]
    return ", ".join([told, *limits])


def gets(bench: Bench, option: Option, placed: Placement) -> Fraction | None:
    """Give the rated power that the worse-off speaker of a pair gets in a wiring [W]; None if a figure is not known.

    Equation: min(P x Z / Z_i, rms_w), with P the rated power at the largest rated impedance not above the load Z.
    """
    powers = [_power(bench, option, sink) for sink in option.feeds if sink.speaker == placed]
    known = [x for x in powers if x is not None]
    return min(known) if known and len(known) == len(powers) else None


def _power(bench: Bench, option: Option, sink: Sink) -> Fraction | None:
    fed = option.feeds[sink]
    ohms = {x: _ohm(bench, x.speaker) for x, other in option.feeds.items() if _is_same(other, fed)}
    own, speaker = ohms[sink], bench.part(sink.speaker).speaker
    rms = number(speaker.rms_w) if speaker else None
    known = [x for x in ohms.values() if x is not None]
    if own is None or rms is None or len(known) < len(ohms) or isinstance(fed.channel.watts, Unknown):
        return None
    load = parallel_impedance(known)
    power = rated_power(fed.channel.watts, load)
    return None if power is None else min(power_share(power, load, own), exact(rms))


def _ohm(bench: Bench, speaker: Placement) -> float | None:
    sound = bench.part(speaker).speaker
    return number(sound.impedance_ohm) if sound else None


def sharers(option: Option, pair: Placement) -> frozenset[Placement]:
    """Give the other speaker pairs on the channels that feed a pair."""
    channels = {(fed.owner, fed.channel.id) for sink, fed in option.feeds.items() if sink.speaker == pair}
    return frozenset(
        sink.speaker for sink, fed in option.feeds.items() if (fed.owner, fed.channel.id) in channels
    ) - {pair}


def most_power(
    bench: Bench, feeds: Mapping[Sink, Fed], pair: Placement, instead: Placement
) -> Fraction | None:
    """Give an upper bound on the share of a pair's worse-off speaker [W], whatever else is fed besides; None if not known.

    Args:
        instead: The pair that is fed in its stead.
    """
    fed = {
        Sink(instead, sink.side) if sink.speaker == pair else sink: source for sink, source in feeds.items()
    }
    bounds = [_most_share(bench, fed, sink) for sink in fed if sink.speaker == instead]
    known = [x for x in bounds if x is not None]
    return min(known) if known and len(known) == len(bounds) else None


def _most_share(bench: Bench, feeds: Mapping[Sink, Fed], sink: Sink) -> Fraction | None:
    fed = feeds[sink]
    ohms = [_ohm(bench, x.speaker) for x, other in feeds.items() if _is_same(other, fed)]
    own, known = _ohm(bench, sink.speaker), [x for x in ohms if x is not None]
    if own is None or len(known) < len(ohms) or isinstance(fed.channel.watts, Unknown):
        return None
    watts, load = fed.channel.watts, parallel_impedance(known)
    alone = rated_power(watts, load)
    shares = [] if alone is None else [power_share(alone, load, own)]
    return max([*shares, *_shares_beside(watts, load, own, bench.highest_ohm)], default=Fraction(0))


def _shares_beside(
    watts: Mapping[str, float], load: Fraction, own: float, highest: float
) -> Iterator[Fraction]:
    """Give the largest share between each two rated impedances, once one more speaker, of the highest impedance, is there."""
    lowered = 1 / (1 / load + 1 / exact(highest))
    rated = sorted((exact(float(ohm)), power) for ohm, power in watts.items())
    for index, (ohm, power) in enumerate(rated):
        if ohm <= lowered:
            above = rated[index + 1][0] if index + 1 < len(rated) else lowered
            # P x Z / Z_i grows with the load Z up to the next rated impedance.
            yield exact(power) * min(above, lowered) / exact(own)


def _is_same(one: Fed, other: Fed) -> bool:
    return (one.owner, one.channel.id) == (other.owner, other.channel.id)


def stays_too_strong(
    bench: Bench, feeds: Mapping[Sink, Fed], amplifier: Placement, more: frozenset[Fraction]
) -> bool:
    """Tell whether an amplifier gives some speaker more than its rating, whatever its channels drive that is not too low for them.

    Args:
        more: What other speakers may add to the load of a channel [S]; empty if that is not known.
    """
    return bool(more) and any(
        _stays_above(bench, feeds, sink, more) for sink, fed in feeds.items() if fed.owner == amplifier
    )


def _stays_above(bench: Bench, feeds: Mapping[Sink, Fed], sink: Sink, more: frozenset[Fraction]) -> bool:
    fed, speaker = feeds[sink], bench.part(sink.speaker).speaker
    ohms = [_ohm(bench, x.speaker) for x, other in feeds.items() if _is_same(other, fed)]
    own, rms = _ohm(bench, sink.speaker), number(speaker.rms_w) if speaker else None
    known = [x for x in ohms if x is not None]
    if own is None or rms is None or len(known) < len(ohms) or isinstance(fed.channel.watts, Unknown):
        return False
    alone, lowest = 1 / parallel_impedance(known), _lowest(bench, fed)
    loads = [load for load in (1 / (alone + x) for x in more) if load >= lowest]
    powers = [rated_power(fed.channel.watts, load) for load in loads]
    return all(
        power is not None and power_share(power, load, own) > exact(rms)
        for load, power in zip(loads, powers, strict=True)
    )


def _lowest(bench: Bench, fed: Fed) -> Fraction:
    """Give the lowest impedance that no rule refuses on a channel [ohm]; none where it is not known."""
    lowest = number(fed.channel.min_ohm)
    is_checked = any(rule.limit == "lowest_impedance" for rule in bench.tables.channel_limits)
    return exact(lowest) if is_checked and lowest is not None else Fraction(0)


def added_loads(bench: Bench, speakers: Iterable[Placement]) -> frozenset[Fraction]:
    """Give all that these speakers, as many as have room, may add to the load of a channel [S].

    Returns: Zero among others; empty if an impedance is not known.
    """
    slots: dict[object, set[Fraction]] = {}
    for x in speakers:
        ohm, slot = _ohm(bench, x), bench.slot(x)
        if ohm is None:
            return frozenset()
        sides = range(1, len(bench.tables.wires[x.part].sinks) + 1)
        key = slot if bench.capacity(*slot) == 1 else x
        slots.setdefault(key, {Fraction(0)}).update(n / exact(ohm) for n in sides)
    found = {Fraction(0)}
    for choices in slots.values():
        found = {x + y for x in found for y in choices}
    return frozenset(found)
