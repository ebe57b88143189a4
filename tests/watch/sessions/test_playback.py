"""The replay on the screen: any moment, forwards and back, with the pictures of straight play."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from recordings import CORPUS, SEA, file_of
from sternwatch.feed.recording.reader import open_recording
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import Action, Hit, load_actions
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.watch.core.player import Player
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Picture, Session
from sternwatch.watch.sessions import pace
from sternwatch.watch.sessions import playback as module
from sternwatch.watch.sessions.playback import Playback
from sternwatch.watch.sessions.runner import Saved

DEMO = Path(__file__).parents[3] / "demo_logs"
LINES = 2000  # of the evening: the rods go out
FEW = 2  # members: it is the same code, and quicker
RODS = ("3", "6")


@pytest.fixture(scope="module")
def spread() -> Spread:
    """The evening's, with its low divers alone."""
    head, *rods = (DEMO / "evening.toml").read_text(encoding="utf-8").split("[[rod]]")
    kept = [rod for rod in rods if any(f'key = "{key}"' in rod for key in RODS)]
    return parse_spread("[[rod]]".join([head, *kept]))


@pytest.fixture(scope="module")
def evening_actions() -> list[Action]:
    acts = load_actions(DEMO / "evening.actions.jsonl")
    others = {act.id for act in acts if getattr(act, "rod", RODS[0]) not in RODS}
    return [act for act in acts if act.id not in others and getattr(act, "of", None) not in others]


class Shown:
    """What a screen would have been told."""

    def __init__(self, runner: Playback) -> None:
        self.runner = runner
        self.pictures: list[Picture] = []
        self.saved: list[Saved] = []
        self.news = threading.Condition()
        runner.start(self._picture, self._saved)

    def _picture(self, picture: Picture) -> None:
        with self.news:
            self.pictures.append(picture)
            self.news.notify_all()

    def _saved(self, saved: Saved) -> None:
        with self.news:
            self.saved.append(saved)
            self.news.notify_all()

    def wait(self, what: Callable[[], Any], seconds: float = 60.0) -> None:
        with self.news:
            if not self.news.wait_for(what, timeout=seconds):
                raise AssertionError(f"waited {seconds} s in vain; busy: {self.runner.busy!r}")


@pytest.fixture
def feed(tmp_path: Path) -> Path:
    cut = tmp_path / "evening.nmea"
    with (DEMO / "evening.nmea").open("rb") as whole:
        cut.write_bytes(b"".join(islice(whole, LINES)))
    return cut


@pytest.fixture
def shown(
    feed: Path, spread: Spread, evening_actions: list[Action], monkeypatch: pytest.MonkeyPatch
) -> Iterator[Shown]:
    monkeypatch.setattr(module, "CHECKPOINT_EVERY_S", 20.0)
    monkeypatch.setattr(module, "PASS_REST_S", 0.0)  # nobody else wants the processor
    monkeypatch.setattr(module.prepare, "prepare", lambda: None)
    logbook = Logbook(None)
    from sternwatch.logbook.store.trips import Trip

    logbook.begin_trip(Trip("t", datetime.now(UTC)))
    runner = Playback(
        Session.REPLAY,
        lambda: open_recording(feed),
        lambda: Setup(spread, Session.REPLAY, members=FEW),
        evening_actions,
        logbook,
        "t",
    )
    runner.play(False)
    made = Shown(runner)
    made.wait(lambda: made.pictures)
    yield made
    runner.stop()


def reached_the_end(shown: Shown) -> bool:
    status = shown.runner.status()
    return status.span_s[1] > 0 and status.reached_s >= status.span_s[1]


def until(what: Callable[[], bool], seconds: float = 90.0) -> None:
    end = time.monotonic() + seconds
    while not what():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.05)


def test_any_moment_has_the_picture_of_straight_play(
    shown: Shown, feed: Path, spread: Spread, evening_actions: list[Action], exactly: Callable[[Picture], str]
) -> None:
    straight: dict[float, str] = {}
    player = Player(open_recording(feed), Setup(spread, Session.REPLAY, members=FEW), evening_actions)
    player.to(player.recording.span_s, lambda p: straight.__setitem__(p.t_s, exactly(p)))
    last = max(straight)
    until(lambda: reached_the_end(shown))
    for moment in (last - 3.0, 40.0, 150.5, 149.0, 90.0, last - 20.0, 10.0):
        shown.runner.seek(moment)
        want = max(t for t in straight if t <= moment)
        shown.wait(lambda want=want: shown.pictures[-1].t_s == want)
        until(lambda moment=moment: shown.runner.status().t_s == moment)
        assert exactly(shown.pictures[-1]) == straight[want]


