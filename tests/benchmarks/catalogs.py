"""Large catalogs for benchmarks, drawn from a seed: bike families over ten model years, part lines, rules, price lists.

Everything in them is drawn, and says so. They are sound, and like a grown shop's: most parts go to a few families, many
fit nowhere near many bikes, a few dimensions decide, and amplifiers hang on harnesses.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from random import Random

FIRST, LAST = 2017, 2026
TRIMS = ("solo", "grand")
STYLES = 5
"""Shapes of head-unit plugs; each family has one."""

SOURCE = 'source: {kind: maker_sheet, ref: "sheet S", date: 2025-01-01}'
PLACES = """places:
  - {id: dash, name: dash, slots: {head_unit: 1, bezel: 1}}
  - {id: loom, name: behind the head unit, slots: {harness: 1}}
  - {id: tray, name: amplifier tray, slots: {carrier: 1, amplifier: 1}}
  - {id: battery, name: battery, slots: {power_kit: 2}}
  - {id: pods, name: fairing pods, zone: fronts, pair: true, slots: {speaker: 1, grille: 1, ring: 1, deadening: 1, hardware: 1}}
  - {id: rears, name: rear pods, zone: rears, pair: true, slots: {speaker: 1, grille: 1, ring: 1, deadening: 1, hardware: 1}}
"""

COMMON_RULES = """topic: common
rules:
  - {id: too_deep, kind: clearance, says: Too deep., subject: {kind: speaker}, spec: depth_mm,
      relation: at_most, geometry: depth_mm, margin: 1, relieved_by_slot: ring, relieved_by_spec: adds_mm}
  - {id: holes_differ, kind: clearance, says: The holes differ., subject: {kind: speaker},
      spec: hole_circle_mm, relation: equals, geometry: hole_circle_mm, margin: 1}
  - {id: magnet_too_wide, kind: clearance, says: Too wide., subject: {kind: speaker}, spec: magnet_mm,
      relation: at_most, geometry: magnet_mm, margin: 2}
  - {id: grille_differs, kind: clearance, says: It does not seat., subject: {kind: grille}, spec: outer_mm,
      relation: equals, geometry: seat_mm, margin: 1}
  - {id: ring_differs, kind: clearance, says: Another circle., subject: {kind: ring}, spec: cut_mm,
      relation: equals, geometry: hole_circle_mm, margin: 1}
  - {id: bezel_differs, kind: clearance, says: Another dash., subject: {kind: bezel}, spec: dash_mm,
      relation: equals, geometry: dash_mm, margin: 2}
  - {id: amplifier_too_long, kind: clearance, says: Too long., subject: {kind: amplifier}, spec: length_mm,
      relation: at_most, geometry: length_mm}
  - {id: lead_too_short, kind: clearance, says: Too short., subject: {kind: power_kit}, spec: reach_m,
      relation: at_least, geometry: run_m}
  - {id: overloaded, kind: channel_limit, limit: lowest_impedance, says: Too low.}
  - {id: too_strong, kind: channel_limit, limit: speaker_power, says: Too strong.}
  - {id: fuse, kind: supply_limit, limit: fuse, says: No such fuse.}
  - {id: ampacity, kind: supply_limit, limit: ampacity, says: Too thin.}
  - {id: drop, kind: supply_limit, limit: voltage_drop, most: 0.6, says: Too much is lost.}
  - {id: charging, kind: supply_limit, limit: charging, says: It draws too much.}
  - {id: fairing_mass, kind: mass_limit, at: [dash, loom, tray, pods], fact: fairing_limit_kg,
      says: Too heavy.}
  - {id: place_mass, kind: mass_limit, says: Too heavy here.}
  - {id: screen_off, kind: operation, minutes: 6, says: Take the screen off.}
  - {id: fairing_open, kind: operation, minutes: 30, after: [screen_off], says: Open the fairing.}
  - {id: fit_speakers, kind: operation, subject: {kind: speaker}, action: add, minutes: 20,
      after: [screen_off], says: Fit.}
  - {id: fit_harness, kind: operation, subject: {kind: harness}, action: add, minutes: 22,
      after: [fairing_open], says: Lay.}
  - {id: fit_amplifier, kind: operation, subject: {kind: amplifier}, action: add, minutes: 12,
      after: [fairing_open], says: Fit.}
  - {id: fit_kit, kind: operation, subject: {kind: power_kit}, action: add, minutes: 25, says: Lay the lead.}
