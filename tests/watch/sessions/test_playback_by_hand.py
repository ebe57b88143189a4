"""How a replay reaches a moment and keeps its pace: by a made player and a made clock, without a thread."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.logbook.actions.kinds import parse
from sternwatch.watch.picture.model import Session
from sternwatch.watch.sessions import playback as module
from sternwatch.watch.sessions.playback import Playback
from sternwatch.watch.sessions.runner import RATES


class Clock:
    def __init__(self) -> None:
        self.now_s = 50.0

    def monotonic(self) -> float:
        return self.now_s

    def sleep(self, seconds: float) -> None:
        self.now_s += seconds

    def time(self) -> float:
        return 5000.0 + self.now_s


class Player:
    """Plays a second in so many seconds of the clock."""

    def __init__(self, clock: Clock, costs_s: float = 0.0, t_s: float = 0.0) -> None:
        self.clock, self.costs_s, self.t_s = clock, costs_s, t_s
        self.did: list[Any] = []
        self.acted: list[Any] = []
        self.offset_s: float | None = None
        self.watch: Any = SimpleNamespace(
            board=SimpleNamespace(utc_offset=lambda _: self.offset_s), act=self.acted.append, t_s=None
        )

    ends_s = math.inf

    @property
    def ended(self) -> bool:
        return self.t_s >= self.ends_s

    def to(self, t_s: float) -> None:
        assert t_s <= self.t_s + 1.0, "a second at most, so that it can be stopped"
        self.clock.now_s += self.costs_s * (t_s - self.t_s)
        self.t_s = t_s

    def checkpoint(self, _file: Any) -> Any:
        return checkpoint(self.t_s)

    def restore(self, at: Any, added: Any = ()) -> None:
        self.did.append(("restored", at.t_s, len(list(added))))
        self.t_s = at.t_s

    def rewind(self, added: Any = (), since_s: float = 0.0) -> None:
        self.did.append(("rewound", since_s, len(list(added))))
        self.t_s = since_s


def checkpoint(t_s: float) -> Any:
    return SimpleNamespace(t_s=t_s)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    made = Clock()
    monkeypatch.setattr(module, "time", made)
    return made


def playback(span_s: float = 1000.0, **more: Any) -> Playback:
    log: Any = SimpleNamespace(close=lambda: None)
    made = Playback(more.pop("session", Session.REPLAY), None, None, [], log, "t", **more)  # type: ignore[arg-type]
    made._span_s = (0.0, span_s)
    return made


def entry(t_s: float | None, name: str = "a") -> Any:
    time = "2026-07-18T23:00:00Z"
    return parse({"id": name, "time": time, "elapsed_s": t_s, "kind": "bite"})


# -- what is asked of it ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("begin", "run_up", "from_s"), [(100.0, 60.0, 40.0), (30.0, 60.0, 0.0), (100.0, None, 0.0)])
def test_a_run_up_begins_before_its_beginning(begin: float, run_up: float | None, from_s: float) -> None:
    made = playback(begin_s=begin, run_up_s=run_up)
    assert made._taken_up_s == made.status().since_s == from_s
    assert (made._target_s, made._t_s, made._seek_s) == (begin, begin, begin)
    assert playback()._seek_s is None


@pytest.mark.parametrize(("asked", "kept"), [(0.1, 0.25), (0.25, 0.25), (3.0, 3.0), (200.0, 200.0), (900.0, 200.0)])
def test_a_rate_is_between_a_quarter_and_two_hundred(asked: float, kept: float) -> None:
    made = playback()
    made.set_rate(asked)
    assert made.status().rate == kept
    assert made._wanted.is_set()


def test_a_faster_rate_is_about_twice_as_fast() -> None:
    """So that no key press leaves the crew out of what they watch."""
    steps = [after / before for before, after in pairwise(RATES)]
    assert (min(steps), max(steps)) == (2.0, 2.5)
    assert 1.0 in RATES


def test_a_moment_is_sought_within_the_recording_and_steps_add_up() -> None:
    made = playback(1000.0)
    made._target_s = 500.0
    made.step(30.0)
    assert made._seek_s == 530.0
    made.step(-40.0)
    assert made._seek_s == 490.0
    made.seek(-5.0)
    assert made._seek_s == 0.0
    made.step(2000.0)
    assert made._seek_s == 1000.0


def test_what_it_manages_is_told_while_it_plays() -> None:
    made = playback()
    made._manages = 12.0
    assert (made.status().playing, made.status().manages) == (True, 12.0)
    made.play(False)
    assert (made.status().playing, made.status().manages) == (False, None)
    assert made.replay is made
    live = Playback(Session.LIVE, None, None, [], SimpleNamespace(), "t")  # type: ignore[arg-type]
    assert live.replay is None


@pytest.mark.parametrize(("offset", "unix"), [(None, 5050.0), (1000.0, 1007.0), (0.0, 7.0)])
def test_an_entry_has_the_feeds_time_and_the_clocks_where_the_feed_has_one(
    clock: Clock, offset: float | None, unix: float
) -> None:
    assert clock.now_s == 50.0
    made, told = playback(), []  # type: ignore[var-annotated]
    made._acts = SimpleNamespace(submit=lambda *given: told.append(given))  # type: ignore[assignment]
    made._t_s, made._offset_s = 7.0, offset
    made.submit("hit", "3", note="x")
    assert told == [("hit", "3", {"note": "x"}, 7.0, unix)]


# -- to a moment -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("at_s", "target_s", "did", "reached"),
    [
        (100.0, 105.0, [], 105.0), (100.0, 100.0, [], 100.0),
        (100.0, 130.0, [], 130.0),  # a checkpoint at 120 is nearer, but no minute ahead
        (100.0, 199.0, [("restored", 180.0, 1)], 199.0),
        (100.0, 99.0, [("restored", 60.0, 1)], 99.0), (100.0, 60.0, [("restored", 60.0, 1)], 60.0),
        (100.0, 59.0, [("rewound", 0.0, 1)], 59.0),
    ],
)  # fmt: skip
def test_the_nearest_checkpoint_before_a_moment_is_taken_where_that_is_shorter(
    clock: Clock, at_s: float, target_s: float, did: list[Any], reached: float
) -> None:
    made = playback()
    made._checkpoints = [checkpoint(60.0), checkpoint(120.0), checkpoint(180.0)]
    made._own, made._reached_s = [entry(5.0)], 1000.0
    player: Any = Player(clock, t_s=at_s)
    made._reach(player, target_s)
    assert player.did == did
    assert player.t_s == reached


@pytest.mark.parametrize(
    ("checkpoint_s", "restores"), [(160.0, False), (160.1, True)]
)  # fmt: skip
def test_more_than_a_minute_ahead_a_checkpoint_saves_the_way(
    clock: Clock, checkpoint_s: float, restores: bool
) -> None:
    made = playback()
    made._checkpoints = [checkpoint(checkpoint_s)]
    player: Any = Player(clock, t_s=100.0)
    made._reach(player, 170.0)
    assert bool(player.did) is restores


def test_one_slice_of_work_at_a_time(clock: Clock) -> None:
    """Four hundredths of a second: at ten milliseconds a second that is four seconds, and the one begun."""
    made = playback()
    player: Any = Player(clock, 0.0101)
    made._reach(player, 100.0)
    assert player.t_s == 4.0
    made._reach(player, 6.5)
    assert player.t_s == 6.5
    made._stop.set()
    made._reach(player, 100.0)
    assert player.t_s == 6.5


@pytest.mark.parametrize(
    ("target_s", "read_s", "did", "exact"),
    [
        (260.0, 0.0, [("rewound", 200.0, 0)], False),  # a minute of lines towed is enough
        (259.0, 0.0, [("rewound", 0.0, 0)], True), (290.0, 290.0, [("restored", 240.0, 0)], True),
        (290.0, 289.0, [("rewound", 200.0, 0)], False), (310.0, 0.0, [], False),
        (310.0, 310.0, [("restored", 240.0, 0)], True),
    ],
)  # fmt: skip
def test_after_a_run_up_pictures_become_exact_where_the_whole_was_read(
    clock: Clock, target_s: float, read_s: float, did: list[Any], exact: bool
) -> None:
    made = playback(begin_s=300.0, run_up_s=100.0)
    made._reached_s = read_s
    made._checkpoints = [checkpoint(240.0)] if read_s else []
    player: Any = Player(clock, t_s=300.0)
    made._reach(player, target_s)
    assert player.did == did
    assert player.t_s == target_s
    assert (made._taken_up_s == 0.0) is exact


def test_a_run_up_from_half_a_second_on_becomes_exact_too(clock: Clock) -> None:
    made = playback(begin_s=100.5, run_up_s=100.0)
    made._checkpoints, made._reached_s = [checkpoint(60.0)], 300.0
    player: Any = Player(clock, t_s=100.5)
    made._reach(player, 110.0)
    assert player.did == [("restored", 60.0, 0)]
    assert made._taken_up_s == 0.0


def test_a_new_entry_makes_what_was_read_after_it_void(clock: Clock) -> None:
    made = playback()
    made._checkpoints = [checkpoint(60.0), checkpoint(120.0), checkpoint(180.0)]
    made._reached_s = 200.0
    player: Any = Player(clock, t_s=200.0)
    acknowledged: list[str] = []
    made._lookout = SimpleNamespace(acknowledge=acknowledged.append)  # type: ignore[assignment]
    saved = [SimpleNamespace(action=entry(120.0)), SimpleNamespace(action=entry(150.0))]
    made._acts = SimpleNamespace(take=lambda: [saved.pop(0)] if saved else [])  # type: ignore[assignment]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "accepted", lambda stored: stored.action)
        assert made._take_saved(player) is True
        assert [one.t_s for one in made._checkpoints] == [60.0], "the step at 120 s takes what was entered then"
        assert (made._reached_s, made._entered_s, made._pass_from.is_set()) == (120.0, 50.0, True)
        assert made._take_saved(player) is True
        assert made._take_saved(player) is False
    assert len(made._own) == len(player.acted) == 1, "the same entry again is none"
    assert acknowledged == []
    assert made._reached_s == 120.0
    saved += [SimpleNamespace(action=parse({"id": "b", "time": "2026-07-18T23:00:00Z", "elapsed_s": 160.0,
                                            "kind": "acknowledge", "alert": "depth:3"}))]  # fmt: skip
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "accepted", lambda stored: stored.action)
        made._take_saved(player)
        assert acknowledged == ["depth:3"]
        made._lookout = None
        saved += [SimpleNamespace(action=parse({"id": "c", "time": "2026-07-18T23:00:00Z", "elapsed_s": 170.0,
                                                "kind": "acknowledge", "alert": "depth:4"}))]  # fmt: skip
        made._take_saved(player)
    assert [action.id for action in player.acted] == ["a", "b", "c"]
    made._forget_after(500.0)
    assert made._reached_s == 120.0


def test_where_the_file_of_moments_is_lost_it_plays_from_the_beginning(clock: Clock) -> None:
    made, player = playback(), Player(clock, t_s=200.0)
    made._checkpoints, made._own = [checkpoint(60.0), checkpoint(120.0)], [entry(5.0)]

    def fail(*_: Any) -> None:
        raise OSError("gone")

    player.restore = fail  # type: ignore[method-assign]
    made._reach(player, 130.0)  # type: ignore[arg-type]
    assert (player.did, player.t_s, made._checkpoints) == ([("rewound", 0.0, 1)], 130.0, [])


def test_an_entry_without_a_feed_time_makes_all_void(clock: Clock) -> None:
    made = playback()
    made._checkpoints, made._reached_s = [checkpoint(0.5), checkpoint(60.0)], 200.0
    made._acts = SimpleNamespace(take=lambda: [SimpleNamespace()])  # type: ignore[assignment]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "accepted", lambda _: entry(None))
        made._take_saved(Player(clock))  # type: ignore[arg-type]
    assert (made._checkpoints, made._reached_s) == ([], 0.0)


def test_a_checkpoint_is_left_every_minute(clock: Clock) -> None:
    made, player = playback(), Player(clock)
    marker: Any = SimpleNamespace(look=lambda _: None)
    due = 60.0
    for _ in range(130):
        due = made._read_on(player, marker, due)  # type: ignore[arg-type]
    assert (player.t_s, due) == (130.0, 180.0)
    assert [one.t_s for one in made._checkpoints] == [60.0, 120.0]
    made._read_on(player, marker, due, 130.5)  # type: ignore[arg-type]
    assert player.t_s == 130.5
    made._pass_from.set()
    assert made._read_on(player, marker, 131.0) == 191.0  # type: ignore[arg-type]
    assert len(made._checkpoints) == 2, "what was read before an entry is of no use"


def test_it_is_outdated_by_an_entry_and_at_the_end() -> None:
    made = playback()
    made._actions, made._own = [entry(1.0)], [entry(2.0)]
    assert not made._outdated((entry(1.0), entry(2.0)))
    assert made._outdated((entry(1.0),))
    made._stop.set()
    assert made._outdated((entry(1.0), entry(2.0)))


# -- its pace --------------------------------------------------------------------------------------------------------


class Session_:  # noqa: N801 - one whole run of it
    """A run of the playback on this thread: it ends after so many seconds of the clock."""

    def __init__(
        self,
        patch: pytest.MonkeyPatch,
        clock: Clock,
        player: Player,
        ends_s: float,
        each: Callable[[Playback], None],
        **more: Any,
    ) -> None:
        span_s, start_utc = more.pop("span_s", 1000.0), more.pop("start_utc", None)
        self.made = made = playback(begin_s=0.0, **more)
        self.shown: list[float] = []
        begun_s = clock.now_s
        recording = SimpleNamespace(span_s=span_s, timing="", notes=(), splices=(), start_utc=start_utc)
        made._open_feed, made._make_setup = lambda: recording, lambda: SimpleNamespace()  # type: ignore
        made._player = lambda *_: player  # type: ignore[method-assign,assignment,return-value]
        self.passed: list[float] = []
        lookout = SimpleNamespace(outlook=None, pass_over=lambda _: self.passed.append(player.t_s))

        def accompany(*_: Any, calm_every_s: float) -> Any:
            self.calm_every_s = calm_every_s
            return lookout

        made._accompany = accompany  # type: ignore[method-assign]
        made._wind = lambda *_: None  # type: ignore[method-assign]
        made._look_ahead = lambda _: self.looked.append(player.t_s) is None and False  # type: ignore[method-assign]
        made._show = lambda p: self.shown.append(p.t_s)  # type: ignore[method-assign]
        made._acts = SimpleNamespace(take=list)  # type: ignore[assignment]
        self.looked: list[float] = []
        self.managed: list[tuple[float, float | None]] = []
        patch.setattr(module.prepare, "prepare", lambda: None)
        self.threads: list[str] = []

        def thread(*, name: str, daemon: bool, **_: Any) -> Any:
            assert daemon, "no thread keeps the program from its end"
            return SimpleNamespace(start=lambda: self.threads.append(name))

        patch.setattr(module.threading, "Thread", thread)

        def wait(seconds: float) -> None:
            clock.now_s += seconds
            self.look(each, clock.now_s - begun_s, ends_s)

        made._wanted = SimpleNamespace(wait=wait, clear=lambda: None, set=lambda: None)  # type: ignore[assignment]
        reach = made._reach

        def reached(player: Any, target_s: float) -> None:
            reach(player, target_s)
            player.watch.t_s = math.floor(player.t_s)
            self.look(each, clock.now_s - begun_s, ends_s)

        made._reach = reached  # type: ignore[method-assign]
        made._run()

    def look(self, each: Callable[[Playback], None], now_s: float, ends_s: float) -> None:
        each(self.made)
        self.managed.append((now_s, self.made._manages))
        if now_s >= ends_s:
            self.made._stop.set()


@pytest.fixture
def run(clock: Clock) -> Iterator[Callable[..., Session_]]:
    with pytest.MonkeyPatch.context() as patch:

        def make(
            ends_s: float, costs_s: float = 0.0, each: Callable[[Playback], None] = lambda _: None,
            player: Player | None = None, **more: Any,
        ) -> Session_:  # fmt: skip
            return Session_(patch, clock, player or Player(clock, costs_s), ends_s, each, **more)

        yield make


@pytest.mark.parametrize("rate", [0.5, 1.0, 10.0])
def test_it_plays_so_many_seconds_a_second(run: Callable[..., Session_], rate: float) -> None:
    session = run(20.0, each=lambda made: made.set_rate(rate))
    assert session.made._target_s == pytest.approx(20.0 * rate, abs=0.06 * max(rate, 1.0) + 0.05)
    assert session.made.status().manages is None
    assert session.shown == sorted(set(session.shown)), "every step once"
    assert len(session.shown) == pytest.approx(min(20.0 * rate, 400.0), abs=2.0)


def test_what_is_too_fast_for_the_computer_is_told_and_never_owed(run: Callable[..., Session_], clock: Clock) -> None:
    """A second takes a twentieth, and 50 x is asked for: it manages 20, and the way to go stays short."""
    ahead: list[float] = []

    def each(made: Playback) -> None:
        made.set_rate(50.0)
        ahead.append(made._target_s - made._t_s)

    session = run(20.0, 0.05, each)
    assert session.made.status().manages == pytest.approx(20.0, rel=0.1)
    assert max(ahead) < 60.0
    begun_s = clock.now_s
    calmed = run(20.0, 0.05, lambda made: made.set_rate(50.0 if clock.now_s < begun_s + 10.0 else 1.0))
    assert calmed.made._target_s == pytest.approx(200.0 + 25.0 + 10.0, abs=15.0), "nothing is owed afterwards"
    assert calmed.made._target_s - calmed.made._t_s < 1.0
    quick = run(20.0, 0.015, lambda made: made.set_rate(50.0))
    assert quick.made.status().manages is None, "within a fifth it is what was asked"


def test_it_looks_ahead_from_what_it_plays_and_passes_over_what_a_jump_goes_through(
    run: Callable[..., Session_],
) -> None:
    played = run(10.0)
    assert played.passed == []
    assert played.looked[-1] == pytest.approx(10.0, abs=0.2)

    def each(made: Playback) -> None:
        if made._t_s < 5.0:
            made.seek(400.0)

    jumped = run(10.0, 0.01, each)
    assert jumped.passed[-1] == pytest.approx(400.0, abs=8.0)
    assert jumped.looked[-1] >= 400.0
    assert not set(jumped.passed) & set(jumped.looked)


def test_only_a_recording_is_looked_ahead_from_seldom_in_the_calm_and_foretold_where_that_is_kept(
    run: Callable[..., Session_],
) -> None:
    from sternwatch.watch.outlook.lookout import CALM_EVERY_S

    plain, kept = run(1.0), run(1.0, foretold=SimpleNamespace())
    assert plain.threads == ["background pass"]
    assert kept.threads == ["background pass", "foretelling"]
    assert plain.calm_every_s == CALM_EVERY_S
    demo = run(1.0, session=Session.DEMO)
    assert demo.calm_every_s == 0.0


@pytest.mark.parametrize(("span_s", "every_s"), [(1000.0, 60.0), (12_000.0, 60.0), (36_000.0, 180.0)])
def test_a_recording_has_two_hundred_checkpoints_at_most(
    run: Callable[..., Session_], span_s: float, every_s: float
) -> None:
    assert run(1.0, span_s=span_s).made._every_s == every_s


@pytest.mark.parametrize("start_utc", [None, 4000.0])
def test_until_the_feed_tells_a_time_the_recordings_own_beginning_counts(
    run: Callable[..., Session_], start_utc: float | None
) -> None:
    assert run(1.0, start_utc=start_utc).made._offset_s == start_utc


def test_a_player_has_the_entries_of_the_crew_or_those_that_it_is_given(monkeypatch: pytest.MonkeyPatch) -> None:
    from sternwatch.watch.core import player as core

    monkeypatch.setattr(core, "Player", lambda _recording, _setup, actions, *, unchecked: (actions, unchecked))
    made = playback(unchecked=True)
    made._actions = [entry(1.0)]
    one: Any = made._player(None, None)  # type: ignore[arg-type]
    other: Any = made._player(None, None, [])  # type: ignore[arg-type]
    assert one == (made._actions, True)
    assert other == ([], True)


def test_it_plays_on_a_thread_that_keeps_nothing_from_its_end(monkeypatch: pytest.MonkeyPatch) -> None:
    begun: list[tuple[str, bool]] = []

    def thread(*, name: str, daemon: bool, **_: Any) -> Any:
        return SimpleNamespace(start=lambda: begun.append((name, daemon)))

    monkeypatch.setattr(module.threading, "Thread", thread)
    playback().start(lambda _: None, lambda _: None)
    assert begun == [("playback", True)]


def test_the_feeds_clock_is_the_one_heard_last(run: Callable[..., Session_], clock: Clock) -> None:
    player, known = Player(clock), []

    def each(made: Playback) -> None:
        known.append(made._offset_s)
        player.offset_s = 1000.0 if 2.0 <= made._t_s < 4.0 else 2000.0 if 4.0 <= made._t_s < 6.0 else None

    run(8.0, each=each, player=player)
    assert list(dict.fromkeys(known)) == [None, 1000.0, 2000.0]
    assert known[-1] == 2000.0, "where nothing is heard any more, the last one counts"


# -- to its beginning, and through the whole -------------------------------------------------------------------------


class Flag:
    """An event whose waits are the clock's, and told."""

    def __init__(self, clock: Clock, each: Callable[[], None] = lambda: None) -> None:
        self.clock, self.each, self.is_on, self.waits = clock, each, False, []  # type: ignore[var-annotated]

    def is_set(self) -> bool:
        return self.is_on

    def set(self) -> None:
        self.is_on = True

    def clear(self) -> None:
        self.is_on = False

    def wait(self, seconds: float) -> bool:
        self.waits.append(seconds)
        self.clock.now_s += seconds
        self.each()
        return self.is_on


