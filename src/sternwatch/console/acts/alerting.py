"""Alerts at the controls: all standing alerts in one list, and one key that acknowledges them."""

from __future__ import annotations

from sternwatch.console.controls.controls import Controls
from sternwatch.watch.outlook.alerts import merged
from sternwatch.watch.picture.alert import Alert, AlertState, Priority


def standing(controls: Controls) -> tuple[Alert, ...]:
    """All standing alerts, of the watch and of the outlook, worst first."""
    picture = controls.picture
    return () if picture is None else merged(picture.alerts, controls.outlook, picture.t_s)


def to_acknowledge(controls: Controls) -> list[Alert]:
    """Unacknowledged alarms and warnings, worst first."""
    return [a for a in standing(controls) if a.state is AlertState.ACTIVE and a.priority is not Priority.CAUTION]


def acknowledge(controls: Controls, t_s: float) -> None:
    """Acknowledge the worst unacknowledged alert and others of its kind: a hard turn raises several at once."""
    active = to_acknowledge(controls)
    if not active:
        controls.say("No alarm or warning to acknowledge", t_s)
        return
    like = [a for a in active if (a.kind, a.priority) == (active[0].kind, active[0].priority)]
    for alert in like:
        controls.runner.submit("acknowledge", alert=alert.id)
    words = active[0].text if len(like) == 1 else f"{len(like)} of {active[0].kind}"
    controls.say(f"Acknowledged: {words}", t_s)
