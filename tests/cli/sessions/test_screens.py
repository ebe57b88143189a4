"""What a session begins with: the open trip or a new one, entries of an earlier replay, the demo's own logbook."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from sternwatch.cli.common.boat import Boat
from sternwatch.cli.common.exits import InputError
from sternwatch.cli.common.session import TRIP_LASTS_S, Play, Screen, preferences
from sternwatch.config import Preferences
from sternwatch.feed.sources.specs import FeedSetup
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.logbook.actions.kinds import load_actions, parse
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import Event, Trip, new_trip
from sternwatch.places import shipped
from sternwatch.watch.picture.model import Session

DEMO = shipped("demo_logs")
TEXT = (DEMO / "evening.toml").read_text(encoding="utf-8")
METRIC = Preferences(units="metric", let_out_rate="0.7 m/s")


@pytest.fixture(autouse=True)
def data(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    for name in ("config", "data", "cache"):
        monkeypatch.setenv(f"STERNWATCH_{name.upper()}_DIR", str(tmp_path / name))
    return tmp_path / "data"


@pytest.fixture
def boat() -> Boat:
    return Boat(parse_spread(TEXT), TEXT, "an earlier version stands in")


def note(number: int, when: datetime) -> Any:
    return parse({"id": f"n{number}", "time": when, "elapsed_s": 10.0, "kind": "note", "text": f"{number}"})


def trips(data: Path) -> list[Trip]:
    with Logbook(data / "logbook.sqlite") as logbook:
        return logbook.trips()


def live(boat: Boat, *, new: bool = False) -> Any:
    """A session on the water with no feed, as it was made; its logbook is closed again."""
    runner: Any = Screen.live(boat, FeedSetup(), new=new).make_runner(METRIC)
    runner._logbook.close()
    return runner


def begun(data: Path, boat: Boat, ago_s: float, **about: Any) -> tuple[Trip, Any]:
    """A trip left open, with a note."""
    when = datetime.now(UTC) - timedelta(seconds=ago_s)
    trip = new_trip(when, spread_name=boat.spread.boat.name, spread_text=TEXT, about=about)
    entry = note(1, when)
    with Logbook(data / "logbook.sqlite") as logbook:
        logbook.begin_trip(trip)
        logbook.submit(trip.id, entry).result()
    return trip, entry


def test_the_first_session_begins_a_trip_with_what_a_debrief_needs_elsewhere(boat: Boat, data: Path) -> None:
    runner = live(boat)
    (trip,) = trips(data)
    offset = trip.begun.astimezone().utcoffset()
    assert offset is not None
    assert (trip.id, trip.spread_text, trip.ended) == (runner._trip, TEXT, None)
    assert trip.about == {"pay_out_m_s": 0.7, "utc_offset_min": round(offset.total_seconds() / 60)}
    setup = runner._make_setup()
    assert (setup.session, setup.trip, setup.start, setup.pay_out_m_s) == (Session.LIVE, trip.id, "in", 0.7)
    assert setup.units == METRIC.system


def test_a_trip_left_open_goes_on_with_its_entries_and_the_values_of_its_beginning(boat: Boat, data: Path) -> None:
    trip, entry = begun(data, boat, TRIP_LASTS_S - 60.0, pay_out_m_s=1.25)
    runner = live(boat)
    assert (runner._trip, [one.id for one in runner._resumed]) == (trip.id, [entry.id])
    assert runner._make_setup().pay_out_m_s == 1.25
    assert [one.ended for one in trips(data)] == [None]


@pytest.mark.parametrize("told", ["entry", "alert"])
def test_a_trip_that_goes_on_does_so_after_its_newest_entry_though_nothing_is_recorded(
    boat: Boat, data: Path, told: str
) -> None:
    trip, _ = begun(data, boat, 600.0)
    with Logbook(data / "logbook.sqlite") as logbook:
        if told == "entry":
            logbook.submit(trip.id, note(2, trip.begun).model_copy(update={"elapsed_s": 300.0})).result()
        else:
            logbook.record(trip.id, Event("1.1", 300.0, "no feed", "warning", "active", (), "No feed")).result()
    assert live(boat)._hub.clock.began_s == 302.0


@pytest.mark.parametrize(("ago_s", "new"), [(TRIP_LASTS_S + 60.0, False), (600.0, True)])
def test_a_trip_of_yesterday_or_one_that_the_crew_is_done_with_is_ended(
    boat: Boat, data: Path, ago_s: float, new: bool
) -> None:
    trip, _ = begun(data, boat, ago_s)
    runner = live(boat, new=new)
    assert runner._resumed == ()
    first, second = sorted(trips(data), key=lambda one: one.begun)
    assert (first.id, first.ended is not None, second.id) == (trip.id, True, runner._trip)


def test_one_trip_after_another_in_a_session(boat: Boat, data: Path) -> None:
    runner: Any = Screen.live(boat, FeedSetup(), new=False).make_runner(METRIC)
    anew = runner._another()
    runner._logbook.close()
    assert {one.id for one in trips(data)} == {runner._trip, anew.trip_id}
    assert anew.recording == data / "recordings" / f"{anew.trip_id}.nmea"
    assert anew.make_setup().trip == anew.trip_id


def test_where_a_console_writes_the_logbook_no_other_session_begins(boat: Boat, data: Path) -> None:
    with Logbook(data / "logbook.sqlite"), pytest.raises(InputError, match=r"logbook\.sqlite"):
        live(boat)


def test_a_replay_takes_up_what_was_entered_in_it_before(boat: Boat, data: Path) -> None:
    """Under the recording's content, wherever the file lies; what the file of actions has already is there once."""
    actions = load_actions(DEMO / "evening.actions.jsonl")
    play = Play(DEMO / "evening.nmea", boat.spread, actions, begin_s=30.0, rate=4.0)
    runner: Any = Screen.replay(play).make_runner(METRIC)
    assert (runner.session, len(runner._actions)) == (Session.REPLAY, len(actions))
    (kept,) = (data / "replays").glob("*.sqlite")
    for entry in (note(1, actions[0].time), actions[0]):
        runner._logbook.submit(kept.stem, entry).result()
    with pytest.raises(InputError):
        Screen.replay(play).make_runner(METRIC)  # another console has it
    runner._logbook.close()
    again: Any = Screen.replay(play).make_runner(METRIC)
    again._logbook.close()
    assert [one.id for one in again._actions] == [*(one.id for one in actions), "n1"]


def test_the_demos_entries_last_as_long_as_its_session(boat: Boat, data: Path) -> None:
    runner: Any = Screen.demo(Play(DEMO / "evening.nmea", boat.spread, []), ()).make_runner(Preferences())
    assert runner.session is Session.DEMO
    assert runner._make_setup().zone_name == "coho"
    assert not list(data.glob("**/*.sqlite"))


def test_keys_that_mean_two_things_are_a_sentence_to_a_command(tmp_path: Path) -> None:
    (tmp_path / "config").mkdir()
    (tmp_path / "config" / "config.toml").write_text('[keys]\nundo = "y"\n', encoding="utf-8")
    with pytest.raises(InputError, match="y would mean both"):
        preferences()
