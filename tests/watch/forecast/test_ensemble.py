"""The ensemble: who shares a draw, what is never drawn, and fleets that lie and move as single chains do."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sternwatch.answers.belief.priors import Draws, member_rigs
from sternwatch.answers.chains.arrays import AS_FILED, RodNow, rig_of, water_of
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values import defaults
from sternwatch.hydro.chain.model import Body, Line
from sternwatch.hydro.chain.rows import STILL
from sternwatch.hydro.steady.solver import solve
from sternwatch.watch.boat.manoeuvres import hold, path_of, turn
from sternwatch.watch.chains.ensemble import Cast, Fleet, cast_of, one_of, run, settled, with_line
from sternwatch.watch.chains.polylines import polylines
from sternwatch.watch.picture.manoeuvre import Manoeuvre

# As agreed: a change of one is to be noticed.
LEADER_M = 10.0

SPEED = 1.03


def cast(spread: Spread, draws: Draws | None, keys: str = "", **lengths: float) -> Cast:
    rods = {rod.key: AS_FILED for rod in spread.rods if not keys or rod.key in keys}
    rods |= {key[1:]: RodNow(line_out_as_counter_m=length) for key, length in lengths.items()}
    return cast_of(spread, rods, water=water_of(spread), flow=STILL, draws=draws)


@pytest.fixture(scope="module")
def fleet(spread: Spread) -> Fleet:
    return settled(cast(spread, Draws()), heading_rad=0.0, speed_m_s=SPEED)


def bodies(rig: object) -> list[Body]:
    return [item for item in rig.chain.items if isinstance(item, Body)]  # type: ignore[attr-defined]


def test_draws_depend_on_the_name_alone() -> None:
    draws, again, other = Draws(3), Draws(3), Draws(4)
    draws.normal("something else")
    assert np.array_equal(draws.normal("wire"), again.normal("wire"))
    assert not np.array_equal(draws.normal("wire"), draws.normal("disc"))
    assert not np.array_equal(draws.normal("wire"), other.normal("wire"))


def test_draws_take_one_of_every_sixteenth() -> None:
    shares = np.array([0.5 * math.erfc(-z / math.sqrt(2)) for z in Draws(1).normal("wire")])
    assert sorted(np.floor(shares * 16)) == list(range(16))


def test_factors_stay_about_the_value_and_mostly_in_the_range() -> None:
    many = Draws(0, members=2000).factor("trim", defaults.DIVER_TRIM) * defaults.DIVER_TRIM.value
    assert np.median(many) == pytest.approx(defaults.DIVER_TRIM.value, rel=0.01)
    inside = (many > defaults.DIVER_TRIM.low) & (many < defaults.DIVER_TRIM.high)
    assert inside.mean() == pytest.approx(0.90, abs=0.01)
    one_sided = Draws(0, members=2000).factor("hum", defaults.Default(1.0, 1.0, 2.05, "1", "the test's own"))
    assert one_sided.min() == 1.0


def test_one_name_one_draw(spread: Spread) -> None:
    rods = {rod.key: AS_FILED for rod in spread.rods}
    members = member_rigs(spread, rods, water_of(spread), Draws())
    assert len(members) == 16
    trims = {round(bodies(members[m]["2"])[0].trim_rad, 12) for m in range(16)}
    assert len(trims) == 16
    for own in members:
        assert bodies(own["2"])[0].trim_rad == bodies(own["6"])[0].trim_rad
        first = next(item for item in own["2"].chain.items if isinstance(item, Line))
        other = next(item for item in own["7"].chain.items if isinstance(item, Line))
        assert first.drag_factor == other.drag_factor
        # Port and starboard discs of one setting differ by no more than two discs of one kind do.
        assert bodies(own["3"])[0].roll_rad == pytest.approx(-bodies(own["6"])[0].roll_rad, abs=math.radians(12))


def test_what_the_file_gives_is_used_as_given(spread: Spread) -> None:
    wire = spread.line["wire"].model_copy(update={"normal_drag": 1.3})
    disc = spread.tackle["disc"].model_copy(update={"trim_rad": 0.5, "wet_weight_N": 0.4})
    given = spread.model_copy(
        update={"line": {**spread.line, "wire": wire}, "tackle": {**spread.tackle, "disc": disc}}
    )
    water = water_of(given)
    for own in member_rigs(given, {"2": AS_FILED}, water, Draws()):
        first = own["2"].chain.items[0]
        assert isinstance(first, Line)
        assert first.normal_drag * first.drag_factor == 1.3
        assert bodies(own["2"])[0].trim_rad == 0.5
        assert bodies(own["2"])[0].wet_weight_N == 0.4


def test_without_draws_it_is_the_file(spread: Spread) -> None:
    rod = spread.rods[1]
    (own,) = member_rigs(spread, {rod.key: AS_FILED}, water_of(spread), None)
    assert own[rod.key].chain == rig_of(spread, rod, AS_FILED, water_of(spread)).chain


def test_a_settled_fleet_lies_where_each_steady_chain_lies(spread: Spread, fleet: Fleet) -> None:
    own = fleet.cast
    for row in (0, 9, 77):
        member, rod = divmod(row, own.rods)
        steady = solve(
            own.chains[row],
            SPEED * float(own.speed_factor[member]),
            water=own.water,
            current=(own.flow.depths_m, own.flow.velocity_m_s[row]),
        )
        end = fleet.state.position_m[row, own.rows.n_nodes[row] - 1]
        # A fleet starts from shapes good to 1e-5; where the water below has a knee that is some millimetres.
        assert end == pytest.approx([-steady.astern_m, steady.abeam_m, steady.depth_m], abs=1e-2)
        assert own.keys[rod] == spread.rods[rod].key


@pytest.mark.parametrize(("segments", "within_m"), [(12, 0.7), (60, 0.05)])
def test_settled_chains_stay_on_a_straight_course(spread: Spread, segments: int, within_m: float) -> None:
    """What moves is the difference between straight segments and the curve: half a metre on a long light lead of five
    segments, and less and less with more of them. A ball's rod line is laid in the surface's water at the start, and
    in the water at the ball when it moves, which no number of segments changes."""
    rods = {rod.key: AS_FILED for rod in spread.rods}
    fine = cast_of(
        spread, rods, water=water_of(spread), flow=STILL, draws=Draws(0, 4), segments=dict.fromkeys(rods, segments)
    )
    done = run(settled(fine, heading_rad=0.0, speed_m_s=SPEED), path_of(hold(), heading_rad=0.0, speed_m_s=SPEED))
    assert done.known.all()
    last = fine.rows.n_nodes[: fine.rods] - 1
    ends = done.positions_m[:, :, np.arange(fine.rods), last] - done.track[:, :, None, :] * [1.0, 1.0, 0.0]
    moved = np.abs(ends[-1] - ends[0]).max(axis=(0, 2))
    balls = np.array([rod.rod_line is not None for rod in spread.rods])
    assert balls.any()
    assert moved[~balls].max() < within_m
    assert moved[balls].max() < max(within_m, 0.3)


def test_heading_only_turns_the_picture(spread: Spread) -> None:
    nominal = cast(spread, None)
    outcomes = []
    for heading in (0.0, 2.0):
        afloat = settled(nominal, heading_rad=heading, speed_m_s=SPEED)
        done = run(afloat, path_of(turn("port", 90, radius_m=50), heading_rad=heading, speed_m_s=SPEED))
        ends = nominal.rows.n_nodes - 1  # places past them mean nothing
        nodes = np.minimum(np.arange(nominal.rows.nodes), ends[:, None])
        at = np.take_along_axis(done.positions_m[-1, 0], nodes[..., None], 1) - [*done.track[-1, 0, :2], 0.0]
        c, s = math.cos(-heading), math.sin(-heading)
        outcomes.append(np.stack([c * at[..., 0] - s * at[..., 1], s * at[..., 0] + c * at[..., 1], at[..., 2]]))
    assert outcomes[0] == pytest.approx(outcomes[1], abs=1e-4)


def test_one_member_alone_runs_as_in_the_fleet(fleet: Fleet) -> None:
    path = path_of(turn("starboard", 60, radius_m=40), heading_rad=0.0, speed_m_s=SPEED)
    together, alone = run(fleet, path), run(one_of(fleet, 5), path)
    for rod, nodes in enumerate(together.cast.rows.n_nodes[: fleet.cast.rods]):
        assert np.array_equal(together.positions_m[:, 5, rod, :nodes], alone.positions_m[:, 0, rod, :nodes])
    assert np.array_equal(together.track[:, 5], alone.track[:, 0])


def test_more_line_out_on_one_rod_leaves_the_others(fleet: Fleet) -> None:
    longer = with_line(fleet, "2", 6.0)
    assert longer is not None
    rod = fleet.cast.keys.index("2")
    rows = np.arange(fleet.cast.members) * fleet.cast.rods
    assert longer.state.rest_m[rows + rod].sum(axis=1) == pytest.approx(
        fleet.state.rest_m[rows + rod].sum(axis=1) + 6.0
    )
    assert longer.cast.strands.arc_m[rod].max() == pytest.approx(fleet.cast.strands.arc_m[rod].max() + 6.0)
    others = np.setdiff1d(np.arange(len(fleet.state)), rows + rod)
    assert np.array_equal(longer.state.position_m[others], fleet.state.position_m[others])
    assert with_line(fleet, "2", -500.0) is None


def test_leaders_are_tackle_and_long_line_is_not(spread: Spread) -> None:
    own = cast(spread, None)
    strands = own.strands
    for rod, key in enumerate(own.keys):
        rig = own.rigs[rod]
        n = int(strands.n_nodes[rod])
        heavy = float((np.diff(strands.arc_m[rod, :n]) * strands.leader[rod, : n - 1]).sum())
        lines = [item for item in rig.chain.items if isinstance(item, Line)]
        leaders, stretch, seen = 0.0, 0.0, False
        for item in rig.chain.items:
            if isinstance(item, Line):
                stretch += item.length_m
            else:
                leaders += stretch if seen and stretch <= LEADER_M else 0.0
                stretch, seen = 0.0, True
        assert heavy == pytest.approx(leaders, abs=1e-9), key
        assert heavy < sum(line.length_m for line in lines)
    # A diver's leader counts, lead-core behind a board does not.
    assert strands.leader[own.keys.index("2")].any()
    assert not strands.leader[own.keys.index("1")].any()


def test_rod_lines_hang_between_tip_and_ball(fleet: Fleet) -> None:
    done = run(fleet, path_of(turn("port", 90, radius_m=40), heading_rad=0.0, speed_m_s=SPEED))
    lines = polylines(done)
    own = fleet.cast
    assert [own.keys[rod] for rod in own.rod_line_of] == ["4", "5"]
    for j, rod in enumerate(own.rod_line_of):
        line = lines[:, :, own.rods + j, :6]
        ball = done.positions_m[:, :, rod, int(own.rows.rod_node[rod])]
        assert line[:, :, 5] == pytest.approx(ball)
        assert (line[:, :, 0, 2] < 0).all()
        assert line[:, :, 1, 2] == pytest.approx(0.0, abs=0.05)
        assert (np.diff(line[:, :, 1:, 2], axis=2) > 0).all()  # ever deeper
        assert own.strands.owner[own.rods + j] == rod


def test_a_rod_clipped_to_a_cable_follows_it(spread: Spread) -> None:
    down = next(rod for rod in spread.rods if rod.key == "4")
    line = next(item for item in down.chain[2:3])
    lure = down.chain[-1]
    clipped = down.model_copy(
        update={
            "key": "9",
            "name": "STACK",
            "tip": None,
            "rod_line": None,
            "clipped_to": type(spread.rods[0])
            .model_fields["clipped_to"]
            .annotation.__args__[0]
            .model_validate(  # type: ignore[union-attr]
                {"rod": "4", "above_ball": "12 ft"}
            ),
            "chain": (line, lure),
        }
    )
    stacked = spread.model_copy(update={"rod": (*spread.rods, clipped)})
    own = cast(stacked, Draws(0, 2), keys="49")
    afloat = settled(own, heading_rad=0.0, speed_m_s=SPEED)
    done = run(afloat, path_of(turn("port", 90, radius_m=40), heading_rad=0.0, speed_m_s=SPEED))
    assert done.known.all()
    ball = int(own.rows.body_node[0, 0])
    for member in range(2):
        arc = own.rows.arc_m[2 * member]
        at = arc[ball] - 12 * 0.3048
        i = int(np.searchsorted(arc, at)) - 1
        share = (at - arc[i]) / (arc[i + 1] - arc[i])
        cable = done.positions_m[:, member, 0]
        expected = cable[:, i] + share * (cable[:, i + 1] - cable[:, i])
        assert done.positions_m[1:, member, 1, 0] == pytest.approx(expected[1:], abs=1e-9)
    assert own.strands.owner[1] == own.strands.owner[0]
    # Without the cable there is nothing to be clipped to.
    assert cast(stacked, None, keys="29").keys == ("2",)


def test_a_chain_that_cannot_be_followed_is_not_known(fleet: Fleet) -> None:
    broken = Fleet(fleet.cast, fleet.state.copy(), fleet.boat_m, fleet.heading_rad)
    broken.state.failed[3] = True
    done = run(broken, path_of(hold(), heading_rad=0.0, speed_m_s=SPEED))
    assert not done.known[0, 3]
    assert done.known.sum() == done.known.size - 1
    assert np.isnan(done.positions_m[:, 0, 3]).all()


def test_members_who_go_another_way_through_the_water_go_on_so(fleet: Fleet) -> None:
    """Speed over ground less a current that differs from member to member: on straight on, round and stopped."""
    own = np.stack([SPEED * fleet.cast.speed_factor + 0.1, np.linspace(-0.2, 0.2, 16)], axis=1)
    drifting = Fleet(fleet.cast, fleet.state, fleet.boat_m, 0.0, own)
    on = run(drifting, path_of(hold(), heading_rad=0.0, speed_m_s=SPEED))
    assert on.track[..., :2] == pytest.approx(on.path.time_s[:, None, None] * own)
    about = run(drifting, path_of(turn("starboard", 180, radius_m=40), heading_rad=0.0, speed_m_s=SPEED))
    end = (about.track[-1, :, :2] - about.track[-2, :, :2]) / about.path.step_s[-1]
    assert end == pytest.approx(-own)
    # Half a circle of her own: its diameter is her speed over her rate of turn, twice, and lies abeam of her way.
    half = int(np.searchsorted(about.path.time_s, about.path.ends_s))
    across = about.track[half, :, :2] - fleet.boat_m
    assert across == pytest.approx(2.0 * 40.0 / SPEED * np.stack([-own[:, 1], own[:, 0]], axis=1), rel=1e-3, abs=0.05)
    stopped = run(drifting, path_of(Manoeuvre("stop", stop_s=300.0), heading_rad=0.0, speed_m_s=SPEED))
    still = np.searchsorted(stopped.path.time_s, [60.0, 120.0])
    assert stopped.track[still[1]] == pytest.approx(stopped.track[still[0]])
    assert run(one_of(drifting, 3), on.path).track[:, 0] == pytest.approx(on.track[:, 3])


def test_on_a_long_straight_a_clipped_rod_begins_on_its_carriers_cable(stacked: Spread) -> None:
    """Fifteen feet of cable above the ball, in every member, whichever way she heads."""
    lying = settled(cast(stacked, Draws(None, 3)), heading_rad=2.0, speed_m_s=SPEED)
    carrier, clipped = (lying.cast.keys.index(key) for key in ("4", "5"))
    for member in range(3):
        row = member * lying.cast.rods
        cable = lying.state.position_m[row + carrier]
        ball, arc = int(lying.cast.rows.body_node[row + carrier, 0]), lying.cast.rows.arc_m[row + carrier]
        at = arc[ball] - 15 * 0.3048
        point = [float(np.interp(at, arc[: ball + 1], cable[: ball + 1, axis])) for axis in range(3)]
        assert lying.state.position_m[row + clipped, 0] == pytest.approx(point, abs=1e-3)
        assert len({round(float(x), 2) for x in point}) == 3, "no two of its coordinates are alike"
