"""What is wanted: which placements are what a wish says, and whether they get the power that it asks for."""

from __future__ import annotations

from rules.build import Build, Placement
from rules.checker.fault import Breaks, Clause
from rules.checker.figures import exact
from rules.checker.loads import rating_of, share_of
from rules.checker.plugs import Wired
from rules.checker.world import World, known
from rules.question import PathQuestion, Want


def check_wants(
    world: World, question: PathQuestion, visit: int, build: Build, wired: Wired | None
) -> Breaks:
    """Name every wish that is due at a visit and that nothing in the build is."""
    for number, want in enumerate(question.wants):
        if visit >= (want.by or len(question.stages)):
            such = [placed for placed in build if is_such(world, want, placed)]
            if not such:
                yield Clause.WANTED, f"wants.{number}"
            elif not any(_is_powered(world, want, placed, wired) for placed in such):
                yield Clause.LEAST_POWER, f"wants.{number}"


def is_wanted(world: World, question: PathQuestion, placed: Placement) -> bool:
    """Tell whether a placement is what some wish says, its power aside."""
    return any(is_such(world, want, placed) for want in question.wants)


def is_such(world: World, want: Want, placed: Placement) -> bool:
    """Tell whether a placement's part and place are what a wish says."""
    part = world.part(placed)
    return (
        (not want.parts or part.id in want.parts)
        and want.place in (None, placed.place)
        and want.zone in (None, world.index.catalog.places[placed.place].zone)
        and want.kind in (None, part.kind)
        and set(want.functions) <= set(part.tags)
        and (not want.lines or world.index.line(part) in want.lines)
        and want.colour in (None, part.colour)
        and (want.most_kg is None or _weighs_at_most(world, placed, want.most_kg))
        and (want.least_w is None or part.kind == "speaker")
    )


def _weighs_at_most(world: World, placed: Placement, most: float) -> bool:
    mass = known(world.part(placed).mass_kg)
    return mass is not None and exact(mass) <= exact(most)


def _is_powered(world: World, want: Want, placed: Placement, wired: Wired | None) -> bool:
    if want.least_w is None:
        return True
    if wired is None:
        return False
    sinks = [sink for sink in wired.feeds if sink.speaker == placed]
    for sink in sinks:
        share, rating = share_of(world, wired, sink), rating_of(world, sink)
        if share is None or rating is None or min(share, rating) < exact(want.least_w):
            return False
    return bool(sinks)
