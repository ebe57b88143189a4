"""What commands hand to the screens, and what they answer for themselves: no screen is opened here."""

from __future__ import annotations

import json
from argparse import ArgumentTypeError, Namespace
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.cli.common import session as common
from sternwatch.cli.common.deck import deck_of
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.gear import edit, fit_season
from sternwatch.cli.main import main
from sternwatch.cli.sessions import ports as ports_command
from sternwatch.cli.sessions.practice import _best_scores, _session
from sternwatch.cli.trips.season import _number, _place
from sternwatch.cli.trips.ways import _write_routes, tell
from sternwatch.console.controls.tour import EVENING, EVENING_FROM_S
from sternwatch.feed.readings import Tongue
from sternwatch.feed.sources.ports import Port, PortFinder
from sternwatch.feed.sources.survey import Survey
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import new_trip
from sternwatch.watch.picture.model import Session

BEGUN = datetime(2026, 7, 18, 23, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def folders(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path / "config"))
    monkeypatch.setenv("STERNWATCH_DATA_DIR", str(tmp_path / "data"))
    return tmp_path


@pytest.fixture
def shown(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Any, Any]]:
    """Screens and pages in place of being shown."""
    seen: list[tuple[Any, Any]] = []
    monkeypatch.setattr(common, "show", lambda screen, deck=None: (seen.append((screen, deck)), Exit.DONE)[1])
    return seen


def refused(capsys: pytest.CaptureFixture[str], *argv: str) -> str:
    assert main(list(argv)) == Exit.WRONG_INPUT
    return capsys.readouterr().err


# -- screens -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("argv", "begin_s", "tour", "rate"),
    [
        ((), EVENING_FROM_S, EVENING, 1.0), (("--no-tour",), EVENING_FROM_S, (), 1.0),
        (("--from-start",), 0.0, (), 1.0), (("--rate", "4"), EVENING_FROM_S, EVENING, 4.0),
    ],
)  # fmt: skip
def test_the_demo_opens_before_its_turn(
    monkeypatch: pytest.MonkeyPatch, shown: list[Any], argv: tuple[str, ...], begin_s: float, tour: Any, rate: float
) -> None:
    made: list[tuple[Any, Any]] = []
    monkeypatch.setattr(common.Screen, "demo", lambda play, told: (made.append((play, told)), "screen")[1])
    assert main(["demo", *argv]) == Exit.DONE
    ((play, told),) = made
    assert (play.begin_s, told, play.rate) == (begin_s, tour, rate)
    assert play.feed.name == "evening.nmea"
    assert shown == [("screen", None)]


def test_the_rods_keys_are_asked_of_the_spread_or_of_all_stations(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], folders: Path
) -> None:
    import sternwatch.console.ashore.keytest_screen as screen

    asked: list[Any] = []

    class App:
        def __init__(self, _: object, rods: Any) -> None:
            asked.append(rods)

        def run(self) -> str:
            return "saved"

    monkeypatch.setattr(screen, "KeyTestApp", App)
    assert main(["keys"]) == Exit.DONE
    assert capsys.readouterr().err == "saved\n"
    demo = Path(__file__).parents[2] / "demo_logs" / "evening.toml"
    assert main(["keys", str(demo)]) == Exit.DONE
    assert asked[0] == screen.NUMBER_ROW
    assert {key for key, _ in asked[1]} >= {"1", "2", "3"}
    assert "none.toml" in refused(capsys, "keys", str(folders / "none.toml"))


@pytest.mark.parametrize("made", [True, False])
def test_after_the_questions_the_editor_opens_what_they_made(
    monkeypatch: pytest.MonkeyPatch, folders: Path, made: bool
) -> None:
    import sternwatch.console.ashore.questions as questions

    asked: list[tuple[Any, bool]] = []
    edited: list[Any] = []

    def app(_prefs: object, _shelf: object, path: Path, *, every_question: bool) -> Any:
        asked.append((path, every_question))
        return SimpleNamespace(run=lambda: made)

    monkeypatch.setattr(questions, "setup_app", app)
    monkeypatch.setattr(edit, "run", lambda args: (edited.append(args.spread), Exit.DONE)[1])
    path = folders / "mine.toml"
    assert main(["setup", str(path), "--every-question"]) == Exit.DONE
    assert asked == [(path, True)]
    assert edited == ([path] if made else [])


def test_a_page_for_phones_goes_with_what_is_on_the_screen() -> None:
    def wish(**more: Any) -> Any:
        return deck_of(Namespace(**{"deck": None, "positions": False, "command": "watch", **more}))

    assert wish() is None
    assert wish(deck="lan").given == "lan"
    assert wish(deck="here", positions=True, new_trip=True).anew
    for more, said in (
        ({"positions": True}, "give --deck"),
        ({"deck": "here", "headless": True}, "leave out --headless"),
    ):
        with pytest.raises(InputError, match=said):
            wish(**more)
    with pytest.raises(InputError):
        wish(deck="lan:no address").begin()


