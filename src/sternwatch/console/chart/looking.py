"""The view of the chart: zoom, which way is up, whether it follows the boat, the chosen place. No screen."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

import numpy as np

from sternwatch.console.chart.plane import Plane
from sternwatch.watch.picture.ground import GroundPicture
from sternwatch.watch.picture.model import Picture

LADDER_M = (0.125, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0)  # metres over ground in one column
BY = ("", "depth", "temperature", "speed")  # what the track's line can show
AT_FIRST_M = 300.0  # from top to bottom: shows all lines and the ground around them
STEP_COLUMNS = 4
TURNS_DEG = 8.0  # with her course up the chart turns in steps: turning with every wave would make it unreadable
KEPT = 120  # pictures kept, because an outlook is some seconds old when it comes


@dataclass(slots=True)
class Looking:
    """The view of one chart. ``key`` changes it; ``plane`` follows from it."""

    zoom: int | None = None  # index into LADDER_M; None: chosen by the room
    north_up: bool = True
    by: str = ""
    centre_m: tuple[float, float] | None = None  # (north, east) of the chosen place; None: it follows the boat
    _trip: str | None = None
    _up_deg: float = 0.0
    _last: Plane | None = None
    _grounds: deque[tuple[float, GroundPicture]] = field(default_factory=lambda: deque(maxlen=KEPT))

    @property
    def chosen_place(self) -> tuple[float, float] | None:
        """Metres east and north of the session's origin; None while the chart follows the boat."""
        return None if self.centre_m is None else (self.centre_m[1], self.centre_m[0])

    @property
    def reach_m(self) -> float:
        """The distance within which the chosen place means a hit or mark: two columns."""
        return 0.0 if self._last is None else 2.0 * self._last.per_column_m

    def plane(self, picture: Picture, width: int, height: int) -> Plane:
        """The plane that shows a picture in a number of cells."""
        if picture.trip != self._trip:  # the origin of the metres has changed
            self.centre_m, self._last, self._trip = None, None, picture.trip
            self._grounds.clear()
        ground = picture.ground
        boat = ground.boat_m if ground is not None else None
        before = None if self._last is None else (self._last.north_m, self._last.east_m)
        at = self.centre_m or boat or before or (0.0, 0.0)
        if self.zoom is None:
            fits = [k for k, per in enumerate(LADDER_M) if per * 2.0 * height >= AT_FIRST_M]
            self.zoom = fits[0] if fits else len(LADDER_M) - 1
        if self.north_up or ground is None:
            self._up_deg = 0.0
        else:
            off = (ground.points_deg - self._up_deg + 180.0) % 360.0 - 180.0
            if abs(off) > TURNS_DEG:
                self._up_deg = ground.points_deg % 360.0
        per = LADDER_M[self.zoom]
        if self.centre_m is None:  # in steps of half a column, between which the drawn bottom holds still
            at = (round(at[0] / per * 2.0) * per / 2.0, round(at[1] / per * 2.0) * per / 2.0)
        self._last = Plane(width, height, at[0], at[1], per, self._up_deg)
        return self._last

    def key(self, token: str) -> bool:
        """Take one of the chart's own keys. Returns whether it was one that changes the view."""
        moves = {"up": (0, -2), "down": (0, 2), "left": (-STEP_COLUMNS, 0), "right": (STEP_COLUMNS, 0)}
        if token in moves and self._last is not None:
            self._move(*moves[token])
        elif token in ("pageup", "pagedown") and self.zoom is not None:
            self.zoom = min(max(self.zoom + (1 if token == "pagedown" else -1), 0), len(LADDER_M) - 1)
        elif token == "home":
            self.centre_m = None
        elif token == "tab":
            self.north_up = not self.north_up
        elif token == "end":
            self.by = BY[(BY.index(self.by) + 1) % len(BY)]
        else:
            return False
        return True

    def _move(self, columns: int, rows: int) -> None:
        """Move the chosen place. The chart moves with it, so that it stays in the middle."""
        seen = self._last
        assert seen is not None
        to = seen.to_ground(np.array([[seen.width / 2.0 + columns, seen.height / 2.0 + rows]]))[0]
        self.centre_m = (float(to[0]), float(to[1]))
        self._last = Plane(seen.width, seen.height, *self.centre_m, seen.per_column_m, seen.up_deg)

    def take(self, picture: Picture) -> None:
        """Remember the boat's place, for outlooks made from this picture."""
        if picture.ground is None:
            return
        if self._grounds and picture.t_s < self._grounds[-1][0]:
            self._grounds.clear()  # a recording went back
        if not self._grounds or picture.t_s > self._grounds[-1][0]:
            self._grounds.append((picture.t_s, picture.ground))

    def ground_at(self, t_s: float) -> GroundPicture | None:
        """The boat's place over ground at a feed time; None where it is not remembered to the second."""
        near = min(self._grounds, key=lambda kept: abs(kept[0] - t_s), default=None)
        return near[1] if near is not None and abs(near[0] - t_s) <= 1.5 else None
