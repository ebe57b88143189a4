"""The trip over ground for a debrief's chart: track, hits at the lure's place, and the bottom under the track.

In metres from the trip's first place, without latitude or longitude.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from sternwatch.debrief.trip.digest import Digest
from sternwatch.gear.values.units import DisplaySystem, convert
from sternwatch.watch.chart.bed import Bed, bed
from sternwatch.watch.chart.gridded import REACH_M, Window
from sternwatch.watch.chart.trail import Struck, Trail, struck, trail_of

_NODES = 160  # number along the longer side
_LEAST_STEP_M = 4.0


@dataclass(frozen=True, slots=True)
class Charted:
    """A trip's chart. ``bounds_m``: (south, west, north, east) around track and hits."""

    trail: Trail
    hits: tuple[Struck, ...]
    bed: Bed
    bounds_m: tuple[float, float, float, float]
    origin_deg: tuple[float, float]

    def runs(self) -> Iterator[np.ndarray[tuple[int, ...], np.dtype[np.float64]]]:
        """The track in unbroken parts, (n, 2) each."""
        places = self.trail.places_m
        holes = np.flatnonzero(~np.isfinite(places[:, 0])).tolist()
        for begin, end in zip([-1, *holes], [*holes, len(places)], strict=True):
            yield places[begin + 1 : end]


def charted(digest: Digest, units: DisplaySystem) -> Charted | None:
    """The chart of a trip; None where no place was recorded."""
    origin = next(
        (
            (sample.boat.latitude_deg, sample.boat.longitude_deg)
            for sample in digest.samples
            if sample.boat.latitude_deg is not None and sample.boat.longitude_deg is not None
        ),
        None,
    )
    if origin is None:
        return None
    trail, hits = trail_of(digest.samples, origin), struck(digest.hits, origin)
    places = np.concatenate(
        [trail.places_m, np.array([(hit.north_m, hit.east_m) for hit in hits]).reshape(-1, 2)]
    )  # fmt: skip
    south, west = np.nanmin(places, axis=0)
    north, east = np.nanmax(places, axis=0)
    half = ((north - south) / 2.0 + REACH_M, (east - west) / 2.0 + REACH_M)
    step = max(2.0 * max(half) / _NODES, _LEAST_STEP_M)
    window = Window.about(float(south + north) / 2.0, float(west + east) / 2.0, half, step)
    found = bed(trail.soundings, window, 0.0, per_m=convert(1.0, units.length))
    return Charted(trail, hits, found, (float(south), float(west), float(north), float(east)), origin)
