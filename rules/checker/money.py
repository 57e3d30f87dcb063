"""The lines of a visit, worked out anew: purchases, labour, presets, freight, resale."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from rules.answer import Visit
from rules.build import Build, Placement
from rules.checker.fault import Breaks, Clause
from rules.checker.tariff import Tariff
from rules.checker.work import Work
from rules.money import Line

_CLAUSES = {"labour": Clause.LABOUR, "preset": Clause.PRESET_LINES, "freight": Clause.FREIGHT}


def check_lines(tariff: Tariff, visit: Visit, work: list[Work]) -> Breaks:
    """Compare a visit's lines with what they should be, to the cent."""
    yield from _purchases(tariff, visit)
    yield from _home(visit, work)
    due = Counter([*_labour(tariff, visit, work), *_presets(tariff, visit), *_resale(tariff, visit)])
    told = Counter(line for line in visit.lines if line.kind not in ("part", "bundle"))
    for line in due - told:
        yield _clause(line), f"missing: {_shown(line)}"
    for line in told - due:
        yield _clause(line), f"not due: {_shown(line)}"


def due_of(tariff: Tariff, visit: Visit, work: list[Work]) -> tuple[int, int] | None:
    """Give what a visit is to cost, whatever its lines say: what is spent, and what resale brings back [minor units].

    None if something of it is not for sale.
    """
    least = least_cost(tariff, Counter(placed.part for placed in visit.adds))
    if least is None:
        return None
    spent = sum(line.total for line in (*_labour(tariff, visit, work), *_presets(tariff, visit)))
    return least + spent, -sum(line.total for line in _resale(tariff, visit))


def _clause(line: Line) -> Clause:
    return _CLAUSES.get(line.kind, Clause.RESALE)


def _shown(line: Line) -> str:
    assumed = " assumed" if line.assumed else ""
    return f"{line.kind} {line.about} {line.of} {line.quantity} x {line.total}{assumed}"


# --- purchases --------------------------------------------------------------------------------------------------


def _purchases(tariff: Tariff, visit: Visit) -> Breaks:
    """Each piece is bought once, at its price, and no other way to buy them all costs less."""
    needed = Counter(placed.part for placed in visit.adds)
    lines = [line for line in visit.lines if line.kind in ("part", "bundle")]
    for line in lines:
        if not _is_priced(tariff, line):
            yield Clause.PURCHASES, f"wrong: {_shown(line)}"
    bundled, singles = _pieces(tariff, lines)
    for part in sorted({*needed, *singles}):
        if singles[part] != max(0, needed[part] - bundled[part]):
            yield Clause.PURCHASES, f"{needed[part]} x {part} fitted, {singles[part]} bought singly"
    least = least_cost(tariff, needed)
    if least is not None and sum(line.total for line in lines) != least:
        yield Clause.PURCHASES, f"they can be had for {least}"


def _is_priced(tariff: Tariff, line: Line) -> bool:
    price = tariff.price(line.about)
    is_bundle = price is not None and bool(tariff.world.part_named(line.about).members)
    return (
        price is not None
        and line.quantity > 0
        and line.total == line.quantity * price
        and line.assumed == tariff.assumed
        and is_bundle == (line.kind == "bundle")
    )


def _pieces(tariff: Tariff, lines: list[Line]) -> tuple[Counter[str], Counter[str]]:
    """Count the pieces that came in bundles, and those bought singly."""
    bundled: Counter[str] = Counter()
    singles: Counter[str] = Counter()
    for line in lines:
        if line.kind == "part":
            singles[line.about] += line.quantity
        elif tariff.world.is_part(line.about):
            for member in tariff.world.part_named(line.about).members:
                bundled[member] += line.quantity
    return bundled, singles


def least_cost(tariff: Tariff, needed: Counter[str]) -> int | None:
    """Give the least that these pieces cost, singly and in bundles; None if one of them is not for sale."""
    prices = {part: price for part in needed if (price := tariff.price(part)) is not None}
    return _least(needed, prices, _bargains(tariff, needed, prices)) if len(prices) == len(needed) else None


