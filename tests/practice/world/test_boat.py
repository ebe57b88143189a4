"""The boat against closed forms and an independent integrator, and by symmetry."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from sternwatch.practice.world import boat as boats
from sternwatch.practice.world.boat import ENGINES, HULL, Boat, Orders, Pose, step
from sternwatch.practice.world.sea import Sea

STILL = (0.0, 0.0)


def sailed(
    boat: Boat, orders: Orders, seconds: float, wind: tuple[float, float] = STILL, pull_N: float = 0.0
) -> Boat:
    for _ in range(round(seconds * 10)):
        boat = step(boat, orders, wind, pull_N, 0.1)
    return boat


def steady(speed_m_s: float, heading_deg: float = 0.0) -> tuple[Boat, Orders]:
    orders = Orders(lever=boats.lever_for(speed_m_s, 0.0))
    return boats.under_way(heading_deg, speed_m_s, orders, STILL), orders


def test_a_lever_keeps_the_speed_it_was_chosen_for() -> None:
    for speed, pull in ((0.6, 50.0), (1.05, 130.0), (1.6, 0.0)):
        orders = Orders(lever=boats.lever_for(speed, pull))
        boat = boats.under_way(0.0, speed, orders, STILL)
        assert sailed(boat, orders, 120.0, pull_N=pull).surge_m_s == pytest.approx(speed, abs=1e-6)


def test_nomotos_circle_does_not_depend_on_speed() -> None:
    # Steady state of T r' + r = K d with K = K' U / L: radius U / r = L / (K' d). Nomoto et al. 1957.
    for speed in (0.7, 1.1, 1.8):
        boat, orders = steady(speed)
        turning = sailed(boat, replace(orders, rudder_deg=20.0), 400.0)
        radius = turning.surge_m_s / math.radians(turning.rate_deg_s)
        assert radius == pytest.approx(HULL.length_m / (HULL.turning * math.radians(20.0)), rel=1e-4)


def test_steering_and_surge_follow_their_equations() -> None:
    # The same ordinary differential equations, written out here and integrated by scipy.
    boat, orders = steady(1.0)
    orders = replace(orders, rudder_deg=15.0, lever=0.6)
    engine, mass = ENGINES["kicker"], HULL.mass_kg * (1.0 + HULL.added_mass)

    def slope(t: float, y: list[float]) -> list[float]:
        _, rate, surge, thrust = y
        delta = min(10.0 * t, 15.0)
        gain = HULL.turning * surge / HULL.length_m
        lag = HULL.lag * HULL.length_m / surge
        full = engine.full_N * 0.6 * (1.0 - surge / engine.none_m_s)
        force = thrust - HULL.drag_N_s2_m2 * surge * surge - 80.0
        return [rate, (gain * delta - rate) / lag, force / mass, (full - thrust) / HULL.engine_lag_s]

    wanted = solve_ivp(slope, (0.0, 40.0), [0.0, 0.0, 1.0, boat.thrust_N], rtol=1e-9, atol=1e-9, max_step=0.1)
    now = sailed(boat, orders, 40.0, pull_N=80.0)
    turned, rate, surge, _ = wanted.y[:, -1]
    assert now.turned_deg == pytest.approx(turned, abs=0.6)
    assert now.rate_deg_s == pytest.approx(rate, rel=0.01)
    assert now.surge_m_s == pytest.approx(surge, rel=0.005)


@given(st.floats(-35, 35), st.floats(0, 1), st.floats(-6, 6), st.floats(-6, 6))
def test_port_and_starboard_are_mirrors(rudder: float, lever: float, north: float, east: float) -> None:
    boat = Boat(surge_m_s=1.0)
    one = sailed(boat, Orders(rudder_deg=rudder, lever=lever), 15.0, (north, east))
    other = sailed(boat, Orders(rudder_deg=-rudder, lever=lever), 15.0, (north, -east))
    assert other.rate_deg_s == pytest.approx(-one.rate_deg_s, abs=1e-9)
    assert other.turned_deg == pytest.approx(-one.turned_deg, abs=1e-7)
    assert (other.north_m, other.east_m) == pytest.approx((one.north_m, -one.east_m), abs=1e-7)


@pytest.mark.parametrize(("start", "wanted"), [(10.0, 60.0), (350.0, 20.0), (90.0, 300.0)])
def test_a_held_heading_is_reached_the_short_way_and_kept(start: float, wanted: float) -> None:
    boat, orders = steady(1.05, start)
    most = 0.0
    orders = replace(orders, heading_deg=wanted)
    short = (wanted - start + 180.0) % 360.0 - 180.0
    for _ in range(120):
        boat = sailed(boat, orders, 1.0, (2.0, 2.0))
        most = max(most, abs(boat.turned_deg))
    assert (boat.heading_deg - wanted + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=3.0)
    assert boat.turned_deg * short > 0.0
    assert most < abs(short) + 6.0


def test_the_wind_sets_her_down_and_the_bow_falls_off() -> None:
    boat, orders = steady(1.0)
    drifting = sailed(boat, orders, 30.0, (0.0, 6.0))  # from port
    calm = sailed(boat, orders, 30.0)
    assert drifting.east_m > calm.east_m + 3.0
    assert drifting.turned_deg > 1.0


def test_a_pull_on_the_stern_slows_her_and_never_drives_her_astern() -> None:
    boat, orders = steady(1.0)
    assert sailed(boat, orders, 60.0, pull_N=150.0).surge_m_s < 0.8
    stopped = sailed(boat, Orders(lever=0.0), 600.0, pull_N=300.0)
    assert 0.0 <= stopped.surge_m_s < 0.05


def test_the_main_engine_trolls_too_fast_at_idle() -> None:
    boat, _ = steady(0.9)
    assert sailed(boat, Orders(engine="main", lever=0.0), 120.0).surge_m_s > 1.6
    assert sailed(boat, Orders(engine="kicker", lever=1.0), 120.0).surge_m_s < 2.3


def test_the_waves_velocity_is_the_slope_of_their_displacement() -> None:
    sea = Sea.made(3, 4.0, 200.0, 0.5, 4.0)
    boat = boats.under_way(30.0, 1.0, Orders(), STILL)
    h = 1e-4
    for t in (0.0, 3.3, 71.0):
        before, after = Pose.of(boat, sea, t - h), Pose.of(boat, sea, t + h)
        now = Pose.of(boat, sea, t)
        assert (after.north_m - before.north_m) / (2 * h) == pytest.approx(
            now.velocity_m_s[0] - boat.velocity_m_s[0], abs=1e-5
        )
        assert now.speed_m_s == pytest.approx(math.hypot(*now.velocity_m_s))
