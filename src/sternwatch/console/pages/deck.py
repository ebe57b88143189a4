"""The page about the deck's page: its address, as a code to scan, and how many phones listen."""

from __future__ import annotations

from itertools import zip_longest
from typing import TYPE_CHECKING

from sternwatch.cautions import COMPUTED
from sternwatch.console.frame.scrolled import Line, Scrolled, ScrolledScreen
from sternwatch.console.words.text import wrapped

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from sternwatch.deck.deck import Deck

NONE = (
    'There is no page for the deck. "deck page" in the palette begins one for this machine, "deck page for phones" '
    "one for the boat's network."
)
_READ_ONLY = "It only shows: nothing that a phone sends can change anything here."
_WHO = "Whoever has this address can read it. The next session has a new one."
_HERE = 'Only this machine can open it. "deck page for phones" in the palette opens it to the boat\'s network.'
_DIMS = "A phone goes dark after its own time; the page says how to lengthen that."


_NO_CODE = "Type the address into a phone's browser: this terminal cannot draw a code to scan."


def page(deck: Deck | None, width: int, *, light_ink: bool, plain: bool = False, why_none: str = "") -> list[Line]:
    """The lines of the page. ``light_ink``: characters are lighter than their ground. ``plain``: ASCII alone."""
    if deck is None:
        why = [*_paragraph(f"{why_none}.", 1, width, "warning"), ()] if why_none else []
        return [*why, *_paragraph(NONE, 1, width, "state")]
    if not deck.runs:
        return _paragraph(
            "The page for the deck has stopped; the log says why. End it and begin it again.", 1, width, "warning"
        )
    code: list[str] = []
    if deck.where.lan and not plain:
        from sternwatch.deck.qr import code_lines

        code = code_lines(deck.url, light_ink=light_ink)
    at = len(code[0]) + 4 if code and width >= len(code[0]) + 30 else 1
    phones = "nobody" if not deck.phones else "1 phone" if deck.phones == 1 else f"{deck.phones} phones"
    beside: list[Line] = [((at, f"{phones} listening", "number"),), ()]
    where = _HERE if not deck.where.lan else _NO_CODE if plain else ""
    for text in ((where,) if where else ()) + (_READ_ONLY, _WHO, _DIMS):
        beside += [*_paragraph(text, at, width, "text"), ()]
    beside += _paragraph(
        "The boat's position is sent too." if deck.positions else "The boat's position is not sent.",
        at,
        width,
        "text",
    )
    beside += [(), *_paragraph(COMPUTED, at, width, "label")]
    head: list[Line] = [((1, deck.url, "number"),)]
    drawn: list[Line] = [((1, line, "text"),) for line in code]
    if at == 1:
        return [*head, (), *beside, (), *drawn]
    return [*head, *(left + right for left, right in zip_longest(drawn, beside, fillvalue=()))]


def _paragraph(text: str, at: int, width: int, ink: str) -> list[Line]:
    return [((at, line, ink),) for line in wrapped(text, max(width - at - 1, 20), 6)]


class DeckText(Scrolled):
    """The page."""

    def lines(self, width: int) -> list[Line]:
        text = self.look.style("text")
        ink, ground = (None if colour is None else colour.get_truecolor() for colour in (text.color, text.bgcolor))
        light = ink is not None and ground is not None and sum(ink) > sum(ground)
        mate, plain = self.watch_app.deck_mate, self.look.glyphs == "plain"
        return page(mate.deck, width, light_ink=light, plain=plain, why_none=mate.why_none)


class DeckScreen(ScrolledScreen):
    """The page over any session. Rod keys still enter hits."""

    words = "DECK PAGE"

    def body(self) -> ComposeResult:
        yield DeckText()
