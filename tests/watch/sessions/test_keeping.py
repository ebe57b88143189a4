"""What a running watch keeps beside the crew's entries, and how a trip taken up again goes on from it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import Action, parse
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.samples import hits_of, samples_of
from sternwatch.logbook.store.soundings import Charted, charted
from sternwatch.logbook.store.trips import Trip, open_read_only
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Session
from sternwatch.watch.sessions import keeping
from sternwatch.watch.sessions.keeping import Keeper

from ..conftest import BEGIN_UNIX_S, HandFeed

BEGIN = datetime.fromtimestamp(BEGIN_UNIX_S, UTC)


def act(action_id: str, t_s: float, kind: str, rod: str | None = None, **fields: Any) -> Action:
    given = {"id": action_id, "time": BEGIN + timedelta(seconds=t_s), "elapsed_s": t_s, "kind": kind, **fields}
    return parse(given if rod is None else given | {"rod": rod})


@pytest.fixture
def setup(spread: Spread) -> Setup:
    one = spread.model_copy(update={"rod": tuple(rod for rod in spread.rod if rod.key == "3")})
    return Setup(one, Session.LIVE, start="in", members=0)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    with Logbook(tmp_path / "logbook.sqlite") as made:
        made.begin_trip(Trip("t", BEGIN))
        yield made


def fish(watch: Watch, keeper: Keeper, book: Logbook) -> HandFeed:
    """Five minutes with a hit, every entry stored as a console does."""
    feed = HandFeed(watch)
    for entry in (act("s", 2, "set", "3"), act("h", 200.4, "hit", "3"), act("o", 230.0, "outcome", of="h",
                  outcome="dropped")):  # fmt: skip
        book.submit("t", entry).result()
        watch.act(entry)
    feed.run(300, each=lambda: keeper.keep(watch))
    book.derive(lambda _: None).result()
    return feed


def test_samples_and_hits_lie_in_the_file(book: Logbook, setup: Setup) -> None:
    watch = new_watch(setup)
    fish(watch, Keeper(book, "t"), book)
    assert book.path is not None
    reader = open_read_only(book.path)
    assert samples_of(reader, 1) == watch.memory.fishing.since()
    assert hits_of(reader, 1) == list(watch.memory.hits.rows)
    assert hits_of(reader, 1)[0].outcome == "dropped"
    fished = sum(len(sample.rods) for sample in samples_of(reader, 1))
    assert fished == len(watch.memory.fishing) - 2  # a fish was on for half a minute
    reader.close()


def test_a_trip_taken_up_again_goes_on_from_them(book: Logbook, setup: Setup) -> None:
    watch = new_watch(setup)
    fish(watch, Keeper(book, "t"), book)
    again = new_watch(setup, actions=book.actions("t"))
    keeper = Keeper(book, "t")
    keeper.resume(again)
    assert again.memory.fishing.since() == watch.memory.fishing.since()
    assert again.memory.hits.rows == watch.memory.hits.rows
    feed = HandFeed(again)
    feed.t_s = 400.0
    feed.run(120, each=lambda: keeper.keep(again))
    assert len(again.memory.fishing) == len(watch.memory.fishing) + 10
    assert again.picture().hits[0].depth_m == watch.memory.hits.rows[0].rod_row.depth_m  # type: ignore[union-attr]


def test_what_the_watch_enters_itself_is_stored_once(book: Logbook, setup: Setup) -> None:
    watch, keeper = new_watch(setup), Keeper(book, "t")
    feed = fish(watch, keeper, book)
    feed.run(60, stw=5.0, sog=5.0, each=lambda: keeper.keep(watch))
    book.derive(lambda _: None).result()
    ran = [action for action in book.actions("t") if action.kind == "ran"]
    assert len(ran) == 1
    assert not watch.made


def test_a_file_that_takes_nothing_does_not_stop_the_watch(
    tmp_path: Path, setup: Setup, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sternwatch.logbook.store.schema.connect", _full)
    with Logbook(tmp_path / "logbook.sqlite") as book:
        watch, keeper = new_watch(setup), Keeper(book, "t")
        watch.act(act("s", 2, "set", "3"))
        HandFeed(watch).run(120, each=lambda: keeper.keep(watch))
        assert len(watch.memory.fishing) > 5
        assert book.trouble


def _full(*_: object) -> None:
    raise OSError(28, "No space left on device")


def test_the_next_trip_finds_the_bottom_that_this_one_sounded(book: Logbook, setup: Setup) -> None:
    watch, keeper = new_watch(setup), Keeper(book, "t")
    HandFeed(watch).run(150, bottom=23.0, each=lambda: keeper.keep(watch))
    book.derive(lambda _: None).result()
    found = book.ask(charted)
    assert len(found) > 8
    assert {round(one.depth_m, 3) for one in found} == {23.0}
    again = new_watch(replace(setup, charted=found))
    feed = HandFeed(again)
    feed.run(60)  # over the same ground, and the sounder says nothing
    there = again.bottom.soundings.near(40.0, 0.0)
    assert there is not None
    assert there.earlier
    assert there.depth_m == 23.0
    assert again.picture().bottom_age_s is not None


def test_a_practice_on_invented_water_keeps_no_soundings(book: Logbook, setup: Setup) -> None:
    watch, keeper = new_watch(replace(setup, session=Session.PRACTICE)), Keeper(book, "t")
    HandFeed(watch).run(60, bottom=23.0, each=lambda: keeper.keep(watch))
    book.derive(lambda _: None).result()
    assert book.ask(charted) == ()


@pytest.mark.parametrize(
    ("offset_s", "origin", "kept"), [(1000.0, (47.0, -89.0), 1), (None, (47.0, -89.0), 0), (1000.0, None, 0)]
)
def test_soundings_are_kept_where_their_place_and_time_are_known(
    offset_s: float | None, origin: tuple[float, float] | None, kept: int
) -> None:
    """Those made before the first clock have no time. What was not kept is not tried again."""
    written: list[Any] = []
    keeper = Keeper(SimpleNamespace(derive=written.append), "t")  # type: ignore[arg-type]

    class Soundings(list[Any]):
        def since(self, number: int) -> list[Any]:
            return self[number:]

    soundings = Soundings(SimpleNamespace(north_m=0.0, east_m=0.0, depth_m=20.0, t_s=t) for t in (None, 5.0))
    watch: Any = SimpleNamespace(
        now_s=9.0, board=SimpleNamespace(utc_offset=lambda _: offset_s),
        bottom=SimpleNamespace(origin_deg=origin, soundings=soundings),
    )  # fmt: skip
    keeper._keep_soundings(watch)
    assert len(written) == kept
    assert keeper._soundings == 2
    with pytest.MonkeyPatch.context() as patch:
        found: list[Any] = []
        patch.setattr(keeping, "keep_soundings", lambda _, number, kept: found.append((number, kept)))
        for number in (None, 7):
            patch.setattr(keeping, "trip_no", lambda *_, number=number: number)
            for write in written:
                write(None)
        assert found == ([(7, [Charted(47.0, -89.0, 20.0, 1005.0)])] if kept else [])


@pytest.mark.parametrize(
    ("sounded", "session", "kept"),
    [(10, Session.LIVE, 1), (9, Session.LIVE, 0), (19, Session.LIVE, 1), (99, Session.PRACTICE, 0)],
)
def test_ten_soundings_at_a_time_are_kept(sounded: int, session: Session, kept: int) -> None:
    keeper, times = Keeper(SimpleNamespace(), "t"), []  # type: ignore[arg-type,var-annotated]
    nothing = SimpleNamespace(since=lambda _: [], __len__=lambda: 0)
    watch: Any = SimpleNamespace(
        made=[], memory=SimpleNamespace(fishing=nothing, hits=SimpleNamespace(rows=())),
        setup=SimpleNamespace(session=session), bottom=SimpleNamespace(soundings=range(sounded)),
    )  # fmt: skip
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Keeper, "_keep_soundings", lambda *_: times.append(True))
        keeper.keep(watch)
    assert len(times) == kept
