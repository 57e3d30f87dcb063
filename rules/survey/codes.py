"""The codes of what only shows over all bikes and parts. They stand apart from the checks, which import the engine."""

from __future__ import annotations

from rules.diagnostics import Code

UNREACHABLE_RULE = Code(
    name="unreachable-rule",
    about="A rule about parts that no bike of the catalog has a place for, or that the rule it overrides is not about.",
    why="nobody will ever hear of it",
    hint="check its subject and its places, or take the rule out",
    example="subject: {part: [tern_ring], at: [rear_pods]}  # and no bike has rear_pods",
    severity="warning",
)
NEVER_FIRES = Code(
    name="never-fires",
    about="A rule that holds for no bike and part of the catalog, whatever is fitted and whatever may still be measured.",
    why="it looks as if it guarded something, and does not",
    hint="correct the condition or the figure, or take the rule out",
    example="when: {fact: bike.year, at_least: 2030}",
    severity="warning",
)
ALWAYS_FIRES = Code(
    name="always-fires",
    about="A condition that holds for every bike and part that its rule is about.",
    why="it decides nothing, so it is probably not what was meant",
    hint="correct the condition, or leave it out",
    example="when: {fact: bike.mount, in: [frame, fork]}",
    severity="warning",
)
NEVER_MET = Code(
    name="never-met",
    about="A rule that asks for a part which can be fitted on none of the bikes where it is asked for.",
    why="what needs it can never be sold",
    hint="correct `needs`, or add the part that meets it",
    example="needs: {tag: spacer}  # and spacers go only where no speaker goes",
    severity="warning",
)
SHADOWED_RULE = Code(
    name="shadowed-rule",
    about="A rule that refuses nothing that another rule of its kind would let pass.",
    why="it could be taken out and no verdict would change, so one of the two is probably not what was meant",
    hint="take out the one that says less, or correct its condition",
    example="two clearances of depth_mm for all speakers, with margin: 1 and margin: 2",
    severity="warning",
)
CONTRADICTING_RULES = Code(
    name="contradicting-rules",
    about="Rules that cannot all be kept by a part on some bike, which is named as a witness.",
    why="the part is refused whatever is fitted beside it",
    hint="correct one of the rules, or say in an `excludes` with a reason of its own that the part does not fit there",
    example="a ring is needed by the pod, and another rule keeps pod and ring apart",
    severity="warning",
)
STOCK_REFUSED = Code(
    name="stock-refused",
    about="A rule that refuses a bike as it left the works.",
    why="every answer about this bike begins with a build that is said to be impossible",
    hint="correct the rule, or the bike's figures",
    example="mass_limit at the dash, below the mass of the works radio",
    severity="warning",
)
FITS_NOTHING = Code(
    name="fits-nothing",
    about="A part for sale that can be on no bike of the catalog, with whatever else is fitted. "
    "Of a bundle: not all its members on one bike.",
    why="it is on the shelf, and no rider can have it",
    hint="ask `loomway fit BIKE PART --why` for a bike that it was bought for",
    example="a power lead that is too short for every bike",
    severity="warning",
)
NOTHING_FITS = Code(
    name="nothing-fits",
    about="A bike of which nobody has verified that anything for sale fits it.",
    why="the shop lists a bike for which it can sell nothing",
    hint="measure what its facts leave open, or check its places and plugs; `loomway explain BIKE` lists them",
    example="a new family whose dimensions are all unknown",
    severity="warning",
)
LONELY_PLUG = Code(
    name="lonely-plug",
    about="A plug or socket that mates with no other of the catalog, in any place where it can lie.",
    why="whatever hangs on it can never be connected",
    hint="check its contact map, gender, `mirrored`, `paired` and place against the other half",
    example="amp: {map: amp, gender: plug, mirrored: true}  # and the amplifier has a plug too",
    severity="warning",
)
ENDS_SOON = Code(
    name="ends-soon",
    about="A price list, a part that is sold for a time, or a hold that ends within sixty days, with nothing after it.",
    why="after that day prices are assumed, or the part is no longer sold, or is sold again",
    hint="add what follows, or let it end if that is meant",
    example="last: 2026-12-31  # of the last price list, in November 2026",
    severity="warning",
)
IS_OVER = Code(
    name="is-over",
    about="A hold that has ended, or a last price list that has.",
    why="prices are assumed from an old list; or a hold stays in the file and does nothing",
    hint="add the price list that is in force, or delete the hold",
    example="last: 2025-12-31  # of the last price list, in 2026",
    severity="warning",
)

CODES = (
    UNREACHABLE_RULE,
    NEVER_FIRES,
    ALWAYS_FIRES,
    NEVER_MET,
    SHADOWED_RULE,
    CONTRADICTING_RULES,
    STOCK_REFUSED,
    FITS_NOTHING,
    NOTHING_FITS,
    LONELY_PLUG,
    ENDS_SOON,
    IS_OVER,
)
