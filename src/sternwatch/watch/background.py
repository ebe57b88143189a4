"""A thread beside the session for slow answers. It always works on the newest question.

An answer takes tens of megabytes for a second. What is freed afterwards lies between small pieces that stay, so the
C library keeps it, and keeps a little more every hour. So it is given back to the system after every answer.
"""

from __future__ import annotations

import ctypes
import logging
import sys
import threading
from collections.abc import Callable
from typing import Generic, TypeVar

_log = logging.getLogger(__name__)


# ``malloc_trim`` where there is one (glibc). It takes 1 to 20 ms and holds nobody else up for long.
_trim: Callable[[int], int] | None = None
if sys.platform.startswith("linux"):
    _trim = getattr(ctypes.CDLL(None), "malloc_trim", None)


def give_back() -> None:
    """Give memory that nobody uses back to the system."""
    if _trim is not None:
        _trim(0)


Asked = TypeVar("Asked")
Made = TypeVar("Made")


class Beside(Generic[Asked, Made]):
    """Works on the newest question. Older ones that came while it was busy are dropped.

    ``ask``, ``made`` and ``trouble`` may be used from any thread and never wait. The thread begins with the first
    question.
    """

    def __init__(self, work: Callable[[Asked], Made], name: str) -> None:
        self._work, self._name = work, name
        self._lock = threading.Lock()
        self._wake = threading.Event()
        self._stop = threading.Event()
        self._waiting: list[Asked] = []  # at most one
        self._thread: threading.Thread | None = None
        self.made: Made | None = None  # the newest answer
        self.trouble = ""  # why the newest question has no answer, in a sentence

    def ask(self, question: Asked) -> None:
        """Ask a question. It replaces one that has not been started."""
        with self._lock:
            if self._stop.is_set():
                return
            self._waiting = [question]
            if self._thread is None or self.lost:
                self._thread = threading.Thread(target=self._run, name=self._name, daemon=True)
                self._thread.start()
        self._wake.set()

    @property
    def lost(self) -> bool:
        """Whether the thread has died. The next question begins another."""
        return self._thread is not None and not self._thread.is_alive() and not self._stop.is_set()

    def stop(self, wait_s: float = 2.0) -> None:
        """Start nothing more, and wait a moment for the work under way."""
        self._stop.set()
        self._wake.set()
        if self._thread is not None:
            self._thread.join(timeout=wait_s)

    def _run(self) -> None:
        while not self._stop.is_set():
            self._wake.wait()
            self._wake.clear()
            with self._lock:
                waiting, self._waiting = self._waiting, []
            for question in waiting:
                try:
                    self.made, self.trouble = self._work(question), ""
                except Exception as fault:  # noqa: BLE001 - an answer beside the session must not end it; it is said
                    _log.exception("%s failed", self._name)
                    self.trouble = f"{type(fault).__name__}: {fault}"
            if waiting:
                give_back()
