"""Crossings of chains whose paths are drawn by hand."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.feed.recording.reader import open_recording
from sternwatch.gear.spread_file.models import Spread
from sternwatch.hydro.motion.rod_lines import POINTS
from sternwatch.hydro.separation.distance import Required
from sternwatch.hydro.separation.verdicts import Verdict
from sternwatch.watch.chains.encounters import Encounters, Sample
from sternwatch.watch.core.player import Player
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Session
from watch.conftest import DEMO


@pytest.fixture
def chains(spread: Spread) -> dict[str, Any]:
    """Two divers' chains, each of 30 m and more; nobody says that they are in."""
    player = Player(
        open_recording(DEMO / "evening.nmea"), Setup(spread, Session.DEMO, start="fishing", members=0), []
    )
    player.to(30.0)
    by_key = player.watch.chains.by_key
    return {"1": by_key["2"], "2": by_key["3"]}


def sample(t_s: float, chains: dict[str, Any], abeam: dict[str, float], depth_m: float = 10.0) -> Sample:
    """Straight chains, 20 to 50 m astern of a boat at the origin, each so far to starboard at its end."""
    nodes = {}
    for key, chain in chains.items():
        n = int(chain.rows.n_nodes[0])
        share = np.linspace(0.0, 1.0, n)[:, None]
        tip, end = np.array([0.0, -1.0 if key == "1" else 1.0, 0.5]), np.array([-40.0, abeam[key], depth_m])
        nodes[key] = tip + share * (end - tip)
    return Sample(t_s, nodes, {})


def seen(chains: dict[str, Any], path: Callable[[float], dict[str, float]], seconds: float) -> Encounters:
    made = Encounters(Required())
    for k in range(int(2 * seconds) + 1):
        made.take(sample(0.5 * k, chains, path(0.5 * k)), chains)
    made.close()
    return made


def test_chains_that_stay_apart_do_not_cross(chains: dict[str, Any]) -> None:
    made = seen(chains, lambda _: {"1": -6.0, "2": 6.0}, 45.0)
    assert made.crossings == []
    assert made.least is None or made.least.ratio > 1.0


def test_one_that_swings_over_and_back_crosses_once_and_the_moment_is_found(chains: dict[str, Any]) -> None:
    def path(t: float) -> dict[str, float]:
        return {"1": -6.0, "2": 6.0 - 14.0 * max(0.0, 1.0 - abs(t - 30.0) / 6.0)}

    made = seen(chains, path, 60.0)
    assert [c.keys for c in made.crossings] == [("1", "2")]
    assert 24.0 <= made.crossings[0].t_s <= 30.0
    assert made.least is not None
    assert made.least.ratio < 0.1


def test_twice_with_clear_water_between_is_two(chains: dict[str, Any]) -> None:
    def path(t: float) -> dict[str, float]:
        near = max(0.0, 1.0 - min(abs(t - 20.0), abs(t - 70.0)) / 5.0)
        return {"1": -6.0, "2": 6.0 - 12.0 * near}

    assert len(seen(chains, path, 95.0).crossings) == 2


def test_two_samples_are_enough_to_see_a_crossing_between_them(chains: dict[str, Any]) -> None:
    made = Encounters(Required())
    for t_s, starboard_m in ((0.0, 6.0), (0.5, -18.0)):
        made.take(sample(t_s, chains, {"1": -6.0, "2": starboard_m}), chains)
    made.close()
    assert [c.keys for c in made.crossings] == [("1", "2")]


def test_one_that_lasts_is_one(chains: dict[str, Any]) -> None:
    made = seen(chains, lambda t: {"1": -6.0, "2": 6.0 - min(t, 12.0)}, 80.0)
    assert len(made.crossings) == 1


def test_a_chain_that_leaves_the_water_ends_its_block(chains: dict[str, Any]) -> None:
    made = Encounters(Required())
    for k in range(7):
        made.take(sample(0.5 * k, chains, {"1": -6.0, "2": -6.0}), chains)
    alone = {"1": chains["1"]}
    for k in range(7, 60):
        made.take(sample(0.5 * k, alone, {"1": -6.0}), alone)
    made.close()
    assert len(made.crossings) == 1


