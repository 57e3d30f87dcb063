"""A good plan for a tiny shop, and ways to spoil it: what it says, or what the shop knows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from typing import Any

from rules.answer import Plan
from rules.catalog.catalog import Bike, Catalog
from rules.catalog.rule import ChannelLimit, MassLimit, Operation, PresetChain, SupplyLimit
from rules.checker import Checker, Clause, Fault, Index
from rules.engine import Engine
from rules.money import Line
from rules.net import Mate, Node, mate
from rules.question import PathQuestion, Stage, Want
from tests.unit.catalogs import (
    DAY,
    all_of_kind,
    amplifier,
    bike,
    bundle,
    flash,
    harness,
    one,
    only,
    part,
    power_kit,
    preset,
    prices,
    ring,
    rule,
    shop,
    speaker,
)

AUTUMN = date(2030, 10, 1)
LATER = date(2031, 10, 1)

LIST = prices(
    "list-2030",
    date(2030, 1, 1),
    date(2030, 12, 31),
    {
        "petrel": 9_000,
        "dunlin": 4_000,
        "spacer-ring": 900,
        "front-set": 9_500,
        "fulmar": 30_000,
        "front-harness": 8_000,
        "power-kit": 6_000,
        "bench-preset": 3_000,
        "old-preset": 3_001,
        "rear-flash": 5_000,
        "damping": 700,
    },
    resale={"works-pods": 500, "dunlin": 300},
)
FACTS = {"charging_headroom_a": 20.0, "fairing_most_kg": 4.0}


def goods() -> list[Any]:
    """Give parts and rules of every kind that a path can meet."""
    return [
        speaker(mass_kg=1.0, tags=("pod",)),
        speaker("dunlin", rms=25.0, mass_kg=0.5, tags=("pod",)),
        ring(),
        bundle("front-set", "petrel", "spacer-ring"),
        amplifier(mass_kg=2.0, watts=25.0),
        harness(),
        power_kit(),
        preset(),
        preset("old-preset"),
        flash(),
        part("damping", "ring", "ring"),
        *(rule(ChannelLimit, x, limit=x) for x in ("lowest_impedance", "speaker_power", "bridge")),
        *(rule(SupplyLimit, x, limit=x) for x in ("fuse", "ampacity", "charging")),
        rule(SupplyLimit, "voltage_drop", limit="voltage_drop", most=0.5),
        rule(MassLimit, "fairing_too_heavy", at=("dash", "pods", "tray"), fact="fairing_most_kg"),
        rule(PresetChain, "preset_needed", subject=all_of_kind("amplifier")),
        work("screen_off", None, 10),
        work("fit_speaker", "add", 30, all_of_kind("speaker"), after=("screen_off",)),
        work("take_out_speaker", "remove", 15, all_of_kind("speaker"), after=("screen_off",)),
        work("fit_amplifier", "add", 60, only("fulmar"), after=("screen_off",)),
        work("move_plugs", "replug", 5, all_of_kind("head_unit")),
        work("read_the_noise_floor", "preset", 12, only("fulmar")),
    ]


def work(name: str, action: str | None, minutes: int, subject: Any = None, **more: Any) -> Operation:
    return rule(Operation, name, action=action, minutes=minutes, subject=subject, **more)  # type: ignore[no-any-return]


def the_shop(*more: Any, on: Bike | None = None, without: tuple[str, ...] = ()) -> Catalog:
    """Give the shop with more goods, or with others of the same name, and without some."""
    named = {x.id: x for x in [*goods(), *more] if x.id not in without}
    return shop(*named.values(), on=on or bike(facts=dict(FACTS)), lists=(LIST,))


QUESTION = PathQuestion(
    bike="curlew",
    stages=(Stage(on=DAY, budget=20_000), Stage(on=AUTUMN)),
    wants=(
        Want(parts=("petrel",), place="pods", by=1),
        Want(parts=("spacer-ring",), by=1),
        Want(parts=("fulmar",)),
    ),
)


def planned(catalog: Catalog, question: PathQuestion) -> Plan:
    """Plan, and make sure that there is a plan and that it is right."""
    answer = Engine(catalog).path(question)
    assert isinstance(answer, Plan), answer
    assert not checked(catalog, question, answer)
    return answer


def checked(catalog: Catalog, question: PathQuestion, plan: Plan) -> tuple[Fault, ...]:
    return Checker(Index(catalog)).check(question, plan)


@cache
def good() -> Plan:
    """Give the plan that most tests spoil: speakers and ring in spring, the amplifier in autumn."""
    return planned(the_shop(), QUESTION)


def asked(**more: Any) -> PathQuestion:
    return replace(QUESTION, **more)


# --- ways to spoil what a plan says -------------------------------------------------------------------------------


def with_visit(plan: Plan, number: int, **more: Any) -> Plan:
    """Give the plan with a visit that says something else."""
    visits = list(plan.visits)
    visits[number - 1] = replace(visits[number - 1], **more)
    return replace(plan, visits=tuple(visits))


def with_lines(plan: Plan, number: int, change: Callable[[Line], list[Line]]) -> Plan:
    """Give the plan with other lines in a visit, and totals that are their sums: only the lines are wrong."""
    lines = tuple(new for line in plan.visits[number - 1].lines for new in change(line))
    return summed(with_visit(plan, number, lines=lines))


def summed(plan: Plan) -> Plan:
    """Add up the lines anew."""
    visits = []
    for visit in plan.visits:
        resale = -sum(x.total for x in visit.lines if x.kind == "resale")
        visits.append(replace(visit, resale=resale, spent=sum(x.total for x in visit.lines) + resale))
    return replace(
        plan,
        visits=tuple(visits),
        spent=sum(x.spent for x in visits),
        resale=sum(x.resale for x in visits),
    )


def with_mates(plan: Plan, number: int, lose: tuple[str, ...] = (), gain: tuple[str, ...] = ()) -> Plan:
    """Give the plan with other mates after a visit; a mate is written `PLUG = PLUG`."""
    wiring = plan.visits[number - 1].wiring
    assert wiring is not None
    lost = {a_mate(text) for text in lose}
    assert lost <= wiring, (lost, sorted(map(written, wiring)))
    return with_visit(plan, number, wiring=frozenset((wiring - lost) | {a_mate(text) for text in gain}))


def a_mate(text: str) -> Mate:
    first, _, second = text.partition(" = ")
    return mate(Node.named(first), Node.named(second))


def written(pair: Mate) -> str:
    return f"{pair[0]} = {pair[1]}"


def with_more(plan: Plan, number: int, *texts: str, lost: tuple[str, ...] = ()) -> Plan:
    """Give the plan with more parts coming in at a visit, or fewer, and builds that follow from it."""
    visits = list(plan.visits)
    come, gone = {one(text) for text in texts}, {one(text) for text in lost}
    adds = tuple(sorted((set(visits[number - 1].adds) | come) - gone))
    visits[number - 1] = replace(visits[number - 1], adds=adds)
    for at in range(number - 1, len(visits)):
        visits[at] = replace(visits[at], build=(visits[at].build | come) - gone)
    last = visits[-1].build
    visits = [replace(x, stays=tuple(y for y in x.adds if y in last)) for x in visits]
    return replace(plan, visits=tuple(visits))


def without(kind: str, about: str) -> Callable[[Line], list[Line]]:
    return lambda line: [] if (line.kind, line.about) == (kind, about) else [line]


def dearer(kind: str, about: str, by: int = 1) -> Callable[[Line], list[Line]]:
    return lambda line: [
        replace(line, total=line.total + by) if (line.kind, line.about) == (kind, about) else line
    ]


@dataclass(frozen=True, slots=True)
class Spoiled:
    """A clause, the visit in which it is broken, and how: a catalog, a question and a plan, one of them spoiled."""

    clause: Clause
    visit: int | None
    plan: Callable[[], Plan] = good
    catalog: Callable[[], Catalog] = the_shop
    question: PathQuestion = QUESTION
    why: str = ""

    def __str__(self) -> str:
        return f"{self.clause.value} {self.why}".strip().replace(" ", "-")


def assert_named(spoiled: Spoiled) -> None:
    """The checker names the clause in the visit."""
    found = checked(spoiled.catalog(), spoiled.question, spoiled.plan())
    named = {(fault.visit, fault.clause) for fault in found}
    assert (spoiled.visit, spoiled.clause) in named, sorted(map(str, found))
