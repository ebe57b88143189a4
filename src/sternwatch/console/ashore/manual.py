"""The manual on the screen: contents and search on the left, the page on the right."""

from __future__ import annotations

from pathlib import Path
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Input, Markdown, OptionList

from sternwatch.config import Preferences
from sternwatch.console.ashore.base import AshoreApp, Key, KeyBar, Rows, TopBar
from sternwatch.console.paint.hiding import key_names
from sternwatch.console.paint.look import look_of
from sternwatch.manual.book import Page, search

_KEYS = (
    Key("slash", "/", "search", "look"),
    Key("enter", "↑ ↓ Enter", "open", "nothing"),
    Key("tab", "Tab", "contents or page", "nothing"),
    Key("n", "n", "night", "theme"),
    Key("escape", "Esc", "back, leave", "away"),
)
_MOST = 40


class ManualApp(AshoreApp[None]):
    """The manual alone. Typing in the search shows where the words occur; Enter opens the first place."""

    CSS_PATH: ClassVar[Any] = [*AshoreApp.CSS_PATH, Path(__file__).parents[1] / "help.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("slash", "look", show=False),
        Binding("n", "theme", show=False),
        Binding("escape", "away", show=False),
        Binding("q", "away", show=False),
    ]

    def __init__(self, preferences: Preferences, pages: tuple[Page, ...], page: str = "") -> None:
        super().__init__(preferences)
        self.pages = pages
        self._shown: list[tuple[str, str]] = []  # for each row: the text that it opens, and the words of the top bar
        self._first = page

    def compose(self) -> ComposeResult:
        yield TopBar("MANUAL")
        with Horizontal(id="manual"):
            with Vertical(id="contents"):
                yield Input(placeholder="/ search", id="search")
                yield Rows(id="deeds")
            with VerticalScroll(id="reading"):
                yield Markdown(id="text", open_links=False)
        yield KeyBar(lambda: _KEYS)

    def on_resize(self) -> None:
        self.screen_stack[0].query_one("#contents").set_class(self.size.width < 100, "narrow")

    def on_mount(self) -> None:
        self._contents()
        at = next((i for i, page in enumerate(self.pages) if page.name == self._first), 0)
        self.query_one(Rows).highlighted = at
        self.query_one(Rows).focus()
        self._open(at)

    def _contents(self) -> None:
        self._shown = [(page.text, page.title) for page in self.pages]
        self.query_one(Rows).fill([(page.title, True) for page in self.pages], 0)

    def on_input_changed(self, event: Input.Changed) -> None:
        words = event.value.strip()
        if not words:
            self._contents()
            return
        found = search(self.pages, words)[:_MOST]
        self._shown = [(one.text, one.page.title) for one in found]
        rows = [(f"{one.heading} ({one.page.name})", True) for one in found]
        self.query_one(Rows).fill(rows or [("nothing found", False)], 0)
        if found:
            self._open(0)

    def on_input_submitted(self) -> None:
        self.query_one(Rows).focus()

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        self._open(event.option_index)

    def on_option_list_option_selected(self) -> None:
        self.query_one("#reading").focus()

    def _open(self, row: int) -> None:
        if row < len(self._shown):
            text, title = self._shown[row]
            glyphs = look_of(self.current_theme).glyphs
            self.query_one("#text", Markdown).update(key_names(text, glyphs))
            self.query_one(TopBar).tell(title)
            self.query_one("#reading").scroll_home(animate=False)

    def action_look(self) -> None:
        """Go to the search."""
        self.query_one(Input).focus()

    def action_theme(self) -> None:
        """Switch to the next theme: night, dusk, day."""
        self.next_theme()
        if (at := self.query_one(Rows).highlighted) is not None:
            self._open(at)

    def action_away(self) -> None:
        """Go from the search or the page to the contents, and from the contents out."""
        search_line = self.query_one(Input)
        if search_line.value:
            search_line.value = ""
            self.query_one(Rows).focus()
        elif self.query_one(Rows).has_focus:
            self.exit()
        else:
            self.query_one(Rows).focus()

    def action_nothing(self) -> None:
        """Nothing: the list itself does what the key says."""
