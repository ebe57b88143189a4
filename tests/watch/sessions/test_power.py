"""The laptop under a session: its power as alerts, and its sleep."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import psutil
import pytest

from sternwatch.watch.alerts.rules import AlertBook
from sternwatch.watch.picture.alert import Priority
from sternwatch.watch.sessions.power import Awake, Charge, Laptop, Power, read_charge

# As agreed: a change of one is to be noticed.
ASK_EVERY_S = 5.0
SAID_FOR_S = 60.0


class Hours:
    """A day of a battery: (percent, mains) every time it is asked, and a clock that is moved by hand."""

    def __init__(self, *charges: tuple[float | None, bool | None]) -> None:
        self._charges: Iterator[tuple[float | None, bool | None]] = iter(charges)
        self.now_s = 0.0
        self.asked = 0

    def read(self) -> Charge:
        self.asked += 1
        return Charge(*next(self._charges))

    def clock(self) -> float:
        return self.now_s


def _texts(hours: Hours, steps: int) -> list[list[str]]:
    """What stands after each of ``steps`` readings, each asked long enough for the alert to be raised."""
    power, book, out = Power(hours.read, hours.clock), AlertBook(), []
    for _ in range(steps):
        for _ in range(int(ASK_EVERY_S)):
            book.step(hours.now_s, power.causes())
            hours.now_s += 1.0
        out.append([alert.text for alert in book.standing()])
    return out


def test_mains_lost_then_thirty_then_fifteen_percent_each_warn_anew() -> None:
    hours = Hours((100, True), (99, False), (31, False), (30, False), (16, False), (15, False), (20, True))
    assert _texts(hours, 7) == [
        [],
        ["Mains power lost; battery at 99 %"],
        ["Mains power lost; battery at 31 %"],
        ["Laptop battery at 30 %"],
        ["Laptop battery at 16 %"],
        ["Laptop battery at 15 %"],
        [],
    ]


def test_each_threshold_is_an_alert_of_its_own_so_that_an_acknowledged_one_does_not_hide_it() -> None:
    hours = Hours((80, True), (79, False), (29, False), (28, False), (14, False))
    power, book, seen = Power(hours.read, hours.clock), AlertBook(), []
    for _ in range(5 * int(ASK_EVERY_S)):
        book.step(hours.now_s, power.causes())
        hours.now_s += 1.0
        for alert in book.standing():
            book.acknowledge(alert.id)
            if alert.id not in seen:
                seen.append(alert.id)
                assert alert.priority is Priority.WARNING
                assert alert.advice
    assert len(seen) == 3


def test_a_session_begun_on_battery_lost_nothing() -> None:
    assert _texts(Hours((90, False), (31, False), (30, False)), 3) == [[], [], ["Laptop battery at 30 %"]]


@pytest.mark.parametrize("told", [(None, None), (50.0, None), (None, True)])
def test_what_the_machine_does_not_say_raises_nothing(told: tuple[float | None, bool | None]) -> None:
    assert _texts(Hours(told, told), 2) == [[], []]


def test_the_machine_is_asked_only_every_few_seconds() -> None:
    hours = Hours((80, True), (80, True))
    power = Power(hours.read, hours.clock)
    for _ in range(10):
        power.causes()
    assert hours.asked == 1


def test_a_battery_that_fails_to_answer_is_unknown(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails() -> None:
        raise OSError("no such device")

    monkeypatch.setattr(psutil, "sensors_battery", fails, raising=False)
    assert read_charge() == Charge(None, None)
    monkeypatch.delattr(psutil, "sensors_battery")
    assert read_charge() == Charge(None, None)


def test_the_system_is_kept_awake_until_let_go(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WAKEPY_FAKE_SUCCESS", "1")
    awake = Awake()
    assert awake.hold() == ""
    assert awake._mode.active
    mode = awake._mode
    awake.let_go()
    assert not mode.active
    awake.let_go()


def test_a_system_that_refuses_is_said_once_for_a_minute(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("WAKEPY_FAKE_SUCCESS", raising=False)
    monkeypatch.setattr("wakepy.keep.presenting", _refuses)
    hours = Hours((None, None), *[(None, None)] * 60)
    hours.now_s = begun_s = 5000.0
    machine = Laptop(Power(hours.read, hours.clock), Awake(), hours.clock)
    machine.hold()
    assert [cause.kind for cause in machine.causes()] == ["may sleep"]
    hours.now_s = begun_s + SAID_FOR_S - 0.1
    assert [cause.kind for cause in machine.causes()] == ["may sleep"]
    hours.now_s = begun_s + SAID_FOR_S
    assert machine.causes() == ()
    machine.let_go()


def test_without_more_it_asks_the_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WAKEPY_FAKE_SUCCESS", "1")
    machine = Laptop()
    machine.hold()
    assert all(cause.kind != "may sleep" for cause in machine.causes())
    machine.let_go()


def _refuses(**_: object) -> object:
    raise RuntimeError("no desktop here")


def test_a_live_session_holds_and_lets_go_on_its_own_thread() -> None:
    from sternwatch.watch.sessions.live import Live

    calls: list[tuple[str, int]] = []

    class Told(Laptop):
        def hold(self) -> None:
            calls.append(("hold", threading.get_ident()))

        def let_go(self) -> None:
            calls.append(("let go", threading.get_ident()))

    live = Live.__new__(Live)
    live._laptop = Told()
    live._run = lambda: None  # type: ignore[method-assign]
    live._guarded()
    assert [what for what, _ in calls] == ["hold", "let go"]
    assert len({thread for _, thread in calls}) == 1
