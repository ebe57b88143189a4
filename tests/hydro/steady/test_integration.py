"""The steady solver's steps: their tableau against scipy's, what a metre of line is given, and how few steps do."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
from scipy.integrate import RK45
from scipy.interpolate import CubicHermiteSpline

from hydro.uncompiled import use_plain
from sternwatch.hydro.chain import coefficients, rod_line
from sternwatch.hydro.chain import forces as fo
from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line, RodLine
from sternwatch.hydro.steady import kernel, roots, table
from sternwatch.hydro.steady.rows import currents_of, pack
from sternwatch.water.properties import Water

WATER = Water(1000.0, 1.3e-6)
WIRE = Line(30.0, 0.8e-3, 4.5e-3, 0.04, 9e4, normal_drag=1.1, tangential_drag=0.02)
LURE = Body(BodyKind.BLUFF, 0.02, 0.15, 0.01, drag_area_m2=0.0008)
BALL = Body(BodyKind.BLUFF, 4.5, 40.0, 0.2, 3.1e-3)
CURRENT = ([2.0, 6.0, 10.0], [(0.1, 0.0), (0.3, -0.2), (0.0, 0.4)])


@pytest.fixture(autouse=True)
def uncompiled(monkeypatch: pytest.MonkeyPatch) -> None:
    """Everything as Python, so that nothing is compiled for this file alone."""
    for module in (coefficients, fo, rod_line, kernel, roots, table):
        use_plain(monkeypatch, module)


# -- one step ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("scale_m", [3.0, 1e-6, 1e6])
def test_a_step_is_scipys_of_the_same_pair(monkeypatch: pytest.MonkeyPatch, scale_m: float) -> None:
    """Dormand and Prince's pair 5(4) on equations that are not linear; both codes of the tableau are independent."""
    mixing = np.random.default_rng(3).normal(size=(6, 6))

    def slopes(_line: Any, _stiff: Any, _rig: Any, _env: Any, s: np.ndarray, out: np.ndarray) -> None:
        out[:] = mixing @ np.sin(s) + 0.3 * s * s

    monkeypatch.setattr(kernel, "slopes", slopes)
    start, h = np.array([0.3, -0.2, 0.5, 1.2, -0.7, 0.4]), 0.05

    def right(s: np.ndarray) -> np.ndarray:
        out = np.empty(6)
        slopes(None, None, None, None, s, out)
        return out

    stages = np.zeros((7, 6))
    stages[0] = right(start)
    for i in range(1, 6):
        stages[i] = right(start + h * RK45.A[i, :i] @ stages[:i])
    end = start + h * RK45.B @ stages[:6]
    stages[6] = right(end)
    error = h * RK45.E @ stages
    k, new = np.zeros((7, 6)), np.empty(6)
    k[0] = right(start)
    found = kernel.dormand_prince(None, 1.0, None, None, start, h, k, new, scale_m)  # type: ignore[arg-type]
    assert new == pytest.approx(end, rel=1e-13)
    assert k == pytest.approx(stages, rel=1e-11)
    pull = np.linalg.norm(end[3:]) + 1e-6
    assert found == pytest.approx(
        max(np.linalg.norm(error[:3]) / scale_m, np.linalg.norm(error[3:]) / pull), rel=1e-6
    )


@pytest.mark.parametrize("share", [0.0, 0.25, 0.6, 1.0])
def test_between_two_steps_it_is_hermites_cubic(share: float) -> None:
    rng = np.random.default_rng(5)
    s, new, k, place = rng.normal(size=6), rng.normal(size=6), rng.normal(size=(7, 6)), np.empty(3)
    pull = kernel.between(s, new, k, 1.7, share, place)
    wanted = CubicHermiteSpline([0.0, 1.7], np.stack([s, new]), np.stack([k[0], k[6]]))(1.7 * share)
    assert place == pytest.approx(wanted[:3])
    assert pull == pytest.approx(np.linalg.norm(wanted[3:]))


# -- what a metre of line is given ---------------------------------------------------------------------------------


