"""What is heard: which alert rings when, and the user's own command for it."""

from __future__ import annotations

import itertools
import json
import os
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from sternwatch.watch.alerts.ringing import EVERY_S, Ringing
from sternwatch.watch.alerts.user_command import Buzzer
from sternwatch.watch.picture.alert import Alert, AlertState, Priority

ALARM = Alert("a", "no feed", Priority.ALARM, AlertState.ACTIVE, (), "No feed", "Look at the cable")
WARNING = Alert("w", "crossing", Priority.WARNING, AlertState.ACTIVE, ("1", "2"), "1 and 2 cross")
CAUTION = Alert("c", "slack", Priority.CAUTION, AlertState.ACTIVE, ("1",), "slack")


def seen(alert: Alert) -> Alert:
    return replace(alert, state=AlertState.ACKNOWLEDGED)


def rung(ringing: Ringing, *alerts: Alert, until_s: float) -> list[float]:
    """At which seconds it rings while these stand."""
    return [float(t) for t in range(int(until_s)) if ringing.step(alerts, float(t)) is not None]


def test_an_alarm_rings_until_it_is_acknowledged() -> None:
    ringing = Ringing()
    times = rung(ringing, ALARM, until_s=30.0)
    assert times == [0.0, 8.0, 16.0, 24.0]
    # IMO MSC.302(87), from memory: the audible signal of an alarm comes again after 7 to 10 s.
    assert all(7.0 <= after - before <= 10.0 for before, after in itertools.pairwise(times))
    assert ringing.step((seen(ALARM),), 40.0) is None


def test_a_warning_rings_once_and_after_five_minutes_again() -> None:
    assert rung(Ringing(), WARNING, until_s=650.0) == [0.0, 300.0, 600.0]


def test_a_caution_and_what_is_acknowledged_are_silent() -> None:
    assert rung(Ringing(), CAUTION, seen(WARNING), seen(ALARM), until_s=400.0) == []


def test_one_ring_does_for_all_and_the_worst_is_told() -> None:
    ringing = Ringing()
    assert ringing.step((ALARM, WARNING, CAUTION), 0.0) is ALARM
    assert ringing.step((ALARM, WARNING, CAUTION), 1.0) is None
    later = replace(WARNING, id="w2", keys=("3", "4"))
    assert ringing.step((ALARM, WARNING, later), 2.0) is later, "a new one does not wait for the old one's time"


def test_what_was_gone_and_is_raised_again_rings_again() -> None:
    ringing = Ringing()
    assert ringing.step((WARNING,), 0.0) is WARNING
    assert ringing.step((), 5.0) is None
    assert ringing.step((WARNING,), 6.0) is WARNING


def test_words_and_time_left_that_change_do_not_ring_anew() -> None:
    ringing = Ringing()
    ringing.step((WARNING,), 0.0)
    changed = replace(WARNING, text="1 and 2 cross (90 %)", time_left_s=4.0)
    assert ringing.step((changed,), 2.0) is None
    assert EVERY_S[Priority.WARNING] == 300.0


# -- the user's own command ----------------------------------------------------------------------------------


def command(tmp_path: Path, body: str) -> list[str]:
    """A program that does ``body``; its folder is ``here``."""
    script = tmp_path / "buzz.py"
    script.write_text(f"import json, os, pathlib, sys, time\nhere = pathlib.Path({str(tmp_path)!r})\n{body}\n")
    return [sys.executable, "-S", str(script), "own argument"]


@pytest.fixture
def buzzers() -> Iterator[Callable[..., Buzzer]]:
    made: list[Buzzer] = []

    def make(words: list[str], **given: float) -> Buzzer:
        made.append(Buzzer(words, **given))
        return made[-1]

    yield make
    for one in made:
        one.stop()


def until(what: Callable[[], object], seconds: float = 20.0) -> None:
    end = time.monotonic() + seconds
    while not what():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.02)


def test_it_is_given_the_alert_as_arguments_and_in_the_environment(
    buzzers: Callable[..., Buzzer], tmp_path: Path
) -> None:
    body = (
        "told = {k: v for k, v in os.environ.items() if k.startswith('STERNWATCH_ALERT')}\n"
        "(here / 'new').write_text(json.dumps([sys.argv[1:], told]))\n"
        "(here / 'new').rename(here / 'out')"
    )
    text = "1 and 2 cross; $(touch bad) `touch bad` > bad"
    buzzer = buzzers(command(tmp_path, body))
    buzzer.ring(replace(WARNING, text=text, advice="Turn slower."))
    until((tmp_path / "out").exists)
    arguments, told = json.loads((tmp_path / "out").read_text())
    assert arguments == ["own argument", "warning", text]
    assert told == {
        "STERNWATCH_ALERT_PRIORITY": "warning",
        "STERNWATCH_ALERT_KIND": "crossing",
        "STERNWATCH_ALERT_RODS": "1 2",
        "STERNWATCH_ALERT_TEXT": text,
        "STERNWATCH_ALERT_ADVICE": "Turn slower.",
    }
    assert not (tmp_path / "bad").exists(), "no shell reads it"
    assert not Path("bad").exists()
    assert buzzer.trouble() == ""


