"""Calling the planned turn, so that the deck hears of it: in how many seconds it begins."""

from __future__ import annotations

from sternwatch.console.desk.hand import Desk, Tone
from sternwatch.watch.forecast.turn_words import turn_name

BEGINS_S = 40.0  # time to see to a rod and hold on


def call_turn(desk: Desk, t_s: float) -> None:
    """Call the turn of the plan there is; once more takes it back."""
    if desk.called is not None and desk.called[1] > t_s:
        desk.called = None
        desk.say("The turn is not called any more", t_s)
        return
    if desk.plan is None or not desk.plan.turn_deg:
        desk.say("No turn is planned: plan one first, then call it", t_s)
        return
    words = turn_name(desk.plan.turn_deg)
    desk.called = (words, t_s + BEGINS_S)
    desk.say(f"Called to the deck: {words} in {BEGINS_S:.0f} s", t_s, Tone.ENTRY)
