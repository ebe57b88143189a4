"""The manual over a session. Letters search it, and rod keys still enter hits."""

from __future__ import annotations

from string import ascii_lowercase
from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Markdown

from sternwatch.console.frame.alerts_area import WorstAlert
from sternwatch.console.frame.watch_screen import WatchScreen
from sternwatch.console.paint.hiding import key_names
from sternwatch.console.paint.look import look_of
from sternwatch.console.words.manual import every_page
from sternwatch.manual.book import Found, Page, search

HINT = "page {at} of {count} · type to search"
PLACE = "{at} of {count}, on the page *{title}*"
NOTHING = "nothing about that in the manual; Backspace takes letters back"


class ManualScreen(WatchScreen):
    """One page at a time, or one of the places where the words typed occur."""

    words = "MANUAL"
    foot = (("letters", "search"), ("← →", "another page"), ("↑ ↓ PgUp PgDn", "move"))
    shows_picture = False
    own_keys: ClassVar[tuple[str, ...]] = (
        "left", "right", "up", "down", "pageup", "pagedown", "home", "end", "backspace", "space", *ascii_lowercase,
    )  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self.at = 0  # the page, or while searching the place
        self.wanted = ""
        self._page = 0  # the page to come back to after a search
        self._pages: tuple[Page, ...] = ()
        self._found: list[Found] = []

    @property
    def pages(self) -> tuple[Page, ...]:
        """All pages, read at first use."""
        if not self._pages:
            self._pages = every_page()
        return self._pages

    def above(self) -> ComposeResult:
        yield WorstAlert(units=self.watch_app.controls.units)

    def body(self) -> ComposeResult:
        with VerticalScroll(id="reading", can_focus=False):
            yield Markdown(id="text", open_links=False)

    def on_mount(self) -> None:
        self._tell()
        self.app.theme_changed_signal.subscribe(self, lambda _theme: self._tell())

    def _text(self) -> str:
        if not self.wanted:
            return f"*{HINT.format(at=self.at + 1, count=len(self.pages))}*\n\n{self.pages[self.at].text}"
        typed = f"**{self.wanted}_**"
        if not self._found:
            return f"{typed} {NOTHING}"
        found = self._found[self.at]
        place = PLACE.format(at=self.at + 1, count=len(self._found), title=found.page.title)
        return f"{typed} {place}\n\n{found.text}"

    def _search(self, wanted: str) -> None:
        """Show the first place where ``wanted`` occurs; without words, the page that was shown before."""
        if not self.wanted:
            self._page = self.at
        self.wanted = wanted
        self._found = search(self.pages, wanted)
        self.at = 0 if wanted else self._page

    def key(self, token: str) -> bool:
        reading = self.query_one("#reading", VerticalScroll)
        moves = {
            "up": reading.scroll_up, "down": reading.scroll_down, "pageup": reading.scroll_page_up,
            "pagedown": reading.scroll_page_down, "home": reading.scroll_home, "end": reading.scroll_end,
        }  # fmt: skip
        if token in moves:
            moves[token](animate=False)
            return True
        if token in ("left", "right"):
            count = max(len(self._found if self.wanted else self.pages), 1)
            self.at = (self.at + (1 if token == "right" else -1)) % count
        elif len(token) == 1 and token.isalpha():
            self._search(self.wanted + token)
        elif token == "space" and self.wanted:
            self._search(f"{self.wanted} ")
        elif token == "backspace":
            self._search(self.wanted[:-1])
        else:
            return False
        self._show()
        return True

    def _tell(self) -> None:
        text = key_names(self._text(), look_of(self.app.current_theme).glyphs)
        self.query_one("#text", Markdown).update(text)

    def _show(self) -> None:
        self._tell()
        self.query_one("#reading", VerticalScroll).scroll_home(animate=False)

    def on_screen_suspend(self) -> None:
        if self.wanted:
            self._search("")
            self._show()