def marker_of(*marks: Any) -> Any:
    made = SimpleNamespace(look=lambda _: None, marks=list(marks))
    made.until = lambda t_s: marker_of(*(mark for mark in made.marks if mark.t_s <= t_s))
    return made


@pytest.mark.parametrize("run_up_s", [None, 60.0])
def test_on_the_way_to_its_beginning_it_shows_a_picture_a_second(clock: Clock, run_up_s: float | None) -> None:
    """A second of the feed takes an eighth; what is read from the first on need not be read again."""
    made = playback(begin_s=205.0, run_up_s=run_up_s)
    made._acts = SimpleNamespace(take=list)  # type: ignore[assignment]
    shown: list[tuple[float, float]] = []
    made._show = lambda one: shown.append((one.t_s, clock.now_s))  # type: ignore[method-assign]
    player = Player(clock, 0.125, 0.0 if run_up_s is None else 145.0)
    player.watch.t_s, player.offset_s = 0.0, 1000.0
    made._wind(player, marker_of())  # type: ignore[arg-type]
    assert (player.t_s, made._t_s, made._offset_s) == (205.0, 205.0, 1000.0)
    assert [b[1] - a[1] for a, b in pairwise(shown)][:-1] == [1.0] * (len(shown) - 2)
    assert len(shown) == (26 if run_up_s is None else 8)
    assert made._reached_s == (205.0 if run_up_s is None else 0.0)
    assert [one.t_s for one in made._checkpoints] == ([60.0, 120.0, 180.0] if run_up_s is None else [])