def test_it_holds_nothing_up_and_one_runs_at_a_time(buzzers: Callable[..., Buzzer], tmp_path: Path) -> None:
    body = (
        "with (here / 'log').open('a') as log: log.write(f'+{sys.argv[-1]}\\n')\n"
        "time.sleep(0.4)\n"
        "with (here / 'log').open('a') as log: log.write('-\\n')"
    )
    buzzer = buzzers(command(tmp_path, body))
    began = time.perf_counter()
    for number in range(5):
        buzzer.ring(replace(WARNING, text=str(number)))
        until((tmp_path / "log").exists) if number == 0 else None
        began = time.perf_counter() if number == 0 else began
    assert time.perf_counter() - began < 0.2
    until(lambda: (tmp_path / "log").read_text().count("-") == 2)
    assert (tmp_path / "log").read_text().split() == ["+0", "-", "+4", "-"], "of those that waited, the newest"


@pytest.mark.skipif(os.name != "posix", reason="what a command has begun is found by its session")
def test_one_that_does_not_end_is_killed_with_what_it_began(buzzers: Callable[..., Buzzer], tmp_path: Path) -> None:
    body = (
        "import subprocess\n"
        "child = subprocess.Popen([sys.executable, '-S', '-c', 'import time; time.sleep(600)'])\n"
        "(here / 'new').write_text(f'{os.getpid()} {child.pid}')\n"
        "(here / 'new').rename(here / 'pids')\n"
        "time.sleep(600)"
    )
    buzzer = buzzers(command(tmp_path, body), limit_s=1.5)
    buzzer.ring(ALARM)
    until((tmp_path / "pids").exists)
    own, child = map(int, (tmp_path / "pids").read_text().split())
    said: list[str] = []
    until(lambda: said.append(buzzer.trouble()) or said[-1])  # type: ignore[func-returns-value]
    assert said[-1] == f"alert_command: {sys.executable!r} took longer than 1.5 s and was ended"
    until(lambda: not _runs(own) and not _runs(child))


def _runs(pid: int) -> bool:
    """Whether a process is there and no zombie."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


@pytest.mark.skipif(os.name != "posix", reason="what a command has begun is found by its session")
def test_leaving_ends_what_runs_at_once(buzzers: Callable[..., Buzzer], tmp_path: Path) -> None:
    buzzer = buzzers(command(tmp_path, "(here / 'on').touch()\ntime.sleep(600)"))
    buzzer.ring(ALARM)
    until((tmp_path / "on").exists)
    began = time.perf_counter()
    buzzer.stop()
    assert time.perf_counter() - began < 1.5
    buzzer.ring(ALARM)
    assert buzzer.trouble() == ""


def test_failing_is_said_once_for_each_way(buzzers: Callable[..., Buzzer], tmp_path: Path) -> None:
    body = "n = len(list(here.glob('x*')))\n(here / f'x{n}').touch()\nsys.exit(3 if n < 2 else 4)"
    buzzer = buzzers(command(tmp_path, body))
    said = []
    for number in range(3):
        buzzer.ring(ALARM)
        until((tmp_path / f"x{number}").exists)
        end = time.monotonic() + 0.5
        while time.monotonic() < end:
            said.append(buzzer.trouble())
            time.sleep(0.02)
    assert [text for text in said if text] == [
        f"alert_command: {sys.executable!r} ended with code 3",
        f"alert_command: {sys.executable!r} ended with code 4",
    ]


def test_a_program_that_is_not_there_is_said(buzzers: Callable[..., Buzzer], tmp_path: Path) -> None:
    name = str(tmp_path / "no such program")
    buzzer = buzzers([name])
    assert buzzer.lacking == f"alert_command: there is no program {name!r} to run"
    assert Buzzer([sys.executable]).lacking == ""
    assert Buzzer([]).lacking == ""
    buzzer.ring(ALARM)
    said: list[str] = []
    until(lambda: said.append(buzzer.trouble()) or said[-1])  # type: ignore[func-returns-value]
    assert said[-1].startswith(f"alert_command: {name!r} could not be run")


def test_without_a_command_nothing_is_run() -> None:
    buzzer = Buzzer([])
    buzzer.ring(ALARM)
    assert buzzer.trouble() == ""
    buzzer.stop()