# -- practice ------------------------------------------------------------------------------------------------------


def test_practice_shows_a_drill_and_says_its_result_afterwards(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A trip begins in the logbook, with the drill and its seed."""
    runners: list[Any] = []

    def show(screen: Any, _deck: object = None) -> int:
        runners.append(screen.make(SimpleNamespace(system=None)))
        return Exit.DONE

    import sternwatch.practice.sessions.runner as runner_module

    class Runner:
        result = ("it was over",)

        def __init__(
            self, plan: Any, make_setup: Any, logbook: Logbook, trip_id: str, *rest: Any, **more: Any
        ) -> None:
            self.plan, self.setup, self.logbook, self.trip_id = plan, make_setup, logbook, trip_id
            rest[1].close()
            assert more == {"waits": True}

    monkeypatch.setattr(runner_module, "PracticeRunner", Runner)
    monkeypatch.setattr(common, "Screen", lambda make: SimpleNamespace(make=make))
    monkeypatch.setattr(common, "show", show)
    assert main(["practice", "s-turns", "--seed", "7"]) == Exit.DONE
    assert capsys.readouterr().out == "it was over\n"
    (runner,) = runners
    (trip,) = runner.logbook.trips()
    assert (trip.id, trip.session, trip.about["drill"], trip.about["seed"]) == (
        runner.trip_id, "practice", "s-turns", 7,
    )  # fmt: skip
    runner.logbook.close()
    assert runner.plan.seed == 7


def test_the_best_scores_are_read_though_a_console_writes(capsys: pytest.CaptureFixture[str], folders: Path) -> None:
    assert _best_scores() == {}
    with Logbook(folders / "data" / "logbook.sqlite") as book:
        for number, score in enumerate((50.0, 80.0, None, 70.0)):
            trip = new_trip(BEGUN.replace(minute=number), session="practice", about={"drill": "pair", "seed": 1})
            book.begin_trip(trip)
            book.keep_result(trip.id, {"drill": "pair", "seed": 1, "score": score, "passed": None, "par": 80.0})
        assert _best_scores() == {"pair": 80.0}
    (folders / "data" / "logbook.sqlite").write_bytes(b"no database")
    assert _best_scores() == {}
    assert "cannot be read" in capsys.readouterr().err


@pytest.mark.parametrize(("script", "kind"), [("novice", "Novice"), ("advised", "Advised"), (None, None)])
def test_who_steers_without_a_screen(monkeypatch: pytest.MonkeyPatch, script: str | None, kind: str | None) -> None:
    import sternwatch.practice.sessions.headless as headless
    from sternwatch.practice.drills.files import find_drill

    given: list[dict[str, Any]] = []
    monkeypatch.setattr(headless, "Run", lambda *_, **more: (given.append(more), "run")[1])
    file = find_drill("s-turns")
    session, helmsman = _session(Namespace(script=script), file, file.spread(), 1, (), BEGUN)
    assert session == "run"
    assert (None if helmsman is None else type(helmsman).__name__) == kind
    assert ("members" in given[0]) is (script == "advised")
    with pytest.raises(InputError, match="no such script"):
        _session(Namespace(script="nobody"), file, file.spread(), 1, (), BEGUN)


# -- ports ---------------------------------------------------------------------------------------------------------

PORT, OTHER = Port("/dev/a", "a log"), Port("/dev/b", "")


@pytest.mark.parametrize("there", [True, False])
def test_ports_are_listed(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], there: bool) -> None:
    monkeypatch.setattr(PortFinder, "ports", lambda _: [PORT, OTHER] if there else [])
    assert main(["ports"]) == Exit.DONE
    out = capsys.readouterr().out
    assert ("/dev/a" in out and "a log" in out and "/dev/b" in out) if there else out == "no serial port is there\n"
    assert main(["ports", "--json"]) == Exit.DONE
    told = json.loads(capsys.readouterr().out)
    found = told if isinstance(told, list) else told["ports"]
    assert [one["port"] for one in found] == (["/dev/a", "/dev/b"] if there else [])
    if not there:
        assert main(["ports", "--listen"]) == Exit.DONE
        assert capsys.readouterr().out == "no serial port is there\n"


def test_what_each_port_says(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    import sternwatch.feed.sources.survey as survey_module

    found = {
        "/dev/a": Survey(PORT, 4800, {"MTW": 1.0, "VHW": 0.5}, right=9, wrong=1),
        "/dev/b": Survey(OTHER, problem="another program has it open"),
    }
    asked: list[float] = []

    def survey(port: Port, seconds: float, **_: object) -> Survey:
        asked.append(seconds)
        return found[port.path]

    monkeypatch.setattr(PortFinder, "ports", lambda _: [PORT, OTHER])
    monkeypatch.setattr(survey_module, "survey", survey)
    assert main(["ports", "--listen", "--seconds", "2"]) == Exit.DONE
    first, second = capsys.readouterr().out.splitlines()
    assert first == "/dev/a: 4800 baud, checksums 90 % right: MTW 1.0/s VHW 0.5/s"
    assert second.endswith("another program has it open")
    assert asked == [2.0, 2.0]
    assert main(["ports", "--listen", "--json"]) == Exit.DONE
    told = json.loads(capsys.readouterr().out)
    rows = told if isinstance(told, list) else told["ports"]
    assert rows[0]["checksums"] == {"right": 9, "wrong": 1, "missing": 0}
    assert rows[1]["checksums"] is None
    assert ports_command.in_words(Survey(PORT, 9600)) == "/dev/a: 9600 baud, no checksums: nothing"
    assert "frames" in ports_command.in_words(Survey(PORT, 9600, tongue=Tongue.N2K))
    for text in ("0.4", "1e9", "soon"):
        with pytest.raises(ArgumentTypeError):
            ports_command._seconds(text)
    assert ports_command._seconds("0.5") == 0.5


# -- the season ----------------------------------------------------------------------------------------------------


@pytest.fixture
def season(monkeypatch: pytest.MonkeyPatch) -> Any:
    """A season of two trips, without a fit."""
    import sternwatch.answers.season.keeping as keeping

    def update(trip: str, day: int) -> Any:
        return SimpleNamespace(trip=trip, made=BEGUN.replace(day=day), used=3)

    made = SimpleNamespace(
        updates=[update("one", 1), update("two", 5)], folder=Path("x"), added=[], has=lambda _: False
    )

    def undo() -> Any:
        return made.updates.pop() if made.updates else None

    made.undo, made.add = undo, lambda *given, **more: made.added.append((given, more))
    monkeypatch.setattr(keeping.Season, "own", lambda: made)
    return made


def test_the_last_trips_part_is_undone(season: Any, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["fit", "--season", "--undo"]) == Exit.DONE
    assert capsys.readouterr().out == "undone: what trip two taught (3 observations); 1 trips are left\n"
    assert main(["fit", "--season", "--undo", "--json"]) == Exit.DONE
    assert json.loads(capsys.readouterr().out)["left"] == 0
    assert "nothing to undo" in refused(capsys, "fit", "--season", "--undo")
    assert "the season holds nothing yet" in refused(capsys, "fit", "--season")
    assert season.added == []


def test_the_season_is_shown_for_a_spread(
    monkeypatch: pytest.MonkeyPatch, season: Any, capsys: pytest.CaptureFixture[str], folders: Path
) -> None:
    import sternwatch.answers.season.pieces as pieces

    row = pieces.Known("ball drag", "1", "ball", BEGUN, BEGUN, 6, (0.8, 1.0, 1.2), (0.95, 1.0, 1.05), (0.6, 0.3))
    monkeypatch.setattr(pieces, "known", lambda *_: [row])
    demo = str(Path(__file__).parents[2] / "demo_logs" / "evening.toml")
    assert "which spread?" in refused(capsys, "fit", "--season")
    assert "one spread file" in refused(capsys, "fit", "--season", demo, "trip")
    page = folders / "season.html"
    assert main(["fit", "--season", demo, "--html", str(page)]) == Exit.DONE
    out = capsys.readouterr().out
    assert "2 trips, 6 observations, 2026-07-01 to 2026-07-05" in out
    assert "±20.0 % → ±5.0 %" in out
    assert "<svg" in page.read_text(encoding="utf-8")
    assert main(["fit", "--season", demo, "--json"]) == Exit.DONE
    told = json.loads(capsys.readouterr().out)
    assert [one["trip"] for one in told["trips"]] == ["one", "two"]
    assert told["quantities"][0]["half_width_now"] == pytest.approx(0.05)
    assert "cannot be written" in refused(capsys, "fit", "--season", demo, "--html", str(page / "a.html"))
    assert len(season.updates) == 2


def test_ended_trips_with_observations_are_learned_from(
    monkeypatch: pytest.MonkeyPatch, season: Any, capsys: pytest.CaptureFixture[str], folders: Path
) -> None:
    import sternwatch.debrief.trip.observed as observed
    import sternwatch.debrief.trip.sources as sources

    seen = {"with": "observed", "none": "hit", "broken": "observed"}
    with Logbook(folders / "data" / "logbook.sqlite") as book:
        ids = {}
        for number, name in enumerate((*seen, "open", "practice")):
            trip = new_trip(
                BEGUN.replace(minute=number), session="practice" if name == "practice" else Session.LIVE.value
            )
            book.begin_trip(trip)
            ids[trip.id] = name
            if name != "open":
                book.end_trip(trip.id, BEGUN.replace(hour=23, minute=50))

    def from_logbook(_reader: object, trip_id: str, _data: object) -> Any:
        return SimpleNamespace(actions=[SimpleNamespace(kind=seen[ids[trip_id]])], name=ids[trip_id])

    def observed_on(data: Any) -> Any:
        if data.name == "broken":
            raise sources.TripError("it is broken")
        kept = [SimpleNamespace(id="known 1", used=True), SimpleNamespace(id="a", used=True)]
        return "spread of it", kept

    monkeypatch.setattr(sources, "from_logbook", from_logbook)
    monkeypatch.setattr(observed, "observed_on", observed_on)
    assert fit_season._caught_up(season, None) == "spread of it"  # type: ignore[comparison-overlap]
    ((given, more),) = season.added
    assert [one.id for one in given[1]] == ["a"], "what the file knows is no trip's"
    assert ids[more["trip"]] == "with"
    err = capsys.readouterr().err
    assert "learning from trip" in err
    assert "taught nothing: it is broken" in err


# -- trips ---------------------------------------------------------------------------------------------------------


def test_words_of_a_season_are_read_strictly() -> None:
    assert (_number(1, 12)("12"), _place("47.02, -89.55"), _place("-90 180")) == (12, (47.02, -89.55), (-90.0, 180.0))
    reads: list[tuple[Callable[[str], Any], str]] = [
        (_number(1, 12), "13"), (_number(1, 12), "0"), (_number(1, 12), "x"), (_place, "47"), (_place, "91 0"),
        (_place, "0 181"), (_place, "a b"),
    ]  # fmt: skip
    for read, text in reads:
        with pytest.raises(ArgumentTypeError):
            read(text)


def test_a_logbook_that_is_none_is_said(capsys: pytest.CaptureFixture[str], folders: Path) -> None:
    assert "there is no logbook there" in refused(capsys, "logbook", "verify")
    other = folders / "other.sqlite"
    other.write_bytes(b"no database at all" * 99)
    assert "other.sqlite" in refused(capsys, "logbook", "verify", str(other))
    with Logbook(folders / "data" / "logbook.sqlite") as book:
        book.begin_trip(new_trip(BEGUN))
    assert main(["logbook", "verify"]) == Exit.DONE
    assert "1 trips, 0 entries, no faults found" in capsys.readouterr().out
    assert main(["logbook", "verify", "--json"]) == Exit.DONE
    assert json.loads(capsys.readouterr().out)["faults"] == []
    copies = folders / "copies"
    copies.mkdir()
    assert main(["logbook", "backup", str(copies)]) == Exit.DONE
    (copy,) = copies.iterdir()
    assert copy.name.startswith("sternwatch-logbook-")
    assert "is there already" in refused(capsys, "logbook", "backup", str(copy))
    assert refused(capsys, "logbook", "backup", str(folders / "none" / "a.sqlite"))
    assert "its name is too long" in refused(capsys, "logbook", "backup", str(folders / ("q" * 300)))
    assert "--within needs --near" in refused(capsys, "season", "--within", "300 m")


def test_ways_are_told_and_written(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], folders: Path
) -> None:
    import sternwatch.watch.again.rows as rows

    monkeypatch.setattr(rows, "routes", lambda named, origin: f"{named} from {origin}")
    rods = [SimpleNamespace(key="1", name="P LOW")]
    watch = SimpleNamespace(spread=SimpleNamespace(rods=rods), bottom=SimpleNamespace(origin_deg=(47.0, -89.5)))
    found: Any = SimpleNamespace(watch=watch, why="", named=["way"])
    args = Namespace(gpx=folders / "a.gpx", json=False)
    assert tell(args, found, {}, lambda names: [f"Go on to {names['1']}."]) == Exit.DONE
    assert capsys.readouterr().out.splitlines()[0] == "Go on to 1 P LOW."
    assert (folders / "a.gpx").read_text() == "['way'] from (47.0, -89.5)"
    assert tell(Namespace(gpx=None, json=True), found, {"a": 1}, lambda _: []) == Exit.DONE
    assert json.loads(capsys.readouterr().out)["a"] == 1
    found.why = "It is too far"
    assert tell(Namespace(gpx=None, json=False), found, {}, lambda _: []) == Exit.DONE
    assert capsys.readouterr().out == "It is too far.\n"
    with pytest.raises(InputError, match="It is too far"):
        _write_routes(folders / "b.gpx", found)
    found.why = ""
    with pytest.raises(InputError, match="cannot be written"):
        _write_routes(folders / "none" / "b.gpx", found)
    watch.bottom.origin_deg = None
    with pytest.raises(InputError, match="place is not known"):
        _write_routes(folders / "b.gpx", found)
