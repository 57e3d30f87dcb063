"""The figures of every visit of a plan: electrical, mass, sound, presets, polarity, labour, warranty."""

from __future__ import annotations

from rules.figures.figure import Given, Known, Limit, VisitFigure
from rules.figures.presets import Label
from rules.figures.visit import Shared, VisitFigures, figures_of, visit_figures

__all__ = [
    "Given",
    "Known",
    "Label",
    "Limit",
    "Shared",
    "VisitFigure",
    "VisitFigures",
    "figures_of",
    "visit_figures",
]
