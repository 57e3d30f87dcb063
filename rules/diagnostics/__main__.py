"""`python -m rules.diagnostics` prints docs/diagnostics.md."""

from __future__ import annotations

import sys
from collections.abc import Iterator

from rules.diagnostics.diagnostic import Code
from rules.registry import CHAPTERS, CODES

_HEADER = """# Diagnostics

What can be wrong with a catalog. Made from the codes in the engine by
`python -m rules.diagnostics > docs/diagnostics.md`; do not edit it by hand.
How a catalog is written: [authoring.md](authoring.md).

`loomway check DIRECTORY` reports every fault in one run, sorted by file and line. The first line has file,
line and column (from 1), code and message. The place is the value for a wrong value, the key for an unknown
key, and the entry for a missing key. An error keeps the catalog from being used; a warning does not.
What only shows over all bikes and parts is looked for once a catalog has no error, and not with `--quick`.

There are {count} codes.
"""


def markdown() -> str:
    """The page, with one section for each code."""
    return "\n".join([_HEADER.format(count=len(CODES)), *_chapters()])


def _chapters() -> Iterator[str]:
    for chapter, codes in CHAPTERS.items():
        yield f"## {chapter}\n"
        for code in codes:
            yield _section(code)


def _section(code: Code) -> str:
    warning = " A warning." if code.severity == "warning" else ""
    return (
        f"### {code.name}\n\n{code.about}{warning}\n\n"
        f"```text\n{code.example}\n```\n\n"
        f"- Why: {code.why}.\n- What to do: {code.hint}.\n"
    )


if __name__ == "__main__":
    sys.stdout.write(markdown())
