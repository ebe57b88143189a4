"""What is changed on the water: the spread after it, and what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from sternwatch.gear.editing import changes
from sternwatch.gear.editing.changes import ChangeError
from sternwatch.gear.spread_file.load import load_spread, parse_spread
from sternwatch.gear.spread_file.models import LineItem, Spread, TackleItem

DEMO = Path(__file__).parents[3] / "demo_logs" / "evening.toml"


@pytest.fixture(scope="module")
def spread() -> Spread:
    return load_spread(DEMO)


def _rod(spread: Spread, key: str):  # type: ignore[no-untyped-def]
    rod = spread.rod_by_key(key)
    assert rod is not None
    return rod


def _names(spread: Spread, key: str) -> list[str]:
    return [item.line if isinstance(item, LineItem) else item.tackle for item in _rod(spread, key).chain]


def test_another_lure_takes_the_place_of_the_last_one_and_nothing_else_changes(spread: Spread) -> None:
    made = changes.with_tackle(spread, "3", "lure", "spoon")
    assert _names(made, "3") == ["wire", "disc", "snub", "leader", "paddle", "leader", "spoon"]
    assert [rod for rod in made.rods if rod.key != "3"] == [rod for rod in spread.rods if rod.key != "3"]
    assert _names(spread, "3")[-1] == "fly", "the spread itself is a value"


def test_a_piece_that_the_spread_lacks_comes_with_its_definition(spread: Spread) -> None:
    green = {"kind": "lure", "form": "spoon", "colour": "green"}
    made = changes.with_tackle(changes.with_pieces(spread, {}, {"small green": green}), "1", "lure", "small green")
    lure = made.tackle["small green"]
    assert lure.kind == "lure"
    assert lure.colour == "green"
    again = changes.with_pieces(made, {}, {"small green": green})
    assert again.tackle == made.tackle, "the same piece twice is one"


def test_a_range_of_speeds_is_the_lures_own() -> None:
    text = DEMO.read_text(encoding="utf-8")
    text = text.replace('rod_length = "8.5 ft"', 'rod_length = "8.5 ft"\nspeeds = ["1.8 mph", "2.6 mph"]', 1)
    spread = parse_spread(text)
    assert _rod(spread, "3").speeds_m_s is not None
    assert _rod(changes.with_tackle(spread, "3", "lure", "spoon"), "3").speeds_m_s is None
    other_fly = changes.with_pieces(spread, {}, {"red fly": {"kind": "lure", "form": "fly", "colour": "red"}})
    kept = changes.with_tackle(other_fly, "3", "lure", "red fly")
    assert _rod(kept, "3").speeds_m_s == _rod(spread, "3").speeds_m_s


def test_a_leader_begins_past_the_device_the_heavy_line_or_the_lead(spread: Spread) -> None:
    leader = [{"line": "leader", "length": "6 ft"}, {"tackle": "spoon"}]
    assert _names(changes.with_leader(spread, "3", leader), "3") == ["wire", "disc", "snub", "leader", "spoon"]
    board = _names(changes.with_leader(spread, "1", leader), "1")
    assert board == ["backing", "board", "backing", "leadcore", "leader", "spoon"]
    down = changes.with_leader(spread, "4", leader)
    assert _names(down, "4") == ["cable", "ball", "mono", "leader", "spoon"]
    assert _rod(down, "4").lead_m == _rod(spread, "4").lead_m


def test_a_whole_rig_of_another_rod_with_the_lengths_it_has_now(spread: Spread) -> None:
    source = _rod(spread, "3")
    chain = changes.tables_of(source.chain, line_out_m=41.7, setting="high")
    made = changes.with_rig(spread, "2", chain)
    rod = _rod(made, "2")
    assert rod.line_out_m == 41.7
    assert made.setting(rod) == "high"
    assert (rod.tip, rod.key, rod.side) == (_rod(spread, "2").tip, "2", "port")


def test_a_chain_written_as_tables_is_read_back_the_same(spread: Spread) -> None:
    for rod in spread.rods:
        assert changes.items_of(rod, changes.tables_of(rod.chain)) == rod.chain
        lead = changes.tables_of(rod.chain, lead_m=7.25)
        adjustable = [i for i in changes.items_of(rod, lead) if isinstance(i, LineItem) and i.adjust]
        assert all(item.length_m == 7.25 for item in adjustable)


def test_a_rig_without_a_ball_leaves_the_line_to_the_release_behind(spread: Spread) -> None:
    assert _rod(spread, "4").rod_line is not None
    made = changes.with_rig(spread, "4", changes.tables_of(_rod(spread, "3").chain))
    assert _rod(made, "4").rod_line is None


def test_rigs_change_places_and_stations_stay(spread: Spread) -> None:
    made = changes.moved(spread, "1", "2")
    assert _rod(made, "2").chain == _rod(spread, "1").chain
    assert _rod(made, "1").chain == _rod(spread, "2").chain
    for key in ("1", "2"):
        before, after = _rod(spread, key), _rod(made, key)
        assert (before.key, before.name, before.tip, before.side) == (after.key, after.name, after.tip, after.side)
    assert _rod(made, "2").target_depth_m == _rod(spread, "1").target_depth_m
    assert changes.moved(made, "2", "1") == spread


def test_what_pulled_to_port_pulls_to_starboard_at_the_other_side(spread: Spread) -> None:
    chain = list(_rod(spread, "3").chain)
    assert isinstance(chain[1], TackleItem)
    chain[1] = chain[1].model_copy(update={"side": "port"})
    told = spread.model_copy(
        update={
            "rod": tuple(r.model_copy(update={"chain": tuple(chain)}) if r.key == "3" else r for r in spread.rods)
        }
    )
    moved = _rod(changes.moved(told, "3", "6"), "6")
    assert isinstance(moved.chain[1], TackleItem)
    assert moved.chain[1].side == "starboard"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda s: changes.with_tackle(s, "3", "lure", "spon"), 'no lure "spon" (did you mean "spoon"?)'),
        (lambda s: changes.with_tackle(s, "3", "lure", "paddle"), '"paddle" is an attractor, not a lure'),
        (lambda s: changes.with_tackle(s, "1", "attractor", "paddle"), "has no attractor to change"),
        (lambda s: changes.with_tackle(s, "9", "lure", "spoon"), "no rod 9; the spread has 1, 2"),
        (lambda s: changes.moved(s, "3", "4"), "ball and cable stay at their station"),
        (lambda s: changes.moved(s, "3", "3"), "stands there already"),
        (lambda s: changes.with_leader(s, "3", [{"line": "leader", "out": "6 ft"}]), "`length`, not `out`"),
        (lambda s: changes.with_leader(s, "3", [{"line": "nosuch", "length": "6 ft"}]), "no line of that name"),
        (lambda s: changes.with_leader(s, "3", [{"line": "leader", "length": 6}]), "length"),
        (lambda s: changes.with_rig(s, "3", [{"line": "wire", "length": "6 ft"}]), "no item has `out`"),
        (lambda s: changes.with_pieces(s, {}, {"fly": {"kind": "lure", "form": "plug"}}), "another of that name"),
        (lambda s: changes.with_pieces(s, {}, {"x": {"kind": "lure", "diametre": "1 m"}}), "unknown field"),
        (lambda s: changes.with_pieces(s, {"x": {"material": "nylon"}}, {}), "diameter is missing"),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence(spread: Spread, change, said: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ChangeError) as refused:
        change(spread)
    assert said in str(refused.value)


def test_a_diver_that_is_set_to_a_side_cannot_go_to_the_middle() -> None:
    text = DEMO.read_text(encoding="utf-8") + (
        '\n[[rod]]\nkey = "9"\nname = "CHUTE"\nside = "centre"\ntip = { height = "8 ft" }\n'
        'chain = [ { line = "mono", out = "100 ft" }, { tackle = "spoon" } ]\n'
    )
    with pytest.raises(ChangeError, match="the rod is at the centre"):
        changes.moved(parse_spread(text), "3", "9")
