"""A catalog as a graph: what mates, where a signal can go, what needs what, in which order things come apart.

Importing this package imports networkx, which takes longer than reading a catalog: do so where it is used.
Whether a part fits is answered from `rules.tables`, never by walking here; tests keep the two equal.
"""

from rules.graph.catalog import build_graph
from rules.graph.needs import Dependence, depends_on
from rules.graph.places import where_it_goes
from rules.graph.plugs import mates_of, parts_that_mate, placements_that_mate
from rules.graph.signals import SignalPath, feeding_channels, signal_paths
from rules.graph.thing import Graph, Thing, ahead, behind, join, put, thing, things
from rules.graph.work import ComesOffInCircle, operations_for, tear_down_order

__all__ = [
    "ComesOffInCircle",
    "Dependence",
    "Graph",
    "SignalPath",
    "Thing",
    "ahead",
    "behind",
    "build_graph",
    "depends_on",
    "feeding_channels",
    "join",
    "mates_of",
    "operations_for",
    "parts_that_mate",
    "placements_that_mate",
    "put",
    "signal_paths",
    "tear_down_order",
    "thing",
    "things",
    "where_it_goes",
]
