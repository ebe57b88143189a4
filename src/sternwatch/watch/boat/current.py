"""Estimates the surface current, the speed through water and a paddle wheel's scale from legs.

The boat's velocity over ground is her velocity through the water plus the water's own. One course cannot tell the
two apart; two courses can. An extended Kalman filter (Kalman 1960; Bar-Shalom, Li & Kirubarajan 2001; both from
memory) estimates eight numbers. On a steady course it takes the means of the measurements every ten seconds:

    V_ground = S u(h + b) + w + c      k P = S + w·u      G = S + w·u + d

    S      speed through water from the engine, along the way the boat points (u)
    c      current of the surface water over ground, north and east
    w      what the wind adds to the boat's motion through the water: leeway, and more speed before it than against it
    b      the angle between the compass and the way she goes: deviation, an unknown error of the variation
    k      the factor that corrects the paddle wheel's reading (P)
    d      how much the water at a gauge or probe (G) differs from the water at the surface

Without a compass only the length of V_ground - w - c is measured, which is S. The assumptions:

- c wanders at random and returns, over hours, to what was believed before any measurement. So a course that never
  changes leaves the belief as it was.
- At a steady throttle S wanders little (about 0.1 m/s in an hour), and a turn changes it a little. A jump on a
  straight course is a hand on the throttle; then S is unknown again. With a paddle wheel S is free in every window.
  Without one, a crew that trims the throttle to the same speed over ground on every leg hides the current.
- b and d belong to a heading; another heading has its own.
- This feed cannot separate w from c. That is why the ± of c stays a third or so of what it was.

All values are in north and east, SI. The numbers behind the assumptions are from memory of small boats.
"""

from __future__ import annotations

import copy
import math
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.priors import Z90
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import uncertain
from sternwatch.quickly import quickly_made
from sternwatch.watch.boat.legs import WINDOW_S, Means, Window

Floats = NDArray[np.float64]

CURRENT_RETURNS_S: Final = 6 * 3600.0
LEEWAY_M_S: Final = 0.04  # so far, nine times in ten, each component of what light wind does to a small boat: memory
LEEWAY_RETURNS_S: Final = 3600.0
COMPASS_RAD: Final = 0.115  # the same of deviation and variation, 4 degrees for one in three: memory
PROBE_M_S: Final = 0.08  # the same of a gauge's own error and the water below going otherwise: memory
SCALE_RETURNS_S: Final = 8 * 3600.0
ANOTHER_HEADING_RAD: Final = math.radians(60.0)
NEW_LEG_RAD: Final = math.radians(8.0)
NEW_PACE_M_S: Final = 0.15

STEADY_THROTTLE_M_S: Final = 0.012  # in a minute, one standard deviation
TURN_M_S: Final = 0.03  # the change of S over half a circle
FREE_M_S: Final = 0.3  # the uncertainty of S where the throttle was moved, or where a paddle wheel measures it anyway
UNKNOWN_M_S: Final = 1.0
# Means of ten seconds still vary with the sea and the receiver.
GROUND_M_S: Final = 0.025
LOG_M_S: Final = 0.02
GAUGE_M_S: Final = 0.03
HELM_M_S: Final = 0.04  # each component of a current that the helm entered: memory
GATE: Final = 12.0  # squared, normalised; a larger innovation has another cause
AFRESH_AFTER: Final = 6  # windows in a row that do not fit
# The current that moves the chains follows the estimate with this lag: real water does not jump.
FOLLOWS_S: Final = 20.0
# Found: the standard deviation is under the first share of the prior's. Lost again: it is over the second.
FOUND: Final = (0.6, 0.75)
_CERTAIN: Final = 1e-6

S, CN, CE, WN, WE, B, K, D = range(8)
C = slice(CN, WN)


def _sd(half: float) -> float:
    """The standard deviation of what lies within ``half`` of its mean nine times in ten."""
    return half / Z90


