"""Alerts come on and go off with the delays their rules state."""

from __future__ import annotations

import pytest

from sternwatch.watch.alerts.rules import RULES, AlertBook, Cause
from sternwatch.watch.picture.alert import AlertState, Priority

NO_FEED = Cause("no feed", "No feed for 5 s", keys=())
NO_SPEED = Cause("no speed", "No speed")
SLACK = Cause("slack", "4: line slack", keys=("4",))


def test_an_alert_waits_for_its_delay_and_for_quiet() -> None:
    book = AlertBook()
    for t in range(5):
        book.step(float(t), [NO_SPEED])
    assert book.standing() == ()
    book.step(5.0, [NO_SPEED])
    assert [a.kind for a in book.standing()] == ["no speed"]
    for t in range(6, 10):
        book.step(float(t), [])
    assert len(book.standing()) == 1
    book.step(10.0, [])
    assert book.standing() == ()


@pytest.mark.parametrize("kind", ["cannot save", "no feed"])
def test_alarms_stand_at_once_and_until_it_has_been_good_for_ten_seconds(kind: str) -> None:
    book = AlertBook()
    book.step(5.0, [Cause(kind, "an alarm")])
    assert [(a.kind, a.priority) for a in book.standing()] == [(kind, Priority.ALARM)]
    for t in range(6, 15):
        book.step(float(t), [])
    assert len(book.standing()) == 1
    book.step(15.0, [])
    assert book.standing() == ()


def test_a_short_break_starts_the_delay_anew() -> None:
    book = AlertBook()
    for t in range(4):
        book.step(float(t), [NO_SPEED])
    book.step(4.0, [])
    for t in range(5, 9):
        book.step(float(t), [NO_SPEED])
    assert book.standing() == ()


def test_worst_first_and_acknowledged_behind_its_equals() -> None:
    book = AlertBook()
    for t in range(8):
        silent = [NO_FEED] if t >= 5 else []
        book.step(float(t), [SLACK, *silent, Cause("cannot save", "Disk full")])
    order = [a.kind for a in book.standing()]
    assert order == ["cannot save", "no feed", "slack"]
    first = book.standing()[0]
    book.acknowledge(first.id)
    assert [a.kind for a in book.standing()] == ["no feed", "cannot save", "slack"]
    assert book.standing()[1].state is AlertState.ACKNOWLEDGED


def test_acknowledging_what_has_gone_changes_nothing() -> None:
    book = AlertBook()
    book.step(0.0, [Cause("cannot save", "Disk full")])
    before = book.standing()
    book.acknowledge("a99")
    assert book.standing() == before


def test_tackle_never_ranks_above_warning() -> None:
    tackle = {"solver", "slack", "pulled under"}
    assert all(RULES[kind].priority is not Priority.ALARM for kind in tackle)


def test_of_equal_priority_the_one_with_the_least_time_left_comes_first() -> None:
    book = AlertBook()
    causes = [
        Cause("net ahead", "a", keys=("1",), time_left_s=90.0),
        Cause("snag ahead", "b", keys=("2",), time_left_s=20.0),
    ]
    for t in range(6):
        book.step(float(t), causes)
    assert [alert.text for alert in book.standing()] == ["b", "a"]
    for t in range(6, 12):
        book.step(float(t), [causes[0], Cause("no speed", "c")])
    assert book.standing()[0].text == "c"


def test_one_cause_stays_one_alert_while_its_rods_change() -> None:
    book = AlertBook()
    for t, keys in enumerate([("1",), ("1", "2"), ("2",), ("2",), ("2", "3")]):
        book.step(float(t), [Cause("net ahead", "net", keys=keys, about="m1")])
    (alert,) = book.standing()
    assert alert.keys == ("2", "3")
    assert alert.since_t_s == 3.0


def test_a_rod_near_the_bottom_is_not_told_of_beside_its_touch() -> None:
    near, other = (Cause("bottom near", "11 ft off the bottom", keys=(key,)) for key in "34")
    touch = Cause("bottom touch", "at the bottom", keys=("3",))
    book = AlertBook()
    kinds = []
    for t in range(40):
        book.step(float(t), [other, *([touch] if 10 <= t < 20 else [near])])
        kinds.append([alert.kind for alert in book.standing()])
    assert kinds[9] == ["bottom near"] * 2
    assert kinds[11] == ["bottom near"] * 2, "a touch has to last before it shows"
    assert kinds[12:29] == [["bottom touch", "bottom near"]] * 17
    assert kinds[29] == ["bottom near"], "it begins anew"
    assert kinds[39] == ["bottom near"] * 2
