"""How every member sees the boat move: by its own current over ground, by its own scale through the water."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.answers.belief.priors import Z90, Draws
from sternwatch.hydro.chain.rows import Flow
from sternwatch.watch.chains.member_water import Beliefs
from sternwatch.watch.picture.model import SpeedSource

# As agreed: a change of one is to be noticed.
LEAST_START_M_S = 0.15
LEAST_SHARE = 0.2

OVER, THROUGH = SpeedSource.OVER_GROUND, SpeedSource.THROUGH_WATER
# A current of 0.2 north that 0.1 is already counted of, with unequal deviations that hang together; a scale of 1.1.
FOUND: Any = SimpleNamespace(
    belief=SimpleNamespace(
        current_m_s=(0.2, -0.1), spread=((0.1, 0.0), (0.05, 0.2)), scale=1.1, scale_sd=0.04
    ),
    driving_m_s=(0.1, 0.0), driving_scale=1.05,
)  # fmt: skip


def beliefs() -> Beliefs:
    return Beliefs(
        Draws(members=3), np.array([(0.0, 0.0), (1.0, 0.0), (1.0, -2.0)]), np.array([0.0, 1.0, -1.0]),
        np.array([0.0, 0.0, 0.03]), Flow(np.array([0.0]), np.zeros((3, 1, 2))), np.zeros((3, 2)), np.zeros((3, 2)),
    )  # fmt: skip


def test_over_ground_each_has_its_own_current() -> None:
    own = beliefs()
    own.step(1.0, (1.0, 0.0), OVER, True, FOUND)
    # Velocity through the water: over ground, less the current that this member believes in.
    assert own.velocity_m_s[0] == pytest.approx([1.0 + 0.1 - 0.2, 0.1])
    assert own.velocity_m_s[1] == pytest.approx([1.0 + 0.1 - 0.3, 0.1 - 0.05])
    assert own.velocity_m_s[2] == pytest.approx([1.03 + 0.1 - 0.3, 0.1 - 0.05 + 0.4]), "its noise along her way"


def test_through_the_water_each_has_its_own_scale() -> None:
    own = beliefs()
    own.step(1.0, (0.6, 0.8), THROUGH, True, FOUND)
    for velocity, scale in zip(own.velocity_m_s, (1.1, 1.14, 1.06), strict=True):
        assert velocity == pytest.approx(np.array([0.6, 0.8]) * scale / 1.05)


def test_places_follow_by_the_mean_of_two_velocities_unless_the_boat_begins_anew() -> None:
    own = beliefs()
    own.step(2.0, (1.0, 0.0), THROUGH, True, FOUND)
    first = own.velocity_m_s.copy()
    assert own.place_m == pytest.approx(first), "from rest: half of the velocity for two seconds"
    own.step(2.0, (0.0, 1.0), THROUGH, True, FOUND)
    assert own.place_m == pytest.approx(first + first + own.velocity_m_s)
    kept = own.place_m.copy()
    own.step(2.0, (1.0, 0.0), THROUGH, False, FOUND)
    assert own.place_m == pytest.approx(kept)
    assert own.velocity_m_s == pytest.approx(first)


def test_while_log_and_ground_contradict_each_other_the_members_reach_to_the_log() -> None:
    """The deviation of the log's scale is one here: nine in ten lie within what the two are apart."""
    plain, wide = beliefs(), beliefs()
    plain.step(1.0, (0.5, 0.0), OVER, True, FOUND)
    wide.step(1.0, (0.5, 0.0), OVER, True, FOUND, apart_m_s=0.2)
    assert wide.velocity_m_s[:, 1] == pytest.approx(plain.velocity_m_s[:, 1])
    more = wide.velocity_m_s[:, 0] - plain.velocity_m_s[:, 0]
    assert more == pytest.approx(np.array([0.0, 0.2, -0.2]) / Z90)
    wide.step(1.0, (0.5, 0.0), OVER, True, FOUND, apart_m_s=2.0)
    plain.step(1.0, (0.5, 0.0), OVER, True, FOUND)
    more = wide.velocity_m_s[:, 0] - plain.velocity_m_s[:, 0]
    assert more == pytest.approx([0.0, 2.0 / Z90, 0.5 * (LEAST_SHARE - 1.0)]), "none is turned round"
    still = beliefs()
    still.step(1.0, (0.0, 0.0), OVER, True, FOUND, apart_m_s=0.2)
    assert np.isfinite(still.velocity_m_s).all()


def test_noise_of_a_slow_boat_is_no_more_than_that_of_one_that_starts() -> None:
    own = beliefs()
    slow = 0.25 * LEAST_START_M_S
    own.step(1.0, (slow, 0.0), OVER, True, FOUND)
    calm = beliefs()
    calm.noise_m_s[:] = 0.0
    calm.step(1.0, (slow, 0.0), OVER, True, FOUND)
    assert own.velocity_m_s[2, 0] - calm.velocity_m_s[2, 0] == pytest.approx(0.25 * 0.03)


def test_copies_go_on_by_themselves() -> None:
    own = beliefs()
    own.step(1.0, (1.0, 0.0), THROUGH, True, FOUND)
    twin = own.copy()
    before = own.place_m.copy()
    own.step(1.0, (1.0, 0.0), THROUGH, True, FOUND)
    own.place_m += 5.0
    assert twin.place_m == pytest.approx(before)
    boat: Any = SimpleNamespace(north_m=1.0, east_m=-2.0)
    assert twin.apart(boat) == pytest.approx(np.column_stack([before - [1.0, -2.0], np.zeros(3)]))


def test_the_first_members_alone_go_on_as_they_do_among_all() -> None:
    own = beliefs()
    own.step(1.0, (1.0, 0.0), OVER, True, FOUND)
    first = own.first(2)
    assert (first.draws.members, first.flow.velocity_m_s.shape) == (2, (2, 1, 2))
    own.step(1.0, (0.8, 0.6), OVER, True, FOUND)
    first.step(1.0, (0.8, 0.6), OVER, True, FOUND)
    assert np.array_equal(first.velocity_m_s, own.velocity_m_s[:2])
    assert np.array_equal(first.place_m, own.place_m[:2])
    whole = own.first(48)
    assert (whole.draws, len(whole.place_m)) == (own.draws, 3)
    own.step(1.0, (0.8, 0.6), OVER, True, FOUND)
    assert not np.array_equal(whole.place_m, own.place_m)
