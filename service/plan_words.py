"""Why there is no plan, why each part comes when it does, and what is better in another one: in words for the counter."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from rules.alternatives import Alternatives, Better, WhatIf
from rules.answer import Conflict, Cure, CureKind
from rules.build import Placement
from rules.catalog.catalog import Catalog
from rules.explain import part_name, placement_name
from rules.why import Moved, Reason, Reasons

_DEMANDS = {
    "want": "what is wanted: {about}",
    "budget": "the money of the visit of {about}",
    "year_budget": "the money of the year {about}",
    "path_budget": "the money for everything",
    "availability": "when it can be had: {about}",
    "no_rewiring": "nothing that was laid is pulled out again: {about}",
    "rule": "what the bike and the parts allow: {about}",
    "locked": "what must stay: {about}",
    "excluded": "what was ruled out: {about}",
    "colour": "the colour: {about}",
    "mass": "what it may weigh more: {about}",
    "fitter": "who fits: {about}",
}

_CURES: Mapping[CureKind, str] = {
    "raise_budget": "{more} more for the visit of {about}",
    "raise_year_budget": "{more} more for {about}",
    "raise_path_budget": "{more} more for everything",
    "later": "wait for {about} until visit {visit}",
    "another_visit": "come once more, on {on}",
    "at_the_shop": "let the workshop fit on {about}",
    "unlock": "let {about} go",
    "allow_part": "allow {about}",
    "any_colour": "take another colour than {about}",
    "any_mass": "let it weigh more than {about}",
    "rewire": "let {about} come out again",
    "leave_out": "go without {about}",
}

_IN_THE_WAY = {
    "too_late": "too late",
    "not_valid": "would not work",
    "not_for_sale": "not for sale",
    "not_at_home": "not work for home",
}

_BETTER = {
    "spent": "{money} less to pay before anything is sold on",
    "visits": "{count} fewer {visits}",
    "waste": "{money} more of it stays",
    "wants_first": "{count} more of what is wanted after the first visit",
    "first_visit": "{money} less at the first visit",
}

_BUDGETS = {
    "budget": "of the visit of {about}",
    "year_budget": "of {about}",
    "path_budget": "for everything",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanWords:
    """Puts what is asked about plans into words.

    Attributes:
        money: How an amount is written [minor units].
        day: How a day is written.
    """

    catalog: Catalog
    money: Callable[[int], str]
    day: Callable[[date], str]

    # --- why there is none ------------------------------------------------------------------------------------------

    def demand(self, conflict: Conflict) -> str:
        """Name a demand that stands in the way."""
        return _DEMANDS[conflict.kind].format(about=self._about(conflict.about))

    def cure(self, cure: Cure) -> str:
        """Say what makes a way, and what it all comes to then."""
        told = _CURES[cure.kind].format(
            about=self._about(cure.about),
            more="" if cure.more is None else self.money(cure.more),
            visit=cure.visit,
            on="" if cure.on is None else self.day(cure.on),
        )
        return f"{told}: it all comes to {self.money(cure.total)}"

    def _about(self, about: str) -> str:
        """Name a part, a part at a place, a rule or a day; what is none of these is said as it is."""
        part, _, place = about.partition("@")
        if part in self.catalog.parts:
            named = Placement(part, place)
            return placement_name(named, self.catalog) if place else part_name(part, self.catalog)
        if part in self.catalog.rules:
            return self.catalog.rules[part].says
        try:
            return self.day(date.fromisoformat(about))
        except ValueError:
            return about

    # --- why each part, and why then --------------------------------------------------------------------------------

    def why(self, reason: Reason) -> str:
        """Say why a part is bought."""
        by = dict.fromkeys(part_name(x.part, self.catalog) for need in reason.needed for x in need.by)
        told = ["asked for"] if reason.wanted else []
        told += [f"needed by {', '.join(by)}"] if by else []
        told += [f"in a set: {part_name(reason.bundle, self.catalog)}"] if reason.bundle else []
        return "; ".join(told)

    def moved(self, moved: Moved, reasons: Reasons) -> str:
        """Say what would be if a part came at another visit."""
        on = self.day(reasons.plan.visits[moved.visit - 1].on)
        if moved.outcome in _IN_THE_WAY:
            return f"{on}: {_IN_THE_WAY[moved.outcome]}"
        if moved.outcome == "over_budget":
            return f"{on}: {self.money(moved.short or 0)} over the money for it"
        word = {"dearer": "dearer", "cheaper": "less"}.get(moved.outcome)
        return f"{on}: {self.money(abs(moved.by or 0))} {word}" if word else f"{on}: the same"

    # --- what else --------------------------------------------------------------------------------------------------

    def better(self, better: Better) -> str:
        """Say what is better in another plan, and by how much."""
        return _BETTER[better.what].format(
            money=self.money(better.by), count=better.by, visits="visits" if better.by > 1 else "visit"
        )

    def what_if(self, what_if: WhatIf, answer: Alternatives) -> Iterator[str]:
        """Say what another amount for one budget would change, a sentence at a time."""
        name, cheapest = (
            _BUDGETS[what_if.kind].format(about=self._about(what_if.about)),
            answer.cheapest.total,
        )
        yield f"The money {name} is {self.money(what_if.budget)}; {self.money(what_if.used)} of it is used."
        if what_if.better_from is not None and what_if.better_total is not None:
            gain = self.money(cheapest - what_if.better_total)
            yield (
                f"From {self.money(what_if.better_from)} on the whole comes to"
                f" {self.money(what_if.better_total)}, {gain} less."
            )
        if what_if.total_without is not None:
            same = what_if.total_without == cheapest
            yield f"Without this limit the whole comes to {'the same' if same else self.money(what_if.total_without)}."
        if what_if.used > 0:
            below = what_if.total_below
            told = "no way was found" if below is None else f"the whole comes to {self.money(below)}"
            yield f"With less than is used, {told}."
