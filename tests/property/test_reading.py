"""A file read quickly is the file read strictly: the same values in the same places, and the same faults."""

from __future__ import annotations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from rules.diagnostics import Collector
from rules.yaml_nodes import Mapping, Node, Scalar, Sequence, plain
from rules.yaml_reader import MOST_NESTED, read_yaml
from tests.diagnostics.base import FILES
from tests.diagnostics.faults import FAULTS
from tests.diagnostics.test_robustness import SCRAPS

MARKS = st.text(alphabet="ab:-[]{},\"'#&*!|>%@` \n\t\\0.1~?<=", max_size=60)
"""Letters of which YAML is made."""


def told(node: Node | None) -> object:
    """Give everything that a tree says, each place too."""
    match node:
        case Scalar():
            return type(node.value), node.value, node.span, node.head, node.quoted
        case Sequence():
            return node.span, node.head, [told(item) for item in node.items]
        case Mapping():
            entries = [(name, entry.key, told(entry.value)) for name, entry in node.entries.items()]
            return node.span, node.head, entries
        case None:
            return None


def read(text: str, *, quickly: bool, look_first: tuple[str, ...] = ()) -> object:
    """Read a text both ways alike. `look_first` are keys that somebody looks at before all else."""
    collector = Collector()
    node = read_yaml(text, "f.yaml", collector, quickly=quickly)
    for key in look_first:
        if isinstance(node, Mapping):
            node.get(key)
    said = None if node is None else plain(node)
    return told(node), repr(said), [(x.code, x.span, x.message) for x in collector.sorted({})]


def assert_both_ways_agree(text: str) -> None:
    strictly = read(text, quickly=False)
    assert read(text, quickly=True) == strictly
    assert read(text, quickly=True, look_first=("name", "id", "parts")) == strictly


@given(MARKS)
@settings(max_examples=400, deadline=None)
@example("")
@example("a")
@example("<<: a")
@example('"<<": a')
@example("a: <<\n<<: b")
@example("a: {b}")
@example("a: {b: 1, b: 2}")
@example('1: a\n"1": b')
@example('a: 1\n"1": 2')
@example("a: '1'\nb: 1\n1: 3")
@example("true: 1")
@example("? [a]\n: b")
@example("? a\n: b")
@example('id: "a"\nname: b\n  c')
@example("name: |\n  a\n  b\n")
@example("name:\n  - id: a\n  - id: [b]\n  - name: {id: c}")
@example("a: 1\n---\nb: 2")
@example("a: 1\n...\n")
@example("%YAML 1.1\n---\na: 1")
@example("a: \\x00")
@example('a: "\\x00"')
@example("[" * MOST_NESTED + "]" * MOST_NESTED)
@example("[" * (MOST_NESTED + 1) + "]" * (MOST_NESTED + 1))
@example("a: b\r\nid: c\r\n")
def test_any_text_reads_alike_both_ways(text):
    assert_both_ways_agree(text)


@given(st.data())
@settings(max_examples=150, deadline=None)
def test_a_catalog_file_with_scraps_in_wrong_places_reads_alike_both_ways(data):
    text = FILES[data.draw(st.sampled_from(sorted(FILES)))]
    for _ in range(data.draw(st.integers(0, 2))):
        start = data.draw(st.integers(0, len(text)))
        text = text[:start] + data.draw(SCRAPS) + text[start + data.draw(st.integers(0, 10)) :]
    assert_both_ways_agree(text)


@pytest.mark.parametrize("name", sorted(FILES))
def test_a_sound_file_reads_alike_both_ways(name):
    assert_both_ways_agree(FILES[name])


def test_files_with_every_seeded_fault_read_alike_both_ways():
    for fault in FAULTS:
        for file, old, new in fault.edits:
            assert_both_ways_agree(FILES[file].replace(old, new))
