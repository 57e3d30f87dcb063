"""A small catalog without a fault, for tests to write, edit and load."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

FILES: Mapping[str, str] = {
    "shop.yaml": """\
name: Shop on the spit
currency: EUR
decimals: 2
tax_percent: 20
""",
    "places.yaml": """\
places:
  - id: dash
    name: dash
    slots: {head_unit: 1, flash: 1}
  - id: pods
    name: fairing pods
    zone: fronts
    pair: true
    slots: {speaker: 1, ring: 1}
  - id: tray
    name: amplifier tray
    slots: {amplifier: 1, harness: 1}
  - id: battery
    name: battery
    slots: {power_kit: 1}
""",
    "connectors.yaml": """\
connector_types:
  - {id: main_8, name: main plug, contacts: 8}
  - {id: pod_2, name: pod plug, contacts: 2}
  - {id: amp_8, name: amplifier plug, contacts: 8}
  - {id: supply_2, name: supply plug, contacts: 2}
contact_maps:
  - {id: main, type: main_8, contacts: {"1/2": out front_left, "3/4": out front_right}}
  - {id: pod, type: pod_2, contacts: {"1/2": out drive}}
  - id: amp
    type: amp_8
    contacts: {"1/2": in in_left, "3/4": in in_right, "5/6": out out_left, "7/8": out out_right}
  - {id: supply, type: supply_2, contacts: {"1": out plus, "2": out minus}}
""",
    "bikes/heron.yaml": """\
family: heron
maker: Torvund
name: Heron
mount: frame
cooling: air
trims:
  - {id: plain, name: Plain, years: 2018-2021}
  - {id: fair, name: Fair, years: 2018-2020}
splits:
  - years: 2019
    trims: [fair]
    by: production
    ask: Was it built before April 2019? The plate on the frame says.
    sides:
      - {id: early, name: built to March 2019, built_through: 2019-03-31}
      - {id: late, name: built from April 2019, built_from: 2019-04-01}
entries:
  - years: 2018-2019
    source: {kind: maker_sheet, ref: sheet 4, date: 2024-02-01}
    all:
      facts: {charging_headroom_a: 12.0, pod_series: a}
      places:
        dash: {}
        pods:
          geometry: {depth_mm: 62.0, opening_mm: 131.0}
        tray: {}
        battery: {max_mass_kg: 9.0}
      loom:
        connectors:
          main: {map: main, gender: plug, mirrored: true, place: dash}
          pods: {map: pod, gender: plug, paired: true, place: pods}
        links: {pods.drive: main.front_$side}
      stock:
        dash.head_unit: old_radio
        pods.speaker: old_pod
    trims:
      fair:
        places:
          pods:
            geometry:
              opening_mm: {value: 128.0, source: {kind: measured, ref: bench note 7, date: 2024-03-01}}
    splits:
      late:
        facts: {pod_series: b}
  - years: 2020-2021
    source: {kind: measured, ref: bench note 9, date: 2024-04-01}
    all:
      facts: {charging_headroom_a: {unknown: measure the current at the battery at 3000 rpm}}
      places:
        battery: {max_mass_kg: absent}
""",
    "parts/works.yaml": """\
line: works
maker: Torvund
name: Works parts
parts:
  - id: old_radio
    name: works radio
    kind: head_unit
    slot: head_unit
    tags: [radio]
    connectors:
      main: {map: main, gender: socket, needed: true}
    channels:
      - {id: left, output: main.front_left, watts: {"4": 12.5}, min_ohm: 3.2}
      - {id: right, output: main.front_right, watts: {"4": 12.5}, min_ohm: 3.2}
    stock_only: true
    source: {kind: maker_sheet, ref: sheet 4, date: 2024-02-01}
  - id: old_pod
    name: works pod speaker
    kind: speaker
    slot: speaker
    speaker: {impedance_ohm: 4.0, rms_w: 15.0}
    spec: {depth_mm: 50.0}
    connectors:
      terminals: {map: pod, gender: socket, mirrored: true, paired: true, needed: true}
    stock_only: true
    source: {kind: maker_sheet, ref: sheet 4, date: 2024-02-01}
""",
    "parts/tern.yaml": """\
