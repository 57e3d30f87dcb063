"""Nets of speakers follow Kirchhoff, whoever works them out."""

from __future__ import annotations

from itertools import pairwise

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.electrical.impedance import (
    Net,
    lead_loss,
    lowest_impedance,
    on_voltage,
    parallel,
    read_net,
    series,
    share_power,
)
from rules.electrical.margin import cap_voltage, rms_margin

ohms = st.floats(0.5, 100)
speakers = st.lists(ohms, min_size=1, max_size=6).map(tuple)
watts = st.floats(0.1, 1000)
HAIR = 1 + 1e-9


def wired(parts: list[Net | float], joined: str) -> Net:
    return Net(joined="series" if joined == "series" else "parallel", parts=tuple(parts))


trees = st.recursive(
    ohms,
    lambda inner: st.builds(
        wired, st.lists(inner, min_size=1, max_size=3), st.sampled_from(["series", "parallel"])
    ),
    max_leaves=8,
)
nets = trees.filter(lambda tree: isinstance(tree, Net))


def written(part: Net | float) -> str:
    """Write a net as the calculation reads it."""
    if isinstance(part, Net):
        return f"{part.joined}({', '.join(written(x) for x in part.parts)})"
    return f"{part:f}"


def lay(graph: nx.Graph[str], part: Net | float, one: str, other: str) -> None:
    """Lay a net between two nodes."""
    if not isinstance(part, Net):
        # networkx keeps one edge between two nodes, so each resistor gets a node in its middle.
        middle = f"m{graph.number_of_nodes()}"
        graph.add_edge(one, middle, ohm=part / 2)
        graph.add_edge(middle, other, ohm=part / 2)
        return
    nodes = [one, other]
    if part.joined == "series":
        inner = [f"{one}.{other}.{graph.number_of_nodes()}.{i}" for i in range(len(part.parts) - 1)]
        graph.add_nodes_from(inner)
        nodes = [one, *inner, other]
    ends = list(pairwise(nodes)) if part.joined == "series" else [(one, other)] * len(part.parts)
    for inside, (a, b) in zip(part.parts, ends, strict=True):
        lay(graph, inside, a, b)


@given(nets)
def test_a_net_is_the_resistance_that_networkx_finds_between_its_ends(net):
    graph: nx.Graph[str] = nx.Graph()
    graph.add_nodes_from(["in", "out"])
    lay(graph, net, "in", "out")
    distance = nx.resistance_distance(graph, "in", "out", weight="ohm")
    assert net.impedance == pytest.approx(distance, rel=1e-6)


@given(nets)
def test_what_is_written_reads_back_as_the_same_net(net):
    assert read_net(written(net)).impedance == pytest.approx(net.impedance, rel=1e-4)


@given(speakers, ohms)
def test_a_parallel_speaker_never_raises_the_impedance(branches, more):
    assert parallel((*branches, more)) <= parallel(branches)


@given(speakers, ohms)
def test_a_speaker_in_series_never_lowers_the_impedance(branches, more):
    assert series((*branches, more)) >= series(branches)


@given(speakers)
def test_parallel_is_at_most_the_smallest_and_series_at_least_the_largest(branches):
    assert parallel(branches) <= min(branches) * HAIR
    assert series(branches) >= max(branches)


@given(watts, speakers, st.sampled_from(["parallel", "series"]))
def test_shares_add_up_to_the_power_and_each_obeys_ohm(power, branches, joined):
    shares = share_power(power, branches, joined)
    assert sum(shares.powers_w) == pytest.approx(power)
    for watt, amp, volt, z in zip(
        shares.powers_w, shares.currents_a, shares.voltages_v, branches, strict=True
    ):
        assert volt == pytest.approx(amp * z)
        assert watt == pytest.approx(volt * amp)


@given(watts, speakers)
def test_in_parallel_all_have_one_voltage_and_the_lowest_impedance_takes_most(power, branches):
    shares = share_power(power, branches)
    assert shares.voltages_v == pytest.approx([shares.voltages_v[0]] * len(branches))
    assert shares.powers_w[branches.index(min(branches))] == max(shares.powers_w)


@given(watts, speakers)
def test_a_power_share_is_what_the_same_voltage_gives(power, branches):
    shares = share_power(power, branches)
    assert on_voltage(shares.voltages_v[0], branches).powers_w == pytest.approx(shares.powers_w)


@given(st.floats(0, 100), st.floats(0, 10), ohms)
def test_a_lead_never_gives_more_than_it_gets(volts, lead, load):
    loss = lead_loss(volts, lead, load)
    assert 0 <= loss.load_v <= volts
    assert 0 <= loss.lost < 1


@given(ohms)
def test_a_speaker_may_dip_below_its_rating_but_not_above(rated):
    assert 0 < lowest_impedance(rated) < rated


@given(watts, st.lists(st.tuples(ohms, watts), min_size=1, max_size=5))
def test_a_capped_channel_gives_no_speaker_more_than_its_rating(power, pairs):
    branches, ratings = zip(*pairs, strict=True)
    cap = cap_voltage(power, branches, ratings)
    assert all(got <= rating * HAIR**4 for got, rating in zip(cap.powers_w, ratings, strict=True))
    assert sum(cap.powers_w) <= power * HAIR**4
    assert cap.needed == (cap.cap_v < cap.channel_v)


@given(watts, watts)
def test_a_margin_is_below_zero_just_where_the_power_is_above_the_rating(power, rating):
    margin = rms_margin(power, rating)
    assert margin.margin_w is not None
    assert (margin.margin_w < 0) == (power > rating)


@given(watts, watts, st.sampled_from([("peak", "rms"), ("rms", "peak"), ("peak", "peak")]))
def test_a_peak_figure_gives_no_margin(power, rating, kinds):
    assert rms_margin(power, rating, *kinds).margin_w is None