def test_on_the_way_to_its_beginning_a_stop_and_a_new_entry_end_it(clock: Clock) -> None:
    made = playback(begin_s=205.0)
    made._acts = SimpleNamespace(take=list)  # type: ignore[assignment]
    made._show = lambda _: made._stop.set()  # type: ignore[method-assign]
    player = Player(clock, 0.1)
    player.watch.t_s, made._offset_s = 0.0, 500.0
    made._wind(player, marker_of())  # type: ignore[arg-type]
    assert 9.0 <= player.t_s <= 11.0
    assert made._offset_s == 500.0, "where the feed tells no time, the one known before counts"
    made._stop.clear()
    made._pass_from.set()
    made._wind(player, marker_of())  # type: ignore[arg-type]
    assert player.t_s <= 11.0


class Pass:
    """The pass through the whole on this thread; a second of the feed takes about a millisecond of the clock."""

    def __init__(self, clock: Clock, ends_s: float = 400.0, marker: Any = None, *checkpoints_s: float) -> None:
        self.made = made = playback(ends_s)
        made._checkpoints = [checkpoint(t_s) for t_s in checkpoints_s]
        self.clock, self.player = clock, Player(clock, 1 / 1024)
        self.player.ends_s = ends_s
        self.marker = marker or marker_of()
        made._player = lambda *_: self.player  # type: ignore[method-assign,assignment,return-value]
        self.marked: list[Any] = []
        made._mark = self.marked.append  # type: ignore[method-assign]
        made._stop = Flag(clock, self._look)  # type: ignore[assignment]
        made._pass_from = Flag(clock, self._look)  # type: ignore[assignment]
        self.read: list[tuple[float, float]] = []  # the clock, and how far it has read
        self.at: dict[float, Callable[[], None]] = {}

    def _look(self) -> None:
        self.read.append((self.clock.now_s, self.made._reached_s))
        for t_s in [t_s for t_s in self.at if t_s <= self.clock.now_s]:
            self.at.pop(t_s)()
        if self.clock.now_s > 200.0:
            self.made._stop.set()

    def run(self, patch: pytest.MonkeyPatch) -> None:
        def sleep(seconds: float) -> None:
            self.clock.now_s += seconds
            self._look()

        patch.setattr(self.clock, "sleep", sleep)
        self.made._pass(None, None, self.marker)  # type: ignore[arg-type]