@dataclass(frozen=True, slots=True)
class Prior:
    """What is believed before any measurement. Standard deviations are one sigma."""

    given_m_s: tuple[float, float] = (0.0, 0.0)  # the current of the spread file, (north, east)
    current_sd_m_s: tuple[float, float] = (0.2128, 0.2128)
    scale_sd: float = 0.0304

    @classmethod
    def of(cls, spread: Spread, given_m_s: tuple[float, float]) -> Prior:
        """The prior with the user's own ranges. A value without a range counts as nearly certain."""
        known = uncertain(spread)
        north, east, scale = (
            _sd(0.5 * (known[name].high - known[name].low)) if name in known else _CERTAIN
            for name in ("current north", "current east", "speed")
        )
        return cls(given_m_s, (north, east), scale)

    def state(self) -> tuple[Floats, Floats]:
        """The eight numbers and their covariance."""
        x = np.zeros(8)
        x[C] = self.given_m_s
        x[K] = 1.0
        sd = np.empty(8)
        sd[S], sd[C], sd[[WN, WE]] = UNKNOWN_M_S, self.current_sd_m_s, _sd(LEEWAY_M_S)
        sd[B], sd[K], sd[D] = _sd(COMPASS_RAD), self.scale_sd, _sd(PROBE_M_S)
        return x, np.diag(sd * sd)


@dataclass(frozen=True, slots=True)
class Said:
    """A current that the helm entered."""

    id: str
    current_m_s: tuple[float, float]  # (north, east)
    sd_m_s: float = HELM_M_S


@dataclass(frozen=True, slots=True)
class GaugeSpeed:
    """A speed read off a gauge, once."""

    id: str
    speed_m_s: float


@quickly_made
@dataclass(frozen=True, slots=True)
class Belief:
    """What is believed of the water's speed now. Standard deviations are one sigma."""

    current_m_s: tuple[float, float]  # (north, east)
    spread: tuple[tuple[float, float], tuple[float, float]]  # lower triangle: current = mean + spread · normal
    scale: float  # the factor on the paddle wheel's reading
    scale_sd: float

    def along_sd_m_s(self, direction_rad: float) -> float:
        """Standard deviation of the current's component along a direction."""
        (a, _), (b, d) = self.spread
        n, e = math.cos(direction_rad), math.sin(direction_rad)
        return math.hypot(a * n + b * e, d * e)


