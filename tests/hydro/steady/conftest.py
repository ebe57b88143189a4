"""Rigs of every kind, by name: chains with the speed through water at which they are tried."""

from __future__ import annotations

import math

import pytest

from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line
from sternwatch.water.properties import Water, fresh_water

G = 9.80665
LAKE = fresh_water(8.0)


def line(length: float, diameter: float, density: float, modulus: float, **more: float) -> Line:
    area = 0.25 * math.pi * diameter**2
    return Line(length, diameter, density * area, (density - LAKE.density_kg_m3) * G * area, modulus * area, **more)


def weighted(length: float, diameter: float, mass: float, stiffness: float) -> Line:
    area = 0.25 * math.pi * diameter**2
    return Line(length, diameter, mass, (mass - LAKE.density_kg_m3 * area) * G, stiffness)


def ball(mass: float) -> Body:
    volume = mass / 11340.0
    area = 0.25 * math.pi * (6.0 * volume / math.pi) ** (2.0 / 3.0)
    return Body(BodyKind.BLUFF, mass, (mass - 1000.0 * volume) * G, 500.0 * volume, 0.47 * area)


def wire(length: float) -> Line:
    return line(length, 0.38e-3, 7900.0, 193e9, drag_factor=1.2)


def leader(length: float) -> Line:
    return line(length, 0.55e-3, 1780.0, 2.5e9)


def disc(roll_deg: float, area: float = 0.0113) -> Body:
    return Body(
        BodyKind.DIVER,
        0.2,
        0.5,
        0.3,
        plate_area_m2=area,
        trim_rad=math.radians(35.0),
        roll_rad=math.radians(roll_deg),
    )


PADDLE = Body(BodyKind.BLUFF, 0.05, 0.1, 0.05, drag_area_m2=0.005)
FLY = Body(BodyKind.BLUFF, 0.005, 0.01, 0.002, drag_area_m2=0.0003)
SPOON = Body(BodyKind.BLUFF, 0.02, 0.15, 0.01, drag_area_m2=0.0008)
PLUG = Body(BodyKind.LIPPED, 0.02, -0.02, 0.02, drag_area_m2=0.0015, lift_area_m2=0.002)
BOARD = Body(BodyKind.BOARD, 0.4, 0.0, 0.2, 0.008, lift_area_m2=0.016, side=1.0, buoyancy_N=3.0)

TIP = (-0.3, 2.1, -1.5)
RIGS: dict[str, tuple[Chain, float]] = {
    "diver straight": (Chain(TIP, (wire(55.0), disc(0.0), leader(2.4), PADDLE, leader(0.6), FLY)), 1.03),
    "diver wide": (Chain(TIP, (wire(75.0), disc(45.0, 0.0158), leader(2.4), SPOON)), 1.2),
    "diver on braid": (
        Chain(TIP, (line(60.0, 0.40e-3, 920.0, 40e9, normal_drag=1.5), disc(-22.5), leader(2.0), PADDLE)),
        1.1,
    ),
    "ball": (Chain(TIP, (line(30.0, 1.0e-3, 7900.0, 60e9), ball(5.4), line(8.0, 0.45e-3, 1140.0, 2e9), SPOON)), 1.2),
    "lead-core": (
        Chain(TIP, (line(40.0, 0.4e-3, 960.0, 60e9), weighted(82.0, 0.85e-3, 2.5e-3, 4e3), leader(6.0), SPOON)),
        0.9,
    ),
    "copper": (Chain(TIP, (weighted(60.0, 0.94e-3, 4.8e-3, 3e4), leader(8.0), SPOON)), 1.03),
    "in-line weight": (
        Chain(TIP, (line(45.0, 0.45e-3, 1140.0, 2e9), ball(0.34), leader(3.0), PADDLE, leader(0.6), FLY)),
        1.0,
    ),
    "board with lead-core": (
        Chain(
            TIP, (line(25.0, 0.5e-3, 1140.0, 2e9), BOARD, weighted(27.4, 0.85e-3, 2.5e-3, 4e3), leader(4.0), SPOON)
        ),
        0.9,
    ),
    "flat line with a lipped plug": (Chain(TIP, (line(35.0, 0.40e-3, 1140.0, 2e9), PLUG)), 1.3),
    "wire alone": (Chain(TIP, (wire(40.0),)), 1.2),
    "bare spoon": (Chain(TIP, (line(30.0, 0.35e-3, 1780.0, 2.5e9), SPOON)), 0.7),
}


@pytest.fixture(scope="session")
def lake() -> Water:
    """Fresh water at 8 degrees C."""
    return LAKE


@pytest.fixture(params=RIGS, ids=str)
def rig(request: pytest.FixtureRequest) -> tuple[Chain, float]:
    """Each rig in turn."""
    return RIGS[request.param]


@pytest.fixture(scope="session")
def rigs() -> dict[str, tuple[Chain, float]]:
    """All rigs by name."""
    return RIGS