def test_playing_goes_on_at_the_rate_and_stops_at_the_end(shown: Shown) -> None:
    end = shown.runner.status().span_s[1]
    shown.runner.seek(end - 30.0)
    until(lambda: shown.runner.status().t_s >= end - 30.0)
    shown.runner.set_rate(20.0)
    shown.runner.play(True)
    until(lambda: not shown.runner.status().playing)
    assert shown.runner.status().t_s == pytest.approx(end)


def test_too_fast_for_this_computer_it_looks_ahead_all_the_same_and_owes_nothing_afterwards(
    shown: Shown, monkeypatch: pytest.MonkeyPatch
) -> None:
    until(lambda: reached_the_end(shown))
    real, offered = Player.to, []

    def slow(player: Player, t_s: float, *more: Any) -> Any:
        time.sleep(0.05)  # a second of the feed; 20 a second at most
        return real(player, t_s, *more)

    shown.runner.seek(60.0)
    until(lambda: shown.runner.status().t_s == 60.0)
    monkeypatch.setattr(Player, "to", slow)
    monkeypatch.setattr(pace, "MEASURED_S", 0.3)
    monkeypatch.setattr(module, "STALL_S", 0.1)  # else what a busy computer stood still is played afterwards
    monkeypatch.setattr(shown.runner, "_look_ahead", lambda watch: bool(offered.append(watch.now_s)))
    shown.runner.set_rate(100.0)
    shown.runner.play(True)
    until(lambda: shown.runner.status().t_s > 80.0)
    assert any(60.0 < t_s < 80.0 for t_s in offered)
    until(lambda: shown.runner.status().manages is not None)
    assert 1.0 < (shown.runner.status().manages or 0.0) < 50.0
    shown.runner.set_rate(1.0)
    at = shown.runner.status().t_s
    time.sleep(0.3)
    assert shown.runner._target_s < at + 100.0 * (pace.BEHIND_S + module.STALL_S) + 5.0
    monkeypatch.setattr(Player, "to", real)
    until(lambda: shown.runner.status().manages is None)
    shown.runner.play(False)


def test_the_rate_is_held_within_what_can_be_played(shown: Shown) -> None:
    shown.runner.set_rate(5000.0)
    assert shown.runner.status().rate == 200.0
    shown.runner.set_rate(0.0)
    assert shown.runner.status().rate == 0.25


def test_a_moment_that_is_not_reached_yet_is_told(shown: Shown, monkeypatch: pytest.MonkeyPatch) -> None:
    until(lambda: reached_the_end(shown))
    shown.runner.seek(10.0)
    until(lambda: shown.runner.status().t_s == 10.0)
    assert shown.runner.status().going_to_s is None
    held = threading.Event()
    real = shown.runner._reach

    def late(player: Player, target: float) -> None:
        held.wait(5.0)
        real(player, target)

    monkeypatch.setattr(shown.runner, "_reach", late)
    shown.runner.seek(120.0)
    assert shown.runner.status().going_to_s == 120.0
    held.set()
    until(lambda: shown.runner.status().t_s == 120.0)
    assert shown.runner.status().going_to_s is None
    shown.runner.step(5.0)
    assert shown.runner.status().going_to_s is None, "so near is not worth a word"


def test_a_step_moves_from_where_the_last_one_went(shown: Shown) -> None:
    shown.runner.seek(60.0)
    shown.runner.step(10.0)
    shown.runner.step(10.0)
    until(lambda: shown.runner.status().t_s == 80.0)


