"""A recording of several pieces: every piece has its rows, and the timeline counts them."""

from __future__ import annotations

import itertools
from datetime import UTC, datetime
from functools import reduce
from operator import xor

from sternwatch.console.frame.replay_bar import _moment
from sternwatch.feed.recording.reader import open_recording
from sternwatch.watch.core.player import Player, rows_of
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Session
from sternwatch.watch.picture.rows import picture_row
from sternwatch.watch.sessions.runner import ReplayStatus
from sternwatch.watch.sessions.timeline import splice_marks

# As agreed: a change of one is to be noticed.
GAP_S = 90.0

BEGIN = datetime(2025, 7, 1, 12, 0, tzinfo=UTC).timestamp()


def _minute(seconds=70):
    for second in range(seconds):
        now = datetime.fromtimestamp(BEGIN + second, UTC)
        body = f"GPRMC,{now:%H%M%S},A,47{second / 1000:06.3f},N,09000.000,W,2.4,0.0,{now:%d%m%y},,,A"
        yield f"${body}*{reduce(xor, body.encode()):02X}\r\n".encode()


def test_each_piece_has_its_rows_and_its_time(tmp_path, two_rods):
    path = tmp_path / "four.nmea"
    path.write_bytes(b"".join(_minute()) * 4)
    with open_recording(path) as recording:
        player = Player(recording, Setup(two_rods, Session.REPLAY, members=0))
        rows = list(rows_of(player, picture_row))
        marks = splice_marks(recording.splices)
        span_s = recording.span_s
    pieces = [[rows[0]]]
    for before, row in itertools.pairwise(rows):
        if row["elapsed_s"] - before["elapsed_s"] > 1:
            assert row["elapsed_s"] - before["elapsed_s"] >= GAP_S
            pieces.append([])
        pieces[-1].append(row)
    assert len(pieces) == 4
    for piece in pieces:
        times = [datetime.fromisoformat(row["time"]).timestamp() - BEGIN for row in piece]
        assert times == [round(times[0]) + k for k in range(len(times))]
        assert 0 <= times[0] <= 1
        assert 68 <= times[-1] <= 70
    assert [(mark.kind, mark.label) for mark in marks] == [
        ("splice", "another piece: the clock goes back by 1 min to a time that was there before")
    ] * 3
    status = ReplayStatus(10.0, (0.0, span_s), playing=True, rate=1.0, reached_s=span_s, marks=tuple(marks),
                          timing="", utc_offset_s=None)  # fmt: skip
    assert _moment(status, wide=True).startswith("4 pieces · ")
