"""Rule conditions as structured data: comparisons of named facts and of what is fitted, joined by all, any and not."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Discriminator, Field, Tag, model_validator
from pydantic_core import PydanticCustomError

from rules.catalog.entry import Entry, Flag, Id, Number, Text
from rules.catalog.part import Kind

Scalar = Flag | Number | Text


class Selector(Entry):
    """Which parts are meant: every field given must match, and at least one is given.

    `at` restricts the places where they are fitted.
    """

    part: tuple[Id, ...] = ()
    kind: Kind | None = None
    line: Id | None = None
    tag: Id | None = None
    slot: Id | None = None
    at: tuple[Id, ...] = ()

    @model_validator(mode="after")
    def _selects_something(self) -> Selector:
        if not (self.part or self.kind or self.line or self.tag or self.slot):
            raise PydanticCustomError(
                "empty_selector", "a selector names at least one of part, kind, line, tag, slot"
            )
        return self


class Comparison(Entry):
    """One fact compared: exactly one of the operators is given.

    Facts are named `bike.NAME` (family, maker, year, trim, mount, cooling, or any recorded fact), `place.NAME` (geometry
    of the place of the part in question) and `part.NAME` (id, kind, line, colour, or any spec of the part in question).
    """

    fact: Annotated[str, Field(pattern=r"^(bike|place|part)\.[a-z0-9_]+$")]
    equals: Scalar | None = Field(default=None, alias="is")
    one_of: tuple[Scalar, ...] | None = Field(default=None, alias="in")
    at_least: Number | None = None
    at_most: Number | None = None
    has: Text | None = None

    @model_validator(mode="after")
    def _has_one_operator(self) -> Comparison:
        given = [
            x for x in (self.equals, self.one_of, self.at_least, self.at_most, self.has) if x is not None
        ]
        if len(given) != 1:
            raise PydanticCustomError(
                "one_operator", "a comparison has exactly one of is, in, at_least, at_most, has"
            )
        return self


class Fitted(Entry):
    """True when the build holds a part that the selector matches; `same_place` asks for it beside the part in question."""

    fitted: Selector
    same_place: Flag = False


class All(Entry):
    """True when every member is; unknown when none is false and some are unknown."""

    all: tuple[Condition, ...] = Field(min_length=1)


class AnyOf(Entry):
    """True when some member is; unknown when none is true and some are unknown."""

    any: tuple[Condition, ...] = Field(min_length=1)


class Not(Entry):
    """The reverse; unknown stays unknown."""

    not_: Condition = Field(alias="not")


_KEYS: dict[str, Literal["fact", "fitted", "all", "any", "not"]] = {
    "fact": "fact",
    "fitted": "fitted",
    "all": "all",
    "any": "any",
    "not": "not",
}


def _tag(raw: object) -> str | None:
    if isinstance(raw, dict):
        return next((tag for key, tag in _KEYS.items() if key in raw), None)
    for kind, tag in ((Comparison, "fact"), (Fitted, "fitted"), (All, "all"), (AnyOf, "any"), (Not, "not")):
        if isinstance(raw, kind):
            return tag
    return None


Condition = Annotated[
    Annotated[Comparison, Tag("fact")]
    | Annotated[Fitted, Tag("fitted")]
    | Annotated[All, Tag("all")]
    | Annotated[AnyOf, Tag("any")]
    | Annotated[Not, Tag("not")],
    Discriminator(
        _tag,
        custom_error_type="condition",
        custom_error_message="a condition has one of the keys fact, fitted, all, any, not",
    ),
]

All.model_rebuild()
AnyOf.model_rebuild()
Not.model_rebuild()