line: tern
maker: Strand Audio
name: Tern
parts:
  - id: tern_pod
    name: Tern pod speaker
    kind: speaker
    slot: speaker
    at: [pods]
    tags: [pod]
    spec: {depth_mm: 61.0, frame_mm: 130.0}
    mass_kg: 1.2
    speaker: {impedance_ohm: 4.0, rms_w: 60.0}
    connectors:
      terminals: {map: pod, gender: socket, mirrored: true, paired: true, needed: true}
    source: {kind: measured, ref: bench note 1, date: 2024-05-01}
  - id: tern_ring
    name: Tern spacer ring
    kind: ring
    slot: ring
    tags: [spacer]
    spec: {height_mm: 6.0}
    source: {kind: measured, ref: bench note 2, date: 2024-05-01}
  - id: tern_amp
    name: Tern amplifier
    kind: amplifier
    slot: amplifier
    connectors:
      amp: {map: amp, gender: socket, needed: true}
      supply: {map: supply, gender: socket, mirrored: true, needed: true}
    channels:
      - {id: left, output: amp.out_left, watts: {"4": 60.0, "2": 90.0}, min_ohm: 2.0}
      - {id: right, output: amp.out_right, watts: {"4": 60.0, "2": 90.0}, min_ohm: 2.0}
    supply: {fuse_a: 20.0, full_a: 14.0, idle_a: 0.8, efficiency: 0.8}
    source: {kind: maker_sheet, ref: sheet 11, date: 2024-05-01}
  - id: tern_harness
    name: Tern front harness
    kind: harness
    slot: harness
    connectors:
      main: {map: main, gender: socket, place: dash}
      radio: {map: main, gender: plug, mirrored: true, place: dash}
      amp: {map: amp, gender: plug, mirrored: true}
    links:
      amp.in_$side: radio.front_$side
      main.front_$side: amp.out_$side
    source: {kind: measured, ref: bench note 3, date: 2024-05-01}
  - id: tern_kit
    name: Tern power kit
    kind: power_kit
    slot: power_kit
    connectors:
      supply: {map: supply, gender: plug, place: tray}
    cable: {area_mm2: 8.0, length_m: 1.5, ampacity_a: 40.0, fuses_a: [20.0, 30.0]}
    source: {kind: maker_sheet, ref: sheet 12, date: 2024-05-01}
  - id: tern_flash
    name: Tern flash for the works radio
    kind: flash
    slot: flash
    tags: [flat_sound]
    host: [old_radio]
    source: {kind: maker_sheet, ref: sheet 13, date: 2024-05-01}
  - id: tern_preset
    name: Tern preset
    kind: preset
    preset: {amplifiers: [tern_amp], minutes: 30, days: 3}
    source: {kind: maker_sheet, ref: sheet 14, date: 2024-05-01}
  - id: tern_bundle
    name: Tern front set
    kind: bundle
    members: [tern_pod, tern_ring]
    source: {kind: maker_sheet, ref: sheet 15, date: 2024-05-01}
""",
    "rules/fit.yaml": """\
topic: fit
rules:
  - id: pod_too_deep
    kind: clearance
    says: The speaker is too deep for the pod.
    subject: {kind: speaker, at: [pods]}
    spec: depth_mm
    relation: at_most
    geometry: depth_mm
    margin: 2.0
    relieved_by_slot: ring
    relieved_by_spec: height_mm
  - id: ring_needs_pod
    kind: requires
    says: The ring goes under the pod speaker.
    subject: {part: [tern_ring]}
    needs: {tag: pod}
    same_place: true
  - id: amp_not_in_series_b
    kind: excludes
    says: The tray of the late series has no room for the amplifier.
    subject: {kind: amplifier}
    when:
      all:
        - {fact: bike.pod_series, is: b}
        - not: {fitted: {line: tern, slot: ring}}
  - id: pod_measured
    kind: measured_exception
    says: The pod was tried in this fairing, and it fits.
    overrides: pod_too_deep
    subject: {part: [tern_pod]}
    outcome: allow
    when: {fact: bike.year, in: [2018, 2019]}
    source: {kind: measured, ref: bench note 4, date: 2024-06-01}
  - id: battery_mass
    kind: mass_limit
    says: The battery tray carries so much.
    at: [battery]
""",
    "rules/work.yaml": """\
topic: work
rules:
  - id: seat_off
    kind: operation
    says: Take off the seat.
    minutes: 5
  - id: screen_off
    kind: operation
    says: Take off the screen.
    minutes: 10
    after: [seat_off]
  - id: fit_pods
    kind: operation
    says: Fit the pod speakers.
    subject: {kind: speaker}
    action: add
    minutes: 30
    after: [screen_off]
  - id: rear_socket
    kind: provides
    says: These bikes have a socket for the tray.
    when: {fact: bike.trim, is: fair}
    connector:
      tray: {map: pod, gender: plug, paired: true, place: pods}
    links: {tray.drive: main.front_$side}
    facts: {has_tray_socket: true}
    look: look for a white socket under the tray
    source: {kind: maker_sheet, ref: sheet 5, date: 2024-02-01}
""",
    "prices/2025.yaml": """\
price_list: spring-2025
first: 2025-01-01
last: 2025-12-31
labour_per_hour: 8000
freight: 1900
prices:
  tern_pod: 19900
  tern_ring: 2900
  tern_amp: 34900
  tern_harness: 8900
  tern_kit: 7900
  tern_flash: 12000
  tern_preset: 6000
  tern_bundle: 21900
resale:
  tern_pod: 6000
""",
    "prices/2026.yaml": """\
price_list: spring-2026
first: 2026-01-01
last: 2026-12-31
labour_per_hour: 8400
freight: 2000
prices:
  tern_pod: 20900
  tern_ring: 2900
  tern_amp: 35900
""",
    "cases/fronts.yaml": """\
cases:
  - name: the pod fits the plain trim
    why: the pod is 62 mm deep and the speaker 61 mm, and somebody tried it
    kind: fit
    bike: heron-2018-plain
    part: tern_pod
    place: pods
    date: 2025-05-01
    verdict: fits
    rules: []
  - name: pods now and an amplifier next year
    why: the common path
    kind: path
    bike: heron-2019-fair
    found:
      fitted: [{part: tern_ring, place: pods}]
      measured: {places.pods.geometry.depth_mm: 61.0}
    stages:
      - {date: 2025-05-01}
      - {date: 2026-05-01, fitter: home}
    wanted:
      - {part: tern_pod, place: pods, by_visit: 1}
      - {part: tern_amp}
    year_budgets: {"2025": 40000}
    outcome: path
    total: 80000
""",
}


def write(directory: Path, files: Mapping[str, str] = FILES) -> Path:
    """Write a catalog, and give back where it is."""
    for name, content in files.items():
        path = directory / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content.encode())
    return directory
