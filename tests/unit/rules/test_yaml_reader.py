"""The strict reader: values, places, and what it refuses."""

from __future__ import annotations

import pytest
import yaml

from rules import yaml_reader
from rules.diagnostics import Collector, Span
from rules.yaml_nodes import Mapping, find, key_span, plain, scalars, value_span
from rules.yaml_reader import MOST_NESTED, decode, read_yaml
from rules.yaml_scalars import Refusal, read_plain


def read(text: str) -> tuple[Mapping, list[str]]:
    collector = Collector()
    node = read_yaml(text, "f.yaml", collector)
    assert isinstance(node, Mapping)
    return node, codes(collector)


def codes(collector: Collector) -> list[str]:
    return [found.code for found in collector.sorted({})]


@pytest.mark.parametrize(
    ("word", "value"),
    [
        ("0", 0),
        ("62", 62),
        ("-3", -3),
        ("6.50", 6.5),
        ("0.5", 0.5),
        ("true", True),
        ("false", False),
        ("2016-2019", "2016-2019"),
        ("2026-01-31", "2026-01-31"),
        ("1/2", "1/2"),
        ("4-ohm", "4-ohm"),
        ("-", "-"),
        ("none", "none"),
        ("yesterday", "yesterday"),
        ("absent", "absent"),
        ("3.2.1", "3.2.1"),
    ],
)
def test_an_unquoted_word_is_read_by_the_catalog_s_own_rules(word, value):
    read_value = read_plain(word)
    assert (read_value, type(read_value)) == (value, type(value))


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("y Y n N yes Yes YES no No NO on On ON off Off OFF True TRUE False FALSE", "boolean-word"),
        ("~ null Null NULL", "no-value"),
        ("010 0o17 -07 00 0_1", "octal-number"),
        ("12:30 1:30:59 190:20:30.15 -1:20", "base-60-number"),
        (".inf -.INF +.Inf .nan .NaN", "not-a-number"),
        ("1000000000000000 123456789.1234567", "huge-number"),
        ("+5 1_000 0x1F 0b11 1e3 1.5E-3 .5 5. 1.e2 +.5", "unclear-number"),
    ],
)
def test_words_without_an_agreed_meaning_are_refused(words, code):
    for word in words.split():
        refused = read_plain(word)
        assert isinstance(refused, Refusal), word
        assert refused.code.name == code, word


@pytest.mark.parametrize("word", ["yes", "~", "010", "12:30", ".inf", "1e3", "62", "true", "absent"])
def test_a_quoted_word_is_always_text(word):
    node, found = read(f"a: '{word}'\nb: \"{word}\"\n")
    assert plain(node) == {"a": word, "b": word}
    assert found == []
    assert all(scalar.quoted for scalar in scalars(node))


def test_keys_are_sorted_so_that_their_order_never_reaches_an_answer():
    assert list(plain(read("b: 1\na: 2\nc: {z: 1, y: 2}\n")[0])) == ["a", "b", "c"]  # type: ignore[call-overload]


def test_places_of_keys_and_values_are_known():
    node, _ = read("name: Tern\nspec:\n  depth_mm: 58.0\n  tags: [a, 'b c']\n")
    assert value_span(node, "name") == Span("f.yaml", 1, 7, 11)
    assert key_span(node, "spec", "depth_mm") == Span("f.yaml", 3, 3, 11)
    assert value_span(node, "spec", "depth_mm") == Span("f.yaml", 3, 13, 17)
    assert value_span(node, "spec", "tags", 1) == Span("f.yaml", 4, 13, 18)
    assert value_span(node, "spec", "missing", "deeper") == Span("f.yaml", 2, 1, 5)
    assert key_span(node, "spec", "missing") == Span("f.yaml", 2, 1, 5)


def test_a_path_is_followed_as_far_as_it_goes():
    node, _ = read("a: {b: [1, 2]}\n")
    found, left = find(node, ("a", "b", 5))
    assert plain(found) == [1, 2]
    assert left == (5,)


