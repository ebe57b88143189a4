"""Acts on a recording: playing, going to another moment, events."""

from __future__ import annotations

from sternwatch.console.controls.controls import Controls
from sternwatch.local_time import h_mm_ss
from sternwatch.watch.picture.model import STEP_S
from sternwatch.watch.sessions.runner import RATES, ReplayControl, ReplayStatus

NEAR_S = 1.0  # an event this close to the present moment is the present one


def control_of(controls: Controls, t_s: float) -> ReplayControl | None:
    """The recording's control. Where there is none, say so."""
    control = controls.runner.replay
    if control is None:
        controls.say("This is no recording", t_s)
    return control


def play(controls: Controls, t_s: float) -> None:
    """Play or pause."""
    if (control := control_of(controls, t_s)) is not None:
        playing = not control.status().playing
        control.play(playing)
        controls.say("Playing" if playing else "Paused", t_s)


def step(controls: Controls, seconds: float, t_s: float) -> None:
    """Go on (positive) or back by seconds of feed time."""
    if (control := control_of(controls, t_s)) is not None:
        control.step(seconds)
        controls.say(f"{abs(seconds):.0f} s {'on' if seconds > 0 else 'back'}", t_s)


def single(controls: Controls, by: int, t_s: float) -> None:
    """Pause, and go one step of the watch's grid on (+1) or back (−1)."""
    if (control := control_of(controls, t_s)) is not None:
        control.play(False)
        control.step(by * STEP_S)
        controls.say(f"Paused; one step {'on' if by > 0 else 'back'}", t_s)


def rate(controls: Controls, by: int, t_s: float) -> None:
    """Set the next faster (+1) or slower (−1) rate."""
    if (control := control_of(controls, t_s)) is not None:
        now = control.status().rate
        faster = [r for r in RATES if r > now * 1.001]
        slower = [r for r in RATES if r < now * 0.999]
        to = (faster[0] if faster else RATES[-1]) if by > 0 else (slower[-1] if slower else RATES[0])
        control.set_rate(to)
        controls.say(f"{to:g} times as fast", t_s)


def event(controls: Controls, by: int, t_s: float) -> None:
    """Go to the next (+1) or previous (−1) hit, turn or alert."""
    if (control := control_of(controls, t_s)) is not None:
        status = control.status()
        marks = sorted(status.marks, key=lambda mark: mark.t_s)
        after = [mark for mark in marks if mark.t_s > status.t_s + NEAR_S]
        before = [mark for mark in marks if mark.t_s < status.t_s - NEAR_S]
        found = (after[:1] if by > 0 else before[-1:]) or None
        if found is None:
            controls.say(_none(status, by), t_s)
            return
        control.seek(found[0].t_s)
        controls.say(f"{found[0].kind}: {found[0].label}", t_s)


def _none(status: ReplayStatus, by: int) -> str:
    """Why there is no event to go to: events are known only as far as the recording has been read."""
    if by < 0:
        return "No event before this moment"
    if status.reached_s < status.span_s[1] - NEAR_S:
        read = h_mm_ss(status.reached_s - status.span_s[0])
        if status.reached_s <= status.t_s + NEAR_S:
            return f"Events are known only where it has been read: to {read} so far"
        return f"No event between this moment and {read}, to where it has been read so far"
    return "No event after this moment"