def test_a_chain_that_is_cut_anew_begins_another_block(chains: dict[str, Any]) -> None:
    made = Encounters(Required())
    for k in range(60):
        one = sample(0.5 * k, chains, {"1": -6.0, "2": 6.0})
        if k >= 7:  # fewer nodes on the same rig
            one.nodes_m["1"] = one.nodes_m["1"][::2].copy()
            rest = chains["1"].state.rest_m[0]
            count = len(one.nodes_m["1"]) - 1
            chains["1"].state.rest_m[0, :count] = rest.sum() / count
            chains["1"].state.rest_m[0, count:] = 0.0
        made.take(one, chains)
    made.close()
    assert made.crossings == []


def short_beside_long(chains: dict[str, Any], apart_m: float, reading_m: float) -> Encounters:
    """The second chain, cut down to 6 m, runs straight astern beside the first, whose tip is 0.5 m away."""
    chains["2"].state.rest_m[0] *= 6.0 / chains["2"].state.rest_m[0].sum()
    chains["2"].reel.reading_m = reading_m
    made = Encounters(Required())
    for k in range(5):
        nodes = {}
        for key, far, abeam in (("1", 40.0, 0.0), ("2", 6.0, apart_m)):
            share = np.linspace(0.0, 1.0, int(chains[key].rows.n_nodes[0]))[:, None]
            tip = np.array([0.0, 0.0 if key == "1" else 0.5, 0.5])
            nodes[key] = tip + share * (np.array([-far, abeam, 0.5 + 0.15 * far]) - tip)
        made.take(Sample(0.5 * k, nodes, {}), chains)
    made.close()
    return made


def test_a_line_that_has_just_gone_over_the_rail_counts(chains: dict[str, Any]) -> None:
    # Its lure lies at 6 m of 30: 0.25 m at the tips rising to 1.5 m at half the shorter chain's whole length.
    made = short_beside_long(chains, -0.1, 3.0)
    assert [c.keys for c in made.crossings] == [("1", "2")]


def test_on_its_way_out_it_is_held_to_what_is_required_so_near_the_tips(chains: dict[str, Any]) -> None:
    on_its_way = short_beside_long(chains, 0.8, 3.0)
    assert on_its_way.crossings == []
    assert on_its_way.least is not None
    assert on_its_way.least.required_m < 0.8


def test_a_line_fished_short_is_held_to_the_whole_distance(chains: dict[str, Any]) -> None:
    chains["2"].reel.target_m = 5.0
    made = short_beside_long(chains, 0.8, 5.0)
    assert made.crossings == []  # nearer than required, and no touch
    assert made.least is not None
    assert made.least.ratio < 1.0
    assert made.least.required_m == pytest.approx(1.5)


def test_a_pair_that_crosses_again_at_once_has_crossed_once(chains: dict[str, Any]) -> None:
    def path(gap: float) -> Callable[[float], dict[str, float]]:
        return lambda t: {"1": -6.0, "2": 6.0 - 12.0 * max(0.0, 1.0 - min(abs(t - 20.0), abs(t - 20.0 - gap)) / 3.0)}

    assert len(seen(chains, path(10.0), 50.0).crossings) == 1
    assert len(seen(chains, path(40.0), 80.0).crossings) == 2


@pytest.mark.parametrize(
    ("starboard_m", "verdict"), [(6.0, Verdict.CLEAR_OF_EACH_OTHER), (0.5, Verdict.NEAR_PASS), (-3.0, Verdict.TOUCH)]
)
def test_what_comes_of_two_that_draw_nearer(chains: dict[str, Any], starboard_m: float, verdict: Verdict) -> None:
    # In one plane all the while, so that they meet and neither passes over the other.
    made = seen(chains, lambda t: {"1": -0.5, "2": max(6.0 - 0.5 * t, starboard_m)}, 25.0)
    assert made.verdict(("1", "2")) == verdict
    assert (made.crossings != []) == (verdict == Verdict.TOUCH)


