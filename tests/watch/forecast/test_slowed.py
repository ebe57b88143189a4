"""With a fish on: what the rest does if the boat slows now."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

import made_outlooks

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.core.player import Player
from sternwatch.watch.forecast.slowed import slowed_words, slowing
from sternwatch.watch.outlook.alerts import ForecastAlerts
from sternwatch.watch.outlook.lookout import look_from, renewed
from sternwatch.watch.outlook.renewal import OutlookMaker, Wishes
from sternwatch.watch.picture.outlook import Forecast, PairForecast, Touch

# As agreed: a change of one is to be noticed.
SHARE = 0.5
LEAST_SINK_M = 0.3

US = SYSTEMS["us"]
NAMES = {"1": "P BOARD", "2": "P HIGH", "3": "P LOW"}


def slowed(*pairs: PairForecast, sinks_m: float = 0.0, touches: tuple[Touch, ...] = ()) -> Forecast:
    rod = replace(made_outlooks.rod("3"), depth_max_m=10.0 + sinks_m)
    made = made_outlooks.forecast("hold", *pairs, rods=(made_outlooks.rod("2"), rod))
    return replace(made, manoeuvre=slowing(2.4 * 0.44704), touches=touches)


def test_nothing_much() -> None:
    made = slowed(made_outlooks.pair(("2", "3"), 0.0625))
    assert slowed_words(made, NAMES, US) == "to 1.2 mph now: crossing unlikely (6 %)"


def test_what_crosses_what_touches_and_what_sinks_most() -> None:
    pairs = made_outlooks.pair(("2", "3"), 0.75, 40.0), made_outlooks.pair(("1", "2"), 1.0, 65.0)
    made = slowed(*pairs, sinks_m=6.1, touches=(Touch("2", 30.0, 1.0),))
    assert slowed_words(made, NAMES, US) == (
        "to 1.2 mph now: 1 P BOARD and 2 P HIGH touch (100 %) in 1:05; "
        "2 P HIGH and 3 P LOW touch (75 %) in 0:40; 2 P HIGH touches bottom in 0:30; 3 P LOW sinks most, 20 ft"
    )


@pytest.mark.parametrize(
    ("sinks_m", "said"), [(0.1, ""), (LEAST_SINK_M - 0.001, ""), (LEAST_SINK_M + 0.001, "; 3 P LOW sinks most, 1 ft")]
)
def test_what_hardly_sinks_is_not_told(sinks_m: float, said: str) -> None:
    made = slowed(made_outlooks.pair(("2", "3"), 0.0), sinks_m=sinks_m)
    assert slowed_words(made, NAMES, US) == f"to 1.2 mph now: crossing in none of 16{said}"


def test_two_pairs_and_two_touches_are_named_the_likeliest_and_the_soonest_first() -> None:
    pairs = [
        made_outlooks.pair(keys, share) for keys, share in ((("1", "2"), 0.11), (("2", "3"), 0.5), (("1", "3"), 0.5))
    ]
    pairs = [replace(one, undercut_s=meet) for one, meet in zip(pairs, (None, 90.0, 30.0), strict=True)]
    touches = (Touch("1", 50.0, 1.0), Touch("2", 20.0, 1.0), Touch("3", 40.0, 1.0))
    said = slowed_words(slowed(*pairs, touches=touches), NAMES, US)
    assert said == (
        "to 1.2 mph now: 1 P BOARD and 3 P LOW touch (50 %) in 0:30; 2 P HIGH and 3 P LOW touch (50 %) in 1:30; "
        "2 P HIGH touches bottom in 0:20; 3 P LOW touches bottom in 0:40"
    )


@pytest.mark.parametrize(("share", "said"), [(0.3, "some lines touch (30 %)"), (None, "crossings not known")])
def test_some_risk_and_none_known(share: float | None, said: str) -> None:
    made = slowed(made_outlooks.pair(("2", "3"), share and 0.0625))
    made = replace(made, any_crossing=share)
    assert slowed_words(made, NAMES, US).endswith(said)


def test_it_is_asked_while_a_fish_is_on_and_only_then(make_player: Callable[[], Player]) -> None:
    player = make_player()
    player.to(392.0)
    look = look_from(player.watch)
    assert look is not None
    assert look.fish_on
    quiet = Wishes(limits_share_s=0.0)
    outlook = renewed(OutlookMaker(), look, quiet)
    assert [made.manoeuvre.name for made in outlook.forecasts] == ["hold", "as it goes"]
    assert outlook.if_slowed is not None
    assert outlook.if_slowed.manoeuvre.to_speed_m_s == pytest.approx(SHARE * look.now.speed_m_s)
    fighting = [key for key, mine in player.watch.crew.rods.items() if mine.state == "fighting"]
    keys = [rod.key for rod in outlook.if_slowed.rods]
    assert not set(fighting) & set(keys) - set(look.now.rods)
    # Heavy line sinks as she slows: the lead-core behind a board by more than a metre.
    core = outlook.if_slowed.rods[keys.index("1")]
    assert core.depth_max_m is not None
    assert core.depth_max_m > float(core.depth_m[0, 1]) + 1.0
    assert np.isfinite(core.depth_m).all()
    assert renewed(OutlookMaker(), replace(look, fish_on=False), quiet).if_slowed is None


def test_what_slowing_would_do_raises_no_alert() -> None:
    book = ForecastAlerts(NAMES, US)
    cross = slowed(made_outlooks.pair(("2", "3"), 1.0, 10.0), touches=(Touch("2", 5.0, 3.0),))
    for k in range(5):
        assert book.step(replace(made_outlooks.outlook(2.0 * k, 0.0), if_slowed=cross)) == ()
