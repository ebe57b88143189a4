"""Alerts of what is forecast: on after three bad renewals running, off after 20 s of small ones, said once."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from made_outlooks import forecast, outlook, pair

from sternwatch.watch.outlook.alerts import LIKELY, ForecastAlerts, Standing, merged
from sternwatch.watch.picture.alert import Alert, AlertState, Priority
from sternwatch.watch.picture.meetings import NearPass, Shares
from sternwatch.watch.picture.outlook import Advice, Outlook, Touch

NAMES = {"1": "P HIGH", "2": "P LOW"}


def alerts() -> ForecastAlerts:
    return ForecastAlerts(NAMES)


def texts(standing: tuple[Alert, ...]) -> list[str]:
    return [alert.text for alert in standing]


@pytest.mark.parametrize(
    ("shares", "on"),
    [
        ([0.6, 0.6], [False, False]),
        ([0.6, 0.6, 0.6], [False, False, True]),
        ([0.2, 0.1, 0.06, 0.6, 0.6], [False] * 5),  # one in ten or more, and without a break
        ([0.1, 0.09, 0.1, 0.1, 0.1], [False, False, False, False, True]),
        ([0.9] * 3 + [0.06] * 9, [False, False, True] + [True] * 9),  # 18 s of small ones
        ([0.9] * 3 + [0.06] * 11, [False, False, True] + [True] * 9 + [False] * 2),
        ([0.9] * 3 + [0.06] * 9 + [0.1] + [0.06] * 9, [False, False] + [True] * 20),
        ([0.9] * 3 + [0.4] * 30, [False, False] + [True] * 31),
    ],
)
def test_on_and_off(shares: list[float], on: list[bool]) -> None:
    state = Standing()
    assert [state.step(2.0 * k, share >= LIKELY) for k, share in enumerate(shares)] == on


def test_a_crossing_is_raised_with_its_cause_time_and_cure() -> None:
    book = alerts()
    assert book.step(outlook(0.0, 0.1, 0.7)) == ()
    assert book.step(outlook(2.0, 0.1, 0.7)) == ()
    (raised,) = book.step(outlook(4.0, 0.1, 0.7))
    assert (raised.kind, raised.priority, raised.keys) == ("crossing", Priority.WARNING, ("1", "2"))
    assert raised.text == "1 P HIGH and 2 P LOW touch (70 %), 39 ft down, 98 ft back"
    assert raised.advice == "Turn slower."
    assert raised.time_left_s == 20.0
    assert raised.state is AlertState.ACTIVE


def test_one_renewal_raises_nothing_and_a_plan_never() -> None:
    book = alerts()
    for k in range(6):
        share = 0.9 if k == 3 else 0.0
        assert book.step(outlook(2.0 * k, share, 0.0, plan_share=1.0)) == ()


def test_advice_for_another_manoeuvre_is_not_given() -> None:
    book = alerts()
    for k in range(3):
        standing = book.step(outlook(2.0 * k, 0.8, 0.1))  # holding on crosses; the advice cures "as it goes"
    assert standing[0].advice == ""


def test_it_goes_after_twenty_seconds_and_says_so_before() -> None:
    book = alerts()
    for k in range(3):
        standing = book.step(outlook(2.0 * k, 0.8))
    (raised,) = standing
    calmer = book.step(outlook(10.0, 0.06))
    assert texts(calmer) == ["1 P HIGH and 2 P LOW: crossing unlikely (6 %) now"]
    assert calmer[0].id == raised.id
    assert (raised.over, calmer[0].over) == (False, True)
    assert book.step(outlook(26.0, 0.06)) == ()


def test_acknowledged_it_stays_so_until_it_goes() -> None:
    book = alerts()
    for k in range(3):
        standing = book.step(outlook(2.0 * k, 0.8))
    book.acknowledge("another's")
    assert book.standing()[0].state is AlertState.ACTIVE
    book.acknowledge(standing[0].id)
    assert book.standing()[0].state is AlertState.ACKNOWLEDGED
    assert book.step(outlook(6.0, 0.8))[0].state is AlertState.ACKNOWLEDGED


def test_a_running_line_raises_nothing_new_but_keeps_what_stands() -> None:
    book = alerts()
    for k in range(5):
        assert book.step(outlook(2.0 * k, 0.9), moving={"2"}) == ()
    for k in range(5, 8):
        book.step(outlook(2.0 * k, 0.9))
    assert len(book.step(outlook(16.0, 0.9), moving={"2"})) == 1


def test_a_rod_taken_in_takes_its_alert_along() -> None:
    book = alerts()
    for k in range(3):
        book.step(outlook(2.0 * k, 0.8))
    assert len(book.standing()) == 1
    assert book.step(Outlook(6.0, 0.1, (forecast("hold", pair(("1", "3"), 0.0)),))) == ()


@pytest.mark.parametrize("t_s", [1.0, 300.0])
def test_another_moment_of_a_replay_begins_anew(t_s: float) -> None:
    book = alerts()
    for k in range(3):
        book.step(outlook(2.0 * k, 0.8))
    before = book.standing()
    assert book.step(outlook(t_s, 0.8)) == ()
    for k in range(1, 3):
        again = book.step(outlook(t_s + 2.0 * k, 0.8))
    assert again[0].id != before[0].id


def test_the_bottom_is_told_with_how_much_to_raise() -> None:
    book = alerts()
    for k in range(4):  # the third raises it, and the watch's own rule for its kind waits 2 s more
        standing = book.step(touching(2.0 * k, Touch("2", 24.0, 1.2)))
        assert bool(standing) == (k == 3)
    (raised,) = standing
    assert (raised.kind, raised.priority, raised.keys) == ("bottom touch", Priority.WARNING, ("2",))
    assert raised.text == "2 P LOW reaches the bottom"
    assert raised.advice == "Raise it 4 ft."
    assert raised.time_left_s == 24.0
    assert texts(book.step(outlook(8.0, 0.0))) == ["2 P LOW: no touch forecast now"]
    for t_s in (16.0, 24.0):
        assert len(book.step(outlook(t_s, 0.0))) == 1
    assert book.step(outlook(40.0, 0.0)) == ()


@pytest.mark.parametrize("renewals", [1, 2, 3])
def test_a_touch_that_is_over_before_it_was_said_is_never_raised(renewals: int) -> None:
    """A slow-down for a fish was warned of when it was over: "2 P LOW: no touch forecast now", for 26 s."""
    book, end_s = alerts(), 2.0 * renewals
    for k in range(renewals):
        assert book.step(touching(2.0 * k, Touch("2", 24.0, 1.2))) == ()
    for k in range(15):
        assert book.step(outlook(end_s + 2.0 * k, 0.0)) == ()


def touching(t_s: float, *touches: Touch) -> Outlook:
    """Held on, these come to the bottom."""
    made = outlook(t_s, 0.0)
    return replace(made, forecasts=(replace(made.forecasts[0], touches=touches), *made.forecasts[1:]))


def test_a_cure_that_was_tried_comes_before_a_reckoned_one() -> None:
    cure = Advice("Take in 20 ft on P LOW: bottom touch in none of 16.", {"what": "line"}, 0.0)
    book = alerts()
    for k in range(4):
        made = touching(2.0 * k, Touch("2", 24.0, 1.2, (cure,)))
        standing = book.step(made)
    assert standing[0].advice == cure.text
    told = Alert("b", "bottom touch", Priority.WARNING, AlertState.ACTIVE, ("2",), "2 touches", "Take in about 12 ft")
    other = replace(told, id="c", keys=("3",))
    both = merged((told, other), replace(made, alerts=standing), 8.0)
    assert [(alert.id, alert.advice) for alert in both] == [("b", cure.text), ("c", "Take in about 12 ft")]


def test_a_plan_that_comes_to_the_bottom_raises_nothing() -> None:
    book = alerts()
    for k in range(5):
        made = outlook(2.0 * k, 0.0, 0.0, 0.0)
        plan = replace(made.forecasts[2], touches=(Touch("2", 24.0, 1.2),))
        assert book.step(replace(made, forecasts=(*made.forecasts[:2], plan))) == ()


def test_one_list_worst_first_with_the_time_left_as_of_now() -> None:
    book = alerts()
    for k in range(3):
        standing = book.step(outlook(2.0 * k, 0.1, 0.8))
    made = replace(outlook(4.0, 0.1, 0.8), alerts=standing)
    alarm = Alert("a", "no feed", Priority.ALARM, AlertState.ACTIVE, (), "No feed")
    caution = Alert("c", "slack", Priority.CAUTION, AlertState.ACTIVE, ("1",), "Slack")
    both = merged((alarm, caution), made, 9.0)
    assert [alert.kind for alert in both] == ["no feed", "crossing", "slack"]
    assert both[1].time_left_s == 15.0
    assert [merged((alarm,), made, t_s)[1].time_left_s for t_s in (4.5, 3.0)] == [19.5, 20.0]
    assert merged((alarm,), made, 60.0)[1].time_left_s == 0.0
    assert merged((caution,), None, 9.0) == (caution,)
    told = Alert("t", "crossing", Priority.WARNING, AlertState.ACTIVE, ("1", "2"), "in the picture's words")
    assert merged((told,), made, 9.0) == (told,)


def near(share: float, until_s: float | None = 50.0) -> Outlook:
    """Rods 1 and 2 in a turn that comes to a near pass in so many of the members."""
    made = forecast("as it goes", pair(("1", "2"), 0.0))
    told = NearPass("1", "2", 6.0, 144.0, until_s)
    both = replace(made.pairs[0], shares=Shares(share, 0.0, 0.0), near_pass=told)
    return Outlook(0.0, 0.1, (replace(made, pairs=(both,)),))


def test_a_near_pass_is_a_caution_in_one_line() -> None:
    book = alerts()
    for k in range(3):
        standing = book.step(replace(near(0.8), t_s=2.0 * k))
    (raised,) = standing
    assert (raised.kind, raised.priority) == ("near pass", Priority.CAUTION)
    assert raised.text == "1 P HIGH and 2 P LOW pass 1.6 ft apart near the tips, P HIGH over P LOW, apart again " + (
        "1:24 after the turn"
    )
    assert raised.advice == "Don't reel 2 in meanwhile: it lies under 1 for 0:50."


def test_no_word_of_reeling_where_neither_lies_over_the_other() -> None:
    book = alerts()
    for k in range(3):
        standing = book.step(replace(near(0.8, until_s=None), t_s=2.0 * k))
    assert standing[0].advice == ""


def test_a_near_pass_of_few_members_is_not_told() -> None:
    book = alerts()
    for k in range(5):
        assert book.step(replace(near(0.5 - 0.01), t_s=2.0 * k)) == ()


def test_where_lines_touch_no_near_pass_is_told_beside_it() -> None:
    book = alerts()
    for k in range(3):
        made = near(0.8)
        one = made.forecasts[0]
        worse = replace(one.pairs[0], probability=0.19, shares=Shares(0.81, 0.0, 0.19))
        standing = book.step(replace(made, t_s=2.0 * k, forecasts=(replace(one, pairs=(worse,)),)))
    (raised,) = standing
    assert raised.kind == "crossing"
    assert raised.text.startswith("1 P HIGH and 2 P LOW wrap (19 %)")


def turn_of(t_s: float, *pairs: tuple[str, str, float], share_of_wraps: float = 1.0) -> Outlook:
    """A turn in which these pairs wrap, with a cure."""
    made = tuple(
        replace(
            pair((one, other), share, 30.0), shares=Shares(0.0, share * (1 - share_of_wraps), share * share_of_wraps)
        )
        for one, other, share in pairs
    )
    cure = Advice(
        "Turn more slowly: 180° in 2:13 (14° per 10 s): crossing unlikely (6 %).",
        {"what": "turn"},
        0.06,
        "slow to 180° in 2:13",
    )
    return Outlook(t_s, 0.1, (forecast("hold"), forecast("as it goes", *made)), None, (cure,), "as it goes")


def test_one_turn_is_one_alert_worst_rods_first_with_its_pairs_beneath() -> None:
    book = alerts()
    for k in range(3):
        standing = book.step(turn_of(2.0 * k, ("1", "6", 0.3), ("1", "7", 0.19), ("6", "7", 0.81)))
    (raised,) = standing
    assert raised.text == "This turn wraps 6, 7, 1: slow to 180° in 2:13"
    assert raised.advice == (
        "Turn more slowly: 180° in 2:13 (14° per 10 s): crossing unlikely (6 %). "
        "6 and 7: 81 %, 1 and 6: 30 %, and 1 more pair"
    )
    assert set(raised.keys) == {"1", "6", "7"}
    assert raised.time_left_s == 30.0
    touch = book.step(turn_of(6.0, ("1", "6", 0.3), ("6", "7", 0.81), share_of_wraps=0.0))
    assert texts(touch) == ["This turn lets 6, 7, 1 touch: slow to 180° in 2:13"]
    many = (("1", "6", 0.3), ("1", "7", 0.2), ("2", "6", 0.4), ("2", "7", 0.5), ("6", "7", 0.8))
    (crowded,) = [book.step(turn_of(t, *many)) for t in (8.0, 10.0, 12.0)][-1]
    assert crowded.advice.endswith(": crossing unlikely (6 %). 6 and 7: 80 %, 2 and 7: 50 %, and 3 more pairs")
    assert touch[0].id == raised.id


def test_a_pair_that_has_become_unlikely_leaves_the_alert_before_it_goes() -> None:
    book = alerts()
    for k in range(3):
        book.step(turn_of(2.0 * k, ("1", "6", 0.3), ("6", "7", 0.81)))
    (raised,) = book.step(turn_of(6.0, ("1", "6", 0.06), ("6", "7", 0.81)))
    assert raised.keys == ("6", "7")
    assert raised.text.startswith("6 and 7 wrap (81 %)")


def test_a_rod_that_joins_an_alert_that_was_seen_raises_it_anew() -> None:
    book = alerts()
    for k in range(3):
        standing = book.step(turn_of(2.0 * k, ("6", "7", 0.5)))
    (first,) = standing
    book.acknowledge(first.id)
    for k in range(3, 5):
        (raised,) = book.step(turn_of(2.0 * k, ("6", "7", 0.5), ("1", "6", 0.5)))
        assert (raised.id, raised.state) == (first.id, AlertState.ACKNOWLEDGED)
    (raised,) = book.step(turn_of(10.0, ("6", "7", 0.5), ("1", "6", 0.5)))
    assert raised.state is AlertState.ACTIVE
    assert raised.id != first.id
    book.acknowledge(raised.id)
    (raised,) = book.step(turn_of(12.0, ("6", "7", 0.5), ("1", "6", 0.5)))
    assert raised.state is AlertState.ACKNOWLEDGED
