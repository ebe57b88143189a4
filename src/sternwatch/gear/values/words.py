"""Parts of error sentences: the nearest name, a list of what is accepted."""

from __future__ import annotations

import difflib
from collections.abc import Iterable


def nearest_name(given: str, known: Iterable[str]) -> str | None:
    """The known name most like ``given``; None where none is similar."""
    names = list(known)
    by_lower = {name.lower(): name for name in names}
    close = difflib.get_close_matches(given.lower(), by_lower, n=1, cutoff=0.55)
    return by_lower[close[0]] if close else None


def nearest(given: str, known: Iterable[str]) -> str:
    """``, did you mean "…"?`` or nothing, to follow an unknown name."""
    name = nearest_name(given, known)
    return f' (did you mean "{name}"?)' if name is not None else ""


def a(noun: str) -> str:
    """The noun with its article."""
    return f"an {noun}" if noun[:1].lower() in "aeiou" else f"a {noun}"


def listed(names: Iterable[str]) -> str:
    """Names as words in a sentence, also where there are none."""
    return ", ".join(names) or "none is defined"
