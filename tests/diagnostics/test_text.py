"""The exact text of some diagnostics, in full, in one line, and as data."""

from __future__ import annotations

import json

import pytest

from rules.diagnostics import Diagnostic, Span, full, one_line, to_dict
from tests.diagnostics.fault import check
from tests.diagnostics.faults import FAULTS

FULL = {
    "a host that is not there": """\
parts/tern.yaml:61:12: error[unknown-part]: part `tern_flash` names part `old_rado`, \
which is not in the catalog
   61 |     host: [old_rado]
      |            ^^^^^^^^
  why: what is said of a missing part never applies, and the shop would sell around it
  hint: did you mean `old_radio`, defined at parts/works.yaml:5?""",
    "a misspelt key": """\
parts/tern.yaml:12:5: error[unknown-key]: this entry has no key `mas_kg`
   12 |     mas_kg: 1.2
      |     ^^^^^^
  why: a misspelt key would be ignored, and what it says would be lost
  hint: did you mean `mass_kg`?""",
    "a cable without its area": """\
parts/tern.yaml:54:5: error[missing-key]: key `area_mm2` is missing here
   54 |     cable: {length_m: 1.5, ampacity_a: 40.0, fuses_a: [20.0, 30.0]}
      |     ^^^^^
  why: without it the entry has no meaning
  hint: add the key `area_mm2`""",
    "a year in two entries": """\
bikes/heron.yaml:45:12: error[span-overlap]: years 2019-2021 overlap 2018-2019 at bikes/heron.yaml:18
   45 |   - years: 2019-2021
      |            ^^^^^^^^^
  why: it would not be clear which of them holds
  hint: let one end in the year before the other begins""",
    "two operations that wait for one another": """\
rules/work.yaml:12:5: error[operation-cycle]: cycle: `screen_off` after `seat_off` after `screen_off`
   12 |     after: [seat_off]
      |     ^^^^^
  why: work could not begin anywhere
  hint: take one of them out of an `after` list""",
    "a value that is inherited anyway": """\
bikes/heron.yaml:51:37: warning[no-change]: `depth_mm` has this value already, from bikes/heron.yaml:25
   51 |         pods: {geometry: {depth_mm: 62.0}}
      |                                     ^^^^
  why: a later correction of the inherited value would stop here unseen
  hint: delete the line, or give the value a source of its own with `{value: ..., source: ...}`""",
    "no shop": """\
shop.yaml:1:1: error[missing-file]: this file is missing
  why: all other files build on it
  hint: add the file; docs/authoring.md shows a small one""",
}


@pytest.mark.parametrize("title", FULL)
def test_the_full_form_is_exactly_this(title, tmp_path):
    (fault,) = (fault for fault in FAULTS if fault.title == title)
    fault.seed(tmp_path / "catalog")
    (found,) = check(tmp_path / "catalog")
    assert full(found) == FULL[title]
    assert one_line(found) == FULL[title].split("\n")[0]


def _diagnostic(message: str = "nothing", source_line: str = "name: ~") -> Diagnostic:
    span = Span("shop.yaml", 1, 7, 8)
    return Diagnostic(code="no-value", message=message, span=span, why="w", hint="h", source_line=source_line)


def test_the_same_diagnostic_is_plain_data_for_programs():
    assert json.loads(json.dumps(to_dict(_diagnostic()))) == {
        "code": "no-value",
        "severity": "error",
        "message": "nothing",
        "file": "shop.yaml",
        "line": 1,
        "column": 7,
        "end_column": 8,
        "why": "w",
        "hint": "h",
    }


def test_characters_that_move_the_cursor_are_not_printed():
    shown = full(_diagnostic(message="a\x1b[2Jb\nc\u202e", source_line="na\tme: \x07"))
    assert "\x1b" not in shown
    assert "\u202e" not in shown
    assert shown.count("\n") == 4


def test_of_a_very_long_line_only_the_neighbourhood_is_shown():
    line = "x" * 5_000 + "~" + "y" * 5_000
    found = Diagnostic(
        code="c", message="m", span=Span("f.yaml", 1, 5_001, 5_002), why="w", hint="h", source_line=line
    )
    _, text, caret, _, _ = full(found).split("\n")
    assert len(text) < 200
    assert text[caret.index("^")] == "~"
