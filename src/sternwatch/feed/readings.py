"""What the boat says: raw lines, readings decoded from them, and the state of each sensor.

Feed time ``t_s`` is seconds since the feed began, on the monotonic clock (live) or on the recording's own
stamps (replay), quantised to a millisecond so that a recording replays to the very same numbers.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class Quantity(StrEnum):
    """What a reading is of. The value's unit stands behind each."""

    SOG = "sog"  # m/s over ground
    COG = "cog"  # deg true over ground
    STW = "stw"  # m/s through water
    HEADING = "heading"  # deg true; magnetic, and marked so in ``reference``, while no variation is known
    POSITION = "position"  # (latitude, longitude), deg
    WATER_TEMPERATURE = "water_temperature"  # degC, at the transducer
    BOTTOM = "bottom"  # m below what ``reference`` says: the surface where the sentence gives the offset
    RATE_OF_TURN = "rate_of_turn"  # deg/s, positive to starboard
    CLOCK = "clock"  # Unix seconds, UTC
    PROBE_SPEED = "probe_speed"  # m/s at the probe
    PROBE_TEMPERATURE = "probe_temperature"  # degC at the probe
    PROBE_DEPTH = "probe_depth"  # m


Value = float | tuple[float, float]


@dataclass(frozen=True, slots=True)
class Line:
    """One line as received, before anything is understood of it."""

    t_s: float  # feed time
    unix_ms: int | None  # the computer's clock on receipt, if known
    source: str
    data: bytes  # without the line end
    whole: bool = True  # False: the line was cut off (an unplug in mid-line, a run too long to be a sentence)


@dataclass(frozen=True, slots=True)
class Reading:
    """One quantity from one sentence, frame or delta. ``value`` None: the sensor says it has none."""

    t_s: float
    source: str
    quantity: Quantity
    value: Value | None
    sentence: str = ""  # formatter, "RMC"; or "PGN 128259"; or a Signal K path's last words
    suspect: str = ""  # why a rate gate doubts the value; empty when it does not
    talker: str = ""  # who spoke on that source: "GP"; a device's NAME on the CAN bus; a Signal K $source
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
    """How a source's lines are to be understood: told by the user, never assumed."""

    tongue: Tongue = Tongue.SENTENCES
    combined: bool = False  # N2K: what takes several frames comes as one line already
    si: bool = False  # N2K as JSON without a head line: radians and kelvins

    @property
    def longest(self) -> int:
        """Bytes of the longest line that can mean anything."""
        return _LONGEST[self.tongue]


SENTENCES = Speech()


@dataclass(frozen=True, slots=True)
class Declared:
    """What the user said about a source. A recording carries it, so that a replay prefers whom the live watch did."""

    name: str
    priority: int = 0  # the lowest is preferred
    probe: bool = False  # its speed and temperature are those of a probe at depth
    checked: bool = True  # False: checksums not looked at, by choice
    speech: Speech = SENTENCES


class SensorState(StrEnum):
    """The three states of a quantity, and the one before any word of it came."""

    FRESH = "fresh"
    NONE = "none"  # the sensor speaks and says it has no value
    SILENT = "silent"  # it spoke once; its time-out has passed
    NEVER = "never"


@dataclass(frozen=True, slots=True)
class SensorValue:
    """A quantity as the watch may use it at one instant."""

    quantity: Quantity
    state: SensorState
    value: Value | None  # the last value known, old when the state is not FRESH; None if there never was one
    age_s: float | None  # since that value
    source: str = ""
    sentence: str = ""
    suspect: str = ""
    talker: str = ""
    reference: str = ""


Sensors = Mapping[Quantity, SensorValue]