def _flow(place: np.ndarray, speed: float, omega: float) -> np.ndarray:
    """Of the water past a point that turns with the boat, written as a cross product."""
    own = np.array([speed, 0.0, 0.0]) + np.cross([0.0, 0.0, omega], place)
    depths, currents = map(np.array, CURRENT)
    water = [np.interp(place[2], depths, currents[:, j]) for j in (0, 1)]
    return np.array([*water, 0.0]) - [own[0], own[1], 0.0]


@pytest.mark.parametrize(
    "place", [(-3.0, 1.0, 1.0), (-3.0, 1.0, 2.0), (-8.0, 2.0, 4.5), (-9.0, -4.0, 9.0), (-20.0, 3.0, 10.5)]
)
@pytest.mark.parametrize("omega", [0.0, 0.05])
def test_the_flow_past_a_point_of_the_turning_frame(place: tuple[float, ...], omega: float) -> None:
    rig = pack(Chain((0.0, 0.0, 0.0), (WIRE,)), WATER, CURRENT).rig
    found = kernel.flow_at(rig, np.array([1.1, omega, 0.0, 0.0, 1.0]), *place)
    assert found == pytest.approx(tuple(_flow(np.array(place), 1.1, omega)[:2]))
    still = pack(Chain((0.0, 0.0, 0.0), (WIRE,)), WATER).rig
    assert kernel.flow_at(still, np.array([1.1, 0.0, 0.0, 0.0, 1.0]), *place) == (-1.1, 0.0)


@pytest.mark.parametrize(("z", "film", "wet", "share"), [
    (4.0, 0.0, 1.0, 1.0), (4.0, 0.0, 0.0, 0.0), (0.5, 0.1, 0.0, 1.0), (-0.05, 0.1, 1.0, 0.5), (-0.2, 0.1, 1.0, 0.0),
    (-0.025, 0.1, 1.0, 0.84375),
])  # fmt: skip
def test_a_metre_of_line_has_drag_weight_and_what_the_turn_asks_of_its_mass(
    z: float, film: float, wet: float, share: float
) -> None:
    """A line at rest in the turning frame is accelerated to the centre, at speed / omega to starboard of the boat."""
    packed = pack(Chain((0.0, 0.0, 0.0), (WIRE,)), WATER, CURRENT)
    env, place = np.array([1.1, 0.05, 0.0, film, wet]), np.array([-8.0, 2.0, z])
    t = np.array([0.6, -0.3, -0.7]) / np.linalg.norm([0.6, -0.3, -0.7])
    found = np.array(kernel.load(packed.rig.lines[0], packed.rig, env, *place, *t))
    water = _flow(place, 1.1, 0.05)
    along = (water @ t) * t
    across = water - along
    q = 0.5 * 1000.0 * 0.8e-3
    drag = q * 1.1 * np.linalg.norm(across) * across + q * math.pi * 0.02 * np.linalg.norm(along) * along
    mass = 4.5e-3 + 1000.0 * 0.25 * math.pi * 0.8e-3**2
    outward = mass * 0.05**2 * (place - [0.0, 1.1 / 0.05, 0.0]) * [1.0, 1.0, 0.0]
    weight = np.array([0.0, 0.0, share * 0.04 + (1.0 - share) * 4.5e-3 * 9.80665])
    assert found == pytest.approx(share * drag + weight + outward, rel=1e-6)


def test_line_follows_its_pull_and_stretches_by_it() -> None:
    packed = pack(Chain((0.0, 0.0, 0.0), (WIRE,)), WATER)
    env, s, out = np.array([1.1, 0.0, 0.0, 0.0, 1.0]), np.array([-8.0, 2.0, 4.0, 30.0, -10.0, -40.0]), np.empty(6)
    kernel.slopes(packed.rig.lines[0], 9e4, packed.rig, env, s, out)
    pull = np.linalg.norm(s[3:])
    assert out[:3] == pytest.approx(s[3:] / pull * (1.0 + pull / 9e4))
    assert out[3:] == pytest.approx(
        -np.array(kernel.load(packed.rig.lines[0], packed.rig, env, *s[:3], *s[3:] / pull))
    )


# -- a whole chain -------------------------------------------------------------------------------------------------


