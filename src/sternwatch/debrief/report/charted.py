"""The trip over ground for a debrief's chart: track, hits at the lure's place, marks, fish seen, the bottom.

In metres from the trip's first place, without latitude or longitude.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from sternwatch.debrief.trip.digest import Digest
from sternwatch.gear.values.units import DisplaySystem
from sternwatch.logbook.actions.place_acts import FishSeen, Marked
from sternwatch.logbook.store.samples import Sample
from sternwatch.watch.bottom.soundings import local_metres
from sternwatch.watch.chart.bed import Bed, bed
from sternwatch.watch.chart.gridded import REACH_M, Window
from sternwatch.watch.chart.trail import GAP_S, Struck, Trail, struck, trail_of
from sternwatch.watch.picture.ground import PlacePicture

_NODES = 160  # number along the longer side
_LEAST_STEP_M = 4.0


@dataclass(frozen=True, slots=True)
class Charted:
    """A trip's chart. ``bounds_m``: (south, west, north, east) around track, hits and places."""

    trail: Trail
    hits: tuple[Struck, ...]
    places: tuple[PlacePicture, ...]  # the trip's marks and fish seen, in order
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
    seen = tuple(_seen(digest, origin))
    more = [(hit.north_m, hit.east_m) for hit in hits] + [(one.north_m, one.east_m) for one in seen]
    places = np.concatenate([trail.places_m, np.array(more).reshape(-1, 2)])
    south, west = np.nanmin(places, axis=0)
    north, east = np.nanmax(places, axis=0)
    half = ((north - south) / 2.0 + REACH_M, (east - west) / 2.0 + REACH_M)
    step = max(2.0 * max(half) / _NODES, _LEAST_STEP_M)
    window = Window.about(float(south + north) / 2.0, float(west + east) / 2.0, half, step)
    found = bed(trail.soundings, window, 0.0, units=units)
    return Charted(trail, hits, seen, found, (float(south), float(west), float(north), float(east)), origin)


def _seen(digest: Digest, origin_deg: tuple[float, float]) -> Iterator[PlacePicture]:
    """Marks and fish seen whose place is known: the entry's, or the boat's at that moment."""
    for entry in digest.crew.places:
        place = entry.place_deg or _boat_at(digest.samples, _moment(entry, digest.utc_offset_s))
        if place is not None:
            what, depth = ("fish", entry.depth_m) if isinstance(entry, FishSeen) else (entry.what, None)
            yield PlacePicture(entry.id, what, *local_metres(origin_deg, place), depth, None, earlier=False)


def _moment(entry: Marked | FishSeen, utc_offset_s: float | None) -> float | None:
    """Feed time of an entry."""
    if entry.elapsed_s is not None or utc_offset_s is None:
        return entry.elapsed_s
    return entry.time.timestamp() - utc_offset_s


def _boat_at(samples: Sequence[Sample], t_s: float | None) -> tuple[float, float] | None:
    """The boat's place at a feed time, between two samples that are not far apart."""
    rows = [sample.boat for sample in samples if sample.boat.latitude_deg is not None]
    after = bisect_left(rows, t_s, key=lambda row: row.at_s) if t_s is not None else len(rows)
    if t_s is None or not rows or not rows[0].at_s - GAP_S <= t_s <= rows[-1].at_s + GAP_S:
        return None
    near = rows[max(after - 1, 0) : after + 1]
    if near[-1].at_s - near[0].at_s > GAP_S:
        return None
    times = [row.at_s for row in near]
    latitude = np.interp(t_s, times, [row.latitude_deg or 0.0 for row in near])
    longitude = np.interp(t_s, times, [row.longitude_deg or 0.0 for row in near])
    return float(latitude), float(longitude)
