"""Numbers that hold still: the shown value of one that jitters. No screen, no clock of its own.

A depth and the ends of its interval change at most once a second and only by 0.7 ft or more; in between the last ones
stay. All else in the picture passes through unchanged.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from sternwatch.watch.picture.model import Picture, RodPicture

STEP_M = 0.7 * 0.3048
HOLD_S = 1.0
JUMP_S = 5.0  # feed time that steps back, or on by more than this, is a seek: the old number means nothing then


@dataclass(slots=True)
class CalmDepth:
    """One shown depth."""

    shown_m: float | None = None
    _since_t_s: float = float("-inf")
    _seen_t_s: float = float("-inf")

    def take(self, t_s: float, depth_m: float | None) -> float | None:
        """The depth to show at feed time ``t_s`` [s] for the computed depth [m]; None shows at once."""
        moved_on = t_s - self._seen_t_s
        self._seen_t_s = t_s
        fresh = self.shown_m is None or depth_m is None or moved_on < 0.0 or moved_on > JUMP_S
        if not fresh and self.shown_m is not None and depth_m is not None:
            # The tolerance keeps a change of exactly one step from depending on its last bit.
            stays = abs(depth_m - self.shown_m) < STEP_M - 1e-9 or t_s - self._since_t_s < HOLD_S - 1e-9
            if stays:
                return self.shown_m
        if depth_m != self.shown_m or fresh:
            self.shown_m = depth_m
            self._since_t_s = t_s
        return self.shown_m


@dataclass(slots=True)
class Calm:
    """The steady depths of a spread."""

    _depths: dict[tuple[str, str], CalmDepth] = field(default_factory=dict)

    def settle(self, picture: Picture, chosen: str | None) -> Picture:
        """``picture`` for the painted widgets: with steady depths, and the rod ``chosen`` marked."""
        return replace(picture, rods=tuple(self._settle(picture.t_s, rod, chosen) for rod in picture.rods))

    def _settle(self, t_s: float, rod: RodPicture, chosen: str | None) -> RodPicture:
        low_m, high_m = rod.depth_interval_m or (None, None)
        low_m, high_m = self._take(t_s, rod.key, "low", low_m), self._take(t_s, rod.key, "high", high_m)
        return replace(
            rod,
            depth_m=self._take(t_s, rod.key, "depth", rod.depth_m),
            depth_interval_m=None if low_m is None or high_m is None else (low_m, high_m),
            chosen=rod.key == chosen,
        )

    def _take(self, t_s: float, key: str, what: str, depth_m: float | None) -> float | None:
        return self._depths.setdefault((key, what), CalmDepth()).take(t_s, depth_m)
