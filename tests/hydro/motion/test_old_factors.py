"""After a small move the matrix is not factored again: the next is what the same matrix makes of what is left."""

from __future__ import annotations

import numpy as np
import pytest

from hydro.motion.test_newton_move import DEEP, SHEAR, Step, uncompiled
from hydro.uncompiled import plain
from sternwatch.hydro.motion import newton as nw

__all__ = ["uncompiled"]  # a fixture of every test here

TOLERANCE_M = 1e-3


@pytest.fixture
def factored(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many segments' blocks were made each time, in a list that grows by each."""
    made: list[int] = []
    blocks = plain(nw.water_blocks)

    def counted(*numbers: object) -> object:
        made.append(len(made))
        return blocks(*numbers)

    monkeypatch.setattr(nw, "water_blocks", counted)
    return made


def nearly_solved(rig: str, off_m: float) -> Step:
    """A step whose guess is the solution but for about so much in every place."""
    made = Step(rig, DEEP, SHEAR)
    used, by, more = made.move(60, 1e-9)
    assert used > 0
    made.x += by
    made.tension += more
    made.x[1:] += np.random.default_rng(3).normal(0.0, off_m, (made.n, 3))
    return made


@pytest.mark.parametrize("rig", ["diver", "board"])
def test_the_next_move_is_by_the_first_ones_matrix(rig: str, factored: list[int]) -> None:
    made = nearly_solved(rig, 3e-3)
    n = made.n
    _, by, pulled = made.move(1, TOLERANCE_M)
    assert TOLERANCE_M < np.abs(by).max() < 30.0 * TOLERANCE_M
    factored.clear()
    used, by_both, pulled_both = made.move(25, TOLERANCE_M)
    assert (used, len(factored)) == (2, n)
    assert np.abs(by_both - by).max() < TOLERANCE_M
    move = np.linalg.solve(made.matrix(), -made.balance(made.x + by, made.tension + pulled))
    wanted, tighter = move[: 3 * n].reshape(-1, 3), move[3 * n :]
    assert (by_both - by)[1:] == pytest.approx(wanted, rel=1e-3, abs=2e-3 * np.abs(wanted).max())
    assert pulled_both - pulled == pytest.approx(tighter, rel=1e-3, abs=2e-3 * np.abs(tighter).max())
    assert np.abs(by_both - made.move(60, 1e-10)[1]).max() < TOLERANCE_M


def test_after_a_large_move_it_is_factored_again(factored: list[int]) -> None:
    far = nearly_solved("diver", 0.3)
    _, by, _ = far.move(1, TOLERANCE_M)
    assert np.abs(by).max() > 30.0 * TOLERANCE_M
    factored.clear()
    far.move(2, TOLERANCE_M)
    assert len(factored) == 2 * far.n


def test_where_old_factors_do_not_do_new_ones_are_made(factored: list[int], monkeypatch: pytest.MonkeyPatch) -> None:
    """It goes on until the tolerance holds, as without them."""
    made = nearly_solved("board", 3e-3)
    monkeypatch.setattr(nw, "SHRINKS", 1e-3)
    factored.clear()
    used, by, _ = made.move(25, TOLERANCE_M)
    assert (used, len(factored)) == (3, 2 * made.n)
    assert np.abs(by - made.move(60, 1e-10)[1]).max() < 1e-3 * TOLERANCE_M


def test_with_a_rod_line_it_is_factored_every_time(factored: list[int]) -> None:
    """Its derivative is a rough one, and old factors make it rougher: steps would take more moves, and more time."""
    made = nearly_solved("ball", 3e-3)
    assert made.one.rod_node >= 0
    _, by, _ = made.move(1, TOLERANCE_M)
    assert TOLERANCE_M < np.abs(by).max() < 30.0 * TOLERANCE_M
    factored.clear()
    used, by, _ = made.move(25, TOLERANCE_M)
    assert (used, len(factored)) == (2, 2 * made.n)
    assert np.abs(by - made.move(60, 1e-10)[1]).max() < TOLERANCE_M


def test_slack_line_is_factored_every_time(factored: list[int]) -> None:
    slack = Step("bare", DEEP, SHEAR)
    slack.x[1:] -= 0.4 * (slack.x[1:] - slack.x[0])
    used, _, tighter = slack.move(60, 0.01)
    assert (slack.tension + tighter).min() < 0.1
    assert len(factored) >= (used - 1) * slack.n > 10 * slack.n
