"""Turns a moment of the helm into bytes once a second. All listeners get the same bytes."""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import AsyncIterator, Callable
from typing import Any, Literal

from sternwatch.deck import row, views
from sternwatch.deck.about import about
from sternwatch.deck.shown import Shown
from sternwatch.printable import printable

EVERY_S = 1.0


def event(data: bytes, name: bytes = b"") -> bytes:
    """One server-sent event. JSON contains no line breaks."""
    return (b"event: " + name + b"\n" if name else b"") + b"data: " + data + b"\n\n"


class Fan:
    """The news, and the number of its listeners."""

    def __init__(self, *, positions: bool = False, clock: Callable[[], float] = time.monotonic) -> None:
        self.shown: Shown | None = None  # the helm's thread puts it here: one reference, replaced as a whole
        self.listeners = 0
        self._positions, self._clock = positions, clock
        self._turn = asyncio.Event()
        self._number = 0
        self._over = False
        self._row = self._about = self._views = b""

    async def run(self) -> None:
        """Make the news every second while anybody listens."""
        while True:
            if self.listeners:
                self._make()
                turn, self._turn = self._turn, asyncio.Event()
                turn.set()
            await asyncio.sleep(EVERY_S)

    def end(self) -> None:
        """Stop all news."""
        self._over = True
        self._turn.set()

    def _make(self) -> None:
        shown = self.shown
        if shown is None:
            return
        self._number += 1
        self._about = printable(json.dumps(about(shown), ensure_ascii=False, separators=(",", ":"))).encode()
        said: dict[str, Any] = row.row(shown, self._clock(), number=self._number, positions=self._positions)
        self._row = row.packed(said)
        self._views = views.packed(shown)

    async def news(self, kind: Literal["news", "views"]) -> AsyncIterator[bytes]:
        """The news for one listener: the present state at once, then an update every second."""
        told = b""
        self.listeners += 1
        try:
            self._make()
            yield event(b"%.2f" % self._clock(), b"begin")  # the page finds from it how long a row was on its way
            while not self._over:
                turn = self._turn
                if self._about:
                    first = event(self._about, b"about") if self._about != told else b""
                    told = self._about
                    also = event(self._views, b"views") if kind == "views" else b""
                    yield first + event(self._row) + also
                await turn.wait()
        finally:
            self.listeners -= 1
