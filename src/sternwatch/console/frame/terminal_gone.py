"""Ends a session whose terminal has vanished, even where the hang-up is ignored (nohup) and nobody reads its output.

A separate thread looks, because the painting thread may hang by then on a full queue without a reader.
"""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, Final

from textual.app import App

LOOK_S: Final = 1.0
PATIENCE_S: Final = 4.0  # time for an orderly end
GONE_CODE: Final = 1


class TerminalGone:
    """Watches the terminal of ``descriptor``. Without one at the start (tests, pipes) it does nothing.

    ``end`` asks for an orderly end. If ``stop`` is not called within ``patience_s`` [s] of it, ``leave`` is called.
    """

    def __init__(
        self,
        descriptor: int | None,
        end: Callable[[], object],
        leave: Callable[[int], object],
        look_s: float = LOOK_S,
        patience_s: float = PATIENCE_S,
    ) -> None:
        self._descriptor, self._end, self._leave = descriptor, end, leave
        self._look_s, self._patience_s = look_s, patience_s
        self._stopped = threading.Event()

    def begin(self) -> None:
        """Start watching."""
        if self._descriptor is not None and os.isatty(self._descriptor):
            threading.Thread(target=self._look, args=(self._descriptor,), name="terminal gone", daemon=True).start()

    def stop(self) -> None:
        """Stop watching: the session has ended."""
        self._stopped.set()

    def _look(self, descriptor: int) -> None:
        while os.isatty(descriptor):
            if self._stopped.wait(self._look_s):
                return
        self._end()
        if not self._stopped.wait(self._patience_s):
            self._leave(GONE_CODE)


@contextmanager
def ends_with_terminal(app: App[Any]) -> Iterator[None]:
    """A context for ``app``: the process ends within seconds after its terminal. Saved entries are on the disk."""
    looks = TerminalGone(_standard_input(), lambda: app.call_later(app.exit), os._exit)
    looks.begin()
    try:
        yield
    finally:
        looks.stop()


def _standard_input() -> int | None:
    try:
        return None if sys.__stdin__ is None else sys.__stdin__.fileno()
    except (OSError, ValueError):  # none, or closed
        return None
