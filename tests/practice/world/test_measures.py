"""Scores from measures: arithmetic, limits, goals not reached."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace

import pytest

from sternwatch.gear.spread_file.models import Spread
from sternwatch.practice.drills.files import DrillFile
from sternwatch.practice.world.instruments import ORIGIN_DEG
from sternwatch.practice.world.measures import EXPLAINED, MEASURES, Measure, measures, score
from sternwatch.practice.world.scene import lake_of
from sternwatch.practice.world.sounded import sounded
from sternwatch.practice.world.tally import Tally, vessel_at
from sternwatch.practice.world.world import World
from sternwatch.watch.bottom.soundings import local_metres

Make = Callable[..., DrillFile]


def found(**given: float | None) -> dict[Measure, float | None]:
    made: dict[Measure, float | None] = dict.fromkeys(MEASURES)
    return made | {name.replace("_", " "): value for name, value in given.items()}  # type: ignore[dict-item]


def test_every_measure_is_explained() -> None:
    assert set(EXPLAINED) == set(MEASURES)


@pytest.mark.parametrize(
    ("crossings", "time", "points"),
    [(0, 20, 100.0), (0, 30, 87.5), (1, 20, 62.5), (2, 40, 0.0), (5, 90, 0.0), (0, 10, 100.0)],
)
def test_marks_are_in_proportion_between_best_and_worst(
    make_drill: Make, crossings: float, time: float, points: float
) -> None:
    # Weights 3 (crossings, 0 to 2) and 1 (time, 20 to 40 s).
    assert score(make_drill().drill, found(crossings=crossings, time=time), done=True).points == points


def test_a_goal_not_reached_halves_and_gives_nothing_for_time(make_drill: Make) -> None:
    made = score(make_drill().drill, found(crossings=0, time=20), done=False)
    assert made.points == 37.5
    assert not made.passed


def test_a_limit_not_kept_is_named_and_does_not_pass(make_drill: Make) -> None:
    drill = make_drill(
        more='[[limit]]\nmeasure = "crossings"\nmost = 0\n[[limit]]\nmeasure = "vessel distance"\nleast = 50\n'
    ).drill
    assert score(drill, found(crossings=0, time=20, vessel_distance=60), done=True).passed
    made = score(drill, found(crossings=1, time=20, vessel_distance=20), done=True)
    assert not made.passed
    assert made.broken == ("crossings 1, at most 0", "vessel distance 20, at least 50")
    assert score(drill, found(crossings=0, time=20), done=True).passed  # there was no other boat


def test_what_does_not_apply_costs_nothing(make_drill: Make) -> None:
    drill = make_drill(more='[[score]]\nmeasure = "hits kept"\nbest = 1\nworst = 0\nweight = 4\n').drill
    assert score(drill, found(crossings=0, time=20), done=True).points == 100.0
    assert score(drill, found(crossings=0, time=20, hits_kept=0.5), done=True).points == 75.0


def test_another_boat_keeps_course_and_speed(make_drill: Make) -> None:
    drill = make_drill(more='[vessel]\nnorth = "100 m"\neast = "50 m"\nheading = "270 deg"\nspeed = "2 m/s"\n').drill
    assert vessel_at(drill, 0.0) == pytest.approx((100.0, 50.0))
    assert vessel_at(drill, 25.0) == pytest.approx((100.0, 0.0))
    assert vessel_at(make_drill().drill, 3.0) is None


def test_nothing_before_the_drill_and_after_its_end_is_measured(make_drill: Make, spread: Spread) -> None:
    file = make_drill(more='[lake]\ndepth = "9 m"\nrelief = "0 m"\n')
    world = World(file.drill, spread, 3, 1_752_922_800)
    world.to(9.0)
    assert len(world.below.touches) > 0
    assert measures(world)["touches"] == 0.0
    world.to(49.9)
    at_end = measures(world)
    assert world.tally.over is False
    world.to(90.0)
    assert world.tally.over
    assert measures(world)["touches"] == at_end["touches"]
    assert measures(world)["time"] == pytest.approx(40.0)
    assert measures(world)["zone"] is not None


class Standing:
    """A world of one rod whose boat is steered by hand."""

    def __init__(self) -> None:
        self.drill_s, self.place_m, self.turned_deg = 0.0, (0.0, 0.0), 0.0
        self.boat = SimpleNamespace(heading_deg=90.0)
        self.place = SimpleNamespace(depth_m=12.0, astern_m=50.0, abeam_m=10.0, temperature_c=9.0, clearance_m=5.0)
        self.below = SimpleNamespace(
            places={"1": self.place}, touches=[], chains={"1": SimpleNamespace(moving=0.0, place=None)}
        )
        self.crew = SimpleNamespace(rods={"1": SimpleNamespace(state="fishing")})
        self.fish = SimpleNamespace(strikes=[])


def test_how_near_a_lure_comes_again_counts_only_once_it_was_away(make_drill: Make) -> None:
    """Heading east its lure is 50 m to the west and 10 m to the south of her; back on the other course, otherwise."""
    tally, world = Tally(make_drill(more='[again]\nrod = "1"\n[[strike]]\nrod = "1"\nat = "9 s"\n').drill), Standing()
    for second, north, east, heading, depth in (
        (1, 0.0, 0.0, 90.0, 12.0),  # nothing has struck yet
        (2, 0.0, 0.0, 90.0, 12.0),  # struck: the lure is 10 m south, 50 m west
        (3, 0.0, 2.0, 90.0, 12.0),
        (4, 0.0, 60.0, 90.0, 12.0),  # away
        (5, -20.0, -100.0, 270.0, 13.5),  # the lure is 10 m north and 50 m east of her
    ):
        world.drill_s, world.place_m, world.boat.heading_deg = float(second), (north, east), heading
        world.place.depth_m = depth
        world.fish.strikes = [SimpleNamespace(key="1")] * (second > 1)
        tally.take(world)  # type: ignore[arg-type]
        if second < 5:
            assert tally.again.off_m > 40.0
    assert tally.again.off_m == pytest.approx(0.0, abs=1e-6)
    assert tally.again.depth_off_m == pytest.approx(1.5)


def test_lure_time_counts_at_the_height_and_depth_that_are_wanted(make_drill: Make) -> None:
    more = '[wanted]\nover_bottom = ["3 m", "10 m"]\ndepth = ["10 m", "20 m"]\n'
    tally, world = Tally(make_drill(more=more).drill), Standing()
    for second, clearance, depth in ((1, 5.0, 12.0), (2, 2.0, 12.0), (3, 5.0, 9.0), (4, 10.0, 20.0), (5, 11.0, 12.0)):
        world.drill_s, world.place.clearance_m, world.place.depth_m = float(second), clearance, depth
        tally.take(world)  # type: ignore[arg-type]
    assert tally.wanted_s == 2.0


def test_what_earlier_trips_sounded_is_the_lakes_own_bottom(make_drill: Make) -> None:
    assert sounded(make_drill().drill, 3, 0.0) == ()
    drill = make_drill(more='[lake]\nsounded = "100 m"\nfall = 0.05\n').drill
    made, lake = sounded(drill, 3, 1_000_000.0), lake_of(drill, 3)
    assert len(made) == 5 * 11
    places = [local_metres(ORIGIN_DEG, (one.latitude_deg, one.longitude_deg)) for one in made]
    off = [one.depth_m - lake.bottom_m(*place) for one, place in zip(made, places, strict=True)]
    assert 0.05 < max(map(abs, off)) < 1.0
    assert all(one.time_s < 1_000_000.0 for one in made)
    assert sounded(drill, 3, 1_000_000.0) == made
