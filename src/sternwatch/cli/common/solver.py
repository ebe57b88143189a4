"""What a command that computes does first: the solver is compiled once after an installation, and that is said."""

from __future__ import annotations

import sys

from sternwatch.cli.common.exits import InputError


def prepare_solver() -> None:
    """Compile the solver where it is not compiled yet, and say that this takes time. Raises InputError."""
    from sternwatch.places import set_numba_cache
    from sternwatch.watch.sessions.prepare import PreparationError, is_prepared, prepare_all, preparing

    set_numba_cache()
    if is_prepared():
        return
    print(f"sternwatch: {preparing()}", file=sys.stderr, flush=True)
    try:
        prepare_all()
    except PreparationError as fault:
        raise InputError(str(fault)) from fault
