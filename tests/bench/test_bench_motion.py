"""Chain-seconds per second of the transient kernel, beside moordyn 2.7.2 on the same chain in the same run.

Reference tow (60 m of steel wire, ball of 4.5 kg), one process, one core. ``pytest tests/bench/test_bench_motion.py
-m bench -n 0 -p benchmark -s`` prints the figures.
"""

from __future__ import annotations

import importlib.util
import math
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line, RodLine
from sternwatch.hydro.chain.rows import Rows, pack
from sternwatch.hydro.motion.fleet import run, settle, start
from sternwatch.hydro.motion.newton import Effort

pytestmark = pytest.mark.bench
pytest.importorskip("moordyn", reason="moordyn is a test dependency; pip install '.[test]'")

SEGMENTS = 12
SECONDS = 150
PEER_SECONDS = 60.0

# Rigs as from memory.
STEEL = Line(55.0, 0.38e-3, 9.1e-4, 7.8e-3, 21900.0)
NYLON = Line(6.0, 0.45e-3, 1.8e-4, 2e-4, 64.0)
CORE = Line(64.0, 0.85e-3, 2.5e-3, 0.019, 2000.0)
LURE = Body(BodyKind.BLUFF, 0.02, 0.15, 0.01, drag_area_m2=0.0008)
BOARD = Body(BodyKind.BOARD, 0.3, 0.0, 0.2, 0.008, lift_area_m2=0.016, side=1.0, buoyancy_N=3.0)
DISC = Body(
    BodyKind.DIVER, 0.12, 0.5, 0.2, plate_area_m2=0.0113, trim_rad=math.radians(35.0), roll_rad=math.radians(22.5)
)
HUNG = Body(BodyKind.BLUFF, 4.5, 40.24, 0.2, 3.07e-3, rod_line=RodLine((0.0, 0.0, -1.5)))


def _helper() -> ModuleType:
    path = Path(__file__).parents[1] / "hydro" / "moordyn_tow.py"
    spec = importlib.util.spec_from_file_location("moordyn_tow", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


tow = _helper()
COURSES = {"straight": tow.speeds((0.0, 1.0)), "hard turn": tow.turn(20.0, 1.0)}


def packed(count: int, segments: int) -> Rows:
    area = 0.25 * math.pi * 0.5e-3**2
    wire = Line(60.0, 0.5e-3, 7930.0 * area, 6930.0 * area * 9.80665, 193e9 * area, 1.2, tangential_drag=0.02)
    volume = 4.5 / 11340.0
    drag = 0.47 * math.pi * (0.75 * volume / math.pi) ** (2.0 / 3.0)
    ball = Body(BodyKind.BLUFF, 4.5, (4.5 - 1000.0 * volume) * 9.80665, 500.0 * volume, drag)
    return pack(
        [Chain((0.0, 0.0, 0.0), (wire, ball))] * count, segments=segments, density_kg_m3=1000.0, viscosity_m2_s=1.3e-6
    )


def settled_tow(folder: Path, segments: int) -> Any:
    peer = tow.Tow(folder, segments=segments, ball=True)
    peer.settle(1.0, 200.0)
    return peer


def led(peer: Any, name: str, seconds: float) -> np.ndarray:
    """moordyn along a course from where it has settled; its ``seconds_spent`` is that of this course alone."""
    origin = peer.origin_m
    peer.seconds_spent = 0.0
    course = COURSES[name]
    nodes: np.ndarray = peer.run(lambda t: (course(t)[0] + origin, course(t)[1]), seconds) - origin
    return nodes


@pytest.fixture(scope="module")
def peer_rates(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, float]]:
    peer = settled_tow(tmp_path_factory.mktemp("moordyn"), SEGMENTS)
    kept = peer.keep()
    rates = dict.fromkeys(COURSES, 0.0)
    for name in [*COURSES] * 2:
        peer.restore(kept)
        led(peer, name, PEER_SECONDS)
        rates[name] = max(rates[name], PEER_SECONDS / peer.seconds_spent)
    yield rates
    peer.close()


