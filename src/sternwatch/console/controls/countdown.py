"""Calls the planned turn to the deck: in how many seconds it begins."""

from __future__ import annotations

from sternwatch.console.controls.controls import Controls, Tone
from sternwatch.watch.forecast.turn_words import turn_name

BEGINS_S = 40.0  # time to tend a rod and hold on


def call_turn(controls: Controls, t_s: float) -> None:
    """Call the present plan's turn. A second press takes the call back."""
    if controls.called is not None and controls.called[1] > t_s:
        controls.called = None
        controls.say("The turn is called off", t_s)
        return
    if controls.plan is None or not controls.plan.turn_deg:
        controls.say("No turn is planned: plan one first, then call it", t_s)
        return
    words = turn_name(controls.plan.turn_deg)
    controls.called = (words, t_s + BEGINS_S)
    controls.say(f"Called to the deck: {words} in {BEGINS_S:.0f} s", t_s, Tone.ENTRY)