"""
"""Rules that every shop has: what decides most answers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """How large: families of ten model years in two trims, parts and rules. `more_bytes` fills lines with words for people."""

    families: int = 25
    parts: int = 20_000
    rules: int = 2_000
    seed: int = 1

    @property
    def bikes(self) -> int:
        return self.families * (LAST - FIRST + 1) * len(TRIMS)


def write_catalog(directory: Path, files: dict[str, str]) -> int:
    """Write a catalog's files.

    Returns: The bytes written.
    """
    for name, text in files.items():
        path = directory / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return sum(len(text.encode()) for text in files.values())


def draw_catalog(size: Size) -> dict[str, str]:
    """Draw a catalog as texts by file name."""
    random = Random(size.seed)
    parts = _Parts(random, size)
    lines = parts.lines()
    files = {
        "shop.yaml": "name: Drawn workshop\ncurrency: EUR\ndecimals: 2\ntax_percent: 20\n",
        "places.yaml": PLACES,
        "connectors.yaml": _connectors(),
    }
    files |= {f"bikes/fam{f:02d}.yaml": _family(random, f) for f in range(size.families)}
    files |= {f"parts/{name}.yaml": text for name, text in lines.items()}
    files |= _rules(random, size, parts.ids)
    files |= {f"prices/{year}.yaml": _prices(random, year, parts.sold) for year in (2025, 2026)}
    files["cases/some.yaml"] = _cases(parts)
    return files


def _connectors() -> str:
    types = [f"  - {{id: main_{s}, name: main plug {s}, contacts: 8}}" for s in range(STYLES)]
    types += [f"  - {{id: pod_{s}, name: pod plug {s}, contacts: 2}}" for s in range(STYLES)]
    types += [
        "  - {id: amp, name: amplifier plug, contacts: 16}",
        "  - {id: supply, name: supply plug, contacts: 2}",
        "  - {id: lug, name: ring lug, contacts: 1}",
    ]
    four = '"1": out front_left, "2": out front_right, "3": out rear_left, "4": out rear_right'
    maps = [f"  - {{id: main_{s}, type: main_{s}, contacts: {{{four}}}}}" for s in range(STYLES)]
    maps += [f'  - {{id: pod_{s}, type: pod_{s}, contacts: {{"1/2": out drive}}}}' for s in range(STYLES)]
    ins = ", ".join(f'"{k}": in in{k}' for k in range(1, 5))
    outs = ", ".join(f'"{k + 4}": out out{k}' for k in range(1, 5))
    maps += [
        f"  - {{id: amp, type: amp, contacts: {{{ins}, {outs}}}}}",
        '  - {id: supply, type: supply, contacts: {"1/2": out twelve}}',
        '  - {id: lug, type: lug, contacts: {"1": out plus}}',
    ]
    return "connector_types:\n" + "\n".join(types) + "\ncontact_maps:\n" + "\n".join(maps) + "\n"


def style(family: int) -> int:
    return family % STYLES


def _family(random: Random, f: int) -> str:
    s = style(f)
    entries = [_first_entry(random, s)]
    for first, last in ((2020, 2022), (2023, 2024), (2025, 2026)):
        depth, magnet = random.randint(52, 78), random.randint(84, 112)
        entries.append(
            f"  - years: {first}-{last}\n    {SOURCE}\n    all:\n"
            f"      facts: {{charging_headroom_a: {random.randint(12, 30)}, series: s{first}}}\n"
            f"      places: {{pods: {{geometry: {{depth_mm: {depth}, magnet_mm: {magnet}}}}}}}\n"
            f"    trims:\n      grand: {{places: {{rears: {{geometry: {{depth_mm: {random.randint(48, 74)}}}}}}}}}\n"
        )
    return (
        f"family: fam{f:02d}\nmaker: Maker {s}\nname: Family {f:02d}\n"
        f"mount: {random.choice(('frame', 'fork'))}\ncooling: {random.choice(('air', 'liquid'))}\ntrims:\n"
        + "".join(f"  - {{id: {trim}, name: {trim}, years: {FIRST}-{LAST}}}\n" for trim in TRIMS)
        + "entries:\n"
        + "".join(entries)
    )


