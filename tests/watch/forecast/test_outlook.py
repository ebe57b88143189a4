"""Forecasts, limits and advice on the demo's spread, and on spreads whose answer is plain."""

from __future__ import annotations

import math
from dataclasses import asdict, replace

import numpy as np
import pytest

from sternwatch.answers.belief.priors import Draws
from sternwatch.answers.chains.arrays import AS_FILED, water_of
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.hydro.chain.rows import STILL
from sternwatch.hydro.separation.distance import Required
from sternwatch.hydro.separation.verdicts import Verdict
from sternwatch.local_time import m_ss
from sternwatch.watch.boat.manoeuvres import hold, turn
from sternwatch.watch.chains.ensemble import Fleet, Run, cast_of, one_of, required_of, settled, with_line
from sternwatch.watch.forecast import make
from sternwatch.watch.forecast.make import forecast, risk
from sternwatch.watch.forecast.meeting_words import MOST
from sternwatch.watch.forecast.turn_limit import finish, side_limit, slowest
from sternwatch.watch.forecast.turn_words import limit_words
from sternwatch.watch.outlook.advice import advise
from sternwatch.watch.outlook.changes import Change, line_step_m, sentence
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.picture.outlook import Forecast

# As agreed: a change of one is to be noticed.
RISK = 0.1

SPEED = 1.03
NAMES = {"2": "P HIGH", "3": "P LOW"}


def afloat(spread: Spread, keys: str = "12345678", members: int = 16, width: float = 1.0) -> Fleet:
    rods = {rod.key: AS_FILED for rod in spread.rods if rod.key in keys}
    cast = cast_of(spread, rods, water=water_of(spread), flow=STILL, draws=Draws(0, members, width=width))
    return settled(cast, heading_rad=0.4, speed_m_s=SPEED)


@pytest.fixture(scope="module")
def fleet(spread: Spread) -> Fleet:
    return afloat(spread)


@pytest.fixture(scope="module")
def divers(spread: Spread) -> Fleet:
    """The two divers of the port side alone: quick to run, and known well enough that all members do alike."""
    return afloat(spread, "23", width=0.5)


@pytest.fixture(scope="module")
def tight(spread: Spread, divers: Fleet) -> Forecast:
    return forecast(divers, turn("port", 180, radius_m=25), speed_m_s=SPEED, required=required_of(spread))


def test_a_straight_course_is_quiet_and_says_everything(spread: Spread, fleet: Fleet) -> None:
    made = forecast(fleet, hold(), speed_m_s=SPEED, required=required_of(spread))
    assert made.any_crossing == 0.0
    assert made.members == 16
    assert len(made.pairs) == 28
    assert [rod.key for rod in made.rods] == [rod.key for rod in spread.rods]
    for pair in made.pairs:
        assert pair.probability == 0.0
        assert pair.separation_m is not None
        assert pair.required_m is not None
        assert pair.separation_m > pair.required_m
        assert 0.0 <= pair.time_s <= made.horizon_s  # type: ignore[operator]
        assert pair.astern_m > 0  # type: ignore[operator]
    for rod in made.rods:
        assert rod.known == 1.0
        assert rod.depth_low_m < rod.depth_min_m <= rod.depth_max_m < rod.depth_high_m  # type: ignore[operator]
        assert rod.speed_min_m_s == pytest.approx(SPEED, abs=0.08)
        assert rod.depth_m.shape == (len(made.time_s), 3)
        assert (np.diff(rod.depth_m, axis=1) >= 0).all()
    divers = [rod.slack_s for rod in made.rods if rod.key in "2367"]
    assert divers == [0.0] * 4
    assert made.rods[0].slack_s is None  # nothing on a board's rod can hang slack


def test_a_tight_turn_crosses_the_inside_divers(tight: Forecast) -> None:
    (pair,) = tight.pairs
    assert pair.keys == ("2", "3")
    assert pair.probability > 0.9
    assert pair.separation_m == pytest.approx(0.0, abs=0.3)
    assert pair.undercut_s is not None
    assert pair.undercut_s <= pair.time_s + 30  # type: ignore[operator]
    assert tight.any_crossing == pair.probability
    assert tight.worst == pair
    assert all(rod.slack_s > 20 for rod in tight.rods)  # type: ignore[operator]
    assert all(rod.depth_max_m > rod.depth_min_m + 5 for rod in tight.rods)  # type: ignore[operator]


