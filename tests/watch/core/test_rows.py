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


@pytest.mark.parametrize(
    ("since_s", "before", "later"),
    [(0.0, [], ["a", "b", "c", "d"]), (50.0, ["a"], ["b", "c", "d"]), (50.5, ["a", "c"], ["b", "d"])],
)
def test_begun_later_a_player_knows_what_the_crew_had_entered(
    monkeypatch: pytest.MonkeyPatch, since_s: float, before: list[str], later: list[str]
) -> None:
    """As a trip that is taken up: what was entered earlier is folded, and the rest comes at its own time."""
    from sternwatch.watch.core import player as module

    told: list[tuple[list[str], float]] = []
    acted: list[str] = []
    watch = SimpleNamespace(act=lambda action: acted.append(action.id))

    def made(_setup: object, _board: object, known: Any, since: float) -> Any:
        told.append(([one.id for one in known], since))
        return watch

    monkeypatch.setattr(module, "new_watch", made)
    lines = [SimpleNamespace(t_s=60.0)]
    recording: Any = SimpleNamespace(
        sources=(), written=None, lines=lambda: iter(lines), lines_from=lambda _: iter(lines)
    )
    acts: Any = [SimpleNamespace(id=name, elapsed_s=t) for name, t in (("a", 10.0), ("b", None), ("c", 50.0))]
    player = Player(recording, None, acts)  # type: ignore[arg-type]
    told.clear()
    acted.clear()
    player.rewind([SimpleNamespace(id="d", elapsed_s=90.0)], since_s)  # type: ignore[list-item]
    assert (told, acted) == ([(before, since_s)], later)
    assert (player.t_s, player.next_line_s) == (since_s, 60.0)
