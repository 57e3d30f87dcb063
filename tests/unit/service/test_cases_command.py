"""`loomway cases` says the same however many processes ask."""

from __future__ import annotations

import pytest

from service.terminal.cases import ask_cases
from service.terminal.reading import open_catalog
from tests.diagnostics.base import FILES, write


@pytest.mark.parametrize("as_json", [False, True])
def test_failing_cases_are_told_in_the_same_order_however_many_processes_ask(tmp_path, capsys, as_json):
    sound = FILES["cases/fronts.yaml"]
    many = sound.replace("heron-2018-plain", "heron-2019-plain") + "".join(
        f"""
  - name: case {number}
    why: the pod was tried
    kind: fit
    bike: heron-{2018 + number % 4}-plain
    part: tern_pod
    place: pods
    date: 2026-05-01
    verdict: does_not_fit
"""
        for number in range(12)
    )
    shop = open_catalog(write(tmp_path, dict(FILES) | {"cases/fronts.yaml": many}))
    assert ask_cases(shop, jobs=1, as_json=as_json) == 1
    alone = capsys.readouterr()
    assert ask_cases(shop, jobs=3, as_json=as_json) == 1
    assert capsys.readouterr() == alone
    assert "case 11" in alone.out + alone.err
