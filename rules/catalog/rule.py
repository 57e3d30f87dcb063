"""Rules as they are written in the catalog: one class per kind, joined in `Rule`.

Every rule has an id that names the fault or the work, and `says`: one sentence a shopper understands.
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Discriminator, Field, Tag, model_validator
from pydantic_core import PydanticCustomError

from rules.catalog.condition import Condition, Selector
from rules.catalog.connector import Connector
from rules.catalog.entry import Day, Entry, Flag, Id, Minutes, NotNegative, Positive, Text
from rules.catalog.facts import Fact, Source


class RuleEntry(Entry):
    """What all rules share. `source` is left out for a fact of the trade (common practice, no source)."""

    id: Id
    says: Text
    source: Source | None = None


class Clearance(RuleEntry):
    """A dimension of a part against a dimension of its place.

    Refuses unless `spec` (plus `margin`) is at most, at least, or equal within `margin` to `geometry` of the place.
    `relieved_by` names a slot of the same place and a spec key of the part there that adds to the place's dimension.
    """

    kind: Literal["clearance"]
    subject: Selector
    spec: Id
    relation: Literal["at_most", "at_least", "equals"]
    geometry: Id
    margin: NotNegative = 0.0
    relieved_by_slot: Id | None = None
    relieved_by_spec: Id | None = None
    when: Condition | None = None


class Requires(RuleEntry):
    """A part needs another: any one that `needs` selects, beside it or anywhere on the bike."""

    kind: Literal["requires"]
    subject: Selector
    needs: Selector
    same_place: Flag = False
    when: Condition | None = None


class Excludes(RuleEntry):
    """A part may not be fitted: together with another (`together_with`), when a condition holds, or both."""

    kind: Literal["excludes"]
    subject: Selector
    together_with: Selector | None = None
    same_place: Flag = False
    when: Condition | None = None

    @model_validator(mode="after")
    def _says_when(self) -> Excludes:
        if self.together_with is None and self.when is None:
            raise PydanticCustomError(
                "excludes_always", "give together_with or when: without either the part could never be sold"
            )
        return self


class Provides(RuleEntry):
    """Bikes that meet the condition have a plug on their loom, or a fact. An unknown condition leaves it unknown.

    `look` says how to find out on a bike where the condition is unknown.
    """

    kind: Literal["provides"]
    when: Condition
    connector: dict[Id, Connector] = Field(default_factory=dict)
    links: dict[str, str] = Field(default_factory=dict)
    facts: dict[Id, Fact] = Field(default_factory=dict)
    look: Text


class FlashNeeded(RuleEntry):
    """A head unit needs a software service before it does what the build asks of it."""

    kind: Literal["flash_needed"]
    subject: Selector
    needs: Selector
    when: Condition | None = None

    same_place: ClassVar[bool] = True
    """A flash lies with its head unit."""


class Operation(RuleEntry):
    """Labour: minutes, who may do it, and what must come off first.

    With `subject` it is done for each matching part on `action`; without, it is tear-down that others name in `after`.
    Tear-down counts once per visit. `home`: a home fitter may do it.
    """

    kind: Literal["operation"]
    subject: Selector | None = None
    action: Literal["add", "remove", "replug", "preset"] | None = None
    minutes: Minutes
    after: tuple[Id, ...] = ()
    home: Flag = True
    when: Condition | None = None

    @model_validator(mode="after")
    def _subject_and_action_go_together(self) -> Operation:
        if (self.subject is None) != (self.action is None):
            raise PydanticCustomError(
                "half_operation", "subject and action are given together, or neither for tear-down"
            )
        return self


class ChannelLimit(RuleEntry):
    """What a channel may drive: its lowest impedance, or a speaker's share of its power without a capping preset."""

    kind: Literal["channel_limit"]
    limit: Literal["lowest_impedance", "speaker_power", "bridge"]


class SupplyLimit(RuleEntry):
    """A limit of the power supply.

    `fuse`: the amplifier maker's value, at most the cable's derated ampacity. `ampacity`: full-output current.
    `voltage_drop`: over the round trip, at most `most` volts. `charging`: one-third power plus idle current at cruise against
    `bike.charging_headroom_a`. `idle` is a caution only, against `bike.idle_headroom_a`.
    """

    kind: Literal["supply_limit"]
    limit: Literal["fuse", "ampacity", "voltage_drop", "charging", "idle"]
    most: Positive | None = None


class MassLimit(RuleEntry):
    """The sum of masses in the named places is at most a recorded fact of the bike [kg], or each place's own limit."""

    kind: Literal["mass_limit"]
    at: tuple[Id, ...] = ()
    fact: Id | None = None


class PresetChain(RuleEntry):
    """Amplifiers that are only sound with a preset made for their chain; any change in the chain voids it."""

    kind: Literal["preset_chain"]
    subject: Selector


class Advice(RuleEntry):
    """A sentence worth saying; never makes a build invalid."""

    kind: Literal["advice"]
    subject: Selector
    when: Condition | None = None


class MeasuredException(RuleEntry):
    """A measured exception to one rule, for named parts, places and bikes: the rule does not refuse there, or it does."""

    kind: Literal["measured_exception"]
    overrides: Id
    subject: Selector
    outcome: Literal["allow", "refuse"]
    when: Condition | None = None
    source: Source


class Hold(RuleEntry):
    """Stop selling: nothing new of these parts is fitted from a day on, with the reason in `says`."""

    kind: Literal["hold"]
    subject: Selector
    first: Day
    last: Day | None = None


Rule = Annotated[
    Annotated[Clearance, Tag("clearance")]
    | Annotated[Requires, Tag("requires")]
    | Annotated[Excludes, Tag("excludes")]
    | Annotated[Provides, Tag("provides")]
    | Annotated[FlashNeeded, Tag("flash_needed")]
    | Annotated[Operation, Tag("operation")]
    | Annotated[ChannelLimit, Tag("channel_limit")]
    | Annotated[SupplyLimit, Tag("supply_limit")]
    | Annotated[MassLimit, Tag("mass_limit")]
    | Annotated[PresetChain, Tag("preset_chain")]
    | Annotated[Advice, Tag("advice")]
    | Annotated[MeasuredException, Tag("measured_exception")]
    | Annotated[Hold, Tag("hold")],
    Discriminator(
        lambda raw: raw.get("kind") if isinstance(raw, dict) else getattr(raw, "kind", None),
        custom_error_type="rule_kind",
        custom_error_message="a rule's kind is one of clearance, requires, excludes, provides, flash_needed, operation, "
        "channel_limit, supply_limit, mass_limit, preset_chain, advice, measured_exception, hold",
    ),
]


class RuleFile(Entry):
    """One rule topic: a file in rules/."""

    topic: Id
    rules: tuple[Rule, ...] = Field(min_length=1)
