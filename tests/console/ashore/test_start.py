"""The start screen, connecting a feed, and setting up: what each key comes to, with no session behind it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from sternwatch import places
from sternwatch.cautions import COLD, COLREG, COMPUTED, KNOWS_NO
from sternwatch.cli.main import build_parser
from sternwatch.config import Preferences, load_preferences
from sternwatch.console.ashore import start_words
from sternwatch.console.ashore.base import AnswerLine, NeedsRoom, Page, Pick, Rows, TopBar
from sternwatch.console.ashore.interview import Interview
from sternwatch.console.ashore.questions import About, Drawing, QuestionsApp, QuestionsScreen, setup_app, shelf_app
from sternwatch.console.ashore.start import StartApp
from sternwatch.console.ashore.start_ports import PortsScreen
from sternwatch.console.ashore.start_words import Answered
from sternwatch.files import earlier
from sternwatch.gear.asking.interview import Asking, Question
from sternwatch.gear.shelf.pieces import parse_shelf
from sternwatch.gear.spread_file.load import load_spread

TRIPS = (
    '{"id": "20250718-a", "begun": "2025-07-18T22:10:00Z", "utc_offset_min": 0, '
    '"ended": null, "session": "live", "spread": "my boat", '
    '"hits": null, "recording": false, "debriefed": false}\n'
    '{"id": "20250719-b", "begun": "2025-07-19T22:10:00Z", "utc_offset_min": 0, '
    '"ended": null, "session": "live", "spread": "my boat", '
    '"hits": 7, "recording": true, "debriefed": false}\n'
)


class Beside:
    """Stands for the commands that print."""

    def __init__(self, **printed: str) -> None:
        self.printed = printed
        self.asked: list[start_words.Command] = []

    def __call__(self, command: start_words.Command) -> Answered:
        self.asked.append(command)
        known = self.printed.get(command[0])
        return Answered(0, known, "") if known is not None else Answered(1, "", f"sternwatch: no {command[0]} here")


def app_for(beside: Beside | None = None, *, boat: bool = False, notice: str = "", **more: object) -> StartApp:
    if boat:
        places.boat_file().parent.mkdir(parents=True, exist_ok=True)
        places.boat_file().write_bytes((places.shipped("demo_logs") / "evening.toml").read_bytes())
    return StartApp(Preferences.model_validate(more), beside or Beside(), notice)


async def settled(pilot: Pilot[object]) -> None:
    await pilot.app.workers.wait_for_complete()
    await pilot.pause()


@pytest.mark.parametrize(
    ("keys", "expected"),
    [
        ("1", ("demo",)),
        ("enter", ("demo",)),
        ("7", ("setup", "BOAT")),
        ("8", ("edit", "BOAT")),
        ("9", ("preferences",)),
        ("down down down down down down enter", ("setup", "BOAT")),
        ("2 1", ("setup", "BOAT")),  # without a boat, “my boat” sets one up
        ("4 1", ("practice",)),
        ("4 2", ("practice", "--course")),
        ("4 3", ("practice", "reverse-port")),
        ("escape", None),
    ],
)
async def test_a_key_comes_to_a_command(keys: str, expected: tuple[str, ...] | None) -> None:
    app = app_for()
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press(*keys.split())
    wanted = None if expected is None else tuple(str(places.boat_file()) if w == "BOAT" else w for w in expected)
    assert app.return_value == wanted


@pytest.mark.parametrize("boat", [False, True])
def test_every_line_is_a_command_that_the_command_line_takes(boat: bool) -> None:
    app = app_for(boat=boat, feed={"boat": {"source": "udp:10110"}})
    offers = [*start_words.choices(app.boat, app.preferences), *start_words.boat_offers(app.boat, app.preferences)]
    offers += start_words.trip_offers(TRIPS, [Path("-logger.csv").absolute()])
    commands = [offer.command for offer in offers if offer.command is not None]
    assert len(commands) > 8
    for line in commands:
        args = build_parser().parse_args(line)  # leaves with a usage fault otherwise
        assert args.command == line[0]
    told = {
        choice.about.split()[1]
        for choice in start_words.choices(app.boat, app.preferences)
        if "sternwatch" in choice.about
    }
    assert told <= set(build_parser()._subparsers._group_actions[0].choices)  # type: ignore[union-attr,arg-type]


def test_a_loggers_file_is_offered_with_every_trip(tmp_path: Path) -> None:
    (tmp_path / "lure.CSV").write_text("time,depth m")
    (tmp_path / "notes.txt").write_text("no table")
    found = start_words.logger_files(tmp_path, tmp_path, tmp_path / "nowhere")
    assert [path.name for path in found] == ["lure.CSV"]
    offers = [one for one in start_words.trip_offers(TRIPS, found) if one.words == "take in lure.CSV"]
    assert [one.name.split("  ")[1] for one in offers] == ["my boat"]  # the other trip has no recording
    assert all(one.command is not None and one.command[2:] == ("--logger", str(found[0])) for one in offers)


async def test_the_cautions_stand_there_and_a_notice_is_said() -> None:
    app = app_for(notice="boat.toml: rod 1 (P), chain: is empty")
    async with app.run_test(size=(80, 24)) as pilot:
        cautions = str(app.screen.query_one("#cautions").render())
        assert all(text in cautions for text in (COMPUTED, COLREG, COLD, KNOWS_NO))
        assert app.screen.query_one(AnswerLine).words == "boat.toml: rod 1 (P), chain: is empty"
        await pilot.press("question_mark")
        assert isinstance(app.screen, Page)


@pytest.mark.parametrize("size", [(80, 24), (120, 36), (200, 60)])
async def test_a_notice_of_three_lines_and_every_caution_are_on_the_screen(size: tuple[int, int]) -> None:
    notice = "boat.toml: " + "rod 1 (P HIGH), its chain is empty; " * 6
    app = app_for(notice=notice.strip())
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        strips = app.screen._compositor.render_strips()
        lines = ["".join(cell.text for cell in strip).strip() for strip in strips]
        shown = " ".join(" ".join(lines).split())
        assert "boat.toml: rod 1 (P HIGH), its chain is empty" in shown
        assert all(text in shown for text in (COMPUTED, COLREG, COLD, KNOWS_NO))
        assert "0 the manual" in shown
        assert lines[-1].startswith("↑ ↓ Enter, 0–9 choose")
        assert app.screen.max_scroll_y == 0


async def test_a_page_marks_no_line_and_an_arrow_moves_it_at_once() -> None:
    app = app_for(Beside(check="\n".join(f"line {n}" for n in range(60))), boat=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("2", "2")
        await settled(pilot)
        rows = app.screen.query_one(Rows)
        assert rows.highlighted is None
        await pilot.press("down", "down")
        assert rows.scroll_offset.y == 2
        await pilot.press("pagedown")
        assert rows.scroll_offset.y == 2 + rows.size.height - 1
        await pilot.press("end")
        assert rows.scroll_offset.y == rows.max_scroll_y > 0
        await pilot.press("home")
        assert rows.scroll_offset.y == 0


@pytest.mark.parametrize("theme", ["day", "night"])
async def test_the_first_frame_has_the_last_theme(theme: str) -> None:
    from sternwatch.console import state

    state.save(state.State(theme=theme))
    app = app_for()
    assert app.theme == theme  # before anything is painted
    async with app.run_test(size=(80, 24)):
        assert app.theme == theme
        assert str(app.screen.styles.background.hex).lower() == app.current_theme.background


async def test_my_boat_runs_dry_on_the_demo_and_what_prints_is_shown() -> None:
    beside = Beside(check="rod 1 (P HIGH): near its breaking load\n")
    app = app_for(beside, boat=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("2", "2")
        await settled(pilot)
        assert isinstance(app.screen, Page)
        assert beside.asked == [("check", str(places.boat_file()))]
        assert "near its breaking load" in str(app.screen.query_one(Rows).get_option_at_index(0).prompt)
        await pilot.press("escape", "2", "1")
    assert app.return_value is not None
    assert app.return_value[0] == "replay"
    assert app.return_value[1].endswith("evening.nmea")


async def test_a_command_that_fails_says_why() -> None:
    app = app_for(boat=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("2", "3")
        await settled(pilot)
        assert "no table here" in str(app.screen.query_one(Rows).get_option_at_index(0).prompt)


async def test_past_trips_newest_first() -> None:
    app = app_for(Beside(trip=TRIPS, debrief="7 hits\n"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("6")
        await settled(pilot)
        assert isinstance(app.screen, Pick)
        assert "hits 7" in str(app.screen.query_one(Rows).get_option_at_index(0).prompt)
        assert "hits –" in str(app.screen.query_one(Rows).get_option_at_index(1).prompt)  # not known, not none
        await pilot.press("1", "2")
    assert app.return_value == ("debrief", "20250719-b", "--screen")


async def test_the_drills_lengths_stand_in_one_column() -> None:
    app = app_for()
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("4")
        await settled(pilot)
        rows = [str(option.prompt) for option in app.screen.query_one(Rows).options][2:]
        assert len({row.index(" min  ") for row in rows}) == 1


async def test_no_trips_is_said() -> None:
    app = app_for()
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("6")
        await settled(pilot)
        assert app.screen.query_one(AnswerLine).words == "no trip here"


async def test_recordings_of_trips_and_of_this_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    app = app_for(boat=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("5")
        assert "no recording in this folder" in app.screen.query_one(AnswerLine).words
        (tmp_path / "notes.txt").write_text("buy line\n" * 9, encoding="utf-8")
        await pilot.press("5")
        assert "no recording in this folder" in app.screen.query_one(AnswerLine).words
        (tmp_path / "out.nmea").write_text("", encoding="utf-8")
        await pilot.press("5", "1")
    assert app.return_value == ("replay", str(tmp_path / "out.nmea"), "--spread", str(places.boat_file()))


async def test_a_text_with_a_feed_in_it_is_offered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    sentence = "$GPVTG,100.0,T,,M,2.0,N,3.7,K,A*2B\n"
    (tmp_path / "plotter.txt").write_text(f"plotter's memory card\n{sentence * 9}", encoding="utf-8")
    app = app_for(boat=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("5", "1")
    assert app.return_value == ("replay", str(tmp_path / "plotter.txt"), "--spread", str(places.boat_file()))


async def test_a_recording_of_frames_is_offered_as_what_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    log = tmp_path / "bus.candump"
    log.write_text("can0  09F50323   [8]  00 7B 00 FF FF 00 FF FF\n" * 9, encoding="utf-8")
    app = app_for(boat=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("5", "1")
    assert app.return_value == ("replay", f"n2k:{log}", "--spread", str(places.boat_file()))


PORTS = {
    "ports": [
        {"port": "/dev/ttyS7", "description": None, "baud": None, "problem": "silent"},
        {
            "port": "/dev/ttyS8",
            "description": "plotter",
            "baud": 4800,
            "sentences_per_s": {"RMC": 1.0},
            "problem": None,
        },
    ]
}


async def test_a_port_that_speaks_is_chosen_and_kept() -> None:
    app = app_for(Beside(ports=json.dumps(PORTS)), boat=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("3")
        await settled(pilot)
        rows = app.screen.query_one(Rows)
        assert "silent" in str(rows.get_option_at_index(0).prompt)
        assert "plotter" in str(rows.get_option_at_index(1).prompt)
        assert "4800 baud: RMC 1.0/s" in str(rows.get_option_at_index(1).prompt)
        await pilot.press("down", "enter")
    assert app.return_value == ("watch", str(places.boat_file()))
    assert load_preferences().feed == {"boat": {"source": "serial:/dev/ttyS8@4800"}}


async def test_a_source_is_typed_and_a_wrong_one_is_answered() -> None:
    app = app_for(Beside(ports='{"ports": []}'))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("3")
        await settled(pilot)
        assert "no serial port is there" in str(app.screen.query_one(Rows).get_option_at_index(0).prompt)
        app.screen.query_one(Input).value = "tcp:10110"
        await pilot.press("enter")
        assert "names no host" in app.screen.query_one(AnswerLine).words
        app.screen.query_one(Input).value = "udp:10110"
        await pilot.press("enter")
        assert isinstance(app.screen, PortsScreen)  # there is no boat yet
        assert "is kept" in app.screen.query_one(AnswerLine).words
        await pilot.press("escape")
    assert load_preferences().feed == {"boat": {"source": "udp:10110"}}


# -- setting up ----------------------------------------------------------------------------------------------------


def setting_up(*, every_question: bool = False) -> QuestionsApp:
    return setup_app(Preferences(), parse_shelf(""), places.boat_file(), every_question=every_question)


def asked(app: QuestionsApp) -> str:
    screen = app.screen_stack[0]
    assert isinstance(screen, QuestionsScreen)
    question = screen.interview.question
    return question.id if question is not None else ""


async def say(pilot: Pilot[bool], app: QuestionsApp, until: str, **said: str) -> None:
    """Answer with Enter, or what is said by the question's last word, until a question stands."""
    for _ in range(120):
        if asked(app) == until:
            return
        for letter in said.get(asked(app).rpartition(".")[2].replace(" ", "_"), ""):
            await pilot.press(letter)
        await pilot.press("enter")
    raise AssertionError(f"{until} was never asked")


