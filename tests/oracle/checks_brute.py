"""The checks of section 2 of the definitions on one build, each True, False or None (not known)."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from rules.build import Build, Placement
from rules.catalog.condition import All, AnyOf, Comparison, Condition, Fitted, Not
from rules.catalog.part import Channel
from tests.oracle.reading import World, exact, known
from tests.oracle.three import every, opposite, some
from tests.oracle.wirings_brute import Feed, Wiring, present_wirings

# Conditions ---------------------------------------------------------------------------------------


def holds(world: World, condition: Condition | None, placement: Placement, build):
    """Evaluate a rule's `when` for one placement."""
    match condition:
        case None:
            return True
        case All():
            return every(holds(world, one, placement, build) for one in condition.all)
        case AnyOf():
            return some(holds(world, one, placement, build) for one in condition.any)
        case Not():
            return opposite(holds(world, condition.not_, placement, build))
        case Fitted():
            return any(
                other != placement
                and world.selects_placed(condition.fitted, other)
                and (not condition.same_place or other.place == placement.place)
                for other in build
            )
        case Comparison():
            return _compare(condition, _fact(world, condition.fact, placement))


def _fact(world: World, name: str, placement: Placement):
    of, key = name.split(".", 1)
    if of == "bike":
        return world.bike_fact(key)
    return world.geometry(placement.place, key) if of == "place" else world.part_fact(placement, key)


def _compare(comparison: Comparison, value):
    if value is None:
        return None
    if comparison.equals is not None:
        return value == comparison.equals
    if comparison.one_of is not None:
        return value in comparison.one_of
    if comparison.at_least is not None:
        return exact(value) >= exact(comparison.at_least)
    if comparison.at_most is not None:
        return exact(value) <= exact(comparison.at_most)
    return comparison.has in value


# Things -------------------------------------------------------------------------------------------


def things(world: World, build: Build, added: Build, day: date):
    """Check everything that does not depend on the wiring."""
    if not _slots_hold(world, build) or not all(_hosted(world, build, placement) for placement in build):
        return False
    return every(
        [
            *(_carried(world, build, placement) for placement in build),
            *(not world.on_hold(placement.part, day) for placement in added),
            *(None for one in build - world.present if one.place in world.found.unknown_work),
            *_rule_checks(world, build),
            *_masses(world, build),
        ]
    )


def _slots_hold(world: World, build: Build) -> bool:
    slots = [world.slot(placement) for placement in build]
    return all(slots.count(slot) <= world.capacity(slot) for slot in slots)


def _carried(world: World, build: Build, placement: Placement):
    if world.part(placement).slot == "carrier":
        return True
    if any(other.place == placement.place and world.part(other).slot == "carrier" for other in build):
        return True
    return opposite(known(world.has.places[placement.place].carrier_needed))


def _hosted(world: World, build: Build, placement: Placement) -> bool:
    hosts = world.part(placement).host
    return not hosts or any(Placement(host, placement.place) in build for host in hosts)


def _rule_checks(world: World, build: Build):
    judges = {
        "clearance": _clear,
        "requires": _has_needed,
        "flash_needed": _has_needed,
        "excludes": _not_excluded,
    }
    for rule in world.rules():
        if rule.kind in judges:
            for placement in build:
                if world.selects_placed(rule.subject, placement):
                    verdict = judges[rule.kind](world, build, rule, placement)
                    yield _with_exceptions(world, build, rule, placement, verdict)


def _with_exceptions(world, build, rule, placement, verdict):
    for other in world.rules():
        if (
            other.kind == "measured_exception"
            and other.overrides == rule.id
            and world.selects_placed(other.subject, placement)
        ):
            applies = holds(world, other.when, placement, build)
            verdict = (
                some([applies, verdict]) if other.outcome == "allow" else every([opposite(applies), verdict])
            )
    return verdict


def _when_then(world, build, rule, placement, wanted):
    return some([opposite(holds(world, rule.when, placement, build)), wanted])


def _clear(world, build, rule, placement):
    if placement in world.stock:
        return True
    return _when_then(world, build, rule, placement, _clears(world, build, rule, placement))


