"""The bike as it stands: what is asked at each of its places, and the bike as found that is read from the answers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import zip_longest

from rules.bench import Bench
from rules.build import Placement
from rules.catalog.catalog import Bike, Catalog
from rules.catalog.part import Part
from rules.desk import displaced_by
from rules.errors import MalformedQuestion
from service.desk import words
from service.desk.asked import Fields, day_of, minor_of
from service.desk.measured import measured_in
from service.serving import Serving
from service.shapes.placement import read_placement

FITTED_SINCE = 3
"""Parts that the form takes for one place: a speaker with its adapter and its ring, say."""

OWN_PARTS = 2
"""Parts of a rider's own that the form has room for; the API takes more."""

OWN_KINDS = ("speaker", "amplifier", "head_unit")
"""Kinds of a rider's own parts that the form asks for. Of others, that nobody knows what was done says all that counts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One place as it left the works, and what somebody may have put there since."""

    id: str
    letter: str
    name: str
    now: tuple[str, ...]
    since: tuple[tuple[str, str], ...]
    is_preset: bool


def places_found(bike: Bike, letters: Mapping[str, str], serving: Serving) -> tuple[Found, ...]:
    """Give the places of a bike, each with what could be there."""
    bench = Bench(serving.engine.tables, bike)
    return tuple(_found_at(bench, place, letter) for place, letter in letters.items())