async def test_set_up_by_enter_alone_but_for_the_beam() -> None:
    app = setting_up()
    async with app.run_test(size=(80, 24)) as pilot:
        await say(pilot, app, "end", beam="9")
        assert "question 20 of about 20" in app.screen.query_one(TopBar).about
        await pilot.press("1")  # that is all
        assert asked(app) == ""
        await pilot.press("enter")
    assert app.return_value is True
    spread = load_spread(places.boat_file())
    assert [rod.name for rod in spread.rods] == ["P BOARD", "P LOW", "P DOWN", "S DOWN", "S LOW", "S BOARD"]
    assert not (places.data_dir() / "drafts" / "setup.json").exists()


async def test_a_key_answers_how_many_with_its_own_number() -> None:
    """3 is three rods, not the third answer."""
    app = setting_up()
    async with app.run_test(size=(80, 24)) as pilot:
        await say(pilot, app, "how many port", beam="9")
        listed = app.screen.query_one(Rows).options
        assert [str(option.prompt).strip() for option in listed] == list("0123456")
        await pilot.press("9")  # no answer
        assert asked(app) == "how many port"
        await pilot.press("0")
        assert asked(app) == "how many starboard"
        await pilot.press("3")
        assert asked(app) == "how many centre"
        assert app.interview.answers["how many port"] == "0"
        assert app.interview.answers["how many starboard"] == "3"


