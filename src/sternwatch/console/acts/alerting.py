"""Alerts at the desk: all that stand in one list, and one key that says they were seen."""

from __future__ import annotations

from sternwatch.console.desk.hand import Desk
from sternwatch.watch.outlook.alerts import merged
from sternwatch.watch.picture.alert import Alert, AlertState, Priority


def standing(desk: Desk) -> tuple[Alert, ...]:
    """What the watch raises and what the outlook raises, worst first."""
    picture = desk.picture
    return () if picture is None else merged(picture.alerts, desk.outlook, picture.t_s)


def to_acknowledge(desk: Desk) -> list[Alert]:
    """Alarms and warnings that nobody has acknowledged, worst first."""
    return [a for a in standing(desk) if a.state is AlertState.ACTIVE and a.priority is not Priority.CAUTION]


def acknowledge(desk: Desk, t_s: float) -> None:
    """Acknowledge the worst alert that nobody has, and its like: a hard turn raises several of a kind at once."""
    active = to_acknowledge(desk)
    if not active:
        desk.say("No alarm or warning to acknowledge", t_s)
        return
    like = [a for a in active if (a.kind, a.priority) == (active[0].kind, active[0].priority)]
    for alert in like:
        desk.runner.submit("acknowledge", alert=alert.id)
    words = active[0].text if len(like) == 1 else f"{len(like)} of {active[0].kind}"
    desk.say(f"Acknowledged: {words}", t_s)
