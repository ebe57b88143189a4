"""Motion against moordyn 2.7.2 on the same chain: ball on wire (10 segments) and bare wire (20), 0.10 m in depth.

Each code has as many segments as the other, sternwatch steps of 1 s, moordyn CFL 0.1 (some 1e-4 s).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.hydro.motion.fleet import run, settle

pytest.importorskip("moordyn", reason="moordyn is a test dependency; pip install '.[test]'")

SECONDS = 150
COURSES = {
    "step up": ("speeds", (0.0, 1.0), (5.0, 1.0), (5.5, 1.4)),
    "step down": ("speeds", (0.0, 1.0), (5.0, 1.0), (5.5, 0.6)),
    "stop of 20 s": ("speeds", (0.0, 1.0), (5.0, 1.0), (7.0, 0.0), (27.0, 0.0), (29.0, 1.0)),
    "180 degrees at 20 m": ("turn", 20.0, 1.0),
}


# The ordinary run takes the hardest course of each rig; the campaign takes both rigs through all four.
ORDINARY = {("ball", "stop of 20 s"), ("bare", "180 degrees at 20 m")}


@pytest.fixture(scope="module")
def tows(
    towing: ModuleType, rigs: SimpleNamespace, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Callable[[str], SimpleNamespace]]:
    """Of a rig a tow in moordyn settled at 1.0 m/s, made once, to be led through each course from there."""

    @cache
    def made(rig: str) -> SimpleNamespace:
        ball = rig == "ball"
        segments = 10 if ball else 20
        tow = towing.Tow(Path(tmp_path_factory.mktemp("moordyn")), segments=segments, ball=ball)
        opened.append(tow)
        tow.settle(1.0, 200.0 if ball else 250.0)
        rows = rigs.packed(rigs.reference(ball=ball), segments=segments)
        return SimpleNamespace(tow=tow, kept=tow.keep(), rows=rows, state=settle(rows, 0.0, 1.0), ball=ball)

    opened: list[Any] = []
    yield made
    for tow in opened:
        tow.close()


@pytest.fixture
def settled(request: pytest.FixtureRequest, tows: Callable[[str], SimpleNamespace]) -> SimpleNamespace:
    return tows(request.param)


def peer(settled: SimpleNamespace, course: Any) -> np.ndarray:
    tow = settled.tow
    tow.restore(settled.kept)
    origin = tow.origin_m

    def shifted(t: float) -> tuple[np.ndarray, np.ndarray]:
        place, velocity = course(t)
        return place + origin, velocity

    return tow.run(shifted, float(SECONDS)) - origin


@pytest.mark.parametrize("settled", ["ball", "bare"], indirect=True)
def test_settled_alike(settled: SimpleNamespace) -> None:
    mine = settled.state.position_m[0]
    settled.tow.restore(settled.kept)
    its = settled.tow.nodes() - settled.tow.origin_m
    assert mine[:, 2] == pytest.approx(its[:, 2], abs=0.02)


@pytest.mark.parametrize(
    ("settled", "name"),
    [
        pytest.param(rig, name, marks=() if (rig, name) in ORDINARY else pytest.mark.campaign)
        for rig in ("ball", "bare")
        for name in COURSES
    ],
    indirect=["settled"],
)
def test_depth_through_a_manoeuvre(name: str, settled: SimpleNamespace, towing: ModuleType) -> None:
    kind, *numbers = COURSES[name]
    course = getattr(towing, kind)(*numbers)
    its = peer(settled, course)[1:]
    track = run(settled.rows, settled.state, towing.tips(course, 1.0, SECONDS), np.ones(SECONDS))
    assert not track.status.any()
    mine = track.positions_m[:, 0]
    assert np.isfinite(its).all()
    assert np.abs(mine[:, -1, 2] - its[:, -1, 2]).max() < 0.10
    # That the manoeuvre was one: the end's depth changed by far more than the tolerance.
    assert np.ptp(its[:, -1, 2]) > (0.3 if settled.ball else 1.0)
    assert math.isfinite(track.tensions_N.min())
