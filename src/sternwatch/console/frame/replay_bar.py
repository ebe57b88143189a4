"""The timeline at the foot of a recording: the present moment, the events, and how far it has been read."""

from __future__ import annotations

from dataclasses import replace

from sternwatch.console.acts.moments import clock, clock_or_start, on_boat_time
from sternwatch.console.frame.bars import ControlsPainted
from sternwatch.console.paint.canvas import Grid
from sternwatch.local_time import h_mm_ss
from sternwatch.watch.sessions.runner import ReplayStatus

WIDE = 100  # from this width on words give the clock and how far it has been read
_MARKS = {"alert": "!", "hit": "●", "turn": "~", "note": "·", "splice": "┇"}
_PLAIN_MARKS = {"alert": "!", "hit": "o", "turn": "~", "note": ".", "splice": "|"}
_MARK_INKS = {"hit": "fish", "alert": "caution", "splice": "state"}
_RANK = ("note", "turn", "splice", "alert", "hit")  # on one cell the later kind covers the earlier


def cell(t_s: float, status: ReplayStatus, width: int) -> int:
    """The cell of moment ``t_s`` [s] on a line of ``width`` cells."""
    start, end = status.span_s
    if end <= start or width <= 1:
        return 0
    share = (t_s - start) / (end - start)
    return min(max(round(share * (width - 1)), 0), width - 1)


class ReplayBar(ControlsPainted):
    """One row: playing and rate, the line with its events, the moment and the total."""

    def draw(self, grid: Grid) -> None:
        control = self.controls.runner.replay
        if control is None:
            return
        status = control.status()
        if self.controls.picture is None:  # the boat's own clock is not known yet, and UTC would only mislead
            status = replace(status, utc_offset_s=None)
        status = on_boat_time(self.controls, status)
        if status.span_s[1] <= status.span_s[0]:
            grid.put(1, 0, "opening the recording", "label")
            return
        plain = self.look.glyphs == "plain"
        going = (">" if plain else "▶") if status.playing else ("||" if plain else "❚❚")
        x = grid.put(1, 0, f"{going} {_rate(status)}".ljust(7), "state" if status.playing else "caution")
        end = grid.put_right(grid.width - 1, 0, _moment(status, wide=grid.width >= WIDE), "number") - 2
        width = end - x - 1
        if width >= 10:
            _line(grid, x, width, status, plain=plain)


def _rate(status: ReplayStatus) -> str:
    """The wanted rate, and what this computer manages where that is less."""
    if status.manages is None:
        return f"{status.rate:g}×"
    return f"{status.rate:g}× wanted, {status.manages:.1f}× managed "


def _moment(status: ReplayStatus, *, wide: bool) -> str:
    """The moment and the total; with room also the clock, and how far it has been read."""
    whole_s = status.span_s[1] - status.span_s[0]
    moment = f"{h_mm_ss(status.t_s - status.span_s[0])} of {h_mm_ss(whole_s)}"
    if status.going_to_s is not None:
        return f"going to {clock_or_start(status.going_to_s, status)} · {moment}"
    if wide and (time := clock(status.t_s, status)):
        moment = f"{time} · {moment}"
    pieces = 1 + sum(mark.kind == "splice" for mark in status.marks)
    if pieces > 1:
        moment = f"{pieces} pieces · {moment}"
    if wide and status.t_s >= status.span_s[1]:
        moment = f"the end · {moment}"
    elif wide and status.reached_s < status.span_s[1]:
        share = (status.reached_s - status.span_s[0]) / whole_s
        moment = f"read {int(100 * share)} % · {moment}"
    return moment


def _line(grid: Grid, x: int, width: int, status: ReplayStatus, *, plain: bool) -> None:
    """Draw the line from cell ``x``: the part read, the events, and the present moment."""
    grid.fill(x, 0, width, 1, "." if plain else "┄", "rule")
    grid.fill(x, 0, cell(status.reached_s, status, width) + 1, 1, "-" if plain else "─", "label")
    marks = _PLAIN_MARKS if plain else _MARKS
    for mark in sorted((m for m in status.marks if m.kind in _RANK), key=lambda mark: _RANK.index(mark.kind)):
        grid.put(x + cell(mark.t_s, status, width), 0, marks[mark.kind], _MARK_INKS.get(mark.kind, "label"))
    grid.put(x + cell(status.t_s, status, width), 0, "#" if plain else "█", "number")