async def test_why_an_answer_is_refused_is_said_whole() -> None:
    app = setting_up()
    async with app.run_test(size=(80, 24)) as pilot:
        await say(pilot, app, "beam")
        await pilot.press("enter")
        await pilot.pause()
        line = app.screen.query_one(AnswerLine)
        shown = " ".join("".join(cell.text for cell in line.render_line(y)).strip() for y in range(line.size.height))
        assert shown == "a length is wanted, in ft unless you write another unit"


async def test_a_boat_that_is_there_is_kept_and_that_is_said() -> None:
    places.boat_file().parent.mkdir(parents=True)
    places.boat_file().write_text("# the old one\n", encoding="utf-8")
    app = setting_up()
    app.interview.answers.update({"boat": "boat", "beam": "9 ft"})
    async with app.run_test(size=(80, 24)) as pilot:
        await say(pilot, app, "end")
        await pilot.press("1")
        assert "goes into the folder “earlier”" in str(app.screen.query_one("#words").render())
        await pilot.press("enter")
    assert [kept.read_text(encoding="utf-8") for kept in earlier(places.boat_file())] == ["# the old one\n"]


async def test_going_back_keeps_what_was_said_since() -> None:
    app = setting_up(every_question=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await say(pilot, app, "1.up", beam="9")
        await pilot.press("escape", "escape")
        assert asked(app) == "1.ahead"
        await pilot.press("2", "enter")
        assert asked(app) == "1.inside"  # the next one that was answered, for another look
        await pilot.press("enter")
        assert asked(app) == "1.up"
        assert app.interview.answers["1.ahead"] == "2 ft"


async def test_what_was_said_is_taken_up_the_next_time() -> None:
    app = setting_up(every_question=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await say(pilot, app, "1.lay", beam="9")
        await pilot.press("ctrl+q")
    again = setting_up(every_question=True)
    async with again.run_test(size=(80, 24)) as pilot:
        assert asked(again) == "1.lay"
        assert "are filled in" in again.screen.query_one(AnswerLine).words
        await pilot.press("question_mark")
        assert isinstance(again.screen, Page)


@pytest.mark.parametrize("wanted", ["boat", "beam", "speed"])
async def test_help_comes_where_an_answer_is_typed_too(wanted: str) -> None:
    app = setting_up()
    async with app.run_test(size=(80, 24)) as pilot:
        await say(pilot, app, wanted, beam="9")
        await pilot.press("7", "question_mark")
        assert isinstance(app.screen, Page)
        await pilot.press("escape")
        assert asked(app) == wanted
        assert app.screen.query_one(Input).value == "7", "what was typed stays"


async def test_help_comes_where_a_source_is_typed() -> None:
    app = app_for(Beside(ports='{"ports": []}'))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("3")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert isinstance(app.screen, PortsScreen)
        app.screen.query_one(Input).focus()
        await pilot.press("t", "question_mark")
        assert isinstance(app.screen, Page)


async def test_the_boat_is_drawn_as_it_grows_and_the_rig_pointed_at_from_the_side() -> None:
    app = setting_up()
    async with app.run_test(size=(80, 24)) as pilot:
        await say(pilot, app, "1.way", beam="9")
        drawing = app.screen.query_one(Drawing)
        assert "board out to a side" in drawing._grid.text()
        assert "? 1 |        | 6 ?" in drawing._grid.text()
        await pilot.press("up")
        await pilot.pause()
        assert "ball on a cable" in drawing._grid.text()
        await pilot.press("enter")
        assert "DOWN 1 |        | 6 DOWN" in drawing._grid.text()


async def test_too_small_a_window_says_what_it_needs_and_goes_on_when_it_has_room() -> None:
    app = setting_up()
    async with app.run_test(size=(60, 20)) as pilot:
        await pilot.pause()
        assert isinstance(app.screen, NeedsRoom)
        await pilot.resize_terminal(80, 24)
        await pilot.pause(0.1)
        assert isinstance(app.screen, QuestionsScreen)


async def test_what_cannot_be_is_answered_and_asked_again() -> None:
    app = setting_up()
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", "9", "0", "enter")
        assert asked(app) == "beam"
        assert app.screen.query_one(AnswerLine).words == "this wants 3.3 to 32 ft"


async def test_a_lure_is_put_on_the_shelf_by_questions() -> None:
    from sternwatch.gear.shelf.pieces import load_shelf, shelf_path

    app = shelf_app(Preferences(), load_shelf(), shelf_path())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("1", "2")  # a lure, a spoon
        await pilot.press(*"green", "enter", "4", "enter", *"frog", "enter", "enter")
        assert asked(app) == ""
        await pilot.press("enter")
    lure = load_shelf().lures["frog"]
    assert (lure.colour, lure.form) == ("green", "spoon")


@pytest.mark.parametrize("then", [Question("b", "B?", "", "choice", choices=("x",)), Question("b", "B?", "")])
async def test_an_answer_of_the_question_before_is_none_of_the_next(then: Question, tmp_path: Path) -> None:
    """Two quick Enters: the second answered the next question, or ended the program where it has fewer answers."""

    def script(asking: Asking) -> str:
        return asking.ask(Question("a", "A?", "", "choice", choices=("x", "y", "z"))) + asking.ask(then)

    interview = Interview(script, tmp_path / "kept.json")
    about = About("TWO", tmp_path / "made", (), "makes it")
    app = QuestionsApp(Preferences(), interview, about, lambda _made: "")
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.press("down", "down")
        rows = app.screen.query_one(Rows)
        rows.action_select()
        rows.action_select()
        await pilot.pause()
        assert interview.answers == {"a": "z"}
        assert interview.question is not None


async def test_a_page_of_a_list_that_has_no_room_yet_is_none(tmp_path: Path) -> None:
    """Pressed ashore, seed 850223: a quick key, before the list was laid out, ended the screen."""
    app = shelf_app(Preferences(), parse_shelf(""), tmp_path / "shelf.toml")
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        rows = app.screen.query_one("#choices", Rows)
        before = rows.highlighted
        assert before is not None
        rows.styles.width = 0
        await pilot.pause()
        rows.action_page_down()
        rows.action_page_up()
        assert rows.highlighted == before
        rows.styles.width = "1fr"
        await pilot.pause()
        rows.action_page_down()
        assert rows.highlighted == rows.option_count - 1
