"""The only module that uses the NMEA 2000 library, which knows the layouts and the words of every lookup."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from typing import Any

from sternwatch.extras import missing
from sternwatch.feed.errors import FeedError

# The library has one decoder for the whole process, and it refuses a second thread while it works. A replay is played
# by one thread and read ahead by another; a survey listens to every port in a thread of its own.
_ONE_AT_A_TIME = threading.Lock()


@dataclass(frozen=True, slots=True)
class Fields:
    """A message's fields by name (lower case, letters and digits only): SI, radians; None: not available."""

    numbers: dict[str, float | None]
    labels: dict[str, str]  # words of lookups
    codes: dict[str, int]  # numbers of lookups, as on the wire


def check_library() -> None:
    """Raise FeedError where the library is not installed."""
    try:
        import nmea2000.backend  # noqa: F401
    except ImportError as fault:
        raise FeedError(missing("NMEA 2000", "n2k")) from fault


def fields(pgn: int, data: bytes, source: int) -> Fields | None:
    """The fields of a whole message; None where the library does not know the message."""
    from nmea2000 import backend

    with _ONE_AT_A_TIME:
        message: Any = backend.decode(pgn, data, source, 255, 6, "si")
    if message is None:
        return None
    found = Fields({}, {}, {})
    for one in message.fields:
        name, raw, value = one.id.lower(), one.raw_value, one.value
        if isinstance(value, str):
            found.labels[name] = value
            if isinstance(raw, int):
                found.codes[name] = raw
        elif isinstance(raw, int | float) and value is not None:
            found.numbers[name] = float(raw)  # a date as days since 1970, a time as seconds since midnight
        else:
            found.numbers[name] = None
    return found