def test_a_sample_is_of_the_chains_whose_place_is_known() -> None:
    """One that has no place, no state, is not cut, or cannot be towed is left out; a rod line's tip comes along."""
    boat: Any = SimpleNamespace(north_m=10.0, east_m=20.0, heading_deg=0.0)

    def one(**more: Any) -> Any:
        position = np.arange(24.0).reshape(1, 8, 3)
        rows = SimpleNamespace(
            n_nodes=np.array([5]), rod_node=np.array([-1]), rod_tip_m=np.array([[-1.0, 2.0, -3.0]])
        )
        given = {"place": 1, "state": SimpleNamespace(position_m=position), "rows": rows, "why": ""}
        return SimpleNamespace(**{**given, **more})

    board = one()
    board.rows.rod_node[0] = 0
    others = {"3": one(place=None), "4": one(state=None), "5": one(rows=None), "6": one(why="no")}
    made = Sample.of(7.0, {"1": one(), "2": board, **others}, boat)
    assert (made.t_s, sorted(made.nodes_m), sorted(made.rod_tips_m)) == (7.0, ["1", "2"], ["2"])
    assert made.nodes_m["1"].tolist() == np.arange(15.0).reshape(5, 3).tolist()
    assert made.rod_tips_m["2"] == pytest.approx(np.array([9.0, 22.0, -3.0]))


def test_a_shorter_chain_beside_a_longer_one_ends_where_it_ends(chains: dict[str, Any]) -> None:
    made = Encounters(Required())
    one = sample(0.0, chains, {"1": -6.0, "2": 6.0})
    rest = chains["1"].state.rest_m[0]
    one.nodes_m["1"] = one.nodes_m["1"][:4].copy()
    rest[:3], rest[3:] = 5.0, 0.0
    made.take(one, chains)
    made.take(replace(one, t_s=0.5), chains)
    strands, positions, names = made._strands(["1", "2"])
    assert names[:2] == ["1", "2"]
    assert strands.n_nodes.tolist()[:2] == [4, len(one.nodes_m["2"])]
    assert strands.arc_m[0].tolist()[:4] == [0.0, 5.0, 10.0, 15.0]
    assert set(strands.arc_m[0].tolist()[4:]) == {15.0}
    assert (positions[:, 0, 4:] == positions[:, 0, 3:4]).all()
    assert strands.whole_m[0] >= 15.0


def test_the_line_from_a_rod_to_its_release_is_a_strand_behind_all_chains(
    monkeypatch: pytest.MonkeyPatch, chains: dict[str, Any]
) -> None:
    """As long as it is straight at first, from the tip of the rod to the release; the cable's rod owns it."""
    made = Encounters(Required())
    one = sample(0.0, chains, {"1": -6.0, "2": 6.0})
    made.take(one, chains)
    made.take(replace(one, t_s=0.5), chains)
    curves = {}
    for key, aside in (("1", -2.0), ("2", 2.0)):
        made._rod[key] = (3, made._rod[key][1])
        curve = np.zeros((2, POINTS, 3))
        curve[..., 0], curve[..., 1] = -np.linspace(0.0, 3.0, POINTS), aside
        curve[:, -1] = [[-4.0, 3.0 + aside, 12.0], [-9.0, aside, 30.0]]
        curves[key] = curve
    curves["2"][:, -1, 0] -= 1.0
    monkeypatch.setattr(Encounters, "_rod_lines", lambda _, key: curves[key])
    strands, positions, names = made._strands(["1", "2"])
    assert names == ["1", "2", "1", "2"]
    assert strands.owner.tolist() == [0, 1, 0, 1]
    assert strands.n_nodes.tolist()[2:] == [POINTS, POINTS]
    for row, key, length_m in ((2, "1", 13.0), (3, "2", math.sqrt(178.0))):
        assert positions[:, row, :POINTS].tolist() == curves[key].tolist()
        assert (positions[:, row, POINTS:] == curves[key][:, -1:]).all()
        assert strands.arc_m[row, :POINTS] == pytest.approx(np.linspace(0.0, length_m, POINTS))
        assert strands.arc_m[row, POINTS:] == pytest.approx(length_m)
    assert not strands.body_node[2:].any()


def test_a_rods_line_is_laid_from_its_tip_to_where_the_release_is_at_each_sample() -> None:
    made = Encounters(Required())
    balls, tips = np.array([[-6.0, 1.0, 15.0], [-7.0, 1.5, 16.0]]), np.array([[-1.0, 2.0, -3.0], [-1.5, 2.0, -3.0]])
    for t_s, ball, tip in zip((0.0, 0.5), balls, tips, strict=True):
        made._samples.append(Sample(t_s, {"2": np.stack([np.zeros(3), ball, np.ones(3)])}, {"2": tip}))
    made._rod["2"] = (1, np.zeros(4))
    found = made._rod_lines("2")
    assert found.shape == (2, POINTS, 3)
    assert found[:, 0] == pytest.approx(tips)
    assert found[:, -1] == pytest.approx(balls)
