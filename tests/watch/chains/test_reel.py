"""A reel: line goes out at its rate until the reading wanted, the leader first and the counted line last."""

from __future__ import annotations

import pytest

from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.chains.reel import Reel

# As agreed: a change of one is to be noticed.
AT_RAIL_M = 4.0

FT = 0.3048
LEADER_M = 8.0 * FT


@pytest.fixture
def reel(two_rods: Spread) -> Reel:
    """The diver's: wire that the counter counts in feet, and a leader of 8 ft. A metre a second."""
    rod = two_rods.rod_by_key("1")
    assert rod is not None
    return Reel(two_rods, rod, 1.0)


def test_past_the_tip_are_the_counted_line_and_the_leader(reel: Reel) -> None:
    assert reel.past_tip_m is None
    assert reel.first_reading_m is None
    reel.reading_m = 20.0
    assert reel.past_tip_m == pytest.approx(20.0 + LEADER_M)
    assert reel.moving == 0.0, "nobody wants another reading"
    reel.target_m = 30.0
    assert reel.first_reading_m == pytest.approx(5.0 * FT + 1.5 - LEADER_M), "the tip is 5 ft high; 1.5 m to spare"
    reel.target_m = -1.0
    assert reel.first_reading_m == -1.0
    reel.reading_m = None
    assert reel.moving == 0.0, "nobody knows where it is"


def test_it_moves_toward_the_reading_wanted_and_stops_there(reel: Reel) -> None:
    assert (reel.moving, reel.run(1.0)) == (0.0, 0.0)
    reel.reading_m, reel.target_m = 10.0, 12.5
    assert reel.moving == 1.0
    assert reel.run(0.0) == 0.0
    assert reel.reading_m == 10.0
    assert reel.run(2.0) == pytest.approx(1.0)
    assert reel.reading_m == pytest.approx(12.0)
    assert reel.run(1.0) == pytest.approx(0.5), "the mean over the step"
    assert (reel.reading_m, reel.moving, reel.run(1.0)) == (12.5, 0.0, 0.0)
    reel.target_m = 9.0
    assert reel.moving == -1.0
    assert reel.run(2.0) == pytest.approx(-1.0)
    assert reel.reading_m == pytest.approx(10.5)


def test_a_time_that_no_step_saw_is_run_through_at_once(reel: Reel) -> None:
    reel.ran_for(5.0)
    assert reel.reading_m is None
    reel.reading_m, reel.target_m = 10.0, 20.0
    reel.ran_for(4.0)
    assert reel.reading_m == pytest.approx(14.0)
    reel.ran_for(-3.0)
    assert reel.reading_m == pytest.approx(14.0)
    reel.ran_for(60.0)
    assert reel.reading_m == 20.0


def test_the_line_at_the_tip_is_told_by_what_is_past_it(reel: Reel) -> None:
    """The leader first; the wire is at the tip once there is enough for the disc to reach the water."""
    least_m = 5.0 * FT + 1.5
    reel.target_m = 30.0
    reel.reading_m = least_m - 0.01
    reel.begin(whole=False)
    assert reel.on_reel == 1
    assert reel.first_line_m == pytest.approx(reel.past_tip_m)
    assert not reel.takes_up(LEADER_M + least_m - 0.01)
    assert reel.takes_up(LEADER_M + least_m)
    assert (reel.on_reel, reel.first_line_m) == (0, None)
    reel.reading_m = 0.0
    reel.begin(whole=True)
    assert reel.on_reel == 0


def test_the_whole_chain_counts_what_is_still_to_go_out(reel: Reel) -> None:
    """A rod of 120 ft by its file; a running line, or one at the rail, is as long as it is going to be."""
    assert reel.whole_m(7.0, running=True) == 7.0
    reel.reading_m, reel.target_m = 20.0, 25.0
    assert reel.whole_m(22.4, running=False) == 22.4
    assert reel.whole_m(22.4, running=True) == pytest.approx(22.4 + 120.0 * FT - 20.0)
    reel.target_m = 60.0
    assert reel.whole_m(22.4, running=True) == pytest.approx(62.4)
    reel.reading_m = 80.0
    assert reel.whole_m(82.4, running=True) == 82.4
    reel.reading_m, reel.target_m = AT_RAIL_M, None
    assert reel.whole_m(6.0, running=False) == pytest.approx(6.0 + 120.0 * FT - AT_RAIL_M)
    reel.reading_m = AT_RAIL_M + 0.01
    assert reel.whole_m(6.0, running=False) == 6.0


def test_a_counter_that_counts_short_lets_out_more_than_it_says(two_rods: Spread) -> None:
    """1.25 m to a metre counted: at the same metre a second the counter goes slower, and the chain is longer."""
    spread = two_rods.with_values({"rod 1 counter": 1.25})
    rod = spread.rod_by_key("1")
    assert rod is not None
    reel = Reel(spread, rod, 1.0, reading_m=20.0, target_m=60.0)
    assert reel.whole_m(22.4, running=True) == pytest.approx(22.4 + 40.0 * 1.25)
    assert reel.run(2.0) == pytest.approx(1.0)
    assert reel.reading_m == pytest.approx(21.6)
    reel.ran_for(5.0)
    assert reel.reading_m == pytest.approx(25.6)


def test_how_it_goes_out_is_found_anew_when_the_rig_changes(reel: Reel, two_rods: Spread) -> None:
    first = reel.out
    assert reel.out is first
    assert first is not None
    down = two_rods.rod_by_key("2")
    assert down is not None
    reel.rod = down
    assert reel.out is not first
    reel.lead_m, before = 9.0, reel.out
    assert reel.out is not before
    assert reel.out is not None
    assert reel.out.beyond_m[0] == pytest.approx(9.0)