def _first_entry(random: Random, s: int) -> str:
    room = f"depth_mm: {random.randint(55, 80)}, basket_mm: 168, hole_circle_mm: {random.choice((128, 155))}"
    rear = f"depth_mm: {random.randint(50, 70)}, basket_mm: 168, hole_circle_mm: {random.choice((128, 155))}"
    return f"""  - years: {FIRST}-2019
    {SOURCE}
    all:
      facts: {{charging_headroom_a: {random.randint(12, 30)}, idle_headroom_a: 6, fairing_limit_kg: 16, series: s0}}
      places:
        dash: {{geometry: {{dash_mm: {random.randint(150, 180)}}}}}
        loom: {{}}
        tray: {{carrier_needed: true, geometry: {{length_mm: {random.randint(180, 260)}}}}}
        battery: {{geometry: {{run_m: 1.7}}}}
        pods: {{geometry: {{{room}, magnet_mm: {random.randint(90, 110)}, seat_mm: {random.choice((142, 174))}}}}}
        rears: {{max_mass_kg: 5, geometry: {{{rear}, magnet_mm: {random.randint(88, 112)}, seat_mm: 142}}}}
      loom:
        connectors:
          main: {{map: main_{s}, gender: plug, mirrored: true, place: dash}}
          pods: {{map: pod_{s}, gender: plug, paired: true, place: pods}}
          rears: {{map: pod_{s}, gender: plug, paired: true, place: rears}}
          plus: {{map: lug, gender: socket, place: battery, accepts: 2}}
        links: {{pods.drive: main.front_$side, rears.drive: main.rear_$side}}
      stock: {{dash.head_unit: radio-{s}, pods.speaker: stock-pod-{s}, rears.speaker: stock-pod-{s}}}
"""


