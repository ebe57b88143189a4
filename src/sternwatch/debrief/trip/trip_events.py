"""Events of a trip besides hits: alerts with what followed them, and the chains that came closest."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sternwatch.hydro.separation.verdicts import NAMES
from sternwatch.logbook.crew.state import Crew
from sternwatch.logbook.store.samples import HitRow
from sternwatch.logbook.store.trips import Event
from sternwatch.watch.alerts.rules import FORECAST
from sternwatch.watch.picture.alert import Alert

if TYPE_CHECKING:  # it imports the kernels; the first screen must not wait for them
    from sternwatch.watch.chains.encounters import Encounters

# Actions on an alert's rods within the first time count as following it; hits within the second.
ANSWER_S = 180.0
HITS_WITHIN_S = 600.0
WORST_PAIRS = 8


@dataclass(frozen=True, slots=True)
class AlertRow:
    """An alert and what followed it. ``ended_s`` None: it lasted to the end."""

    kind: str
    priority: str
    keys: tuple[str, ...]
    text: str
    advice: str
    begun_s: float
    ended_s: float | None
    answered: tuple[tuple[float, str], ...] = ()  # (seconds after, kind of action and rod)
    hits_after: int = 0


@dataclass(frozen=True, slots=True)
class Separation:
    """The closest approach of a pair of chains on the trip, and its outcome.

    For a computed trip, closest means against the distance required there. From passing pictures it means the least
    distance, and the outcome is unknown.
    """

    keys: tuple[str, str]
    distance_m: float
    at_s: float
    required_m: float | None = None
    verdict: str | None = None  # as in JSON; None: unknown


def separations(met: Encounters) -> list[Separation]:
    """The outcome of every pair of towed chains: the worst first, equal outcomes by distance."""
    met.close()
    near = [one for one in met.least_of.values() if one.ratio < met.resolve]
    order = sorted(near, key=lambda one: (-met.verdict(one.keys), one.ratio, one.keys))
    return [
        Separation(
            one.keys, round(one.distance_m, 3), round(one.t_s, 3), round(one.required_m, 3),
            NAMES[met.verdict(one.keys)],
        )
        for one in order[:WORST_PAIRS]
    ]  # fmt: skip


def follow(alerts: dict[str, AlertRow], before: frozenset[str], now: Sequence[Alert], t_s: float) -> None:
    """Add the alerts raised at a moment and end those that are gone. ``before``: ids that stood until then.

    One that is seen for the first time when its danger is over stood behind another of the same cause, which is told.
    """
    for alert in now:
        if alert.id not in alerts and not alert.over:
            alerts[alert.id] = AlertRow(
                alert.kind, alert.priority.value, alert.keys, alert.text, alert.advice, round(t_s, 3), None
            )
    for gone in (before - {alert.id for alert in now}) & alerts.keys():
        alerts[gone] = replace(alerts[gone], ended_s=round(t_s, 3))


def foretold(events: Iterable[Event], own: Sequence[AlertRow]) -> list[AlertRow]:
    """Alerts from a session's forecasts, one row each time, oldest first. Replaying the pictures does not raise them.

    ``own``: the pictures' alerts. Where one of them stands for the same cause and rods, only its words are kept.
    """
    rows: list[AlertRow] = []
    standing: dict[str, int] = {}
    for event in sorted(events, key=lambda one: one.elapsed_s):
        if not event.id.startswith(FORECAST):
            continue
        at_s = round(event.elapsed_s, 3)
        if event.state == "gone":
            if (i := standing.pop(event.id, None)) is not None:
                rows[i] = replace(rows[i], ended_s=at_s)
        elif event.id not in standing:
            standing[event.id] = len(rows)
            rows.append(AlertRow(event.kind, event.priority, event.keys, event.text, event.advice, at_s, None))
        elif not set(event.keys) <= set(rows[i := standing[event.id]].keys):  # more rods have joined it
            keys = tuple(dict.fromkeys((*rows[i].keys, *event.keys)))
            rows[i] = replace(rows[i], keys=keys, text=event.text, advice=event.advice)
    return [row for row in rows if not any(_covers(one, row) for one in own)]


def _covers(one: AlertRow, other: AlertRow) -> bool:
    stood = one.begun_s <= other.begun_s and (one.ended_s is None or other.begun_s < one.ended_s)
    return stood and (one.kind, one.keys) == (other.kind, other.keys)


def closest(apart: dict[tuple[str, str], Separation], near: Mapping[str, tuple[float, str]], t_s: float) -> None:
    """Keep every pair's least distance [m]. ``near``: each rod's distance to its nearest chain, and whose that is."""
    for key, (distance_m, other) in near.items():
        pair = (key, other) if key < other else (other, key)
        known = apart.get(pair)
        if known is None or distance_m < known.distance_m:
            apart[pair] = Separation(pair, round(distance_m, 3), round(t_s, 3))


def worst_of(apart: Iterable[Separation]) -> list[Separation]:
    """The pairs that came closest, in that order."""
    return sorted(apart, key=lambda one: (one.distance_m, one.keys))[:WORST_PAIRS]


def answered(alert: AlertRow, crew: Crew, hits: Sequence[HitRow], offset_s: float | None) -> AlertRow:
    """The alert with what the crew did on its rods soon after, and the hits that came. What was taken back is not."""
    did = []
    for key in crew.standing:
        action = crew.entries[key]
        t = action.elapsed_s
        if t is None and offset_s is not None:
            t = action.time.timestamp() - offset_s
        if t is None or not 0.0 <= t - alert.begun_s <= ANSWER_S:
            continue
        if action.rod is not None and (action.rod in alert.keys or not alert.keys):
            did.append((round(t - alert.begun_s, 1), f"{action.rod} {action.kind}"))
    after = sum(
        hit.counts and hit.at_s is not None and 0.0 <= hit.at_s - alert.begun_s <= HITS_WITHIN_S
        and (not alert.keys or hit.rod in alert.keys)
        for hit in hits
    )  # fmt: skip
    return replace(alert, answered=tuple(did[:4]), hits_after=after)
