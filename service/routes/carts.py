"""Is a cart complete and free of conflicts?"""

from __future__ import annotations

from fastapi import APIRouter, Response

from rules.build import STOCK
from rules.later import check_later
from rules.question import CartLines
from service.dependencies import JSON_BODY, ServingDep, TodayDep
from service.links import join, link
from service.problems import (
    BODY_PROBLEMS,
    MALFORMED_QUESTION,
    UNKNOWN_BIKE,
    UNKNOWN_PART,
    UNKNOWN_PLACE,
    declared,
)
from service.representation import reply
from service.shapes.carts import CartAsked, CartTold
from service.storefront.answers import cart_told

router = APIRouter(tags=["Check a cart"])


@router.post(
    "/v1/cart-checks",
    operation_id="check_cart",
    summary="Are these parts together complete, and what is missing?",
    dependencies=[JSON_BODY],
    response_model=CartTold,
    responses=join(
        link("show_bike", bike="#/bike"),
        declared(*BODY_PROBLEMS, MALFORMED_QUESTION, UNKNOWN_BIKE, UNKNOWN_PART, UNKNOWN_PLACE),
    ),
)
def check_cart(asked: CartAsked, serving: ServingDep, today: TodayDep) -> Response:
    """Where everything goes, the cheapest completion, and every reason against it; and what a later visit would need, if asked."""
    question = asked.to_domain(today)
    if asked.later_on is not None:
        check_later(question, asked.later_on)
        answer = serving.engine.cart(question)
        later = serving.engine.zones_later(question, answer, asked.later_on)
        return reply(CartTold.from_domain(answer, question, serving, later))
    answer = serving.engine.cart(question)
    if question.found == STOCK:
        lines = CartLines.of(question, serving.carts.ranks)
        # As the quick way tells it from now on, so that nothing is written twice.
        return reply(cart_told(serving.engine.known_cart(lines) or answer, lines, serving))
    return reply(CartTold.from_domain(answer, question, serving))
