"""What is producing, kept up to date beside a running session while somebody looks at it."""

from __future__ import annotations

from datetime import UTC, datetime

from sternwatch.debrief.live import Panel, panel
from sternwatch.gear.units import DisplaySystem
from sternwatch.watch.beside import Beside
from sternwatch.watch.picture import Picture

EVERY_S = 30.0
"""Feed time after which hours alone are worth a new panel; a hit makes one at once."""


class Following:
    """Makes panels on a thread of its own. ``offer`` never waits."""

    def __init__(self, units: DisplaySystem) -> None:
        self._units = units
        self._beside: Beside[Picture, Panel] = Beside(self._make, "producing")
        self._asked: Picture | None = None

    def offer(self, picture: Picture) -> None:
        """Ask for a new panel if this picture has hits or hours that the last one asked about had not."""
        asked = self._asked
        if picture.fishing is None:
            return
        same = asked is not None and asked.hit_rows == picture.hit_rows and asked.trip == picture.trip
        if asked is not None and same and 0.0 <= picture.t_s - asked.t_s < EVERY_S:
            return
        self._asked = picture
        self._beside.ask(picture)

    @property
    def panel(self) -> Panel | None:
        """The newest panel; None while the first is being made."""
        return self._beside.made

    @property
    def trouble(self) -> str:
        """Why the newest one could not be made, in words."""
        return self._beside.trouble

    def stop(self) -> None:
        self._beside.stop()

    def _make(self, picture: Picture) -> Panel:
        samples = picture.fishing.since() if picture.fishing is not None else []
        return panel(samples, picture.hit_rows, picture.t_s, self._units, utc_offset_min(picture))


def utc_offset_min(picture: Picture) -> int:
    """The crew's clock: as they said, else as this computer has it at the picture's moment [min east of UTC]."""
    said = picture.crew.facts.utc_offset_min if picture.crew is not None else None
    if said is not None:
        return said
    now = datetime.now(UTC) if picture.utc_s is None else datetime.fromtimestamp(picture.utc_s, UTC)
    offset = now.astimezone().utcoffset()
    return 0 if offset is None else round(offset.total_seconds() / 60.0)
