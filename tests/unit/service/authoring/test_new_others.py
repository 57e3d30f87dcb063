"""Templates for families, parts and rules are sound once their marks are replaced."""

from __future__ import annotations

import shutil
from dataclasses import replace

import pytest

from rules.catalog.facts import Unknown
from rules.engine import Engine
from rules.load import load_catalog
from rules.question import FitQuestion
from rules.verdict import Verdict
from service.authoring.new_family import FamilyAsked, new_family
from service.authoring.new_part import PartAsked, new_part, priced
from service.authoring.new_rule import SHORTEST, new_rule
from service.authoring.proposal import write_all
from service.authoring.refusal import CannotWrite
from service.authoring.schemas import MODELINE
from tests.diagnostics.base import write
from tests.unit.service.authoring.templates import DAY, ROOT, codes, filled_in

EGRET = FamilyAsked(
    family="egret",
    maker="Torvund",
    name="Egret",
    mount="fork",
    cooling="liquid",
    years="2021-2022",
    trims=("plain:Plain", "tour:Tour with cases"),
    like=None,
)
KINDS = ("speaker", "ring", "amplifier", "harness", "power_kit", "flash", "preset", "bundle", "head_unit")


@pytest.fixture
def catalog(tmp_path):
    return write(tmp_path / "shop")


@pytest.fixture
def demo(tmp_path):
    return shutil.copytree(ROOT / "catalog_demo", tmp_path / "demo")


def test_a_new_family_has_every_fact_that_a_rule_asks_about_as_unknown(catalog):
    found = filled_in(catalog, new_family(catalog, EGRET, DAY))
    assert sorted(bike for bike in found.bikes if bike.startswith("egret")) == [
        "egret-2021-plain",
        "egret-2021-tour",
        "egret-2022-plain",
        "egret-2022-tour",
    ]
    has = found.bikes["egret-2022-tour"].has
    assert isinstance(has.facts["pod_series"], Unknown)
    assert isinstance(has.places["pods"].geometry["depth_mm"], Unknown)
    assert set(has.places) == set(found.places)


def test_a_family_like_another_has_its_places_plugs_and_works_parts_but_none_of_its_figures(catalog):
    found = filled_in(catalog, new_family(catalog, replace(EGRET, like="heron"), DAY))
    like, has = found.bikes["heron-2021-plain"].has, found.bikes["egret-2022-plain"].has
    assert (has.loom.connectors, has.stock) == (like.loom.connectors, like.stock)
    assert all(isinstance(value, Unknown) for value in has.facts.values())
    figures = [value for place in has.places.values() for value in place.geometry.values()]
    assert figures
    assert all(isinstance(value, Unknown) for value in figures)


def test_plugs_that_a_rule_provides_are_not_copied(demo):
    asked = replace(EGRET, maker="Skarvane", like="gadwall")
    assert "rear_takeoff" not in new_family(demo, asked, DAY).after
    assert (
        "rear_takeoff"
        in filled_in(demo, new_family(demo, asked, DAY)).bikes["egret-2022-plain"].has.loom.connectors
    )


def test_nothing_is_verified_to_fit_a_bike_of_which_nothing_is_measured(catalog):
    found = filled_in(catalog, new_family(catalog, replace(EGRET, like="heron"), DAY))
    question = FitQuestion(bike="egret-2022-plain", part="tern_pod", on=DAY)
    assert Engine(found).fit(question).verdict is Verdict.NOT_VERIFIED


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("line", ["tern", "gull"])
def test_a_new_part_is_sound_with_its_price(catalog, kind, line):
    asked = PartAsked(part="gull_new", line=line, kind=kind, name="New one", maker="Strand Audio")
    template = new_part(catalog, asked, DAY)
    write_all(catalog, template)
    assert codes(catalog) == ["not-filled-in"]
    part = filled_in(catalog, template, priced(catalog, load_base(catalog), "gull_new", 9900)).parts[
        "gull_new"
    ]
    assert (part.kind, part.stock_only) == (kind, False)
    figures = [
        *part.spec.values(),
        *(value for channel in part.channels for value in (channel.watts, channel.min_ohm)),
    ]
    assert all(isinstance(value, Unknown) for value in figures)


def load_base(catalog):
    return load_catalog(write(catalog.parent / "base"))


@pytest.mark.parametrize("kind", SHORTEST)
def test_a_new_rule_is_sound_beside_neighbours_and_without(kind, demo, catalog):
    for directory, topic in ((demo, "advice"), (catalog, "fit"), (catalog, "more")):
        name = f"new_{topic}"
        template = new_rule(directory, name, kind, topic, like=None, on=DAY)
        write_all(directory, template)
        assert set(codes(directory)) == {"not-filled-in"}
        assert filled_in(directory, template).rules[name].kind == kind


def test_the_shortest_rules_are_all_kinds_of_rules():
    from service.terminal.explain import _kinds

    assert set(SHORTEST) == set(_kinds())


def test_a_rule_like_another_is_its_copy_with_another_sentence(catalog):
    template = new_rule(catalog, "pod_too_wide", "clearance", "fit", like="pod_too_deep", on=DAY)
    rules = filled_in(catalog, template).rules
    same = {"id": "pod_too_deep", "says": rules["pod_too_deep"].says}
    assert rules["pod_too_wide"].model_copy(update=same) == rules["pod_too_deep"]


def test_a_new_file_names_its_schema_where_the_catalog_keeps_schemas(demo, catalog):
    assert new_family(demo, EGRET, DAY).after.startswith(f"{MODELINE}../.schema/bikes.json\n")
    assert new_family(catalog, EGRET, DAY).after.startswith("family: egret\n")


def test_a_second_template_can_be_written_while_the_first_is_not_filled_in(catalog):
    write_all(catalog, new_family(catalog, EGRET, DAY))
    new_part(catalog, PartAsked(part="tern_new", line="tern", kind="ring", name="New"), DAY)


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (PartAsked(part="tern_pod", line="tern", kind="ring", name="x"), "choose another id"),
        (PartAsked(part="new", line="tern", kind="rng", name="x"), "did you mean `ring`"),
        (PartAsked(part="new", line="gull", kind="ring", name="x"), "say who makes it with --maker"),
        (
            PartAsked(part="new", line="tern", kind="ring", name="x", like="tern_rng"),
            "did you mean `tern_ring`",
        ),
        (PartAsked(part="new", line="tern", kind="grille", name="x"), "has no grille to copy from"),
    ],
)
def test_a_mistake_about_a_part_is_told_with_what_to_do(catalog, asked, told):
    with pytest.raises(CannotWrite, match=told):
        new_part(catalog, asked, DAY)
