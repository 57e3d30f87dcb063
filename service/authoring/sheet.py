"""Edits of one file that leave every other letter of it as it is: comments, order, line breaks, quotes.

A round trip through a YAML library keeps comments, and yet joins mappings that stand on two lines and moves lists; see
the decision on edits in docs/decisions. So an edit replaces or inserts the text of one value, where the parser says that it stands.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import yaml

from service.authoring.refusal import CannotWrite

Step = str | int


class CannotEdit(CannotWrite):
    """A file is not written in a form that an edit by program can extend. Its text says what to do by hand."""


class _Plain(yaml.SafeLoader):
    """YAML in which all scalars are text: only their places are looked at."""

    yaml_implicit_resolvers = {}  # noqa: RUF012 -- PyYAML declares it so


class Edit(NamedTuple):
    """A stretch of a text, by letters from 0, and what is to stand there instead."""

    start: int
    end: int
    text: str


@dataclass(frozen=True)
class Sheet:
    """The text of one file, with where its values stand. Each edit gives a new sheet."""

    text: str

    @cached_property
    def root(self) -> yaml.Node:
        """The whole document."""
        try:
            node = yaml.compose(self.text, _Plain)
        except yaml.YAMLError as error:
            raise CannotEdit("the file is not YAML; `loomway check` says where") from error
        if node is None:
            raise CannotEdit("the file is empty")
        return node

    def find(self, *path: Step) -> yaml.Node | None:
        """Give a value, or None if there is none."""
        node: yaml.Node | None = self.root
        for step in path:
            node = _below(node, step)
        return node

    def value(self, *path: Step) -> str | None:
        """Give a scalar as text."""
        node = self.find(*path)
        return str(node.value) if isinstance(node, yaml.ScalarNode) else None

    def replaced(self, path: tuple[Step, ...], written: str) -> Sheet:
        """Replace one value.

        Args:
            written: The new value as it is to stand in the file.
        """
        return self.edited([self.replacing(path, written)])

    def with_key(self, path: tuple[Step, ...], name: str, written: str) -> Sheet:
        """Add a key with a value on one line at the end of a mapping."""
        return self.edited([self.adding(path, {name: written})])

    def with_item(self, path: tuple[Step, ...], written: str) -> Sheet:
        """Add lines at the end of a list.

        Args:
            written: The lines of the new member, not indented, each with its line end.
        """
        node = self._there(path)
        if not isinstance(node, yaml.SequenceNode) or node.flow_style or not node.value:
            raise CannotEdit(
                f"write {_shown(path)} as a list with each member on lines of its own, after `- `"
            )
        indent = " " * node.start_mark.column
        lines = "".join(
            f"{indent}{line}" if line.strip() else line for line in written.splitlines(keepends=True)
        )
        return self.edited([self._inserting_lines(node, lines)])

    def replacing(self, path: tuple[Step, ...], written: str) -> Edit:
        """Give the edit that replaces one value."""
        node = self._there(path)
        return Edit(node.start_mark.index, node.end_mark.index, written)

    def adding(self, path: tuple[Step, ...], entries: Mapping[str, str]) -> Edit:
        """Give the edit that adds keys, each with a value on one line, at the end of a mapping."""
        node = self._there(path)
        if not isinstance(node, yaml.MappingNode):
            raise CannotEdit(f"{_shown(path)} is no mapping")
        written = [f"{name}: {value}" for name, value in entries.items()]
        if node.flow_style:
            at = node.end_mark.index - 1
            return Edit(at, at, (", " if node.value else "") + ", ".join(written))
        indent = " " * node.value[0][0].start_mark.column
        return self._inserting_lines(node, "".join(f"{indent}{entry}\n" for entry in written))

    def edited(self, edits: Iterable[Edit]) -> Sheet:
        """Give the sheet after edits, all made for this one; those at one place in their order."""
        pieces, at = [], 0
        for edit in sorted(edits, key=lambda edit: edit.start):
            pieces += [self.text[at : edit.start], edit.text]
            at = edit.end
        return Sheet("".join([*pieces, self.text[at:]]))

    def _there(self, path: tuple[Step, ...]) -> yaml.Node:
        node = self.find(*path)
        if node is None:
            raise CannotEdit(f"the file has no {_shown(path)}")
        return node

    def _inserting_lines(self, node: yaml.Node, lines: str) -> Edit:
        """Give the edit that inserts lines after the one on which a value ends, with the file's own line ends."""
        end = _end(node)
        at = end if self.text[:end].endswith("\n") else self.text.find("\n", end) + 1
        ends = "\r\n" if "\r\n" in self.text else "\n"
        inserted = lines.replace("\n", ends)
        return Edit(at, at, inserted) if at else Edit(len(self.text), len(self.text), ends + inserted)


def _below(node: yaml.Node | None, step: Step) -> yaml.Node | None:
    if isinstance(node, yaml.MappingNode):
        return next((value for name, value in node.value if name.value == step), None)
    if isinstance(node, yaml.SequenceNode) and isinstance(step, int):
        return node.value[step] if -len(node.value) <= step < len(node.value) else None
    return None


def _end(node: yaml.Node) -> int:
    """Give where the last letter of a value ends; comments after it do not count."""
    if isinstance(node, yaml.CollectionNode) and not node.flow_style and node.value:
        last = node.value[-1]
        return max(_end(part) for part in (last if isinstance(last, tuple) else (last,)))
    return int(node.end_mark.index)


def _shown(path: tuple[Step, ...]) -> str:
    return "`" + ".".join(str(step) for step in path) + "`" if path else "the file"