@pytest.mark.parametrize("name", COURSES)
@pytest.mark.parametrize("count", [1, 8, 64])
def test_chain_seconds_per_second(count: int, name: str, peer_rates: dict[str, float], benchmark: Any) -> None:
    rows = packed(count, SEGMENTS)
    state = settle(rows, 0.0, 1.0)
    tips = np.repeat(tow.tips(COURSES[name], 1.0, SECONDS), count, axis=1)
    dt = np.ones(SECONDS)
    track = benchmark(run, rows, state, tips, dt)
    assert not track.status.any()
    rate = count * SECONDS / benchmark.stats.stats.min
    its = peer_rates[name]
    benchmark.extra_info.update(rate=round(rate), moordyn=round(its), ratio=round(rate / its))
    print(
        f"\n{count} x {name}: {rate:,.0f} chain-s/s ({track.iterations / count / SECONDS:.2f} rounds a step);"
        f" moordyn {its:.0f}; ratio {rate / its:,.0f}"
    )
    assert rate > its


def test_at_equal_accuracy(tmp_path: Path) -> None:
    """The cheapest of each within 1 % of a fine solution: the hard turn, every segment taut.

    Depth within 1 % of its excursion in the manoeuvre and place within 1 % of the distance from the tip, at every
    second. The fine solution is this kernel's with 96 segments and 0.05 s; moordyn's own converges to it. A rod's
    members are stepped side by side, and each ends where it does alone.
    """
    course = COURSES["hard turn"]

    def ours(segments: int, dt: float, effort: Effort | None = None, *, count: int = 1) -> tuple[np.ndarray, float]:
        rows = packed(count, segments)
        settled = settle(rows, 0.0, 1.0)
        state = start(rows, settled.position_m, np.array([1.0, 0.0, 0.0]), step_s=dt)
        state.tension_N[:] = settled.tension_N
        tips = np.repeat(tow.tips(course, dt, round(SECONDS / dt)), count, axis=1)
        steps = np.full(len(tips), dt)
        more = {} if effort is None else {"effort": effort}
        track = run(rows, state, tips, steps, out_every=max(1, round(1.0 / dt)), **more)  # type: ignore[arg-type]
        assert track.tensions_N.min() > 1.0  # taut
        took = []
        for _ in range(1 if effort else 30):
            begun = time.perf_counter()
            run(rows, state, tips, steps, out_every=len(tips), **more)  # type: ignore[arg-type]
            took.append(time.perf_counter() - begun)
        ends = track.positions_m[:, :, -1]
        assert (ends == ends[:, :1]).all()
        return ends[:, 0], count * SECONDS / min(took)

    best, _rate = ours(96, 0.05, Effort(30, 1e-8))
    reach = np.linalg.norm(best - tow.tips(course, 1.0, SECONDS)[:, 0], axis=1)

    def error(end: np.ndarray) -> float:
        depth = np.abs(end[:, 2] - best[:, 2]).max() / np.ptp(best[:, 2])
        return float(max(depth, (np.linalg.norm(end - best, axis=1) / reach).max()))

    mine: dict[float, tuple[int, float, float]] = {}
    for segments in (4, 6, 8, 10, 12):
        for dt in (0.5, 1.0):
            end, rate = ours(segments, dt)
            if error(end) < 0.01:
                mine[rate] = segments, dt, error(end)
    theirs = {}
    for segments in (6, 8, 10):
        peer = settled_tow(tmp_path, segments)
        end = led(peer, "hard turn", float(SECONDS))[1:, -1]
        if error(end) < 0.01:
            theirs[SECONDS / peer.seconds_spent] = f"{segments} segments, off by {error(end):.2%}"
        peer.close()
    assert mine
    assert theirs
    fast, slow = max(mine), max(theirs)
    segments, dt, off = mine[fast]
    print(f"\nwithin 1 % of fine: {segments} segments, {dt} s, off by {off:.2%}; moordyn {slow:.0f} ({theirs[slow]})")
    print(f"1 chain: {fast:,.0f} chain-s/s, ratio {fast / slow:,.0f}")
    assert fast > slow
    for count in (4, 16, 48, 144):
        end, rate = ours(segments, dt, count=count)
        assert error(end) == off
        print(f"{count} chains side by side: {rate:,.0f} chain-s/s, ratio {rate / slow:,.0f}")
        assert rate > fast


