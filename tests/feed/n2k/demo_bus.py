"""The demo boat as her bus would have her: the evening's readings in frames, with the resolution of NMEA 2000."""

from __future__ import annotations

import math
import struct
from pathlib import Path

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Line, Quantity, Reading
from sternwatch.feed.recording.reader import open_recording

EVENING = Path(__file__).parents[3] / "demo_logs" / "evening.nmea"


def demo_bus(begin_s: float, seconds: float) -> list[Line]:
    """Her frames from a moment of the evening on, which becomes feed time 0."""
    decoder, lines = Decoder(), []
    with open_recording(EVENING) as recording:
        for line in recording.lines_from(begin_s):
            if line.t_s > begin_s + seconds:
                break
            frames = frames_of(decoder.decode(line))
            lines += [Line(round(line.t_s - begin_s, 3), line.unix_ms, "bus", frame) for frame in frames]
    return lines


def frames_of(readings: list[Reading]) -> list[bytes]:
    """Readings as a gateway prints the messages of a bus that has them."""
    values = {reading.quantity: reading.value for reading in readings if reading.value is not None}
    found = []
    for quantity, value in values.items():
        match quantity:
            case Quantity.STW:
                found.append((128259, struct.pack("<BHHBH", 0, round(value * 100), 0xFFFF, 0, 0xFFFF)))
            case Quantity.BOTTOM:
                found.append((128267, struct.pack("<BIhB", 0, round(value * 100), 0, 0xFF)))
            case Quantity.WATER_TEMPERATURE:
                kelvin = round((value + 273.15) * 100)
                found.append((130312, struct.pack("<BBBHHB", 0, 0, 0, kelvin, 0xFFFF, 0xFF)))
            case Quantity.POSITION:
                found.append((129025, struct.pack("<ii", *(round(degrees * 1e7) for degrees in value))))
            case Quantity.SOG if isinstance(values.get(Quantity.COG), float):
                course = round(math.radians(values[Quantity.COG]) * 1e4)
                found.append((129026, struct.pack("<BBHHH", 0, 0xFC, course, round(value * 100), 0xFFFF)))
            case Quantity.HEADING:
                heading = round(math.radians(value) * 1e4)
                found.append((127250, struct.pack("<BHhhB", 0, heading, 0x7FFF, 0x7FFF, 0xFC)))
            case Quantity.CLOCK:
                days, seconds = divmod(value, 86400.0)
                found.append((126992, struct.pack("<BBHI", 0, 0xF0, int(days), round(seconds * 1e4))))
    return [f"{2 << 26 | pgn << 8 | 35:08X} {data.hex(' ').upper()}".encode() for pgn, data in found]
