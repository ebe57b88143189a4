"""From a key press to the step that counts it: nothing stamped is forgotten on its way."""

from __future__ import annotations

import threading
from datetime import UTC, datetime
from pathlib import Path

from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import Trip
from sternwatch.watch.sessions.entries import Acts
from sternwatch.watch.sessions.runner import Saved


def test_an_entry_is_on_its_way_until_it_is_taken_not_only_until_it_is_stored(tmp_path: Path) -> None:
    stored = threading.Event()
    told: list[Saved] = []
    with Logbook(tmp_path / "logbook.sqlite") as book:
        book.begin_trip(Trip("t", datetime.now(UTC)))
        acts = Acts(book, "t", stored.set, told.append)
        assert acts.earliest_pending_s is None
        acts.submit("hit", "3", {}, 12.5, 1_790_000_000.0)
        acts.submit("hit", "4", {}, 13.5, 1_790_000_001.0)
        while len(told) < 2:
            assert stored.wait(5.0)
            stored.clear()
        assert acts.earliest_pending_s == 12.5  # a step past it would leave the hit out
        assert [one.action.rod for one in acts.take() if one.action is not None] == ["3", "4"]
        assert acts.earliest_pending_s is None


def test_a_refused_entry_holds_no_step_up_once_it_is_taken(tmp_path: Path) -> None:
    told: list[Saved] = []
    with Logbook(tmp_path / "logbook.sqlite") as book:
        book.begin_trip(Trip("t", datetime.now(UTC)))
        acts = Acts(book, "t", lambda: None, told.append)
        acts.submit("no such kind", None, {}, 1.0, 1_790_000_000.0)
        acts.take()
        assert acts.earliest_pending_s is None
    assert [one.action for one in told] == [None]


def test_an_entry_is_stamped_to_the_millisecond_of_the_feed(tmp_path: Path) -> None:
    with Logbook(tmp_path / "logbook.sqlite") as book:
        book.begin_trip(Trip("t", datetime.now(UTC)))
        stored = threading.Event()
        acts = Acts(book, "t", stored.set, lambda _: None)
        acts.submit("hit", "3", {}, 12.34567, 1_790_000_000.25)
        assert stored.wait(5.0)
        (one,) = acts.take()
        assert one.action is not None
        assert (one.action.elapsed_s, one.action.time.timestamp()) == (12.346, 1_790_000_000.25)