def test_the_pass_reads_the_whole_in_slices_and_rests_between_them(
    clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = Pass(clock)
    one.run(monkeypatch)
    assert one.player.t_s == 400.0, "nothing lies beyond the end"
    assert one.player.did == []
    slices = [21.0, 42.0, 63.0]  # a fiftieth of a second each
    assert [read for _, read in one.read[:3]] == slices
    assert [now - 50.0 for now, _ in one.read[:3]] == [pytest.approx(n * 0.1 + n * 21 / 1024) for n in (1, 2, 3)]
    assert one.made._reached_s == 400.0
    assert [one.t_s for one in one.made._checkpoints] == [60.0, 120.0, 180.0, 240.0, 300.0, 360.0]
    assert set(one.made._pass_from.waits) == {0.5}  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("marks_s", "checkpoints_s", "did"),
    [([], [60.0, 120.0], [("restored", 120.0, 0)]), ([7.0], [], [("rewound", 0.0, 0)]), ([], [], [])],
)
def test_the_pass_goes_on_from_what_was_read_on_the_way_to_its_beginning(
    clock: Clock, monkeypatch: pytest.MonkeyPatch, marks_s: list[float], checkpoints_s: list[float], did: list[Any]
) -> None:
    marks = [SimpleNamespace(t_s=t_s) for t_s in marks_s]
    one = Pass(clock, 400.0, marker_of(*marks), *checkpoints_s)
    one.run(monkeypatch)
    assert one.player.did == did
    assert [found.t_s for found in one.made._checkpoints] == [60.0, 120.0, 180.0, 240.0, 300.0, 360.0]


