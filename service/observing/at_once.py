"""How much is worked out at once, and for how long: what is beyond is refused, so that known answers stay quick."""

from __future__ import annotations

import asyncio

from service.middleware import Application, Message, Receive, Scope, Send
from service.observing.figures import Figures
from service.observing.refusing import refuse
from service.problems import TOO_BUSY, TOO_LONG

WAIT_S = 2
"""When to come back after a refusal [s]."""

FREE = ("/health/", "/metrics", "/v1/releases", "/desk")
"""Addresses that are neither counted nor cut off: they are few, or need a key, or are for who watches."""


class AtOnce:
    """Limits what the framework answers at once, and how long one answer may take to begin.

    Args:
        most: Requests at once.
        seconds: Until an answer must begin [s].
    """

    def __init__(self, app: Application, most: int, seconds: float, figures: Figures) -> None:
        self.app = app
        self.most = most
        self.seconds = seconds
        self.figures = figures

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on the request, or refuse it."""
        if scope["type"] != "http" or (scope["path"].startswith(FREE) and "/fitment/" not in scope["path"]):
            await self.app(scope, receive, send)
        elif self.figures.under_way >= self.most:
            self.figures.refused["at_once"] += 1
            await refuse(scope, send, TOO_BUSY, WAIT_S)
        else:
            await self._answer(scope, receive, send)

    async def _answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        begun = cut_off = False

        async def guarded(message: Message) -> None:
            nonlocal begun
            if not cut_off:
                begun = True
                await send(message)

        self.figures.under_way += 1
        task = asyncio.ensure_future(self.app(scope, receive, guarded))
        # A thread cannot be stopped: what it works on counts until it is done.
        task.add_done_callback(self._done)
        await asyncio.wait({task}, timeout=self.seconds)
        if task.done() or begun:
            await task
            return
        cut_off = True
        self.figures.refused["seconds"] += 1
        await refuse(scope, send, TOO_LONG, WAIT_S)

    def _done(self, task: asyncio.Future[None]) -> None:
        self.figures.under_way -= 1
        if not task.cancelled():
            # A failure after the time was up has been answered already.
            task.exception()
