"""How much line each member has out when a rod is laid: its counter, its zero, and what the reel alone measures."""

from __future__ import annotations

from collections.abc import Iterator
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.answers.belief.priors import Draws, named
from sternwatch.answers.chains.arrays import offset_m
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.chains import members as module
from sternwatch.watch.chains.members import first_length_m
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from watch.conftest import TWO_RODS, HandFeed

ZEROS_M = np.linspace(-0.3, 0.4, 8)  # as after a fit: before one, where a counter was zeroed varies in none


@pytest.fixture(scope="module")
def watch() -> Iterator[Watch]:
    def believed(spread: Spread, draws: Draws, name: str) -> Any:
        return ZEROS_M if name == "rod 1 zero" else named(spread, draws, name)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "named", believed)
        feed = HandFeed(new_watch(Setup(parse_spread(TWO_RODS), start="fishing", members=8)))
        feed.run(5)
        yield feed.watch


def test_every_members_line_is_what_its_own_counter_and_zero_make_of_the_reading(watch: Watch) -> None:
    """Past the tip at a reading of zero nothing is multiplied: the counter begins to count there."""
    chain, beliefs = watch.chains["1"], watch.chains.beliefs
    assert chain.members is not None
    assert beliefs is not None
    assert chain.rig is not None
    counter = named(watch.spread, beliefs.draws, "rod 1 counter")
    assert np.ptp(counter) > 0.0
    past = offset_m(watch.spread, chain.rod, None)
    nominal = first_length_m(chain.rig.chain)
    by_hand = [past + (nominal - past) * c + z for c, z in zip(counter.tolist(), ZEROS_M.tolist(), strict=True)]
    state, rows = chain.members.state, chain.members.rows
    first = [state.rest_m[k, : int(rows.first_segments[k])].sum() for k in range(8)]
    assert first == pytest.approx(by_hand, abs=1e-9)
    assert chain.members.reeled == pytest.approx(counter)


def test_what_of_a_member_is_past_the_tip_lies_astern_of_its_own_boat(watch: Watch) -> None:
    chain, beliefs = watch.chains["1"], watch.chains.beliefs
    assert chain.members is not None
    assert beliefs is not None
    state, rows = chain.members.state, chain.members.rows
    for k in range(8):
        n = int(rows.n_nodes[k])
        tip = state.position_m[k, 0, :2] - beliefs.place_m[k]
        end = state.position_m[k, n - 1, :2] - beliefs.place_m[k]
        assert float(np.hypot(*tip)) < 3.0
        assert end[0] < -10.0, "she goes north"
        assert (state.position_m[k, n:] == state.position_m[k, n - 1]).all()


def test_the_members_let_out_as_their_counters_read() -> None:
    mine: Any = SimpleNamespace(rows="rows", state="state", reeled=np.array([1.0, 1.1]), _drag=lambda *_: None)
    clips = np.full((2, 3), -7.0)
    made = [
        module.Members.part(mine, 1.0, rate, None, clips, counted=counted)  # type: ignore[arg-type]
        for rate, counted in ((0.5, True), (0.5, False), (0.0, True))
    ]
    assert made[0].rate_m_s == pytest.approx([0.5, 0.55])
    assert made[1].rate_m_s == pytest.approx([0.5, 0.5]), "what the counter does not measure runs alike"
    assert made[2].rate_m_s == 0.0
    assert all((part.rows, part.state, part.members) == ("rows", "state", True) for part in made)
    assert all(part.tips_m is clips for part in made)
