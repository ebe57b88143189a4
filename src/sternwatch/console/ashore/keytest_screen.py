"""The key test's screens: the key for one act, and the key of every rod in turn."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.screen import ModalScreen

from sternwatch import settings
from sternwatch.config import ConfigError, Preferences
from sternwatch.console.ashore.base import AnswerLine, AshoreApp, Key, KeyBar, LeftOnce, TopBar
from sternwatch.console.keys import keymap
from sternwatch.console.keys.acting import STATIONS
from sternwatch.console.keys.keytest import BACK, END, SKIP, KeyTest
from sternwatch.console.keys.tokens import printed, token_of
from sternwatch.console.paint.canvas import Grid, Painted
from sternwatch.console.paint.hiding import key_names
from sternwatch.console.paint.look import look_of
from sternwatch.console.words.text import wrapped


class Asking(Painted):
    """The question, in the middle of the screen."""

    def __init__(self) -> None:
        super().__init__()
        self.words: tuple[str, ...] = ()

    def tell(self, *words: str) -> None:
        self.words = words
        self.repaint()

    def draw(self, grid: Grid) -> None:
        lines = [(line, n == 0) for n, text in enumerate(self.words) for line in wrapped(text, grid.width - 4, 3)]
        top = max((grid.height - len(lines)) // 3, 0)
        for y, (line, first) in enumerate(lines):
            grid.put(max((grid.width - len(line)) // 2, 0), top + y, line, "chosen" if first else "text")


class KeyScreen(LeftOnce[str | None], ModalScreen[str | None]):
    """Takes the next key, whatever it is. Esc cancels."""

    def __init__(self, about: str) -> None:
        super().__init__()
        self.about = about

    def compose(self) -> ComposeResult:
        yield TopBar("KEYS")
        yield Asking()

    def on_mount(self) -> None:
        self.query_one(Asking).tell(f"Press {self.about}", "Esc keeps the one it has")

    def on_key(self, event: events.Key) -> None:
        event.stop()
        event.prevent_default()
        token = token_of(event.key, event.character)
        self.dismiss(None if token == END else token)


class KeyTestScreen(LeftOnce[str], inherit_bindings=False):
    """Asks for every rod's key. At the end, or on Esc, it writes the keys found. Its result is the answer line."""

    BINDINGS: ClassVar[list[BindingType]] = []

    def __init__(self, preferences: Preferences, rods: Sequence[tuple[str, str]]) -> None:
        super().__init__()
        self.test = KeyTest(rods, keymap.build(preferences.keys))

    def compose(self) -> ComposeResult:
        yield TopBar("KEY TEST")
        yield Asking()
        yield AnswerLine()
        yield KeyBar(self.offered)

    def on_mount(self) -> None:
        self.renew()

    def offered(self) -> Sequence[Key]:
        """The keys that lead through the test."""
        end = Key(END, "Esc", "ends, and writes what was found" if self.test.changes else "ends", "end")
        if self.test.done:
            return (Key(BACK, "Backspace", "back", "back"), end)
        return (Key(SKIP, "Enter", "keeps the number", "skip"), Key(BACK, "Backspace", "back", "back"), end)

    def renew(self) -> None:
        """Show the question and the answers so far."""
        found = [f"{one.words}: {printed(one.token)}" for one in self.test.asked if one.token is not None]
        then = "Now every key that you press says what it means." if self.test.done else ""
        listed = key_names(" · ".join(found), look_of(self.app.current_theme).glyphs)
        self.query_one(Asking).tell(self.test.prompt, then, "", listed)
        self.query_one(AnswerLine).tell(self.test.said)
        self.query_one(KeyBar).repaint()

    def on_key(self, event: events.Key) -> None:
        event.stop()
        event.prevent_default()
        token = token_of(event.key, event.character)
        if token == END:
            self.action_end()
        else:
            self.test.press(token)
            self.renew()

    def action_skip(self) -> None:
        self.test.press(SKIP)
        self.renew()

    def action_back(self) -> None:
        self.test.press(BACK)
        self.renew()

    def action_end(self) -> None:
        """Write the keys found. If two rods have one key, say so and write nothing."""
        try:
            self.dismiss(write(self.test.changes))
        except ConfigError as fault:
            self.query_one(AnswerLine).tell(str(fault), wrong=True)
            self.test.at = 0


def write(changes: dict[str, str | list[str]]) -> str:
    """Put keys into the preferences, all or none. Returns the words to show. Raises ``ConfigError``."""
    if not changes:
        return "The keys are as they were"
    settings.change_all({("keys", act_id): key for act_id, key in changes.items()}, check=keymap.check)
    many = sum(isinstance(key, str) for key in changes.values())
    return f"Written: another key for {many} rod{'s' if many != 1 else ''}, in {settings.config_path()}"


class KeyTestApp(AshoreApp[str]):
    """The key test alone."""

    def __init__(self, preferences: Preferences, rods: Sequence[tuple[str, str]]) -> None:
        super().__init__(preferences)
        self.rods = rods

    def on_mount(self) -> None:
        self.push_screen(KeyTestScreen(self.preferences, self.rods), self.exit)


NUMBER_ROW = tuple((key, "") for key in STATIONS)
"""What is asked for while there is no spread."""
