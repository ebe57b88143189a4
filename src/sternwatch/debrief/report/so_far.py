"""The debrief on the screen: of a whole past trip, or of the present trip so far, from its pictures."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from sternwatch.debrief.report.following import Following, utc_offset_min
from sternwatch.debrief.trip.touches import Touch, Touches, of_picture
from sternwatch.debrief.trip.trip_events import AlertRow, Separation, answered, closest, follow, worst_of
from sternwatch.gear.values.units import DisplaySystem
from sternwatch.watch.picture.model import Picture

if TYPE_CHECKING:  # they import the solver and the statistics; the first screen must not wait for that
    from sternwatch.debrief.report.model import Report
    from sternwatch.debrief.trip.digest import Digest
    from sternwatch.debrief.trip.sources import TripData


@dataclass(frozen=True, slots=True)
class Whole:
    """A computed past trip. ``other``: the same with another spread or calibration, named ``other_name``."""

    data: TripData
    digest: Digest
    other: Digest | None = None
    other_name: str = ""


WorkThrough = Callable[[Callable[[float], None]], Whole]
"""Works a past trip through, telling the share done."""


class Debriefs(Following["Report"]):
    """Keeps the report that the screen shows.

    Parameters
    ----------
    whole
        Computes the past trip, on another thread. None: the report is of the trip so far.
    """

    def __init__(self, units: DisplaySystem, whole: WorkThrough | None = None) -> None:
        super().__init__(self._make, "debrief")
        self._units, self._work = units, whole
        self._whole: Whole | None = None
        self._trip = ""
        self._alerts: dict[str, AlertRow] = {}
        self._standing: frozenset[str] = frozenset()
        self._apart: dict[tuple[str, str], Separation] = {}
        self._touches = Touches()
        self._since_s = 0.0
        self._seen: tuple[tuple[AlertRow, ...], tuple[Separation, ...], tuple[Touch, ...], float] = ((), (), (), 0.0)
        self.share = 0.0  # of the computed past trip
        self._awaited: Path | None = None  # where a past trip's forecasts will be, while they are not known
        self.positions = False

    @property
    def so_far(self) -> bool:
        """Whether this is the debrief of a trip that goes on."""
        return self._work is None

    def look(self, picture: Picture) -> None:
        """Note the alerts and the closest chains of a picture. Called with every picture."""
        if picture.trip != self._trip:
            self._trip, self._since_s = picture.trip, picture.t_s
            self._alerts, self._standing, self._apart, self._touches = {}, frozenset(), {}, Touches()
        follow(self._alerts, self._standing, picture.alerts, picture.t_s)
        self._standing = frozenset(alert.id for alert in picture.alerts)
        near = {
            rod.key: (rod.nearest_m, rod.nearest_key)
            for rod in picture.rods
            if rod.nearest_m is not None and rod.nearest_key is not None
        }
        closest(self._apart, near, picture.t_s)
        self._touches.take(picture.t_s, of_picture(picture))

    def offer(self, picture: Picture) -> None:
        if self._work is not None and self._asked is not None and not self._foretold_now():
            return  # a past trip is computed once
        if self._work is not None:
            self.again()
        self._seen = (tuple(self._alerts.values()), tuple(self._apart.values()), self._touches.all, self._since_s)
        super().offer(picture)

    def _foretold_now(self) -> bool:
        """Whether what was missing of a past trip's forecasts is there now. Said once."""
        if self._awaited is None or not self._awaited.is_file():
            return False
        self._awaited = None
        return True

    def tell_places(self, told: bool) -> None:
        """Set whether places may be shown. The next offer makes a new report."""
        self.positions = told
        self.again()

    # -- on the thread beside ---------------------------------------------------------------------------------

    def _make(self, picture: Picture) -> Report:
        from sternwatch.debrief.report.prepared import report
        from sternwatch.debrief.trip.foretold import awaited, with_foretold

        if self._work is not None:
            if self._whole is None:
                self._whole = self._work(self._tell)
            one = self._whole
            data = with_foretold(one.data)
            self._awaited = None if data.foretold else awaited(data)
            return report(
                data, one.digest, self._units, positions=self.positions, other=one.other,
                other_name=one.other_name,
            )  # fmt: skip
        alerts, apart, touches, since_s = self._seen
        made = replace(digest_so_far(picture, alerts, apart), touches=touches)
        found = report(_trip_of(picture), made, self._units, positions=self.positions, title="The trip so far")
        if since_s < 60.0:
            return found
        said = f"Alerts and closest lines are those since {found.clock.at(since_s)}, when this console took over."
        return replace(found, notes=(said, *found.notes))

    def _tell(self, share: float) -> None:
        self.share = share


def digest_so_far(picture: Picture, alerts: tuple[AlertRow, ...], apart: tuple[Separation, ...]) -> Digest:
    """A digest from a session's picture and those before it. ``picture.crew`` must not be None."""
    from sternwatch.debrief.trip.digest import Digest, without_fights

    assert picture.crew is not None
    assert picture.fishing is not None
    offset = None if picture.utc_s is None else picture.utc_s - picture.t_s
    crew = picture.crew
    samples = without_fights(picture.fishing.since(), crew.hits, offset)
    hits = tuple(sorted(picture.hit_rows, key=lambda hit: (hit.time_ms, hit.id)))
    told = tuple(answered(alert, crew, hits, offset) for alert in alerts)
    return Digest(tuple(samples), hits, told, tuple(worst_of(apart)), crew, round(picture.t_s, 3), offset)


def _trip_of(picture: Picture) -> TripData:
    """The trip's data that a report needs beside its digest."""
    from sternwatch.debrief.trip.sources import TripData

    begun = datetime.fromtimestamp(0 if picture.utc_s is None else picture.utc_s - picture.t_s, UTC)
    about = {"utc_offset_min": utc_offset_min(picture)}
    return TripData(picture.trip, begun, "", (), None, session=picture.session.value, about=about)
