"""All chains at once, by hand: when they grow old, are towed on or laid anew, and which lies nearest to which."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.watch.chains.chains import Chains


class Told:
    """Stands for a chain, and for what moves chains: it remembers what it was told."""

    def __init__(self) -> None:
        self.dark: list[tuple[bool, bool]] = []
        self.towed: list[float] = []

    def go_dark(self, *, hidden: bool, gone: bool) -> None:
        self.dark.append((hidden, gone))

    def tow(self, _chains: object, t_s: float, *_: object) -> None:
        self.towed.append(t_s)


def boat(dark_since_s: float | None = None) -> Any:
    return SimpleNamespace(
        dark_since_s=dark_since_s, north_m=0.0, east_m=0.0, heading_deg=0.0, velocity_m_s=(1.0, 0.0)
    )


WATERS: Any = SimpleNamespace(water=lambda _: None)


@pytest.mark.parametrize(
    ("dark_s", "hidden", "gone"),
    [(29.0, False, False), (31.0, True, False), (59.0, True, False), (61.0, True, True)],
)
def test_without_a_speed_depths_stand_for_half_a_minute_and_lines_for_a_minute(
    dark_s: float, hidden: bool, gone: bool
) -> None:
    chain = Told()
    chains = Chains({"1": chain}, None)  # type: ignore[dict-item]
    chains.step(500.0 + dark_s, 1.0, boat(500.0), WATERS, {}, follows=True)
    assert chain.dark == [(hidden, gone)]


@pytest.mark.parametrize(
    ("after_s", "follows", "bridged"),
    [(1.0, True, False), (0.5, False, True), (60.0, False, True), (60.5, False, False), (0.0, False, False)],
)
def test_through_a_hole_of_a_minute_lines_are_towed_and_after_a_longer_one_laid_anew(
    monkeypatch: pytest.MonkeyPatch, after_s: float, follows: bool, bridged: bool
) -> None:
    holes: list[tuple[float, float]] = []
    monkeypatch.setattr(Chains, "_bridge", lambda _, hole, *__: holes.append((hole.began_s, hole.ends_s)))
    moves = Told()
    chains = Chains({}, None)
    chains._side_by_side = moves  # type: ignore[assignment]
    chains.step(100.0, 1.0, boat(), WATERS, {}, follows=False)
    assert (moves.towed, holes) == ([100.0], []), "nothing was known before: there is no hole"
    chains.step(100.0 + after_s, 1.0, boat(), WATERS, {}, follows=follows)
    assert holes == ([(100.0, 100.0 + after_s)] if bridged else [])
    assert len(moves.towed) == (1 if bridged else 2)


def lying(*points: tuple[float, float, float]) -> Any:
    return SimpleNamespace(place=SimpleNamespace(shape_m=np.array(points)))


def test_the_nearest_other_line_of_each() -> None:
    """Lines hang straight down, 3 m and 10 m apart; one has more nodes than the others."""
    first = lying((0.0, 0.0, 0.0), (0.0, 0.0, 20.0))
    second = lying((0.0, 3.0, 0.0), (0.0, 3.0, 5.0), (0.0, 3.0, 9.0), (0.0, 3.0, 20.0))
    third = lying((0.0, 13.0, 0.0), (0.0, 13.0, 20.0))
    unknown: Any = SimpleNamespace(place=None)
    two = Chains({"a": first, "b": second, "in": unknown}, None).nearest()
    assert two == {"a": (pytest.approx(3.0), "b"), "b": (pytest.approx(3.0), "a")}
    three = Chains({"a": first, "b": second, "c": third}, None).nearest()
    assert three["c"] == (pytest.approx(10.0), "b")
    assert Chains({"a": first, "in": unknown}, None).nearest() == {}


def test_a_line_above_the_water_is_near_to_none() -> None:
    above = lying((0.0, 0.0, -3.0), (0.0, 1.0, -1.0))
    chains = Chains({"a": above, "b": lying((0.0, 2.0, 0.0), (0.0, 2.0, 9.0))}, None)
    assert chains.nearest() == {}
