"""A season's truth by moordyn 2.7.2: other mechanics (lumped masses in time) and drag by Cn 1.2 throughout.

moordyn has no diver; a ball on a cable and copper it can tow. The water is still: what a day's currents do is the
other truths' matter. Every length is towed once through all speeds, and depths between them are read off a spline.
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import RectBivariateSpline

from sternwatch.answers.belief.observations import Observation, depth_at, flow_past
from sternwatch.answers.belief.priors import varied_rigs
from sternwatch.answers.chains.arrays import Rig, RodNow, water_of
from sternwatch.gear.spread_file.models import Spread
from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line

Floats = NDArray[np.float64]

CN = 1.2
SPEEDS = (0.7, 0.9, 1.1, 1.3, 1.5)  # m/s
LENGTHS = (0.6, 0.8, 1.05, 1.35)  # of the filed line out
FIRST_S, NEXT_S, COUPLING_S = 480.0, 180.0, 0.1  # half as long leaves copper 0.6 m too deep when slow
SEGMENT_M, FEWEST = 7.0, 3
SOFTEST_N = 20000.0  # under 70 N of pull 0.4 %; stiffer lines take shorter steps
DENSITY, GRAVITY = 1000.0, 9.80665


def _pairs(chain: Chain) -> list[tuple[Line, Body | None]]:
    """Every length of line, and what hangs at its end."""
    behind = [*chain.items[1:], None]
    return [
        (item, after if isinstance(after, Body) else None)
        for item, after in zip(chain.items, behind, strict=True) if isinstance(item, Line)
    ]  # fmt: skip


def _input(chain: Chain) -> str:
    """The chain as moordyn reads it: it hangs straight down at first."""
    pairs = _pairs(chain)
    assert all(body is None or body.kind == BodyKind.BLUFF for _, body in pairs)
    top = -chain.tip_m[2]
    kinds, points, laid, down = [], [f"1 Coupled 0 0 {top:.4f} 0 0 0 0"], [], -top
    for number, (line, at_end) in enumerate(pairs, 1):
        body = at_end or Body(BodyKind.BLUFF)
        down += line.length_m
        section = 0.25 * np.pi * line.diameter_m**2
        mass = line.wet_weight_N_m / GRAVITY + DENSITY * section
        pull = min(line.stiffness_N, SOFTEST_N)
        kinds.append(
            f"l{number} {line.diameter_m:.6e} {mass:.6e} {pull:.6e} -0.8 0 {CN} 1.0 {line.tangential_drag} 0.0"
        )
        volume = (body.mass_kg - body.wet_weight_N / GRAVITY) / DENSITY
        held = f"{body.mass_kg:.6e} {volume:.6e} {body.drag_area_m2:.6e} 0.5"
        points.append(f"{number + 1} Free 0 0 {-down:.4f} {held}")
        segments = max(FEWEST, round(line.length_m / SEGMENT_M))
        laid.append(f"{number} l{number} {number} {number + 1} {line.length_m:.4f} {segments} -")
    rule = "-" * 12
    options = ["0 writeLog", "0.1 CFL", "RK4 tScheme", f"{DENSITY} WtrDnsty", f"{GRAVITY} g", "500 WtrDpth",
               "0.5 dtIC", "5 TmaxIC", "1e-2 threshIC", "0 ICgenDynamic", "1 disableOutput",
               "1 disableOutTime"]  # fmt: skip
    return "\n".join([
        rule, "a season's truth", f"{rule} LINE TYPES", "TypeName Diam Mass/m EA BA/-zeta EI Cd Ca CdAx CaAx",
        "(name) (m) (kg/m) (N) (N-s/-) (N-m^2) (-) (-) (-) (-)", *kinds, f"{rule} POINTS",
        "ID Attachment X Y Z Mass Volume CdA Ca", "(#) (-) (m) (m) (m) (kg) (m^3) (m^2) (-)", *points,
        f"{rule} LINES",
        "ID LineType AttachA AttachB UnstrLen NumSegs LineOutputs", "(#) (name) (#) (#) (m) (-) (-)", *laid,
        f"{rule} OPTIONS", *options, rule, "",
    ])  # fmt: skip


def towed(chain: Chain) -> Floats:
    """(speeds, bodies): depths below the surface, once the chain lies as it does at each of ``SPEEDS``."""
    import moordyn  # a test dependency; slow to load

    top, pairs = -chain.tip_m[2], _pairs(chain)
    ends = [at for at, (_, body) in enumerate(pairs, 2) if body is not None]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "chain.txt"
        path.write_text(_input(chain))
        system = moordyn.Create(str(path))
        moordyn.SetVerbosity(system, moordyn.LEVEL_ERR)
        moordyn.Init(system, [0.0, 0.0, top], [0.0, 0.0, 0.0])
        time = along = speed = 0.0
        out = []
        for wanted in SPEEDS:
            until = time + (NEXT_S if out else FIRST_S)
            while time < until:
                speed = min(wanted, speed + 0.1 * COUPLING_S)
                along += speed * COUPLING_S
                moordyn.Step(system, [along, 0.0, top], [speed, 0.0, 0.0], time, COUPLING_S)
                time += COUPLING_S
            out.append([-moordyn.GetPointPos(moordyn.GetPoint(system, at))[2] for at in ends])
        moordyn.Close(system)
    return np.array(out)


class Towed:
    """Depths of one world: rods as they were drawn for it, each towed when first asked for."""

    def __init__(self, spread: Spread, values: Mapping[str, float]) -> None:
        self._spread, self._values = spread, values
        self._known: dict[str, list[RectBivariateSpline]] = {}

    def __call__(self, one: Observation, values: Mapping[str, float]) -> float:
        """Where the piece of tackle is that an observation names; ``values``: of the day."""
        rig = self._rig(one.rod, one.now, values)
        if one.rod not in self._known:
            filed = self._spread.rod_by_key(one.rod)
            assert filed is not None
            assert filed.line_out_m is not None
            rigs = [self._rig(one.rod, RodNow(filed.line_out_m * share), self._values) for share in LENGTHS]
            depths = np.array([towed(own.chain) for own in rigs])
            lengths = [_first(own.chain) for own in rigs]
            self._known[one.rod] = [
                RectBivariateSpline(lengths, SPEEDS, depths[:, :, at]) for at in range(depths.shape[2])
            ]
        speed, _ = flow_past(self._spread, one, values)
        found = np.array([float(known(_first(rig.chain), speed)[0, 0]) for known in self._known[one.rod]])
        return depth_at(found, rig.kinds, one.at, float(found[-1]))

    def _rig(self, key: str, now: RodNow, values: Mapping[str, float]) -> Rig:
        rod = self._spread.rod_by_key(key)
        assert rod is not None
        return varied_rigs(self._spread, [rod], {key: now}, water_of(self._spread), values)[key]


def _first(chain: Chain) -> float:
    first = chain.items[0]
    assert isinstance(first, Line)
    return first.length_m
