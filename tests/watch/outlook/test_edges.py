"""How often it is looked ahead, what is told of many pairs, and how she was steered: where exactly, by hand."""

from __future__ import annotations

import math
import sys
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from made_outlooks import forecast, pair

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.forecast.meeting_words import folded_words, near_words
from sternwatch.watch.outlook import lookout, quiet, renewal
from sternwatch.watch.outlook.alerts import ForecastAlerts, _worst_of_pairs
from sternwatch.watch.outlook.changes import turn_words
from sternwatch.watch.outlook.renewal import Helm
from sternwatch.watch.picture.manoeuvre import PLAN, Manoeuvre
from sternwatch.watch.picture.meetings import NearPass, Shares
from sternwatch.watch.picture.outlook import Advice, Outlook


def test_how_often_it_is_looked_and_how_long_a_look_stands() -> None:
    """As agreed: seconds of wall time; a recording's calm, and a still course, are looked at less often."""
    assert (lookout.EVERY_S, lookout.CALM_LIVE_EVERY_S, lookout.CALM_EVERY_S) == (2.0, 4.0, 6.0)
    assert (lookout.STILL_EVERY_S, lookout.GONE_AFTER_S) == (16.0, 10.0)
    assert (lookout.FAULT_RESTS_S, lookout.LATE_S) == (10.0, 60.0)
    assert (renewal.LIMITS_EVERY_S, renewal.STEADY_EVERY_S, renewal.WHOLE_EVERY_S) == (20.0, 150.0, 600.0)
    assert (renewal.OLD_S, renewal.LIMITS_SHARE_S, renewal.USUAL_S, renewal.MOST_SHARES) == (120.0, 0.4, 2.0, 3.0)


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [(1.0, 1.03, True), (1.03, 1.0, True), (1.0, 1.032, False), (1.0, 0.97, False), (1.0, 0.971, True),
     (None, None, True), (1.0, None, False),
     (None, 1.0, False), (0.0, 0.0, True)],
)  # fmt: skip
def test_what_counts_as_none(one: float | None, other: float | None, same: bool) -> None:
    assert quiet._near(one, other, 0.0301, 0.0) is same


@pytest.mark.parametrize(("metres", "same"), [(0.299, True), (0.301, False), (-0.299, True), (-0.301, False)])
def test_a_foot_counts_as_none_whatever_its_share(metres: float, same: bool) -> None:
    assert quiet._near(2.0 + metres, 2.0, 0.02, 0.3) is same


# -- the helm ------------------------------------------------------------------------------------------------------


def looked(t_s: float, heading_rad: float, speed_m_s: float = 1.0) -> Any:
    return SimpleNamespace(t_s=t_s, heading_rad=heading_rad, speed_m_s=speed_m_s)


@pytest.mark.parametrize("begun_s", [0.0, 5000.0])
@pytest.mark.parametrize(
    ("seconds", "every_s", "known"), [(16.0, 2.0, False), (17.0, 1.0, True), (20.0, 4.0, True), (20.0, 5.0, False)]
)
def test_a_trend_is_known_from_six_looks_over_seventeen_seconds(
    begun_s: float, seconds: float, every_s: float, known: bool
) -> None:
    helm, t = Helm(), 0.0
    while t <= seconds:
        helm.take(looked(begun_s + t, 0.02 * t, 1.0 - 0.003 * t))
        t += every_s
    assert (helm.trend(1) is not None) is known
    if known:
        assert helm.trend(1) == pytest.approx(0.02)
        assert helm.trend(2) == pytest.approx(-0.003)


def test_a_trend_is_of_the_last_twenty_seconds() -> None:
    helm = Helm()
    for t in range(0, 62, 2):
        helm.take(looked(float(t), 0.05 * max(t - 40.0, 0.0)))
    assert helm.trend(1) == pytest.approx(0.05)
    assert helm.turned(0.05) == pytest.approx(1.0, abs=0.11)


# -- words ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("pairs", "ending"), [(2, "1 and 3: 49 %"), (3, ", and 1 more pair"), (4, ", and 2 more pairs")]
)
def test_two_pairs_are_told_and_how_many_more(pairs: int, ending: str) -> None:
    keys = [("1", "2"), ("1", "3"), ("2", "3"), ("2", "4")]
    made = [replace(pair(keys[k], 0.5 - 0.01 * k), shares=Shares(0.0, 0.5 - 0.01 * k, 0.0)) for k in range(pairs)]
    look = Outlook(0.0, 0.1, (forecast("hold"), forecast("as it goes", *made)), None, (), None)
    (cause,) = ForecastAlerts({})._folded(look, [(look.forecasts[1], one) for one in made])
    assert cause.advice.endswith(ending)
    assert cause.advice.startswith("1 and 2: 50 %")
    assert cause.keys == tuple(dict.fromkeys(key for own in keys[:pairs] for key in own))


def test_the_worst_pair_says_what_lines_do() -> None:
    worst = replace(pair(("1", "2"), 0.8), shares=Shares(0.0, 0.1, 0.7))
    other = replace(pair(("3", "4"), 0.3), shares=Shares(0.0, 0.3, 0.0))
    look = Outlook(0.0, 0.1, (forecast("hold"), forecast("as it goes", worst, other)), None, (), None)
    (cause,) = ForecastAlerts({})._folded(look, [(look.forecasts[1], one) for one in (other, worst)])
    assert cause.text == "This turn wraps 1, 2, 3, 4"


