"""Alerts from forecasts: rods that will cross, tackle that will touch the bottom, marks on the lines' way.

Only what the boat is doing counts: holding on, or going on as she goes. A plan is no cause. One bad renewal
raises nothing, and an alert ends only when the danger has been small for a while. All pairs that cross in what the
boat is doing are one alert.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Container, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from sternwatch.gear.values.units import SYSTEMS, Dimension, DisplaySystem
from sternwatch.watch.alerts.rules import FORECAST, AlertBook, Cause, worst_first
from sternwatch.watch.forecast.meeting_words import MOST, deep, folded_words, near_words, verb
from sternwatch.watch.forecast.turn_words import unlikely_words
from sternwatch.watch.picture.alert import Alert
from sternwatch.watch.picture.manoeuvre import PLAN
from sternwatch.watch.picture.meetings import Contact, NearPass
from sternwatch.watch.picture.outlook import RISK, Forecast, Outlook, PairForecast, Touch

if TYPE_CHECKING:
    from sternwatch.watch.forecast.marks_ahead import Passed

# Touch or worse in this share of the members is a warning: once in ten turns is too often, and costs an hour each
# time.
LIKELY = RISK
ON_RENEWALS = 3
OFF_AFTER_S = 20.0
# After a longer gap (a fast replay, or a jump) the earlier state does not count.
HOLE_S = 60.0
MOST_PAIRS = 2  # named in one alert; the others are counted


@dataclass(slots=True)
class Standing:
    """One danger over its renewals: on after three bad ones in a row, off after 20 s without a bad one."""

    on: bool = False
    running: int = 0
    last_bad_s: float = math.nan

    def step(self, t_s: float, bad: bool) -> bool:
        """Take a renewal made at feed time ``t_s``. Returns whether the alert stands."""
        self.running = self.running + 1 if bad else 0
        if bad:
            self.last_bad_s = t_s
        if self.running >= ON_RENEWALS:
            self.on = True
        elif self.on and t_s - self.last_bad_s >= OFF_AFTER_S:
            self.on = False
        return self.on


@dataclass(slots=True)
class ForecastAlerts:
    """The alerts that a session's outlooks raise. One thread owns it."""

    names: Mapping[str, str]  # names of the rods, by key
    units: DisplaySystem = field(default_factory=lambda: SYSTEMS["us"])
    _book: AlertBook = field(default_factory=lambda: AlertBook(prefix=FORECAST))
    _pairs: dict[tuple[str, str], Standing] = field(default_factory=dict)
    _near: dict[tuple[str, str], Standing] = field(default_factory=dict)
    _rods: dict[str, Standing] = field(default_factory=dict)
    _marks: dict[str, Standing] = field(default_factory=dict)
    _t_s: float | None = None

    def copy(self) -> ForecastAlerts:
        return ForecastAlerts(
            self.names, self.units,
            *copy.deepcopy((self._book, self._pairs, self._near, self._rods, self._marks)), self._t_s,
        )  # fmt: skip

    def step(
        self, outlook: Outlook, moving: Container[str] = (), passing: tuple[Passed, ...] = ()
    ) -> tuple[Alert, ...]:
        """Take a renewal and the marks passed in it. Returns the standing alerts, worst first.

        ``moving``: rods whose line runs now. A forecast keeps its present length, so it raises nothing new for them.
        """
        if self._t_s is not None and not self._t_s <= outlook.t_s <= self._t_s + HOLE_S:
            self.forget()
        self._t_s = outlook.t_s
        causes = [
            *self._crossings(outlook, moving),
            *self._touches(outlook.t_s, outlook.touches, moving),
            *self._passings(outlook.t_s, passing),
        ]
        self._book.step(outlook.t_s, causes)
        return self.standing()

    def acknowledge(self, alert_id: str) -> None:
        """Acknowledge one of them. Nothing happens for another's id."""
        self._book.acknowledge(alert_id)

    def standing(self) -> tuple[Alert, ...]:
        """The standing alerts, worst first."""
        return self._book.standing()

    def forget(self) -> None:
        """Drop all, because nothing is known now: no rod out, no speed, or another moment of a replay."""
        self._book = AlertBook(prefix=self._book.prefix, _serial=self._book._serial)
        self._pairs.clear()
        self._near.clear()
        self._rods.clear()
        self._marks.clear()
        self._t_s = None

    def _crossings(self, outlook: Outlook, moving: Container[str]) -> list[Cause]:
        crossing: list[tuple[Forecast, PairForecast]] = []
        near_passes: list[Cause] = []
        worst = _worst_of_pairs(outlook)
        for keys in [keys for keys in self._pairs if keys not in worst]:
            del self._pairs[keys]  # one of the rods is in
            self._near.pop(keys, None)
        for keys, (forecast, pair) in worst.items():
            state = self._pairs.setdefault(keys, Standing())
            near = self._near.setdefault(keys, Standing())
            still = not any(key in moving for key in keys)
            stands = near.step(outlook.t_s, still and pair.shares.near_pass >= MOST)
            if state.step(outlook.t_s, (still or state.on) and pair.known_probability >= LIKELY):
                crossing.append((forecast, pair))
            elif stands and pair.near_pass is not None:
                near_passes.append(self._near_pass(forecast, pair, pair.near_pass))
        return [*self._folded(outlook, crossing), *near_passes]

    def _folded(self, outlook: Outlook, crossing: list[tuple[Forecast, PairForecast]]) -> list[Cause]:
        """One alert for all pairs: she makes one manoeuvre at a time, and one cure serves for all."""
        likely = [one for one in crossing if one[1].known_probability >= LIKELY]
        told = sorted(likely or crossing, key=lambda one: _badness(one[1]), reverse=True)
        if len(told) == 1 or not likely:
            return [self._crossing(outlook, *one) for one in told[:1]]
        advised = next((one for one, _ in told if one.manoeuvre.name == outlook.advice_for), None)
        cure = outlook.advice[0] if outlook.advice and advised is not None else None
        made = told[0][0] if advised is None else advised
        rods = tuple(dict.fromkeys(key for _, pair in told for key in pair.keys))
        text = folded_words(made, rods, verb(told[0][1]), cure.short if cure is not None else "")
        pairs = ", ".join(f"{' and '.join(pair.keys)}: {_percent(pair)}" for _, pair in told[:MOST_PAIRS])
        if (more := len(told) - MOST_PAIRS) > 0:
            pairs += f", and {more} more pair{'s' if more > 1 else ''}"
        advice = f"{cure.text} {pairs}" if cure is not None else pairs  # what is cut off is not the cure
        left = [left_s for _, pair in told if (left_s := _left_s(pair)) is not None]
        return [Cause("crossing", text, advice, self._in_order(rods), min(left, default=None), about="crossing")]

    def _in_order(self, rods: tuple[str, ...]) -> tuple[str, ...]:
        """As in the spread's file; unknown ones last."""
        return (*(key for key in self.names if key in rods), *(key for key in rods if key not in self.names))

    def _crossing(self, outlook: Outlook, forecast: Forecast, pair: PairForecast) -> Cause:
        one, other = (f"{key} {self.names.get(key, '')}".strip() for key in pair.keys)
        if pair.known_probability < LIKELY:
            text = f"{one} and {other}: {unlikely_words('crossing', pair.known_probability, pair.members)} now"
            return Cause("crossing", text, keys=pair.keys, about="crossing", over=True)
        where = ""
        at: Contact | PairForecast = pair.contact or pair
        if at.depth_m is not None and at.astern_m is not None:
            where = f", {deep(at.depth_m, self.units)}, {self.units.show(at.astern_m, Dimension.LENGTH)} back"
        cure = outlook.advice[0].text if outlook.advice and outlook.advice_for == forecast.manoeuvre.name else ""
        text = f"{one} and {other} {verb(pair)} ({_percent(pair)}){where}"
        return Cause("crossing", text, cure, pair.keys, _left_s(pair), about="crossing")

    def _near_pass(self, forecast: Forecast, pair: PairForecast, near: NearPass) -> Cause:
        text, reel = near_words(forecast, pair, near, self.names, self.units)
        return Cause("near pass", text, reel, pair.keys, pair.time_s)

    def _touches(self, t_s: float, touching: tuple[Touch, ...], moving: Container[str]) -> list[Cause]:
        found = {touch.key: touch for touch in touching}
        made = []
        for key in {*self._rods, *found}:
            touch = found.get(key)
            state = self._rods.setdefault(key, Standing())
            counts = touch is not None and (state.on or key not in moving)
            stands = state.step(t_s, counts)
            if not stands:
                if touch is None:
                    del self._rods[key]
                continue
            name = f"{key} {self.names.get(key, '')}".strip()
            if touch is None:
                made.append(Cause("bottom touch", f"{name}: no touch forecast now", keys=(key,), over=True))
                continue
            raise_by = self.units.show(max(touch.by_m, 0.3), Dimension.LENGTH, 0 if self.units.length == "ft" else 1)
            text = f"{name} is on the bottom" if touch.time_s <= 0.0 else f"{name} reaches the bottom"
            cure = touch.advice[0].text if touch.advice else f"Raise it {raise_by}."
            made.append(Cause("bottom touch", text, cure, (key,), touch.time_s))
        return sorted(made, key=lambda cause: cause.keys)

    def _passings(self, t_s: float, passing: tuple[Passed, ...]) -> list[Cause]:
        """Marks on the lines' way as she turns. Off at once without any: on a straight course `causes` has them."""
        found = {one.id: one for one in passing}
        self._marks = {mark: state for mark, state in self._marks.items() if mark in found}
        made = []
        for mark, one in found.items():
            if self._marks.setdefault(mark, Standing()).step(t_s, bad=True):
                lines = "this line" if len(one.keys) == 1 else "these lines"
                where = "is among" if one.time_s <= 0.0 else "lies on the way of"
                cure = (
                    "Keep to the course she has now" if one.steady else "Turn away: straight on it is in the way too"
                )
                text = f"A {one.what} {where} {lines} as she turns"
                made.append(Cause(f"{one.what} ahead", text, cure, one.keys, one.time_s, about=mark))
        return made