def test_for_alerts_alone_a_pair_that_can_raise_one_is_told_whole(
    spread: Spread, divers: Fleet, tight: Forecast
) -> None:
    again = forecast(
        divers, tight.manoeuvre, speed_m_s=SPEED, required=required_of(spread), alerts_only=True
    )  # fmt: skip
    asked = asdict(replace(tight, rods=again.rods, worst_shapes_m={}))
    np.testing.assert_equal(asdict(again), asked)
    for rod, same in zip(again.rods, tight.rods, strict=True):
        assert (rod.key, rod.known, rod.depth_min_m) == (same.key, same.known, None)
        np.testing.assert_array_equal(rod.bodies_m, same.bodies_m)  # type: ignore[arg-type]


def test_places_past_a_lines_last_node_mean_nothing(spread: Spread, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of lines with fewer nodes than the longest, and of pairs that touch in all members, in few and in none."""
    four = afloat(spread, "1234", members=6)
    nodes = four.cast.strands.n_nodes
    assert len(set(nodes.tolist())) > 1
    sharp = turn("port", 180, radius_m=20)
    whole = forecast(four, sharp, speed_m_s=SPEED, required=required_of(spread))
    assert sorted(round(6 * pair.shares.contact) for pair in whole.pairs if pair.shares is not None) == [
        0, 0, 0, 1, 1, 6,
    ]  # fmt: skip
    again = forecast(four, sharp, speed_m_s=SPEED, required=required_of(spread), alerts_only=True)
    for pair, same in zip(again.pairs, whole.pairs, strict=True):
        if not (same.shares.contact or same.shares.near_pass >= MOST):
            told = (same.keys, same.probability, same.shares, same.members)
            assert (pair.keys, pair.probability, pair.shares, pair.members, pair.separation_m) == (*told, None)
        else:
            np.testing.assert_equal(asdict(pair), asdict(same))
    assert (again.worst, again.worst_member, again.worst_s) == (whole.worst, whole.worst_member, whole.worst_s)
    of = make.run

    def poisoned(*given: object) -> Run:
        done = of(*given)  # type: ignore[arg-type]
        for row, count in enumerate(nodes):
            done.lines_m[:, :, row, count:] = np.nan
        return done

    monkeypatch.setattr(make, "run", poisoned)
    again = forecast(four, sharp, speed_m_s=SPEED, required=required_of(spread))
    np.testing.assert_equal(asdict(again), asdict(whole))


def test_for_alerts_alone_a_quiet_course_is_told_briefly(spread: Spread, divers: Fleet) -> None:
    whole, brief = (
        forecast(divers, hold(), speed_m_s=SPEED, required=required_of(spread), alerts_only=only)
        for only in (False, True)
    )
    assert (brief.members, brief.any_crossing, brief.ends_s, brief.horizon_s) == (
        16,
        0.0,
        whole.ends_s,
        whole.horizon_s,
    )
    assert [(pair.keys, pair.probability, pair.shares, pair.members) for pair in brief.pairs] == [
        (pair.keys, pair.probability, pair.shares, pair.members) for pair in whole.pairs
    ]
    assert (brief.worst, brief.touches, brief.time_s.tolist()) == (None, (), whole.time_s.tolist())
    for rod, same in zip(brief.rods, whole.rods, strict=True):
        assert (rod.key, rod.known) == (same.key, same.known)
        assert rod.bodies_m is not None
        assert same.bodies_m is not None
        assert rod.bodies_m.tobytes() == same.bodies_m.tobytes()


def test_the_worst_moment_shows_the_two_lines_together(tight: Forecast) -> None:
    a, b = (tight.worst_shapes_m[key] for key in ("2", "3"))
    contact = tight.pairs[0].counting_contact
    assert contact is not None
    assert (contact.member, contact.time_s) == (tight.worst_member, tight.worst_s)
    place = np.array([contact.astern_m, contact.abeam_m, contact.depth_m])

    def away(line: np.ndarray) -> float:
        share = np.linspace(0, 1, 50)[:, None, None]
        points = line[None, :-1] + share * (line[None, 1:] - line[None, :-1])
        return float(np.linalg.norm(points - place, axis=2).min())

    assert away(a) < 0.3
    assert away(b) < 0.3


def test_probabilities_are_shares_of_the_same_members(spread: Spread, divers: Fleet) -> None:
    plan, required = turn("port", 180, radius_m=30), required_of(spread)
    together = forecast(divers, plan, speed_m_s=SPEED, required=required)
    alone = [risk(one_of(divers, m), plan, speed_m_s=SPEED, required=required).any for m in range(16)]
    assert together.any_crossing == pytest.approx(np.mean(alone))
    assert set(alone) <= {0.0, 1.0}


def test_the_median_member_stands_for_the_pair(spread: Spread, divers: Fleet) -> None:
    plan, required = turn("port", 180, radius_m=32), required_of(spread)
    made = forecast(divers, plan, speed_m_s=SPEED, required=required)
    ratios = []
    for m in range(16):
        pair = forecast(one_of(divers, m), plan, speed_m_s=SPEED, required=required).pairs[0]
        ratios.append(pair.separation_m / pair.required_m)  # type: ignore[operator]
    own = made.pairs[0].separation_m / made.pairs[0].required_m  # type: ignore[operator]
    # Ratios over one and a half are not sought in every member: here the middle is below.
    assert sorted(ratios)[7] < 1.5
    assert own == pytest.approx(sorted(ratios)[7])


def test_time_runs_from_the_start_of_the_manoeuvre(spread: Spread, divers: Fleet) -> None:
    required = required_of(spread)
    now = forecast(divers, turn("port", 180, radius_m=25), speed_m_s=SPEED, required=required)
    later = forecast(divers, replace(turn("port", 180, radius_m=25), wait_s=30.0), speed_m_s=SPEED, required=required)
    assert later.horizon_s == pytest.approx(now.horizon_s + 30, abs=1.0)
    assert later.pairs[0].undercut_s == pytest.approx(now.pairs[0].undercut_s + 30, abs=6)  # type: ignore[operator]
    assert later.pairs[0].contact is not None
    assert later.worst_s == pytest.approx(later.pairs[0].contact.time_s + 30)


def test_a_chain_that_is_lost_leaves_its_pairs_unknown(spread: Spread, divers: Fleet) -> None:
    broken = Fleet(divers.cast, divers.state.copy(), divers.boat_m, divers.heading_rad)
    broken.state.failed[::2] = True  # rod 2 in every member
    made = forecast(broken, hold(), speed_m_s=SPEED, required=required_of(spread))
    assert made.rods[0].known == 0.0
    assert made.rods[0].depth_max_m is None
    assert made.pairs[0].probability is None
    assert made.rods[1].depth_max_m is not None
    assert made.worst is None


def test_time_out_of_the_zone(spread: Spread, divers: Fleet) -> None:
    required = required_of(spread)
    nowhere = forecast(divers, hold(), speed_m_s=SPEED, required=required, in_zone=lambda d: np.zeros_like(d, bool))
    everywhere = forecast(divers, hold(), speed_m_s=SPEED, required=required, in_zone=lambda d: d > 0.0)
    assert [rod.out_of_zone_s for rod in nowhere.rods] == pytest.approx([180.0, 180.0])
    assert [rod.out_of_zone_s for rod in everywhere.rods] == [0.0, 0.0]


# -- limits ---------------------------------------------------------------------------------------------------


def test_the_tightest_turn_is_the_least_above_which_all_pass(spread: Spread, divers: Fleet) -> None:
    radii = (60.0, 40.0, 25.0, 15.0)
    found = finish(side_limit(divers, "port", speed_m_s=SPEED, required=required_of(spread), radii_m=radii))
    assert found.radius_m == 40.0
    assert found.limited_by == ("2", "3")
    assert [radius for radius, _ in found.tried_m] == [60.0, 40.0, 32.0, 25.0]  # one more between the last two
    assert all((share <= RISK) == (radius >= 40.0) for radius, share in found.tried_m)
    assert found.tried_m[-1][1] > RISK
    assert found.half_circle_s == pytest.approx(math.pi * 40 / SPEED)
    assert found.rate_deg_s == pytest.approx(180 / found.half_circle_s)
    # pi * 40 m at 1.03 m/s: 122 s.
    assert limit_words(found) == "PORT 180° in 2:02 or slower · 15° per 10 s"


def test_no_limit_where_even_the_widest_fails(spread: Spread, divers: Fleet) -> None:
    found = finish(side_limit(divers, "port", speed_m_s=SPEED, required=required_of(spread), radii_m=(20.0, 15.0)))
    assert found.radius_m is None
    assert limit_words(found) == "PORT: no turn avoids crossing"
    assert found.limited_by == ("2", "3")
    assert len(found.tried_m) == 1


def test_what_is_required_makes_near_passes_and_no_crossing(divers: Fleet) -> None:
    """However much room is asked for, lines that keep a metre apart do not touch."""
    greedy = Required(line_m=30.0, tackle_m=30.0, taper_m=1.0)
    made = forecast(divers, hold(), speed_m_s=SPEED, required=greedy)
    (pair,) = made.pairs
    assert made.any_crossing == 0.0
    assert pair.probability == 0.0
    assert pair.shares.near_pass == 1.0
    assert pair.verdict == Verdict.NEAR_PASS
    assert pair.contact is None
    assert pair.near_pass is not None
    assert {pair.near_pass.over, pair.near_pass.under} == {"2", "3"}
    assert pair.near_pass.apart_again_s is None


def test_slowest_speed_over_a_bottom(spread: Spread, divers: Fleet) -> None:
    required = required_of(spread)
    free = finish(slowest(divers, speed_m_s=SPEED, required=required, shares=(0.8, 0.6)))
    assert free.speed_m_s == pytest.approx(0.6 * SPEED)
    assert free.limited_by == ""
    shoal = finish(slowest(divers, speed_m_s=SPEED, required=required, bottom_m=15.0, shares=(0.8,)))
    assert shoal.speed_m_s is None
    assert shoal.limited_by == "bottom"
    assert set(shoal.keys) == {"2", "3"}
    meant = finish(
        slowest(divers, speed_m_s=SPEED, required=required, bottom_m=15.0, on_bottom=["2", "3"], shares=(0.8,))
    )
    assert meant.limited_by == ""


# -- advice ---------------------------------------------------------------------------------------------------


def test_a_crossing_turn_is_cured_by_a_slower_one(spread: Spread, divers: Fleet, tight: Forecast) -> None:
    required = required_of(spread)
    found = advise(divers, tight, speed_m_s=SPEED, required=required, units=SYSTEMS["us"], names=NAMES)
    assert 1 <= len(found) <= 3
    for one in found:
        assert one.text.endswith((" %).", " %.", "in none of 16."))
        assert one.probability_after <= RISK
    slower = next(one for one in found if one.change["what"] == "turn" and one.change["side"] == "port")
    radius = slower.change["radius_m"]
    assert isinstance(radius, float)
    assert radius > 25.0
    # What was promised holds when it is done.
    after = risk(divers, turn("port", 180, radius_m=radius), speed_m_s=SPEED, required=required)
    assert after.any == slower.probability_after
    assert f"{m_ss(math.pi * radius / SPEED)}" in slower.text


def test_advice_names_the_rod_and_the_line() -> None:
    change = Change("line", 1.5, hold(), rod="2", by_m=-2 * line_step_m(SYSTEMS["us"]))
    text = sentence(change, 0.0, SPEED, SYSTEMS["us"], NAMES, RISK, members=16)
    assert text == "Take in 20 ft on P HIGH: crossing in none of 16."
    metric = Change("line", 1.5, hold(), rod="3", by_m=line_step_m(SYSTEMS["metric"]))
    text = sentence(metric, 0.5, SPEED, SYSTEMS["metric"], NAMES, RISK, members=16)
    assert text == "Let out 3 m on P LOW: crossing still 50 %."
    speed = Change("speed", 1.0, Manoeuvre("hold", to_speed_m_s=2.5 * 0.44704))
    assert sentence(speed, 0.0625, SPEED, SYSTEMS["us"], NAMES, RISK, members=16).startswith("Go 2.5 mph from now on")


def test_a_change_of_line_that_is_advised_is_the_change_that_was_run(spread: Spread, divers: Fleet) -> None:
    required = required_of(spread)
    changed = with_line(divers, "2", -6.0)
    assert changed is not None
    made = forecast(changed, hold(), speed_m_s=SPEED, required=required)
    before = forecast(divers, hold(), speed_m_s=SPEED, required=required)
    assert made.rods[0].depth_m[-1, 1] < before.rods[0].depth_m[-1, 1] - 1.0
    assert made.rods[1].depth_m[-1, 1] == pytest.approx(before.rods[1].depth_m[-1, 1])


def test_nothing_to_cure_no_advice(spread: Spread, divers: Fleet) -> None:
    broken = Fleet(divers.cast, divers.state.copy(), divers.boat_m, divers.heading_rad)
    broken.state.failed[:] = True
    made = forecast(broken, hold(), speed_m_s=SPEED, required=required_of(spread))
    assert made.any_crossing is None
    units = SYSTEMS["us"]
    assert advise(broken, made, speed_m_s=SPEED, required=required_of(spread), units=units, names=NAMES) == ()
