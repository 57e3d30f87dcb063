"""Questions in files: the same keys as the API, in YAML."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TypeVar

import yaml
from pydantic import ValidationError

from service.faults import Fault, faults
from service.shapes.base import Asked
from service.shapes.paths import PathAsked
from service.terminal.mistakes import WrongCommand

LARGEST = 1_000_000
"""Bytes; a question by hand has a few hundred."""


class _Plain(yaml.SafeLoader):
    """YAML with numbers, true and false, and all else as text: `on` is a key, and a day is a word."""

    yaml_implicit_resolvers = {}  # noqa: RUF012 -- PyYAML declares it so


for _tag, _pattern in {
    "bool": r"true|false",
    "int": r"-?(?:0|[1-9][0-9]{0,14})",
    "float": r"-?(?:0|[1-9][0-9]{0,14})\.[0-9]{1,15}",
    "null": r"null|~|",
}.items():
    _Plain.add_implicit_resolver(f"tag:yaml.org,2002:{_tag}", re.compile(rf"^(?:{_pattern})$"), None)


def read_path_question(path: Path) -> PathAsked:
    """Read a question for `loomway plan`.

    Raises:
        WrongCommand: With every fault of the file.
    """
    return read_question(path, PathAsked)


AskedKind = TypeVar("AskedKind", bound=Asked)


def read_question(path: Path, kind: type[AskedKind]) -> AskedKind:
    """Read a question of a kind.

    Raises:
        WrongCommand: With every fault of the file.
    """
    try:
        return kind.model_validate(read_yaml(path))
    except ValidationError as error:
        found = faults({**fault, "loc": ("body", *fault["loc"])} for fault in error.errors())
        raise WrongCommand("\n".join(_told(path, fault) for fault in found)) from error


def read_yaml(path: Path) -> object:
    """Read a small file of YAML, in which a day is a word.

    Raises:
        WrongCommand: It cannot be read, or is no YAML.
    """
    try:
        with path.open("rb") as file:
            return yaml.load(file.read(LARGEST).decode(), Loader=_Plain)  # noqa: S506 -- a subclass of SafeLoader
    except OSError as error:
        raise WrongCommand(f"{path}: this file cannot be read") from error
    except (yaml.YAMLError, UnicodeDecodeError, RecursionError, ValueError) as error:
        raise WrongCommand(f"{path}: this is not YAML in UTF-8") from error


def _told(path: Path, fault: Fault) -> str:
    field = fault.field.removeprefix("/body").strip("/").replace("/", ".") or "the question"
    near = f"; did you mean {fault.nearest}?" if fault.nearest else ""
    return f"{path}: {field}: {fault.says}{near}"
