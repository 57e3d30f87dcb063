"""Cross checks: what no single entry can tell about itself."""

from rules.check.bikes import check_bikes
from rules.check.cases import check_cases
from rules.check.context import Context
from rules.check.parts import check_parts
from rules.check.prices import check_prices
from rules.check.rules import check_rules
from rules.check.wires import check_contact_maps
from rules.diagnostics import Collector
from rules.draft import Draft
from rules.resolve import Resolution

__all__ = ["check_entries"]


def check_entries(draft: Draft, resolution: Resolution, collector: Collector) -> None:
    """Report everything that entries say about one another and that does not hold."""
    context = Context(draft, resolution, collector)
    check_contact_maps(context)
    check_parts(context)
    check_bikes(context)
    check_rules(context)
    check_prices(context)
    check_cases(context)
