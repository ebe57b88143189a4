"""The boat's track over ground, and the lures' places at hits, in metres from an origin."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sternwatch.logbook.store.samples import HitRow, Sample
from sternwatch.watch.bottom.soundings import EARTH_RADIUS_M, local_metres
from sternwatch.watch.picture.fishing import Fishing

Floats = NDArray[np.float64]
# Between two samples farther apart than this, nobody knows where she was.
GAP_S = 60.0
TRACKED = ("at_s", "latitude_deg", "longitude_deg", "bottom_m", "water_temperature_c", "speed_m_s")


@dataclass(frozen=True, slots=True, eq=False)
class Trail:
    """Samples in order of time, with a row of nan at each gap."""

    places_m: Floats  # (n, 2) north, east
    values: dict[str, Floats]  # "depth" [m], "temperature" [degC], "speed" [m/s]

    @property
    def soundings(self) -> Floats:
        """The bottom under her track, (n, 4) for making grids; feed time is nan."""
        depth = self.values["depth"]
        known = np.isfinite(depth)
        return np.column_stack([self.places_m[known], depth[known], np.full(int(known.sum()), np.nan)])


@dataclass(frozen=True, slots=True)
class Struck:
    """A hit that counts, at its lure's place."""

    rod: str
    north_m: float
    east_m: float


def trail_of(samples: Sequence[Sample], origin_deg: tuple[float, float]) -> Trail:
    """Her track: the places of the samples that have one. Speed is the one that drove the chains."""
    return trail_through(Fishing.of(samples).boats(TRACKED), origin_deg)


def trail_through(rows: Floats, origin_deg: tuple[float, float]) -> Trail:
    """The same from rows of `TRACKED`."""
    rows = rows[np.isfinite(rows[:, 1]) & np.isfinite(rows[:, 2])]
    north = EARTH_RADIUS_M * np.radians(rows[:, 1] - origin_deg[0])
    turn = np.radians((rows[:, 2] - origin_deg[1] + 180.0) % 360.0 - 180.0)
    east = EARTH_RADIUS_M * np.cos(np.radians(origin_deg[0])) * turn
    made = np.column_stack([north, east, rows[:, 3:]])
    made = np.insert(made, np.flatnonzero(np.diff(rows[:, 0]) > GAP_S) + 1, np.nan, axis=0)
    return Trail(made[:, :2], {"depth": made[:, 2], "temperature": made[:, 3], "speed": made[:, 4]})


def struck(hits: Iterable[HitRow], origin_deg: tuple[float, float]) -> tuple[Struck, ...]:
    """Hits that count and whose lure's place is known, in order."""
    return tuple(
        Struck(hit.rod, *local_metres(origin_deg, hit.lure_deg))
        for hit in hits
        if hit.counts and hit.lure_deg is not None
    )
