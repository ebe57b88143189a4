"""Finds nets and snags that the lines will pass as the boat turns, from each chain's forecast path.

While she goes straight on, `bottom.passings` finds them from the present chains. Paths are medians of the members;
between two bodies of a chain the line counts as straight.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from sternwatch.watch.boat.own_boat import Boat
from sternwatch.watch.bottom.bottom import Bottom
from sternwatch.watch.bottom.passings import MARGIN_M, SNAG_HEIGHT_M, WARN_S
from sternwatch.watch.picture.outlook import Forecast, Outlook

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Danger:
    """A net or snag in the boat's present axes, and the depth from which on it matters."""

    id: str
    what: str
    astern_m: float
    abeam_m: float
    from_depth_m: float


@dataclass(frozen=True, slots=True)
class Marked:
    """The marked dangers around a turning boat, and the ground's drift under the water [m/s], present axes."""

    dangers: tuple[Danger, ...]
    drift_astern_m_s: float
    drift_abeam_m_s: float


@dataclass(frozen=True, slots=True)
class Passed:
    """Rods whose lines pass a danger if she goes on turning. ``steady``: they clear it if she steadies now."""

    id: str
    what: str
    keys: tuple[str, ...]
    time_s: float
    steady: bool


def marked_about(bottom: Bottom, boat: Boat) -> Marked | None:
    """Taken on the watch's thread; None while she goes straight on, and where nothing dangerous is marked."""
    place = bottom.over.place_m
    spots = [spot for spot in bottom.marked.marks() if spot.what in MARGIN_M and spot.at_m is not None]
    if not spots or not bottom.ground.turning or place is None:
        return None
    c, s = bottom.over.turn
    dangers = []
    for spot in spots:
        assert spot.at_m is not None
        north, east = spot.at_m[0] - place[0], spot.at_m[1] - place[1]
        under = bottom.soundings.about(*spot.at_m) if spot.what == "snag" else None
        deep = 0.0 if under is None else max(under.depth_m - SNAG_HEIGHT_M, 0.0)
        astern = -(c * north + s * east) - bottom.over.antenna_m
        dangers.append(Danger(spot.id, spot.what, astern, c * east - s * north, deep))
    drift = boat.drift.now_m_s or (0.0, 0.0)
    # The water carries boat and lines over the ground; seen from them, the mark goes the other way.
    return Marked(tuple(dangers), c * drift[0] + s * drift[1], s * drift[0] - c * drift[1])


def passed(outlook: Outlook, marked: Marked | None) -> tuple[Passed, ...]:
    """The dangers that her lines pass within three minutes if she goes on turning, soonest first."""
    made = {one.manoeuvre.name: one for one in outlook.forecasts}
    going = made.get("as it goes")
    if marked is None or going is None:
        return ()
    hold, found = made.get("hold"), []
    for danger in marked.dangers:
        met = dict(_met(going, danger, marked))
        if met:
            steady = hold is not None and not dict(_met(hold, danger, marked))
            found.append(Passed(danger.id, danger.what, tuple(met), min(met.values()), steady))
    return tuple(sorted(found, key=lambda one: (one.time_s, one.id)))


def _met(made: Forecast, danger: Danger, marked: Marked) -> Iterator[tuple[str, float]]:
    """Every rod whose line reaches a danger, in file order, and when."""
    times = made.time_s
    mark = np.column_stack(
        [danger.astern_m + marked.drift_astern_m_s * times, danger.abeam_m + marked.drift_abeam_m_s * times]
    )
    stern = np.column_stack([made.track_m[:, :2], np.zeros(len(times))])
    for rod in made.rods:
        if rod.bodies_m is None:
            continue
        nodes = [stern, *rod.bodies_m]
        near = np.zeros(len(times), dtype=bool)
        for start, end in pairwise(nodes):
            near |= _near(mark, start, end, MARGIN_M[danger.what], danger.from_depth_m)
        when = times[near & (times <= WARN_S)]
        if len(when):
            yield rod.key, float(when[0])


def _near(mark: Floats, start: Floats, end: Floats, margin_m: float, from_depth_m: float) -> NDArray[np.bool_]:
    """The samples at which the deep enough part of a straight piece is within ``margin_m`` of a mark in plan.

    ``start``, ``end``: (samples, 3) astern, abeam, depth; ``mark``: (samples, 2).
    """
    along = end - start
    down = np.where(np.abs(along[:, 2]) < 1e-9, 1e-9, along[:, 2])
    reached = np.clip((from_depth_m - start[:, 2]) / down, 0.0, 1.0)  # the place where it reaches that depth
    low, high = np.where(down > 0.0, reached, 0.0), np.where(down > 0.0, 1.0, reached)
    length = np.maximum((along[:, :2] ** 2).sum(axis=1), 1e-9)
    share = ((mark - start[:, :2]) * along[:, :2]).sum(axis=1) / length
    at = start[:, :2] + np.clip(share, low, high)[:, None] * along[:, :2]
    deep = np.maximum(start[:, 2], end[:, 2]) >= from_depth_m
    near: NDArray[np.bool_] = deep & (np.linalg.norm(at - mark, axis=1) <= margin_m)
    return near
