"""What a crew reads of forecasts at the edges: marks while she turns, lines that run, what hardly counts."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from made_outlooks import forecast, outlook, pair

from sternwatch.watch.forecast.marks_ahead import Passed
from sternwatch.watch.outlook.alerts import ForecastAlerts
from sternwatch.watch.picture.meetings import NearPass, Shares
from sternwatch.watch.picture.outlook import Forecast, Outlook, Touch

NET = Passed("m1", "net", ("1", "2"), 12.0, steady=True)


def book() -> ForecastAlerts:
    return ForecastAlerts({"1": "P HIGH", "2": "P LOW"})


def renewals(made: ForecastAlerts, *outlooks: Outlook, passing: tuple[Passed, ...] = ()) -> list[list[str]]:
    return [[alert.text for alert in made.step(one, passing=passing)] for one in outlooks]


def calm(*times_s: float) -> list[Outlook]:
    return [outlook(t_s, 0.0) for t_s in times_s]


@pytest.mark.parametrize(
    ("passed", "text", "advice"),
    [
        (NET, "A net lies on the way of these lines as she turns", "Keep to the course she has now"),
        (replace(NET, keys=("2",), time_s=0.5, steady=False), "A net lies on the way of this line as she turns",
         "Turn away: straight on it is in the way too"),
        (replace(NET, what="snag", time_s=0.0), "A snag is among these lines as she turns",
         "Keep to the course she has now"),
    ],
)  # fmt: skip
def test_a_mark_on_the_way_as_she_turns(passed: Passed, text: str, advice: str) -> None:
    made = book()
    told = renewals(made, *calm(0.0, 2.0, 4.0, 6.0, 8.0), passing=(passed,))
    assert told[:4] == [[]] * 4, "three renewals, and what its rule waits"
    assert told[4] == [text]
    (alert,) = made.standing()
    assert (alert.advice, alert.keys, alert.time_left_s) == (advice, passed.keys, passed.time_s)


def test_a_mark_that_is_passed_no_more_must_come_three_times_again() -> None:
    made = book()
    renewals(made, *calm(0.0, 5.0), passing=(NET,))
    renewals(made, *calm(10.0))
    assert renewals(made, *calm(15.0, 20.0, 25.0), passing=(NET,)) == [[], [], []]
    assert renewals(made, *calm(30.0), passing=(NET,)) != [[]]


@pytest.mark.parametrize(("third_s", "raised"), [(2.0, True), (62.0, True), (62.1, False), (1.9, False)])
def test_renewals_follow_on_for_a_minute(third_s: float, raised: bool) -> None:
    made = book()
    told = renewals(made, *(outlook(t_s, 0.8) for t_s in (0.0, 2.0, third_s)))
    assert bool(told[-1]) is raised


def passing_near(t_s: float) -> Outlook:
    near = replace(
        pair(("1", "2"), 0.0), shares=Shares(0.8, 0.0, 0.0), near_pass=NearPass("1", "2", 6.0, 144.0, 50.0)
    )
    return Outlook(t_s, 0.1, (forecast("as it goes", near),))


def test_while_a_line_runs_no_near_pass_of_it_is_told() -> None:
    made = book()
    for k in range(5):
        assert made.step(passing_near(2.0 * k), moving={"2"}) == ()
    assert [len(made.step(passing_near(10.0 + 2.0 * k))) for k in range(3)] == [0, 0, 1]


def test_one_in_ten_is_likely_and_less_is_said_to_be_unlikely() -> None:
    made = book()
    told = renewals(made, *(outlook(2.0 * k, 0.1) for k in range(3)), outlook(6.0, 0.09))
    assert told[2][0].startswith("1 P HIGH and 2 P LOW touch (10 %)")
    assert told[3] == ["1 P HIGH and 2 P LOW: crossing unlikely (9 %) now"]


def held(t_s: float, *pairs: tuple[str, str, float]) -> Outlook:
    return Outlook(t_s, 0.1, (forecast("hold", *(pair((one, other), share) for one, other, share in pairs)),))


def test_of_pairs_that_are_all_unlikely_by_now_the_worst_alone_is_told() -> None:
    made = book()
    renewals(made, *(held(2.0 * k, ("1", "2", 0.5), ("1", "3", 0.5)) for k in range(3)))
    assert renewals(made, held(6.0, ("1", "2", 0.03), ("1", "3", 0.06))) == [
        ["1 P HIGH and 3: crossing unlikely (6 %) now"]
    ]


@pytest.mark.parametrize("unknown", ["depth_m", "astern_m"])
def test_a_place_that_is_half_known_is_not_told(unknown: str) -> None:
    made = book()
    there = replace(pair(("1", "2"), 0.5), **{unknown: None})
    told = renewals(made, *(Outlook(2.0 * k, 0.1, (forecast("hold", there),)) for k in range(3)))
    assert told[-1] == ["1 P HIGH and 2 P LOW touch (50 %)"]


@pytest.mark.parametrize(("time_s", "text"), [(0.0, "2 P LOW is on the bottom"), (0.5, "2 P LOW reaches the bottom")])
def test_tackle_that_is_at_the_bottom_is_told_apart_from_tackle_that_comes_there(time_s: float, text: str) -> None:
    def touching(t_s: float) -> Outlook:
        made: Forecast = replace(forecast("hold"), touches=(Touch("2", time_s, 1.2),))
        return Outlook(t_s, 0.1, (made,))

    assert renewals(book(), *(touching(2.0 * k) for k in range(4)))[-1] == [text]