def _found_at(bench: Bench, place: str, letter: str) -> Found:
    catalog = bench.tables.catalog
    stock = sorted(x.part for x in bench.stock if x.place == place)
    others = sorted(x for x in bench.universe - bench.stock if x.place == place)
    return Found(
        id=place,
        letter=letter,
        name=catalog.places[place].name,
        now=tuple(catalog.parts[x].name for x in stock),
        since=tuple(sorted(((str(x), catalog.parts[x.part].name) for x in others), key=lambda x: x[1])),
        is_preset=any(catalog.parts[x.part].kind == "amplifier" for x in others),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnPlace:
    """Where a rider's own part can be."""

    name: str
    choices: tuple[tuple[str, str], ...]


def own_choices(bike: Bike, catalog: Catalog) -> tuple[OwnPlace, ...]:
    """Give for each place what of a rider's own can be there: a kind, with its plugs as those of a part that is known."""
    return tuple(
        OwnPlace(
            name=catalog.places[place].name,
            choices=tuple(
                (f"{part.id}@{place}", _plugged(part, catalog))
                for part in _plugged_otherwise(catalog)
                if part.slot in catalog.places[place].slots
            ),
        )
        for place in bike.has.places
        if any(x.slot in catalog.places[place].slots for x in _plugged_otherwise(catalog))
    )


def _plugged(part: Part, catalog: Catalog) -> str:
    """Say how a part is plugged in: by the shape of its one plug, or by a part that has the same ones."""
    shapes = [
        catalog.connector_types[catalog.contact_maps[x.map].type].name for x in part.connectors.values()
    ]
    kind = words.kind_name(part.kind)
    return f"{kind} with {shapes[0]}" if len(shapes) == 1 else f"{kind}, plugs like {part.name}"


def _plugged_otherwise(catalog: Catalog) -> Iterator[Part]:
    """Give one part for each way in which a speaker, an amplifier or a head unit is plugged in."""
    seen: list[object] = []
    for kind in OWN_KINDS:
        for part in catalog.parts.values():
            way = (kind, part.slot, part.connectors, part.links)
            if part.kind == kind and way not in seen:
                seen.append(way)
                yield part


@dataclass(frozen=True, slots=True, kw_only=True)
class _Own:
    """One part of a rider's own, as it was told."""

    number: int
    like: Part
    place: str
    name: str
    ohm: str
    watts: str
    depth: str

    @property
    def id(self) -> str:
        """Give it a name that no catalog has."""
        return f"own-{self.number}"

    def to_asked(self, today: date) -> dict[str, object]:
        """Describe it as the API is told of it. What nobody wrote down is unknown."""
        like, measure = self.like, {"unknown": "measure it on this part"}
        ohm, watts = _figure(self.ohm, "own_ohm"), _figure(self.watts, "own_watts")
        depth = _figure(self.depth, "own_depth")
        power = {f"{ohm:g}": watts} if ohm and watts else {"unknown": "read the power off its plate"}
        told: dict[str, object] = {
            "id": self.id,
            "name": self.name or f"{words.kind_name(like.kind)} that nobody knows",
            "kind": like.kind,
            "slot": like.slot,
            "at": [self.place],
            "spec": {**dict.fromkeys(like.spec, measure), **({"depth_mm": depth} if depth else {})},
            "connectors": {
                name: plug.model_dump(mode="json", exclude_defaults=True, exclude={"presence"})
                for name, plug in like.connectors.items()
            },
            "links": like.links,
            "channels": [
                {
                    "id": channel.id,
                    "output": channel.output,
                    "watts": power,
                    "min_ohm": ohm or {"unknown": "read the lowest load off its plate"},
                }
                for channel in like.channels
                if not channel.bridges
            ],
            "source": {"kind": "measured", "ref": "told at the counter", "date": today.isoformat()},
        }
        if like.speaker is not None:
            told["speaker"] = {
                "impedance_ohm": ohm
                or {"unknown": "measure the resistance of one of them with the plug off"},
                "rms_w": watts or {"unknown": "read the power off its back"},
            }
        if like.supply is not None:
            sheet = {"unknown": "read it off its sheet"}
            told["supply"] = dict.fromkeys(("fuse_a", "full_a", "idle_a", "efficiency"), sheet)
        return told


def _own_parts(fields: Fields, catalog: Catalog) -> Iterator[_Own]:
    names = ("own", "own_name", "own_ohm", "own_watts", "own_depth")
    columns = (fields.all(x) for x in names)
    for number, (chosen, name, ohm, watts, depth) in enumerate(zip_longest(*columns, fillvalue=""), 1):
        placed = read_placement(chosen)
        if chosen and placed.part not in catalog.parts:
            raise MalformedQuestion("own", "nothing is plugged in like this", "choose from the list")
        if chosen:
            like = catalog.parts[placed.part]
            yield _Own(
                number=number,
                like=like,
                place=placed.place,
                name=name[:80],
                ohm=ohm,
                watts=watts,
                depth=depth,
            )


def _figure(told: str, field: str) -> float | None:
    """Read a figure of a rider's own part; nothing for an empty field."""
    if not told:
        return None
    try:
        value = float(told.replace(",", "."))
    except ValueError:
        value = 0.0
    if not 0 < value <= LARGEST:
        raise MalformedQuestion(field, "a figure is no number above zero", "write it like 4 or 47.5")
    return value


LARGEST = 100_000


def found_in(fields: Fields, serving: Serving, today: date) -> dict[str, object]:
    """Read the bike as it stands, as the API is told of it; what a part displaced is gone.

    Args:
        today: On which the rider's own parts were looked at.

    Raises:
        UnknownBike, MalformedQuestion: There is no such bike, or it has no room for such a part, or a field cannot be read.
    """
    catalog = serving.catalog
    bike = catalog.bikes[serving.engine.bikes_meant(fields.one("bike"))[0]]
    bench = Bench(serving.engine.tables, bike)
    since, own = _since(fields, bench), tuple(_own_parts(fields, catalog))
    gone = displaced_by(bench, frozenset(since)) | {
        x
        for x in bench.stock
        if any((x.place, bench.part(x).slot) == (one.place, one.like.slot) for one in own)
    }
    fitted = {**since, **{Placement(x.id, x.place): None for x in own}}
    _check_room(bench, [(x.place, bench.part(x).slot) for x in since] + [(x.place, x.like.slot) for x in own])
    amplifiers = {x.id for x in own if x.like.kind == "amplifier"} | {
        x.part for x in since if bench.part(x).kind == "amplifier"
    }
    in_force = fields.all("preset_in_force")
    return {
        "fitted": [
            {"part": x.part, "place": x.place, **_paid(paid), **_when(fields, x.place)}
            for x, paid in sorted(fitted.items(), key=lambda entry: entry[0])
        ],
        "removed": [{"part": x.part, "place": x.place} for x in sorted(gone & bench.stock)],
        "presets": sorted(x.part for x in fitted if x.part in amplifiers and x.place in in_force),
        "unknown_work": sorted(set(fields.all("unknown_work"))),
        "measured": list(measured_in(fields, bike)),
        "own_parts": [x.to_asked(today) for x in own],
    }


def _check_room(bench: Bench, taken: list[tuple[str, str | None]]) -> None:
    for (place, slot), count in Counter(taken).items():
        room = bench.tables.catalog.places[place].slots.get(slot or "", 0) if place in bench.has.places else 0
        if count > room:
            raise MalformedQuestion(
                "own",
                "more is said to be at a place than it has room for",
                "say what is there now, and no more",
            )


def changed_in(fields: Fields) -> frozenset[str]:
    """Give the places of which a form tells that something was fitted since, or when or by whom."""
    since = {read_placement(x).place for x in fields.all("since") if x}
    told = {
        key.partition(":")[2] for key, value in fields.pairs if key.startswith(("when:", "who:")) and value
    }
    return frozenset(since | told | set(fields.all("preset_in_force")))


def _since(fields: Fields, bench: Bench) -> dict[Placement, int | None]:
    """Give what was fitted since, with what was paid for each."""
    shop = bench.tables.catalog.shop
    columns = (fields.all("since"), fields.all("since_paid"))
    told = {
        read_placement(chosen): minor_of(paid, shop, "since_paid")
        for chosen, paid in zip_longest(*columns, fillvalue="")
        if chosen
    }
    if not frozenset(told) <= bench.universe:
        raise MalformedQuestion(
            "since", "a part is where this bike has no room for it", "choose from the list"
        )
    return told


def _paid(paid: int | None) -> dict[str, object]:
    return {} if paid is None else {"paid_minor": paid}


def _when(fields: Fields, place: str) -> dict[str, object]:
    """Give when something was fitted at a place, and by whom, as far as somebody knows."""
    on, who = fields.one(f"when:{place}"), fields.one(f"who:{place}")
    day = {"fitted_on": day_of(on, f"when:{place}").isoformat()} if on else {}
    return {**day, **({"fitter": who} if who in FITTERS else {})}


FITTERS = ("shop", "home")
