"""A row for every second of a replay, and none in its holes: with a player made here."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.watch.core.player import Player, rows_of


class Steps:
    """Lines at some times; a picture of every whole second up to where it is played."""

    def __init__(self, *lines: float) -> None:
        self.lines, self.t_s, self.played = list(lines), 0.0, []  # type: ignore[var-annotated]

    @property
    def next_line_s(self) -> float | None:
        return next((line for line in self.lines if line > self.t_s), None)

    def to(self, t_s: float, each: Any = None) -> None:
        for second in range(int(self.t_s) + 1, int(t_s) + 1):
            if each is not None:
                each(SimpleNamespace(utc_s=1000.0 + second))
        self.played.append(t_s)
        self.t_s = t_s


@pytest.mark.parametrize(("again_s", "filled"), [(65.0, True), (65.1, False), (200.0, False)])
def test_a_hole_of_more_than_a_minute_has_no_rows(again_s: float, filled: bool) -> None:
    """Lines until 5 s, and again for two seconds."""
    player: Any = Steps(1.0, 2.0, 3.0, 4.0, 5.0, again_s, again_s + 1.0, again_s + 2.0)
    rows = [row["at"] for row in rows_of(player, lambda picture: {"at": picture.utc_s - 1000.0})]
    assert rows[:5] == [1.0, 2.0, 3.0, 4.0, 5.0]
    assert ({30.0, 50.0} <= set(rows)) is filled
    assert rows[-2:] == [int(again_s) + 1.0, int(again_s) + 2.0]


def test_a_replay_is_at_its_end_without_a_next_line() -> None:
    player = Player.__new__(Player)
    player._next = None
    assert player.ended
    assert player.next_line_s is None
    player._next = SimpleNamespace(t_s=5.0)  # type: ignore[assignment]
    assert not player.ended
    assert player.next_line_s == 5.0


def test_a_second_is_told_once_and_after_a_hole_times_begin_anew() -> None:
    """Another piece of a recording may have a clock of its own, behind the first one's."""

    class Playing:
        def __init__(self) -> None:
            self.t_s, self.told = (
                0.0,
                [(1.0, 100.0), (2.0, 101.0), (3.0, 101.0), (4.0, None), (5.0, 102.0), (90.0, 50.0)],
            )
            self.went: list[float] = []

        @property
        def next_line_s(self) -> float | None:
            return self.told[0][0] if self.told else None

        def to(self, t_s: float, each: Any = None) -> None:
            self.went.append(t_s)
            while self.told and self.told[0][0] <= t_s:
                at, utc = self.told.pop(0)
                if each is not None:
                    each(SimpleNamespace(t_s=at, utc_s=utc))
            self.t_s = t_s

    made: Any = Playing()
    rows = [row["t"] for row in rows_of(made, lambda picture: {"t": picture.t_s})]
    assert rows == [1.0, 2.0, 4.0, 5.0, 90.0]
    assert 5.0 < made.went[-2] < 90.0, "the hole is passed without a row"
