"""Keeps the laptop of a live session awake, and watches its power.

Neither is part of a picture's streams. The results come to the watch as causes from outside, like a full disk.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from sternwatch.watch.alerts.rules import Cause

_log = logging.getLogger(__name__)

# A query reads a few small files or makes one system call. A crew whose power lead came out has minutes, not seconds.
ASK_EVERY_S = 5.0
LOW_PERCENT = (30, 15)
# How long the notice stands that the laptop may sleep: it is said once, not for the whole day.
SAID_FOR_S = 60.0


@dataclass(frozen=True, slots=True)
class Charge:
    """The machine's report of its power. None: it gives none."""

    percent: float | None
    mains: bool | None


def read_charge() -> Charge:
    """Query the machine. Without a battery, or without a report, everything is unknown."""
    import psutil

    ask = getattr(psutil, "sensors_battery", None)  # absent where the platform has no such call
    try:
        found = ask() if ask is not None else None
    except (OSError, ValueError, RuntimeError) as fault:  # a driver's file gone or half written
        _log.info("the battery cannot be asked: %s", fault)
        found = None
    return Charge(None, None) if found is None else Charge(float(found.percent), found.power_plugged)


class Power:
    """Warns when mains power is lost, and again at 30 % and at 15 % of battery, until mains power is back."""

    def __init__(self, read: Callable[[], Charge] = read_charge, clock: Callable[[], float] = time.monotonic) -> None:
        self._read, self._clock = read, clock
        self._asked_s = float("-inf")
        self._had_mains = False
        self._causes: tuple[Cause, ...] = ()

    def causes(self) -> tuple[Cause, ...]:
        """The present cause, at most one. Each threshold has its own, so that the alert is raised again."""
        now = self._clock()
        if now - self._asked_s >= ASK_EVERY_S:
            self._asked_s = now
            self._causes = self._of(self._read())
        return self._causes

    def _of(self, charge: Charge) -> tuple[Cause, ...]:
        if charge.mains:
            self._had_mains = True
        if charge.mains is not False:
            return ()
        percent = charge.percent
        passed = [limit for limit in LOW_PERCENT if percent is not None and percent <= limit]
        if percent is not None and passed:
            text, about = f"Laptop battery at {percent:.0f} %", f"battery {passed[-1]}"
        elif self._had_mains:
            left = "" if percent is None else f"; battery at {percent:.0f} %"
            text, about = f"Mains power lost{left}", "mains"
        else:
            return ()
        return (Cause("power", text, "Every entry is on the disk already; plug the laptop in", about=about),)


class Awake:
    """Asks the system neither to sleep nor to blank the screen, until ``let_go``."""

    def __init__(self) -> None:
        self._mode: Any = None

    def hold(self) -> str:
        """Ask the system. Returns why it refuses, in a sentence; empty where it agrees."""
        from wakepy import keep

        try:
            mode = keep.presenting(on_fail="pass")
            mode.__enter__()
        except Exception as fault:  # noqa: BLE001 - a desktop's own service may fail in any way; the watch goes on
            _log.warning("the system cannot be asked to stay awake", exc_info=fault)
            return "The laptop may go to sleep: set it not to in its own settings"
        self._mode = mode
        if mode.active:
            return ""
        _log.info("the system is not kept awake: %s", mode.result.get_failure_text())
        return "The laptop may go to sleep: set it not to in its own settings"

    def let_go(self) -> None:
        """Let the system sleep again. Does nothing if it was never asked."""
        if self._mode is not None:
            self._mode.__exit__(None, None, None)
            self._mode = None


class Laptop:
    """Both for a session: ``hold`` at its beginning, ``causes`` at every step, ``let_go`` at its end."""

    def __init__(
        self,
        power: Power | None = None,
        awake: Awake | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._power, self._awake, self._clock = power or Power(), awake or Awake(), clock
        self._said = ""
        self._since_s = 0.0

    def hold(self) -> None:
        self._said, self._since_s = self._awake.hold(), self._clock()

    def causes(self) -> tuple[Cause, ...]:
        found = self._power.causes()
        if self._said and self._clock() - self._since_s < SAID_FOR_S:
            found = (*found, Cause("may sleep", self._said))
        return found

    def let_go(self) -> None:
        self._awake.let_go()
