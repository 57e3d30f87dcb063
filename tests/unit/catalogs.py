"""Tiny shops for tests: one bike, the parts and rules that a test needs, and ways to look at them."""

from __future__ import annotations

from datetime import date
from typing import Any, get_args

from rules.bench import Bench
from rules.build import AsFound, Build, LedgerEntry, Measured, Placement
from rules.catalog.bike import BikeFacts, BikePlace, Loom
from rules.catalog.catalog import Bike, Catalog
from rules.catalog.condition import Comparison, Fitted, Selector
from rules.catalog.connector import Connector, ConnectorType, ContactMap
from rules.catalog.facts import Source, Unknown
from rules.catalog.part import AmplifierSupply, Cable, Channel, Kind, Part, PresetService, Speaker
from rules.catalog.place import Place
from rules.catalog.price import PriceList
from rules.catalog.rule import RuleEntry
from rules.catalog.shop import Shop
from rules.desk import Desk
from rules.engine import Engine
from rules.question import FitQuestion
from rules.scene import Scene
from rules.tables import Tables

DAY = date(2030, 5, 1)
NEXT_YEAR = date(2031, 5, 1)
SHEET = Source(kind="maker_sheet", ref="sheet 1", date=date(2030, 1, 1))
MEASURED = Source(kind="measured", ref="bench note 1", date=date(2030, 1, 2))
UNKNOWN = Unknown(unknown="measure it on the bike")

MAPS = {
    "head": {"1": "out front_left", "2": "out front_right", "3": "out rear_left", "4": "out rear_right"},
    "pod": {"1": "out drive"},
    "blade": {"1": "out drive"},
    "amp": {"1": "out amp_left", "2": "out amp_right"},
    "line": {"1": "out line"},
    "feed": {"1": "out plus"},
    "lug": {"1": "out plus"},
}
PLACES = {
    "dash": {"head_unit": 1, "flash": 2, "harness": 1},
    "pods": {"speaker": 1, "ring": 1, "adapter": 1, "carrier": 1},
    "rears": {"speaker": 1, "ring": 1, "adapter": 1, "carrier": 1},
    "tray": {"amplifier": 2, "lead": 2},
    "battery": {"power_kit": 1},
}


def sends(contacts: str, gender: Any = "plug", **more: Any) -> Connector:
    """Give a connector out of which the signal comes."""
    return Connector(map=contacts, gender=gender, **more)


def takes(contacts: str, gender: Any = "socket", **more: Any) -> Connector:
    """Give a connector into which the signal goes."""
    return Connector(map=contacts, gender=gender, mirrored=True, **more)


def part(name: str, kind: Kind, slot: str | None, **more: Any) -> Part:
    return Part(
        id=name, name=name.replace("-", " ").capitalize(), kind=kind, slot=slot, **{"source": SHEET, **more}
    )


def speaker(name: str = "petrel", ohm: Any = 4.0, rms: Any = 30.0, plug: str = "pod", **more: Any) -> Part:
    """Give a pair of speakers; 50 mm deep unless the test says otherwise."""
    plugs = {"terminals": takes(plug, paired=True, needed=True)}
    sound = Speaker(impedance_ohm=ohm, rms_w=rms)
    return part(
        name, "speaker", "speaker", connectors=plugs, speaker=sound, **{"spec": {"depth_mm": 50.0}, **more}
    )


def radio(
    name: str = "works-radio", watts: Any = 20.0, lowest: Any = 2.0, needs: str | None = None, **more: Any
) -> Part:
    """Give a head unit with four channels; `needs`: the rears are silent without a flash of this tag."""
    table = watts if isinstance(watts, Unknown) else {"2": watts, "4": watts}
    channels = tuple(
        Channel(
            id=lane.replace("_", "-"),
            output=f"main.{lane}",
            watts=table,
            min_ohm=lowest,
            needs=needs if lane.startswith("rear") else None,
        )
        for lane in ("front_left", "front_right", "rear_left", "rear_right")
    )
    plugs = {"main": sends("head", "socket", needed=True)}
    return part(name, "head_unit", "head_unit", connectors=plugs, channels=channels, **more)


def flash(name: str = "rear-flash", host: str = "works-radio", tag: str = "rears-on", **more: Any) -> Part:
    return part(name, "flash", "flash", host=(host,), tags=(tag,), **more)


