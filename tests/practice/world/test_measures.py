"""Scores from measures: arithmetic, limits, goals not reached."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from sternwatch.gear.spread_file.models import Spread
from sternwatch.practice.drills.files import DrillFile
from sternwatch.practice.world.measures import EXPLAINED, MEASURES, Measure, measures, score
from sternwatch.practice.world.tally import vessel_at
from sternwatch.practice.world.world import World

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
