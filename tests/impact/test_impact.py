"""The impact of a release is exactly what asking everything in both releases finds, and what nobody acknowledged is known."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path
from random import Random

import pytest

from rules.build import AsFound, LedgerEntry, Placement
from rules.catalog.catalog import Bike, Catalog
from rules.catalog.condition import Fitted, Not, Selector
from rules.catalog.rule import Excludes, MassLimit, Requires
from rules.impact import Impact, groups, impact, read_acknowledgements, unacknowledged
from rules.impact.compare import days_that_matter
from rules.load import load_catalog
from rules.question import PathQuestion, Stage, Want
from tests.contract.small import DIRECTORY
from tests.impact.everything import Key, answers, changed
from tests.impact.mistakes import with_a_change
from tests.oracle.generate import verdict_instance

ON = date(2026, 5, 1)


def small() -> Catalog:
    return load_catalog(DIRECTORY)


def deeper(catalog: Catalog, part: str, depth: float) -> Catalog:
    spec = {**catalog.parts[part].spec, "depth_mm": depth}
    return replace(
        catalog, parts={**catalog.parts, part: catalog.parts[part].model_copy(update={"spec": spec})}
    )


def priced(catalog: Catalog, part: str, price: int) -> Catalog:
    one = catalog.price_lists[0]
    lists = (one.model_copy(update={"prices": {**one.prices, part: price}}), *catalog.price_lists[1:])
    return replace(catalog, price_lists=lists)


def fits(found: Impact) -> set[Key]:
    return {
        (x.asked.bike or x.asked.before, x.asked.name, x.asked.on or ON, x.asked.fitter or "")
        for x in found.changed
        if x.asked.kind == "fit"
    }


def everything(old: Catalog, new: Catalog, days: Iterable[date]) -> set[Key]:
    chosen = tuple(days)
    return set(changed(answers(old, chosen), answers(new, chosen)))


@pytest.mark.parametrize("seed", [*range(6), 44, 67])
def test_the_impact_of_a_drawn_change_is_what_asking_everything_finds(seed):
    instance = verdict_instance(seed)
    old, on = instance.catalog, instance.question.on
    for draw in range(2):
        new = with_a_change(old, Random(f"{seed} {draw}"))
        days = days_that_matter(old, new, on)
        assert fits(impact(old, new, on)) == everything(old, new, days), f"seed {seed}, draw {draw}"


def test_the_same_catalog_changes_nothing_and_asks_nothing():
    found = impact(small(), small(), ON)
    assert (found.changed, found.asked) == ((), 0)


def test_a_deeper_speaker_changes_its_own_answers_and_names_the_dimension():
    old, new = small(), deeper(small(), "curlew-slim", 90.0)
    found = impact(old, new, ON)
    assert fits(found) == everything(old, new, (ON,))
    (group,) = groups(found)
    assert [str(cause) for cause in group.causes] == [
        "part fact curlew-slim spec.depth_mm: 41.0 becomes 90.0"
    ]
    assert {turn[1] for turn in group.turns} == {"does_not_fit", "not_verified"}


def test_a_dimension_that_decides_nothing_changes_nothing_without_a_question():
    found = impact(small(), deeper(small(), "curlew-slim", 41.1), ON)
    assert (found.changed, found.asked) == ((), 0)


def test_two_changes_at_once_are_told_apart_by_what_each_does_alone():
    old = small()
    new = priced(deeper(old, "curlew-deep", 200.0), "curlew-grille", 3100)
    found = impact(old, new, ON)
    assert fits(found) == everything(old, new, found.days)
    causes = {tuple(str(cause) for cause in group.causes) for group in groups(found)}
    assert ("price 2026 prices.curlew-grille: 2400 becomes 3100",) in causes
    assert ("part fact curlew-deep spec.depth_mm: 52.0 becomes 200.0",) in causes


def with_room_behind(catalog: Catalog, depth: float) -> Catalog:
    """Say how deep the rear pods are, on every bike that has them."""

    def measured(bike: Bike) -> Bike:
        pods = bike.has.places["rear_pods"]
        known = pods.model_copy(update={"geometry": {**pods.geometry, "depth_mm": depth}})
        places = {**bike.has.places, "rear_pods": known}
        return replace(bike, has=bike.has.model_copy(update={"places": places}))

    return replace(catalog, bikes={name: measured(bike) for name, bike in catalog.bikes.items()})


MINDED = Excludes(
    id="minded",
    kind="excludes",
    says="The radio of the works minds a grille, unless slim speakers are fitted too.",
    subject=Selector(part=("bench-radio",)),
    together_with=Selector(part=("curlew-grille",)),
    when=Not(not_=Fitted(fitted=Selector(part=("curlew-slim",)))),
)


def test_a_part_that_a_stock_part_needs_beside_the_asked_one_changes_the_answer_with_its_price():
    known = with_room_behind(small(), 60.0)
    old = replace(known, rules=dict(sorted({**known.rules, MINDED.id: MINDED}.items())))
    new = priced(old, "curlew-slim", 7777)
    found = impact(old, new, ON)
    assert "curlew-grille" in {key[1] for key in everything(old, new, (ON,))}
    assert fits(found) == everything(old, new, found.days)


def test_what_the_riders_own_fitted_part_needs_changes_the_cost_of_another_wish():
    known = with_room_behind(small(), 60.0)
    slim = Requires(
        id="slim_needs_deep",
        kind="requires",
        says="They come together.",
        subject=Selector(part=("curlew-slim",)),
        needs=Selector(part=("curlew-deep",)),
    )
    old = replace(known, rules=dict(sorted({**known.rules, slim.id: slim}.items())))
    fitted = LedgerEntry(placement=Placement("curlew-slim", "rear_pods"))
    question = PathQuestion(
        bike="bittern-2019-plain",
        stages=(Stage(on=ON),),
        wants=(Want(parts=("curlew-grille",), place="fairing_pods"),),
        found=AsFound(fitted=(fitted,)),
    )
    found = impact(old, priced(old, "curlew-deep", 3100), ON, paths={"a grille": question})
    (path,) = (x for x in found.changed if x.asked.kind == "path")
    assert path.money == 3100 - old.price_lists[0].prices["curlew-deep"]


def with_load(catalog: Catalog, kg: float) -> Catalog:
    """Limit what all parts on a bike weigh together."""
    rule = MassLimit(id="whole_load", kind="mass_limit", says="It is too heavy.", fact="load_kg")
    bikes = {
        name: replace(bike, has=bike.has.model_copy(update={"facts": {**bike.has.facts, "load_kg": kg}}))
        for name, bike in catalog.bikes.items()
    }
    return replace(catalog, bikes=bikes, rules=dict(sorted({**catalog.rules, rule.id: rule}.items())))


def test_a_limit_of_all_masses_on_a_bike_changes_the_answers_that_it_decides():
    old, new = with_load(small(), 50.0), with_load(small(), 0.1)
    found = impact(old, new, ON)
    assert fits(found) == everything(old, new, found.days) != set()


def test_money_tells_by_how_much_totals_change():
    found = impact(small(), priced(small(), "curlew-grille", 3100), ON)
    (group,) = groups(found)
    assert group.money == (700, 700)


def test_a_price_of_a_later_list_is_asked_about_on_the_day_on_which_it_begins():
    old = small()
    later = old.price_lists[0].model_copy(
        update={"price_list": "later", "first": date(2029, 1, 1), "last": date(2029, 12, 31)}
    )
    old = replace(old, price_lists=(*old.price_lists, later))
    new = replace(
        old,
        price_lists=(
            old.price_lists[0],
            priced(replace(old, price_lists=(later,)), "curlew-grille", 9900).price_lists[0],
        ),
    )
    found = impact(old, new, ON)
    assert found.days == (ON, date(2029, 1, 1), date(2030, 1, 1))
    assert {x.asked.on for x in found.changed} == {date(2029, 1, 1), date(2030, 1, 1)}


def test_a_case_that_no_longer_comes_out_is_named():
    found = impact(small(), deeper(small(), "curlew-slim", 500.0), ON)
    assert found.failing == tuple(case.name for case in small().cases)


def test_a_change_waits_until_somebody_has_acknowledged_exactly_it():
    old, new = small(), deeper(small(), "curlew-slim", 90.0)
    found = impact(old, new, ON)
    (group,) = unacknowledged(found, ())
    note = {"change": group.fingerprint, "who": "Ilse", "on": "2026-04-30", "why": "The sheet was wrong."}
    known = read_acknowledgements({"acknowledgements": [note]})
    assert unacknowledged(found, known) == ()
    other = impact(old, deeper(small(), "curlew-slim", 91.0), ON)
    assert len(unacknowledged(other, known)) == 1


def test_a_file_of_acknowledgements_without_a_reason_is_refused():
    with pytest.raises(ValueError, match="change, who, on and why"):
        read_acknowledgements({"acknowledgements": [{"change": "c-1", "who": "Ilse", "on": "2026-04-30"}]})


def test_the_command_tells_what_changes_and_stops_a_release(tmp_path, capsys):
    from service.terminal.impact import tell_impact

    new = tmp_path / "new"
    for file in DIRECTORY.rglob("*.yaml"):
        target = new / file.relative_to(DIRECTORY)
        target.parent.mkdir(parents=True, exist_ok=True)
        text = file.read_text(encoding="utf-8")
        target.write_text(text.replace("curlew-grille: 2400", "curlew-grille: 3100"), encoding="utf-8")
    code = tell_impact(Path(DIRECTORY), new, ON, acknowledged=None, jobs=1, as_json=False)
    told = capsys.readouterr().out
    assert code == 1
    assert "because of price 2026 prices.curlew-grille: 2400 becomes 3100" in told
    assert "not acknowledged" in told
