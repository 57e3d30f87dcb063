"""How often one client may ask: by its key, or by its address where it has none."""

from __future__ import annotations

import hashlib
import math
import time

from limits import RateLimitItemPerMinute
from limits.storage import MemoryStorage
from limits.strategies import FixedWindowRateLimiter

from service.middleware import Scope
from service.storefront.reply import Heads

FREE = ("/health/", "/metrics")
"""Addresses that are never limited: who watches the service must see it while it is busy."""

SHARES = 1_000
"""A client takes a thousandth of its limit at once, so that most requests cost one look into a dictionary."""

CLIENTS = 100_000
"""Clients whose share is remembered."""


class Rates:
    """Counts what each client asks, in windows of a minute, in this process."""

    def __init__(self, per_minute: int) -> None:
        self._most = RateLimitItemPerMinute(per_minute)
        self._counts = FixedWindowRateLimiter(MemoryStorage())
        self._taken_at_once = max(1, per_minute // SHARES)
        self._left: dict[str, int] = {}

    def wait_s(self, scope: Scope, heads: Heads) -> int:
        """Count a request; 0 if it may pass, else how long to wait [s]."""
        if scope["path"].startswith(FREE):
            return 0
        who = _client(scope, heads)
        left = self._left.get(who, 0)
        if left:
            self._left[who] = left - 1
            return 0
        if self._counts.hit(self._most, who, cost=self._taken_at_once):
            self._take(who)
            return 0
        ends = self._counts.get_window_stats(self._most, who).reset_time
        return max(1, math.ceil(ends - time.time()))

    def _take(self, who: str) -> None:
        if self._taken_at_once > 1:
            if len(self._left) >= CLIENTS:
                # What they have taken is lost to them, and no more.
                self._left.clear()
            self._left[who] = self._taken_at_once - 1


def _client(scope: Scope, heads: Heads) -> str:
    key = heads.get(b"authorization")
    if key is not None:
        # A key is no text to keep.
        return hashlib.sha256(key).hexdigest()[:16]
    client = scope.get("client")
    return str(client[0]) if client else "unknown"
