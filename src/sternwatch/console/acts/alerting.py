"""Alerts at the controls: all that stand in one list, and one key that says they were seen."""

from __future__ import annotations

from sternwatch.console.controls.controls import Controls
from sternwatch.watch.outlook.alerts import merged
from sternwatch.watch.picture.alert import Alert, AlertState, Priority


def standing(controls: Controls) -> tuple[Alert, ...]:
    """What the watch raises and what the outlook raises, worst first."""
    picture = controls.picture
    return () if picture is None else merged(picture.alerts, controls.outlook, picture.t_s)


def to_acknowledge(controls: Controls) -> list[Alert]:
    """Alarms and warnings that nobody has acknowledged, worst first."""
    return [a for a in standing(controls) if a.state is AlertState.ACTIVE and a.priority is not Priority.CAUTION]


def acknowledge(controls: Controls, t_s: float) -> None:
    """Acknowledge the worst alert that nobody has, and its like: a hard turn raises several of a kind at once."""
    active = to_acknowledge(controls)
    if not active:
        controls.say("No alarm or warning to acknowledge", t_s)
        return
    like = [a for a in active if (a.kind, a.priority) == (active[0].kind, active[0].priority)]
    for alert in like:
        controls.runner.submit("acknowledge", alert=alert.id)
    words = active[0].text if len(like) == 1 else f"{len(like)} of {active[0].kind}"
    controls.say(f"Acknowledged: {words}", t_s)
