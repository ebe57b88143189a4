"""Reports unforeseen errors: one sentence on standard error, the traceback in the program's rotating log file."""

from __future__ import annotations

import logging
import sys
from types import TracebackType

from sternwatch.places import log_dir
from sternwatch.printable import one_line, printable


class _Formatter(logging.Formatter):
    """Makes log lines safe to read in a terminal."""

    def format(self, record: logging.LogRecord) -> str:
        return printable(super().format(record))


def keep_tracebacks_off_the_screen() -> None:
    """From now on, send unhandled errors to the log file and print one sentence about each."""
    sys.excepthook = _report


def _report(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
    from logging.handlers import RotatingFileHandler

    path = log_dir() / "sternwatch.log"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handler = RotatingFileHandler(path, maxBytes=1_000_000, backupCount=3, encoding="utf-8")
    except OSError:
        print(one_line(f"sternwatch: an unexpected error ({kind.__name__}: {error})"), file=sys.stderr)
        return
    handler.setFormatter(_Formatter("%(asctime)s %(levelname)s %(message)s"))
    logger = logging.getLogger("sternwatch.unexpected")
    logger.propagate = False
    logger.addHandler(handler)
    logger.error("unexpected error", exc_info=(kind, error, trace))
    logger.removeHandler(handler)
    handler.close()
    said = f"sternwatch: an unexpected error ({kind.__name__}: {error}); its details are in {path}"
    print(one_line(said), file=sys.stderr)
