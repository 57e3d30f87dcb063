"""Plugs and sockets that mate with nothing else in the catalog."""

from __future__ import annotations

from rules.bench import Bench
from rules.build import Placement
from rules.diagnostics import Span, quote
from rules.mating import Face, faces_mate
from rules.survey.codes import LONELY_PLUG
from rules.survey.ground import Ground


def check_plugs(ground: Ground) -> None:
    """Report every plug that mates with nothing."""
    _check_parts(ground)
    _check_looms(ground)


def _check_parts(ground: Ground) -> None:
    lonely: dict[tuple[str, str], bool] = {}
    for bench in ground.benches():
        for placed in bench.universe:
            for name in bench.tables.wires[placed.part].connectors:
                if lonely.get((placed.part, name), True):
                    lonely[placed.part, name] = not _mates(bench, placed, name)
    for (part, name), is_lonely in sorted(lonely.items()):
        if is_lonely:
            message = f"connector {quote(name)} of part {quote(part)} mates with nothing in the catalog"
            ground.report(LONELY_PLUG, ground.parts[part].key_at("connectors", name), message)


def _mates(bench: Bench, placed: Placement, name: str) -> bool:
    wires = bench.tables.wires[placed.part]
    place = wires.connectors[name].place or placed.place
    return _on_loom(bench, place, wires.faces[name]) or bool(
        bench.mateable(place, wires.faces[name]) - {placed}
    )


def _on_loom(bench: Bench, place: str, face: Face) -> bool:
    loom = bench.loom
    return any(
        connector.place == place and faces_mate(face, loom.faces[name])
        for name, connector in loom.connectors.items()
    )


def _check_looms(ground: Ground) -> None:
    lonely: dict[tuple[Span, str], str] = {}
    mated: set[Span] = set()
    for bench in ground.benches():
        for name, connector in bench.loom.connectors.items():
            span = _written(bench, name)
            if bench.mateable(connector.place or "", bench.loom.faces[name]):
                mated.add(span)
            else:
                lonely.setdefault((span, name), bench.bike.id)
    for (span, name), bike in sorted(lonely.items()):
        if span not in mated:
            message = f"plug {quote(name)} of bike {quote(bike)} mates with no part of the catalog"
            ground.report(LONELY_PLUG, span, message)


def _written(bench: Bench, name: str) -> Span:
    """Where a plug's contact map is written, or the whole plug, where a rule provides it."""
    origins, path = bench.bike.origins, f"loom.connectors.{name}"
    key = f"{path}.map" if f"{path}.map" in origins else path
    shown = bench.loom.connectors[name].map if key.endswith(".map") else name
    origin = origins[key]
    return Span(origin.file, origin.line, origin.column, origin.column + len(shown))
