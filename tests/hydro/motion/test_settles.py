"""The motion, long after its last change, against the steady solver: another method, written separately.

The steady solver follows the continuum; twelve straight segments cut its curves, so the two differ by a few
centimetres, and by a sixteenth of that with four times as many.
"""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest

from sternwatch.hydro.chain.cutting import advised_segments
from sternwatch.hydro.chain.model import Body, BodyKind, Chain
from sternwatch.hydro.chain.rows import STILL, Flow, pack
from sternwatch.hydro.motion.fleet import run, settle, to_earth
from sternwatch.hydro.motion.report import report
from sternwatch.hydro.steady.solver import solve
from sternwatch.hydro.steady.turning import solve_turn
from sternwatch.water.properties import fresh_water

LAKE = fresh_water(8.0)
TIP = (-0.3, 2.0, -1.5)
PLUG = Body(BodyKind.LIPPED, 0.03, -0.03, 0.02, 0.0015, lift_area_m2=0.002)
WEIGHT = Body(BodyKind.BLUFF, 0.17, 1.5, 0.02, 0.0006)
SPOON = Body(BodyKind.BLUFF, 0.02, 0.15, 0.01, 0.0008)
SHEAR = ((0.0, 10.0, 30.0), ((0.0, 0.0), (0.05, 0.10), (0.20, -0.15)))
RIGS = ("diver", "high diver", "downrigger", "lead-core", "lead-core behind a board", "reference")
FLAT = ("lipped plug", "in-line weight", "clipped to a cable", "line that floats")


def chain(name: str, rigs: SimpleNamespace) -> Chain:
    made: dict[str, Chain] = {
        "diver": rigs.diver(1.0),
        "high diver": rigs.diver(-1.0, roll_deg=45.0, out=60.0),
        "downrigger": rigs.downrigger(1.0),
        "lead-core": rigs.lead_core(1.0, board=False),
        "lead-core behind a board": rigs.lead_core(-1.0),
        "reference": rigs.reference(),
        "lipped plug": Chain(TIP, (rigs.nylon(40.0), PLUG)),
        "in-line weight": Chain(TIP, (rigs.nylon(40.0), WEIGHT, rigs.nylon(2.0), SPOON)),
        "clipped to a cable": Chain((-5.0, 1.0, 18.0), (rigs.nylon(5.0), SPOON)),
        "line that floats": Chain(TIP, (rigs.line(50.0, 0.3e-3, 800.0, 2000.0), SPOON)),
    }
    return made[name]


@pytest.mark.parametrize("segments", [12, 48])
@pytest.mark.parametrize("name", [*RIGS, *FLAT])
def test_straight(name: str, segments: int, rigs: SimpleNamespace) -> None:
    own = chain(name, rigs)
    steady = solve(own, 1.1, water=LAKE)
    segments = max(segments, advised_segments(own, LAKE.density_kg_m3))  # the fewest that the watch gives it
    rows = pack([own], segments=segments, density_kg_m3=LAKE.density_kg_m3, viscosity_m2_s=LAKE.viscosity_m2_s)
    state = settle(rows, 0.0, 1.1)
    limit = 0.004 if segments == 48 else 0.05 if name in FLAT else 0.03
    assert state.position_m[0, -1] == pytest.approx([-steady.astern_m, steady.abeam_m, steady.depth_m], abs=limit)
    said = report(rows, state)
    assert said.tip_tension_N == pytest.approx(
        steady.tip_tension_N, rel=3e-3 if name in FLAT and segments == 12 else 3e-4
    )
    assert math.degrees(said.entry_angle_rad) == pytest.approx(
        steady.entry_angle_deg, abs=0.2 if segments == 12 else 0.05
    )
    assert said.lure_flow_m_s == pytest.approx(steady.body_flow_m_s[-1], rel=1e-4)


@pytest.mark.parametrize("name", RIGS)
def test_in_a_current_that_turns_with_depth(name: str, rigs: SimpleNamespace) -> None:
    """The rod line of a downrigger is reckoned in one even flow: 0.16 m of abeam in this strong shear."""
    own = chain(name, rigs)
    steady = solve(own, 1.1, water=LAKE, current=SHEAR)
    flow = Flow(np.array(SHEAR[0]), np.array(SHEAR[1]))
    rows = pack([own], segments=48, density_kg_m3=LAKE.density_kg_m3, viscosity_m2_s=LAKE.viscosity_m2_s)
    end = settle(rows, 0.0, 1.1, flow).position_m[0, -1]
    limit = 0.16 if name == "downrigger" else 0.006
    assert end == pytest.approx([-steady.astern_m, steady.abeam_m, steady.depth_m], abs=limit)
    still = settle(rows, 0.0, 1.1, STILL).position_m[0, -1]
    assert np.abs(end - still).max() > 0.2  # that the current mattered


@pytest.mark.parametrize("radius", [pytest.param(60.0, marks=pytest.mark.campaign), 25.0])
@pytest.mark.parametrize("name", ["diver", "lead-core", "reference"])
def test_in_a_steady_turn(name: str, radius: float, rigs: SimpleNamespace) -> None:
    """Led round at 1.0 m/s until it is steady, to starboard; in the boat's axes."""
    own = chain(name, rigs)
    steady = solve_turn(own, 1.0, radius, "starboard", water=LAKE)
    if not steady.ok:
        pytest.skip(f"no steady turn to compare with: {steady.why}")
    segments = 64  # a fine cut: a slack leader takes its share of them from the heavy line
    rows = pack([own], segments=segments, density_kg_m3=LAKE.density_kg_m3, viscosity_m2_s=LAKE.viscosity_m2_s)
    # A quarter of a second: at 1 s the rotation itself, 0.04 rad a step, would cost 5 cm.
    steps = 12000
    angle = 0.25 * np.arange(1, steps + 1) / radius
    transom = radius * np.stack([np.sin(angle), 1.0 - np.cos(angle), 0.0 * angle], axis=-1)
    tips = np.array([t + to_earth(rows.tip_m, np.array([a]))[0] for t, a in zip(transom, angle, strict=True)])
    track = run(rows, settle(rows, 0.0, 1.0), tips[:, None], np.full(steps, 0.25), out_every=steps)
    end = to_earth(track.positions_m[-1, 0, -1] - transom[-1], -angle[-1])
    assert end == pytest.approx([-steady.astern_m, steady.abeam_m, steady.depth_m], abs=0.02)
