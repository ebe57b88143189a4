"""Makes alerts sound: the terminal's bell and the user's own command. Only a live session rings."""

from __future__ import annotations

from collections.abc import Callable

from sternwatch.console.acts import alerting
from sternwatch.console.controls.controls import Controls
from sternwatch.watch.alerts.ringing import Ringing
from sternwatch.watch.alerts.user_command import Buzzer
from sternwatch.watch.picture.model import Session


class Ringer:
    """Rings ``bell`` where the preferences ask for it, and runs their command."""

    def __init__(self, controls: Controls, bell: Callable[[], None]) -> None:
        self._controls, self._bell = controls, bell
        self._live = controls.runner.session is Session.LIVE
        self._ringing = Ringing()
        self._buzzer = Buzzer(controls.preferences.alert_command)

    def begin(self) -> None:
        """Say at the start if the command could not run later."""
        if self._live and self._buzzer.lacking:
            self._controls.remarks.append(self._buzzer.lacking)

    def tick(self, t_s: float) -> None:
        """Ring for the alerts due at monotonic time ``t_s`` [s]."""
        if not self._live:
            return
        alert = self._ringing.step(alerting.standing(self._controls), t_s)
        if alert is not None:
            if self._controls.preferences.bell:
                self._bell()
            self._buzzer.ring(alert)
        if trouble := self._buzzer.trouble():
            self._controls.remarks.append(trouble)

    def stop(self) -> None:
        """Stop ringing."""
        self._buzzer.stop()
