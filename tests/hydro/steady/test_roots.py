"""The searches for the free end, each on functions whose roots, derivatives and updates are known."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from hydro.uncompiled import use_plain
from sternwatch.hydro.steady import roots, turning
from sternwatch.hydro.steady.kernel import Rig

TIP = np.array([-0.3, 2.0, -1.5])
ENV = np.array([1.2, 0.0, 0.0, 0.0, 1.0])
RNG = np.random.default_rng(7)
MIXING = np.array([[1.1, 0.2, -0.1], [0.05, 0.9, 0.3], [-0.2, 0.1, 1.2]])
Shoot = Callable[..., int]


@pytest.fixture(autouse=True)
def uncompiled(monkeypatch: pytest.MonkeyPatch) -> None:
    """Everything as Python, so that the shot of a test takes the place of a chain's."""
    for module in (roots, turning):
        use_plain(monkeypatch, module)


def rig(*lengths: float) -> Rig:
    n, none = len(lengths), np.empty(0)
    geometry = np.array([(length, 1e5) for length in lengths])
    return Rig(np.zeros((n, 8)), geometry, np.full((n, 12), -1.0), -1, np.zeros(7), none, np.empty((0, 2)))


def shots(monkeypatch: pytest.MonkeyPatch, place: Callable[[np.ndarray], Any], *modules: Any) -> list[np.ndarray]:
    """The places that are tried, where the inner end of a chain with its free end at x is at ``place(x)``.

    None: that chain has no shape.
    """
    tried: list[np.ndarray] = []

    def shoot(_rig: Any, _env: Any, end: np.ndarray, _tolerance: float, s: np.ndarray, _bodies: Any) -> int:
        tried.append(end.copy())
        found = place(end)
        if found is None:
            return int(roots.NOT_CONVERGED)
        s[:3] = found
        return int(roots.SOLVED)

    for module in modules or (roots,):
        monkeypatch.setattr(module, "shoot", shoot)
    return tried


# -- one number: the depth of the end ------------------------------------------------------------------------------


def depth_of(chain: Rig, guess: tuple[float, float] = (math.nan, math.nan), tolerance: float = 1e-9) -> Any:
    end, known = np.empty(3), np.array(guess)
    status = roots.end_depth(chain, ENV, TIP[2], known, tolerance, end, np.zeros(6), np.empty((1, 6)))
    return status, end, known


def test_a_straight_law_is_solved_by_its_second_slope(monkeypatch: pytest.MonkeyPatch) -> None:
    tried = shots(monkeypatch, lambda end: (-4.0, 0.5, 0.5 * (end[2] - 9.0) + TIP[2]))
    status, end, guess = depth_of(rig(10.0, 20.0))
    assert status == roots.SOLVED
    assert end == pytest.approx([4.0, -0.5, 9.0]), "from the tip to the end"
    assert [at[2] for at in tried] == pytest.approx([13.5, 13.5 - 0.5 * 4.5, 9.0]), "first as if the slope were one"
    assert guess[1] == pytest.approx(0.5)
    assert (np.array([at[:2] for at in tried]) == 0.0).all()


def test_a_slope_that_is_known_is_used_at_once_and_one_that_is_hardly_any_is_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    for slope, second in ((0.5, 9.0), (0.051, 13.5 - 2.25 / 0.051), (0.05, 11.25), (-3.0, 11.25)):
        tried = shots(monkeypatch, lambda end: (0.0, 0.0, 0.5 * (end[2] - 9.0) + TIP[2]))
        depth_of(rig(10.0, 20.0), (math.nan, slope))
        least = TIP[2] - 45.0
        assert tried[1][2] == pytest.approx(second if second > least else 0.5 * (least + 13.5))