def _rig(*items: Line | Body, current: Any = None) -> Any:
    return pack(Chain((0.0, 0.0, -1.5), items), WATER, current)


def _integrated(packed: Any, env: np.ndarray, end: tuple[float, float, float], arcs: list[float]) -> Any:
    s, bodies, entry = np.array([*end, 0.0, 0.0, 0.0]), np.zeros((packed.rig.lines.shape[0], 6)), np.full(3, np.nan)
    shape, pull = np.full((len(arcs), 3), np.nan), np.full(len(arcs), np.nan)
    status = kernel.integrate(packed.rig, env, s, 1e-9, np.array(arcs), shape, pull, bodies, entry)
    assert status == kernel.SOLVED
    return s, shape, pull, bodies, entry


def test_a_body_gives_its_weight_its_drag_and_its_turn_to_the_line() -> None:
    packed = _rig(WIRE, BALL)
    env, end = np.array([1.2, 0.05, 0.0, 0.0, 1.0]), (-10.0, 2.0, 20.0)
    _, shape, pull, bodies, _ = _integrated(packed, env.copy(), end, [0.0])
    water = np.array([-1.2 + 0.05 * 2.0, 0.05 * 10.0, 0.0])
    force = 0.5 * 1000.0 * 3.1e-3 * math.sqrt(water @ water + 1e-6) * water + [0.0, 0.0, 40.0]
    force += 4.7 * 0.05**2 * (np.array(end) - [0.0, 1.2 / 0.05, 0.0]) * [1.0, 1.0, 0.0]
    assert bodies[0] == pytest.approx([*end, np.linalg.norm(water), np.linalg.norm(force), 0.0])
    assert pull[0] == pytest.approx(np.linalg.norm(force))
    assert shape[0] == pytest.approx(end)


def test_what_the_line_behind_a_body_pulls_is_told_in_a_turn_too() -> None:
    """The pull just outboard of the ball, drawn aside and down."""
    packed = _rig(WIRE, BALL, Line(6.0, 0.5e-3, 3e-4, 0.05, 900.0, normal_drag=1.2), LURE)
    env, end = np.array([1.2, 0.06, 0.0, 0.0, 1.0]), (-17.0, 5.0, 24.0)
    _, _, pull, bodies, _ = _integrated(packed, env, end, [0.0, 6.0 - 1e-9])
    assert bodies[1, 5] == pytest.approx(pull[1], rel=1e-6)
    assert bodies[0, 4] == pytest.approx(pull[0])


def test_the_rods_line_pulls_at_the_ball_by_its_share() -> None:
    tip = (0.2, 1.0, -1.2)
    ball = Body(
        BodyKind.BLUFF, 4.5, 40.0, 0.2, 3.1e-3, rod_line=RodLine(tip, pull_N=6.0, diameter_m=4e-4, normal_drag=1.1)
    )
    packed, end = _rig(WIRE, ball), (-6.0, 0.5, 20.0)
    pulls = []
    for share in (0.0, 0.5, 1.0):
        pulls.append(_integrated(packed, np.array([1.2, 0.0, share, 0.0, 1.0]), end, [0.0])[3][0, 4])
    drag = 0.5 * 1000.0 * 3.1e-3 * math.sqrt(1.2**2 + 1e-6) * 1.2
    force = np.array([-drag, 0.0, 40.0])
    out = np.empty(8)
    rod_line.rod_curve(packed.rig.link[:4], np.array(end), np.array(tip), -1.2, 0.0, 0.0, out)
    assert pulls == pytest.approx([np.linalg.norm(force + share * 6.0 * out[:3]) for share in (0.0, 0.5, 1.0)])


