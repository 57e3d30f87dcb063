"""What came in together is answered together, and leaves together."""

from __future__ import annotations

import asyncio
from typing import Any, cast

from service.storefront.turn import turn_of


class Shopper:
    """Asks, and notes what becomes of it; is its own connection and transport."""

    def __init__(self, name: str, seen: list[str], *, is_known: bool = True, is_gone: bool = False) -> None:
        self.name = name
        self.seen = seen
        self.is_known = is_known
        self.is_gone = is_gone
        self.transport = cast("asyncio.Transport", self)

    def answer(self) -> bytes | None:
        self.seen.append(f"{self.name} answered")
        return self.name.encode() if self.is_known else None

    def is_closing(self) -> bool:
        return self.is_gone

    def write(self, answer: Any) -> None:
        self.seen.append(f"{answer.decode()} sent")


def seen_after(*turns: list[Shopper]) -> None:
    """Let shoppers ask, those of one turn together."""

    async def run() -> None:
        turn = turn_of(asyncio.get_running_loop())
        for shoppers in turns:
            for shopper in shoppers:
                turn.add(shopper)
            await asyncio.sleep(0)

    asyncio.run(run())


def test_all_are_answered_before_the_first_answer_leaves() -> None:
    seen: list[str] = []
    seen_after([Shopper(x, seen) for x in "abc"])
    assert seen == ["a answered", "b answered", "c answered", "a sent", "b sent", "c sent"]


def test_nobody_waits_for_who_asks_later() -> None:
    seen: list[str] = []
    seen_after([Shopper("a", seen)], [Shopper("b", seen)])
    assert seen == ["a answered", "a sent", "b answered", "b sent"]


def test_nothing_is_sent_that_is_not_known_or_to_who_has_gone() -> None:
    seen: list[str] = []
    seen_after(
        [Shopper("a", seen, is_known=False), Shopper("b", seen, is_gone=True), Shopper("c", seen)],
    )
    assert seen == ["a answered", "b answered", "c answered", "c sent"]
