"""What the terminal can show, by its environment variables."""

from __future__ import annotations

import os
from collections.abc import Mapping

# Terminals without free choice of colours or without signs beyond ASCII.
_PLAIN_TERMINALS = ("dumb", "linux", "vt100", "vt102", "vt220")
PLAIN = "plain"
LEAST_WIDTH, LEAST_HEIGHT = 80, 24  # the least cells that every screen is made for


def wants_plain(environ: Mapping[str, str] = os.environ) -> bool:
    """Whether the terminal lacks signs beyond ASCII or colours: by ``NO_COLOR``, ``TERM`` or an ASCII locale.

    A locale that is not set says nothing.
    """
    if environ.get("NO_COLOR") or environ.get("TERM", "").split("-")[0] in _PLAIN_TERMINALS:
        return True
    locale = next((found for name in ("LC_ALL", "LC_CTYPE", "LANG") if (found := environ.get(name))), "")
    return locale in ("C", "POSIX")