def test_a_text_over_several_lines_is_shown_by_its_first():
    node, _ = read("a: one\n  two\nb: |\n  three\n  four\n")
    assert value_span(node, "a") == Span("f.yaml", 1, 4, 7)
    assert value_span(node, "b") == Span("f.yaml", 3, 4, 5)
    assert plain(node) == {"a": "one two", "b": "three\nfour\n"}


def test_every_fault_of_a_file_is_reported():
    text = "a: yes\na: 1\n<<: {x: 1}\nb: &x 1\nc: *x\nd: !!str 1\n4: 1\ne:\nf: [~, 010]\n"
    _, found = read(text)
    assert found == [
        "boolean-word",
        "duplicate-key",
        "merge-key",
        "yaml-anchor",
        "yaml-alias",
        "yaml-tag",
        "key-not-text",
        "no-value",
        "no-value",
        "octal-number",
    ]


def test_the_first_of_two_equal_keys_is_kept_for_further_checks():
    assert plain(read("a: 1\na: 2\n")[0]) == {"a": 1}


@pytest.mark.parametrize(("depth", "expected"), [(MOST_NESTED, []), (MOST_NESTED + 1, ["too-deep"])])
def test_nesting_has_a_limit(depth, expected):
    collector = Collector()
    read_yaml("[" * depth + "]" * depth, "f.yaml", collector)
    assert codes(collector) == expected


def test_aliases_that_would_multiply_are_not_followed():
    lines = ["a0: &a0 [x, x]"] + [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 30)]
    _, found = read("\n".join(lines))
    assert set(found) == {"yaml-anchor", "yaml-alias"}


@pytest.mark.parametrize("text", ["", "# nothing\n", "\n\n"])
def test_a_file_without_entries_is_refused(text):
    collector = Collector()
    assert read_yaml(text, "f.yaml", collector) is None
    assert codes(collector) == ["empty-file"]


def test_a_file_full_of_control_characters_is_reported_in_a_few_lines():
    collector = Collector()
    assert read_yaml("\x00" * 5_000, "f.yaml", collector) is None
    assert codes(collector) == ["control-character"] * 10


@pytest.mark.parametrize("hidden", ["\x00", "\x7f", "\x85", "\u2028", "\u202e", "\ufeff", "\r"])
def test_characters_that_hide_or_move_text_are_refused(hidden):
    collector = Collector()
    assert read_yaml(f"a: b{hidden}c\n", "f.yaml", collector) is None
    assert [(found.code, found.span) for found in collector.sorted({})] == [
        ("control-character", Span("f.yaml", 1, 5, 6))
    ]


def test_bytes_that_are_no_text_are_shown_by_line_and_letter():
    collector = Collector()
    assert decode("ab: ü\nü: ".encode() + b"\xff", "f.yaml", collector) is None
    assert [(found.code, found.span) for found in collector.sorted({})] == [
        ("not-utf-8", Span("f.yaml", 2, 4, 5))
    ]


@pytest.mark.parametrize("text", ["a: [1", "a: b: c\n", "a: @x\n", "\ta: 1\n", "a: 1\n  b: 2\n", "'"])
def test_what_is_no_yaml_is_reported_once(text):
    collector = Collector()
    assert read_yaml(text, "f.yaml", collector) is None
    assert codes(collector) == ["yaml-syntax"]


@pytest.mark.parametrize(
    "text", ["a: 1\nb: [x, {c: yes}]\n", "a: [1\nb: 2\n", "a: 'x\n", "é: &x {y: !!str z}\n"]
)
def test_the_slow_parser_gives_the_same_tree_and_codes(text, monkeypatch):
    fast = Collector()
    tree = read_yaml(text, "f.yaml", fast)
    monkeypatch.setattr(yaml_reader, "_LOADER", yaml.SafeLoader)
    slow = Collector()
    assert read_yaml(text, "f.yaml", slow) == tree
    assert codes(slow) == codes(fast)
