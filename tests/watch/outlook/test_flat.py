"""What looking ahead in alarm leaves behind: nothing, however often a rod on the bottom is advised on."""

from __future__ import annotations

import gc
import math
import tracemalloc
from pathlib import Path
from typing import Any

import pytest

from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.outlook.lookout import look_from
from sternwatch.watch.outlook.renewal import OutlookMaker, Wishes
from sternwatch.watch.picture.outlook import Outlook

SPEED_M_S = 1.05
REMEMBERED_MIN = 15  # moments of the last quarter of an hour are kept: until then memory may grow


class Alarmed:
    """A watch with divers on the bottom, looked at every so often with all that advice takes."""

    def __init__(self, spread: Spread, hand_feed: type[Any], members: int) -> None:
        self.feed = hand_feed(new_watch(Setup(spread, start="fishing", members=members)))
        self.maker = OutlookMaker()
        self.seconds = 0

    def sail(self, seconds: int, every_s: int) -> Outlook:
        outlook = None
        for _ in range(seconds):
            self.seconds += 1
            bottom_m = 13.0 + 0.5 * math.sin(self.seconds / 200.0)
            self.feed.run(1, stw=SPEED_M_S, sog=SPEED_M_S, bottom=bottom_m)
            if self.seconds > 60 and self.seconds % every_s == 0:
                look = look_from(self.feed.watch)
                assert look is not None
                outlook = self.maker.renew(look.now, Wishes(ground=look.ground))
        assert outlook is not None
        return outlook


def test_a_look_in_alarm_leaves_nothing_behind(two_rods: Spread, hand_feed: type[Any]) -> None:
    alarmed = Alarmed(two_rods, hand_feed, members=2)
    outlook = alarmed.sail(80, 10)
    assert any(made.touches for made in outlook.forecasts)
    look = look_from(alarmed.feed.watch)
    assert look is not None

    def renew(times: int) -> float:
        for _ in range(times):
            alarmed.maker.renew(look.now, Wishes(ground=look.ground))
        gc.collect()
        return tracemalloc.get_traced_memory()[0] / 1e6

    tracemalloc.start()
    try:
        before = renew(3)
        after = renew(5)
    finally:
        tracemalloc.stop()
    assert after - before < 0.1  # MB; a single run of these two rods along a forecast is more


def _resident_mb() -> float:
    for line in Path("/proc/self/status").read_text(encoding="ascii").splitlines():
        if line.startswith("VmRSS"):
            return int(line.split()[1]) / 1024.0
    raise AssertionError("no VmRSS")


@pytest.mark.campaign
def test_a_long_session_in_alarm_is_flat(spread: Spread, hand_feed: type[Any]) -> None:
    """Two simulated hours, a look every 15 s; the resident memory of each ten minutes' end."""
    alarmed = Alarmed(spread, hand_feed, members=4)
    told = []
    for ten in range(12):
        alarmed.sail(600, 15)
        told.append(_resident_mb())
        print(f"{10 * (ten + 1):4} min {told[-1]:7.1f} MB", flush=True)
    settled = told[2 * REMEMBERED_MIN // 10 - 1 :]
    assert max(settled) - min(settled) < 20.0
    assert told[-1] < 1.05 * settled[0]
