"""The lake's shapes at places where they are known by hand, and the sea's statistics."""

from __future__ import annotations

import math
import random
import statistics

import pytest

from sternwatch.practice.drills.model import Drill
from sternwatch.practice.world.lake import Mound, Shelf, Thermocline, relief
from sternwatch.practice.world.scene import lake_of, sea_of
from sternwatch.practice.world.sea import Sea, Sines, Squall


def drill(**fields: object) -> Drill:
    return Drill.model_validate({"name": "x", "briefing": "y", **fields})


def test_a_hump_and_a_hole() -> None:
    lake = lake_of(
        drill(lake={
            "depth": "40 m", "relief": "0 m",
            "mounds": [
                {"north": "100 m", "east": "0 m", "height": "15 m", "radius": "50 m"},
                {"north": "-300 m", "east": "0 m", "height": "-12 m", "radius": "60 m"},
            ],
        }),
        1,
    )  # fmt: skip
    assert lake.bottom_m(100.0, 0.0) == pytest.approx(25.0, abs=1e-6)
    assert lake.bottom_m(-300.0, 0.0) == pytest.approx(52.0, abs=1e-6)
    # A Gaussian: 1/e of its height at its radius.
    assert lake.bottom_m(100.0, 50.0) == pytest.approx(40.0 - 15.0 / math.e, abs=1e-6)
    assert lake.bottom_m(1000.0, 1000.0) == pytest.approx(40.0, abs=1e-9)


def test_a_shelf_is_deep_before_it_and_shallow_upon_it() -> None:
    shelf = Shelf(0.0, 100.0, 90.0, 12.0, 30.0, winding_m=20.0, wave_m=400.0)
    assert shelf.share(0.0, 0.0) < 0.01
    assert shelf.share(0.0, 200.0) > 0.99
    assert shelf.share(0.0, 100.0) == pytest.approx(0.5)
    # The edge winds: a quarter wave along it lies 20 m to one side.
    assert {round(shelf.share(n, e), 6) for n, e in ((100.0, 120.0), (-100.0, 80.0))} == {0.5}


def test_it_is_never_less_than_wading_deep() -> None:
    lake = lake_of(drill(lake={"depth": "5 m", "mounds": [
        {"north": "0 m", "east": "0 m", "height": "50 m", "radius": "50 m"}]}), 1)  # fmt: skip
    assert lake.bottom_m(0.0, 0.0) == pytest.approx(1.5)
    assert Mound(0.0, 0.0, 5.0, 1.0).rise_m(1e6, 0.0) == 0.0


@pytest.mark.parametrize(
    "spec",
    [
        {"depth": "40 m", "relief": "0.6 m"},
        {"depth": "38 m", "mounds": [{"north": "10 m", "east": "0 m", "height": "20 m", "radius": "60 m"}]},
        {
            "depth": "36 m",
            "shelf": {"north": "0 m", "east": "50 m", "towards": "90 deg", "depth": "13 m", "width": "45 m"},
        },
        {"depth": "20 m", "fall": 0.01},
    ],
)
def test_nowhere_is_shallower_than_the_shallowest(spec: dict[str, object]) -> None:
    lake = lake_of(drill(lake=spec), 4)
    found = min(lake.bottom_m(12.0 * n, 12.0 * e) for n in range(-40, 41) for e in range(-40, 41))
    assert lake.shallowest_m <= found
    assert lake.fall or lake.shallowest_m > 10.0


def test_temperature_falls_through_a_thermocline_that_tilts() -> None:
    layer = Thermocline(16.0, 4.0, 15.0, 8.0, tilt=0.01, tilt_towards_deg=90.0)
    column = [layer.temperature_c(0.0, 0.0, d, 0.0) for d in range(0, 60, 2)]
    assert column == sorted(column, reverse=True)
    assert layer.temperature_c(0.0, 0.0, 15.0, 0.0) == pytest.approx(10.0)
    assert layer.temperature_c(0.0, 500.0, 20.0, 0.0) == pytest.approx(10.0)  # 5 m deeper 500 m to the east
    assert column[0] == pytest.approx(16.0, abs=0.1)
    assert column[-1] == pytest.approx(4.0, abs=0.01)


def test_a_seed_makes_the_same_lake_and_another_seed_another() -> None:
    one, same, other = lake_of(drill(), 5), lake_of(drill(), 5), lake_of(drill(), 6)
    places = [(10.0 * k, -7.0 * k) for k in range(50)]
    depths = [one.bottom_m(*p) for p in places]
    assert depths == [same.bottom_m(*p) for p in places]
    assert depths != [other.bottom_m(*p) for p in places]


def test_relief_and_waves_have_the_height_asked_for() -> None:
    rng = random.Random(1)
    made = relief(3, 0.4)
    rises = []
    for _ in range(4000):
        n, e = rng.uniform(-4000, 4000), rng.uniform(-4000, 4000)
        rises.append(sum(a * math.sin(kn * n + ke * e + p) for a, kn, ke, p in made))
    assert statistics.pstdev(rises) == pytest.approx(0.4, rel=0.1)
    sines = Sines.around(random.Random(2), 0.7, 4.0)
    values = [sines.at(rng.uniform(0, 5000)) for _ in range(4000)]
    assert statistics.pstdev(values) == pytest.approx(0.7, rel=0.1)
    assert statistics.fmean(values) == pytest.approx(0.0, abs=0.05)


def test_a_squall_comes_up_and_stays() -> None:
    sea = Sea.made(1, 4.0, 270.0, 0.2, 3.0, Squall(100.0, 50.0, 15.0))

    def speed(t: float) -> float:
        return math.hypot(*sea.wind(t))

    before = statistics.fmean(speed(t) for t in range(100))
    after = statistics.fmean(speed(t) for t in range(200, 400))
    assert before == pytest.approx(4.0, abs=1.0)
    assert after == pytest.approx(15.0, abs=1.0)
    # From the west the air moves east.
    assert statistics.fmean(sea.wind(t)[1] for t in range(400)) > 3.0


def test_a_calm_sea_moves_nothing() -> None:
    sea = sea_of(drill(weather={"wind": "0 m/s", "wave_height": "0 m"}), 1)
    assert all(sea.yaw.at(t) == 0.0 and sea.surge.at(t) == 0.0 and sea.wind(t) == (0.0, 0.0) for t in (0.0, 9.9))