def test_samples_lie_on_the_shape_that_one_gets_without_them() -> None:
    packed = _rig(WIRE, BALL, Line(6.0, 0.5e-3, 3e-4, 0.0, 900.0, normal_drag=1.2), LURE)
    env, end = np.array([1.2, 0.0, 0.0, 0.0, 1.0]), (-17.0, 0.0, 24.0)
    arcs = [0.0, 1.0, 6.0, 6.0, 17.3, 36.0]
    s, shape, pull, bodies, entry = _integrated(packed, env.copy(), end, arcs)
    assert shape[0] == pytest.approx(end)
    assert shape[2] == pytest.approx(bodies[1, :3], abs=1e-9)
    assert shape[2] == pytest.approx(shape[3])
    assert shape[5] == pytest.approx(s[:3], abs=1e-9)
    assert pull[5] == pytest.approx(np.linalg.norm(s[3:]))
    assert bodies[1, 5] == pytest.approx(pull[2], rel=1e-6)
    fine = _integrated(packed, env.copy(), end, [17.3, 17.3001])
    assert np.linalg.norm(fine[1][1] - fine[1][0]) == pytest.approx(1e-4 * (1.0 + fine[2][0] / 9e4), rel=1e-3)
    assert shape[4] == pytest.approx(fine[1][0], abs=1e-6)
    assert s[2] < 0.0
    assert np.linalg.norm(entry) < np.linalg.norm(s[3:]), "what hangs in the air is added above the surface"


@pytest.mark.parametrize(("begin_m", "end_m"), [(6.0, 1.0), (-1.0, -6.0), (-1.0, 4.0), (4.0, -1.0)])
def test_in_a_film_too_it_is_told_where_a_line_leaves_the_water(begin_m: float, end_m: float) -> None:
    packed = _rig(dataclasses.replace(WIRE, length_m=5.0, stiffness_N=1e15))
    s = np.array([0.0, 0.0, begin_m, 0.0, 0.0, math.copysign(10.0, end_m - begin_m)])
    entry, film = np.full(3, np.nan), np.array([0.0, 0.0, 0.0, 0.02, 0.0])
    places, pulls = np.empty((2, 3)), np.empty(2)
    kernel.integrate(packed.rig, film, s, 1e-9, np.array([0.0, 5.0]), places, pulls, np.zeros((1, 6)), entry)
    assert s[2] == pytest.approx(end_m, abs=1e-9)
    leaves = begin_m > 0.0 > end_m
    assert abs(entry[2]) == pytest.approx(10.0 + 4.0 * 0.04 if leaves else math.nan, rel=2e-3, nan_ok=True)


@pytest.mark.parametrize(("begin_m", "end_m", "entry_N"), [(-1.0, 4.0, math.nan), (4.0, -1.0, 10.0 + 4.0 * 0.04)])
def test_line_weighs_in_air_and_in_water_whichever_way_it_goes_through_the_surface(
    begin_m: float, end_m: float, entry_N: float
) -> None:
    """Five metres straight down or up, in still water; it is told where it leaves the water on its way inward."""
    packed = _rig(dataclasses.replace(WIRE, length_m=5.0, stiffness_N=1e15))
    down = math.copysign(1.0, end_m - begin_m)
    s, entry = np.array([0.0, 0.0, begin_m, 0.0, 0.0, 10.0 * down]), np.full(3, np.nan)
    places, pulls = np.empty((2, 3)), np.empty(2)
    status = kernel.integrate(
        packed.rig, np.zeros(5), s, 1e-9, np.array([0.0, 5.0]), places, pulls, np.zeros((1, 6)), entry
    )
    assert status == kernel.SOLVED
    assert s[:3] == pytest.approx([0.0, 0.0, end_m], abs=1e-9)
    weight = 1.0 * 4.5e-3 * 9.80665 + 4.0 * 0.04
    assert s[5] == pytest.approx(10.0 * down - weight, rel=1e-9)
    assert pulls == pytest.approx([10.0, abs(s[5])])
    assert abs(entry[2]) == pytest.approx(entry_N, nan_ok=True)


def test_still_water_is_a_profile_of_no_depths() -> None:
    depths, velocities = currents_of(None)
    assert (depths.shape, velocities.shape) == ((0,), (0, 2))


def _steps(monkeypatch: pytest.MonkeyPatch, packed: Any, env: np.ndarray, end: tuple[float, float, float]) -> int:
    taken = []
    real = kernel.dormand_prince
    monkeypatch.setattr(kernel, "dormand_prince", lambda *given: (taken.append(given[5]), real(*given))[1])
    _integrated(packed, env, end, [0.0])
    return len(taken)


