"""What all request and response models share: what is refused, and what is bounded."""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated, ClassVar, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, Strict, StrictBool, StrictFloat, StrictStr

_ISO_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)


def _iso_day(raw: object) -> object:
    # A whole number would be read as seconds since 1970, and no text is a day.
    return raw if isinstance(raw, date) or (isinstance(raw, str) and _ISO_DAY.fullmatch(raw)) else ""


def _json_number(raw: object) -> object:
    # JSON has one kind of number, so 3.0 is whole. Neither true nor "3" is a number, and nor is None.
    return raw if isinstance(raw, (int, float)) and not isinstance(raw, bool) else None


Id = Annotated[str, Strict(), Field(min_length=1, max_length=80)]
"""An id of the catalog. Its letters are not checked here: a misspelt id is answered with the nearest ones."""

Label = Annotated[str, Strict(), Field(max_length=200)]
Day = Annotated[date, BeforeValidator(_iso_day)]
Flag = StrictBool
WHOLE = BeforeValidator(_json_number)
"""Stands after the limits of a whole number: before them, they would be missing from its JSON schema."""

Minor = Annotated[int, Field(ge=0, le=10**10), WHOLE]
"""Money in minor units of the shop's currency."""

PlugName = Annotated[str, Strict(), Field(min_length=1, max_length=250)]
"""A plug of a part, `PART@PLACE:CONNECTOR`, or of the bike, `loom:CONNECTOR`."""

Figure = Annotated[float, Field(ge=0, le=10**6, allow_inf_nan=False), BeforeValidator(_json_number)]
"""A figure whose unit stands in its name."""

FactPath = Annotated[str, Strict(), Field(min_length=1, max_length=200)]
Words = Annotated[tuple[Annotated[StrictStr, Field(max_length=200)], ...], Field(max_length=50)]
RecordedValue = (
    StrictBool
    | Annotated[StrictFloat, Field(allow_inf_nan=False)]
    | Annotated[StrictStr, Field(max_length=2_000)]
    | Words
)
"""A recorded value: true or false, a number whose unit stands in the fact's name, text, or several words."""

FitterWord = Literal["shop", "home"]


class Asked(BaseModel):
    """Base of everything that a caller sends. A key that is not known is refused, not passed over."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    names: ClassVar[set[str]] = set()
    """Every key that some request knows: the only words of a request that a problem may repeat."""

    @classmethod
    def __pydantic_init_subclass__(cls, **_: object) -> None:
        Asked.names.update(cls.model_fields)


class Told(BaseModel):
    """Base of everything that is answered. Clients ignore keys that they do not know, so it can grow."""

    model_config = ConfigDict(extra="ignore", frozen=True, json_schema_serialization_defaults_required=True)
