"""The codes for names that nothing defines. Each check that meets a name reports it with one of these."""

from __future__ import annotations

from rules.diagnostics import Code

_DEFINED_HINT = "correct the word, or add what it names"


def _unknown(kind: str, why: str, example: str) -> Code:
    return Code(
        name=f"unknown-{kind.replace(' ', '-')}",
        about=f"The name of a {kind} that is nowhere defined.",
        why=why,
        hint=_DEFINED_HINT,
        example=example,
    )


UNKNOWN_PART = _unknown(
    "part",
    "what is said of a missing part never applies, and the shop would sell around it",
    "members: [tren_pod]",
)
UNKNOWN_PLACE = _unknown("place", "no part can go to a place that no bike can have", "at: [rear_pod]")
UNKNOWN_SLOT = _unknown("slot", "no place would hold the part", "slot: speeker")
UNKNOWN_LINE = _unknown("part line", "the rule would select nothing", "subject: {line: tren}")
UNKNOWN_TAG = _unknown("tag", "no part carries it, so nothing is selected", "subject: {tag: blak}")
UNKNOWN_TYPE = _unknown(
    "connector type", "nothing could mate with a plug of unknown shape", "type: round_tow"
)
UNKNOWN_MAP = _unknown(
    "contact map",
    "what the plug carries would not be known",
    "connectors: {lead: {map: pod_plag, gender: plug}}",
)
UNKNOWN_CONNECTOR = _unknown(
    "connector", "the link or channel would lead nowhere", "links: {led.drive: main.front_left}"
)
UNKNOWN_LANE = _unknown(
    "lane", "the signal would get lost at this plug", "links: {lead.drvie: main.front_left}"
)
UNKNOWN_CHANNEL = _unknown("channel", "nothing could be bridged with it", "bridges: [left, rihgt]")
UNKNOWN_RULE = _unknown("rule", "what builds on it would never happen", "after: [seet_off]")
UNKNOWN_BIKE = _unknown("bike", "the case would ask about nothing", "bike: heron-2019-tourer")
UNKNOWN_FACT = _unknown(
    "fact", "nobody records it, so the rule would leave every answer open", "fact: bike.coolling"
)

CODES = (
    UNKNOWN_PART,
    UNKNOWN_PLACE,
    UNKNOWN_SLOT,
    UNKNOWN_LINE,
    UNKNOWN_TAG,
    UNKNOWN_TYPE,
    UNKNOWN_MAP,
    UNKNOWN_CONNECTOR,
    UNKNOWN_LANE,
    UNKNOWN_CHANNEL,
    UNKNOWN_RULE,
    UNKNOWN_BIKE,
    UNKNOWN_FACT,
)
