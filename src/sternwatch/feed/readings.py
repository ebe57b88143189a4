"""What the boat's instruments say: raw lines, readings decoded from them, and the state of each sensor.

Feed time ``t_s`` is seconds since the feed began, by the monotonic clock (live) or by the recording's stamps
(replay). It is rounded to a millisecond so that a recording replays to exactly the same numbers.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from sternwatch.quickly import quickly_made


class Quantity(StrEnum):
    """What a reading measures; the comments give the units."""

    SOG = "sog"  # m/s over ground
    COG = "cog"  # deg true over ground
    STW = "stw"  # m/s through water
    HEADING = "heading"  # deg true; magnetic, as ``reference`` then says, while no variation is known
    POSITION = "position"  # (latitude, longitude), deg
    WATER_TEMPERATURE = "water_temperature"  # degC, at the transducer
    BOTTOM = "bottom"  # m below ``reference``: the surface where the sentence gives the offset
    RATE_OF_TURN = "rate_of_turn"  # deg/s, positive to starboard
    CLOCK = "clock"  # Unix seconds, UTC
    PROBE_SPEED = "probe_speed"  # m/s at the probe
    PROBE_TEMPERATURE = "probe_temperature"  # degC at the probe
    PROBE_DEPTH = "probe_depth"  # m


Value = float | tuple[float, float]


@quickly_made
@dataclass(frozen=True, slots=True)
class Line:
    """One line as received, before decoding."""

    t_s: float  # feed time
    unix_ms: int | None  # the computer's clock on receipt, if known
    source: str
    data: bytes  # without its line end
    whole: bool = True  # False: the line was cut off (unplugged in mid-line, or too long for a sentence)


@quickly_made
@dataclass(frozen=True, slots=True)
class Reading:
    """One quantity from one sentence, frame or delta. ``value`` None: the sensor reports that it has no value."""

    t_s: float
    source: str
    quantity: Quantity
    value: Value | None
    sentence: str = ""  # a formatter, "RMC"; or "PGN 128259"; or the last words of a Signal K path
    suspect: str = ""  # why a rate gate doubts the value; empty where it does not
    talker: str = ""  # the speaker on that source: "GP"; a device's NAME on the CAN bus; a Signal K $source
    reference: str = ""  # BOTTOM is below: surface | transducer | keel; HEADING is: true | magnetic


class Tongue(StrEnum):
    """What a source speaks. The values are words of ``--feed``."""

    SENTENCES = "sentences"  # NMEA 0183 (IEC 61162-1)
    N2K = "n2k"  # NMEA 2000 (IEC 61162-3) frames as text
    SIGNALK = "signalk"  # Signal K deltas (JSON)


# Bytes of the longest line of each. IEC 61162-1 allows a sentence 82, tag blocks and private sentences take more; a
# decoded frame as JSON takes some hundreds, a delta of a server's whole state some ten thousand.
_LONGEST = {Tongue.SENTENCES: 256, Tongue.N2K: 4096, Tongue.SIGNALK: 60_000}


@dataclass(frozen=True, slots=True)
class Speech:
    """How to read a source's lines. The user says it; it is never assumed."""

    tongue: Tongue = Tongue.SENTENCES
    combined: bool = False  # N2K: a message of several frames comes as one line
    si: bool = False  # N2K as JSON without a head line: radians and kelvins

    @property
    def longest(self) -> int:
        """Bytes of the longest line that can have a meaning."""
        return _LONGEST[self.tongue]


SENTENCES = Speech()


@dataclass(frozen=True, slots=True)
class Declared:
    """What the user said about a source. A recording carries it, so that a replay prefers the same sources."""

    name: str
    priority: int = 0  # the lowest number is preferred
    probe: bool = False  # its speed and temperature come from a probe at depth
    checked: bool = True  # False: checksums are ignored, by the user's choice
    speech: Speech = SENTENCES


class SensorState(StrEnum):
    """The three states of a quantity, and the state before it was ever heard."""

    FRESH = "fresh"
    NONE = "none"  # the sensor reports that it has no value
    SILENT = "silent"  # it spoke before, and its time-out has passed
    NEVER = "never"


@quickly_made
@dataclass(frozen=True, slots=True)
class SensorValue:
    """A quantity at one moment, for the watch to use."""

    quantity: Quantity
    state: SensorState
    value: Value | None  # the last value, an old one unless the state is FRESH; None if there never was one
    age_s: float | None  # age of that value
    source: str = ""
    sentence: str = ""
    suspect: str = ""
    talker: str = ""
    reference: str = ""


Sensors = Mapping[Quantity, SensorValue]
