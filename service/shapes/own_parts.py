"""A rider's own parts, which the catalog does not know: the keys of a part in a catalog, in JSON."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, Strict, StrictBool, StrictStr

from rules.catalog.part import OwnKind, OwnPart
from service.shapes.base import WHOLE, Asked, Day, Flag

NewId = Annotated[str, Strict(), Field(pattern=r"^[a-z0-9]+([_-][a-z0-9]+)*$", max_length=80)]
"""An id as catalogs write them; `Id` takes any text, but here there is nothing yet that it could be near to."""

Key = Annotated[str, Strict(), Field(pattern=r"^[a-z0-9]([_-]?[a-z0-9]){0,39}$")]
"""The same as a key, with its length in the pattern: a JSON schema has one pattern for keys, and nothing else."""

NO_OTHERS = {"additionalProperties": False}

Line = Annotated[StrictStr, Field(min_length=1, max_length=200)]
LARGEST = 1e6
Number = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=-LARGEST, le=LARGEST)]
NotNegative = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0, le=LARGEST)]
Positive = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=LARGEST)]
Ids = Annotated[tuple[NewId, ...], Field(max_length=50)]


class UnknownAsked(Asked):
    """A figure that nobody knows; `unknown` says how to find it out."""

    unknown: Line


SpecValue = (
    StrictBool
    | Number
    | Line
    | Annotated[tuple[Line, ...], Field(min_length=1, max_length=50)]
    | UnknownAsked
)


class ConnectorAsked(Asked):
    """One plug or socket of an own part: a contact map of the catalog, seen from the other side if `mirrored`."""

    map: NewId
    gender: Literal["plug", "socket"]
    mirrored: Flag = False
    paired: Flag = False
    needed: Flag = False
    place: NewId | None = None
    accepts: Annotated[int, Field(ge=1, le=100), WHOLE] = 1
    name: Line | None = None


class ChannelAsked(Asked):
    """One output. `watts` maps a rated impedance in ohms, as text, to power in watts."""

    id: NewId
    output: Line
    watts: Annotated[dict[Line, Positive], Field(min_length=1, max_length=20)] | UnknownAsked
    min_ohm: Positive | UnknownAsked
    needs: NewId | None = None
    bridges: Ids = ()


class SpeakerAsked(Asked):
    """A pair of like speakers; impedance and continuous power are of one."""

    impedance_ohm: Positive | UnknownAsked
    rms_w: Positive | UnknownAsked


class SupplyAsked(Asked):
    """What an amplifier draws; `efficiency` is between 0 and 1."""

    fuse_a: Positive | UnknownAsked
    full_a: Positive | UnknownAsked
    idle_a: NotNegative | UnknownAsked
    efficiency: Positive | UnknownAsked


class CableAsked(Asked):
    """The cable of a power kit, with the fuses that came with it."""

    area_mm2: Positive | UnknownAsked
    length_m: Positive | UnknownAsked
    ampacity_a: Positive | UnknownAsked
    fuses_a: Annotated[tuple[Positive, ...], Field(max_length=20)]


class PartSourceAsked(Asked):
    """Where the figures of an own part come from; nothing may be assumed."""

    kind: Literal["measured", "maker_sheet"]
    ref: Line
    date: Day


class OwnPartAsked(Asked):
    """A part on the rider's bike that the catalog does not know. It is not for sale, and fetches nothing.

    `id` is a new name for it, which `fitted` uses to say where it is. All keys are those of a part in a catalog; any
    figure may be `{"unknown": "how to find out"}`, and a mass that is left out is not known.
    """

    id: NewId
    name: Line
    kind: OwnKind
    slot: NewId
    at: Ids = ()
    tags: Ids = ()
    spec: Annotated[dict[Key, SpecValue], Field(max_length=100, json_schema_extra=NO_OTHERS)] = Field(
        default_factory=dict
    )
    # Not a plain default: generators of clients cannot write an object as one.
    mass_kg: NotNegative | UnknownAsked = Field(default_factory=lambda: UnknownAsked(unknown="weigh it"))
    connectors: Annotated[dict[Key, ConnectorAsked], Field(max_length=50, json_schema_extra=NO_OTHERS)] = (
        Field(default_factory=dict)
    )
    links: Annotated[dict[Line, Line], Field(max_length=100)] = Field(default_factory=dict)
    channels: Annotated[tuple[ChannelAsked, ...], Field(max_length=20)] = ()
    speaker: SpeakerAsked | None = None
    supply: SupplyAsked | None = None
    cable: CableAsked | None = None
    host: Ids = ()
    rewires: Flag = False
    colour: NewId | None = None
    source: PartSourceAsked

    def to_domain(self) -> OwnPart:
        """Read it."""
        return OwnPart.model_validate(self.model_dump(exclude_none=True))
