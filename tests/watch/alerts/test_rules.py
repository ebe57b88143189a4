"""Alerts come on and go off with the delays their rules state."""

from __future__ import annotations

from dataclasses import replace

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
        book.step(float(t), [replace(causes[0], time_left_s=0.5), Cause("no speed", "c")])
    assert book.standing()[0].text == "c", "what has no time to wait for comes before half a second"


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


# Of every kind: its priority, how many seconds its cause holds before it shows, and how long it stands after that.
TIMES: dict[str, tuple[str, int, int]] = {
    "cannot save": ("alarm", 0, 10), "no feed": ("alarm", 0, 10),
    "power": ("warning", 2, 5), "no speed": ("warning", 5, 5), "speeds differ": ("warning", 0, 5),
    "crossing": ("warning", 0, 1), "bottom touch": ("warning", 2, 10), "net ahead": ("warning", 3, 10),
    "snag ahead": ("warning", 3, 10),
    "boat file": ("caution", 0, 1), "may sleep": ("caution", 0, 1), "feed silent": ("caution", 0, 10),
    "no course": ("caution", 15, 5), "sensors differ": ("caution", 0, 5), "no bottom": ("caution", 0, 5),
    "solver": ("caution", 2, 5), "slack": ("caution", 3, 5), "pulled under": ("caution", 0, 5),
    "running": ("caution", 0, 1), "checksums": ("caution", 0, 30), "near pass": ("caution", 0, 1),
    "dragging": ("caution", 5, 20), "bottom near": ("caution", 5, 60), "release": ("caution", 5, 15),
    "propeller": ("caution", 2, 5), "lure speed": ("caution", 0, 15),
}  # fmt: skip


def test_every_kind_has_its_times() -> None:
    assert TIMES.keys() == RULES.keys()


@pytest.mark.parametrize("kind", TIMES)
def test_a_kind_shows_and_goes_in_its_time(kind: str) -> None:
    """A step of half a second, so that a time that is half a second off is seen as well."""
    priority, on_s, off_s = TIMES[kind]
    book, cause = AlertBook(), Cause(kind, "its text", keys=("1",))
    shown: list[float] = []
    for k in range(300):
        t = 100.0 + k * 0.5
        book.step(t, [cause] if t <= 120.0 else [])
        if book.standing():
            shown.append(t)
    assert shown[0] == 100.0 + on_s
    if off_s > 1:
        assert shown[-1] == 120.0 + off_s - 0.5
    else:
        assert shown[-1] == 120.0, "it goes with its cause"
    assert [p for p in Priority if p.value == priority] == [RULES[kind].priority]


def test_a_rod_that_joins_a_crossing_after_it_was_acknowledged_raises_it_again() -> None:
    book = AlertBook()
    book.step(0.0, [Cause("crossing", "1 and 2", keys=("1", "2"), about="turn")])
    (first,) = book.standing()
    book.acknowledge(first.id)
    book.step(1.0, [Cause("crossing", "1 and 2", keys=("1", "2"), about="turn")])
    assert [a.state for a in book.standing()] == [AlertState.ACKNOWLEDGED]
    book.step(2.0, [Cause("crossing", "1, 2 and 3", keys=("1", "2", "3"), about="turn")])
    (again,) = book.standing()
    assert (again.state, again.keys) == (AlertState.ACTIVE, ("1", "2", "3"))
    assert again.id != first.id
    book.acknowledge(again.id)
    book.step(3.0, [Cause("crossing", "2 and 3", keys=("2", "3"), about="turn")])
    assert [a.state for a in book.standing()] == [AlertState.ACKNOWLEDGED], "nobody new"


def test_a_rod_that_joins_another_alert_does_not_raise_it_again() -> None:
    book = AlertBook()
    for t in range(4):
        book.step(float(t), [Cause("net ahead", "net", keys=("1",), about="m1")])
    book.acknowledge(book.standing()[0].id)
    book.step(4.0, [Cause("net ahead", "net", keys=("1", "2"), about="m1")])
    assert [(a.state, a.keys) for a in book.standing()] == [(AlertState.ACKNOWLEDGED, ("1", "2"))]


def test_a_danger_that_is_over_keeps_an_alert_and_raises_none() -> None:
    book = AlertBook()
    over = Cause("near pass", "it has gone", keys=("1",), over=True)
    book.step(0.0, [over])
    assert book.standing() == ()
    book.step(1.0, [Cause("near pass", "near", keys=("1",))])
    assert [a.over for a in book.standing()] == [False]
    book.step(2.0, [over])
    assert [(a.text, a.over) for a in book.standing()] == [("it has gone", True)]
    book.step(3.0, [])
    assert book.standing() == ()


def test_ids_tell_alerts_of_one_second_and_of_two_books_apart() -> None:
    helm, ahead = AlertBook(), AlertBook(prefix="ahead ")
    for book in (helm, ahead):
        book.step(7.0, [Cause("boat file", "a"), Cause("may sleep", "b")])
    ids = [a.id for book in (helm, ahead) for a in book.standing()]
    assert sorted(ids) == ["7.1", "7.2", "ahead 7.1", "ahead 7.2"]
