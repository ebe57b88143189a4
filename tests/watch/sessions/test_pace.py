"""What a replay manages of its rate, told from made moments of a clock."""

from __future__ import annotations

import pytest

from sternwatch.watch.sessions.pace import Pace

RATE = 40.0  # a quarter of a second of it: 10 s of the feed


def played(*feed_s: float, rate: float = RATE, ahead_s: float = 5.0, each_s: float = 1.0) -> list[float | None]:
    """What it manages after every look, one a second; the way to go stays the same."""
    pace = Pace(100.0, feed_s[0])
    told = []
    for k, t_s in enumerate(feed_s[1:], start=1):
        pace.look(100.0 + k * each_s, t_s, t_s + ahead_s, rate, playing=True)
        told.append(pace.manages)
    return told


def test_it_is_told_after_three_seconds_and_again_three_seconds_later() -> None:
    feed_s = [7.0, 27.0, 47.0, 67.0, 77.0, 87.0, 97.0]
    assert played(*feed_s) == [None, None, 20.0, 20.0, 20.0, 10.0]


@pytest.mark.parametrize(("step_s", "manages"), [(31.9, pytest.approx(31.9)), (32.0, None), (45.0, None)])
def test_within_a_fifth_it_is_what_was_asked(step_s: float, manages: float | None) -> None:
    assert played(0.0, step_s, 2.0 * step_s, 3.0 * step_s)[-1] == manages


def test_at_less_than_a_second_a_second_it_is_told_too() -> None:
    assert played(0.0, 0.2, 0.4, 0.6, rate=1.0, ahead_s=0.2)[-1] == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("playing", "ahead_s", "told"), [(True, 20.0, True), (True, 20.5, False), (True, 0.5, True), (True, 0.0, False),
                                     (True, -3.0, False), (False, 5.0, False)],
)  # fmt: skip
def test_nothing_is_told_where_it_stands_waits_or_jumps(playing: bool, ahead_s: float, told: bool) -> None:
    pace = Pace(0.0, 0.0)
    pace.look(3.0, 30.0, 35.0, RATE, playing=True)
    assert pace.manages == 10.0
    pace.look(4.0, 40.0, 40.0 + ahead_s, RATE, playing=playing)
    assert pace.manages == (10.0 if told else None)
    pace.look(6.5, 65.0, 70.0, RATE, playing=True)
    assert pace.manages == (10.0 if told else None), "it is measured anew, from there"
    pace.look(7.0, 70.0, 75.0, RATE, playing=True)
    assert pace.manages is not None


def test_after_a_jump_back_the_way_back_does_not_count() -> None:
    pace = Pace(0.0, 500.0)
    pace.look(1.0, 500.0, 200.0, RATE, playing=True)
    pace.look(2.0, 210.0, 215.0, RATE, playing=True)
    pace.look(4.0, 230.0, 235.0, RATE, playing=True)
    assert pace.manages == 10.0
