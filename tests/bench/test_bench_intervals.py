"""What the ± of twelve rods costs, live and beside the outlook: shares of one core, processor time of this process.

``pytest tests/bench/test_bench_intervals.py -m bench -n 0 -p benchmark -s`` prints the figures.
"""

from __future__ import annotations

import math
import sys
import time
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "watch"))

from twelve_rods import twelve_rods

from sternwatch.answers.belief.priors import CARRIED
from sternwatch.feed.readings import Quantity, Reading
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.outlook.lookout import EVERY_S, look_from, renewed
from sternwatch.watch.outlook.renewal import OutlookMaker, Wishes
from sternwatch.watch.picture.model import Session

pytestmark = pytest.mark.bench

WARM_S, SECONDS = 60, 120


def sail(watch: Watch, begin: int, seconds: int) -> float:
    """Processor time [s] of so many seconds of a feed, half of them in a turn of 3 degrees a second."""
    began = time.process_time()
    heading = 0.0
    for t in range(begin, begin + seconds):
        heading += 3.0 if (t // 30) % 2 else 0.0
        north = 47.0 + math.degrees(t * 1.03 / 6_371_008.8)
        for quantity, value in (
            (Quantity.CLOCK, 1_784_000_000.0 + t), (Quantity.SOG, 1.03), (Quantity.COG, heading % 360.0),
            (Quantity.POSITION, (north, -90.0)), (Quantity.HEADING, heading % 360.0), (Quantity.STW, 1.03),
        ):  # fmt: skip
            watch.observe(Reading(float(t), "bench", quantity, value, "TST"))
        watch.advance(float(t))
    return time.process_time() - began


def test_intervals_and_outlook_together_stay_below_one_core() -> None:
    """The peer is the same watch without members."""
    spread = parse_spread(twelve_rods())
    spent = {}
    for members in (0, CARRIED):
        watch = new_watch(Setup(spread, Session.LIVE, start="fishing", members=members))
        sail(watch, 1, WARM_S)
        spent[members] = sail(watch, 1 + WARM_S, SECONDS) / SECONDS
    assert all(rod.depth_interval_m is not None for rod in watch.picture().rods)
    maker = OutlookMaker()
    looks = []
    for number in range(4):
        look = look_from(watch)
        assert look is not None
        began = time.process_time()
        renewed(maker, look, Wishes())
        looks.append(time.process_time() - began)
        sail(watch, 1 + WARM_S + SECONDS + 2 * number, 2)
    outlook = min(looks[1:]) / EVERY_S
    intervals = spent[CARRIED] - spent[0]
    print(
        f"\ntwelve rods, {CARRIED} members: watch without ± {spent[0]:.1%} of a core, ± {intervals:.1%}, "
        f"outlook every {EVERY_S:.0f} s {outlook:.1%}; together {spent[CARRIED] + outlook:.1%}"
    )
    assert intervals < 0.05
    assert spent[CARRIED] + outlook < 1.0
