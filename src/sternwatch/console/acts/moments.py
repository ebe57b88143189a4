"""Reads a typed moment of a recording: by the boat's clock, or from the recording's start."""

from __future__ import annotations

import math
from dataclasses import replace

from sternwatch.console.acts.recording import control_of
from sternwatch.console.controls.controls import Controls
from sternwatch.console.controls.typing_line import TypingLine
from sternwatch.local_time import h_mm_ss
from sternwatch.watch.sessions.runner import ReplayStatus

DAY_S = 86400
_UNITS_S = (3600, 60, 1)


def ask(controls: Controls, t_s: float) -> None:
    """Open the typing line for a moment."""
    control = control_of(controls, t_s)
    if control is None:
        return
    status = on_boat_time(controls, control.status())
    if status.span_s[1] <= status.span_s[0]:
        controls.say("Opening the recording", t_s)
        return
    controls.listing = None
    controls.typing = TypingLine("GO TO WHAT TIME", "moment", "", "", t_s, time=True, hint=_accepted(status))


def typed(controls: Controls, t_s: float) -> None:
    """Go to the typed moment, or say why not and leave the line open."""
    line, control = controls.typing, control_of(controls, t_s)
    assert line is not None
    if control is None:
        return
    status = on_boat_time(controls, control.status())
    found = moment(line.text, status)
    if isinstance(found, str):
        controls.refuse(f"{line.text}: {found}", t_s)
        return
    controls.typing = None
    control.seek(found)
    controls.say(f"Going to {told(found, status)}", t_s)


def on_boat_time(controls: Controls, status: ReplayStatus) -> ReplayStatus:
    """The status with the boat's clock in place of UTC, for the functions here."""
    ahead_s = status.utc_offset_s
    if ahead_s is None:
        return status
    return replace(status, utc_offset_s=ahead_s + 60.0 * controls.boat_time.offset_min(status.t_s + ahead_s))


def clock(t_s: float, status: ReplayStatus) -> str:
    """The clock at feed time ``t_s`` as h:mm:ss; empty where the feed has none."""
    return "" if status.utc_offset_s is None else h_mm_ss(round(t_s + status.utc_offset_s, 3) % DAY_S).rjust(8, "0")


def clock_or_start(t_s: float, status: ReplayStatus) -> str:
    """A moment by the clock; where the feed has none, from the start."""
    return clock(t_s, status) or h_mm_ss(t_s - status.span_s[0])


def told(t_s: float, status: ReplayStatus) -> str:
    """A moment in words: by the clock where there is one, and from the start."""
    since = f"{h_mm_ss(t_s - status.span_s[0])} from the start"
    time = clock(t_s, status)
    return f"{time}, {since}" if time else since


def moment(text: str, status: ReplayStatus) -> float | str:
    """The feed time [s] that ``text`` means, or one sentence that says why it means none.

    ``19:42``, ``19:42:30``, ``1942`` and ``194230`` are clock times. From the start, ``+5`` is minutes and ``+1:20``
    or ``+1:20:00`` hours. The minute in which the recording starts means its start.
    """
    from_start = text.startswith("+")
    whole_s = _from_start_s(text[1:]) if from_start else clock_s(text)
    if whole_s is None:
        return f"not a time; type {_accepted(status)}"
    begin, end = status.span_s
    if from_start:
        if whole_s > end - begin:
            return f"the recording is {h_mm_ss(end - begin)} long"
        return begin + whole_s
    if status.utc_offset_s is None:
        return f"this recording has no clock; type {_accepted(status)}"
    precise_s = 1 if text.count(":") == 2 or len(text) == 6 else 60
    # The clock shows it on every day: take the one nearest to the present moment.
    first = whole_s - status.utc_offset_s
    first += DAY_S * math.ceil((begin - precise_s + 1e-3 - first) / DAY_S)
    found = [max(first + day * DAY_S, begin) for day in range(int((end - begin) // DAY_S) + 2)]
    inside = [t for t in found if t <= end]
    if not inside:
        return f"not in this recording, which goes from {clock(begin, status)} to {clock(end, status)}"
    return min(inside, key=lambda t: abs(t - status.t_s))


def _accepted(status: ReplayStatus) -> str:
    from_start = "+5 (minutes) or +1:20:00 from the start"
    return from_start if status.utc_offset_s is None else f"19:42 or 19:42:30, or {from_start}"


def clock_s(text: str) -> int | None:
    """A clock reading as seconds of the day."""
    if text.isdigit() and len(text) in (4, 6):
        text = ":".join(text[n : n + 2] for n in range(0, len(text), 2))
    parts = _parts(text)
    if parts is None or len(parts) < 2 or parts[0] > 23:
        return None
    return _seconds(parts)


def _from_start_s(text: str) -> int | None:
    parts = _parts(text)
    if parts is None:
        return None
    return parts[0] * 60 if len(parts) == 1 else _seconds(parts)


def _parts(text: str) -> list[int] | None:
    """One to three numbers between colons, with minutes and seconds under 60."""
    written = text.split(":")
    if len(written) > 3 or not all(part.isdigit() for part in written):
        return None
    parts = [int(part) for part in written]
    return None if any(part > 59 for part in parts[1:]) else parts


def _seconds(parts: list[int]) -> int:
    return sum(part * unit for part, unit in zip(parts, _UNITS_S, strict=False))
