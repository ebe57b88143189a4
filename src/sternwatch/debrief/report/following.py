"""Keeps answers up to date beside a running session while somebody looks at them: what is producing, the debrief."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Generic, TypeVar

from sternwatch.debrief.counting.now_producing import Panel, panel
from sternwatch.gear.values.units import SYSTEMS, DisplaySystem
from sternwatch.watch.background import Beside
from sternwatch.watch.picture.model import Picture

Made = TypeVar("Made")

EVERY_S = 30.0
"""Feed time after which hours alone are worth a new answer; a hit makes one at once."""


class Following(Generic[Made]):
    """Makes answers from pictures on its own thread. ``offer`` never waits."""

    def __init__(self, make: Callable[[Picture], Made], name: str) -> None:
        self._beside: Beside[Picture, Made] = Beside(make, name)
        self._asked: Picture | None = None

    def offer(self, picture: Picture) -> None:
        """Ask for a new answer if this picture has hits or hours that the last question did not have."""
        asked = self._asked
        if picture.fishing is None:
            return
        same = asked is not None and asked.hit_rows == picture.hit_rows and asked.trip == picture.trip
        if asked is not None and same and 0.0 <= picture.t_s - asked.t_s < EVERY_S:
            return
        self._asked = picture
        self._beside.ask(picture)

    def again(self) -> None:
        """Make the next offer ask in any case."""
        self._asked = None

    @property
    def made(self) -> Made | None:
        """The newest answer; None before the first is ready."""
        return self._beside.made

    @property
    def trouble(self) -> str:
        """Why the newest answer failed, in words."""
        return self._beside.trouble

    def stop(self) -> None:
        self._beside.stop()


def following(units: DisplaySystem) -> Following[Panel]:
    """Follow what is producing."""

    def make(picture: Picture) -> Panel:
        samples = picture.fishing if picture.fishing is not None else ()
        return panel(samples, picture.hit_rows, picture.t_s, units, utc_offset_min(picture))

    return Following(make, "producing")


def utc_offset_min(picture: Picture) -> int:
    """The boat's clock at the picture's moment [min east of UTC]."""
    return picture.clock(SYSTEMS["us"]).offset_min(datetime.now(UTC) if picture.utc_s is None else picture.utc_s)
