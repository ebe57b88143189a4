"""What a command that computes does first: the solver is compiled once after an installation, and that is said."""

from __future__ import annotations

import sys

from sternwatch.cli.common.exits import InputError

_ROOM = 60  # cells for the longest words, so that shorter ones cover them


def prepare_solver() -> None:
    """Compile the solver where it is not compiled yet; say that this takes time, on a terminal how much is left.

    Raises InputError.
    """
    from sternwatch.places import set_numba_cache
    from sternwatch.watch.sessions.compiling import progress_words
    from sternwatch.watch.sessions.prepare import PreparationError, is_prepared, prepare_all, preparing

    set_numba_cache()
    if is_prepared():
        return
    print(f"sternwatch: {preparing()}", file=sys.stderr, flush=True)
    line_over = getattr(sys.stderr, "plain", sys.stderr)
    told = [""]

    def look() -> None:
        words = progress_words()
        if words != told[-1]:
            told.append(words)
            print(f"\r{words:<{_ROOM}}", end="", file=line_over, flush=True)

    try:
        prepare_all(look if sys.stderr.isatty() else bool)
    except PreparationError as fault:
        raise InputError(str(fault)) from fault
    finally:
        if len(told) > 1:
            print(file=sys.stderr)