def test_steps_of_a_second_are_the_watchs_own_and_none_is_lost(shown: Shown) -> None:
    shown.runner.seek(120.0)
    shown.wait(lambda: 119.0 < shown.pictures[-1].t_s <= 120.0)  # the last step before it
    until(lambda: shown.runner.status().t_s == 120.0)
    at = shown.pictures[-1].t_s
    for _ in range(3):
        shown.runner.step(1.0)
        time.sleep(0.01)  # between two looks of the player, or while it is under way
    shown.wait(lambda: shown.pictures[-1].t_s == at + 3.0)
    shown.runner.step(-1.0)
    shown.wait(lambda: shown.pictures[-1].t_s == at + 2.0)
    until(lambda: shown.runner.status().t_s == 122.0)


def test_hits_of_the_crew_are_marks_on_the_timeline(shown: Shown) -> None:
    until(lambda: reached_the_end(shown))
    status = shown.runner.status()
    assert {mark.kind for mark in status.marks} >= {"hit"}
    assert [mark.t_s for mark in status.marks] == sorted(mark.t_s for mark in status.marks)
    assert status.timing == "tag blocks"


def test_what_the_lookout_raises_while_it_is_played_is_a_mark(shown: Shown, monkeypatch: pytest.MonkeyPatch) -> None:
    import made_outlooks

    from sternwatch.watch.outlook import lookout
    from sternwatch.watch.outlook.alerts import ForecastAlerts

    until(lambda: reached_the_end(shown))
    book = ForecastAlerts({"1": "P HIGH", "2": "P LOW"})
    for t_s in (150.0, 152.0, 154.0):
        raised = book.step(made_outlooks.outlook(t_s, 0.9))
    ahead = replace(made_outlooks.outlook(154.0, 0.9), alerts=raised)
    monkeypatch.setattr(lookout.Lookout, "offer", lambda _self, _watch: True)
    monkeypatch.setattr(lookout.Lookout, "outlook", property(lambda _self: ahead))
    shown.runner.seek(155.0)
    until(lambda: any("touch" in mark.label for mark in shown.runner.status().marks))
    marks = [mark for mark in shown.runner.status().marks if "touch" in mark.label]
    assert [(mark.kind, mark.t_s) for mark in marks] == [("alert", 154.0)]
    assert [mark.t_s for mark in shown.runner.status().marks] == sorted(m.t_s for m in shown.runner.status().marks)


def test_an_alert_raised_again_where_it_is_played_again_is_one_mark() -> None:
    from made_outlooks import outlook

    from sternwatch.watch.outlook.alerts import ForecastAlerts
    from sternwatch.watch.sessions.outlook_marks import SAME_S, Foreseen

    book, foreseen = ForecastAlerts({"1": "P HIGH", "2": "P LOW"}), Foreseen()
    later_s = 2.0 * SAME_S + 300.0
    for begin_s in (100.0, 112.0, later_s):  # the second time a little later, and then another time
        book.forget()
        for t_s in (begin_s, begin_s + 2.0, begin_s + 4.0, begin_s + 6.0):
            foreseen.look(replace(outlook(t_s, 0.9), alerts=book.step(outlook(t_s, 0.9))))
    foreseen.look(None)
    assert [(mark.t_s, mark.kind) for mark in foreseen.marks] == [(104.0, "alert"), (later_s + 4.0, "alert")]


