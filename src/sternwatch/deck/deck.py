"""The deck's page for a session: begins it, gives it moments of the helm's screen, ends it."""

from __future__ import annotations

import importlib.util
import time
from pathlib import Path
from typing import TYPE_CHECKING

from sternwatch.deck.where import DeckError, Where, address_of, url_of
from sternwatch.extras import missing

if TYPE_CHECKING:
    from sternwatch.deck.shown import Shown

NEEDS = ("uvicorn", "segno")


def check_installed() -> None:
    """Raise :class:`DeckError` where a package is missing."""
    if any(importlib.util.find_spec(name) is None for name in NEEDS):
        raise DeckError(missing("the deck's page", "deck"))


class Deck:
    """A page that phones can open while this object runs."""

    def __init__(
        self, where: Where, session: str, folder: Path, *, positions: bool = False, anew: bool = False
    ) -> None:
        """``session``: its kind. ``folder``: the place of its token. ``anew``: never reuse a token.

        Raises :class:`DeckError`.
        """
        check_installed()
        address = address_of(where)
        from sternwatch.deck.access import take_up
        from sternwatch.deck.fan import Fan
        from sternwatch.deck.server import Server, listen

        self.where, self.positions = where, positions
        self._folder = folder
        listening = listen(address, where.port)  # before overwriting another session's token
        self._token = take_up(folder, session, time.time(), anew=anew)
        self._server = Server(Fan(positions=positions), self._token, address, listening)
        self.url = url_of(address, self._server.port, self._token)

    def offer(self, shown: Shown) -> None:
        """Offer a moment. It replaces the one before."""
        self._server.fan.shown = shown

    @property
    def phones(self) -> int:
        """How many phones listen."""
        return self._server.fan.listeners

    @property
    def runs(self) -> bool:
        return self._server.runs

    def stop(self) -> None:
        """End the page. Its token lets nobody in again."""
        from sternwatch.deck.access import forget

        self._server.stop()
        forget(self._folder, self._token)