def amplifier(
    name: str = "fulmar",
    watts: Any = 50.0,
    lowest: Any = 2.0,
    fuse: Any = 20.0,
    full: Any = 15.0,
    idle: Any = 1.0,
    efficiency: Any = 0.8,
    **more: Any,
) -> Part:
    """Give an amplifier with a left and a right channel, fed by a line and by a power kit."""
    table = watts if isinstance(watts, Unknown) else {"2": watts, "4": watts}
    channels = tuple(
        Channel(id=side, output=f"out.amp_{side}", watts=table, min_ohm=lowest) for side in ("left", "right")
    )
    plugs = {
        "power": takes("feed", needed=True),
        "line": takes("line", needed=True),
        "out": sends("amp", "socket"),
    }
    supply = AmplifierSupply(fuse_a=fuse, full_a=full, idle_a=idle, efficiency=efficiency)
    return part(
        name,
        "amplifier",
        "amplifier",
        **{"connectors": plugs, "channels": channels, "supply": supply, **more},
    )


def harness(name: str = "front-harness", **more: Any) -> Part:
    """Give a harness that goes between radio and loom and sends the fronts through the amplifier."""
    plugs = {
        "radio-end": takes("head", "plug", needed=True),
        "loom-end": sends("head", "socket", needed=True),
        "amp-end": takes("amp", "plug", place="tray"),
        "line-end": sends("line", place="tray"),
    }
    links = {"loom-end.front_$side": "amp-end.amp_$side", "loom-end.rear_$side": "radio-end.rear_$side"}
    return part(name, "harness", "harness", connectors=plugs, links=links, **more)


def power_kit(
    name: str = "power-kit",
    area: Any = 10.0,
    length: Any = 2.0,
    ampacity: Any = 40.0,
    fuses: tuple[float, ...] = (20.0, 30.0),
    takes_up_to: int = 1,
) -> Part:
    """Give a power kit; `takes_up_to` amplifiers."""
    plugs = {"lug": takes("lug", needed=True)}
    plugs |= {f"feed-{one}": sends("feed", place="tray") for one in range(1, takes_up_to + 1)}
    cable = Cable(area_mm2=area, length_m=length, ampacity_a=ampacity, fuses_a=fuses)
    return part(name, "power_kit", "power_kit", connectors=plugs, cable=cable)


def adapter(name: str = "blade-adapter", inner: str = "pod", outer: str = "blade") -> Part:
    """Give a lead from the plug on the loom to another shape of terminals."""
    plugs = {"in": takes(inner, paired=True, needed=True), "out": sends(outer, paired=True)}
    return part(name, "adapter", "adapter", connectors=plugs, links={"out.drive": "in.drive"})


def ring(name: str = "spacer-ring", height: Any = 6.0, **more: Any) -> Part:
    return part(name, "ring", "ring", spec={"height_mm": height}, **more)


def preset(
    name: str = "bench-preset", amplifiers: tuple[str, ...] = ("fulmar",), minutes: int = 30, **more: Any
) -> Part:
    service = PresetService(amplifiers=amplifiers, minutes=minutes, days=4)
    return part(name, "preset", None, preset=service, **more)


def bundle(name: str, *members: str) -> Part:
    return part(name, "bundle", None, members=members)


def rule(make: Any, name: str = "the_rule", **more: Any) -> Any:
    """Write a rule; its kind is known from its class."""
    assert issubclass(make, RuleEntry)
    kind = get_args(make.model_fields["kind"].annotation)[0]
    return make(**{"id": name, "says": f"{name.replace('_', ' ')}.".capitalize(), "kind": kind, **more})


def all_of_kind(kind: Kind, *at: str) -> Selector:
    return Selector(kind=kind, at=at)


def only(*parts: str) -> Selector:
    return Selector(part=parts)


def bike_is(fact: str, value: Any) -> Comparison:
    return Comparison(fact=f"bike.{fact}", equals=value)


def fitted(*parts: str, same_place: bool = False) -> Fitted:
    return Fitted(fitted=only(*parts), same_place=same_place)


STOCK = (radio(stock_only=True), speaker("works-pods", stock_only=True))


