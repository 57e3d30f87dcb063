"""The checker: verifies every plan anew before it is returned, from the definitions alone."""

from rules.checker.fault import Clause, Fault
from rules.checker.index import Index
from rules.checker.plan import Checker, Replay

__all__ = ["Checker", "Clause", "Fault", "Index", "Replay"]