@dataclass(slots=True)
class CurrentFilter:
    """The filter of one session. ``take`` goes to ``window``. Only the watch's grid calls ``step``.

    Arrays are replaced, never written to, so a ``copy`` shares them.
    """

    prior: Prior = field(default_factory=Prior)
    window: Window = field(default_factory=Window)
    x: Floats = field(init=False)
    p: Floats = field(init=False)
    begun: bool = False  # S has been measured
    windows: int = 0  # used
    said: Said | None = None
    found: bool = False  # some component of the current is known far better than before
    scale_found: bool = False
    since_s: float | None = None  # when the first of the windows that tell began
    _gauge: str = ""
    _direction: float | None = None  # direction of the last window used, rad
    _reads: float = 0.0  # the paddle wheel at this pace
    _told_s: float | None = None
    _rejected: int = 0
    _mean: tuple[float, float, float] = field(init=False)  # followed: current north, east, k
    _drive: tuple[float, float, float] = field(init=False)  # the same where they are found, else the given values
    _t_s: float | None = None

    def __post_init__(self) -> None:
        self.x, self.p = self.prior.state()
        self._mean = self._drive = (*self.prior.given_m_s, 1.0)

    def copy(self) -> CurrentFilter:
        twin = copy.copy(self)
        twin.window = self.window.copy()
        return twin

    # -- input -------------------------------------------------------------------------------------------------

    def hear(self, said: Said | None, gauge: GaugeSpeed | None) -> None:
        """Take what the crew says now: the last current entered, the last gauge read; None where taken back."""
        if said != self.said:
            self.said = said
            mean, sd = self.prior.given_m_s, self.prior.current_sd_m_s
            if said is not None:
                mean, sd = said.current_m_s, (said.sd_m_s, said.sd_m_s)
            self._restate(C, np.array(mean), np.array(sd))
            self._weigh()
            if self.begun:
                self.begun = False
                self._restate(slice(S, CN), np.zeros(1), np.array([UNKNOWN_M_S]))
        if gauge is not None and gauge.id != self._gauge:
            self._gauge = gauge.id
            self._restate(slice(D, D + 1), np.zeros(1), np.array([_sd(PROBE_M_S)]))
            if self.begun and self._direction is not None:
                self._gauged(gauge.speed_m_s, self._direction)
                self._weigh()

    def _restate(self, which: slice, mean: Floats, sd: Floats) -> None:
        x, p = self.x.copy(), self.p.copy()
        x[which] = mean
        p[which, :] = 0.0
        p[:, which] = 0.0
        p[which, which] = np.diag(sd * sd)
        self.x, self.p = x, p

    def step(self, t_s: float) -> None:
        """Use the window if it is full at ``t_s``, then let the values that drive the chains follow."""
        means = self.window.close(t_s)
        if means is not None:
            self._pass_time(means.t_s)
            if means.usable:
                self._learn(means)
            self._weigh()
        self._follow(t_s)

    def _follow(self, t_s: float) -> None:
        dt = 0.0 if self._t_s is None else t_s - self._t_s
        self._t_s = t_s
        share = 1.0 - math.exp(-dt / FOLLOWS_S)
        mean = (float(self.x[CN]), float(self.x[CE]), float(self.x[K]))
        current = mean[:2] if self.found else self.prior.given_m_s
        self._mean = _towards(self._mean, mean, share)
        self._drive = _towards(self._drive, (*current, mean[2] if self.scale_found else 1.0), share)

    def _weigh(self) -> None:
        """Decide whether the depths may use this estimate."""
        north, east = self.prior.current_sd_m_s
        whole = self.p[C, C] / np.outer((north, east), (north, east))
        half, off = 0.5 * float(whole[0, 0] + whole[1, 1]), float(whole[0, 1])
        least = half - math.hypot(0.5 * float(whole[0, 0] - whole[1, 1]), off)
        self.found = self.said is not None or math.sqrt(max(least, 0.0)) <= FOUND[self.found]
        self.scale_found = math.sqrt(float(self.p[K, K])) <= FOUND[self.scale_found] * self.prior.scale_sd

    # -- results -----------------------------------------------------------------------------------------------

    @property
    def belief(self) -> Belief:
        """The belief that drives the chains."""
        north, east, scale = self._mean
        nn, ne, ee = float(self.p[CN, CN]), float(self.p[CN, CE]), float(self.p[CE, CE])
        a = math.sqrt(nn)
        b = ne / a
        return Belief(
            (north, east), ((a, 0.0), (b, math.sqrt(max(ee - b * b, 0.0)))), scale, math.sqrt(float(self.p[K, K]))
        )

    @property
    def told_m_s(self) -> tuple[float, float]:
        """The current (north, east) that is thought now, ahead of what drives the chains."""
        return float(self.x[CN]), float(self.x[CE])

    @property
    def through_m_s(self) -> float:
        """The speed through the water that the engine makes."""
        return float(self.x[S])

    @property
    def driving_m_s(self) -> tuple[float, float]:
        """The current (north, east) to subtract from speed over ground: the one found, else the file's."""
        return self._drive[:2]

    @property
    def driving_scale(self) -> float:
        """The factor on the paddle wheel's reading: 1 until it is found."""
        return self._drive[2]

    def along_found(self, direction_rad: float) -> bool:
        """Whether the current along a course is known. The current across it hardly matters to the depths."""
        north, east = self.prior.current_sd_m_s
        before = math.hypot(north * math.cos(direction_rad), east * math.sin(direction_rad))
        return self.said is not None or self.belief.along_sd_m_s(direction_rad) <= FOUND[1] * before

    # -- the filter --------------------------------------------------------------------------------------------

    def _pass_time(self, t_s: float) -> None:
        dt = 0.0 if self._told_s is None else t_s - self._told_s
        self._told_s = t_s
        back = np.ones(8)
        back[C] = math.exp(-dt / CURRENT_RETURNS_S)
        back[[WN, WE]] = math.exp(-dt / LEEWAY_RETURNS_S)
        back[K] = math.exp(-dt / SCALE_RETURNS_S)
        self._decay(back)
        p = self.p.copy()
        p[S, S] += STEADY_THROTTLE_M_S**2 * dt / 60.0
        self.p = p

    def _decay(self, back: Floats) -> None:
        """Keep the share ``back`` of each number's distance from the prior, and of its variance; 1 keeps all."""
        rest, before = self.prior.state()
        self.x = rest + back * (self.x - rest)
        self.p = self.p * np.outer(back, back) + np.diag(np.diag(before) * (1.0 - back * back))

    def _turn(self, direction: float) -> float:
        """The direction of this leg [rad]: that of the last window, unless she has turned.

        One direction serves a whole leg. If every window had its own, the noise of the measured direction would count
        as changes of course, and a course that never changes would seem to reveal the current.
        """
        if self._direction is None:
            self._direction = direction
        turned = abs(math.remainder(direction - self._direction, math.tau))
        if turned > NEW_LEG_RAD:
            back = np.ones(8)
            back[[B, D]] = math.exp(-turned / ANOTHER_HEADING_RAD)
            self._decay(back)
            p = self.p.copy()
            p[S, S] += TURN_M_S**2 * turned / math.pi
            self.p = p
            self._direction = direction
        return self._direction

    def _open(self, sd: float) -> None:
        p = self.p.copy()
        p[S, S] += sd * sd
        self.p = p

    def _learn(self, means: Means) -> None:
        ground = np.array(means.ground_m_s)
        way = ground - self.x[C] - self.x[[WN, WE]]
        points = means.heading_rad if means.heading_rad is not None else math.atan2(way[1], way[0])
        direction = self._turn(points)
        if means.heading_rad is not None:  # turn the velocity as if she pointed along the leg
            c, s = math.cos(direction - points), math.sin(direction - points)
            ground = np.array([c * ground[0] - s * ground[1], s * ground[0] + c * ground[1]])
        if not self.begun:
            self._restate(slice(S, CN), np.array([math.hypot(*way)]), np.array([UNKNOWN_M_S]))
            self.begun = True
            self.since_s = means.t_s - WINDOW_S
        if means.log_m_s is not None:
            self._open(FREE_M_S)
        noise = max(GROUND_M_S, means.ground_sd_m_s)
        compass = means.heading_rad is not None
        if not self._ground(ground, noise, direction, compass=compass):
            self._open(FREE_M_S)
            if not self._ground(ground, noise, direction, compass=compass):
                self._rejected += 1
                if self._rejected >= AFRESH_AFTER:
                    self.x, self.p = self.prior.state()
                    self.begun, self._direction, self._rejected = False, None, 0
                return
        self._rejected = 0
        self.windows += 1
        if means.log_m_s is not None:
            self._log(means.log_m_s, direction)
        if means.probe_m_s is not None:
            self._gauged(means.probe_m_s, direction)

    def _ground(self, ground: Floats, noise: float, direction: float, *, compass: bool) -> bool:
        """Use a velocity over ground. False where it does not fit the belief."""
        x = self.x
        u = np.array([math.cos(direction), math.sin(direction)])
        h = np.zeros((2 if compass else 1, 8))
        h[0, S] = 1.0
        h[0, C] = h[0, [WN, WE]] = u
        way = ground - x[C] - x[[WN, WE]]
        if not compass:
            return self._update(np.array([math.hypot(*way) - x[S]]), h, noise)
        n = np.array([-u[1], u[0]])
        # b is multiplied by the measured speed: S is as uncertain as c, and its error would leak into both.
        speed = math.hypot(*ground)
        h[1, C] = h[1, [WN, WE]] = n
        h[1, B] = speed
        return self._update(np.array([way @ u - x[S], way @ n - speed * x[B]]), h, noise)

    def _log(self, read: float, direction: float) -> bool:
        """Use the paddle wheel's reading, along the keel."""
        x = self.x
        if abs(read - self._reads) > NEW_PACE_M_S:
            self._reads = read
        h = np.zeros((1, 8))
        # One reading serves for as long as the pace lasts, as one direction serves a leg.
        h[0, S], h[0, K] = -1.0, self._reads
        h[0, WN], h[0, WE] = -math.cos(direction), -math.sin(direction)
        return self._update(-(x[K] * read + h[:, [S, WN, WE]] @ x[[S, WN, WE]]), h, LOG_M_S)

    def _gauged(self, read: float, direction: float) -> bool:
        """Use a speed read at a depth, along the keel."""
        h = np.zeros((1, 8))
        h[0, S] = h[0, D] = 1.0
        h[0, WN], h[0, WE] = math.cos(direction), math.sin(direction)
        return self._update(read - h @ self.x, h, GAUGE_M_S)

    def _update(self, off: Floats, h: Floats, noise: float) -> bool:
        """Kalman's update (Joseph's form). False, with nothing changed, where ``off`` is too large."""
        ph = self.p @ h.T
        innovation = h @ ph + noise * noise * np.eye(len(off))
        if float(off @ np.linalg.solve(innovation, off)) > GATE:
            return False
        gain = np.linalg.solve(innovation, ph.T).T
        keep = np.eye(8) - gain @ h
        self.x = self.x + gain @ off
        p = keep @ self.p @ keep.T + noise * noise * (gain @ gain.T)
        self.p = 0.5 * (p + p.T)
        return True


def _towards(
    now: tuple[float, float, float], target: tuple[float, float, float], share: float
) -> tuple[float, float, float]:
    north, east, scale = (a + share * (b - a) for a, b in zip(now, target, strict=True))
    return north, east, scale