@pytest.mark.parametrize(("cured", "told"), [("as it goes", True), ("plan", False), (None, False)])
def test_of_several_pairs_the_cure_is_told_where_it_is_of_a_manoeuvre_told(cured: str | None, told: bool) -> None:
    made = [replace(pair(("1", k), 0.5), shares=Shares(0.0, 0.5, 0.0)) for k in "23"]
    cure = Advice("Turn slower.", {"what": "turn"}, 0.0, short="slower")
    for cures in ((cure,), ()):
        look = Outlook(0.0, 0.1, (forecast("hold"), forecast("as it goes", *made)), None, cures, cured)
        (cause,) = ForecastAlerts({})._folded(look, [(look.forecasts[1], one) for one in made])
        assert cause.advice.startswith("Turn slower. 1 and 2") is (told and bool(cures))
        assert ("slower" in cause.text) is (told and bool(cures))


@pytest.mark.parametrize(
    ("manoeuvre", "does", "cure", "said"),
    [
        (Manoeuvre("hold"), "touch", "", "Holding on lets 1, 2 touch"),
        (Manoeuvre("t", math.pi), "wrap", "ease", "This turn wraps 1, 2: ease"),
        (Manoeuvre("s", to_speed_m_s=1.0), "wrap", "", "This change of speed wraps 1, 2"),
    ],
)
def test_several_pairs_in_one_line(manoeuvre: Manoeuvre, does: str, cure: str, said: str) -> None:
    assert folded_words(replace(forecast("hold"), manoeuvre=manoeuvre), ("1", "2"), does, cure) == said


@pytest.mark.parametrize(
    ("again_s", "until_s", "again", "until"),
    [(0.4, 0.4, "0:00", "0:00"), (-3.0, -3.0, "0:00", "0:00"), (9.0, 61.0, "0:09", "1:01")],
)
def test_a_time_that_has_passed_is_none(again_s: float, until_s: float, again: str, until: str) -> None:
    near = NearPass("1", "2", 10.1, again_s, until_s)
    own = replace(pair(("1", "2"), 0.0), shares=Shares(0.9, 0.0, 0.0), near_pass=near)
    made = replace(forecast("hold"), ends_s=0.0)
    text, reel = near_words(made, own, near, {}, SYSTEMS["metric"])
    assert text.endswith(f", apart again in {again}")
    assert reel == f"Don't reel 2 in meanwhile: it lies under 1 for {until}."


def test_a_turn_in_the_helms_terms() -> None:
    assert turn_words("port", 179.6, 133.0) == "180° to port in 2:13 (14° per 10 s)"
    assert turn_words("starboard", 90.0, 60.0) == "90° to starboard in 1:00 (15° per 10 s)"


def test_of_forecasts_that_are_as_bad_for_a_pair_the_first_is_told() -> None:
    """Holding on comes first; a plan is nobody's course yet; and a larger share of near passes is worse."""
    keys = ("1", "2")

    def told(*made: Any) -> str:
        (worst,) = _worst_of_pairs(Outlook(0.0, 0.1, made, None, (), "as it goes")).values()
        return worst[0].manoeuvre.name

    def near(name: str, share: float, near_pass: float) -> Any:
        return forecast(name, replace(pair(keys, share), shares=Shares(near_pass, share, 0.0)))

    assert told(near("hold", 0.4, 0.1), near("as it goes", 0.4, 0.1)) == forecast("hold").manoeuvre.name
    assert told(near("hold", 0.4, 0.1), near("as it goes", 0.4, 0.2)) == "as it goes"
    assert told(near("hold", 0.4, 0.1), near("as it goes", 0.5, 0.0)) == "as it goes"
    assert told(near("hold", 0.1, 0.0), near(PLAN, 0.9, 0.0)) == forecast("hold").manoeuvre.name
    assert told(forecast("hold", pair(keys, None)), near("as it goes", 0.0, 0.0)) == "as it goes"


@pytest.mark.parametrize("further", [(), (90.0, 99.0)])
def test_a_look_depends_on_the_interval_of_the_members_that_decide(
    monkeypatch: pytest.MonkeyPatch, further: tuple[float, ...]
) -> None:
    """Mean 12, standard deviation 2: nine in ten lie within 3.29 of it. Members that nobody knows do not count."""
    monkeypatch.setattr(quiet, "DECIDING", 5)
    depths = np.array([10.0, 14.0, math.nan, 10.0, 14.0, *further])
    chain: Any = SimpleNamespace(members=SimpleNamespace(depths=lambda: depths))
    place: Any = SimpleNamespace(depth_m=11.0)
    assert quiet._depths_m(chain, place) == pytest.approx((12.0, 12.0 - 3.2897, 12.0 + 3.2897), abs=1e-3)
    none: Any = SimpleNamespace(members=SimpleNamespace(depths=lambda: np.full(3, math.nan)))
    for one in (none, SimpleNamespace(members=None)):
        assert quiet._depths_m(one, place) == (11.0,)