def _clears(world, build, rule, placement):
    size = exact(world.part_fact(placement, rule.spec))
    room = exact(world.geometry(placement.place, rule.geometry))
    relief = [
        exact(world.part_fact(other, rule.relieved_by_spec))
        for other in build
        if rule.relieved_by_slot and world.slot(other) == (placement.place, rule.relieved_by_slot)
    ]
    if size is None or room is None or None in relief:
        return None
    room, margin = room + sum(relief), exact(rule.margin)
    if rule.relation == "at_most":
        return size + margin <= room
    return size >= room + margin if rule.relation == "at_least" else abs(size - room) <= margin


def _has_needed(world, build, rule, placement):
    same_place = rule.kind == "flash_needed" or rule.same_place
    return _when_then(world, build, rule, placement, _beside(world, build, rule.needs, placement, same_place))


def _beside(world, build, selector, placement, same_place) -> bool:
    return any(
        other != placement
        and world.selects_placed(selector, other)
        and (not same_place or other.place == placement.place)
        for other in build
    )


def _not_excluded(world, build, rule, placement):
    together = rule.together_with is None or _beside(
        world, build, rule.together_with, placement, rule.same_place
    )
    return opposite(every([holds(world, rule.when, placement, build), together]))


def _masses(world: World, build: Build):
    for rule in world.rules():
        if rule.kind == "mass_limit":
            places = [place for place in world.has.places if not rule.at or place in rule.at]
            if rule.fact:
                yield _light_enough(world, build, places, exact(world.bike_fact(rule.fact)))
            else:
                for place in places:
                    limit = world.mass_limit(place)
                    if limit is not ...:
                        yield _light_enough(world, build, [place], limit)


def _light_enough(world, build, places, limit):
    masses = [exact(world.part(placement).mass_kg) for placement in build if placement.place in places]
    return at_most(masses, limit)


def at_most(terms, limit):
    """Compare a sum of terms, none below zero, with a limit; any of them may be unknown."""
    if limit is None:
        return True if all(term == 0 for term in terms) else None
    least = sum((term for term in terms if term is not None), Fraction(0))
    if least > limit:
        return False
    return None if None in terms else True


# Wiring -------------------------------------------------------------------------------------------


def electrics(world: World, build: Build, wiring: Wiring):
    """Check what depends on the wiring; whether a preset can be had is asked with the bill."""
    return every(
        [
            *(None for mate in wiring.mates if world.unknown_mate(*mate)),
            *_channels(world, wiring),
            *(None for channel in _loads(wiring) if not _is_familiar(world, wiring, channel)),
            *_kits(world, wiring),
            *_charging(world, build),
        ]
    )


def limits(world: World, kind: str):
    return world.rules(kind)


def _loads(wiring: Wiring):
    """Give every channel that feeds something, with its speakers (one entry a side)."""
    loads: dict[tuple[Placement, str], list[Placement]] = {}
    for feed in wiring.feeds:
        loads.setdefault((feed.source, feed.channel), []).append(feed.sink.speaker)
    return loads


def _is_familiar(world: World, wiring: Wiring, channel) -> bool:
    """Tell whether a channel stays clear of unknown work, or feeds just as it may do on the present bike."""
    feeds = _feeds_of(wiring, channel)
    if not any(feed.sink.speaker.place in world.found.unknown_work for feed in feeds):
        return True
    return any(feeds == _feeds_of(before, channel) for before in present_wirings(world))


def _feeds_of(wiring: Wiring, channel) -> set[Feed]:
    return {feed for feed in wiring.feeds if (feed.source, feed.channel) == channel}


def _channel(world: World, source: Placement, name: str):
    return next(channel for channel in world.part(source).channels if channel.id == name)


def _channels(world: World, wiring: Wiring):
    loads = _loads(wiring)
    for rule in limits(world, "channel_limit"):
        for (source, name), speakers in loads.items():
            channel = _channel(world, source, name)
            if rule.limit == "lowest_impedance":
                yield _not_too_low(world, channel, speakers)
            elif rule.limit == "bridge":
                yield not any((source, half) in loads for half in channel.bridges)
            else:
                yield from _power(world, source, channel, speakers)


def _impedances(world: World, speakers):
    return [exact(world.part(speaker).speaker.impedance_ohm) for speaker in speakers]


def _not_too_low(world: World, channel: Channel, speakers):
    lowest = exact(channel.min_ohm)
    if lowest is None:
        return None
    ohms = _impedances(world, speakers)
    return at_most([None if ohm is None else 1 / ohm for ohm in ohms], 1 / lowest)


