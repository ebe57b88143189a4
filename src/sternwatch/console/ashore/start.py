"""The start screen: a list of what one can do. It returns the command that does it, and shows again afterwards."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import ClassVar

from textual import events, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import OptionList, Static

from sternwatch import places
from sternwatch.cautions import COLD, COLREG, COMPUTED, IN_CHARGE, KNOWS_NO
from sternwatch.config import Preferences
from sternwatch.console.ashore import start_words
from sternwatch.console.ashore.base import AnswerLine, AshoreApp, Key, KeyBar, Page, Pick, Rows, TopBar
from sternwatch.console.ashore.start_ports import PortsScreen
from sternwatch.console.ashore.start_words import Answered, Ask, Command, StartChoice
from sternwatch.feed.recording.speech_detection import spelled

CAUTIONS = (COMPUTED, IN_CHARGE, COLREG, COLD, KNOWS_NO)
_LINE_EACH = 30  # from this height on every caution begins a line

_KEYS = (
    Key("enter", "↑ ↓ Enter, 0–9", "choose", "nothing"),
    Key("n", "n", "night", "theme"),
    Key("question_mark", "?", "help", "help"),
    Key("escape", "Esc", "leave", "leave"),
)


class StartScreen(Screen[None], inherit_bindings=False):
    """The list of what one can do, each with its command."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *(key.binding() for key in _KEYS[1:]),
        Binding("q", "leave", show=False),
        *(Binding(str(n % 10), f"take({n - 1})", show=False) for n in range(1, 11)),
    ]

    def __init__(self, notice: str) -> None:
        super().__init__()
        self._notice = notice

    @property
    def start(self) -> StartApp:
        app = self.app
        assert isinstance(app, StartApp)  # only this application has this screen
        return app

    def compose(self) -> ComposeResult:
        yield TopBar("START")
        yield Static(Content(start_words.HEAD), id="words")
        yield Rows(id="choices")
        yield AnswerLine()
        yield Static(id="cautions")
        yield KeyBar(lambda: _KEYS)

    def on_mount(self) -> None:
        self._choices = start_words.choices(self.start.boat, self.start.preferences)
        wide = max(len(choice.words) for choice in self._choices) + 2
        lines = [
            (f"{number % 10} {choice.words:<{wide}}{choice.about}", True)
            for number, choice in enumerate(self._choices, 1)
        ]
        self.query_one(Rows).fill(lines, 0)
        self.query_one(Rows).focus()
        if self._notice:
            self.query_one(AnswerLine).tell(self._notice, wrong=True)

    def on_resize(self, event: events.Resize) -> None:
        """On a low screen the cautions run on in one paragraph, so that an answer has its lines above them."""
        apart = "\n" if event.size.height >= _LINE_EACH else " "
        self.query_one("#cautions", Static).update(Content(apart.join(CAUTIONS)))

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        self.action_take(event.option_index)

    def action_take(self, number: int) -> None:
        if number < len(self._choices):
            self._do(self._choices[number])

    def _do(self, choice: StartChoice) -> None:
        if choice.command is not None:
            self.app.exit(choice.command)
            return
        match choice.name:
            case "boat":
                self._boat()
            case "feed":
                self._feed()
            case "practice":
                self._practice()
            case "recording":
                self._recording()
            case "trips":
                self._trips()

    def say(self, words: str) -> None:
        self.query_one(AnswerLine).tell(words)

    def _pick(self, title: str, offers: Sequence[StartChoice]) -> None:
        """Choose a command. One that prints shows on a page; any other is run."""
        by_words = {offer.words: offer for offer in offers}

        def take(words: str | None) -> None:
            if words is None:
                return
            offer = by_words[words]
            assert offer.command is not None  # every offer has one
            if offer.printed:
                self.show_printed(offer.words, offer.command)
            else:
                self.app.exit(offer.command)

        self.app.push_screen(Pick(title, list(by_words), [offer.about for offer in offers]), take)

    # -- what needs another question -----------------------------------------------------------------------

    def _boat(self) -> None:
        self._pick("my boat", start_words.boat_offers(self.start.boat, self.start.preferences))

    def _feed(self) -> None:
        def connected(command: Command | None) -> None:
            if command is not None:
                self.app.exit(command)

        self.app.push_screen(PortsScreen(self.start.ask, self.start.boat), connected)

    def _practice(self) -> None:
        from sternwatch.practice.drills.files import all_drills

        drills, wrong = all_drills()
        offers = start_words.practice_offers(drills)
        if wrong:
            self.say(wrong[0])
        self._pick("practice", offers)

    def _recording(self) -> None:
        found = start_words.recordings(places.data_dir() / "recordings", Path.cwd())
        if not found:
            self.say('no recording in this folder and none of a trip; "sternwatch replay FILE" opens any other')
            return
        spread = self.start.boat if self.start.boat.exists() else places.shipped("demo_logs") / "evening.toml"
        whose = "your boat's spread" if self.start.boat.exists() else "the demo's spread; you have no boat yet"
        offers = [
            StartChoice("recording", path.name, words, ("replay", spelled(path), "--spread", str(spread)))
            for path, words in found
        ]
        self._pick(f"a recording, played with {whose}", offers)

    @work(thread=True, exclusive=True)
    def _trips(self) -> None:
        self.app.call_from_thread(self.say, "reading the logbook …")
        answered = self.start.ask(("trip", "list", "--json"))
        self.app.call_from_thread(self._trips_found, answered)

    def _trips_found(self, answered: Answered) -> None:
        self.say("")
        loggers = start_words.logger_files(Path.cwd(), Path.home() / "Downloads")
        offers = start_words.trip_offers(answered.out, loggers) if answered.code == 0 else []
        if not offers:
            self.say(
                start_words.last_line(answered.err).removeprefix("sternwatch: ")
                or "no trip yet: the logbook is empty"
            )
            return
        titles = list(dict.fromkeys(offer.name for offer in offers))

        def take(title: str | None) -> None:
            if title is not None:
                self._pick(title, [offer for offer in offers if offer.name == title])

        self.app.push_screen(Pick("past trips, the newest first", titles), take)

    # -- commands that print -------------------------------------------------------------------------------

    @work(thread=True, exclusive=True)
    def show_printed(self, title: str, command: Command) -> None:
        """Run a command beside the screen and show its output."""
        self.app.call_from_thread(self.say, f"{start_words.spoken(command)} …")
        answered = self.start.ask(command)
        self.app.call_from_thread(self._printed, title, command, answered)

    def _printed(self, title: str, command: Command, answered: Answered) -> None:
        self.say("")
        text = answered.out if answered.code == 0 else answered.err or answered.out
        self.app.push_screen(Page(f"{title} · {start_words.spoken(command)}", text.splitlines(), wrap=False))

    # -- keys ----------------------------------------------------------------------------------------------

    def action_theme(self) -> None:
        self.start.next_theme()

    def action_help(self) -> None:
        self.app.push_screen(Page("START", start_words.HELP))

    def action_leave(self) -> None:
        self.app.exit(None)

    def action_nothing(self) -> None:
        """Nothing: the bar only names what the arrows do."""


class StartApp(AshoreApp[Command]):
    """The start screen. Its result is a command line, or None to leave. ``ask`` runs a command that prints."""

    def __init__(self, preferences: Preferences, ask: Ask, notice: str = "", boat: Path | None = None) -> None:
        super().__init__(preferences)
        self.ask, self.notice = ask, notice
        self.boat = boat or places.boat_file()

    def get_default_screen(self) -> StartScreen:
        return StartScreen(self.notice)