RIGS = {
    "diver": Chain((0.0, 2.1, -1.5), (STEEL, DISC, NYLON, LURE)),
    "downrigger": Chain((0.0, 1.5, -1.0), (STEEL, HUNG, NYLON, LURE)),
    "8 colours": Chain((0.0, 3.0, -1.5), (NYLON, CORE, NYLON, LURE)),
    "board": Chain((0.0, 3.0, -1.5), (NYLON, BOARD, CORE, NYLON, LURE)),
}


@pytest.mark.parametrize("segments", [12, 28])
@pytest.mark.parametrize("name", RIGS)
def test_members_side_by_side(name: str, segments: int) -> None:
    """48 members of a rod in the hard turn: all in one call, beside each in a call of its own."""
    chain = RIGS[name]
    members = [
        Chain(chain.tip_m, tuple(replace(i, drag_factor=f) if isinstance(i, Line) else i for i in chain.items))
        for f in np.linspace(0.8, 1.25, 48)
    ]
    rows = pack(members, segments=segments, density_kg_m3=1000.0, viscosity_m2_s=1.3e-6)
    state, dt = settle(rows, 0.0, 1.0), np.ones(SECONDS)
    tips = tow.tips(COURSES["hard turn"], 1.0, SECONDS) + rows.tip_m
    alone = [(rows.take([i]), state.take([i]), np.ascontiguousarray(tips[:, i : i + 1])) for i in range(len(rows))]
    took = [math.inf, math.inf]
    for _ in range(7):
        begun = time.process_time()
        together = run(rows, state, tips, dt, rod_line_tips_m=tips)
        took[0] = min(took[0], time.process_time() - begun)
        begun = time.process_time()
        apart = [run(*one, dt, rod_line_tips_m=one[2]) for one in alone]
        took[1] = min(took[1], time.process_time() - begun)
    assert together.iterations == sum(track.iterations for track in apart)
    each, side = (len(rows) * SECONDS / seconds for seconds in reversed(took))
    rates = f"{side:,.0f} chain-s/s side by side, {each:,.0f} alone; {side / each:.1f}"
    print(f"\n{name}, {rows.nodes - 1} segments: {rates}")
    assert side > 1.5 * each


def _nanoseconds(chain: Chain) -> tuple[float, float]:
    """Of a step without its iterations, and of one that factors the matrix: from a course run to two tolerances.

    One iteration does for a metre. To a tenth of a micrometre hardly any is made with the factors of the last one.
    """
    rows = pack([chain], segments=SEGMENTS, density_kg_m3=1000.0, viscosity_m2_s=1.3e-6)
    state = settle(rows, 0.0, 1.0)
    tips = tow.tips(COURSES["hard turn"], 1.0, SECONDS) + rows.tip_m
    dt = np.ones(SECONDS)
    efforts = (Effort(25, 1.0), Effort(25, 1e-7))
    rounds = [run(rows, state, tips, dt, rod_line_tips_m=tips, effort=e).iterations / SECONDS for e in efforts]
    took = [math.inf, math.inf]
    for _ in range(1500):
        for i, effort in enumerate(efforts):
            begun = time.perf_counter()
            run(rows, state, tips, dt, rod_line_tips_m=tips, effort=effort, out_every=SECONDS)
            took[i] = min(took[i], (time.perf_counter() - begun) * 1e9 / SECONDS)
    iteration = (took[1] - took[0]) / (rounds[1] - rounds[0])
    return took[0] - rounds[0] * iteration, iteration


def test_where_the_time_goes() -> None:
    """By leaving parts out: the drag law (Cn given), the bodies (a bare line), the rod line."""
    given = replace(STEEL, normal_drag=1.2)
    ball = Body(BodyKind.BLUFF, 4.5, 40.24, 0.2, 3.07e-3)
    tip = (0.0, 0.0, -1.5)
    cases = {
        "bare, Cn given": Chain(tip, (given,)),
        "bare, Cn by Reynolds number": Chain(tip, (STEEL,)),
        "with a diver at its end": Chain(tip, (STEEL, DISC)),
        "with a ball at its end": Chain(tip, (STEEL, ball)),
        "with a ball and rod line": Chain(tip, (STEEL, HUNG)),
    }
    print()
    for name, chain in cases.items():
        step_ns, iteration_ns = _nanoseconds(chain)
        print(f"{name:30s} {step_ns:6.0f} ns a step + {iteration_ns:6.0f} ns an iteration of {SEGMENTS} segments")
        assert iteration_ns > 0.0
