"""The shelf: shipped pieces and the user's own, and what is wrong in a shelf file."""

from __future__ import annotations

from pathlib import Path

import pytest

from sternwatch.gear.shelf.pieces import generic, load_shelf, parse_shelf
from sternwatch.gear.spread_file.load import spread_from
from sternwatch.gear.spread_file.tackle import Lure
from sternwatch.gear.values.faults import SpreadError

OWN = """
[line.wire]
material = "stainless steel"
diameter = "0.39 mm"
note = "measured with a caliper"

[tackle."green fly"]
kind = "lure"
form = "fly"
colour = "green"
length = "3 in"
note = "tied in spring"

[tackle."spoon 4 in"]
kind = "lure"
form = "spoon"
colour = "blue"

[leader."green, short"]
chain = [ { line = "fluoro 30 lb", length = "4 ft" }, { tackle = "green fly" } ]
"""


def test_the_users_pieces_stand_before_the_shipped_ones_and_take_their_place() -> None:
    shelf = parse_shelf(OWN)
    assert list(shelf.lures)[:2] == ["green fly", "spoon 4 in"]
    assert shelf.lures["green fly"].colour == "green"
    assert shelf.lures["green fly"].note == "tied in spring"
    assert shelf.lures["spoon 4 in"].colour == "blue"  # not the shipped one
    assert ("tackle", "spoon 4 in") in shelf.own
    assert ("tackle", "spoon 5 in") not in shelf.own
    assert shelf.lines["wire"].diameter_m == pytest.approx(0.39e-3)
    assert "wire 30 lb" in shelf.lines


def test_a_leader_of_ones_own_may_use_shipped_line() -> None:
    shelf = parse_shelf(OWN)
    lines, tackle = shelf.parts(shelf.leaders["green, short"].chain)
    assert list(lines) == ["fluoro 30 lb"]
    assert tackle["green fly"]["colour"] == "green"


def test_without_a_file_there_are_the_shipped_pieces(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path))
    shelf = load_shelf()
    assert shelf.own == frozenset()
    assert set(shelf.rigs) >= {"diver on wire", "downrigger", "lead-core", "copper", "in-line weight", "flat line"}
    with pytest.raises(SpreadError, match="no such file"):
        load_shelf(tmp_path / "elsewhere.toml")


def test_every_shipped_piece_says_where_its_numbers_come_from() -> None:
    for kind, pieces in generic().items():
        for name, table in pieces.items():
            words = table["source" if kind == "prior" else "note"]
            assert "memory" in words or "as stamped" in words or "common practice, no source" in words, (kind, name)


def test_every_shipped_rig_makes_a_spread_that_is_accepted() -> None:
    shelf = parse_shelf("")
    for name, rig in shelf.rigs.items():
        lines, tackle = shelf.parts(rig.chain)
        data = {
            "line": lines,
            "tackle": tackle,
            "rod": [
                {
                    "key": "1",
                    "name": "ROD",
                    "side": "port",
                    "tip": {"abeam": "3 ft", "height": "4 ft"},
                    "chain": shelf.tables["rig"][name]["chain"],
                }
            ],
        }
        spread = spread_from(data)
        assert isinstance(spread.tackle[spread.rods[0].chain[-1].tackle], Lure)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('[tackle.x]\nkind = "lure"\ncolor = "red"', 'tackle.x, color: unknown field (did you mean "colour"?)'),
        ('[lures.x]\nkind = "lure"', "lures: unknown field; accepted: line, tackle, leader, rig, prior"),
        ('[leader.a]\nchain = [{line = "wyre 30 lb", length = "3 ft"}]', 'did you mean "wire 30 lb"?'),
        ('[leader.a]\nchain = [{line = "wire 30 lb", out = "3 ft"}]', "leader.a, chain: has `out`"),
        ('[rig.b]\nchain = [{line = "wire 30 lb", length = "3 ft"}]', "rig.b, chain: 0 items have `out`"),
        ("[rig.b]\nchain = []", "rig.b, chain: is empty"),
        ('[rig.b]\nchain = [{line = "wire 30 lb", out = 3}]', "rig.b, chain item 1, out = 3: a bare number"),
        ("line = 3", "line = 3: a table is wanted"),
        ("[line", "not valid TOML"),
    ],
)
def test_what_is_wrong_is_said_in_a_sentence(text: str, says: str) -> None:
    with pytest.raises(SpreadError) as error:
        parse_shelf(text)
    assert says in str(error.value)
    assert str(error.value).startswith("shelf.toml: ")
