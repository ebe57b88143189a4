"""Runs the user's own command for each alarm or warning that sounds, to drive a buzzer or a lamp.

Without a shell, beside the session, one at a time. Of alerts that come while it runs, the newest is kept.
"""

from __future__ import annotations

import logging
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Sequence

from sternwatch.printable import one_line
from sternwatch.system_words import reason
from sternwatch.watch.background import Beside
from sternwatch.watch.picture.alert import Alert

LIMIT_S = 10.0  # then it is killed, with its child processes

_log = logging.getLogger(__name__)


class Buzzer:
    """Runs ``command`` with an alert's priority and text as its last two arguments, and all of it in the environment.

    Parameters
    ----------
    command
        The program and its arguments; empty for none.
    limit_s
        Seconds of wall time that it may take.
    """

    def __init__(self, command: Sequence[str], limit_s: float = LIMIT_S) -> None:
        self._command = tuple(command)
        self._limit_s = limit_s
        self._running: subprocess.Popen[bytes] | None = None
        self._stopped = False
        self._beside: Beside[Alert, str] = Beside(self._run, "buzzer")
        self._told: set[str] = set()

    @property
    def lacking(self) -> str:
        """Why the command cannot run, in a sentence, found before it is ever run. Empty where nothing is wrong."""
        if not self._command or shutil.which(self._command[0]):
            return ""
        return f"alert_command: there is no program {self._command[0]!r} to run"

    def ring(self, alert: Alert) -> None:
        """Run it for ``alert``; never waits."""
        if self._command:
            self._beside.ask(alert)

    def trouble(self) -> str:
        """How it failed, in a sentence; each kind of failure is told once. Empty otherwise."""
        found = self._beside.made or ""
        if not found or found in self._told:
            return ""
        self._told.add(found)
        return found

    def stop(self) -> None:
        """Start no further command, and end the one that runs."""
        self._stopped = True
        if (running := self._running) is not None:
            _kill(running)
        self._beside.stop()

    # -- the buzzer's thread ----------------------------------------------------------------------------------

    def _run(self, alert: Alert) -> str:
        name = self._command[0]
        about = {
            "PRIORITY": alert.priority.value,
            "KIND": alert.kind,
            "RODS": " ".join(alert.keys),
            "TEXT": one_line(alert.text),
            "ADVICE": one_line(alert.advice),
        }
        try:
            # Its output is discarded: the terminal belongs to the console.
            running = self._running = subprocess.Popen(
                [*self._command, alert.priority.value, about["TEXT"]],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                start_new_session=sys.platform != "win32",
                env={**os.environ, **{f"STERNWATCH_ALERT_{key}": value for key, value in about.items()}},
            )
        except (OSError, ValueError) as fault:
            _log.warning("the alert command could not be run: %s", fault)
            return f"alert_command: {name!r} could not be run: {reason(fault)}"
        if self._stopped:  # stopped while it was starting
            _kill(running)
        try:
            code = running.wait(self._limit_s)
        except subprocess.TimeoutExpired:
            _kill(running)
            running.wait()
            return f"alert_command: {name!r} took longer than {self._limit_s:g} s and was ended"
        finally:
            self._running = None
        if code == 0 or self._stopped:
            return ""
        ended = f"was ended by signal {-code}" if code < 0 else f"ended with code {code}"
        return f"alert_command: {name!r} {ended}"


def _kill(running: subprocess.Popen[bytes]) -> None:
    """End a command and, where the system has sessions, all its child processes."""
    try:
        if sys.platform != "win32":
            os.killpg(running.pid, signal.SIGKILL)
        else:
            running.kill()
    except ProcessLookupError:
        return  # it has ended meanwhile