def test_once_every_depth_is_known_the_whole_is_looked_ahead_along(
    feed: Path, spread: Spread, evening_actions: list[Action], monkeypatch: pytest.MonkeyPatch
) -> None:
    """And what its own console kept stands from the beginning."""
    from sternwatch.logbook.store.trips import Event, Trip
    from sternwatch.watch.sessions import foretelling

    def event(t_s: float, keys: tuple[str, ...]) -> Event:
        return Event(f"ahead {t_s}", t_s, "crossing", "warning", "active", keys, "they touch")

    reached: list[float] = []
    entries: list[int] = []

    class Kept:
        def load(self, actions: Any) -> None:
            del actions

        def keep(self, actions: Any, events: Any) -> None:
            del events
            entries.append(len(actions))

    def foretell(player: Player, way: Any, units: Any, ended: Callable[[], bool], each: Any) -> list[Event] | None:
        del way, units, each
        reached.append(runner.status().reached_s)
        assert player.t_s == 0.0
        return None if ended() else [event(70.0, ("3", "6"))]

    feed.write_bytes(b"".join(feed.read_bytes().splitlines(keepends=True)[:400]))
    monkeypatch.setattr(module, "PASS_REST_S", 0.0)
    monkeypatch.setattr(module, "ENTRIES_REST_S", 0.0)
    monkeypatch.setattr(module, "FORETELL_EVERY_S", 0.02)
    monkeypatch.setattr(module.prepare, "prepare", lambda: None)
    monkeypatch.setattr(module.prepare, "rest", lambda: "")
    monkeypatch.setattr(foretelling, "foretell", foretell)
    logbook = Logbook(None)
    logbook.begin_trip(Trip("t", datetime.now(UTC)))
    runner = Playback(
        Session.REPLAY, lambda: open_recording(feed), lambda: Setup(spread, Session.REPLAY, members=FEW),
        evening_actions, logbook, "t", foretold=Kept(), warned=[event(50.0, ("1", "2"))],
    )  # fmt: skip
    runner.play(False)
    made = Shown(runner)
    try:
        made.wait(lambda: made.pictures)
        until(lambda: [m.t_s for m in runner.status().marks if m.label == "they touch"] == [70.0])
        assert reached[0] >= runner.status().span_s[1] > 0.0
        runner.submit("hit", "3")
        until(lambda: len(entries) == 2)
        assert entries == [len(evening_actions), len(evening_actions) + 1]
    finally:
        runner.stop()


def test_a_late_hit_is_stored_shown_and_survives_going_back(shown: Shown) -> None:
    until(lambda: reached_the_end(shown))
    shown.runner.seek(200.0)
    until(lambda: shown.runner.status().t_s == 200.0)
    made = shown.runner.submit("hit", "3")
    shown.wait(lambda: [s for s in shown.saved if s.id == made])
    assert shown.saved[-1].error == ""
    shown.wait(lambda: made in [hit.id for hit in shown.pictures[-1].hits])
    shown.runner.seek(190.0)
    shown.wait(lambda: shown.pictures[-1].t_s <= 190.0)
    assert made not in [hit.id for hit in shown.pictures[-1].hits]
    until(lambda: reached_the_end(shown))
    shown.runner.seek(210.0)
    shown.wait(lambda: shown.pictures[-1].t_s > 205.0)
    assert made in [hit.id for hit in shown.pictures[-1].hits]


def test_what_cannot_be_an_action_is_refused_with_a_sentence(shown: Shown) -> None:
    made = shown.runner.submit("length", "3", line_out_m=-4.0)
    shown.wait(lambda: [s for s in shown.saved if s.id == made])
    refused = next(s for s in shown.saved if s.id == made)
    assert refused.action is None
    assert "line_out_m" in refused.error


def test_sources_can_be_asked_about(shown: Shown) -> None:
    shown.runner.seek(30.0)
    shown.wait(lambda: shown.pictures[-1].t_s > 28.0)
    senses = shown.runner.senses()
    assert {entry.sentence for entry in senses.entries} >= {"RMC", "VHW", "DPT"}
    assert [report.lines > 0 for report in senses.reports] == [True]


HOURS = 10


@pytest.mark.campaign
@pytest.mark.skipif(not CORPUS.is_dir(), reason="the corpus of real recordings is not beside this checkout")
def test_any_moment_of_ten_hours_is_there_within_a_second(
    tmp_path: Path, spread: Spread, monkeypatch: pytest.MonkeyPatch
) -> None:
    import psutil

    from sternwatch.feed.readings import Line
    from sternwatch.feed.recording import tag_block as tagblock
    from sternwatch.logbook.store.trips import Trip

    body = [line for line in file_of(SEA).read_bytes().splitlines() if line]
    count = HOURS * 60 * len(body) // 187
    long = tmp_path / "ten.nmea"
    with long.open("wb") as file:
        for i in range(count):
            ms = i * HOURS * 3_600_000 // count
            file.write(tagblock.write(Line(ms / 1000, 1_753_000_000_000 + ms, "gps", body[i % len(body)])))
    monkeypatch.setattr(module, "PASS_REST_S", 0.0)
    monkeypatch.setattr(module.prepare, "prepare", lambda: None)
    book = Logbook(None)
    book.begin_trip(Trip("t", datetime.now(UTC)))
    setup = Setup(spread, Session.REPLAY, start="fishing")
    runner = Playback(Session.REPLAY, lambda: open_recording(long), lambda: setup, [], book, "t")
    runner.play(False)
    shown = Shown(runner)
    shown.wait(lambda: shown.pictures)
    before = psutil.Process().memory_info().rss
    until(lambda: reached_the_end(shown), 1500.0)
    grown = psutil.Process().memory_info().rss - before
    took = []
    for moment in (35_000.0, 17_950.5, 120.0, 30_059.0, 7_199.0, 35_990.0, 59.0):
        begun = time.perf_counter()
        runner.seek(moment)
        until(lambda moment=moment: runner.status().t_s == moment, 30.0)
        took.append(time.perf_counter() - begun)
    runner.stop()
    print(f"\njumps {', '.join(f'{t:.2f}' for t in took)} s; {grown / 2**20:.0f} MiB for the checkpoints")
    assert max(took) < 1.0


