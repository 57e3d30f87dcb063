"""`loomway propose`: from a brief to whole systems."""

from __future__ import annotations

from rules.catalog.catalog import Catalog
from rules.cautions import CAUTIONS
from rules.explain import placement_name
from rules.proposals import Proposal, propose
from service.serving import Serving
from service.shapes.proposals import BriefAsked, ProposalsTold
from service.terminal.output import amount, say, say_json, show_table


def answer_brief(serving: Serving, asked: BriefAsked, *, as_json: bool) -> None:
    """Answer, in sentences and tables or as the API does."""
    brief = asked.to_domain()
    answer = propose(serving.engine, brief)
    if as_json:
        say_json(ProposalsTold.from_domain(answer, brief, serving))
        return
    if answer.unasked:
        say("Ask the rider first:", *(f"- {x.ask} ({x.field})" for x in answer.unasked))
        return
    catalog = serving.catalog_of(brief.found) if brief.found else serving.catalog
    for proposal in answer.proposals:
        _tell(proposal, catalog)
    for none in answer.not_proposed:
        say(f"No way to: {none.name}.")
    if not answer.proposals:
        say("Nothing can be proposed for this money and these visits.")


def _tell(proposal: Proposal, catalog: Catalog) -> None:
    shop, plan = catalog.shop, proposal.plan
    rows = [
        (
            visit.on.isoformat(),
            "; ".join(placement_name(x, catalog) for x in visit.adds),
            amount(visit.spent, shop),
        )
        for visit in plan.visits
        if not visit.is_empty
    ]
    say("", proposal.name)
    show_table("", ("visit", "what comes on", "to pay"), rows, money=1)
    say(f"In all {amount(plan.spent, shop)}; what you sell on fetches {amount(plan.resale, shop)}.")
    say(*(f"- {x.says} ({x.cites})" for x in proposal.reasons))
    say(*(f"Mind: {x.text}" for x in CAUTIONS if x.id in proposal.cautions))