def test_a_guess_of_the_depth_counts_within_the_chains_reach(monkeypatch: pytest.MonkeyPatch) -> None:
    for guess, first in ((-46.4, -46.4), (-46.5, 13.5), (43.4, 43.4), (43.5, 13.5), (math.nan, 13.5)):
        tried = shots(monkeypatch, lambda end: (0.0, 0.0, end[2] - 9.0 + TIP[2]))
        assert depth_of(rig(10.0, 20.0), (guess, math.nan))[0] == roots.SOLVED
        assert tried[0][2] == pytest.approx(first)


def test_it_is_solved_as_near_as_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    """The tolerance is of the reach and a metre: 1e-3 x 31."""
    for off, trials in ((0.0309, 1), (-0.0309, 1), (0.0311, 2), (-0.0311, 2)):
        tried = shots(monkeypatch, lambda end, off=off: (0.0, 0.0, end[2] - (13.5 - off) + TIP[2]))
        assert depth_of(rig(10.0, 20.0), tolerance=1e-3)[0] == roots.SOLVED
        assert len(tried) == trials
    tried = shots(monkeypatch, lambda end: (0.0, 0.0, end[2] - (13.5 - 2e-11) + TIP[2]))
    assert depth_of(rig(10.0, 20.0), tolerance=0.0)[0] == roots.SOLVED
    assert len(tried) == 1, "rounding is allowed whatever is asked"