def _bargains(tariff: Tariff, needed: Counter[str], prices: dict[str, int]) -> list[tuple[int, Counter[str]]]:
    """Give the bundles for sale that cost less than all that is needed of them; no other can help."""
    found: list[tuple[int, Counter[str]]] = []
    for bundle in tariff.world.index.bundles:
        members = Counter(bundle.members)
        price = None if needed.keys().isdisjoint(members) else tariff.price(bundle.id)
        if price is not None and price < sum(prices[x] * n for x, n in (needed & members).items()):
            found.append((price, members))
    return found


def _least(needed: Counter[str], prices: dict[str, int], bundles: list[tuple[int, Counter[str]]]) -> int:
    """Buy one of the first bundle, or never one of it."""
    if not bundles:
        return sum(count * prices[part] for part, count in needed.items())
    price, members = bundles[0]
    without = _least(needed, prices, bundles[1:])
    rest = needed - members
    return without if rest == needed else min(without, price + _least(rest, prices, bundles))


# --- labour and presets -----------------------------------------------------------------------------------------


def charged(visit: Visit, work: list[Work]) -> list[Work]:
    """Give the work that costs something: at home, what is done in the workshop."""
    if visit.fitter == "shop":
        return work
    return [one for one in work if not one.operation.home or one.for_preset]


def _home(visit: Visit, work: list[Work]) -> Breaks:
    """Nobody comes to the shop for a visit at home, but presets are made there."""
    for one in work:
        if visit.fitter == "home" and not one.operation.home and not one.for_preset:
            yield Clause.HOME_LABOUR, f"{one.operation.id} {one.of or ''}"


def _labour(tariff: Tariff, visit: Visit, work: list[Work]) -> Iterator[Line]:
    for one in charged(visit, work):
        yield Line(
            kind="labour",
            about=one.operation.id,
            of=str(one.of or ""),
            quantity=one.operation.minutes,
            total=tariff.work(one.operation.minutes),
            assumed=tariff.assumed,
        )


def _presets(tariff: Tariff, visit: Visit) -> Iterator[Line]:
    for made in visit.presets:
        of, assumed = str(made.amplifier), tariff.assumed
        price = tariff.price(made.service)
        if price is None:
            continue
        minutes, bench = tariff.bench_minutes(made.service), tariff.bench(made.service)
        yield Line(kind="preset", about=made.service, of=of, total=price, assumed=assumed)
        yield Line(kind="labour", about=made.service, of=of, quantity=minutes, total=bench, assumed=assumed)
    if visit.presets and visit.fitter == "home":
        yield Line(kind="freight", about="freight", total=tariff.freight, assumed=tariff.assumed)


def check_presets(tariff: Tariff, visit: Visit, due: set[Placement]) -> Breaks:
    """A preset is made for each amplifier that needs one, and for no other, by the service that costs least."""
    made: Build = frozenset(one.amplifier for one in visit.presets)
    if made != due or len(made) != len(visit.presets):
        for amplifier in sorted((made ^ due) or made):
            yield Clause.PRESET, f"{amplifier} {'needs none' if amplifier in made else 'has none'}"
    for one in visit.presets:
        offered = tariff.services(one.amplifier.part)
        if one.service not in offered:
            yield Clause.PRESET, f"{one.service} is not offered for {one.amplifier}"
            continue
        preset = tariff.world.part_named(one.service).preset
        # Only by post is the bike off the road for days.
        days = preset.days if preset and visit.fitter == "home" else 0
        if offered[one.service] != min(offered.values()) or one.days != days:
            yield Clause.PRESET_LINES, f"{one.service} for {one.amplifier}"


def _resale(tariff: Tariff, visit: Visit) -> Iterator[Line]:
    for placed in visit.removes:
        value = tariff.resale(placed.part)
        if value:
            yield Line(kind="resale", about=placed.part, of=str(placed), total=-value, assumed=tariff.assumed)
