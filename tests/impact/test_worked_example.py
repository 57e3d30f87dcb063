"""A copy of the demo gains a model year that renames a plug and narrows a pod: the impact is what asking anew finds."""

from __future__ import annotations

from tests.impact.changes import NEW_YEAR
from tests.impact.worked_example import BEFORE, NEW, catalogs, compare


def test_the_new_year_renames_a_plug_narrows_a_pod_and_takes_few_lines(tmp_path):
    old, new = catalogs(tmp_path / "catalog")
    before, after = old.bikes[BEFORE].has, new.bikes[NEW].has
    assert before.loom.connectors["pods"].map != after.loom.connectors["pods"].map
    pods = "fairing_pods"
    depths = [has.places[pods].geometry["depth_mm"] for has in (before, after)]
    assert depths == [72, 63]
    assert len(NEW_YEAR.splitlines()) <= 15


def test_the_impact_tells_exactly_the_answers_that_asking_anew_finds_changed(tmp_path):
    # Some of the parts; `python -m tests.impact.worked_example` asks of all.
    found = compare(*catalogs(tmp_path / "catalog"), every=29, others=5)
    assert found.told
    assert (found.missing, found.extra) == (frozenset(), frozenset())
