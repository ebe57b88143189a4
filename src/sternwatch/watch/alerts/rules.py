"""Decides which alerts stand: causes in, alerts out, with delays that stop them from flickering.

Priorities follow IMO MSC.302(87); tackle never ranks higher than warning. The rules are data (`RULES`): what
raises a kind is computed by the watch, how long it must last before it shows and how long it must be gone
before it goes is said here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from sternwatch.watch.picture.alert import Alert, AlertState, Priority


@dataclass(frozen=True, slots=True)
class Rule:
    """How one kind of alert behaves. A caution needs no acknowledgement."""

    priority: Priority
    on_after_s: float = 0.0
    off_after_s: float = 0.0
    rods_join: bool = False  # several rods share one alert; one that joins after it was acknowledged raises it again
    gives_way_to: str = ""  # a worse kind: while it stands for the same rods, this one does not stand beside it


RULES: dict[str, Rule] = {
    "cannot save": Rule(Priority.ALARM, off_after_s=10.0),
    "boat file": Rule(Priority.CAUTION),
    "power": Rule(Priority.WARNING, on_after_s=2.0, off_after_s=5.0),
    "may sleep": Rule(Priority.CAUTION),
    "no feed": Rule(Priority.ALARM, off_after_s=10.0),  # its cause holds from five seconds of silence on
    "feed silent": Rule(Priority.CAUTION, off_after_s=10.0),  # the same while no rod is out
    "no speed": Rule(Priority.WARNING, on_after_s=5.0, off_after_s=5.0),
    "no course": Rule(Priority.CAUTION, on_after_s=15.0, off_after_s=5.0),
    "speeds differ": Rule(Priority.WARNING, off_after_s=5.0),  # `contradiction` decides when they do
    "sensors differ": Rule(Priority.CAUTION, off_after_s=5.0),  # `compass` and `twins` decide
    "no bottom": Rule(Priority.CAUTION, off_after_s=5.0),
    "solver": Rule(Priority.CAUTION, on_after_s=2.0, off_after_s=5.0),
    "slack": Rule(Priority.CAUTION, on_after_s=3.0, off_after_s=5.0),
    "pulled under": Rule(Priority.CAUTION, on_after_s=0.0, off_after_s=5.0),
    "running": Rule(Priority.CAUTION),
    "checksums": Rule(Priority.CAUTION, on_after_s=0.0, off_after_s=30.0),
    # Forecasts: `forecast_alerts` decides when these come and go.
    "crossing": Rule(Priority.WARNING, rods_join=True),
    "near pass": Rule(Priority.CAUTION),
    "bottom touch": Rule(Priority.WARNING, on_after_s=2.0, off_after_s=10.0),
    "net ahead": Rule(Priority.WARNING, on_after_s=3.0, off_after_s=10.0),
    "snag ahead": Rule(Priority.WARNING, on_after_s=3.0, off_after_s=10.0),
    "dragging": Rule(Priority.CAUTION, on_after_s=5.0, off_after_s=20.0),
    "bottom near": Rule(Priority.CAUTION, on_after_s=5.0, off_after_s=60.0, gives_way_to="bottom touch"),
    "release": Rule(Priority.CAUTION, on_after_s=5.0, off_after_s=15.0),
    "propeller": Rule(Priority.CAUTION, on_after_s=2.0, off_after_s=5.0),
    "lure speed": Rule(Priority.CAUTION, off_after_s=15.0),
}

_WORST_FIRST = tuple(Priority)

FORECAST = "ahead "
"""How the ids of alerts begin that a forecast raises; only a session that looks ahead has them."""


@dataclass(frozen=True, slots=True)
class Cause:
    """A condition that holds at this step."""

    kind: str
    text: str
    advice: str = ""
    keys: tuple[str, ...] = ()
    time_left_s: float | None = None
    about: str = ""  # tells the cause from others of its kind from step to step; empty: its rods do
    over: bool = False  # the danger has gone: it keeps an alert that stands for a while, and raises none

    @property
    def name(self) -> tuple[str, tuple[str, ...]]:
        """The identity of an alert."""
        return self.kind, (self.about,) if self.about else self.keys


@dataclass(slots=True)
class _Track:
    cause: Cause
    first_s: float  # the start of the cause's unbroken time
    last_s: float  # when the cause last held
    raised: Alert | None = None
    seen: frozenset[str] | None = None  # the rods it had when it was acknowledged


@dataclass(slots=True)
class AlertBook:
    """The alerts of a session; a plain value that can be deep-copied."""

    _tracks: dict[tuple[str, tuple[str, ...]], _Track] = field(default_factory=dict)
    _serial: int = 0
    prefix: str = ""  # begins its alerts' ids, where one session has several books

    def step(self, t_s: float, causes: Iterable[Cause]) -> None:
        """Take the causes that hold at ``t_s``."""
        held: set[tuple[str, tuple[str, ...]]] = set()
        for cause in causes:
            name = cause.name
            track = self._tracks.get(name)
            if cause.over and (track is None or track.raised is None):
                continue
            held.add(name)
            if track is None:
                track = self._tracks[name] = _Track(cause, t_s, t_s)
            track.cause, track.last_s = cause, t_s
            rule = RULES[cause.kind]
            joins = rule.rods_join and not cause.over
            if joins and track.seen is not None and not set(cause.keys) <= track.seen:
                track.raised, track.seen = None, None
            if track.raised is None:
                if t_s - track.first_s >= rule.on_after_s:
                    self._serial += 1
                    track.raised = Alert(
                        id=f"{self.prefix}{t_s:.0f}.{self._serial}",
                        kind=cause.kind,
                        priority=rule.priority,
                        state=AlertState.ACTIVE,
                        keys=cause.keys,
                        text=cause.text,
                        advice=cause.advice,
                        since_t_s=t_s,
                        time_left_s=cause.time_left_s,
                    )
            else:
                track.raised = replace(
                    track.raised,
                    keys=cause.keys,
                    text=cause.text,
                    advice=cause.advice,
                    time_left_s=cause.time_left_s,
                    over=cause.over,
                )
        for name, track in list(self._tracks.items()):
            rule = RULES[track.cause.kind]
            worse = self._tracks.get((rule.gives_way_to, track.cause.keys))
            gives_way = worse is not None and worse.raised is not None
            gone = name not in held and (track.raised is None or t_s - track.last_s >= rule.off_after_s)
            if gives_way or gone:
                del self._tracks[name]

    def acknowledge(self, alert_id: str) -> None:
        """Acknowledge one. Nothing happens for an unknown id: that alert has gone meanwhile."""
        for track in self._tracks.values():
            if track.raised is not None and track.raised.id == alert_id:
                track.raised = replace(track.raised, state=AlertState.ACKNOWLEDGED)
                track.seen = (track.seen or frozenset()) | frozenset(track.raised.keys)

    def standing(self) -> tuple[Alert, ...]:
        """Worst first."""
        return worst_first(t.raised for t in self._tracks.values() if t.raised is not None)


def worst_first(alerts: Iterable[Alert]) -> tuple[Alert, ...]:
    """In order of priority, unacknowledged before acknowledged, least time left first, then the oldest."""
    return tuple(sorted(alerts, key=_urgency))


def _urgency(alert: Alert) -> tuple[int, bool, float, float, str]:
    left = alert.time_left_s if alert.time_left_s is not None else 0.0
    return _WORST_FIRST.index(alert.priority), alert.state is AlertState.ACKNOWLEDGED, left, alert.since_t_s, alert.id