def _left_s(pair: PairForecast) -> float | None:
    """Seconds from the renewal until they touch or come too near; where that is unknown, until they are nearest."""
    return pair.time_s if pair.meet_s is None else pair.meet_s


def _worst_of_pairs(outlook: Outlook) -> dict[tuple[str, str], tuple[Forecast, PairForecast]]:
    """Each pair with the worse for it of the forecasts of what the boat is doing."""
    worst: dict[tuple[str, str], tuple[Forecast, PairForecast]] = {}
    for forecast in outlook.forecasts:
        if forecast.manoeuvre.name == PLAN:
            continue
        for pair in forecast.pairs:
            if pair.probability is None:
                continue
            before = worst.get(pair.keys)
            if before is None or _badness(pair) > _badness(before[1]):
                worst[pair.keys] = (forecast, pair)
    return worst


def _percent(pair: PairForecast) -> str:
    """The share of the members in which the pair touches or worse."""
    return f"{100 * pair.known_probability:.0f} %"


def _badness(pair: PairForecast) -> tuple[float, float]:
    return pair.known_probability, pair.shares.near_pass


def merged(alerts: tuple[Alert, ...], outlook: Outlook | None, now_s: float) -> tuple[Alert, ...]:
    """The alerts of a picture and of an outlook in one order, with the time left at feed time ``now_s``.

    Alerts of both about the same rods appear once, in the picture's words. A cure that was tried replaces a
    computed one.
    """
    if outlook is None:
        return alerts
    tried = {touch.key: touch.advice[0].text for touch in outlook.touches if touch.advice}
    alerts = tuple(
        replace(alert, advice=tried[alert.keys[0]])
        if alert.kind == "bottom touch" and len(alert.keys) == 1 and alert.keys[0] in tried
        else alert
        for alert in alerts
    )
    told = {(alert.kind, alert.keys) for alert in alerts}
    more = [_aged(alert, outlook.age_s(now_s)) for alert in outlook.alerts if (alert.kind, alert.keys) not in told]
    return worst_first((*alerts, *more))


def _aged(alert: Alert, age_s: float) -> Alert:
    left = alert.time_left_s
    return alert if left is None else replace(alert, time_left_s=max(left - max(age_s, 0.0), 0.0))
