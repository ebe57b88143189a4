"""What the tests of motion share: rigs made by hand, and the reference tow in moordyn."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType, SimpleNamespace

import numpy as np
import pytest

from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line, RodLine
from sternwatch.hydro.chain.rows import Rows, pack

G = 9.80665
RHO = 1000.0
NU = 1.3e-6


def line(length: float, diameter: float, density: float, stiffness: float, **more: float) -> Line:
    area = 0.25 * np.pi * diameter**2
    return Line(length, diameter, density * area, (density - RHO) * area * G, stiffness, **more)


def steel(length: float, diameter: float = 0.38e-3) -> Line:
    return line(length, diameter, 8000.0, 193e9 * 0.25 * np.pi * diameter**2)


def nylon(length: float) -> Line:
    return line(length, 0.45e-3, 1140.0, 400.0)


def reference(*, ball: bool = True) -> Chain:
    """Steel wire 60 m x 0.5 mm (7930 kg/m3, 193 GPa), Cn 1.2, Ct 0.02; a lead ball of 4.5 kg, Cd 0.47; tip at 0."""
    area = 0.25 * np.pi * 0.5e-3**2
    wire = line(60.0, 0.5e-3, 7930.0, 193e9 * area, normal_drag=1.2, tangential_drag=0.02)
    volume = 4.5 / 11340.0
    frontal = np.pi * (0.75 * volume / np.pi) ** (2.0 / 3.0)
    end = Body(BodyKind.BLUFF, 4.5, (4.5 - RHO * volume) * G, 0.5 * RHO * volume, 0.47 * frontal)
    return Chain((0.0, 0.0, 0.0), (wire, end) if ball else (wire,))


def diver(side: float, *, roll_deg: float = 22.5, out: float = 55.0, weight: float = 0.5) -> Chain:
    disc = Body(
        BodyKind.DIVER, 0.12, weight, 0.2, plate_area_m2=0.0113, trim_rad=np.radians(35.0),
        roll_rad=side * np.radians(roll_deg),
    )  # fmt: skip
    paddle = Body(BodyKind.BLUFF, 0.1, 0.1, 0.1, drag_area_m2=0.005)
    fly = Body(BodyKind.BLUFF, 0.005, 0.02, 0.002, drag_area_m2=0.0003)
    return Chain((-0.3, 2.1 * side, -1.5), (steel(out), disc, nylon(2.4), paddle, nylon(0.56), fly))


def downrigger(side: float, *, rod_line: bool = True) -> Chain:
    rod = RodLine((-0.3, 2.5 * side, -1.5)) if rod_line else None
    ball = Body(BodyKind.BLUFF, 4.5, 4.5 * (1.0 - 1.0 / 11.34) * G, 0.2, 3.07e-3, rod_line=rod)
    spoon = Body(BodyKind.BLUFF, 0.02, 0.15, 0.01, drag_area_m2=0.0008)
    return Chain((-0.3, 1.5 * side, -1.0), (steel(26.0), ball, nylon(6.0), spoon))


def lead_core(side: float, *, board: bool = True) -> Chain:
    planer = Body(BodyKind.BOARD, 0.3, 0.0, 0.2, 0.008, lift_area_m2=0.016, side=side, buoyancy_N=3.0)
    area = 0.25 * np.pi * 0.85e-3**2
    core = Line(64.0, 0.85e-3, 2.5e-3, (2.5e-3 - RHO * area) * G, 2000.0)
    spoon = Body(BodyKind.BLUFF, 0.02, 0.15, 0.01, drag_area_m2=0.0008)
    front = (nylon(30.0), planer) if board else (nylon(30.0),)
    return Chain((-0.3, 3.0 * side, -1.5), (*front, core, nylon(8.0), spoon))


def packed(*chains: Chain, segments: int = 12) -> Rows:
    return pack(chains, segments=segments, density_kg_m3=RHO, viscosity_m2_s=NU)


@pytest.fixture(scope="session")
def rigs() -> SimpleNamespace:
    return SimpleNamespace(
        line=line, steel=steel, nylon=nylon, reference=reference, diver=diver, downrigger=downrigger,
        lead_core=lead_core, packed=packed, density_kg_m3=RHO, viscosity_m2_s=NU,
    )  # fmt: skip


@pytest.fixture(scope="session")
def towing() -> ModuleType:
    """``moordyn_tow``: the reference tow in moordyn, and courses to tow along."""
    name = "moordyn_tow"
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name("moordyn_tow.py"))
        assert spec is not None
        assert spec.loader is not None
        sys.modules[name] = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(sys.modules[name])
    return sys.modules[name]
