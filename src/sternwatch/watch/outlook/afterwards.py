"""Looks ahead along a recording from its beginning to its end: what a console would have warned of.

Only feed time decides, so that the same two streams give the same warnings on any machine. Looks are as far apart as
on the water. Limits are not searched: nobody steers by them. What would happen if she slowed for a fish raises no
alert, so that is not forecast either.
"""

from __future__ import annotations

import copy
from dataclasses import replace
from typing import Protocol, Self

from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import DisplaySystem
from sternwatch.logbook.store.trips import Event
from sternwatch.watch.alerts.told import Told
from sternwatch.watch.core.engine import Watch
from sternwatch.watch.forecast.marks_ahead import passed
from sternwatch.watch.forecast.snapshot import Snapshot
from sternwatch.watch.outlook.alerts import ForecastAlerts
from sternwatch.watch.outlook.lookout import (
    CALM_LIVE_EVERY_S,
    EVERY_S,
    GONE_AFTER_S,
    STILL_EVERY_S,
    look_from,
    renewed,
)
from sternwatch.watch.outlook.quiet import Pace, Seen
from sternwatch.watch.outlook.renewal import OutlookMaker, Wishes
from sternwatch.watch.picture.outlook import Outlook

_PACE = Pace(EVERY_S, CALM_LIVE_EVERY_S, STILL_EVERY_S)


class Maker(Protocol):
    """The interface of ``OutlookMaker`` that a pass needs."""

    def renew(self, now: Snapshot, wishes: Wishes | None = None) -> Outlook: ...

    def copy(self) -> Self: ...


class Afterwards:
    """Looks from a watch as it steps forward. One thread owns it."""

    def __init__(self, spread: Spread, units: DisplaySystem, maker: Maker | None = None) -> None:
        self._maker: Maker = OutlookMaker() if maker is None else maker
        self._wishes = Wishes(units=units, limits_share_s=0.0, alerts_only=True)
        self._alerts = ForecastAlerts({rod.key: rod.name for rod in spread.rods}, units)
        self._told = Told()
        self._outlook: Outlook | None = None
        self._seen: Seen | None = None  # at the last look
        self.looks = 0

    def copy(self) -> Afterwards:
        """One that finds the same from here on, of a copy of the watch."""
        own = copy.copy(self)
        own._maker, own._alerts, own._told = self._maker.copy(), self._alerts.copy(), self._told.copy()
        return own

    def look(self, watch: Watch) -> list[Event]:
        """Call after every step. Returns what happened to its alerts in it."""
        for alert_id in watch.crew.acknowledged:
            self._alerts.acknowledge(alert_id)
        if not self._due(watch):
            return self._told.take(self._alerts.standing(), watch.now_s)
        look = look_from(watch)
        if look is not None:
            self._seen = Seen.of(watch)
            outlook = renewed(self._maker, replace(look, fish_on=False), self._wishes)
            alerts = self._alerts.step(outlook, look.moving, passed(outlook, look.marked))
            self._outlook = replace(outlook, alerts=alerts)
            self.looks += 1
        elif self._outlook is not None and watch.now_s - self._outlook.t_s > GONE_AFTER_S:
            self._outlook = self._seen = None
            self._alerts.forget()
        return self._told.take(self._alerts.standing(), watch.now_s)

    def _due(self, watch: Watch) -> bool:
        outlook, seen = self._outlook, self._seen
        if outlook is None or seen is None:
            return True
        return _PACE.is_due(
            watch.now_s - outlook.t_s, watch.boat.rate_of_turn_deg_s, outlook, lambda: Seen.of(watch).is_still(seen),
            with_limits=False,
        )  # fmt: skip