def bike(
    name: str = "curlew",
    facts: dict[str, Any] | None = None,
    geometry: dict[str, Any] | None = None,
    stock: dict[str, str] | None = None,
    take_off: bool = True,
    **places: BikePlace,
) -> Bike:
    """Give a bike with pods that are 60 mm deep; `take_off`: its loom has a plug for rears."""
    plugs = {
        "main": takes("head", "plug", place="dash"),
        "pods": sends("pod", paired=True, place="pods"),
        "post": sends("lug", place="battery", accepts=2),
    }
    links = {"pods.drive": "main.front_$side"}
    if take_off:
        plugs["rears"] = sends("pod", paired=True, place="rears")
        links["rears.drive"] = "main.rear_$side"
    has = {place: BikePlace() for place in PLACES}
    has["pods"] = BikePlace(geometry={"depth_mm": 60.0} if geometry is None else geometry)
    return Bike(
        id=name,
        family="curlew",
        family_name="Curlew",
        maker="Torvund",
        year=2029,
        trim="plain",
        trim_name="Plain",
        mount="frame",
        cooling="air",
        split=None,
        has=BikeFacts(
            facts=facts or {},
            places={**has, **places},
            loom=Loom(connectors=plugs, links=links),
            stock={"dash.head_unit": "works-radio", "pods.speaker": "works-pods"} if stock is None else stock,
        ),
        origins={},
    )


def prices(name: str, first: date, last: date, given: dict[str, int], **more: Any) -> PriceList:
    return PriceList(
        price_list=name,
        first=first,
        last=last,
        prices=given,
        **{"labour_per_hour": 6000, "freight": 700, **more},
    )


def shop(
    *goods: Part | RuleEntry,
    on: Bike | None = None,
    lists: tuple[PriceList, ...] = (),
    price: dict[str, int] | None = None,
) -> Catalog:
    """Give a catalog of these parts and rules besides the stock; a part costs 1000 unless `price` says."""
    parts = {x.id: x for x in sorted((*STOCK, *goods), key=lambda x: x.id) if isinstance(x, Part)}
    rules: dict[str, Any] = {x.id: x for x in sorted(goods, key=lambda x: x.id) if isinstance(x, RuleEntry)}
    given = {name: 1000 for name, x in parts.items() if not x.stock_only} | (price or {})
    the_bike = on or bike()
    return Catalog(
        shop=Shop(name="Shop on the spit", currency="EUR", decimals=2, tax_percent=20.0),
        places={
            name: Place(id=name, name=name, zone=name, pair=name in ("pods", "rears"), slots=slots)
            for name, slots in sorted(PLACES.items())
        },
        connector_types={name: ConnectorType(id=name, name=name, contacts=4) for name in sorted(MAPS)},
        contact_maps={name: ContactMap(id=name, type=name, contacts=x) for name, x in sorted(MAPS.items())},
        bikes={the_bike.id: the_bike},
        ambiguous={},
        parts=parts,
        lines=dict.fromkeys(parts, "tern"),
        makers=dict.fromkeys(parts, "Strand Audio"),
        rules=rules,
        topics=dict.fromkeys(rules, "fit"),
        price_lists=lists
        or (prices("list-2030", date(2030, 1, 1), date(2030, 12, 31), given or {"nothing": 1}),),
        cases=(),
        positions={},
    )


def bench(catalog: Catalog, found: AsFound | None = None) -> Bench:
    """Put the shop's bike on the bench."""
    name = min(catalog.bikes)
    return Bench(Tables(catalog), catalog.bikes[name], found or AsFound())


def desk(catalog: Catalog, found: AsFound | None = None) -> Desk:
    return Desk.for_bench(bench(catalog, found))


def placed(*texts: str) -> Build:
    """Read `part@place` into placements."""
    return frozenset(one(text) for text in texts)


def one(text: str) -> Placement:
    name, _, place = text.partition("@")
    return Placement(name, place)


def with_stock(*texts: str) -> Build:
    """Give a build with the stock radio and speakers, and more."""
    return placed("works-radio@dash", "works-pods@pods", *texts)


def scene(catalog: Catalog, *texts: str, found: AsFound | None = None) -> Scene:
    """Give a build of these placements alone."""
    return Scene(bench(catalog, found), placed(*texts))


def as_found(*texts: str, measured: dict[str, Any] | None = None, **more: Any) -> AsFound:
    """Give a rider's own bike with parts fitted and facts measured."""
    facts = tuple(
        Measured(path=path, value=value, by="Runa") for path, value in sorted((measured or {}).items())
    )
    return AsFound(fitted=tuple(LedgerEntry(placement=one(x)) for x in texts), measured=facts, **more)


def fit(catalog: Catalog, name: str, place: str | None = None, **more: Any) -> Any:
    """Ask whether a part fits the shop's bike."""
    return Engine(catalog).fit(
        FitQuestion(**{"bike": min(catalog.bikes), "part": name, "place": place, "on": DAY, **more})
    )
