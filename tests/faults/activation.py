"""Activates releases under load, one after the other, and counts what visitors see of it.

Run as `python -m tests.faults.activation --activations 1000`. Two processes serve one database. Visitors ask both all the
while, and compare each answer with what the release that it names answers, worked out apart. Prints one line of JSON.
"""

from __future__ import annotations

import argparse
import json
import sys
import time

from tests.faults.shop import Count, Service, Shop, serving, sqlite_shop, suppress_failures, visitors
from tests.postgres import postgresql
from tests.releasing.shelves import FIRST, SECOND, manager


def alternate(shop: Shop, services: list[Service], activations: int, count: Count) -> None:
    """Serve two stored releases in turn, each time by a request to another of the processes."""
    key = {"Authorization": f"Bearer {shop.key}"}
    for number in range(activations):
        with suppress_failures(count):
            service = services[number % len(services)]
            status, _, _ = service.ask("POST", "/v1/rollbacks", {"why": f"number {number}"}, key)
            count.add(failed=status != 200)


def run(shop: Shop, activations: int) -> Count:
    """Run it all on one database."""
    for archive in (FIRST, SECOND):
        shop.serve(archive)
    with serving(shop.address) as first, serving(shop.address) as second:
        began = time.monotonic()
        with visitors(shop, [first, second]) as count:
            alternate(shop, [first, second], activations, count)
        took = time.monotonic() - began
        wanted = manager(shop.database).history.standing().release or ""
        behind = max(service.wait_until_it_serves(wanted) for service in (first, second))
    print(
        f"{activations} activations in {took:.1f} s, {count.asked} answers checked from {len(count.seen)} releases, "
        f"the last process {behind:.2f} s behind at the end",
        file=sys.stderr,
    )
    return count


def main() -> None:
    """Read the arguments, and print what was counted."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--activations", type=int, default=1_000)
    arguments.add_argument("--postgresql", action="store_true", help="on a server of its own, not on SQLite")
    asked = arguments.parse_args()
    if asked.postgresql:
        with postgresql() as server:
            shop = Shop(server.new_database())
            count = run(shop, asked.activations)
            shop.database.close()
    else:
        with sqlite_shop() as shop:
            count = run(shop, asked.activations)
    print(json.dumps(count.told()))
    sys.exit(1 if any(count.told().values()) else 0)


if __name__ == "__main__":
    main()
