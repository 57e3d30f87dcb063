"""`loomway fit`: does a part fit a bike?"""

from __future__ import annotations

from collections.abc import Iterable

from rules.answer import FitAnswer
from rules.build import Placement
from rules.catalog.catalog import Catalog
from rules.explain import cure, fact_name, how_to_find, sentence
from rules.question import FitQuestion
from rules.verdict import Cause, Finding, Verdict
from service.links import pinned_address
from service.serving import Serving
from service.shapes.fitment import FitResponse
from service.shapes.placement import PlacementTold, placements_told
from service.terminal.output import amount, say, say_json, show_table, source_words
from service.terminal.work import work_table

_OPENINGS = {
    Verdict.FITS: "{part} fits {bike}{where}.",
    Verdict.FITS_WITH: "{part} fits {bike}{where}, together with what is listed below.",
    Verdict.NOT_VERIFIED: "Nobody has verified yet whether {part} fits {bike}{where}.",
    Verdict.DOES_NOT_FIT: "{part} does not fit {bike}{where}.",
}

FITTING = (Verdict.FITS, Verdict.FITS_WITH)


def answer_fit(serving: Serving, question: FitQuestion, *, as_json: bool, why: bool) -> None:
    """Answer, in sentences and tables or as the API does."""
    answer = serving.fit(question)
    if as_json:
        say_json(FitResponse.from_domain(answer, question, pinned_address(question, serving), serving))
    else:
        tell_fit(answer, serving.catalog_of(question.found), why=why)


def tell_fit(answer: FitAnswer, catalog: Catalog, *, why: bool = False) -> None:
    """Tell an answer: the verdict, what it takes, the reasons, and what else is worth knowing."""
    say(_opening(answer, catalog))
    if answer.ask:
        say(f"Ask first: {answer.ask}")
    tell_findings(answer.findings, catalog, why=why)
    tell_missing(answer.missing)
    _tell_placements("It needs besides:", answer.extras, catalog)
    _tell_placements("It takes the place of:", answer.displaced, catalog)
    if answer.rewires:
        say("Something that was laid or fed earlier has to be pulled out or moved for it.")
    if answer.total is not None and answer.verdict in FITTING:
        work_table("What it comes to", answer.lines, answer.total, catalog)
    tell_findings(answer.advice, catalog, why=why)
    _tell_places(answer, catalog)
    if answer.verdict not in FITTING:
        _tell_placements("These do fit:", answer.alternatives, catalog)


def _opening(answer: FitAnswer, catalog: Catalog) -> str:
    where = f" ({catalog.places[answer.place].name})" if answer.place else ""
    return _OPENINGS[answer.verdict].format(
        part=catalog.parts[answer.part].name, bike=bike_name(answer.bike, catalog), where=where
    )


def bike_name(bike: str, catalog: Catalog) -> str:
    """Give what people call a bike: its model year and name."""
    sides = catalog.ambiguous[bike].sides if bike in catalog.ambiguous else (bike,)
    first = catalog.bikes[sides[0]]
    name = first.name if bike in catalog.bikes else first.name.split(",")[0]
    return f"the {first.year} {first.maker} {name}"


def tell_findings(findings: Iterable[Finding], catalog: Catalog, *, why: bool = False) -> None:
    """Tell reasons, each once and with what would change it."""
    told: set[str] = set()
    for finding in findings:
        reason = sentence(finding, catalog)
        if reason in told and not why:
            continue
        told.add(reason)
        remedy = cure(finding, catalog)
        say(f"  - {reason}", *([f"    What would change it: {remedy}."] if remedy else []))
        if why:
            _tell_why(finding)


def _tell_why(finding: Finding) -> None:
    say(f"    rule {finding.rule}")
    for cause in finding.causes:
        value = "not known" if cause.is_missing else str(cause.value)
        source = f", {source_words(cause.source)}" if cause.source else ""
        years = f", model years {cause.span}" if cause.span else ""
        say(f"    {cause.fact} of {cause.of}: {value}{source}{years}")
    if finding.calculation:
        sums = finding.calculation
        inputs = ", ".join(f"{entry.name} {entry.value:g}" for entry in sums.inputs)
        say(f"    {sums.equation}: {inputs}; gives {sums.result:g}, limit {sums.limit:g} {sums.unit}")


def tell_missing(missing: Iterable[Cause]) -> None:
    """Tell which facts are missing, and how to find them out."""
    ways = dict.fromkeys(
        f"  - {fact_name(cause.fact)} of {cause.of}: {how_to_find(cause)}" for cause in missing
    )
    if ways:
        say("To find out:", *ways)


def _tell_placements(title: str, placements: Iterable[Placement], catalog: Catalog) -> None:
    told = placements_told(placements, catalog)
    if told:
        say(title, *(f"  - {_placed(entry)}" for entry in told))


def _placed(entry: PlacementTold) -> str:
    return f"{entry.name} ({entry.place_name})"


def _tell_places(answer: FitAnswer, catalog: Catalog) -> None:
    if len(answer.places) < 2:  # noqa: PLR2004 -- one place has been told already
        return
    rows = [(_place_name(there, catalog), *answer_cells(there, catalog)) for there in answer.places]
    show_table("At each place", ("place", "answer", "together with", "comes to"), rows, money=1)
    for there in answer.places:
        if there.place != answer.place and there.verdict not in FITTING:
            say(f"{_place_name(there, catalog)}: {verdict_words(there.verdict)}")
            tell_findings(there.findings, catalog)
            tell_missing(there.missing)


def _place_name(answer: FitAnswer, catalog: Catalog) -> str:
    return catalog.places[answer.place].name if answer.place else "anywhere"


def answer_cells(answer: FitAnswer, catalog: Catalog) -> tuple[str, str, str]:
    """Give an answer as cells of a table: verdict, what goes with it, and what it comes to."""
    extras = "\n".join(entry.name for entry in placements_told(answer.extras, catalog))
    has_price = answer.total is not None and answer.verdict in FITTING
    return verdict_words(answer.verdict), extras, amount(answer.total or 0, catalog.shop) if has_price else ""


def verdict_words(verdict: Verdict) -> str:
    """Give a verdict as it stands in a table."""
    return {
        Verdict.FITS: "fits",
        Verdict.FITS_WITH: "fits with more",
        Verdict.NOT_VERIFIED: "not verified",
        Verdict.DOES_NOT_FIT: "does not fit",
    }[verdict]
