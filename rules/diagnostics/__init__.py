"""What is wrong with a catalog, and where: diagnostics, their codes, and how they are shown."""

from rules.diagnostics.diagnostic import Code, Collector, Diagnostic, Severity, Span, names, quote
from rules.diagnostics.render import full, one_line, printable, to_dict

__all__ = [
    "Code",
    "Collector",
    "Diagnostic",
    "Severity",
    "Span",
    "full",
    "names",
    "one_line",
    "printable",
    "quote",
    "to_dict",
]