class _Parts:
    """Draws part lines."""

    def __init__(self, random: Random, size: Size) -> None:
        self.random = random
        self.size = size
        self.ids: dict[str, list[str]] = {}
        self.sold: list[str] = []

    def lines(self) -> dict[str, str]:
        found = {"works": self._works(), "wiring": self._wiring()}
        left = self.size.parts - 2 * STYLES - len(self.sold)
        lines, each = 100, 0
        each = left // lines
        for at in range(lines):
            count = each + (1 if at < left - each * lines else 0)
            found[f"line{at:03d}"] = self._line(at, count)
        return found

    def _works(self) -> str:
        text = "line: works\nmaker: Works\nname: Works parts\nparts:\n"
        for s in range(STYLES):
            channels = "".join(
                f'      - {{id: {side}, output: main.{side}, watts: {{"4": 20}}, min_ohm: 3.2}}\n'
                for side in ("front_left", "front_right", "rear_left", "rear_right")
            )
            text += (
                f"  - id: radio-{s}\n    name: works radio {s}\n    kind: head_unit\n    slot: head_unit\n    at: [dash]\n"
                f"    connectors:\n      main: {{map: main_{s}, gender: socket, needed: true}}\n    channels:\n{channels}"
                f"    mass_kg: 1.5\n    stock_only: true\n    {SOURCE}\n"
                + self._speaker(f"stock-pod-{s}", s, 48, 80, 20.0, 155)
                + "    stock_only: true\n"
            )
        return text

    def _wiring(self) -> str:
        text = "line: wiring\nmaker: Bench\nname: Bench wiring\nparts:\n"
        for s in range(STYLES):
            links = "".join(
                f"      amp.in{k}: to_unit.{lane}\n      to_bike.{lane}: amp.out{k}\n"
                for k, lane in enumerate(("front_left", "front_right", "rear_left", "rear_right"), 1)
            )
            text += (
                f"  - id: harness-{s}\n    name: harness {s}\n    kind: harness\n    slot: harness\n    at: [loom]\n"
                f"    mass_kg: 0.4\n    connectors:\n"
                f"      to_unit: {{map: main_{s}, gender: plug, mirrored: true, needed: true, place: dash}}\n"
                f"      to_bike: {{map: main_{s}, gender: socket, needed: true, place: dash}}\n"
                f"      amp: {{map: amp, gender: plug, mirrored: true, needed: true, place: tray}}\n"
                f"    links:\n{links}    {SOURCE}\n"
            )
            self._note("harness", f"harness-{s}")
        for at, area in enumerate((6, 10, 16)):
            text += (
                f"  - id: kit-{area}\n    name: power kit {area}\n    kind: power_kit\n    slot: power_kit\n    at: [battery]\n"
                f"    spec: {{reach_m: 1.8}}\n    mass_kg: 0.6\n    connectors:\n"
                "      plus: {map: lug, gender: plug, mirrored: true, needed: true}\n"
                "      to_amp: {map: supply, gender: plug, needed: true, place: tray}\n"
                f"    cable: {{area_mm2: {area}, length_m: 1.8, ampacity_a: {30 + 20 * at}, fuses_a: [20, 30, 40, 60]}}\n"
                f"    {SOURCE}\n"
            )
            self._note("power_kit", f"kit-{area}")
        for f in range(self.size.families):
            text += (
                f"  - {{id: tray-{f:02d}, name: tray {f:02d}, kind: carrier, slot: carrier, at: [tray], mass_kg: 0.7, "
                f"spec: {{bike_family: fam{f:02d}}}, {SOURCE}}}\n"
            )
            self._note("carrier", f"tray-{f:02d}")
        return text + "".join(self._amplifier(at) for at in range(40))

    def _amplifier(self, at: int) -> str:
        watts = self.random.choice((40, 60, 75, 90))
        name = f"amp-{at:03d}"
        self._note("amplifier", name)
        channels = "".join(
            f'      - {{id: c{k}, output: main.out{k}, watts: {{"4": {watts}, "2": {round(watts * 1.6)}}}, min_ohm: 2}}\n'
            for k in range(1, 5)
        )
        return (
            f"  - id: {name}\n    name: amplifier {at}\n    kind: amplifier\n    slot: amplifier\n    at: [tray]\n"
            f"    spec: {{length_mm: {self.random.randint(150, 270)}}}\n    mass_kg: 1.9\n    connectors:\n"
            "      main: {map: amp, gender: socket, needed: true}\n"
            "      power: {map: supply, gender: socket, mirrored: true, needed: true}\n"
            f"    channels:\n{channels}"
            f"    supply: {{fuse_a: {self.random.choice((20, 30, 40))}, full_a: {self.random.randint(14, 30)}, "
            f"idle_a: 0.8, efficiency: 0.8}}\n    {SOURCE}\n"
        )

    def _speaker(self, name: str, s: int, depth: float, magnet: float, watts: float, circle: int) -> str:
        return (
            f"  - id: {name}\n    name: speaker {name}\n    kind: speaker\n    slot: speaker\n"
            f"    spec: {{depth_mm: {depth}, basket_mm: {circle + 11}, hole_circle_mm: {circle}, magnet_mm: {magnet}}}\n"
            f"    mass_kg: 1.2\n    speaker: {{impedance_ohm: 4.0, rms_w: {watts}}}\n    connectors:\n"
            f"      terminals: {{map: pod_{s}, gender: socket, mirrored: true, paired: true, needed: true}}\n    {SOURCE}\n"
        )

    def _line(self, at: int, count: int) -> str:
        text = [f"line: line{at:03d}\nmaker: Maker of line {at}\nname: Line {at}\nparts:\n"]
        kinds = ("speaker", "grille", "ring", "deadening", "hardware", "bezel")
        for number in range(count):
            kind = kinds[(at + number) % len(kinds)]
            text.append(self._small(kind, f"{kind}-{at:03d}-{number:03d}"))
        return "".join(text)

    def _small(self, kind: str, name: str) -> str:
        random, family = self.random, self.random.randrange(self.size.families)
        self._note(kind, name)
        if kind == "speaker":
            watts = random.choice((40.0, 60.0, 80.0, 100.0))
            depth, magnet = random.randint(44, 84), random.randint(76, 116)
            return self._speaker(name, style(family), depth, magnet, watts, random.choice((128, 155)))
        if kind == "grille":
            spec = f"outer_mm: {random.choice((142, 174))}"
        elif kind == "ring":
            spec = f"adds_mm: {random.randint(2, 20)}, cut_mm: {random.choice((128, 155))}"
        elif kind == "bezel":
            spec = f"dash_mm: {random.randint(150, 180)}"
        else:
            spec = f"bike_family: fam{family:02d}"
        mass = round(random.uniform(0.05, 0.5), 2)
        return f"  - {{id: {name}, name: {kind} {name}, kind: {kind}, slot: {kind}, spec: {{{spec}}}, mass_kg: {mass}, {SOURCE}}}\n"

    def _note(self, kind: str, name: str) -> None:
        self.ids.setdefault(kind, []).append(name)
        self.sold.append(name)


