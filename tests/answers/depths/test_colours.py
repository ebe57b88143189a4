"""Lead-core in colours: how many bring a lure to a depth, and the card by colours."""

from __future__ import annotations

import pytest

from sternwatch.answers.depths.colours import (
    MOST,
    colours_card,
    colours_for_depth,
    colours_of,
    core_at,
    with_colours,
)
from sternwatch.answers.depths.depth import depth_answer
from sternwatch.answers.depths.table import let_out_card
from sternwatch.gear.spread_file.load import load_spread
from sternwatch.gear.spread_file.models import LineItem, Rod, Spread
from sternwatch.places import shipped

SPEED_M_S = 1.05
COLOUR_M = 30.0 * 0.3048


@pytest.fixture(scope="module")
def spread() -> Spread:
    """The demo's: rod 1 has lead-core behind a board, rod 2 a diver."""
    return load_spread(shipped("demo_logs") / "evening.toml")


def rod_of(spread: Spread, key: str) -> Rod:
    rod = spread.rod_by_key(key)
    assert rod is not None
    return rod


def depth_of(spread: Spread, rod: Rod) -> float:
    rods = tuple(rod if one.key == rod.key else one for one in spread.rods)
    found = depth_answer(spread.model_copy(update={"rod": rods}), SPEED_M_S)
    (own,) = [one.depth_m for one in found.rods if one.key == rod.key]
    assert own is not None
    return own


def test_where_the_core_is_and_how_much_of_it(spread: Spread) -> None:
    rod = rod_of(spread, "1")
    at = core_at(spread, rod)
    assert at is not None
    assert core_at(spread, rod_of(spread, "2")) is None
    assert colours_of(spread, rod_of(spread, "2")) is None
    for colours in (1.0, 4.5):
        assert colours_of(spread, with_colours(rod, at, colours)) == pytest.approx(colours)
        assert with_colours(rod, at, colours).chain[at].length_m == pytest.approx(colours * COLOUR_M)


def test_so_many_colours_bring_it_there(spread: Spread) -> None:
    rod = rod_of(spread, "1")
    at = core_at(spread, rod)
    assert at is not None
    found = colours_for_depth(spread, rod, 9.0, SPEED_M_S)
    assert found is not None
    assert found.colours is not None
    assert found.counter_m == rod.line_out_m
    assert depth_of(spread, with_colours(rod, at, found.colours)) == pytest.approx(9.0, abs=0.1)
    assert found.deepest_m == pytest.approx(depth_of(spread, with_colours(rod, at, MOST)), abs=0.05)
    # Where it runs deeper than was computed, fewer do.
    filed = depth_of(spread, rod)
    deeper = colours_for_depth(spread, rod, 9.0, SPEED_M_S, median_m=1.2 * filed)
    assert deeper is not None
    assert deeper.colours is not None
    assert depth_of(spread, with_colours(rod, at, deeper.colours)) == pytest.approx(9.0 / 1.2, abs=0.1)


def test_what_no_number_of_colours_does(spread: Spread) -> None:
    assert colours_for_depth(spread, rod_of(spread, "2"), 9.0, SPEED_M_S) is None
    too_deep = colours_for_depth(spread, rod_of(spread, "1"), 200.0, SPEED_M_S)
    assert too_deep is not None
    assert too_deep.colours is None
    assert too_deep.deepest_m is not None
    assert too_deep.deepest_m < 200.0
    too_shallow = colours_for_depth(spread, rod_of(spread, "1"), 0.01, SPEED_M_S)
    assert too_shallow is not None
    assert too_shallow.colours is None


def test_the_card_has_a_row_for_each_number(spread: Spread) -> None:
    rod = rod_of(spread, "1")
    card = colours_card(spread, rod, [2.0, 5.0], [0.9, 1.1])
    assert (card.key, len(card.tables), len(card.tables[0].cells)) == ("1", 1, 2)
    assert all(len(row) == 2 for row in card.tables[0].cells)
    assert card.speeds_m_s == (0.9, 1.1)


def test_a_core_that_is_let_out_itself_has_a_row_for_every_colour_and_its_counter(spread: Spread) -> None:
    """Without backing the counter reads the core; the depths are those of rows by length."""
    rod = rod_of(spread, "1")
    at = core_at(spread, rod)
    assert at is not None
    bare = rod.model_copy(update={"chain": (LineItem(line="leadcore", out="5 colours"), *rod.chain[at + 1 :])})
    assert core_at(spread, bare) is None
    assert colours_of(spread, bare) == pytest.approx(5.0)
    card = colours_card(spread, bare, [2.0, 5.0], [SPEED_M_S])
    assert card.colours == (2.0, 5.0)
    assert card.line_out_as_counter_m == pytest.approx((2 * COLOUR_M, 5 * COLOUR_M))
    by_length = let_out_card(spread, bare, [2 * COLOUR_M, 5 * COLOUR_M], [SPEED_M_S])
    assert [row[0].depth_m for row in card.tables[0].cells] == [row[0].depth_m for row in by_length.tables[0].cells]
