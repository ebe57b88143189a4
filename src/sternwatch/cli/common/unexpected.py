"""What nobody foresaw: one sentence on standard error, the traceback in the program's own rotating log file."""

from __future__ import annotations

import sys
from types import TracebackType

from sternwatch.places import log_dir


def keep_tracebacks_off_the_screen() -> None:
    """From now on an error that nothing handles goes to the log file and one sentence says so."""
    sys.excepthook = _report


def _report(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
    import logging
    from logging.handlers import RotatingFileHandler

    path = log_dir() / "sternwatch.log"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handler = RotatingFileHandler(path, maxBytes=1_000_000, backupCount=3, encoding="utf-8")
    except OSError:
        sys.__excepthook__(kind, error, trace)
        return
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s"))
    logger = logging.getLogger("sternwatch.unexpected")
    logger.propagate = False
    logger.addHandler(handler)
    logger.error("unexpected error", exc_info=(kind, error, trace))
    logger.removeHandler(handler)
    handler.close()
    print(f"sternwatch: an unexpected error ({kind.__name__}: {error}); its details are in {path}", file=sys.stderr)
