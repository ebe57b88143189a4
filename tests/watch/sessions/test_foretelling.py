"""The last pass over a recording: what is found, when it is kept, and how it stands on the timeline."""

from __future__ import annotations

from collections.abc import Sequence
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.logbook.store.trips import Event
from sternwatch.watch.outlook import afterwards
from sternwatch.watch.sessions import foretelling as module
from sternwatch.watch.sessions.foretelling import Foretelling, Way, foretell
from sternwatch.watch.sessions.outlook_marks import SAME_S, Foreseen


def event(t_s: float, state: str = "active", keys: tuple[str, ...] = ("1", "2"), text: str = "touch") -> Event:
    return Event(f"ahead {t_s}", t_s, "crossing", "warning", state, keys, text)


A_HIT = SimpleNamespace(elapsed_s=4.0)


class Playing:
    """A recording of some seconds."""

    def __init__(self, span_s: float) -> None:
        self.t_s, self.recording = 0.0, SimpleNamespace(span_s=span_s)
        self.watch = SimpleNamespace(spread=None)

    @property
    def ended(self) -> bool:
        return self.t_s >= self.recording.span_s

    def to(self, t_s: float) -> None:
        self.t_s = t_s
        self.watch.now_s = t_s


@pytest.fixture(autouse=True)
def looks(monkeypatch: pytest.MonkeyPatch) -> None:
    """A look at every tenth second finds something."""

    class Looking:
        def __init__(self, *_: object) -> None: ...

        def look(self, watch: Any) -> list[Event]:
            return [event(watch.now_s)] if watch.now_s % 10.0 == 0.0 else []

    monkeypatch.setattr(afterwards, "Afterwards", Looking)


def player(span_s: float = 35.0) -> Any:
    return Playing(span_s)


def test_it_goes_through_the_whole_recording_and_rests_as_long_as_it_works(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = iter(x * 0.03 for x in range(1000))
    monkeypatch.setattr(module.time, "perf_counter", lambda: next(clock))
    told: list[Event] = []
    rests: list[float] = []
    found = foretell(player(), Way(), None, lambda: False, told.extend, rests.append)  # type: ignore[arg-type]
    assert found == told == [event(10.0), event(20.0), event(30.0)]
    assert rests
    assert all(rest == pytest.approx(0.06) for rest in rests)


def test_where_the_file_of_moments_is_lost_it_begins_anew() -> None:
    def fail(*_: object) -> None:
        raise OSError("gone")

    on, way = player(), Way()
    whole = foretell(player(), way, None, lambda: False, lambda _: None, lambda _: None)  # type: ignore[arg-type]
    way._left = [SimpleNamespace(at=None, entries=0, events=(event(3.0),))]  # type: ignore[list-item]
    on.restore = fail
    assert foretell(on, way, None, lambda: False, lambda _: None, lambda _: None) == whole  # type: ignore[arg-type]
    assert whole


def test_it_stops_at_once_and_tells_then_of_no_whole() -> None:
    on, seen = player(), []  # type: ignore[var-annotated]
    assert foretell(on, Way(), None, lambda: on.t_s >= 12.0, seen.extend, lambda _: None) is None  # type: ignore[arg-type]
    assert seen == [event(10.0)]


class Kept:
    def __init__(self, events: Sequence[Event] | None = None) -> None:
        self.events, self.loaded = events, 0
        self.stored: list[tuple[Sequence[Any], Sequence[Event]]] = []

    def load(self, actions: Sequence[Any]) -> list[Event] | None:
        del actions
        self.loaded += 1
        return None if self.events is None else list(self.events)

    def keep(self, actions: Sequence[Any], events: Sequence[Event]) -> None:
        self.stored.append((actions, events))


def look(one: Foretelling, acted: tuple[Any, ...], *, ready: bool = True, ended: bool = False) -> None:
    one.look(acted, player, None, ready=ready, ended=lambda: ended)  # type: ignore[arg-type]


def test_what_is_kept_is_there_at_once() -> None:
    kept, foreseen = Kept([event(7.0), event(9.0, "gone")]), Foreseen()
    one = Foretelling(kept, foreseen)
    look(one, (), ready=False)
    assert [mark.t_s for mark in foreseen.marks] == [7.0]
    assert foreseen.whole
    look(one, ())
    assert (kept.loaded, kept.stored) == (1, [])


def test_what_is_not_kept_is_made_once_all_depths_are_known_and_again_after_an_entry(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "WORK_S", 1e9)
    kept, foreseen = Kept(), Foreseen()
    one = Foretelling(kept, foreseen)
    look(one, (), ready=False)
    look(one, (), ready=False)
    assert (kept.loaded, foreseen.marks, foreseen.whole) == (1, (), False)
    look(one, (), ended=True)
    assert not foreseen.whole
    look(one, ())
    assert kept.stored == [((), [event(10.0), event(20.0), event(30.0)])]
    assert (kept.loaded, foreseen.whole) == (1, True)
    look(one, ())
    assert len(kept.stored) == 1
    look(one, (A_HIT,), ready=False)
    assert (kept.loaded, foreseen.whole) == (2, False)
    look(one, (A_HIT,))
    assert kept.stored[1][0] == (A_HIT,)


def test_marks_of_parts_and_of_the_whole() -> None:
    foreseen = Foreseen()
    foreseen.take([event(10.0), event(12.0, "gone"), event(10.0 + SAME_S), event(30.0, keys=("3", "4"))])
    assert [(mark.t_s, mark.kind, mark.label) for mark in foreseen.marks] == [
        (10.0, "alert", "touch"), (30.0, "alert", "touch")
    ]  # fmt: skip
    foreseen.take_whole([event(50.0)])
    foreseen.take([event(500.0)])
    assert [mark.t_s for mark in foreseen.marks] == [50.0]
    foreseen.drop_whole()
    foreseen.take([event(500.0)])
    assert [mark.t_s for mark in foreseen.marks] == [50.0, 500.0]


@pytest.mark.parametrize(
    ("span_s", "left"), [(600.0, [60.0, 120.0, 180.0]), (2400.0, [60.0, 120.0, 180.0]), (3600.0, [90.0, 180.0])]
)
def test_moments_are_left_a_minute_apart_and_farther_in_a_long_recording(
    monkeypatch: pytest.MonkeyPatch, span_s: float, left: list[float]
) -> None:
    """Forty of them at most."""
    from sternwatch.watch.core import moments_file

    monkeypatch.setattr(moments_file, "MomentsFile", lambda: "file")
    way, on = Way(), player(span_s)
    on.checkpoint = lambda file: SimpleNamespace(t_s=on.t_s, file=file)
    looking: Any = SimpleNamespace(copy=lambda: "as it looked")
    for t_s in range(0, 200, 10):
        on.to(float(t_s))
        way.leave(on, looking, [event(3.0)])
    assert [one.at.t_s for one in way._left] == left
    assert all((one.looking, one.events, one.at.file) == ("as it looked", (event(3.0),), "file") for one in way._left)