@pytest.mark.parametrize(("jump", "status"), [(0.0009, roots.SOLVED), (0.0011, roots.NOT_CONVERGED)])
def test_a_jump_is_a_root_where_it_is_small(jump: float, status: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """A hundred times the tolerance; 1e-6 x 10 m here."""

    def place(end: np.ndarray) -> tuple[float, float, float]:
        return 0.0, 0.0, TIP[2] + (end[2] - 3.1) + (jump if end[2] > 3.1 else -jump)

    tried = shots(monkeypatch, place)
    assert depth_of(rig(9.0), tolerance=1e-6)[0] == status
    assert len(tried) < roots.MAX_TRIALS
    assert abs(tried[-1][2] - 3.1) < 1e-12


def test_a_curve_that_turns_the_secant_away_is_halved(monkeypatch: pytest.MonkeyPatch) -> None:
    """A law as steep as a cube root at its root: the secant alone goes back and forth without end."""
    tried = shots(
        monkeypatch, lambda end: (0.0, 0.0, TIP[2] + math.copysign(abs(end[2] - 5.0) ** (1 / 3), end[2] - 5))
    )
    assert depth_of(rig(9.0), tolerance=1e-6)[0] == roots.SOLVED
    assert abs(tried[-1][2] - 5.0) < 1e-12
    assert len(tried) <= 60


def test_three_tries_that_hardly_help_are_followed_by_a_half(monkeypatch: pytest.MonkeyPatch) -> None:
    """The secant keeps more than three tenths of this law's miss at every try; the bracket is 1.5 reaches."""
    tried = shots(monkeypatch, lambda end: (0.0, 0.0, TIP[2] + 1e-4 * max(end[2] - 1.0, 0.0) ** 3 - 1e-9))
    status, _, _ = depth_of(rig(9.0), (12.0, math.nan), tolerance=1e-12)
    assert status in (roots.SOLVED, roots.NOT_CONVERGED)
    at = [float(place[2]) for place in tried]
    low = TIP[2] - 13.5
    halves = [k for k in range(1, len(at)) if abs(at[k] - 0.5 * (low + min(at[:k]))) < 1e-9]
    assert halves[0] == 4, "the first has none before it"


def test_a_chain_without_a_shape_ends_the_search(monkeypatch: pytest.MonkeyPatch) -> None:
    tried = shots(monkeypatch, lambda _end: None)
    assert depth_of(rig(9.0))[0] == roots.NOT_CONVERGED
    assert len(tried) == 1


# -- three numbers: the place of the end ---------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(3))
def test_a_move_is_that_of_linear_algebra(seed: int) -> None:
    """Against LAPACK's."""
    rng = np.random.default_rng(seed)
    a, miss, move = rng.normal(size=(3, 3)), rng.normal(size=3), np.empty(3)
    assert roots._solve(a, miss, move) == pytest.approx(np.linalg.det(a))
    assert move == pytest.approx(np.linalg.solve(a, -miss))


@pytest.mark.parametrize("share", [1.0, 0.25])
def test_an_update_agrees_with_the_move_made_and_changes_nothing_across_it(share: float) -> None:
    """What defines the rank-one update [Broyden 1965]."""
    known, move, before, after = RNG.normal(size=(3, 3)), RNG.normal(size=3), RNG.normal(size=3), RNG.normal(size=3)
    learnt = known.copy()
    roots._learn(learnt, share, move, before, after)
    assert learnt @ (share * move) == pytest.approx(after - before)
    across = np.linalg.svd(move[None])[2][1:]
    assert learnt @ across.T == pytest.approx(known @ across.T)


def test_differences_are_the_derivative(monkeypatch: pytest.MonkeyPatch) -> None:
    shots(monkeypatch, lambda end: MIXING @ end + 0.1 * end**2)
    end, jacobian, miss = np.array([-8.0, 1.0, 12.0]), np.empty((3, 3)), np.empty(3)
    more = (np.zeros(6), np.empty((1, 6)))
    size = roots._miss(rig(20.0), ENV, TIP, 1e-9, end, *more, miss)
    assert miss == pytest.approx(MIXING @ end + 0.1 * end**2 - TIP)
    assert size == pytest.approx(np.linalg.norm(miss))
    known = roots._differences(rig(20.0), ENV, TIP, 1e-9, end, 1e-3, miss, *more, np.empty(3), np.empty(3), jacobian)
    assert known
    assert jacobian == pytest.approx(MIXING + np.diag(0.2 * end + 0.1 * 1e-3), abs=1e-9)


@pytest.mark.parametrize("axis", range(3))
def test_differences_of_which_one_fails_are_not_known(axis: int, monkeypatch: pytest.MonkeyPatch) -> None:
    shots(monkeypatch, lambda end: None if end[axis] > 0.0 else end)
    known = roots._differences(
        rig(20.0), ENV, TIP, 1e-9, np.zeros(3), 1e-3, np.zeros(3), np.zeros(6), np.empty((1, 6)), np.empty(3),
        np.zeros(3), np.empty((3, 3)),
    )  # fmt: skip
    assert not known


def place_of(chain: Rig, first: tuple[float, float, float], tolerance: float = 1e-9) -> Any:
    end = np.array(first)
    return roots.end_place(chain, ENV, TIP, tolerance, end, np.zeros(6), np.empty((1, 6))), end


def test_a_straight_law_of_the_place_takes_one_move(monkeypatch: pytest.MonkeyPatch) -> None:
    wanted = np.array([-9.0, 1.0, 14.0])
    tried = shots(monkeypatch, lambda end: TIP + MIXING @ (end - wanted))
    status, end = place_of(rig(20.0), (-8.0, 2.0, 12.0))
    assert status == roots.SOLVED
    assert end == pytest.approx(wanted, abs=1e-8)
    assert len(tried) == 1 + 3 + 1, "the first, its differences, and the root"
    assert np.abs(np.array(tried[1:4]) - tried[0]) == pytest.approx(1e-3 * np.eye(3)), "steps of a thousandth"


def test_what_is_learnt_on_the_way_spares_differences(monkeypatch: pytest.MonkeyPatch) -> None:
    """Differences take three shots, a move one."""
    wanted = np.array([-9.0, 1.0, 14.0])
    tried = shots(monkeypatch, lambda end: TIP + MIXING @ (end - wanted) + 0.01 * (end - wanted) ** 2)
    status, end = place_of(rig(20.0), (-8.0, 2.0, 12.0))
    assert status == roots.SOLVED
    assert end == pytest.approx(wanted, abs=1e-7)
    assert len(tried) <= 9


def test_steps_of_differences_follow_a_small_miss(monkeypatch: pytest.MonkeyPatch) -> None:
    wanted = np.array([-9.0, 1.0, 14.0])
    for miss, step in ((0.1, 1e-4), (0.001, 1e-5), (4.0, 1e-3)):
        tried = shots(monkeypatch, lambda end: TIP + (end - wanted))
        place_of(rig(20.0), (-9.0 + miss, 1.0, 14.0))
        assert tried[1][0] - tried[0][0] == pytest.approx(step)


def test_a_move_is_no_longer_than_half_the_chain(monkeypatch: pytest.MonkeyPatch) -> None:
    wanted = np.array([-9.0, 1.0, 14.0])
    for reach, first in ((20.0, 10.0), (30.0, 12.0)):
        tried = shots(monkeypatch, lambda end: TIP + (end - wanted))
        status, _ = place_of(rig(reach), (3.0, 1.0, 14.0))
        assert status == roots.SOLVED
        assert tried[4] - tried[0] == pytest.approx([-first, 0.0, 0.0], abs=1e-6)


def test_a_move_that_goes_too_far_is_halved(monkeypatch: pytest.MonkeyPatch) -> None:
    """Beyond a metre the inner end stays where it was: of 8 m of move the fourth half helps."""
    wanted = np.array([-9.0, 1.0, 14.0])

    def place(end: np.ndarray) -> np.ndarray:
        return TIP + (end - wanted) if abs(end[0] - tried[0][0]) < 1.1 else TIP + np.array([100.0, 0.0, 0.0])

    tried: list[np.ndarray] = []
    tried = shots(monkeypatch, lambda end: place(end))
    place_of(rig(90.0), (-1.0, 1.0, 14.0))
    assert [at[0] - tried[0][0] for at in tried[4:8]] == pytest.approx([-8.0, -4.0, -2.0, -1.0], abs=1e-6)


@pytest.mark.parametrize(("left", "status"), [(0.9e-5, roots.SOLVED), (1.2e-5, roots.NOT_CONVERGED)])
def test_where_no_move_helps_it_is_solved_if_hardly_anything_is_missed(
    left: float, status: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A hundred times the tolerance; 1e-8 x 10 m here."""

    def place(end: np.ndarray) -> np.ndarray:
        off = np.abs(end - [-1.0, 0.0, 3.0])
        return TIP + np.array([left, 0.0, 0.0]) + (5.0 * off if off.max() > 1e-12 else 0.0)

    shots(monkeypatch, place)
    assert place_of(rig(9.0), (-1.0, 0.0, 3.0), 1e-8)[0] == status


def test_equations_that_do_not_tell_the_place_have_no_solution(monkeypatch: pytest.MonkeyPatch) -> None:
    tried = shots(monkeypatch, lambda end: TIP + np.array([end[0] + 5.0, end[0] + end[1], 2.0 * end[0] + end[1]]))
    with np.errstate(all="ignore"):
        assert place_of(rig(20.0), (0.0, 0.0, 9.0))[0] == roots.NOT_CONVERGED
    assert len(tried) == 4
    tried = shots(monkeypatch, lambda _end: None)
    assert place_of(rig(20.0), (0.0, 0.0, 9.0))[0] == roots.NOT_CONVERGED
    assert len(tried) == 1


def test_a_search_ends_after_so_many_tries(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(roots, "MAX_TRIALS", 3)
    tried = shots(monkeypatch, lambda end: (0.0, 0.0, TIP[2] + (end[2] - 3.0) ** 3))
    assert depth_of(rig(20.0))[0] == roots.NOT_CONVERGED
    assert len(tried) == 3
    monkeypatch.setattr(roots, "MAX_MOVES", 2)
    tried = shots(monkeypatch, lambda end: TIP + (end - 3.0) ** 3)
    assert place_of(rig(20.0), (5.0, 5.0, 5.0))[0] == roots.NOT_CONVERGED
    assert len(tried) == 1 + 3 + 1 + 1
    monkeypatch.setattr(turning, "MAX_MOVES", 2)
    rings = ring_law(monkeypatch, lambda ring: RING_MIXING @ (ring - WANTED) ** 3)
    assert turning.end_ring(rig(20.0), TURN, TIP, 1e-7, np.array([0.1, 11.0])) == turning.NOT_CONVERGED
    assert len(rings) == 1 + 2 * (2 + 1)


def test_a_place_whose_derivative_is_not_known_has_no_solution(monkeypatch: pytest.MonkeyPatch) -> None:
    first = np.array([-8.0, 2.0, 12.0])
    tried = shots(monkeypatch, lambda end: None if end[1] > 2.0 else TIP + np.array([1.0, 2.0, 3.0]))
    assert place_of(rig(20.0), tuple(first))[0] == roots.NOT_CONVERGED
    assert 3 <= len(tried) <= 4


def test_a_move_of_the_ring_to_where_there_is_no_shape_is_halved(monkeypatch: pytest.MonkeyPatch) -> None:
    tried = ring_law(monkeypatch, lambda ring: RING_MIXING @ (ring - WANTED) if ring[1] > 12.7 else None)
    turning.end_ring(rig(20.0), TURN, TIP, 1e-7, np.array([-0.1, 13.0]))
    assert [float(one[1]) for one in tried[3:6]] == pytest.approx([12.0, 12.5, 12.75], abs=1e-5)


# -- two numbers: the ring of a turn -------------------------------------------------------------------------------

TURN = np.array([1.2, 0.03, 0.0, 0.0, 1.0])  # a circle of 40 m to starboard


def test_a_turns_miss_is_that_of_the_tips_radius_and_depth(monkeypatch: pytest.MonkeyPatch) -> None:
    tried = shots(monkeypatch, lambda end: end + np.array([6.0, 5.0, -12.0]), turning)
    work, s = np.empty((2, 6)), np.zeros(6)
    assert turning._ring_miss(rig(20.0), TURN, np.array([math.log(0.9), 11.0]), TIP, 1e-9, s, work)
    assert tried[0] == pytest.approx([0.0, 40.0 - 36.0, 11.0]), "abeam of the turn's centre"
    wanted = math.hypot(TIP[0], 40.0 - TIP[1])
    assert work[0, :2] == pytest.approx([math.hypot(6.0, 40.0 - 9.0) - wanted, 11.0 - 12.0 - TIP[2]])


@pytest.mark.parametrize("place", [None, (math.nan, 0.0, 0.0), (0.0, 0.0, math.nan), (0.0, 0.0, math.inf)])
def test_a_turn_without_a_shape_has_no_miss(place: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    shots(monkeypatch, lambda _end: place, turning)
    ring = np.array([0.0, 11.0])
    assert not turning._ring_miss(rig(20.0), TURN, ring, TIP, 1e-9, np.zeros(6), np.empty((2, 6)))
    assert turning.end_ring(rig(20.0), TURN, TIP, 1e-9, ring) == turning.NOT_CONVERGED


def ring_law(monkeypatch: pytest.MonkeyPatch, law: Callable[[np.ndarray], Any]) -> list[np.ndarray]:
    """The rings that are tried, where the miss of a ring is ``law`` of it; None: no shape."""
    tried: list[np.ndarray] = []

    def miss(_rig: Any, _env: Any, ring: np.ndarray, _tip: Any, _tol: float, _s: Any, work: np.ndarray) -> bool:
        tried.append(ring.copy())
        found = law(ring)
        if found is not None:
            work[0, :2] = found
        return found is not None

    monkeypatch.setattr(turning, "_ring_miss", miss)
    return tried


RING_MIXING = np.array([[9.0, 0.4], [-3.0, 1.1]])
WANTED = np.array([-0.1, 12.0])


def test_a_straight_law_of_the_ring_takes_one_move(monkeypatch: pytest.MonkeyPatch) -> None:
    tried = ring_law(monkeypatch, lambda ring: RING_MIXING @ (ring - WANTED))
    ring = np.array([-0.3, 11.0])
    assert turning.end_ring(rig(20.0), TURN, TIP, 1e-7, ring) == turning.SOLVED
    assert ring == pytest.approx(WANTED, abs=1e-6)
    assert len(tried) == 1 + 2 + 1
    assert np.array(tried[1:3]) - tried[0] == pytest.approx(1e-6 * np.eye(2), abs=1e-12)


def test_a_move_of_the_ring_is_held_in_both_ways(monkeypatch: pytest.MonkeyPatch) -> None:
    """By a factor of two in the radius (0.7 of its log), and by three tenths of the chain in depth."""
    for begin, share in (((1.3, 12.0), 0.5), ((-0.1, 24.0), 0.5), ((1.3, 36.0), 0.25), ((-0.79, 17.9), 1.0)):
        tried = ring_law(monkeypatch, lambda ring: RING_MIXING @ (ring - WANTED))
        ring = np.array(begin)
        assert turning.end_ring(rig(8.0, 12.0), TURN, TIP, 1e-7, ring) == turning.SOLVED
        assert tried[3] - tried[0] == pytest.approx(share * (WANTED - begin), abs=1e-5)


def test_a_move_of_the_ring_that_does_not_help_is_halved(monkeypatch: pytest.MonkeyPatch) -> None:
    begin = np.array([-0.1, 13.0])
    tried = ring_law(
        monkeypatch, lambda ring: RING_MIXING @ (ring - WANTED) if ring[1] > 12.7 else np.array([90.0, 0.0])
    )
    turning.end_ring(rig(20.0), TURN, TIP, 1e-7, begin.copy())
    assert [float(one[1]) for one in tried[3:6]] == pytest.approx([12.0, 12.5, 12.75], abs=1e-5)
    assert len(tried) > 6, "with a quarter of it the search goes on"


@pytest.mark.parametrize(("left", "status"), [(1.9e-4, turning.SOLVED), (2.3e-4, turning.NOT_CONVERGED)])
def test_where_no_move_of_the_ring_helps_hardly_anything_may_be_missed(
    left: float, status: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A hundred times the tolerance; 1e-7 x 21 m here."""
    tried = ring_law(monkeypatch, lambda ring: (left + 9.0 * abs(ring[0] + 0.1), 2.0 * abs(ring[1] - 12.0)))
    assert turning.end_ring(rig(20.0), TURN, TIP, 1e-7, np.array([-0.1, 12.0])) == status
    assert len(tried) == 3 + 8


def test_a_ring_that_is_solved_as_near_as_is_asked_is_not_moved(monkeypatch: pytest.MonkeyPatch) -> None:
    for left, shots_taken in ((0.0209, 1), (0.0211, 4)):
        tried = ring_law(
            monkeypatch, lambda ring, left=left: RING_MIXING @ (ring - WANTED) + [0.6 * left, 0.8 * left]
        )
        assert turning.end_ring(rig(20.0), TURN, TIP, 1e-3, WANTED.copy()) == turning.SOLVED
        assert len(tried) == shots_taken


@pytest.mark.parametrize("law", [
    lambda ring: (1.0 + ring[0] - ring[1], 1.0 + ring[0] - ring[1]),
    lambda ring: None if ring[0] > 0.0 else (1.0, 2.0),
    lambda ring: None if ring[1] > 12.0 else (1.0, 2.0),
])  # fmt: skip
def test_a_ring_whose_derivative_is_not_known_has_no_solution(
    law: Callable[[np.ndarray], Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    tried = ring_law(monkeypatch, law)
    assert turning.end_ring(rig(20.0), TURN, TIP, 1e-7, np.array([0.0, 12.0])) == turning.NOT_CONVERGED
    assert len(tried) <= 3


def followed(
    monkeypatch: pytest.MonkeyPatch, exists: Callable[[float], bool], start: float = 0.1, by_speed: bool = False
) -> tuple[int, list[list[float]], list[np.ndarray], np.ndarray]:
    """Status, the turns that are asked, the guesses and the last ring, where a turn's ring goes with the log of its
    share of the goal; it ``exists`` up to some share."""
    asked: list[list[float]] = []
    guesses: list[np.ndarray] = []

    def end_ring(_rig: Any, env: np.ndarray, _tip: Any, _tolerance: float, ring: np.ndarray) -> int:
        share = env[1] / 0.06
        asked.append([env[0], share])
        guesses.append(ring.copy())
        if not exists(share):
            return int(turning.NOT_CONVERGED)
        ring[:] = 2.0 * math.log(share), 9.0 - math.log(share)
        return int(turning.SOLVED)

    monkeypatch.setattr(turning, "end_ring", end_ring)
    ring = np.array([1.0, 2.0])
    goal = np.array([1.5, 0.06])
    status = turning._follow(rig(20.0), np.zeros(5), TIP, goal, by_speed, start, 1e-7, ring)
    return status, asked, guesses, ring


def test_a_turn_is_tightened_by_growing_factors_along_the_roots_found(monkeypatch: pytest.MonkeyPatch) -> None:
    status, asked, guesses, ring = followed(monkeypatch, lambda _share: True, start=0.01)
    assert status == turning.SOLVED
    assert [share for _, share in asked] == pytest.approx([0.01, 0.02, 0.08, 0.32, 1.0])
    assert {speed for speed, _ in asked} == {1.5}
    assert guesses[0] == pytest.approx([1.0, 2.0]), "as given"
    found = [np.array([2.0 * math.log(share), 9.0 - math.log(share)]) for _, share in asked]
    assert guesses[1] == pytest.approx(found[0]), "of one root alone no way is known"
    assert np.array(guesses[2:]) == pytest.approx(np.array(found[2:]))
    assert ring == pytest.approx(found[-1])


def test_a_turn_followed_by_speed_keeps_its_curvature(monkeypatch: pytest.MonkeyPatch) -> None:
    status, asked, _, _ = followed(monkeypatch, lambda _share: True, start=0.25, by_speed=True)
    assert status == turning.SOLVED
    assert np.array(asked) == pytest.approx(np.array([[0.375, 0.25], [0.75, 0.5], [1.5, 1.0]]))


def test_a_path_that_ends_is_followed_to_its_end(monkeypatch: pytest.MonkeyPatch) -> None:
    status, asked, _, ring = followed(monkeypatch, lambda share: share < 0.37)
    assert status == turning.FOLDED
    known = [share for _, share in asked if share < 0.37]
    assert [share for _, share in asked][:4] == pytest.approx([0.1, 0.2, 0.8, 0.4]), "by the root of the factor"
    assert known[-1] > 0.37 / 1.005
    assert ring == pytest.approx([2.0 * math.log(known[-1]), 9.0 - math.log(known[-1])]), "the last that is"
    assert followed(monkeypatch, lambda _share: False)[0] == turning.NOT_CONVERGED
    assert len(followed(monkeypatch, lambda _share: False)[1]) == 1


def test_a_path_of_too_many_pieces_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(turning, "MOST_PIECES", 3)
    assert followed(monkeypatch, lambda _share: True, start=0.01)[0] == turning.NOT_CONVERGED


def tightened(
    monkeypatch: pytest.MonkeyPatch, statuses: list[int], curvature: float = 0.05, speed: float = 1.5
) -> tuple[int, list[tuple[Any, ...]], np.ndarray]:
    """Status, what was followed (ring, by speed, start) and the end."""
    asked: list[tuple[Any, ...]] = []

    def follow(
        _rig: Any, _env: Any, _tip: Any, goal: np.ndarray, by_speed: bool, start: float, _tolerance: float, ring: Any
    ) -> int:
        assert goal == pytest.approx([speed, speed * curvature])
        asked.append((*ring.tolist(), by_speed, start))
        return statuses[len(asked) - 1]

    monkeypatch.setattr(turning, "_follow", follow)
    monkeypatch.setattr(turning, "_placed", lambda *given: given[-1].__setitem__(slice(None), 7.0))
    end = np.array([-12.3, 3.0, 14.0])
    env = np.array([speed, 0.0, 0.0, 0.0, 1.0])
    return turning.tighten(rig(12.0, 17.0), env, TIP, curvature, 1e-7, end), asked, end


def test_a_turn_begins_wide_and_wider_where_it_is_not_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first radius is the chain's length and a metre over 0.3: 100 m here, and the end 12 m astern of the tip."""
    missed, solved = turning.NOT_CONVERGED, turning.SOLVED
    status, asked, end = tightened(monkeypatch, [missed, missed, solved])
    assert status == solved
    assert end.tolist() == [7.0, 7.0, 7.0]
    for k, (log_ratio, depth, by_speed, start) in enumerate(asked):
        assert start == pytest.approx(0.2 * 0.3**k)
        radius = 20.0 / start
        assert log_ratio == pytest.approx(0.5 * math.log((1.0 - 3.0 / radius) ** 2 - (12.0 / radius) ** 2))
        assert (depth, by_speed) == (14.0, False)
    assert tightened(monkeypatch, [solved], curvature=-0.05)[1][0][0] == pytest.approx(
        0.5 * math.log(1.03**2 - 0.12**2)
    ), "to port an end to starboard is farther out"
    assert tightened(monkeypatch, [solved], curvature=0.002)[1][0][3] == 1.0, "no turn is wider than the goal"


def test_a_long_chain_is_sought_below_the_boat_that_turns_slowly(monkeypatch: pytest.MonkeyPatch) -> None:
    missed, solved, folded = turning.NOT_CONVERGED, turning.SOLVED, turning.FOLDED
    for before in ([missed] * 3, [folded], [missed, folded]):
        status, asked, end = tightened(monkeypatch, [*before, solved])
        assert status == solved
        assert end.tolist() == [7.0, 7.0, 7.0]
        log_ratio, depth, by_speed, start = asked[-1]
        assert len(asked) == len(before) + 1
        assert log_ratio == pytest.approx(0.5 * math.log((1.0 - 2.0 * 0.05) ** 2 + (0.3 * 0.05) ** 2))
        assert depth == pytest.approx(-1.5 + 29.0)
        assert (by_speed, start) == (True, pytest.approx(0.05 / 1.5))
    assert tightened(monkeypatch, [folded, solved], speed=0.04)[1][-1][3] == 1.0
    for last in (missed, folded):
        status, _, end = tightened(monkeypatch, [missed, missed, missed, last])
        assert status == missed
        assert end.tolist() == [-12.3, 3.0, 14.0], "left as it was"


def test_a_ring_is_turned_to_where_the_chain_meets_the_tip(monkeypatch: pytest.MonkeyPatch) -> None:
    shots(monkeypatch, lambda end: end + np.array([6.0, 5.0, -12.0]), turning)
    end = np.empty(3)
    turning._placed(rig(20.0), TURN, TIP, 1e-9, np.array([math.log(0.9), 11.0]), end)
    centre = np.array([0.0, 40.0])
    assert np.linalg.norm(end[:2] - centre) == pytest.approx(36.0)
    assert end[2] == 11.0
    inner = np.array([6.0, 9.0])  # of a chain whose end is abeam of the centre, at (0, 4)

    def bearing(place: np.ndarray) -> float:
        x, y = place - centre
        return math.atan2(y, x)

    assert bearing(end[:2]) - bearing(np.array([0.0, 4.0])) == pytest.approx(bearing(TIP[:2]) - bearing(inner))
