"""What can be put on a rod, from the shelf, the spread and the other rods."""

from __future__ import annotations

from pathlib import Path

import pytest

from sternwatch.gear.shelf import offers
from sternwatch.gear.shelf.offers import As
from sternwatch.gear.shelf.pieces import Shelf, parse_shelf
from sternwatch.gear.spread_file.load import load_spread
from sternwatch.gear.spread_file.models import LineItem, Rod, Spread
from sternwatch.gear.values.units import SYSTEMS

US = SYSTEMS["us"]
SHELF = """
[tackle."green spoon"]
kind = "lure"
form = "spoon"
colour = "green"
[tackle.fly]
kind = "lure"
form = "plug"
[line.mono]
material = "nylon"
diameter = "0.40 mm"
[leader."short mono"]
chain = [ { line = "mono", length = "5 ft" }, { tackle = "fly" } ]
"""


@pytest.fixture(scope="module")
def spread() -> Spread:
    return load_spread(Path(__file__).parents[3] / "demo_logs" / "evening.toml")


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    return parse_shelf(SHELF)


def rod(spread: Spread, key: str) -> Rod:
    found = spread.rod_by_key(key)
    assert found is not None
    return found


def test_the_users_own_lures_come_first_then_the_spreads_then_generic_ones(spread: Spread, shelf: Shelf) -> None:
    found = offers.pieces(spread, shelf, rod(spread, "3"), "lure")
    names = [offer.name for offer in found]
    # The user's own fly is another than the spread's, which is on: it gets a name of its own.
    assert names[:3] == ["green spoon", "fly 2", "spoon"]
    assert "spoon 5 in" in names
    assert "fly" not in names, "that is what it has"
    assert found[0].words == "green spoon", "the colour is in the name"
    for offer in found:
        made = offer.on(spread, "3")
        assert made.tackle[offer.name].kind == "lure"
        assert rod(made, "3").chain[-1].tackle == offer.name  # type: ignore[union-attr]


def test_leaders_of_the_shelf_bring_their_own_line_under_a_name_that_is_free(spread: Spread, shelf: Shelf) -> None:
    found = {offer.name: offer for offer in offers.leaders(spread, shelf, rod(spread, "3"), US)}
    made = found["short mono"].on(spread, "3")
    line = rod(made, "3").chain[-2]
    assert isinstance(line, LineItem)
    assert line.line == "mono 2"
    assert made.line["mono 2"].diameter_m == pytest.approx(0.40e-3)
    assert made.line["mono"] == spread.line["mono"]
    assert any(name.startswith("20 ft fluoro") for name in found), "the boards' leader, of another rod"


def test_rigs_of_the_other_rods_come_as_they_are_now(spread: Spread, shelf: Shelf) -> None:
    now = {"3": As(line_out_m=44.0, setting="high"), "5": As(lead_m=6.0)}
    found = {offer.name: offer for offer in offers.rigs(spread, shelf, rod(spread, "2"), now, US)}
    made = found["as 3 P LOW"].on(spread, "2")
    assert rod(made, "2").line_out_m == 44.0
    assert made.setting(rod(made, "2")) == "high"
    assert rod(found["as 5 S DOWN"].on(spread, "2"), "2").lead_m == 6.0
    assert "as 2 P HIGH" not in found
    assert "copper" in found, "generic ones too"
    for offer in found.values():
        assert offer.on(spread, "2") != spread


def test_the_middle_gets_only_what_can_hang_there(shelf: Shelf) -> None:
    text = (Path(__file__).parents[3] / "demo_logs" / "evening.toml").read_text(encoding="utf-8")
    text += '\n[[rod]]\nkey = "9"\nname = "CHUTE"\nside = "centre"\ntip = { height = "8 ft" }\n'
    text += 'chain = [ { line = "mono", out = "100 ft" }, { tackle = "spoon" } ]\n'
    from sternwatch.gear.spread_file.load import parse_spread

    whole = parse_spread(text)
    names = [offer.name for offer in offers.rigs(whole, shelf, rod(whole, "9"), {}, US)]
    assert "as 4 P DOWN" in names
    assert "as 2 P HIGH" not in names
    assert [other.key for other in offers.moves(whole, rod(whole, "9"))] == []
    assert [other.key for other in offers.moves(whole, rod(whole, "1"))] == ["2", "3", "6", "7", "8"]
    assert [other.key for other in offers.moves(whole, rod(whole, "4"))] == ["5"]