def test_few_steps_do(monkeypatch: pytest.MonkeyPatch) -> None:
    """Their number is what a table of depths costs."""
    chain = (WIRE, BALL, Line(6.0, 0.5e-3, 3e-4, 0.0, 900.0, normal_drag=1.2), LURE)
    assert _steps(monkeypatch, _rig(*chain), np.array([1.2, 0.0, 0.0, 0.0, 1.0]), (-17.0, 0.0, 24.0)) <= 27


def test_a_line_that_folds_back_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kernel, "MAX_STEPS", 3)
    packed = _rig(WIRE, BALL)
    s = np.array([-6.0, 0.0, 20.0, 0.0, 0.0, 0.0])
    status = kernel.integrate(
        packed.rig, np.array([1.2, 0.0, 0.0, 0.0, 1.0]), s, 1e-9, np.empty(0), np.empty((0, 3)), np.empty(0),
        np.zeros((1, 6)), np.empty(3),
    )  # fmt: skip
    assert status == kernel.TOO_MANY_STEPS


# -- the roots -----------------------------------------------------------------------------------------------------


@pytest.fixture
def shots(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """The depths at which a chain was tried."""
    tried: list[float] = []
    real = roots.shoot

    def shoot(*given: Any) -> Any:
        tried.append(float(given[2][2]))
        return real(*given)

    monkeypatch.setattr(roots, "shoot", shoot)
    return tried


def _settled(
    packed: Any, speed: float, guess: tuple[float, float] = (math.nan, math.nan)
) -> tuple[int, np.ndarray, np.ndarray]:
    end, s, bodies = np.empty(3), np.empty(6), np.empty((packed.rig.lines.shape[0], 6))
    env = np.array([speed, 0.0, 0.0, 0.0, 0.0])
    return roots.settle(packed.rig, env, packed.tip, np.array(guess), 1e-7, end, s, bodies), end, s


def test_a_depth_is_found_in_few_trials(shots: list[float]) -> None:
    packed = _rig(WIRE, BALL)
    status, end, s = _settled(packed, 1.2)
    assert status == roots.SOLVED
    assert s[2] == pytest.approx(-1.5, abs=1e-5)
    assert end[:2] == pytest.approx([-s[0], 0.0])
    assert shots[0] == pytest.approx(-1.5 + 0.5 * 30.0), "from half its reach"
    assert len(shots) <= 5
    shots.clear()
    again = _settled(packed, 1.2, (float(end[2]), math.nan))
    assert shots == [end[2]], "a guess that is right needs no other"
    assert again[1] == pytest.approx(end)
    shots.clear()
    _settled(packed, 1.2, (-1.5 + 1.5 * 30.0, math.nan))
    assert shots[0] == pytest.approx(-1.5 + 0.5 * 30.0), "a guess out of reach is none"


def test_with_the_rods_line_the_ball_is_found_in_few_trials(shots: list[float]) -> None:
    ball = Body(
        BodyKind.BLUFF, 4.5, 40.0, 0.2, 3.1e-3, rod_line=RodLine((0.2, 1.0, -1.2), pull_N=6.0, normal_drag=1.1)
    )
    packed = _rig(WIRE, ball)
    status, end, s = _settled(packed, 1.2)
    assert status == roots.SOLVED
    assert s[:3] == pytest.approx(packed.tip, abs=1e-5)
    assert abs(end[1]) > 0.01, "it is drawn to the rod's side"
    assert len(shots) <= 12


def test_a_board_that_hardly_moves_rests_where_it_creeps(monkeypatch: pytest.MonkeyPatch) -> None:
    board = Body(BodyKind.BOARD, 0.4, 0.0, 0.2, 0.008, lift_area_m2=0.016, side=1.0, buoyancy_N=3.0)
    asked: list[float] = []
    monkeypatch.setattr(roots, "end_depth", lambda _rig, env, *_: (asked.append(float(env[0])), roots.SOLVED)[1])
    for speed in (0.0, 0.019, 0.02, 0.5):
        _settled(_rig(WIRE, board), speed)
        _settled(_rig(WIRE, BALL), speed)
    assert asked == [0.02, 0.0, 0.02, 0.019, 0.02, 0.02, 0.5, 0.5]


def test_films_of_the_surface_are_tried_from_none_on(monkeypatch: pytest.MonkeyPatch) -> None:
    films: list[tuple[float, float]] = []

    def end_depth(_rig: Any, env: np.ndarray, _z: Any, _guess: Any, tolerance: float, *_: Any) -> int:
        films.append((float(env[3]), tolerance))
        return int(roots.NOT_CONVERGED)

    monkeypatch.setattr(roots, "end_depth", end_depth)
    assert _settled(_rig(WIRE, BALL), 1.0)[0] == roots.NOT_CONVERGED
    assert films == [(film, t) for film in (0.0, 0.02, 0.1) for t in (1e-7, pytest.approx(1e-9))]


# -- tables --------------------------------------------------------------------------------------------------------


def test_each_cell_of_a_table_is_guessed_from_its_neighbours(monkeypatch: pytest.MonkeyPatch) -> None:
    """A speed from the two before it, a length from the one before it by proportion."""
    guesses: list[float] = []

    def settle(
        rig: Any, env: np.ndarray, _tip: Any, guess: np.ndarray, _t: float, end: np.ndarray, s: Any, _b: Any
    ) -> int:
        guesses.append(float(guess[0]))
        end[:] = -1.0, 2.0, rig.geometry[-1, 0] - env[0] ** 2
        s[:] = 0.0, 0.0, 0.0, 3.0, 4.0, 12.0
        return int(roots.NOT_CONVERGED if env[0] == 5.0 else roots.SOLVED)

    monkeypatch.setattr(table, "settle", settle)
    monkeypatch.setattr(table, "faults", lambda *_: (True, False))
    packed = _rig(WIRE, BALL)
    lengths, speeds = np.array([10.0, 20.0]), np.array([1.0, 2.0, 4.0, 5.0, 6.0])
    numbers, status = np.full((2, 5, 4), np.nan), np.zeros((2, 5), dtype=np.int64)
    flags = np.zeros((2, 5, 2), dtype=bool)
    table.fill(packed.rig, packed.tip, lengths, speeds, 1e-7, numbers, flags, status)
    assert guesses == pytest.approx(
        [math.nan, 9.0, 6.0 - 3.0 * 2.0, -6.0 - 12.0 * 0.5, math.nan,
         9.0 * 2.0, 19.0, 16.0 - 3.0 * 2.0, 4.0 - 12.0 * 0.5, math.nan], nan_ok=True,
    )  # fmt: skip
    assert status.tolist() == [[0, 0, 0, roots.NOT_CONVERGED, 0]] * 2
    assert numbers[1, 0] == pytest.approx([19.0, 1.0, 2.0, 13.0])
    assert np.isnan(numbers[:, 3]).all()
    assert flags[:, [0, 1, 2, 4]].tolist() == [[[True, False]] * 4] * 2, "pulled under first, then slack"
    assert not flags[:, 3].any()


@pytest.mark.parametrize(
    ("kind", "depth", "flow", "pull", "under", "slack"),
    [
        (2, 0.05, 1.0, 5.0, False, False), (2, 0.0501, 1.0, 5.0, True, False), (1, 9.0, 0.3, 1.0, False, False),
        (1, 9.0, 0.299, 1.0, False, True), (1, 9.0, 0.3, 0.999, False, True), (0, 9.0, 0.1, 0.1, False, False),
        (3, 9.0, 0.1, 0.1, False, False),
    ],
)  # fmt: skip
def test_a_board_under_water_and_a_diver_that_does_not_hold(
    kind: int, depth: float, flow: float, pull: float, under: bool, slack: bool
) -> None:
    bodies = np.zeros((1, fo.BODY_FIELDS))
    bodies[0, fo.B_KIND], bodies[0, fo.B_HEIGHT] = kind, 0.05
    assert table.faults(bodies, np.array([[0.0, 0.0, depth, flow, pull, 0.0]])) == (under, slack)
