"""The lines from above and from the side, for tablets: every chain as a few points, sent on request."""

from __future__ import annotations

import json
from typing import Any

import numpy as np

from sternwatch.deck.shown import Shown
from sternwatch.watch.picture.stern import across_stern

POINTS = 8  # points of a chain; more would not show
_BOTTOM = 24


def views(shown: Shown) -> dict[str, Any]:
    """Flat lists in whole decimetres: (astern, abeam, depth) per point of ``rods``, (astern, depth) of ``bottom``."""
    picture = shown.picture
    if picture is None:
        return {"rods": [], "bottom": []}
    shapes = [_few(rod.shape_m, POINTS) for rod in across_stern(picture.rods)]
    track = np.array(picture.bottom_track, dtype=float).reshape(-1, 2)
    return {"rods": shapes, "bottom": _few(track, _BOTTOM)}


def _few(points_m: Any, most: int) -> list[int]:
    """Some of the points, evenly chosen with both ends, in decimetres; none where a point is unknown."""
    if points_m is None or not len(points_m) or not np.isfinite(points_m).all():
        return []
    at = np.unique(np.linspace(0, len(points_m) - 1, most).round().astype(int))
    return [int(value) for value in np.round(np.asarray(points_m)[at] * 10.0).ravel()]


def packed(shown: Shown) -> bytes:
    """The views as bytes."""
    return json.dumps(views(shown), separators=(",", ":"), allow_nan=False).encode()
