"""A line that a decoder does not survive costs that line: the watch goes on, and the source's account says so."""

from __future__ import annotations

import logging

import pytest

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Line, Quantity, Reading
from sternwatch.feed.sentences.accounts import Cause
from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.intake import Intake
from sternwatch.watch.core.setup import Setup

SPEED = b"$IIVHW,,T,,M,2.0,N,,K*79"


class Faulty(Decoder):
    """A decoder with a fault in it."""

    def decode(self, line: Line) -> list[Reading]:
        if b"fault" in line.data:
            raise RuntimeError("a fault")
        return super().decode(line)


def test_a_fault_of_a_decoder_costs_its_line_alone(two_rods: Spread, caplog: pytest.LogCaptureFixture) -> None:
    intake = Intake(new_watch(Setup(two_rods)), Faulty())
    with caplog.at_level(logging.ERROR):
        for n in range(9):
            intake.take(Line(float(n), None, "gps", b"fault" + b"x" * 200 if n % 3 == 1 else SPEED))
        intake.to(9.0)
    assert intake.watch.board.table(9.0)[Quantity.STW].value == pytest.approx(2.0 * 1852 / 3600)
    (report,) = intake.decoder.reports()
    assert report.rejected[Cause.UNREADABLE] == 3
    assert [record.message for record in caplog.records] == [f"gps: a line was not decoded: b'fault{115 * 'x'}'"], (
        "said once, and as much of it as fits into a line of the log"
    )
    assert intake.copy().faulty == {"gps"}