def _rules(random: Random, size: Size, ids: dict[str, list[str]]) -> dict[str, str]:
    rules = []
    for kind in ("deadening", "hardware", "carrier"):
        either = ", ".join(
            f"{{all: [{{fact: part.bike_family, is: fam{f:02d}}}, {{fact: bike.family, is: fam{f:02d}}}]}}"
            for f in range(size.families)
        )
        rules.append(
            f"{{id: {kind}_of_another_bike, kind: excludes, says: It is cut for another bike., subject: {{kind: {kind}}}, "
            f"when: {{not: {{any: [{either}]}}}}}}"
        )
    while len(rules) < size.rules:
        rules.append(_special(random, size, ids, len(rules)))
    files = {"rules/common.yaml": COMMON_RULES}
    for at in range(0, len(rules), 100):
        listed = "".join(f"  - {rule}\n" for rule in rules[at : at + 100])
        files[f"rules/topic{at // 100:02d}.yaml"] = f"topic: topic{at // 100:02d}\nrules:\n{listed}"
    return files


def _special(random: Random, size: Size, ids: dict[str, list[str]], at: int) -> str:
    """Draw one of the many rules that concern a few parts on a few bikes."""
    family = f"fam{random.randrange(size.families):02d}"
    years = f"[{random.randint(FIRST, 2021)}, {random.randint(2022, LAST)}]"
    kind = random.choice(("measured_exception", "excludes", "advice", "requires"))
    parts = ", ".join(random.sample(ids["speaker"], 3))
    when = f"{{all: [{{fact: bike.family, is: {family}}}, {{fact: bike.year, in: {years}}}]}}"
    if kind == "measured_exception":
        return (
            f"{{id: tried_{at}, kind: measured_exception, overrides: {random.choice(('too_deep', 'magnet_too_wide'))}, "
            f"outcome: {random.choice(('allow', 'refuse'))}, says: Somebody tried it., subject: {{part: [{parts}], at: [pods]}}, "
            f"when: {when}, {SOURCE}}}"
        )
    if kind == "requires":
        needs = ", ".join(random.sample(ids["hardware"], 3))
        return (
            f"{{id: needs_{at}, kind: requires, says: It needs screws., subject: {{part: [{parts}]}}, "
            f"needs: {{part: [{needs}]}}, same_place: true, when: {when}}}"
        )
    return f"{{id: {kind}_{at}, kind: {kind}, says: On these bikes mind this., subject: {{part: [{parts}]}}, when: {when}}}"


def _prices(random: Random, year: int, sold: list[str]) -> str:
    lines = "".join(f"  {name}: {random.randint(9, 900) * 100}\n" for name in sold)
    return (
        f"price_list: list-{year}\nfirst: {year}-01-01\nlast: {year}-12-31\nlabour_per_hour: 7500\nfreight: 1900\n"
        f"prices:\n{lines}"
    )


def _cases(parts: _Parts) -> str:
    name = parts.ids["deadening"][0]
    return (
        "cases:\n  - name: a drawn part is judged\n    why: a catalog has cases\n    kind: fit\n"
        f"    bike: fam00-2020-solo\n    part: {name}\n    date: 2026-05-01\n    verdict: does_not_fit\n"
    )
