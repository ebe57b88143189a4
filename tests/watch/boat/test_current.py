"""The current, the speed through water and the paddle wheel's error, told from a made boat's legs."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pytest
import scipy.linalg
from numpy.typing import NDArray

from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.boat.current import CurrentFilter, GaugeSpeed, Prior, Said

# As agreed: a change of one is to be noticed.
WINDOW_S = 10.0

KNOT = 1852.0 / 3600.0
Floats = NDArray[np.float64]


@dataclass
class Day:
    """A boat at a steady throttle on legs, the current turning slowly; one fix a second, noisy as fixes are."""

    seed: int
    compass: bool = False
    log: bool = False
    current_m_s: float = 0.3 * KNOT
    current_turns_rad_s: float = math.radians(22.0) / 3600.0
    turned_rad: float = 0.0  # the whole day, boat and current, turned about
    first_leg_s: float = 1100.0
    leg_s: float = 1100.0
    log_reads: float = 1.0
    speed_m_s: float = 1.05
    noise: float = 1.0

    def run(self, seconds: int, found: CurrentFilter | None = None) -> tuple[CurrentFilter, Floats]:
        """Rows (t, error of the speed through water, true current along the course, believed, its sd)."""
        found = found or CurrentFilter()
        rng = np.random.default_rng(self.seed)
        way = rng.uniform(0.0, 2.0 * math.pi) + self.turned_rad
        drift = rng.uniform(0.0, 2.0 * math.pi) + self.turned_rad
        deviation = 0.05 * rng.normal(size=2)
        target, due, rows, blurred, leg = way, self.first_leg_s, [], np.zeros(2), 0
        for t in range(seconds):
            if t >= due:
                due += self.leg_s * rng.uniform(0.8, 1.2)
                target, leg = way + math.pi, leg + 1
            way += min(max(math.remainder(target - way, 2.0 * math.pi), -0.06), 0.06)
            a = drift + self.current_turns_rad_s * t
            current = self.current_m_s * np.array([math.cos(a), math.sin(a)])
            through = self.speed_m_s * np.array([math.cos(way), math.sin(way)])
            blurred = 0.6 * blurred + 0.04 * self.noise * _turned(rng.normal(size=2), self.turned_rad)
            ground = through + current + blurred
            found.window.take_ground(math.hypot(*ground), math.degrees(math.atan2(ground[1], ground[0])))
            if self.compass:
                yaw = 0.1 * math.sin(1.7 * t) * self.noise
                found.window.take_heading(math.degrees(way + yaw + self.noise * deviation[leg % 2]))
            if self.log:
                found.window.logs.append(self.log_reads * self.speed_m_s + 0.03 * self.noise * rng.normal())
            found.step(float(t))
            over = through + current
            taken = np.hypot(*(over - np.array(found.driving_m_s)))
            u = through / self.speed_m_s
            belief = found.belief
            believed = np.array(belief.current_m_s) @ u
            rows.append((t, taken - self.speed_m_s, current @ u, believed, belief.along_sd_m_s(math.atan2(*u[::-1]))))
        return found, np.array(rows)


def _turned(vector: Floats, by_rad: float) -> Floats:
    c, s = math.cos(by_rad), math.sin(by_rad)
    return np.array([c * vector[0] - s * vector[1], s * vector[0] + c * vector[1]])


@pytest.mark.parametrize("compass", [False, True])
def test_after_the_first_reversal_the_speed_through_water_is_known(compass: bool) -> None:
    off, before = [], []
    for seed in range(4):
        day = Day(seed, compass=compass)
        rows = day.run(3 * 3600)[1]
        reversed_at = day.first_leg_s + 90.0  # turned, and found
        off.append(rows[rows[:, 0] > reversed_at, 1])
        before.append(rows[rows[:, 0] < day.first_leg_s, 1])
    rms = math.sqrt(np.mean(np.concatenate(off) ** 2))
    assert rms < 0.06 * KNOT
    assert math.sqrt(np.mean(np.concatenate(before) ** 2)) > 2.0 * rms


def test_one_course_tells_nothing_of_the_current_along_it() -> None:
    prior = Prior().current_sd_m_s[0]
    for compass in (False, True):
        found, rows = Day(3, compass=compass, first_leg_s=1e9).run(2 * 3600)
        # Told less than by one look that is good to 0.36 m/s, whatever was believed before.
        assert rows[:, 4].min() ** -2 - prior**-2 < 0.36**-2
        assert np.abs(rows[:, 3]).max() < 0.25 * prior
        assert found.windows > 500
        assert compass or not found.found  # a compass tells what sets her aside


def test_until_she_turns_the_belief_is_the_prior() -> None:
    found, _ = Day(5, first_leg_s=1e9).run(1200)
    belief = found.belief
    assert belief.current_m_s == pytest.approx((0.0, 0.0), abs=0.02)
    assert np.array(belief.spread) == pytest.approx(np.diag(Prior().current_sd_m_s), abs=0.0056)  # of 0.213
    assert found.driving_m_s == (0.0, 0.0)


def test_what_is_believed_covers_what_is_true() -> None:
    inside = []
    for seed in range(10, 16):
        rows = Day(seed, current_m_s=0.1 + 0.02 * seed % 0.1).run(2 * 3600)[1][::60]
        inside.append(np.abs(rows[:, 2] - rows[:, 3]) < 1.645 * rows[:, 4])
    assert np.concatenate(inside).mean() > 0.85


@pytest.mark.parametrize("reads", [0.96, 1.05])
def test_a_paddle_wheel_is_told_by_its_legs(reads: float) -> None:
    found, _ = Day(7, log=True, compass=True, log_reads=reads).run(2 * 3600)
    belief = found.belief
    assert found.scale_found
    assert belief.scale == pytest.approx(1.0 / reads, abs=min(3.0 * belief.scale_sd, 0.02))
    assert found.driving_scale == pytest.approx(belief.scale, abs=0.005)


def test_a_paddle_wheel_on_one_course_is_taken_as_it_reads() -> None:
    found, _ = Day(7, log=True, compass=True, log_reads=0.96, first_leg_s=1e9).run(3600)
    assert not found.scale_found
    assert found.driving_scale == 1.0
    assert found.belief.scale_sd > 0.85 * Prior().scale_sd


def test_a_hand_on_the_throttle_is_no_current() -> None:
    found, _ = Day(2, first_leg_s=1e9, current_m_s=0.0).run(900)
    before = found.belief.current_m_s
    faster = Day(2, first_leg_s=1e9, current_m_s=0.0, speed_m_s=1.35)
    for t in range(900, 1500):
        way = np.random.default_rng(2).uniform(0.0, 2.0 * math.pi)
        found.window.take_ground(faster.speed_m_s, math.degrees(way))
        found.step(float(t))
    assert math.dist(found.belief.current_m_s, before) < 0.03


def test_a_day_turned_about_is_the_same_day() -> None:
    one, rows = Day(4, compass=True, log=True).run(3600)
    other, others = Day(4, compass=True, log=True, turned_rad=1.1).run(3600)
    assert others[:, 1] == pytest.approx(rows[:, 1], abs=1e-6)
    assert np.array(other.belief.current_m_s) == pytest.approx(
        _turned(np.array(one.belief.current_m_s), 1.1), abs=1e-6
    )


def test_a_copy_goes_on_to_the_very_same_numbers() -> None:
    day = Day(9, compass=True, log=True)
    found, _ = day.run(1500)
    twin = found.copy()
    for t in range(1500, 1600):
        for one in (found, twin):
            one.window.take_ground(1.0, 10.0 * t % 360.0)
            one.step(float(t))
    assert twin.belief == found.belief
    assert (twin.x == found.x).all()
    twin.window.take_ground(1.0, 0.0)
    assert len(found.window.ground) == len(twin.window.ground) - 1


def test_the_helm_says_a_current_and_takes_it_back() -> None:
    found, _ = Day(1, first_leg_s=1e9).run(300)
    found.hear(Said("a", (0.0, 0.15)), None)
    for t in range(300, 420):
        found.step(float(t))
    assert found.belief.current_m_s == pytest.approx((0.0, 0.15), abs=0.005)
    assert found.driving_m_s == pytest.approx((0.0, 0.15), abs=0.005)
    assert found.along_found(0.0)
    found.hear(None, None)
    for t in range(420, 600):
        found.step(float(t))
    assert found.driving_m_s == pytest.approx((0.0, 0.0), abs=0.001)
    assert found.belief.along_sd_m_s(1.0) > 0.95 * Prior().current_sd_m_s[0]


def test_a_gauge_beside_the_boat_tells_the_current_along_the_course() -> None:
    day = Day(6, first_leg_s=1e9)
    found, rows = day.run(600)
    wide = rows[-1, 4]
    found.hear(None, GaugeSpeed("g", day.speed_m_s))
    for t in range(600, 700):
        found.step(float(t))
    way = np.random.default_rng(6).uniform(0.0, 2.0 * math.pi)
    assert found.belief.along_sd_m_s(way) < 0.75 * wide


def test_a_probe_tells_it_as_well_as_the_water_down_there_goes_like_the_surface() -> None:
    day = Day(8, first_leg_s=1e9)
    found = CurrentFilter()
    for seconds in range(1, 121):
        found.window.probes.append(day.speed_m_s)
        found.window.take_ground(day.speed_m_s + 0.1, 30.0)
        found.step(float(seconds))
    along = np.array(found.belief.current_m_s) @ [math.cos(math.radians(30.0)), math.sin(math.radians(30.0))]
    assert found.found
    assert 0.05 < along < 0.1  # shrunk: what goes otherwise below is in it
    assert found.belief.along_sd_m_s(math.radians(30.0)) == pytest.approx(0.045, abs=0.012)


def test_two_legs_against_the_least_squares_of_all_they_say() -> None:
    """The same assumptions as one linear Gaussian problem, solved at once (numpy), where nothing wanders."""
    legs, windows = 2, 12
    day = Day(0, noise=0.0, current_turns_rad_s=0.0, first_leg_s=windows * WINDOW_S + 1, leg_s=1e9)
    prior = Prior(current_sd_m_s=(0.0912, 0.0912))  # what wanders is in proportion to it, and is little here
    found, rows = day.run(2 * windows * 10 + 80, CurrentFilter(prior))
    way = np.random.default_rng(0).uniform(0.0, 2.0 * math.pi)
    along = rows[0, 2]  # of the true current, on the first leg
    sd_c, sd_w, sd_turn, sd_fix = prior.current_sd_m_s[0], 0.04 / 1.6449, 0.03, 0.025
    # Unknowns S1, S2, c and w along the first leg; the second goes the other way.
    rows_a = [[1.0, 0.0, 1.0, 1.0]] * windows + [[0.0, 1.0, -1.0, -1.0]] * windows
    a = np.array(rows_a) / sd_fix
    b = np.array([day.speed_m_s + along] * windows + [day.speed_m_s - along] * windows) / sd_fix
    extra = np.array([[0, 0, 1 / sd_c, 0], [0, 0, 0, 1 / sd_w], [1 / sd_turn, -1 / sd_turn, 0, 0]])
    best = scipy.linalg.lstsq(np.vstack([a, extra]), np.concatenate([b, np.zeros(3)]))[0]
    covariance = scipy.linalg.inv(np.vstack([a, extra]).T @ np.vstack([a, extra]))
    u = np.array([math.cos(way), math.sin(way)])
    assert legs * windows - 3 <= found.windows <= legs * windows + 4
    assert found.x[1:3] @ u == pytest.approx(best[2], abs=0.004)
    assert math.sqrt(u @ found.p[1:3, 1:3] @ u) == pytest.approx(math.sqrt(covariance[2, 2]), rel=0.08)


def test_the_users_own_ranges_are_the_prior(two_rods: Spread) -> None:
    known = Prior.of(two_rods, (0.1, 0.0))
    assert known.current_sd_m_s == pytest.approx(Prior().current_sd_m_s, abs=1e-4)
    assert known.scale_sd == pytest.approx(Prior().scale_sd, abs=1e-4)
    assert CurrentFilter(replace(known)).driving_m_s == (0.1, 0.0)


@pytest.fixture
def steps() -> Callable[[CurrentFilter, int], None]:
    """Lets a filter go on without a word."""

    def go(found: CurrentFilter, seconds: int) -> None:
        for t in range(seconds):
            found.step(float(t))

    return go


def test_without_fixes_nothing_is_told(steps: Callable[[CurrentFilter, int], None]) -> None:
    found = CurrentFilter()
    steps(found, 100)
    assert found.windows == 0
    assert found.driving_m_s == (0.0, 0.0)


def test_what_is_believed_of_the_current_has_the_filters_covariance() -> None:
    found = CurrentFilter()
    part = np.array([[0.04, 0.012], [0.012, 0.01]])
    p = found.p.copy()
    p[1:3, 1:3] = part
    p[6, 6] = 0.0009
    found.p = p
    belief = found.belief
    root = np.array(belief.spread)
    assert root[0, 1] == 0.0
    assert root @ root.T == pytest.approx(part)
    assert belief.scale_sd == pytest.approx(0.03)
    for direction in (0.0, 0.7, 2.5):
        along = np.array([math.cos(direction), math.sin(direction)])
        assert belief.along_sd_m_s(direction) == pytest.approx(math.sqrt(along @ part @ along))
    p[1:3, 1:3] = np.array([[0.04, 0.02], [0.02, 0.01]])
    assert found.belief.spread[1][1] == pytest.approx(0.0, abs=1e-6), "wholly bound to one another"


def test_the_current_counts_as_found_by_its_surest_direction_and_is_lost_later_than_found() -> None:
    """Standard deviations as shares of the prior's: found at 0.6, lost over 0.75."""
    prior = Prior()
    north, east = prior.current_sd_m_s

    def weighed(found: CurrentFilter, surest: float, scale: float = 1.0) -> CurrentFilter:
        p = found.p.copy()
        turn = np.array([[0.8, -0.6], [0.6, 0.8]])
        p[1:3, 1:3] = turn @ np.diag([(surest * north) ** 2, (0.95 * east) ** 2]) @ turn.T
        p[6, 6] = (scale * prior.scale_sd) ** 2
        found.p = p
        found._weigh()
        return found

    found = CurrentFilter()
    assert [weighed(found, share).found for share in (0.61, 0.59, 0.74, 0.76, 0.74, 0.599)] == [
        False, True, True, False, False, True
    ]  # fmt: skip
    assert [weighed(found, 0.9, share).scale_found for share in (0.61, 0.59, 0.74, 0.76)] == [
        False, True, True, False
    ]  # fmt: skip
    said = CurrentFilter()
    said.said = Said("a", (0.1, 0.0))
    assert weighed(said, 0.95).found, "the crew said it"


