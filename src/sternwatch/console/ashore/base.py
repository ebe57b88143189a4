"""The common parts of screens off the water: themes from the first frame on, a title, keys to click, lists."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, ClassVar, Generic, TypeVar

from textual import events, on
from textual.app import ComposeResult
from textual.await_complete import AwaitComplete
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import ModalScreen, Screen
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from sternwatch.config import Preferences
from sternwatch.console import state
from sternwatch.console.frame.terminal_gone import ends_with_terminal
from sternwatch.console.paint import themes
from sternwatch.console.paint.canvas import Grid, Painted
from sternwatch.console.paint.hiding import HidingApp, key_names
from sternwatch.console.paint.look import Glyphs, look_of
from sternwatch.console.paint.terminal import LEAST_HEIGHT, LEAST_WIDTH
from sternwatch.console.words.text import wrapped

Result = TypeVar("Result")


class AshoreApp(HidingApp[Result], Generic[Result], inherit_bindings=False):
    """A separate application, before or after a session. ``n`` changes the theme as on the water."""

    TITLE = "sternwatch"
    CSS_PATH: ClassVar[Any] = [Path(__file__).with_name("ashore.tcss")]  # absolute: subclasses have other folders
    ENABLE_COMMAND_PALETTE = False
    ALLOW_SELECT = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding("ctrl+q", "quit", "quit", priority=True)]

    def __init__(self, preferences: Preferences) -> None:
        super().__init__()
        self.preferences = preferences
        self.remembered = state.load()
        self.loaded_themes = themes.install(self)
        themes.begin(self, self.loaded_themes, preferences.theme, self.remembered.theme)

    def run(self, **given: Any) -> Result | None:
        """As the application's, but the process ends within seconds after its terminal."""
        with ends_with_terminal(self):
            return super().run(**given)

    @on(events.Resize)
    def _see_room(self, event: events.Resize) -> None:
        """Show a message instead of overlapping lines where the window is too small."""
        small = event.size.width < LEAST_WIDTH or event.size.height < LEAST_HEIGHT
        shown = isinstance(self.screen, NeedsRoom)
        if small and not shown:
            self.push_screen(NeedsRoom())
        elif shown and not small:
            self.pop_screen()

    def next_theme(self) -> None:
        """Switch to the next theme (night, dusk, day) and remember it for the next start."""
        self.theme = themes.following(self.loaded_themes, self.theme).name
        self.remembered = replace(self.remembered, theme=self.theme)
        state.save(self.remembered)


class LeftOnce(Screen[Result]):
    """A screen that is left once: a key or choice that was on its way meanwhile leaves no other screen."""

    def dismiss(self, result: Result | None = None) -> AwaitComplete:
        return super().dismiss(result) if self.is_active else AwaitComplete()


class NeedsRoom(ModalScreen[None]):
    """Fills the screen where the window is too small for it."""

    def compose(self) -> ComposeResult:
        yield _Needs()