def shares(world: World, channel: Channel, speakers):
    """Give each speaker with its share of the power [W], None where it cannot be told."""
    ohms = _impedances(world, speakers)
    watts = known(channel.watts)
    if None in ohms or watts is None:
        return [(speaker, None) for speaker in speakers]
    parallel = 1 / sum(1 / ohm for ohm in ohms)
    rated = [Fraction(ohm) for ohm in watts if Fraction(ohm) <= parallel]
    if not rated:
        return [(speaker, None) for speaker in speakers]
    power = next(exact(power) for ohm, power in watts.items() if Fraction(ohm) == max(rated))
    return [(speaker, power * parallel / ohm) for speaker, ohm in zip(speakers, ohms, strict=True)]


def _bears(world: World, speaker: Placement, share):
    limit = exact(world.part(speaker).speaker.rms_w)
    return None if share is None or limit is None else share <= limit


def _power(world: World, source: Placement, channel: Channel, speakers):
    for speaker, share in shares(world, channel, speakers):
        bears = _bears(world, speaker, share)
        if world.part(source).kind == "amplifier":
            yield None if bears is None else True
        else:
            yield bears


def needing_preset(world: World, build: Build, wiring: Wiring) -> set[Placement]:
    """Give the amplifiers that need a preset: by rule, or to cap the power of a channel."""
    needing = {
        placement
        for rule in limits(world, "preset_chain")
        for placement in build
        if world.part(placement).kind == "amplifier" and world.selects_placed(rule.subject, placement)
    }
    if any(rule.limit == "speaker_power" for rule in limits(world, "channel_limit")):
        for (source, name), speakers in _loads(wiring).items():
            if world.part(source).kind == "amplifier":
                for speaker, share in shares(world, _channel(world, source, name), speakers):
                    if _bears(world, speaker, share) is False:
                        needing.add(source)
    return needing


def _kits(world: World, wiring: Wiring):
    owners: dict[Placement, set[Placement]] = {}
    for mate in wiring.mates:
        for node, other in (tuple(mate), tuple(mate)[::-1]):
            if node.owner and other.owner and world.part(node.owner).cable and world.part(other.owner).supply:
                owners.setdefault(node.owner, set()).add(other.owner)
    for kit, amplifiers in owners.items():
        for rule in limits(world, "supply_limit"):
            yield _kit_check(
                world, rule, world.part(kit).cable, [world.part(one).supply for one in amplifiers]
            )


def _kit_check(world, rule, cable, supplies):
    ampacity, full = exact(cable.ampacity_a), [exact(supply.full_a) for supply in supplies]
    if rule.limit == "fuse":
        return _fused(cable, ampacity, [exact(supply.fuse_a) for supply in supplies])
    if rule.limit == "ampacity":
        return at_most(full, ampacity)
    if rule.limit == "voltage_drop":
        length, area = exact(cable.length_m), exact(cable.area_mm2)
        if length is None or area is None:
            return None
        volts = 2 * Fraction("0.0178") * length / area
        return at_most([None if one is None else volts * one for one in full], exact(rule.most))
    return True


def _fused(cable, ampacity, fuses):
    least = sum((one for one in fuses if one is not None), Fraction(0))
    bag = [exact(one) for one in cable.fuses_a]
    if None in fuses:
        return every([None, least <= max(bag, default=0), at_most(fuses, ampacity)])
    return every([least in bag, at_most(fuses, ampacity)])


def _charging(world: World, build: Build):
    amplifiers = [placement for placement in build if world.part(placement).kind == "amplifier"]
    for rule in limits(world, "supply_limit"):
        if rule.limit == "charging" and amplifiers:
            draws = [term for one in amplifiers for term in _draws(world, one)]
            yield at_most(draws, exact(world.bike_fact("charging_headroom_a")))


def _draws(world: World, amplifier: Placement):
    """Give idle current, then each unbridged channel's third of full power, as currents [A]."""
    part = world.part(amplifier)
    yield exact(part.supply.idle_a)
    efficiency = exact(part.supply.efficiency)
    for channel in part.channels:
        table = known(channel.watts)
        if not channel.bridges:
            if table is None or efficiency is None:
                yield None
            else:
                yield exact(table[max(table, key=Fraction)]) / 3 / efficiency / Fraction("13.8")
