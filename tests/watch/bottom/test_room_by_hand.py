"""Which body of a chain is looked at, what is known ahead of it and how she goes: by hand, without a watch."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.watch.bottom import room as module
from sternwatch.watch.bottom.over_ground import OverGround
from sternwatch.watch.bottom.room import Ahead, Below, Ground, _below, _spare_m
from sternwatch.watch.bottom.soundings import Sounding, Soundings

# She heads north; the antenna is 2 m forward of the transom.
OVER = OverGround((100.0, 50.0), (1.0, 0.0), 2.0)


def chain(
    *bodies: tuple[float, float, float], kinds: tuple[str, ...] = (), bottom: Any = None, deep_m: float | None = None
) -> Any:
    what = tuple(f"piece {k}" for k in range(len(bodies)))
    interval = None if deep_m is None else (0.0, deep_m)
    place = SimpleNamespace(
        bodies_m=bodies, astern_m=40.0, abeam_m=1.0, depth_m=bodies[-1][2] if bodies else 9.0,
        depth_interval_m=interval,
    )  # fmt: skip
    rig = SimpleNamespace(what=what, kinds=kinds or ("lure",) * len(bodies)) if bodies else None
    return SimpleNamespace(place=place, rig=rig, rod=SimpleNamespace(key="1", bottom=bottom))


def sounded(*rows: tuple[float, float, float]) -> Soundings:
    made = Soundings()
    for north, east, depth in rows:
        made.add(Sounding(5.0, north, east, depth))
    return made


# -- how she goes ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("seconds", "speed", "velocity"),
    [(4, 1.0, None), (5, 1.0, (0.6, 0.8)), (30, 1.0, (0.6, 0.8)), (30, 0.31, (0.186, 0.248)), (30, 0.29, None)],
)
def test_her_velocity_over_ground_is_that_of_ten_seconds_once_five_are_known(
    seconds: int, speed: float, velocity: tuple[float, float] | None
) -> None:
    ground = Ground()
    for t in range(seconds + 1):
        before = 3.0 if t < seconds - 10 else 0.0  # another way before these seconds
        at = (0.6 * speed * t + before * (seconds - 10 - t), 0.8 * speed * t)
        ground._go(float(t), OverGround(at, (1.0, 0.0), 0.0), None)
    assert ground.velocity_m_s == (None if velocity is None else pytest.approx(velocity))
    assert len(ground._places) == min(seconds + 1, 11)
    ground._go(seconds + 1.0, OverGround(), 0.0)
    assert ground.velocity_m_s is None
    assert not ground._places


@pytest.mark.parametrize(
    ("rate", "turning"), [(None, False), (1.0, False), (1.01, True), (-1.01, True), (0.0, False)]
)
def test_a_degree_a_second_is_a_turn(rate: float | None, turning: bool) -> None:
    ground = Ground()
    ground._go(0.0, OVER, rate)
    assert ground.turning is turning


def test_the_way_ahead_is_looked_at_every_two_seconds_and_when_a_rod_goes(monkeypatch: pytest.MonkeyPatch) -> None:
    looked: list[float] = []
    monkeypatch.setattr(Ground, "_go", lambda *_: None)
    monkeypatch.setattr(Ground, "_look", lambda *_: Ahead("lure", None, 0.0, None, False, None))
    monkeypatch.setattr(module, "slope_of", lambda _, t_s: looked.append(t_s))
    ground, there = Ground(), {"1": chain((30.0, 0.0, 10.0)), "2": chain((30.0, 0.0, 10.0))}
    bottom = sounded((68.0, 50.0, 25.0))
    for t in range(7):
        ground.step(float(t), there, bottom, OVER, None)
    assert looked == [0.0, 2.0, 4.0, 6.0]
    ground.step(7.0, {"1": there["1"]}, bottom, OVER, None)
    assert looked[-1] == 7.0, "one is in: what was said of it is gone"
    assert list(ground.ahead) == ["1"]
    there["1"].place = None
    ground.step(8.0, there, bottom, OVER, None)
    assert list(ground.below) == ["2"]


def test_a_board_floats_and_has_no_bottom() -> None:
    ground = Ground()
    pieces = chain((10.0, 0.0, 0.0), (30.0, 0.0, 10.0), kinds=("board", "lure"))
    ground.step(0.0, {"1": pieces}, sounded((68.0, 50.0, 25.0), (88.0, 50.0, 24.0)), OVER, None)
    first, second = ground.below["1"]
    assert first is None
    assert second is not None
    assert (second.what, second.room_m, second.bottom_m) == ("piece 1", 15.0, 25.0)
    assert ground.clearance_m(pieces) == 15.0
    ground.below["1"] = (second, None)
    assert ground.clearance_m(pieces) is None, "of the lure, not of the board"
    ground.below["1"] = ()
    assert ground.clearance_m(pieces) is None


# -- under a body ----------------------------------------------------------------------------------------------------


def test_the_bottom_under_a_body_has_its_place_age_and_source() -> None:
    """Thirty metres astern of the transom and 3 m to starboard: the antenna is at (100, 50)."""
    bottom = sounded((71.0, 57.0, 25.0))
    found = _below(bottom, OVER, 12.0, "lure", (30.0, 3.0, 10.5))
    assert found is not None
    assert (found.what, found.room_m, found.bottom_m, found.age_s, found.earlier) == ("lure", 14.5, 25.0, 7.0, False)
    assert found.off_m == pytest.approx(5.0), "three metres north and four east of it"
    late = _below(bottom, OVER, 2.0, "lure", (30.0, 3.0, 10.5))
    assert late is not None
    assert late.age_s == 0.0
    timeless = Soundings()
    timeless.add(Sounding(None, 71.0, 57.0, 25.0))
    unknown = _below(timeless, OVER, 12.0, "lure", (30.0, 3.0, 10.5))
    assert unknown is not None
    assert unknown.age_s is None
    assert _below(Soundings(), OVER, 12.0, "lure", (30.0, 3.0, 10.5)) is None
    assert _below(bottom, OverGround(), 12.0, "lure", (30.0, 3.0, 10.5)) is None


@pytest.mark.parametrize(("deep_m", "spare"), [(None, 0.0), (12.5, 2.5), (9.0, 0.0), (10.0, 0.0)])
def test_a_lure_may_be_as_much_deeper_as_its_interval_says(deep_m: float | None, spare: float) -> None:
    assert _spare_m(chain((30.0, 0.0, 10.0), deep_m=deep_m).place) == spare


def below(what: str, room_m: float) -> Below:
    return Below(what, room_m, 30.0, 0.0, 1.0, False)


def test_the_least_room_is_told_where_the_bottom_under_the_deepest_is_known() -> None:
    pieces = chain((10.0, 0.0, 20.0), (30.0, 0.0, 10.0))
    one, two = below("piece 0", 10.0), below("piece 1", 4.0)
    assert Ground.least(pieces, (one, two)) is two
    assert Ground.least(pieces, (None, two)) is None
    assert Ground.least(pieces, (one, None)) is one
    assert Ground.least(pieces, ()) is None
    pieces.place = None
    assert Ground.least(pieces, (one, two)) is None


class Looking(Ground):
    """What each piece meets is told here; pieces with much room are looked at where the bottom may be as shoal."""

    met: dict[str, float | None]
    shoal: set[float]

    def _may_touch(self, _soundings: Any, _over: Any, body: Any) -> bool:
        return body[2] in self.shoal

    def _seen(self, *_: Any) -> Any:
        return None

    def _way(self, _way: Any, what: str, _body: Any, _under: Any, spare_m: float) -> Any:  # type: ignore[override]
        return Ahead(what, self.met.get(what), spare_m, None, False, None)


@pytest.mark.parametrize(
    ("rooms", "shoal", "met", "purpose", "found"),
    [
        ((4.5, 9.0), (), {}, False, "piece 0"), ((4.6, 9.0), (), {}, False, None),
        ((4.6, 9.0), (20.0,), {}, False, None),  # it is looked at, and touches nothing
        ((4.6, 9.0), (20.0,), {"piece 0": 60.0}, False, "piece 0"),
        ((4.0, 4.2), (), {"piece 0": 60.0, "piece 1": 30.0}, False, "piece 1"),
        ((4.0, 4.2), (), {"piece 1": 90.0}, False, "piece 1"), ((4.2, 4.0), (), {}, False, "piece 1"),
        ((4.0, 4.2), (), {"piece 0": 60.0, "piece 1": 30.0}, True, "piece 0"),
        ((4.0, 4.2), (), {"piece 1": 30.0}, True, "piece 1"),
    ],
)  # fmt: skip
def test_the_piece_that_touches_first_is_told_and_else_a_close_one(
    rooms: tuple[float, float], shoal: tuple[float, ...], met: dict[str, float], purpose: bool, found: str | None
) -> None:
    """A rod fished on the bottom has its lure there on purpose: what else comes to it is told first."""
    made = Looking()
    made.met, made.shoal = met, set(shoal)  # type: ignore[assignment]
    pieces = chain((10.0, 0.0, 20.0), (30.0, 0.0, 10.0), bottom=object() if purpose else None, deep_m=11.5)
    under = tuple(below(f"piece {k}", room) for k, room in enumerate(rooms))
    ahead = made._look(pieces, under, Soundings(), OVER)
    assert (None if ahead is None else ahead.what) == found
    if ahead is not None:
        assert ahead.raise_m == 1.5, "as much deeper as the lure may be"


# -- ahead of a body -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("depth_m", "shoalest", "velocity", "turning", "may"),
    [
        (24.7, 25.0, (1.0, 0.0), False, True), (24.69, 25.0, (1.0, 0.0), False, False),
        (30.0, 25.0, None, False, False),
        (30.0, 25.0, (1.0, 0.0), True, False),
    ],
)  # fmt: skip
def test_a_bottom_as_shoal_as_the_body_within_two_minutes_is_looked_at_closely(
    depth_m: float, shoalest: float, velocity: Any, turning: bool, may: bool
) -> None:
    asked: list[tuple[float, float, float]] = []

    def shoalest_m(*given: float) -> float:
        asked.append(given)  # type: ignore[arg-type]
        return shoalest

    ground = Ground(velocity_m_s=velocity, turning=turning)
    soundings: Any = SimpleNamespace(shoalest_m=shoalest_m)
    assert ground._may_touch(soundings, OVER, (30.0, 3.0, depth_m)) is may
    if velocity is not None and not turning:
        assert asked == [(68.0, 53.0, 126.0)], "two minutes at a metre a second, and a step"
        ground.slope = SimpleNamespace(shoalest_m=24.0)  # type: ignore[assignment]
        assert ground._may_touch(soundings, OVER, (30.0, 3.0, 23.8))
        assert not ground._may_touch(soundings, OVER, (30.0, 3.0, 23.6))
    assert not ground._may_touch(soundings, OverGround(), (30.0, 3.0, 99.0))


@pytest.mark.parametrize(("speed", "count"), [(1.0, 20), (0.3, 6), (2.0, 40)])
def test_two_minutes_ahead_are_looked_at_every_six_metres(
    monkeypatch: pytest.MonkeyPatch, speed: float, count: int
) -> None:
    """This pass has sounded up to the antenna, which is 32 m ahead of the body."""
    asked: list[tuple[float, float, bool]] = []
    monkeypatch.setattr(Ground, "_bottom", lambda _s, _so, at, *, beyond: asked.append((*at, beyond)))
    ground = Ground(velocity_m_s=(0.0, speed))
    seen = list(ground._seen(Soundings(), OVER, (30.0, 3.0, 10.0)))
    assert [(t, along) for t, along, _ in seen] == [
        (pytest.approx(6.0 * k / speed), 6.0 * k) for k in range(1, count + 1)
    ]
    assert [(north, east) for north, east, _ in asked] == [(68.0, 53.0 + 6.0 * k) for k in range(1, count + 1)]
    assert [beyond for *_, beyond in asked] == [6.0 * k > 32.0 for k in range(1, count + 1)]
    ground.turning = True
    assert list(ground._seen(Soundings(), OVER, (30.0, 3.0, 10.0))) == []


def test_beyond_the_sounder_an_earlier_pass_comes_before_the_slope_and_that_before_a_chart() -> None:
    at = (200.0, 50.0)
    own = sounded((200.0, 50.0, 25.0))
    chart = Soundings(beyond=SimpleNamespace(at=lambda *_: (28.0, 1.5)))  # type: ignore[arg-type]
    none = Soundings()
    slope = SimpleNamespace(at=lambda *_: 24.0, t_s=5.0)
    flat = SimpleNamespace(at=lambda *_: None, t_s=5.0)
    for given, soundings, beyond, found in (
        (None, own, False, (25.0, False)), (slope, own, False, (25.0, False)), (None, none, False, None),
        (slope, none, False, None), (None, chart, False, (28.0, False)),
        (None, own, True, (25.0, False)), (flat, own, True, (25.0, False)),
        (slope, own, True, (24.0, True)),  # the very sounding that the slope was measured with
        (slope, none, True, (24.0, True)), (slope, chart, True, (24.0, True)), (flat, chart, True, (28.0, False)),
        (None, none, True, None), (None, chart, True, (28.0, False)),
    ):  # fmt: skip
        ground = Ground(slope=given)  # type: ignore[arg-type]
        assert ground._bottom(soundings, at, beyond=beyond) == found
    later = SimpleNamespace(at=lambda *_: 24.0, t_s=9.0)
    assert Ground(slope=later)._bottom(own, at, beyond=True) == (25.0, False), "sounded on another pass"  # type: ignore[arg-type]
    earlier: Any = SimpleNamespace(near=lambda *_: Sounding(5.0, 200.0, 50.0, 26.0, earlier=True))
    assert Ground(slope=slope)._bottom(earlier, at, beyond=True) == (26.0, False)  # type: ignore[arg-type]
