"""Does this part fit this bike? One verdict per place, and the best over all. Carts are several parts asked for together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from rules.answer import FitAnswer, Judgement, PresetMade
from rules.bench import Bench
from rules.build import Build, Placement
from rules.catalog.rule import FlashNeeded, Requires
from rules.chain import in_force_as_found, presets_to_make
from rules.changes import changes_between, feeds_of
from rules.clash import NO_MATE, NOT_FED
from rules.desk import Desk, displaced_by
from rules.extras import Extras
from rules.laws import HOPEFUL, Laws
from rules.money import total
from rules.plan.problem import Demand, Problem
from rules.plan.schedule import Schedule, doings_of
from rules.plan.settle import settle
from rules.pricing import Doings
from rules.question import FitQuestion, Fitter, Stage
from rules.things import CARRIER, HOST, advise
from rules.troubles import NO_PRESET
from rules.verdict import Cause, Finding, Status, Verdict

NO_PLACE = "no_place_for_it"
NEEDS = frozenset({NO_MATE, NOT_FED, CARRIER, HOST})
"""Built-in findings that ask for something more, rather than set a limit."""

ORDER = (Verdict.FITS, Verdict.FITS_WITH, Verdict.NOT_VERIFIED, Verdict.DOES_NOT_FIT)


def fit_anywhere(desk: Desk, question: FitQuestion) -> FitAnswer:
    """Answer over all places of the bike: the best verdict, then the least cost, then the place's name."""
    part = desk.bench.tables.catalog.parts[question.part]
    places = [place for place in sorted(desk.bench.has.places) if desk.bench.can_place(part, place)]
    answers = tuple(fit_at(desk, question, place) for place in places)
    if not answers:
        return FitAnswer(
            verdict=Verdict.DOES_NOT_FIT,
            bike=question.bike,
            part=part.id,
            place=None,
            findings=(no_place(desk, part.id),),
        )
    best = min(answers, key=lambda x: (ORDER.index(x.verdict), x.total is None, x.total or 0, x.place or ""))
    others = tuple(Placement(x.part, x.place or "") for x in answers if x is not best and _is_yes(x))
    return replace(best, places=answers if len(answers) > 1 else (), alternatives=best.alternatives or others)


def fit_at(desk: Desk, question: FitQuestion, place: str) -> FitAnswer:
    """Answer for one place."""
    bench = desk.bench
    part = bench.tables.catalog.parts[question.part]
    if not bench.can_place(part, place):
        return FitAnswer(
            verdict=Verdict.DOES_NOT_FIT,
            bike=question.bike,
            part=part.id,
            place=place,
            findings=(no_place(desk, part.id),),
        )
    asked = frozenset({Placement(part.id, place)})
    judgement = judge(Inquiry(desk, question.on, question.fitter, asked))
    return judgement.told_as(FitAnswer, bike=question.bike, part=part.id, place=place)


@dataclass(frozen=True, slots=True)
class Inquiry:
    """Parts asked for together on one bench, on a day, by a fitter; `own` are parts that need not be bought."""

    desk: Desk
    on: date
    fitter: Fitter
    asked: frozenset[Placement]
    own: frozenset[str] = frozenset()

    @property
    def new(self) -> frozenset[Placement]:
        """Give the asked placements that are not there already."""
        return self.asked - self.desk.bench.present

    @property
    def displaced(self) -> frozenset[Placement]:
        """Give what makes room for them."""
        return displaced_by(self.desk.bench, self.new)

    @property
    def build(self) -> Build:
        """Give the present build with the asked parts, less what they displace."""
        return (self.desk.bench.present - self.displaced) | self.asked

    def is_for_sale(self, placed: Placement) -> bool:
        """Tell whether a part is the rider's own or can be bought on the day."""
        return placed.part in self.own or self.desk.pricer.price(placed.part, self.on) is not None

    def problem(self) -> Problem:
        """State the search for the cheapest extras: one visit, nothing removed but what is displaced."""
        demands = tuple(Demand(options=frozenset({x}), since=1, about=str(x)) for x in sorted(self.asked))
        displaced = self.displaced
        return Problem(
            start=self.desk.bench.present,
            stages=(Stage(on=self.on, fitter=self.fitter),),
            demands=demands,
            may_add=lambda placed, _: (
                placed not in displaced and (placed in self.asked or self.is_for_sale(placed))
            ),
            may_remove=lambda *_: False,
            must_remove=displaced,
            start_counts=True,
            free=self._free(),
        )

    def _free(self) -> frozenset[Placement]:
        unsold = {x for x in self.new if not self.is_for_sale(x)}
        if not self.own:
            return frozenset(unsold)
        return frozenset(unsold | {x for x in self.desk.bench.universe if x.part in self.own})

    def held(self) -> tuple[Finding, ...]:
        """Give a finding for each asked part that is on hold."""
        bench = self.desk.bench
        found = ((x, bench.tables.hold(x.part, self.on)) for x in sorted(self.new))
        return tuple(
            Finding(
                rule=rule.id,
                status=Status.REFUSED,
                present=frozenset({x}),
                causes=(bench.cause("part.id", x),),
            )
            for x, rule in found
            if rule is not None
        )


