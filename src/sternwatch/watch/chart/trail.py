"""The boat's track over ground, and the lures' places at hits, in metres from an origin."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sternwatch.logbook.store.samples import HitRow, Sample
from sternwatch.watch.bottom.soundings import local_metres

Floats = NDArray[np.float64]
# Between two samples farther apart than this, nobody knows where she was.
GAP_S = 60.0


@dataclass(frozen=True, slots=True)
class Trail:
    """Samples in order of time, with a row of nan at each gap."""

    places_m: Floats = field(compare=False, repr=False)  # (n, 2) north, east
    values: dict[str, Floats] = field(compare=False, repr=False)  # "depth" [m], "temperature" [degC], "speed" [m/s]

    @property
    def soundings(self) -> Floats:
        """The bottom under her track, (n, 4) for making grids; feed time is nan."""
        depth = self.values["depth"]
        known = np.isfinite(depth) & np.isfinite(self.places_m[:, 0])
        return np.column_stack([self.places_m[known], depth[known], np.full(int(known.sum()), np.nan)])


@dataclass(frozen=True, slots=True)
class Struck:
    """A hit that counts, at its lure's place."""

    rod: str
    north_m: float
    east_m: float


def trail_of(samples: Sequence[Sample], origin_deg: tuple[float, float]) -> Trail:
    """Her track: the places of the samples that have one. Speed is the one that drove the chains."""
    nothing = (np.nan,) * 5
    rows: list[tuple[float, ...]] = []
    last_s: float | None = None
    for sample in samples:
        boat = sample.boat
        if boat.latitude_deg is None or boat.longitude_deg is None:
            continue
        if last_s is not None and boat.at_s - last_s > GAP_S:
            rows.append(nothing)
        last_s = boat.at_s
        place = local_metres(origin_deg, (boat.latitude_deg, boat.longitude_deg))
        values = (boat.bottom_m, boat.water_temperature_c, boat.speed_m_s)
        rows.append((*place, *(np.nan if value is None else value for value in values)))
    made = np.array(rows, dtype=np.float64).reshape(-1, 5)
    return Trail(made[:, :2], {"depth": made[:, 2], "temperature": made[:, 3], "speed": made[:, 4]})


def struck(hits: Iterable[HitRow], origin_deg: tuple[float, float]) -> tuple[Struck, ...]:
    """Hits that count and whose lure's place is known, in order."""
    return tuple(
        Struck(hit.rod, *local_metres(origin_deg, hit.lure_deg))
        for hit in hits
        if hit.counts and hit.lure_deg is not None
    )
