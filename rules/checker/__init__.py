"""The checker: verifies every plan anew before it is returned, from the definitions alone."""

from rules.checker.fault import Clause, Fault
from rules.checker.plan import Checker
from rules.checker.shelf import Shelf

__all__ = ["Checker", "Clause", "Fault", "Shelf"]