REFUSED = Judgement(verdict=Verdict.DOES_NOT_FIT)


def judge(inquiry: Inquiry) -> Judgement:
    """Judge parts asked for together: valid as asked, valid with extras, open, or refused."""
    held = () if inquiry.own else inquiry.held()
    if held:
        return replace(REFUSED, findings=held)
    desk = inquiry.desk
    unmade = frozenset() if inquiry.new else _unmade(inquiry)
    if unmade:
        return replace(REFUSED, findings=_no_preset(inquiry, unmade))
    simple = _as_asked(inquiry)
    if simple is not None:
        return simple
    hopeless = hopeless_findings(inquiry, desk.hopeful)
    if hopeless:
        return replace(REFUSED, findings=_refusing(inquiry, hopeless))
    return _with_extras(inquiry)


def _with_extras(inquiry: Inquiry) -> Judgement:
    """Look for extras: first with what is known alone; then, where missing facts stand in the way, with hope."""
    laws = inquiry.desk.verified
    if hopeless_findings(inquiry, laws):
        return _open_or_refused(inquiry)
    search = _extras(inquiry, laws)
    outcome = search.run()
    if outcome.schedule is not None:
        return _yes(inquiry, outcome.schedule)
    is_certain = outcome.state == "none" and not search.rests_on_unknown
    return _refused(inquiry) if is_certain else _open_or_refused(inquiry)


def _as_asked(inquiry: Inquiry) -> Judgement | None:
    """Answer at once where nothing is needed besides."""
    desk = inquiry.desk
    if not desk.examine(inquiry.build).is_valid:
        return None
    problem, builds, nothing = (
        inquiry.problem(),
        (desk.bench.present, inquiry.build),
        (frozenset[Placement](),) * 2,
    )
    bare = Schedule(builds=builds, presets=nothing, replugs=nothing)
    schedules = [
        replace(bare, replugs=way.replugs) for way in settle(desk, problem, bare).ways if not any(way.presets)
    ]

    def labour(schedule: Schedule) -> int:
        return total(desk.pricer.labour_lines(doings_of(schedule, problem, 1)))

    return _yes(inquiry, min(schedules, key=labour)) if schedules else None


def _open_or_refused(inquiry: Inquiry) -> Judgement:
    outcome = _extras(inquiry, inquiry.desk.hopeful).run()
    if outcome.schedule is not None:
        return _open(inquiry, outcome.schedule)
    if outcome.state == "gave_up":
        return replace(REFUSED, verdict=Verdict.NOT_VERIFIED)
    return _refused(inquiry)


def _refused(inquiry: Inquiry) -> Judgement:
    """Say why no extras help, whatever the missing facts turn out to be."""
    findings = _refusing(inquiry, _conflict(inquiry)) or _no_preset(inquiry, _amplifiers(inquiry))
    return replace(REFUSED, findings=findings)


def _conflict(inquiry: Inquiry) -> tuple[Finding, ...]:
    """Give findings that together rule every set of extras out, learned anew: what was asked before must not choose the words."""
    fresh = _extras(inquiry, Laws(HOPEFUL, inquiry.desk.bench.like), all_alike=True)
    fresh.run()
    limits = _limits_on_asked(inquiry, [x.finding for x in fresh.lacking()])
    return limits or tuple(x.finding for x in fresh.conflicting_laws())


