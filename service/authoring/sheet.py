"""Edits of one file that leave every other letter of it as it is: comments, order, line breaks, quotes.

A round trip through a YAML library keeps comments, and yet joins mappings that stand on two lines and moves lists; see
the decision on edits in docs/decisions. So an edit replaces or inserts the text of one value, where the parser says that it stands.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import yaml

from service.authoring.refusal import CannotWrite

Step = str | int


class CannotEdit(CannotWrite):
    """A file is not written in a form that an edit by program can extend. Its text says what to do by hand."""


class _Plain(yaml.SafeLoader):
    """YAML in which all scalars are text: only their places are looked at."""

    yaml_implicit_resolvers = {}  # noqa: RUF012 -- PyYAML declares it so


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
        node = self._there(path)
        return Sheet(self.text[: node.start_mark.index] + written + self.text[node.end_mark.index :])

    def with_key(self, path: tuple[Step, ...], name: str, written: str) -> Sheet:
        """Add a key with a value on one line at the end of a mapping."""
        node = self._there(path)
        if not isinstance(node, yaml.MappingNode):
            raise CannotEdit(f"{_shown(path)} is no mapping")
        entry = f"{name}: {written}"
        if node.flow_style:
            return self._inserted(node.end_mark.index - 1, f"{', ' if node.value else ''}{entry}")
        indent = node.value[0][0].start_mark.column
        return self._with_lines(node, f"{' ' * indent}{entry}\n")

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
        return self._with_lines(node, lines)

    def _there(self, path: tuple[Step, ...]) -> yaml.Node:
        node = self.find(*path)
        if node is None:
            raise CannotEdit(f"the file has no {_shown(path)}")
        return node

    def _with_lines(self, node: yaml.Node, lines: str) -> Sheet:
        """Insert lines after the one on which a value ends, with the line ends that the file has."""
        end = _end(node)
        at = end if self.text[:end].endswith("\n") else self.text.find("\n", end) + 1
        before = self.text[:at] if at else f"{self.text}\n"
        ends = "\r\n" if "\r\n" in self.text else "\n"
        return Sheet(before + lines.replace("\n", ends) + self.text[len(before) if at else len(self.text) :])

    def _inserted(self, index: int, text: str) -> Sheet:
        return Sheet(self.text[:index] + text + self.text[index:])


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