def test_where_it_begins_late_the_way_there_is_read_once_and_the_crews_hits_are_marked_at_once(
    feed: Path, spread: Spread, monkeypatch: pytest.MonkeyPatch
) -> None:
    began = datetime(2026, 7, 18, 23, 2, tzinfo=UTC)
    actions: list[Action] = [Hit(id="h", time=began, rod="3", elapsed_s=150.0)]
    monkeypatch.setattr(module.prepare, "prepare", lambda: None)
    made: list[Player] = []
    plain = Playback._player

    def counted(self: Playback, *args: Any) -> Player:
        made.append(plain(self, *args))
        return made[-1]

    monkeypatch.setattr(Playback, "_player", counted)
    runner = Playback(
        Session.DEMO, lambda: open_recording(feed), lambda: Setup(spread, Session.DEMO, members=FEW), actions,
        Logbook(None), "t", begin_s=130.0,
    )  # fmt: skip
    shown = Shown(runner)
    try:
        shown.wait(lambda: any(picture.t_s >= 130.0 for picture in shown.pictures))
        assert [(mark.kind, mark.t_s) for mark in runner.status().marks if mark.kind == "hit"] == [("hit", 150.0)]
        until(lambda: len(made) == 2 and made[1].t_s >= 120.0)
        assert [round(c.t_s) for c in runner._checkpoints][:2] == [60, 120]
        assert runner.status().reached_s >= 120.0
    finally:
        runner.stop()


def test_after_a_run_up_it_opens_soon_and_has_the_pictures_of_straight_play_once_all_is_read(
    feed: Path, spread: Spread, evening_actions: list[Action], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module.prepare, "prepare", lambda: None)
    monkeypatch.setattr(module, "CHECKPOINT_EVERY_S", 20.0)
    begun: list[float] = []
    plain = Player.rewind

    def rewound(self: Player, added: Any = (), since_s: float = 0.0) -> None:
        begun.append(since_s)
        plain(self, added, since_s)

    monkeypatch.setattr(Player, "rewind", rewound)
    slow = threading.Event()
    monkeypatch.setattr(Playback, "_pass", lambda self, *given, go=Playback._pass: slow.wait() and go(self, *given))
    setup = Setup(spread, Session.DEMO, members=FEW)
    runner = Playback(
        Session.DEMO, lambda: open_recording(feed), lambda: setup, evening_actions, Logbook(None), "t",
        begin_s=130.0, run_up_s=70.0, rate=0.25,
    )  # fmt: skip
    shown = Shown(runner)
    try:
        shown.wait(lambda: any(picture.t_s >= 130.0 for picture in shown.pictures))
        assert begun == [0.0, 60.0]  # made, then taken up: nothing before is played
        monkeypatch.setattr(Player, "rewind", plain)
        straight = Player(open_recording(feed), setup, evening_actions)
        straight.to(130.0)
        rough, true = ({rod.key: rod.depth_m for rod in rods if rod.depth_m is not None} for rods in (
            shown.pictures[-1].rods, straight.watch.picture().rods
        ))  # fmt: skip
        assert rough.keys() == true.keys()
        slow.set()
        runner.seek(150.0)
        until(lambda: runner.status().reached_s >= 190.0)
        runner.play(False)
        straight.to(170.0)
        runner.seek(170.0)
        until(lambda: bool(shown.pictures[-1].rods == straight.watch.preview(170.0).rods))
    finally:
        slow.set()
        runner.stop()
