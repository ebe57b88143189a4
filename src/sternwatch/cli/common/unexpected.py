"""Reports unforeseen errors: one sentence on standard error, the traceback in the program's rotating log file."""

from __future__ import annotations

import logging
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from types import TracebackType

from sternwatch.places import log_dir
from sternwatch.printable import one_line, printable

NAME = "sternwatch.log"


class _Formatter(logging.Formatter):
    """Makes log lines safe to read in a terminal."""

    def format(self, record: logging.LogRecord) -> str:
        return printable(super().format(record))


def keep_tracebacks_off_the_screen() -> None:
    """From now on, send unhandled errors to the log file and print one sentence about each."""
    sys.excepthook = _report


def log_file() -> logging.Handler | None:
    """A handler that writes to the program's rotating log file; None where it cannot be written."""
    from logging.handlers import RotatingFileHandler

    path = log_dir() / NAME
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handler = RotatingFileHandler(path, maxBytes=1_000_000, backupCount=3, encoding="utf-8")
    except OSError:
        return None
    handler.setFormatter(_Formatter("%(asctime)s %(levelname)s %(message)s"))
    return handler


@contextmanager
def logged() -> Iterator[None]:
    """While it lasts, warnings and faults of the session's threads go to the log file: the screen would lose them."""
    handler, logger = log_file(), logging.getLogger("sternwatch")
    if handler is None:
        yield
        return
    handler.setLevel(logging.WARNING)
    logger.addHandler(handler)
    try:
        yield
    finally:
        logger.removeHandler(handler)
        handler.close()


def _report(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
    handler = log_file()
    if handler is None:
        print(one_line(f"sternwatch: an unexpected error ({kind.__name__}: {error})"), file=sys.stderr)
        return
    logger = logging.getLogger("sternwatch.unexpected")
    logger.propagate = False
    logger.addHandler(handler)
    logger.error("unexpected error", exc_info=(kind, error, trace))
    logger.removeHandler(handler)
    handler.close()
    said = f"sternwatch: an unexpected error ({kind.__name__}: {error}); its details are in {log_dir() / NAME}"
    print(one_line(said), file=sys.stderr)
