"""The checks of a build that need a wiring: its sound wirings; or why there is none."""

from __future__ import annotations

from dataclasses import dataclass, replace

from rules.bench import Bench
from rules.build import Build
from rules.clash import Judge
from rules.verdict import Finding, Status
from rules.wiring import Option


@dataclass(frozen=True, slots=True)
class Electrics:
    """Every sound wiring of a build; where there is none, why, and whether missing facts alone stand in the way."""

    options: tuple[Option, ...]
    findings: tuple[Finding, ...]


def check_electrics(bench: Bench, build: Build) -> Electrics:
    """Find every sound wiring of a build, or what refuses it."""
    judge = Judge(bench, build, unknown_plugs=False)
    options = tuple(judge.options())
    if options:
        return Electrics(options, ())
    hopeful = Judge(bench, build, unknown_plugs=True)
    open_findings = hopeful.best_open()
    if open_findings is None:
        return Electrics((), tuple(hopeful.laws((Status.REFUSED,))))
    missing = tuple(dict.fromkeys(cause for finding in open_findings for cause in finding.missing))
    return Electrics(
        (),
        tuple(
            replace(law, status=Status.UNKNOWN, causes=tuple(dict.fromkeys((*law.causes, *missing))))
            for law in judge.laws((Status.REFUSED, Status.UNKNOWN))
        ),
    )