def test_what_drives_the_chains_follows_with_a_lag_of_twenty_seconds() -> None:
    found = CurrentFilter()
    found.step(0.0)
    x = found.x.copy()
    x[1:3], x[6] = (0.2, -0.1), 1.1
    found.x, found.found = x, True
    found.step(5.0)
    share = 1.0 - math.exp(-5.0 / 20.0)
    assert found.belief.current_m_s == pytest.approx((0.2 * share, -0.1 * share))
    assert found.belief.scale == pytest.approx(1.0 + 0.1 * share)
    assert found.driving_m_s == pytest.approx((0.2 * share, -0.1 * share))
    assert found.driving_scale == 1.0, "not found"
    lost = found.copy()
    lost.found = False
    lost.step(10.0)
    assert lost.driving_m_s == pytest.approx((0.2 * share * (1.0 - share), -0.1 * share * (1.0 - share)))
    assert lost.belief.current_m_s == pytest.approx(
        (0.2 * (1.0 - (1.0 - share) ** 2), -0.1 * (1.0 - (1.0 - share) ** 2))
    )


def test_a_current_said_by_the_crew_is_believed_at_once_and_taken_back_is_as_before() -> None:
    found = CurrentFilter()
    before_x, before_p = found.x.copy(), found.p.copy()
    found.hear(Said("a", (0.3, -0.2), 0.05), None)
    assert found.told_m_s == pytest.approx((0.3, -0.2))
    assert np.sqrt(np.diag(found.p))[1:3] == pytest.approx([0.05, 0.05])
    assert found.found
    same = found.p
    found.hear(Said("a", (0.3, -0.2), 0.05), None)
    assert found.p is same, "said once"
    found.hear(None, None)
    assert found.x == pytest.approx(before_x)
    assert found.p == pytest.approx(before_p)
    assert not found.found