def _refusing(inquiry: Inquiry, findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Keep limits on what was asked for; else limits on what it would need; else the needs that nothing meets.

    A shopper who is told of a need that extras would meet buys them, and is refused again.
    """
    limits = tuple(x for x in findings if not is_need(inquiry.desk.bench, x))
    return _limits_on_asked(inquiry, findings) or limits or findings


def _limits_on_asked(inquiry: Inquiry, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    return tuple(x for x in findings if x.present <= inquiry.build and not is_need(inquiry.desk.bench, x))


def is_need(bench: Bench, finding: Finding) -> bool:
    """Tell whether a finding asks for something that is missing, rather than sets a limit."""
    rule = bench.tables.catalog.rules.get(finding.rule)
    return finding.rule in NEEDS or isinstance(rule, Requires | FlashNeeded)


def _open(inquiry: Inquiry, schedule: Schedule) -> Judgement:
    findings = tuple(
        x for x in inquiry.desk.examine(schedule.builds[1]).findings if x.status is Status.UNKNOWN
    )
    missing = tuple(dict.fromkeys(cause for finding in findings for cause in finding.missing))
    extras = tuple(sorted(schedule.adds(1) - inquiry.asked))
    return replace(REFUSED, verdict=Verdict.NOT_VERIFIED, findings=findings, missing=missing, extras=extras)


def _extras(inquiry: Inquiry, laws: Laws, *, all_alike: bool = False) -> Extras:
    return Extras(inquiry.desk, inquiry.problem(), laws, all_alike=all_alike)


def hopeless_findings(inquiry: Inquiry, laws: Laws) -> tuple[Finding, ...]:
    """Give the findings on the asked build that nothing for sale could clear, whatever else is added."""
    findings = inquiry.desk.examine(inquiry.build).findings
    return tuple(
        x
        for x in findings
        if x.status in laws.counted and not any(_is_live(inquiry, laws, y) for y in x.repairs)
    )


def _is_live(inquiry: Inquiry, laws: Laws, repair: Placement) -> bool:
    """Tell whether a repair is for sale, has a free slot, and is not refused by itself.

    Only what the part itself brings is looked at, not what other questions have taught: words must not depend on those.
    """
    bench = inquiry.desk.bench
    if not inquiry.is_for_sale(repair):
        return False
    slot = bench.part(repair).slot or ""
    held = sum(1 for x in inquiry.build if x.place == repair.place and bench.part(x).slot == slot)
    if held >= bench.capacity(repair.place, slot):
        return False
    larger = inquiry.build | {repair}
    own = inquiry.desk.audition(repair)
    return not any(x.status in laws.counted and not x.repairs and x.present <= larger for x in own)


def _unmade(inquiry: Inquiry) -> frozenset[Placement]:
    """Give the amplifiers on the bike whose preset is not in force, and is not offered on that day either."""
    bench, pricer, examiner = inquiry.desk.bench, inquiry.desk.pricer, inquiry.desk.examiner
    # Sound wirings know which amplifiers need a preset that caps them; where there is none, chains alone are certain.
    sound = [x for x in examiner.examine(bench.present).options if bench.seen <= x.mates]
    to_make = [
        presets_to_make(bench, bench.present, x, in_force_as_found(bench, x))[0]
        for x in sound or examiner.present_wirings
    ]
    return frozenset(x for made in to_make for x in made if pricer.service(x, inquiry.on) is None)


def _amplifiers(inquiry: Inquiry) -> Build:
    return frozenset(x for x in inquiry.build if inquiry.desk.bench.part(x).kind == "amplifier")


def _no_preset(inquiry: Inquiry, amplifiers: Build) -> tuple[Finding, ...]:
    """Say that a build is sound but for a preset that nobody offers on that day."""
    bench = inquiry.desk.bench
    return tuple(
        Finding(
            rule=NO_PRESET, status=Status.REFUSED, present=frozenset({x}), causes=(bench.cause("part.id", x),)
        )
        for x in sorted(amplifiers)
    )


def _yes(inquiry: Inquiry, schedule: Schedule) -> Judgement:
    desk, problem = inquiry.desk, inquiry.problem()
    build = schedule.builds[1]
    extras = tuple(sorted(schedule.adds(1) - inquiry.asked))
    doings = doings_of(schedule, problem, 1)
    lines = None if doings.owned and not inquiry.own else desk.pricer.lines(doings)
    ways = settle(desk, problem, schedule).ways
    way = min(
        (x for x in ways if x.takes_no_more_than(schedule.presets, schedule.replugs)), key=lambda x: x.rewired
    )
    option, before = way.options[1] or way.options[0], way.options[0]
    assert option is not None or build == desk.bench.present  # noqa: S101 - a valid new build has a wiring
    return replace(
        REFUSED,
        verdict=Verdict.FITS_WITH if extras or way.presets[1] else Verdict.FITS,
        extras=extras,
        displaced=tuple(sorted(inquiry.displaced)),
        presets=tuple(preset_made(desk, x, doings) for x in sorted(way.presets[1])),
        lines=lines or (),
        total=None if lines is None else total(lines),
        advice=news(desk, desk.bench.present, build),
        changes=tuple(changes_between(desk.bench, desk.bench.present, before, build, option))
        if option
        else (),
        feeds=feeds_of(desk.bench, option) if option else (),
        rewires=way.rewired,
    )


def preset_made(desk: Desk, amplifier: Placement, doings: Doings) -> PresetMade:
    """Say which service makes a preset, and how many days the amplifier is away."""
    service = desk.pricer.service(amplifier, doings.on) or ""
    preset = desk.bench.tables.catalog.parts[service].preset
    return PresetMade(
        amplifier=amplifier, service=service, days=preset.days if preset and doings.fitter == "home" else 0
    )


def news(desk: Desk, before: Build, after: Build) -> tuple[Finding, ...]:
    """Give the advice on a build that the one before did not deserve."""
    old = {(x.rule, x.present) for x in advise(desk.bench, before)}
    return tuple(x for x in advise(desk.bench, after) if (x.rule, x.present) not in old)


def no_place(desk: Desk, part: str) -> Finding:
    """Say that a bike has no place with a slot for a part."""
    return Finding(
        rule=NO_PLACE,
        status=Status.REFUSED,
        present=frozenset(),
        causes=(Cause(fact="places", of=desk.bench.bike.id, value=tuple(sorted(desk.bench.has.places))),),
        detail=part,
    )


def _is_yes(answer: FitAnswer) -> bool:
    return answer.verdict in (Verdict.FITS, Verdict.FITS_WITH)
