"""Reads a typed moment of a recording: by the boat's clock, or from the recording's start."""

from __future__ import annotations

from dataclasses import replace

from sternwatch.console.acts.recording import control_of
from sternwatch.console.controls.controls import Controls
from sternwatch.console.controls.typing_line import TypingLine
from sternwatch.local_time import accepted_moments, clock_at, h_mm_ss, typed_moment
from sternwatch.watch.sessions.runner import ReplayStatus


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
    return "" if status.utc_offset_s is None else clock_at(t_s, status.utc_offset_s)


def clock_or_start(t_s: float, status: ReplayStatus) -> str:
    """A moment by the clock; where the feed has none, from the start."""
    return clock(t_s, status) or h_mm_ss(t_s - status.span_s[0])


def told(t_s: float, status: ReplayStatus) -> str:
    """A moment in words: by the clock where there is one, and from the start."""
    since = f"{h_mm_ss(t_s - status.span_s[0])} from the start"
    time = clock(t_s, status)
    return f"{time}, {since}" if time else since


def moment(text: str, status: ReplayStatus) -> float | str:
    """The feed time [s] that ``text`` means, or one sentence that says why it means none."""
    return typed_moment(text, status.span_s, status.utc_offset_s, status.t_s)


def _accepted(status: ReplayStatus) -> str:
    return accepted_moments(clock=status.utc_offset_s is not None)
