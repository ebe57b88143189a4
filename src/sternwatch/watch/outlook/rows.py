"""Outlooks in rows: the contract of ``replay --outlook --headless --json``. Only feed time decides.

No thread and no clock: the same two streams give the same bytes. An outlook is made at most every two seconds of feed
time. The rows between carry the newest one, and its alerts are in the row's ``alerts``. ``outlook`` is null where
there is nothing to look ahead from.

    "outlook": {"elapsed_s": feed time of which it is, "advice_for": "as it goes" or null,
      "advice": [{"text", "change", "probability_after"}],
      "forecasts": [{"manoeuvre": "hold" | "as it goes", "turn_rad" (to starboard positive), "rate_rad_s",
        "to_speed_m_s", "members", "ends_s", "horizon_s", "any_crossing",
        "pairs": [{"keys", "probability", "time_s", "undercut_s", "separation_m", "required_m", "depth_m", "astern_m",
                   "abeam_m", "verdict": "clear_of_each_other" | "near_pass" | "touch" | "wrapped",
                   "probabilities": {"near_pass", "touch", "wrapped"}, "members",
                   "near_pass": {"over", "under", "apart_again_s", "over_until_s"} or null,
                   "contact": {"time_s", "depth_m", "astern_m", "abeam_m", "touching_s", "slides_m"} or null,
                   "passes": [{"time_s", "arc_m", "depth_m", "sign", "on_tackle"}]}],
        "rods": [{"key", "depth_min_m", "depth_max_m", "speed_min_m_s", "slack_s", "out_of_zone_s"}],
        "touches": [{"key", "time_s", "raise_m", "advice": [as above]}]}],
      "if_slowed": one such forecast while a fish is on, else null}

Times count from ``elapsed_s``; probabilities are shares of the members, ``probability`` that of touch or worse;
``verdict`` is the worst in at least one member in ten. A pair has more ``members`` where the first, which all are run
with, touch in some but too few to decide. Distances are the median member's at its closest point,
contact and passes those of the median member that has one. After a first contact all is only indicative, because
every chain moves as if it were alone. Limits are left out: how far their search gets depends on the machine.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import DisplaySystem
from sternwatch.watch.core.engine import Watch
from sternwatch.watch.forecast.marks_ahead import passed
from sternwatch.watch.forecast.meeting_rows import meeting_row
from sternwatch.watch.outlook.alerts import ForecastAlerts, merged
from sternwatch.watch.outlook.lookout import GONE_AFTER_S, Maker, look_from, renewed
from sternwatch.watch.outlook.renewal import OutlookMaker, Wishes
from sternwatch.watch.picture.model import Picture
from sternwatch.watch.picture.outlook import Advice, Forecast, Outlook, PairForecast, RodForecast
from sternwatch.watch.picture.rows import number, picture_row

EVERY_S = 2.0  # of feed time


@dataclass
class OutlookRows:
    """Makes rows with outlooks from a watch as it steps forward."""

    spread: Spread
    units: DisplaySystem
    maker: Maker = field(default_factory=OutlookMaker)
    _outlook: Outlook | None = None
    _alerts: ForecastAlerts = field(init=False)

    def __post_init__(self) -> None:
        self._alerts = ForecastAlerts({rod.key: rod.name for rod in self.spread.rods}, self.units)

    def row(self, watch: Watch, picture: Picture) -> dict[str, Any]:
        """The row of a picture, its outlook and the alerts of both. ``watch``: at the picture's step."""
        self._look(watch)
        for alert_id in watch.crew.acknowledged:
            self._alerts.acknowledge(alert_id)
        outlook = self._outlook
        if outlook is None:
            return picture_row(picture) | {"outlook": None}
        outlook = replace(outlook, alerts=self._alerts.standing())
        row = picture_row(replace(picture, alerts=merged(picture.alerts, outlook, picture.t_s)))
        return row | {"outlook": outlook_row(outlook)}

    def _look(self, watch: Watch) -> None:
        if self._outlook is not None and watch.now_s - self._outlook.t_s < EVERY_S:
            return
        look = look_from(watch)
        if look is None:
            if self._outlook is not None and watch.now_s - self._outlook.t_s > GONE_AFTER_S:
                self._outlook = None
                self._alerts.forget()
            return
        self._outlook = renewed(self.maker, look, Wishes(units=self.units, limits_share_s=0.0))
        self._alerts.step(self._outlook, look.moving, passed(self._outlook, look.marked))


def outlook_row(outlook: Outlook) -> dict[str, Any]:
    """An outlook as JSON: SI units; times from ``elapsed_s``; null where unknown."""
    return {
        "elapsed_s": number(outlook.t_s, 3),
        "forecasts": [_forecast(made) for made in outlook.forecasts],
        "if_slowed": None if outlook.if_slowed is None else _forecast(outlook.if_slowed),
        "advice_for": outlook.advice_for or None,
        "advice": [advice_row(one) for one in outlook.advice],
    }


def advice_row(advice: Advice) -> dict[str, Any]:
    """One advice: sentence, change, and share of members that still cross."""
    return {"text": advice.text, "change": dict(advice.change), "probability_after": number(advice.probability_after)}


def _forecast(made: Forecast) -> dict[str, Any]:
    plan = made.manoeuvre
    return {
        "manoeuvre": plan.name,
        "turn_rad": number(plan.turn_rad),
        "rate_rad_s": number(plan.rate_rad_s),
        "to_speed_m_s": number(plan.to_speed_m_s),
        "members": made.members,
        "ends_s": number(made.ends_s, 3),
        "horizon_s": number(made.horizon_s, 3),
        "any_crossing": number(made.any_crossing),
        "pairs": [_pair(pair) for pair in made.pairs],
        "rods": [_rod(rod) for rod in made.rods],
        "touches": [
            {
                "key": one.key,
                "time_s": number(one.time_s, 3),
                "raise_m": number(one.by_m),
                "advice": [advice_row(advice) for advice in one.advice],
            }
            for one in made.touches
        ],
    }


def _pair(pair: PairForecast) -> dict[str, Any]:
    return {
        "keys": list(pair.keys),
        "probability": number(pair.probability),
        "time_s": number(pair.time_s, 3),
        "undercut_s": number(pair.undercut_s, 3),
        "separation_m": number(pair.separation_m),
        "required_m": number(pair.required_m),
        "depth_m": number(pair.depth_m),
        "astern_m": number(pair.astern_m),
        "abeam_m": number(pair.abeam_m),
    } | meeting_row(pair)


def _rod(rod: RodForecast) -> dict[str, Any]:
    return {
        "key": rod.key,
        "depth_min_m": number(rod.depth_min_m),
        "depth_max_m": number(rod.depth_max_m),
        "speed_min_m_s": number(rod.speed_min_m_s),
        "slack_s": number(rod.slack_s),
        "out_of_zone_s": number(rod.out_of_zone_s),
    }
