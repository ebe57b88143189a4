"""How often a helm is alarmed: on a quiet day and in five kinds of turn, by the watch and by its outlook together."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest

from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.alerts.rules import RULES
from sternwatch.watch.outlook.alerts import ForecastAlerts, merged
from sternwatch.watch.outlook.renewal import OutlookMaker
from sternwatch.watch.picture.alert import Priority
from watch.outlook.test_renewal import ALONE, settled_feed, steady, surge, voyage, yaw

EVERY_S = 4
# Degrees a second, and for how long; then straight on until the lines have come clear of it.
TURNS = {
    "half a circle in 3:00": (1.0, 180),
    "half a circle in 2:00": (1.5, 120),
    "half a circle in 1:30": (2.0, 90),
    "half a circle in 1:00": (3.0, 60),
    "a circle in 2:00": (3.0, 120),
}
AFTER_S = 90
QUIET_S = 600


def _raised(feed: Any, spread: Spread, seconds: int, rate: Any, speed: Any) -> Counter[tuple[str, Priority]]:
    maker = OutlookMaker()
    ahead = ForecastAlerts({rod.key: rod.name for rod in spread.rods}, SYSTEMS["us"])
    ids: dict[str, tuple[str, Priority]] = {}
    for now in voyage(feed, seconds, rate, speed, EVERY_S):
        outlook = maker.renew(now, ALONE)
        picture = feed.watch.picture()
        for alert in merged((*picture.alerts, *ahead.step(outlook)), None, picture.t_s):
            ids.setdefault(alert.id, (alert.kind, RULES[alert.kind].priority))
    return Counter(ids.values())


@pytest.mark.campaign
def test_a_quiet_day_raises_nothing_that_rings(spread: Spread, hand_feed: type[Any]) -> None:
    raised = _raised(settled_feed(spread, hand_feed), spread, QUIET_S, yaw, surge)
    print("quiet, an hour:", {f"{kind} ({p.value})": n * 3600 / QUIET_S for (kind, p), n in raised.items()})
    assert not [kind for kind, priority in raised if priority is not Priority.CAUTION]


@pytest.mark.campaign
@pytest.mark.parametrize("case", TURNS)
def test_one_turn_raises_one_warning_at_most(spread: Spread, hand_feed: type[Any], case: str) -> None:
    rate, turning_s = TURNS[case]
    raised = _raised(
        settled_feed(spread, hand_feed), spread, turning_s + AFTER_S, lambda k: rate if k < turning_s else 0.0, steady
    )
    print(case, {f"{kind} ({p.value})": n for (kind, p), n in raised.items()})
    assert sum(n for (_, priority), n in raised.items() if priority is not Priority.CAUTION) <= 1