class _Needs(Painted):
    def draw(self, grid: Grid) -> None:
        sign = "x" if self.look.glyphs == "plain" else "×"
        lines = (
            (f"needs {LEAST_WIDTH}{sign}{LEAST_HEIGHT}", "number"),
            (f"this window has {grid.width} by {grid.height}", "text"),
            ("Make the window larger, or its letters smaller. Ctrl+Q leaves.", "text"),
        )
        y = max((grid.height - len(lines)) // 2, 0)
        for row, (text, ink) in enumerate(lines):
            grid.put_middle(0, y + row, grid.width, text, ink)


@dataclass(frozen=True, slots=True)
class Key:
    """A key of a screen: the key, its print in the footer, what it does there, and its action."""

    key: str
    label: str
    words: str
    action: str

    def binding(self) -> Binding:
        return Binding(self.key, self.action, self.words, show=False)


class TopBar(Painted):
    """The top edge: the screen's name and its subject."""

    def __init__(self, words: str) -> None:
        super().__init__()
        self.words, self.about = words, ""

    def tell(self, about: str) -> None:
        self.about = about
        self.repaint()

    def draw(self, grid: Grid) -> None:
        grid.fill(0, 0, grid.width, 1, "─" if self.look.glyphs != "plain" else "-", "rule")
        x = grid.put(1, 0, " sternwatch ", "text")
        grid.put(x + 2, 0, f" {self.words} ", "state")
        if self.about:
            grid.put_right(grid.width - 1, 0, f" {self.about[: max(grid.width - len(self.words) - 24, 4)]} ", "text")


class AnswerLine(Painted):
    """What may be typed on the row, or the answer to the last key: as many lines as it needs, at most three."""

    def __init__(self) -> None:
        super().__init__()
        self._words, self._wrong = "", False

    @property
    def words(self) -> str:
        """The present text."""
        return self._words

    def tell(self, words: str, *, wrong: bool = False) -> None:
        self._words, self._wrong = words, wrong
        self._fit()
        self.repaint()

    def on_resize(self) -> None:
        self._fit()

    def _fit(self) -> None:
        self.styles.height = max(len(self._lines(self.size.width)), 1)

    def _lines(self, width: int) -> list[str]:
        return textwrap.wrap(
            key_names(self._words, self.look.glyphs), max(width - 2, 20), max_lines=3, placeholder=" …"
        )

    def draw(self, grid: Grid) -> None:
        for y, line in enumerate(self._lines(grid.width)):
            grid.put(1, y, line, "alarm" if self._wrong else "text")


class KeyBar(Painted):
    """One line of the keys that work here, the last two always: help and the way out. Each can be clicked."""

    def __init__(self, keys: Callable[[], Sequence[Key]]) -> None:
        super().__init__()
        self._offered = keys
        self._spans: list[tuple[int, int, Key]] = []  # first and last cell

    def draw(self, grid: Grid) -> None:
        self._spans = []
        offered, x = list(self._offered()), 1
        glyphs = self.look.glyphs
        kept = sum(_cells(key, glyphs) + 2 for key in offered[-2:])
        for number, key in enumerate(offered):
            if number < len(offered) - 2 and x + _cells(key, glyphs) + 2 + kept > grid.width + 1:
                continue
            at = grid.put(x, 0, key_names(key.label, glyphs), "key") + 1
            end = grid.put(at, 0, key.words, "act")
            self._spans.append((x, end, key))
            x = end + 2

    async def on_click(self, event: events.Click) -> None:
        for first, last, key in self._spans:
            if first <= event.x < last:
                await self.screen.run_action(key.action)
                return


def _cells(key: Key, glyphs: Glyphs) -> int:
    return len(key_names(key.label, glyphs)) + 1 + len(key.words)


class AskInput(Input):
    """A line to type an answer on. ? asks for help even there: no answer needs one."""

    def check_consume_key(self, key: str, character: str | None) -> bool:
        return character != "?" and super().check_consume_key(key, character)


class Rows(OptionList):
    """A list of rows that keeps its place when it is refilled."""

    def action_page_up(self) -> None:
        """A page up, unless the list has no room yet: a quick key comes before it is laid out."""
        if self.scrollable_content_region.area:
            super().action_page_up()  # type: ignore[no-untyped-call]

    def action_page_down(self) -> None:
        """A page down, likewise."""
        if self.scrollable_content_region.area:
            super().action_page_down()  # type: ignore[no-untyped-call]

    def fill(self, rows: Sequence[tuple[str, bool]], at: int | None = None) -> None:
        """Fill the list. ``rows``: text, and whether one can choose it. ``at``: the row to select, else as before."""
        before = self.highlighted if at is None else at
        with self.prevent(OptionList.OptionHighlighted):  # the user did not move: the row needs no answer
            self.clear_options()
            self.add_options([Option(Content(text), disabled=not live) for text, live in rows])
            live_rows = [i for i, (_, live) in enumerate(rows) if live]
            if live_rows:
                wanted = before if before is not None else live_rows[0]
                self.highlighted = min(live_rows, key=lambda i: abs(i - wanted))


def stale(event: OptionList.OptionMessage) -> bool:
    """Whether its list was hidden or filled anew since the message was sent, as by the first of two quick keys."""
    listed, at = event.option_list, event.option_index
    return not listed.display or at >= listed.option_count or listed.get_option_at_index(at) is not event.option


_AROUND = 6  # cells beside a row: its margins and the scroll bar


class Pick(LeftOnce[str | None], ModalScreen[str | None]):
    """A list to choose one thing from, by arrows and Enter, its number, or the mouse. Esc cancels."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss_none", show=False),
        *(Binding(str(n % 10), f"take({n - 1})", show=False) for n in range(1, 11)),
    ]

    def __init__(self, title: str, choices: Sequence[str], notes: Sequence[str] = (), at: str = "") -> None:
        super().__init__()
        self._title, self._choices, self._notes, self._at = title, list(choices), list(notes), at

    def compose(self) -> ComposeResult:
        yield Static(Content(f"{self._title}   (Enter takes, Esc drops)"), id="pick-title")
        yield Rows(id="pick")

    def on_mount(self) -> None:
        wide = max((len(choice) for choice in self._choices), default=0) + 2
        rows = []
        begin = wide + 2  # the cell of every note, on its further lines too
        room = max(self.app.size.width - begin - _AROUND, 20)
        for number, choice in enumerate(self._choices):
            label = f"{(number + 1) % 10} " if number < 10 else "  "
            note = self._notes[number] if number < len(self._notes) else ""
            if len(note) > room and "  " not in note:  # what has columns stays as it is
                note = f"\n{' ' * begin}".join(wrapped(note, room, 4))
            rows.append((f"{label}{choice:<{wide}}{note}", True))
        at = self._choices.index(self._at) if self._at in self._choices else 0
        for listed in self.query(Rows):  # none where it was left at once
            listed.fill(rows, at)
            listed.focus()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        self.dismiss(self._choices[event.option_index])

    def action_take(self, index: int) -> None:
        if index < len(self._choices):
            self.dismiss(self._choices[index])

    def action_dismiss_none(self) -> None:
        self.dismiss(None)


_MOVES = ("up", "down", "pageup", "pagedown", "home", "end")


class Page(LeftOnce[None], ModalScreen[None]):
    """A page of text to read: help, or a command's output."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *(Binding(key, "dismiss_none", show=False) for key in ("escape", "q", "question_mark", "enter")),
        *(Binding(key, f"move('{key}')", show=False) for key in _MOVES),
    ]

    def __init__(self, title: str, paragraphs: Sequence[str], *, wrap: bool = True) -> None:
        super().__init__()
        self._title, self._paragraphs, self._wrap = title, list(paragraphs), wrap

    def compose(self) -> ComposeResult:
        yield Static(Content(f"{self._title}   ({self._named('↓ ↑')} scroll, Esc goes back)"), id="pick-title")
        rows = Rows(id="page")
        rows.can_focus = False  # nothing is chosen here: arrows move the page at once
        yield rows

    def _named(self, text: str) -> str:
        return key_names(text, look_of(self.app.current_theme).glyphs)

    def action_move(self, how: str) -> None:
        rows = self.query_one(Rows)
        page = max(rows.size.height - 1, 1)
        whole = rows.max_scroll_y
        steps = {"up": -1, "down": 1, "pageup": -page, "pagedown": page, "home": -whole, "end": whole}
        rows.scroll_relative(y=steps[how], animate=False, immediate=True)

    def on_resize(self) -> None:
        """Break the lines for the new width."""
        width = max(self.size.width - 6, 30)
        lines: list[str] = []
        for text in map(self._named, self._paragraphs):
            lines += [*wrapped(text, min(width, 96), 99), ""] if self._wrap else [text]
        rows = self.query_one(Rows)
        rows.fill([(line, True) for line in lines] or [("nothing", True)])
        rows.highlighted = None

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        event.stop()

    def action_dismiss_none(self) -> None:
        self.dismiss(None)
