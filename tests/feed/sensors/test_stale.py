"""Unplugged: every quantity goes stale within its own time-out, whatever the boat speaks."""

import json
import struct
from datetime import UTC, datetime, timedelta

import pytest

from feed.n2k.test_faults import frame
from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Line, Quantity, SensorState, Speech, Tongue
from sternwatch.feed.sensors.board import SensorBoard

NOON = datetime(2026, 6, 1, 12, tzinfo=UTC)


def always(pgn, data):
    """The same message whenever it is asked."""
    line = frame(pgn, data)

    def said(t):  # noqa: ARG001
        return line

    return said


def ticking(t):
    """System time."""
    return frame(126992, struct.pack("<BBHI", 0, 0xF0, 20605, 432_000_000 + round(t * 1e4)))


# quantity: its message, seconds between two by the standard, and the time-out that follows from them: four times
# that, and no less than 3 s (motion), 5 s (bottom, clock) or 10 s (temperature).
FRAMES = {
    Quantity.STW: (always(128259, struct.pack("<BHHBH", 0, 123, 65535, 0, 65535)), 1.0, 4.0),
    Quantity.BOTTOM: (always(128267, struct.pack("<BIhB", 0, 1234, 0, 255)), 1.0, 5.0),
    Quantity.WATER_TEMPERATURE: (always(130312, struct.pack("<BBBHHB", 0, 0, 0, 28265, 65535, 255)), 2.0, 10.0),
    Quantity.SOG: (always(129026, struct.pack("<BBHHH", 0, 0xFC, 15708, 154, 65535)), 0.25, 3.0),
    Quantity.COG: (always(129026, struct.pack("<BBHHH", 0, 0xFC, 15708, 154, 65535)), 0.25, 3.0),
    Quantity.HEADING: (always(127250, struct.pack("<BHhhB", 0, 15708, 0x7FFF, 0x7FFF, 0xFC)), 0.1, 3.0),
    Quantity.POSITION: (always(129025, struct.pack("<ii", 471234567, -907654321)), 0.1, 3.0),
    Quantity.CLOCK: (ticking, 1.0, 5.0),
}


def delta(path, value):
    """As a server says it, stamped with the moment."""

    def said(t):
        stamp = (NOON + timedelta(seconds=t)).isoformat()
        given = stamp if value is None else value
        update = {"$source": "a", "timestamp": stamp, "values": [{"path": path, "value": given}]}
        return json.dumps({"updates": [update]}).encode()

    return said


DELTAS = {
    Quantity.STW: (delta("navigation.speedThroughWater", 1.23), 1.0, 4.0),
    Quantity.BOTTOM: (delta("environment.depth.belowTransducer", 12.34), 1.0, 5.0),
    Quantity.WATER_TEMPERATURE: (delta("environment.water.temperature", 282.65), 2.0, 10.0),
    Quantity.SOG: (delta("navigation.speedOverGround", 1.54), 0.25, 3.0),
    Quantity.COG: (delta("navigation.courseOverGroundTrue", 1.5708), 0.25, 3.0),
    Quantity.HEADING: (delta("navigation.headingTrue", 1.5708), 0.1, 3.0),
    Quantity.POSITION: (delta("navigation.position", {"latitude": 47.1, "longitude": -90.7}), 0.1, 3.0),
    Quantity.CLOCK: (delta("navigation.datetime", None), 1.0, 5.0),
}


@pytest.mark.parametrize(("tongue", "said"), [(Tongue.N2K, FRAMES), (Tongue.SIGNALK, DELTAS)])
def test_stale_within_the_time_out_of_each_quantity_and_back_with_the_first_word(tongue, said):
    for quantity, (say, every_s, timeout_s) in said.items():
        decoder, board = Decoder(speech={"s": Speech(tongue)}), SensorBoard()

        def speak(t, decoder=decoder, board=board, say=say):
            for reading in decoder.decode(Line(t, None, "s", say(t))):
                board.take(reading)

        def state(t, board=board, quantity=quantity):
            return board.table(t)[quantity].state

        for i in range(40):
            last = i * every_s
            speak(last)
        assert state(last) is SensorState.FRESH, quantity
        assert state(last + timeout_s - 0.01) is SensorState.FRESH, quantity
        assert state(last + timeout_s + 0.01) is SensorState.SILENT, quantity
        speak(last + 30.0)
        assert state(last + 30.0) is SensorState.FRESH, quantity
