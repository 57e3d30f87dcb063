"""The survey: the second stage of checking a catalog, which looks at every bike and every part.

Loading refuses what makes no sense in itself. The survey asks what only shows on all bikes and parts together; it takes
as long as asking many questions does, so loading a catalog never runs it. It gives warnings only.
"""

from __future__ import annotations

from datetime import date

from rules.catalog.catalog import Catalog
from rules.diagnostics import Collector
from rules.draft import Draft
from rules.survey.contradictions import check_contradictions
from rules.survey.ends import check_ends
from rules.survey.firing import check_firing
from rules.survey.fitting import check_fitting
from rules.survey.ground import Ground
from rules.survey.plugs import check_plugs
from rules.survey.shadows import check_shadows


def survey(catalog: Catalog, draft: Draft, collector: Collector, on: date) -> None:
    """Report what shows only over all bikes and parts.

    Args:
        catalog: A sound catalog, assembled from the draft.
        on: The day on which parts are sold and spans end.
    """
    ground = Ground(catalog, draft, collector, on)
    check_ends(ground)
    if catalog.bikes:
        check_firing(ground)
        check_shadows(ground)
        check_contradictions(ground)
        check_plugs(ground)
        check_fitting(ground)
