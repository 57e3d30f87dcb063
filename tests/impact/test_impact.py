"""The impact of a release is exactly what asking everything in both releases finds, and what nobody acknowledged is known."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path
from random import Random

import pytest

from rules.catalog.catalog import Catalog
from rules.impact import Impact, groups, impact, read_acknowledgements, unacknowledged
from rules.impact.compare import days_that_matter
from rules.load import load_catalog
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
