"""The guide in docs/authoring.md shows what its commands print, from nothing to a released model year."""

from __future__ import annotations

from tests.docs.guide import PAGE, rehearse


def test_every_command_of_the_guide_prints_what_the_page_shows(tmp_path):
    page = PAGE.read_text(encoding="utf-8")
    typed = list(rehearse(page, tmp_path))
    assert len(typed) > 15
    for one in typed:
        assert one.printed == one.shown, f"$ {one.command}\nrun: python -m tests.docs.guide"
    said = {one.command.partition(" --")[0]: one.printed for one in typed}
    assert " is served.\n" in said["loomway release shop"]
    assert "back to r-" in said["loomway rollback"]
