"""The manual over a session. Rod keys still enter hits. Left and right change the page, up and down move it."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Markdown

from sternwatch.console.frame.alerts_area import WorstAlert
from sternwatch.console.frame.watch_screen import WatchScreen
from sternwatch.console.words.manual import made_pages
from sternwatch.manual.book import Page, written

HINT = "page {at} of {count}"


class ManualScreen(WatchScreen):
    """One page at a time."""

    words = "MANUAL"
    foot = (("← →", "another page"), ("↑ ↓ PgUp PgDn", "move"))
    shows_picture = False
    own_keys: ClassVar[tuple[str, ...]] = ("left", "right", "up", "down", "pageup", "pagedown", "home", "end")

    def __init__(self) -> None:
        super().__init__()
        self.at = 0
        self._pages: tuple[Page, ...] = ()

    @property
    def pages(self) -> tuple[Page, ...]:
        """The pages that people have written and those made from the program, read at first use."""
        if not self._pages:
            self._pages = (*written(), *made_pages())
        return self._pages

    def above(self) -> ComposeResult:
        yield WorstAlert(units=self.watch_app.controls.units)

    def body(self) -> ComposeResult:
        with VerticalScroll(id="reading", can_focus=False):
            yield Markdown(self._text(), id="text", open_links=False)

    def _text(self) -> str:
        page = self.pages[self.at]
        return f"*{HINT.format(at=self.at + 1, count=len(self.pages))}*\n\n{page.text}"

    def key(self, token: str) -> bool:
        reading = self.query_one("#reading", VerticalScroll)
        moves = {
            "up": reading.scroll_up, "down": reading.scroll_down, "pageup": reading.scroll_page_up,
            "pagedown": reading.scroll_page_down, "home": reading.scroll_home, "end": reading.scroll_end,
        }  # fmt: skip
        if token in ("left", "right"):
            self.at = (self.at + (1 if token == "right" else -1)) % len(self.pages)
            self.query_one("#text", Markdown).update(self._text())
            reading.scroll_home(animate=False)
        elif token in moves:
            moves[token](animate=False)
        else:
            return False
        return True