def test_after_new_entries_the_pass_waits_a_second_and_goes_back_once(
    clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = Pass(clock)

    def enter(name: str) -> None:
        one.made._own.append(entry(130.0, name))
        one.made._forget_after(130.0)

    one.at = {
        59.0: lambda: one.marked[-1].marks.extend(SimpleNamespace(t_s=t_s) for t_s in (110.0, 150.0)),
        60.0: lambda: enter("a"), 60.5: lambda: enter("b"),
    }  # fmt: skip
    one.run(monkeypatch)
    assert one.player.did == [("restored", 120.0, 2)]
    gone_back_s = [now for now, read in one.read if read == 130.0]
    assert gone_back_s[-1] - 60.5 == pytest.approx(1.0, abs=0.35)
    assert one.made._reached_s == one.player.t_s == 400.0
    assert [mark.t_s for mark in one.marked[-1].marks] == [110.0], "later ones are found again"
    assert [found.t_s for found in one.made._checkpoints] == [60.0, 120.0, 180.0, 240.0, 300.0, 360.0]


def test_what_an_entry_makes_void_meanwhile_does_not_count_as_read(
    clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = Pass(clock)
    one.made._mark = lambda _: one.made._forget_after(5.0) if one.player.t_s > 50.0 else None  # type: ignore
    one.at = {52.0: one.made._stop.set}
    one.run(monkeypatch)
    assert one.made._reached_s == 5.0


def test_a_halt_of_the_computer_is_not_caught_up(run: Callable[..., Session_], clock: Clock) -> None:
    halts = iter([0.0] * 40 + [30.0] + [0.0] * 10_000)

    def each(_: Playback) -> None:
        clock.now_s += next(halts)

    session = run(40.0, each=each)
    assert session.made._target_s == pytest.approx(11.0, abs=0.3), "a second of the thirty"


def test_at_the_end_it_stops_and_a_jump_there_stops_too(run: Callable[..., Session_]) -> None:
    def each(made: Playback) -> None:
        if made._t_s < 5.0:
            made.seek(998.0)

    session = run(10.0, each=each)
    assert session.made._t_s == 1000.0
    assert not session.made.status().playing


def test_while_it_stands_nothing_moves_and_a_jump_is_played_at_once(run: Callable[..., Session_]) -> None:
    asked = iter([None] * 30 + [400.0] + [None] * 100_000)

    def each(made: Playback) -> None:
        made.play(False)
        if (to := next(asked)) is not None:
            made.seek(to)

    session = run(10.0, each=each)
    assert session.made._t_s == 400.0
    assert session.shown[-1] == 400.0
    assert session.shown[0] == pytest.approx(0.0, abs=0.1), "what stands at the beginning is shown"
    assert session.made.status().manages is None
