"""Of which parts a law is as true as of those it was learned from."""

from __future__ import annotations

from rules.bench import Bench
from rules.build import Placement
from rules.desk import Desk
from rules.laws import Law
from rules.tables import Tables
from tests.oracle.small_shop import LOWEST, SPEAKER_POWER, shop, speaker

GOODS = (
    speaker("two-ohm", ohm=2.0),
    speaker("three-ohm", ohm=3.0),
    speaker("four-ohm"),
    speaker("two-ohm-blades", ohm=2.0, plug="blade"),
    speaker("delicate", rms=5.0),
)


def front(name: str) -> Placement:
    return Placement(name, "fairing_pods")


def learned(name: str) -> list[Law]:
    """Put a pair on the stock head unit, which wants 4 ohm and gives 20 W, and give what that teaches."""
    catalog = shop(*GOODS, rules=(LOWEST, SPEAKER_POWER))
    desk = Desk.for_bench(Bench(Tables(catalog), catalog.bikes["plover"]))
    desk.examine(desk.bench.present - {front("stock-front")} | {front(name)})
    return [law for law in desk.hopeful.all() if any(front(name) in group for group in law.groups)]


def spoken_of(laws: list[Law]) -> set[str]:
    return {x.part for law in laws for group in law.groups for x in group if x.place == "fairing_pods"}


def test_an_overload_is_as_true_of_every_pair_with_that_plug_that_loads_no_less():
    assert spoken_of(learned("three-ohm")) == {"two-ohm", "three-ohm"}


def test_it_is_not_true_of_a_lighter_load():
    assert spoken_of(learned("two-ohm")) == {"two-ohm"}


def test_too_much_power_is_true_of_that_pair_alone():
    assert spoken_of(learned("delicate")) == {"delicate"}
