"""Numbers side by side are added as each would be alone."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from rules.columns import MASS_BITS, Columns

counts = st.integers(0, 300)


@given(st.lists(st.tuples(st.integers(0, 200), st.lists(counts, max_size=5)), min_size=1, max_size=6))
def test_each_column_keeps_its_own_sum_and_its_own_most(wanted):
    columns = Columns()
    taken = [columns.sum(most) for most, _ in wanted]
    sums = sum(
        count * column.unit for column, (_, added) in zip(taken, wanted, strict=True) for count in added
    )
    for column, (most, added) in zip(taken, wanted, strict=True):
        assert column.of(sums) == sum(added)
        assert ((sums + columns.slack) & column.over != 0) == (sum(added) > most)


def test_a_column_of_masses_holds_more_than_any_build_weighs():
    columns = Columns()
    below, mass, above = columns.sum(1), columns.sum(500_000, MASS_BITS), columns.sum(1)
    sums = 2_000_000_000 * mass.unit
    assert (below.of(sums), mass.of(sums), above.of(sums)) == (0, 2_000_000_000, 0)
    assert (sums + columns.slack) & (below.over | mass.over | above.over) == mass.over


def test_bits_stand_beside_sums():
    columns = Columns()
    first, room, second = columns.bit(), columns.sum(1), columns.bit()
    sums = first + 2 * room.unit + second
    assert sums & first
    assert sums & second
    assert room.of(sums) == 2
