"""What is kept of alerts: when they are raised, acknowledged and gone, and when rods join."""

from __future__ import annotations

from dataclasses import replace

from sternwatch.watch.alerts.told import Told
from sternwatch.watch.picture.alert import Alert, AlertState, Priority

ONE = Alert("a", "crossing", Priority.WARNING, AlertState.ACTIVE, ("1", "2"), "1 and 2 touch", "ease", 4.0)
TWO = replace(ONE, id="b", kind="near pass", priority=Priority.CAUTION, keys=("3",))


def test_each_change_is_one_event() -> None:
    told = Told()
    assert [(e.id, e.state, e.elapsed_s) for e in told.take((ONE, TWO), 5.0)] == [
        ("a", "active", 5.0), ("b", "active", 5.0)
    ]  # fmt: skip
    assert told.standing == {"a", "b"}
    assert told.take((ONE, replace(TWO, text="other words")), 6.0) == []
    known = replace(ONE, state=AlertState.ACKNOWLEDGED)
    assert [(e.id, e.state) for e in told.take((known, TWO), 7.0)] == [("a", "acknowledged")]
    joined = replace(known, keys=("1", "2", "4"))
    (event,) = told.take((joined, TWO), 8.0)
    assert (event.id, event.state, event.keys) == ("a", "acknowledged", ("1", "2", "4"))
    assert told.take((replace(joined, keys=("1", "4")), TWO), 9.0) == [], "a rod that leaves is no event"
    (gone,) = told.take((TWO,), 10.0)
    assert (gone.id, gone.state, gone.elapsed_s, gone.kind, gone.priority) == (
        "a",
        "gone",
        10.0,
        "crossing",
        "warning",
    )
    assert (gone.text, gone.advice) == ("1 and 2 touch", "ease")
    assert [e.state for e in told.take((ONE,), 11.0)] == ["active", "gone"]


def test_what_goes_in_one_moment_is_told_in_the_order_in_which_it_stood() -> None:
    """The same feed makes the same events in every run of the program."""
    told = Told()
    alerts = [replace(ONE, id=f"{k}.{k * k % 11}") for k in range(12)]
    told.take(alerts, 1.0)
    assert [e.id for e in told.take(alerts[5:6], 2.0)] == [one.id for one in alerts if one is not alerts[5]]
