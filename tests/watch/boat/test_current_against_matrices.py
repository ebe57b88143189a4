"""The filter of current, speed and paddle wheel against one written out here, window by window, number by number.

The same model as the module's doc string states it, with its own numbers: plain Kalman updates (not Joseph's form),
one scalar measurement after another where the module takes two at once. Windows are given, not made from sentences.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field
from statistics import NormalDist
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.watch.boat.current import CurrentFilter, GaugeSpeed, Prior, Said
from sternwatch.watch.boat.legs import Means

Z = NormalDist().inv_cdf(0.95)
NAMES = ("S", "north", "east", "wind north", "wind east", "compass", "k", "d")
USUAL = {"k": 1.0}
SD = {
    "S": 1.0, "north": 0.2128, "east": 0.2128, "wind north": 0.04 / Z, "wind east": 0.04 / Z, "compass": 0.115 / Z,
    "k": 0.0304, "d": 0.08 / Z,
}  # fmt: skip
RETURNS_S = {
    "north": 21600.0, "east": 21600.0, "wind north": 3600.0, "wind east": 3600.0, "k": 28800.0,
}  # fmt: skip


def vector(of: dict[str, float]) -> Any:
    return np.array([of.get(name, 0.0) for name in NAMES])


@dataclass
class ByHand:
    """Eight numbers by their names."""

    x: Any = field(default_factory=lambda: vector(USUAL))
    p: Any = field(default_factory=lambda: np.diag(vector(SD) ** 2))
    begun: bool = False
    told_s: float | None = None
    leg: float | None = None
    wheel: float = 0.0
    bad: int = 0
    windows: int = 0
    since_s: float | None = None

    def __getitem__(self, name: str) -> float:
        return float(self.x[NAMES.index(name)])

    def returns(self, kept: dict[str, float]) -> None:
        share = np.array([kept.get(name, 1.0) for name in NAMES])
        usual = vector(USUAL)
        self.x = usual + share * (self.x - usual)
        self.p = np.diag(share) @ self.p @ np.diag(share) + np.diag(vector(SD) ** 2 * (1.0 - share**2))

    def loosen(self, sd: float) -> None:
        self.p[0, 0] += sd**2

    def anew(self, name: str, value: float, sd: float) -> None:
        i = NAMES.index(name)
        self.x[i], self.p[i, :], self.p[:, i] = value, 0.0, 0.0
        self.p[i, i] = sd**2

    def use(self, off: Any, h: Any, sd: float) -> bool:
        """Measurements together decide whether they fit; then each is used by itself."""
        off, h = np.atleast_1d(off), np.atleast_2d(h)
        s = h @ self.p @ h.T + sd**2 * np.eye(len(off))
        if float(off @ np.linalg.inv(s) @ off) > 12.0:
            return False
        begin = self.x.copy()
        for one, row in zip(off, h, strict=True):
            left = one - row @ (self.x - begin)
            gain = self.p @ row / (row @ self.p @ row + sd**2)
            self.x = self.x + gain * left
            self.p = self.p - np.outer(gain, row @ self.p)
        return True

    def over_ground(self, ground: complex, sd: float, *, compass: bool) -> bool:
        """North is real, east imaginary."""
        assert self.leg is not None
        u = np.exp(1j * self.leg)
        way = ground - complex(self["north"], self["east"]) - complex(self["wind north"], self["wind east"])
        along = {"S": 1.0, "north": u.real, "east": u.imag, "wind north": u.real, "wind east": u.imag}
        if not compass:
            return self.use(abs(way) - self["S"], vector(along), sd)
        across = {
            "north": -u.imag,
            "east": u.real,
            "wind north": -u.imag,
            "wind east": u.real,
            "compass": abs(ground),
        }
        turned = way / u
        return self.use(
            [turned.real - self["S"], turned.imag - abs(ground) * self["compass"]],
            [vector(along), vector(across)], sd,
        )  # fmt: skip

    def along_keel(self, read: float) -> bool:
        assert self.leg is not None
        u = np.exp(1j * self.leg)
        wind = self["wind north"] * u.real + self["wind east"] * u.imag
        h = vector({"S": 1.0, "d": 1.0, "wind north": u.real, "wind east": u.imag})
        return self.use(read - self["S"] - wind - self["d"], h, 0.03)

    def take(self, means: Means) -> None:
        dt = 0.0 if self.told_s is None else means.t_s - self.told_s
        self.told_s = means.t_s
        self.returns({name: math.exp(-dt / long_s) for name, long_s in RETURNS_S.items()})
        self.loosen(0.012 * math.sqrt(dt / 60.0))
        if not means.usable:
            return
        ground = complex(*means.ground_m_s)
        way = ground - complex(self["north"], self["east"]) - complex(self["wind north"], self["wind east"])
        points = math.atan2(way.imag, way.real) if means.heading_rad is None else means.heading_rad
        if self.leg is None:
            self.leg = points
        turned = abs(math.remainder(points - self.leg, 2.0 * math.pi))
        if turned > math.radians(8.0):
            kept = math.exp(-turned / math.radians(60.0))
            self.returns({"compass": kept, "d": kept})
            self.loosen(0.03 * math.sqrt(turned / math.pi))
            self.leg = points
        if means.heading_rad is not None:
            ground *= complex(np.exp(1j * (self.leg - points)))
        if not self.begun:
            self.anew("S", abs(way), 1.0)
            self.begun, self.since_s = True, means.t_s - 10.0
        if means.log_m_s is not None:
            self.loosen(0.3)
        sd, compass = max(means.ground_sd_m_s, 0.025), means.heading_rad is not None
        if not self.over_ground(ground, sd, compass=compass):
            self.loosen(0.3)
            if not self.over_ground(ground, sd, compass=compass):
                self.bad += 1
                if self.bad == 6:
                    fresh = ByHand()
                    self.x, self.p, self.begun, self.leg, self.bad = fresh.x, fresh.p, False, None, 0
                return
        self.bad, self.windows = 0, self.windows + 1
        if means.log_m_s is not None:
            if abs(means.log_m_s - self.wheel) > 0.15:
                self.wheel = means.log_m_s
            u = np.exp(1j * self.leg)
            h = vector({"S": -1.0, "k": self.wheel, "wind north": -u.real, "wind east": -u.imag})
            said = self["k"] * means.log_m_s - self["S"]
            said -= self["wind north"] * u.real + self["wind east"] * u.imag
            self.use(-said, h, 0.02)
        if means.probe_m_s is not None:
            self.along_keel(means.probe_m_s)


def day(seed: int, *, compass: bool, log: bool, probe: bool, count: int = 80) -> list[Means]:
    """Legs to and fro in a current, with a change of pace, windows that do not count, and some that cannot be."""
    rng = random.Random(seed)
    way, speed, made, t = rng.uniform(0.0, 6.0), 1.1, [], 0.0
    for k in range(count):
        t += rng.choice((10.0, 10.0, 10.0, 25.0))
        if k % 13 == 12:
            way += rng.choice((math.pi, 0.5, -2.0))
        if k % 31 == 30:
            speed = 1.5 if speed < 1.3 else 1.1
        way += rng.gauss(0.0, 0.02)
        ground = speed * np.exp(1j * way) + complex(0.15, -0.1) + complex(rng.gauss(0.0, 0.03), rng.gauss(0.0, 0.03))
        if 50 <= k < 59 and seed % 2:
            ground = 2.5 * ground  # what no throttle explains, nine windows long
        made.append(Means(
            t, usable=rng.random() > 0.1, ground_m_s=(ground.real, ground.imag),
            ground_sd_m_s=rng.uniform(0.01, 0.06), heading_rad=way + 0.05 if compass else None,
            log_m_s=0.95 * speed + rng.gauss(0.0, 0.01) if log and k % 7 else None,
            probe_m_s=speed + 0.03 + rng.gauss(0.0, 0.01) if probe and k % 3 else None,
        ))  # fmt: skip
    return made


@pytest.mark.parametrize(
    ("seed", "compass", "log", "probe"),
    [(0, True, True, True), (1, True, False, False), (2, False, False, True), (3, False, True, False),
     (4, True, True, False), (5, False, True, True), (6, True, False, True)],
)  # fmt: skip
def test_every_window_leaves_the_same_numbers(seed: int, compass: bool, log: bool, probe: bool) -> None:
    found, own = CurrentFilter(Prior()), ByHand()
    waiting = day(seed, compass=compass, log=log, probe=probe)
    windows = list(waiting)
    found.window = SimpleNamespace(close=lambda _: waiting.pop(0))  # type: ignore[assignment]
    begun_anew = 0
    for k, means in enumerate(windows):
        found.step(means.t_s)
        own.take(means)
        assert found.x == pytest.approx(own.x, rel=1e-7, abs=1e-9), k
        assert found.p == pytest.approx(own.p, rel=1e-6, abs=1e-10), k
        assert (found.windows, found.begun, found._rejected, found.since_s) == (
            own.windows, own.begun, own.bad, own.since_s,
        )  # fmt: skip
        begun_anew += k > 0 and not own.begun
    assert own.windows > 40
    # Without a compass any jump is a hand on the throttle; with one such ground cannot be.
    assert (begun_anew > 0) is (seed == 1)
    assert found.told_m_s == pytest.approx((own["north"], own["east"]))
    assert found.through_m_s == pytest.approx(own["S"])


def test_a_gauge_is_read_once_and_has_an_error_of_its_own() -> None:
    found, own = CurrentFilter(Prior()), ByHand()
    waiting = day(8, compass=True, log=False, probe=True, count=20)
    windows = list(waiting)
    found.window = SimpleNamespace(close=lambda _: waiting.pop(0))  # type: ignore[assignment]
    for means in windows:
        found.step(means.t_s)
        own.take(means)
    for name, speed in (("a", 1.2), ("b", 1.0)):
        found.hear(None, GaugeSpeed(name, speed))
        own.anew("d", 0.0, 0.08 / Z)
        assert own.along_keel(speed)
        assert found.x == pytest.approx(own.x, rel=1e-7, abs=1e-9)
        assert found.p == pytest.approx(own.p, rel=1e-6, abs=1e-10)
        found.hear(None, GaugeSpeed(name, 9.0))
        assert found.x == pytest.approx(own.x, rel=1e-7, abs=1e-9), "said once"
    early = CurrentFilter(Prior())
    early.hear(None, GaugeSpeed("a", 1.2))
    assert early.through_m_s == 0.0, "nothing over ground is known to hold it against"


@pytest.mark.parametrize("direction", [0.0, 0.8, math.pi / 2.0, 4.0])
def test_the_current_along_a_course_is_known_at_three_quarters_of_what_was_believed(direction: float) -> None:
    """The prior differs in north and east; the share is of what was believed along that course."""
    prior = Prior(current_sd_m_s=(0.3, 0.1))
    n, e = math.cos(direction), math.sin(direction)
    before = math.hypot(0.3 * n, 0.1 * e)
    for share, known in ((0.74, True), (0.76, False)):
        found = CurrentFilter(prior)
        p = found.p.copy()
        p[1:3, 1:3] = np.diag([(share * 0.3) ** 2, (share * 0.1) ** 2])
        found.p = p
        assert found.belief.along_sd_m_s(direction) == pytest.approx(share * before)
        assert found.along_found(direction) is known
    said = CurrentFilter(prior)
    assert not said.along_found(direction)
    said.said = Said("a", (0.0, 0.0))
    assert said.along_found(direction)


def test_a_current_that_is_said_makes_the_speed_through_the_water_unknown() -> None:
    found = CurrentFilter(Prior())
    found.window = SimpleNamespace(close=lambda t: Means(t, True, (1.2, 0.0), 0.02, heading_rad=0.0))  # type: ignore[assignment]
    for t in range(0, 100, 10):
        found.step(float(t))
    assert found.p[0, 0] < 0.1
    found.hear(Said("a", (0.2, 0.1)), None)
    assert not found.begun
    assert (found.through_m_s, found.p[0, 0]) == (0.0, 1.0)
    assert found.told_m_s == (0.2, 0.1)
    assert np.sqrt(np.diag(found.p))[1:3] == pytest.approx([0.04, 0.04])
    assert not found.p[0, 1:].any()
    assert not found.p[1:3, 3:].any()
