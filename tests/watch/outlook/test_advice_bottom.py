"""What is advised where tackle comes to the bottom: tried, in the user's units, and never over unknown ground."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from sternwatch.answers.belief.priors import MEMBERS, Draws
from sternwatch.answers.chains.arrays import AS_FILED, water_of
from sternwatch.gear.spread_file.models import ClippedTo, Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.hydro.chain.rows import STILL
from sternwatch.watch.boat.manoeuvres import hold, path_of, turn
from sternwatch.watch.bottom.soundings import Sounding, Soundings
from sternwatch.watch.chains.ensemble import Fleet, cast_of, required_of, rods_of, run, settled, with_line
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.forecast.bottom_ahead import Ground, raised_by, run_touches, touches
from sternwatch.watch.forecast.make import forecast
from sternwatch.watch.forecast.snapshot import snapshot
from sternwatch.watch.outlook.advice import advise, advise_touch
from sternwatch.watch.outlook.renewal import OutlookMaker, Wishes
from sternwatch.watch.outlook.rows import outlook_row
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.picture.outlook import Advice, Forecast

# As agreed: a change of one is to be noticed.
RISK = 0.1

SPEED = 1.03
NAMES = {"2": "P HIGH", "3": "P LOW", "4": "P DOWN", "5": "S DOWN"}

Bottom = Callable[[float, float], float | None]  # north, east of the boat -> depth; None: nobody has sounded there


def left(share: float) -> str:
    """A small share of the members in words."""
    return f"bottom touch unlikely ({100 * share:.0f} %)" if share else f"bottom touch in none of {MEMBERS}"


def afloat(spread: Spread, keys: str, width: float = 1.0) -> Fleet:
    rods = {rod.key: AS_FILED for rod in spread.rods if rod.key in keys}
    cast = cast_of(spread, rods, water=water_of(spread), flow=STILL, draws=Draws(0, width=width))
    return settled(cast, heading_rad=0.0, speed_m_s=SPEED)


@pytest.fixture(scope="module")
def divers(spread: Spread) -> Fleet:
    return afloat(spread, "23")


@pytest.fixture(scope="module")
def balls(spread: Spread) -> Fleet:
    """Known twice as well as by default, as by a tape and a probe; else no speed lifts the deepest of them enough."""
    return afloat(spread, "45", 0.5)


def sounded(bottom: Bottom, wide_m: int = 250) -> Ground:
    """The boat at the origin on a course north; what earlier trips sounded every 8 m about it."""
    soundings = Soundings()
    for north in range(-wide_m, wide_m + 1, 8):
        for east in range(-wide_m, wide_m + 1, 8):
            depth = bottom(float(north), float(east))
            if depth is not None:
                soundings.add(Sounding(0.0, float(north), float(east), depth, earlier=True))
    return Ground(1.0, (0.0, 0.0), 0.0, 0.0, (0.0, 0.0), soundings)


def held(spread: Spread, fleet: Fleet, ground: Ground, manoeuvre: Manoeuvre | None = None) -> Forecast:
    made = forecast(fleet, manoeuvre or hold(), speed_m_s=SPEED, required=required_of(spread))
    return replace(made, touches=touches(made, ground))


def advice(spread: Spread, fleet: Fleet, made: Forecast, key: str, ground: Ground) -> tuple[Advice, ...]:
    return advise_touch(
        fleet, made, key, ground,
        speed_m_s=SPEED, required=required_of(spread), units=SYSTEMS["us"], names=NAMES,
    )  # fmt: skip


def depth_of(spread: Spread, fleet: Fleet, key: str) -> float:
    made = forecast(fleet, hold(), speed_m_s=SPEED, required=required_of(spread))
    depth = next(rod.depth_max_m for rod in made.rods if rod.key == key)
    assert depth is not None
    return depth


def on_the_track(bottom_m: float) -> Bottom:
    """A bank that begins beneath the boat, of which only her own track is known."""
    return lambda north, east: None if abs(east) > 16.0 else (bottom_m if north > 0.0 else 60.0)


def test_line_in_keeps_a_diver_off_and_what_is_promised_holds(spread: Spread, divers: Fleet) -> None:
    ground = sounded(on_the_track(depth_of(spread, divers, "3") - 1.0))
    made = held(spread, divers, ground)
    assert [touch.key for touch in made.touches] == ["3"]
    found = advice(spread, divers, made, "3", ground)
    line = next(one for one in found if one.change["what"] == "line")
    assert line.change["rod"] == "3"
    by_m = line.change["by_m"]
    assert isinstance(by_m, float)
    assert by_m < 0.0
    assert line.text == (f"Take in {-by_m / 0.3048:.0f} ft on P LOW: {left(line.probability_after)}.")
    changed = with_line(divers, "3", by_m)
    assert changed is not None
    done = run(changed, path_of(hold(), heading_rad=0.0, speed_m_s=SPEED))
    assert (raised_by(done, "3", ground)[0] > 0.0).mean() == line.probability_after <= RISK
    assert run_touches(done, ground) == ()


def test_no_turn_is_advised_over_ground_that_nobody_knows(spread: Spread, divers: Fleet) -> None:
    ground = sounded(on_the_track(depth_of(spread, divers, "3") - 1.0))
    found = advice(spread, divers, held(spread, divers, ground), "3", ground)
    assert all(one.change["what"] != "turn" for one in found)


def test_a_turn_away_to_the_side_that_is_deep(spread: Spread, divers: Fleet) -> None:
    """A bank right ahead and to starboard, all of it charted, too high to take line in over."""
    ground = sounded(lambda north, east: 3.0 if north > 60.0 and east > -20.0 else 60.0)
    made = held(spread, divers, ground)
    assert {touch.key for touch in made.touches} == {"2", "3"}
    found = advice(spread, divers, made, "3", ground)
    assert found
    assert {one.change["what"] for one in found} == {"turn"}
    assert {one.change["side"] for one in found} == {"port"}
    assert found[0].text.startswith("Turn ")
    assert found[0].text.endswith(f"to port now: {left(found[0].probability_after)}.")


def test_the_other_side(spread: Spread, divers: Fleet) -> None:
    ground = sounded(lambda _north, east: 3.0 if east < -20.0 else 60.0)
    made = held(spread, divers, ground, turn("port", 90, radius_m=60))
    assert made.touches
    found = advice(spread, divers, made, "3", ground)
    assert any(one.text.startswith("Turn to starboard instead, 90° in ") for one in found)


def test_more_speed_lifts_a_ball_that_hardly_touches(spread: Spread, balls: Fleet) -> None:
    """Blown farther back it hangs higher, by less than its own interval: only where little is wanting."""
    least = sounded(on_the_track(depth_of(spread, balls, "4") + 0.6))  # the depth of a bottom is not known to that
    found = advice(spread, balls, held(spread, balls, least), "4", least)
    (to,) = (one.change["to_speed_m_s"] for one in found if one.change["what"] == "speed")
    assert isinstance(to, float)
    assert to > SPEED
    assert any(one.text.startswith(f"Go {to / 0.44704:.1f} mph from now on: bottom touch ") for one in found)
    more = sounded(on_the_track(depth_of(spread, balls, "4") - 1.0))
    found = advice(spread, balls, held(spread, balls, more), "4", more)
    assert [one.change["what"] for one in found] == ["line"]
    assert found[0].text.startswith("Raise P DOWN's ball ")


def test_nothing_to_advise_where_nothing_touches(spread: Spread, divers: Fleet) -> None:
    ground = sounded(lambda _north, _east: 90.0, 40)
    assert advice(spread, divers, held(spread, divers, ground), "3", ground) == ()


def test_no_cure_of_a_crossing_leads_over_a_shoal(spread: Spread, divers: Fleet) -> None:
    required = required_of(spread)
    tight = forecast(divers, turn("port", 180, radius_m=25), speed_m_s=SPEED, required=required)

    def radii(ground: Ground | None) -> list[object]:
        found = advise(
            divers, tight,
            speed_m_s=SPEED, required=required, units=SYSTEMS["us"], names=NAMES, ground=ground,
        )  # fmt: skip
        return [one.change["radius_m"] for one in found if one.change.get("side") == "port"]

    assert radii(None)
    assert radii(sounded(lambda _north, east: 3.0 if east < -55.0 else None)) == []


def test_a_member_with_a_current_of_its_own_comes_over_the_same_ground(divers: Fleet) -> None:
    """What she makes good is known; how much of it is current is not, and the bank comes none the sooner."""
    ground = sounded(lambda north, _east: 3.0 if north > 60.0 else 60.0)
    own = SPEED * divers.cast.speed_factor[:, None] * [1.0, 0.0] + [0.3, 0.1]
    drifting = replace(rods_of(divers, ("3",)), velocity_m_s=own)
    path = path_of(hold(), heading_rad=0.0, speed_m_s=SPEED)
    by, sounded_share = raised_by(run(drifting, path), "3", ground)
    still, _ = raised_by(run(rods_of(divers, ("3",)), path), "3", ground)
    assert sounded_share == 1.0
    assert by == pytest.approx(still, rel=0.08)  # faster through the water on the way, each a little higher
    assert (still > 10.0).all()


def test_some_rods_alone_go_as_they_do_among_all(spread: Spread) -> None:
    fleet = afloat(spread, "1245")
    path = path_of(turn("port", 60, radius_m=50), heading_rad=0.0, speed_m_s=SPEED)
    part = rods_of(fleet, ("4", "2"))
    assert part.cast.keys == ("2", "4")
    assert part.cast.rod_line_of == (1,)
    assert list(part.cast.strands.owner) == [0, 1, 1]
    every, some = run(fleet, path), run(part, path)
    for i, rod in enumerate((1, 2)):
        own = slice(part.cast.rows.n_nodes[i])
        assert (every.positions_m[:, :, rod, own] == some.positions_m[:, :, i, own]).all()


def test_a_rod_on_another_ones_cable_is_told_no_line(spread: Spread) -> None:
    """Nor is the rod that carries it: its clip would come up with the cable."""
    down = next(rod for rod in spread.rods if rod.key == "4")
    stack = down.model_copy(
        update={
            "key": "9", "name": "STACK", "tip": None, "rod_line": None,
            "clipped_to": ClippedTo.model_validate({"rod": "4", "above_ball": "12 ft"}),
            "chain": (down.chain[2], down.chain[-1]),
        }
    )  # fmt: skip
    both = spread.model_copy(update={"rod": (*spread.rods, stack)})
    fleet = afloat(both, "49")
    ground = sounded(on_the_track(depth_of(both, fleet, "9") - 1.0))
    made = held(both, fleet, ground)
    assert {touch.key for touch in made.touches} == {"4", "9"}
    for key in ("4", "9"):
        assert all(one.change["what"] != "line" for one in advice(both, fleet, made, key, ground))


def test_a_session_says_it_with_every_touch_and_keeps_it_for_some_seconds(
    two_rods: Spread, hand_feed: type[Any]
) -> None:
    feed, maker = hand_feed(new_watch(Setup(two_rods, start="fishing"))), OutlookMaker()
    feed.run(200, bottom=60.0)
    now = snapshot(feed.watch)
    assert now is not None
    rod = {key: float(chain.place.depth_m) for key, chain in feed.watch.chains.items() if chain.place is not None}
    ground = sounded(on_the_track(max(rod.values()) - 0.5))
    first = maker.renew(now, Wishes(ground=ground, limits_share_s=0.0))
    assert [made.manoeuvre.name for made in first.forecasts] == ["hold", "as it goes"]
    assert first.touches
    told = [touch for made in first.forecasts for touch in made.touches if touch.advice]
    assert len(told) == 1  # one thing at a time
    soon = maker.renew(replace(now, t_s=now.t_s + 2.0), Wishes(ground=ground, limits_share_s=0.0))
    assert sum(bool(touch.advice) for made in soon.forecasts for touch in made.touches) == 1
    row = outlook_row(first)["forecasts"][0]["touches"]
    assert [(one["key"], len(one["advice"])) for one in row] == [
        (one.key, len(one.advice)) for one in first.forecasts[0].touches
    ]
    again = maker.renew(replace(now, t_s=now.t_s + 4.0), Wishes(ground=ground, limits_share_s=0.0))
    kept = [touch for made in again.forecasts for touch in made.touches if touch.advice]
    assert len(kept) == 2
    assert told[0].advice in [touch.advice for touch in kept]
    # Gone with the ground.
    assert maker.renew(replace(now, t_s=now.t_s + 6.0), Wishes(limits_share_s=0.0)).touches == ()
    assert math.isfinite(first.took_s)
