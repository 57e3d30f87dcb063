"""A catalog is served only after it has passed every step; whatever fails, what was served is served on."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any, cast

import pytest

from rules.impact import Acknowledgement
from rules.question import PathQuestion, Stage, Want
from service.plans.keeper import Kept as PlanKept
from service.plans.keeper import PlanKeeper
from service.releasing.examine import Run, here
from service.releasing.manager import ROLL_BACK
from service.releasing.outcome import Kept, Refused, UnknownHold, UnknownKept
from service.serving import Serving
from service.store.creation import creation_of
from service.store.database import Database
from service.store.errors import DamagedRelease
from service.store.events import Event, Overtaken
from service.store.releases import ReleaseStore
from service.store.schema import releases
from tests.releasing.shelves import (
    AT,
    BIKE,
    BROKEN,
    FAILING,
    FIRST,
    PART,
    PLACE,
    SECOND,
    TODAY,
    WITHOUT_CASES,
    changed,
    changes,
    keep,
    manager,
    priced,
    release_of,
    serve,
    wanted,
)


def test_a_sound_catalog_is_kept_with_what_it_holds_and_not_served_yet(database: Database) -> None:
    outcome = manager(database).take_in(FIRST, "the first")
    assert isinstance(outcome, Kept)
    assert outcome.is_new
    assert outcome.release.counts["parts"] > 0
    assert (outcome.release.kept_by, outcome.release.kept_at) == ("Sunniva", AT)
    assert manager(database).history.standing().release is None


def test_the_same_catalog_twice_is_the_same_release(database: Database) -> None:
    keep(database, FIRST)
    outcome = manager(database, by="Odd").take_in(FIRST, "")
    assert isinstance(outcome, Kept)
    assert not outcome.is_new
    assert outcome.release.kept_by == "Sunniva"


def test_a_catalog_with_errors_is_refused_with_all_of_them(database: Database) -> None:
    first = serve(database, FIRST)
    outcome = manager(database, by="Odd").take_in(BROKEN, "new grilles")
    assert isinstance(outcome, Refused)
    assert outcome.step == "check"
    assert outcome.diagnostics[0].span.file == "parts/curlew.yaml"
    standing = manager(database).history.standing()
    assert standing.release == first
    assert standing.refused
    assert (standing.refused.by, standing.refused.why) == ("Odd", "new grilles")
    assert standing.refused.detail.startswith("check: ")
    assert "curlew.yaml" not in standing.refused.detail, "anybody may read this"


def test_what_is_no_archive_is_refused(database: Database) -> None:
    outcome = manager(database).take_in(FIRST[: len(FIRST) // 2], "")
    assert isinstance(outcome, Refused)
    assert (outcome.step, outcome.release) == ("files", None)


@pytest.mark.parametrize(("archive", "says"), [(FAILING, "1 case of 1"), (WITHOUT_CASES, "no cases")])
def test_a_release_whose_cases_do_not_speak_for_it_is_not_served(
    database: Database, archive: bytes, says: str
) -> None:
    first = serve(database, FIRST)
    other = keep(database, archive)
    outcome = manager(database).activate(other, "because")
    assert isinstance(outcome, Refused)
    assert outcome.step == "cases"
    assert says in outcome.says
    assert manager(database).history.standing().release == first


def test_a_release_is_served_with_who_when_and_why(database: Database) -> None:
    release = keep(database, FIRST)
    event = manager(database, by="Odd").activate(release, "new prices")
    assert isinstance(event, Event)
    assert (event.release, event.by, event.at, event.why) == (release, "Odd", AT, "new prices")


def test_cases_are_asked_once_under_one_revision_of_the_engine(database: Database) -> None:
    release = serve(database, FIRST)
    serve(database, SECOND)

    def fail(*_: Any, **__: Any) -> Any:
        raise AssertionError("asked again")

    serve(database, FIRST)
    event = replace(manager(database), run=fail).activate(release, "the same again")
    assert isinstance(event, Event)


def test_a_release_waits_until_somebody_wants_every_answer_that_it_changes(database: Database) -> None:
    first, second = serve(database, FIRST), keep(database, SECOND)
    outcome = manager(database).activate(second, "new prices", on=TODAY)
    assert isinstance(outcome, Refused)
    assert outcome.step == "impact"
    assert outcome.impact
    (group,) = outcome.impact.groups
    assert "9900 becomes 9800" in group.because[0]
    assert group.money == (-100, -100)
    assert not group.is_acknowledged
    assert manager(database).history.standing().release == first
    known = Acknowledgement(change=group.change, who="Odd", on=TODAY, why="agreed with the maker")
    event = manager(database).activate(second, "new prices", on=TODAY, acknowledgements=(known,))
    assert isinstance(event, Event)


def test_the_impact_lists_the_saved_plans_that_would_not_stand_as_they_were_made(database: Database) -> None:
    serve(database, FIRST)
    question = PathQuestion(
        bike=BIKE, stages=(Stage(on=date(2027, 5, 1)),), wants=(Want(parts=(PART,), place=PLACE),)
    )
    other = replace(question, bike="bittern-2021-plain", wants=(Want(parts=("curlew-grille",), place=PLACE),))
    keeper = PlanKeeper(database=database, by="Solveig")
    serving = Serving.of(release_of(FIRST))
    kept = [
        keeper.make(asked, serving, TODAY, creation_of("Solveig", word, word))
        for word, asked in (("one", question), ("other", other))
    ]
    seen = manager(database).impact(
        keep(database, SECOND), manager(database).history.standing().release or "", TODAY
    )
    (stands,) = seen.plans.changed
    assert (seen.plans.looked_at, seen.plans.touched) == (2, 1)
    assert isinstance(kept[0], PlanKept)
    assert (stands.plan, stands.bike, stands.word) == (kept[0].plan.id, BIKE, "cheaper_now")
    assert stands.now == stands.planned - 100
    deeper = changed("parts/curlew.yaml", "depth_mm: 41", "depth_mm: 91")
    seen = manager(database).impact(
        keep(database, deeper), manager(database).history.standing().release or "", TODAY
    )
    (stands,) = seen.plans.changed
    assert (stands.word, stands.visit, stands.now) == ("no_path", None, None)
    assert stands.because == (f"clearance: speaker_too_deep {PART}@{PLACE}",)


def test_an_acknowledgement_of_another_change_does_not_count(database: Database) -> None:
    serve(database, FIRST)
    third = keep(database, priced(9_700))
    known = changes(database, keep(database, SECOND))
    outcome = manager(database).activate(third, "new prices", on=TODAY, acknowledgements=known)
    assert isinstance(outcome, Refused)
    assert outcome.step == "impact"


def test_a_release_that_changes_no_answer_needs_no_acknowledgement(database: Database) -> None:
    serve(database, FIRST)
    other = keep(database, changed("parts/curlew.yaml", "name: Curlew grilles", "name: Curlew grille pair"))
    assert isinstance(manager(database).activate(other, "a better name", on=TODAY), Event)


def test_an_unknown_release_is_not_served(database: Database) -> None:
    release = keep(database, FIRST)
    with pytest.raises(UnknownKept) as caught:
        manager(database).activate(release[:-1] + "x", "because")
    assert caught.value.nearest == (release,)


def test_of_two_managers_at_once_the_second_is_told(database: Database) -> None:
    first, second, third = (keep(database, x) for x in (FIRST, SECOND, priced(9_700)))
    manager(database).activate(first, "")
    known = changes(database, second)

    def while_cases_are_asked(step: Any, *args: Any) -> Any:
        if manager(database).history.standing().release == first:
            wanted(database, third, by="Odd")
        return here(step, *args)

    slow = replace(manager(database), run=cast("Run", while_cases_are_asked))
    with pytest.raises(Overtaken) as caught:
        slow.activate(second, "", on=TODAY, acknowledgements=known)
    assert caught.value.standing.release == third
    assert manager(database).history.standing().release == third


def test_a_manager_who_looked_at_another_release_is_told(database: Database) -> None:
    first = serve(database, FIRST)
    second = serve(database, SECOND)
    with pytest.raises(Overtaken):
        manager(database).activate(first, "", instead_of=first)
    assert manager(database).history.standing().release == second


def test_one_command_goes_back_and_another_goes_forth(database: Database) -> None:
    first, second = serve(database, FIRST), serve(database, SECOND)
    assert manager(database).roll_back("wrong price").release == first
    assert manager(database).roll_back("no, it was right").release == second


def test_one_can_go_back_to_any_of_the_last_twenty(database: Database) -> None:
    served = [serve(database, priced(amount)) for amount in range(9_000, 9_000 + ROLL_BACK + 2)]
    with pytest.raises(UnknownKept):
        manager(database).roll_back("", to=served[0])
    for release in served[1:-1]:
        assert manager(database).roll_back("", to=release).release == release
    assert manager(database).history.standing().release == served[-2]


def test_there_is_nothing_to_go_back_to_at_first(database: Database) -> None:
    with pytest.raises(UnknownKept):
        manager(database).roll_back("")
    first = serve(database, FIRST)
    with pytest.raises(UnknownKept):
        manager(database).roll_back("")
    with pytest.raises(UnknownKept):
        manager(database).roll_back("", to=first)


def test_one_cannot_go_back_to_what_was_never_served(database: Database) -> None:
    serve(database, FIRST)
    second = keep(database, SECOND)
    with pytest.raises(UnknownKept):
        manager(database).roll_back("", to=second)


def test_one_does_not_go_back_to_a_damaged_release(database: Database) -> None:
    first, second = serve(database, FIRST), serve(database, SECOND)
    with database.writing() as connection:
        connection.execute(releases.update().where(releases.c.id == first).values(archive=b"x"))
    with pytest.raises(DamagedRelease):
        manager(database).roll_back("")
    assert manager(database).history.standing().release == second


def test_a_release_of_another_form_is_read_from_its_files(database: Database) -> None:
    release = keep(database, FIRST)
    store = ReleaseStore(database)
    archive = store.archive(release)
    assert archive
    store.keep("r-old", archive=archive, stored=b'{"form":0}', counts={}, by="", at=AT)
    assert isinstance(manager(database).activate("r-old", "kept by an older version"), Event)


def test_a_hold_that_is_not_set_cannot_be_lifted(database: Database) -> None:
    number = manager(database).hold("curlew-slim", "loose cones", TODAY, TODAY + timedelta(days=9)).number
    with pytest.raises(UnknownHold):
        manager(database).lift(number + 1, "")
    manager(database).lift(number, "checked")
    assert manager(database).history.standing().holds == ()
