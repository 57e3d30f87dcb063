"""The checks of a build that need no wiring: slots, carriers, hosts, the catalog's rules, masses, charging."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from rules.bench import Bench
from rules.build import Build, Placement, Slot
from rules.catalog.rule import Clearance, Excludes, MeasuredException
from rules.kinds import advice as advice_kind
from rules.kinds import clearance, excludes, mass_limit, requires, supply_limit
from rules.scene import Guard, Scene
from rules.tables import PartRule
from rules.verdict import Cause, Finding, Status, is_missing

SLOT = "slot_taken"
CARRIER = "carrier_missing"
HOST = "host_missing"
UNKNOWN_WORK = "unknown_work"


def check_things(bench: Bench, build: Build) -> Iterator[Finding]:
    """Give every finding that refuses the build or leaves it open, wiring aside."""
    scene = Scene(bench, build)
    yield from check_slots(scene)
    for placed in sorted(build):
        yield from check_placement(scene, placed)
    for mass in bench.tables.mass_limits:
        yield from mass_limit.check(mass, scene)
    for supply in bench.tables.supply_limits:
        if supply.limit == "charging":
            yield from supply_limit.check_charging(supply, scene)


def check_placement(scene: Scene, placed: Placement) -> Iterator[Finding]:
    """Give every finding on one part of a build, wiring aside."""
    yield from _carrier(scene, placed)
    yield from _host(scene, placed)
    yield from _unknown_work(scene, placed)
    yield from _unrated(scene, placed)
    for rule in scene.bench.tables.part_rules[placed.part]:
        if scene.bench.selects(rule.subject, placed):
            yield from _with_exceptions(scene, rule, placed)


def advise(bench: Bench, build: Build) -> tuple[Finding, ...]:
    """Give advice and cautions on a build."""
    scene = Scene(bench, build)
    advice = [finding for placed in sorted(build) for finding in advise_placement(scene, placed)]
    cautions = [
        finding
        for rule in bench.tables.supply_limits
        if rule.limit == "idle"
        for finding in supply_limit.check_charging(rule, scene)
    ]
    return (*advice, *cautions)


def advise_placement(scene: Scene, placed: Placement) -> Iterator[Finding]:
    """Give the advice on one part of a build."""
    for rule in scene.bench.tables.advice[placed.part]:
        if scene.bench.selects(rule.subject, placed):
            yield from advice_kind.check(rule, scene, placed)


def _check(rule: PartRule, scene: Scene, placed: Placement) -> Iterator[Finding]:
    if isinstance(rule, Clearance):
        return clearance.check(rule, scene, placed)
    if isinstance(rule, Excludes):
        return excludes.check(rule, scene, placed)
    return requires.check(rule, scene, placed)


def _with_exceptions(scene: Scene, rule: PartRule, placed: Placement) -> Iterator[Finding]:
    findings = list(_check(rule, scene, placed))
    for exception in scene.bench.tables.exceptions_for(rule.id, placed):
        guard = scene.guard(exception.when, placed)
        findings = list(_except(exception, guard, findings, scene, placed))
    yield from findings


def _except(
    exception: MeasuredException, guard: Guard, findings: list[Finding], scene: Scene, placed: Placement
) -> Iterator[Finding]:
    if exception.outcome == "allow":
        for finding in findings:
            if guard.holds is False:
                yield replace(
                    finding,
                    present=finding.present | guard.present,
                    repairs=finding.repairs | guard.repairs,
                    futile=finding.futile - guard.repairs,
                    causes=tuple(dict.fromkeys((*finding.causes, *guard.causes))),
                )
            elif guard.holds is None:
                yield replace(
                    finding,
                    status=Status.UNKNOWN,
                    present=finding.present | guard.present,
                    repairs=finding.repairs | guard.repairs,
                    futile=finding.futile - guard.repairs,
                    causes=tuple(dict.fromkeys((*finding.causes, *guard.causes))),
                )
        return
    if guard.holds is False or (guard.holds is None and findings):
        yield from findings
        return
    yield Finding(
        rule=exception.id,
        status=Status.REFUSED if guard.holds else Status.UNKNOWN,
        present=frozenset({placed}) | guard.present,
        repairs=guard.repairs,
        causes=(scene.bench.cause("part.id", placed), *guard.causes),
    )


def check_slots(scene: Scene) -> Iterator[Finding]:
    """Give a finding for each slot that holds more than it takes."""
    held: dict[Slot, list[Placement]] = {}
    for placed in sorted(scene.build):
        held.setdefault(scene.bench.slot(placed), []).append(placed)
    for (place, slot), parts in held.items():
        most = scene.bench.capacity(place, slot)
        if len(parts) > most:
            causes = tuple(scene.bench.cause("part.id", x) for x in parts[: most + 1])
            room = Cause(fact=f"places.{place}.slots.{slot}", of=place, value=most)
            yield Finding(
                rule=SLOT,
                status=Status.REFUSED,
                present=frozenset(parts[: most + 1]),
                causes=(*causes, room),
                detail=slot,
            )


def _carrier(scene: Scene, placed: Placement) -> Iterator[Finding]:
    is_free_standing = scene.bench.has.places[placed.place].carrier_needed is False
    if is_free_standing or scene.bench.part(placed).slot == "carrier":
        return
    needed = scene.bench.carrier_cause(placed.place)
    if next(scene.at(placed.place, "carrier"), None) is None:
        yield Finding(
            rule=CARRIER,
            status=Status.UNKNOWN if needed.is_missing else Status.REFUSED,
            present=frozenset({placed}),
            repairs=scene.bench.in_slot(placed.place, "carrier"),
            causes=(scene.bench.cause("part.id", placed), needed),
        )


def _host(scene: Scene, placed: Placement) -> Iterator[Finding]:
    hosts = scene.bench.part(placed).host
    if not hosts or any(x.part in hosts for x in scene.at(placed.place)):
        return
    yield Finding(
        rule=HOST,
        status=Status.REFUSED,
        present=frozenset({placed}),
        repairs=frozenset(x for x in scene.bench.universe if x.place == placed.place and x.part in hosts),
        causes=(scene.bench.cause("part.id", placed),),
    )


def _unrated(scene: Scene, placed: Placement) -> Iterator[Finding]:
    """Say at once that a speaker without figures stays open on any channel; the wiring checks would find it later."""
    figures = {"lowest_impedance": "impedance_ohm", "speaker_power": "rms_w"}
    if scene.bench.part(placed).speaker is None:
        return
    for rule in scene.bench.tables.channel_limits:
        name = f"part.{figures.get(rule.limit, 'id')}"
        if is_missing(scene.bench.fact(name, placed)):
            cause = scene.bench.cause(name, placed)
            yield Finding(rule=rule.id, status=Status.UNKNOWN, present=frozenset({placed}), causes=(cause,))


def _unknown_work(scene: Scene, placed: Placement) -> Iterator[Finding]:
    found = scene.bench.found
    if placed.place in found.unknown_work and placed not in scene.bench.present:
        yield Finding(
            rule=UNKNOWN_WORK,
            status=Status.UNKNOWN,
            present=frozenset({placed}),
            causes=(Cause(fact=f"places.{placed.place}.previous_work", of=placed.place, value=None),),
        )
