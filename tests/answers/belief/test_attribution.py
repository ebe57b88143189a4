"""What a rod's ± is made of: shares against an ensemble, against a quantity that is certain, and in words."""

from __future__ import annotations

import copy
import math
import tomllib
from typing import Any

import numpy as np
import pytest

from sternwatch.answers.belief.answer import believed_answer
from sternwatch.answers.belief.attribution import Attribution, Part, attribution, fraction, sentence
from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.chains.arrays import RodNow
from sternwatch.gear.spread_file.load import spread_from
from sternwatch.gear.spread_file.models import Rod, Spread
from sternwatch.gear.spread_file.uncertain import uncertain
from sternwatch.gear.spread_file.uncertain_words import group, words
from sternwatch.places import shipped

SPEED = 2.3 * 0.44704
FILED: dict[str, Any] = tomllib.loads((shipped("demo_logs") / "evening.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def demo() -> Spread:
    return spread_from(copy.deepcopy(FILED))


def rod(spread: Spread, key: str) -> Rod:
    found = spread.rod_by_key(key)
    assert found is not None
    return found


def by_what(found: Attribution) -> dict[str, Part]:
    return {part.what: part for part in found.parts}


@pytest.mark.parametrize("key", ["3", "5"])
def test_the_sum_of_all_parts_is_the_interval_of_depth(demo: Spread, key: str) -> None:
    """The very interval that ``sternwatch depth`` tells, at a speed that is known."""
    found = attribution(demo, rod(demo, key), SPEED, told=0.0)
    told = next(one for one in believed_answer(demo, SPEED).rods if one.key == key)
    assert told.depth_interval_m is not None
    assert found.off_m == pytest.approx(0.5 * (told.depth_interval_m[1] - told.depth_interval_m[0]), rel=1e-9)
    assert found.depth_m == pytest.approx(told.depth_m, rel=1e-9)
    assert sum(part.share for part in found.parts) == pytest.approx(1.0, abs=1e-9)


def test_half_of_it_and_a_third(demo: Spread) -> None:
    found = attribution(demo, rod(demo, "1"), SPEED, over_ground=True, heading_rad=0.4)
    parts = by_what(found)
    assert parts["speed is over ground"].share > parts["the water below moves differently"].share > 0.03
    assert sentence(found).startswith("Three quarters: speed is over ground; ")


def test_a_current_that_is_told_counts_less(demo: Spread) -> None:
    wide, told = (
        attribution(demo, rod(demo, "1"), SPEED, over_ground=True, told=share) for share in (1.0, 0.3)
    )  # fmt: skip
    assert told.off_m is not None
    assert wide.off_m is not None
    assert told.off_m < wide.off_m
    ratio = by_what(told)["speed is over ground"].off_m / by_what(wide)["speed is over ground"].off_m
    assert 0.28 <= ratio < 0.5  # the noise of the fixes stays; a slope over a wider reach is a little steeper


def test_an_over_ground_course_across_the_current_leaves_its_other_part(demo: Spread) -> None:
    north = attribution(demo, rod(demo, "1"), SPEED, over_ground=True, heading_rad=0.0)
    east = attribution(demo, rod(demo, "1"), SPEED, over_ground=True, heading_rad=math.pi / 2)
    assert by_what(north)["speed is over ground"].off_m == pytest.approx(
        by_what(east)["speed is over ground"].off_m, rel=0.01
    )


def test_what_is_certain_has_no_part(demo: Spread) -> None:
    data = copy.deepcopy(FILED)
    data["prior"] = {"line wire strumming": {"low": 1.0, "high": 1.0}, "line wire drag": {"low": 1.0, "high": 1.0}}
    sure = attribution(spread_from(data), rod(demo, "3"), SPEED)
    usual = attribution(demo, rod(demo, "3"), SPEED)
    assert by_what(usual)["drag of wire"].share > 0.2
    assert by_what(sure)["drag of wire"].share < 0.02  # its diameter
    assert sure.off_m is not None
    assert usual.off_m is not None
    assert sure.off_m < usual.off_m


def test_what_was_learned_counts_with_its_correlation(demo: Spread) -> None:
    """Drag of the wire and pull of the disc told only together: each stays open, the depth is known."""
    names = tuple(name for name in uncertain(demo) if name in ("line wire strumming", "tackle disc plate"))
    apart = Calibration("apart", names, np.zeros(2), 0.9 * np.eye(2))
    together = Calibration("together", names, np.zeros(2), np.array([[0.9, 0.8], [0.8, 0.9]]))
    one, other = (attribution(demo, rod(demo, "3"), SPEED, learned=learned) for learned in (apart, together))
    assert one.off_m is not None
    assert other.off_m is not None
    # Of all that is open, counter and attractor among it, the two are a small part; their being told together less.
    assert other.off_m != pytest.approx(one.off_m, rel=0.01)
    ratios = [
        by_what(each)["drag of wire"].off_m / by_what(each)["weight in water of disc"].off_m for each in (one, other)
    ]
    assert ratios[0] == pytest.approx(ratios[1], rel=1e-6)
    assert sum(part.share for part in other.parts) == pytest.approx(1.0, abs=1e-9)


def test_the_line_out_of_now_is_meant(demo: Spread) -> None:
    short = attribution(demo, rod(demo, "3"), SPEED, now=RodNow(20.0))
    assert short.depth_m is not None
    assert short.off_m is not None
    assert short.depth_m < 13.0
    assert short.off_m < 3.0


def test_where_it_is_not_known_it_says_why(demo: Spread) -> None:
    found = attribution(demo, rod(demo, "1"), math.nan)
    assert found.depth_m is None
    assert found.parts == ()
    assert "no steady shape" in found.why
    assert sentence(found) == ""
    assert found.off_m is None


def test_shares_in_words() -> None:
    assert [fraction(share) for share in (0.97, 0.74, 0.52, 0.31, 0.2, 0.09)] == [
        "nearly all of it", "three quarters", "half of it", "a third", "a fifth", "a tenth",
    ]  # fmt: skip
    many = tuple(Part(f"part {n}", (), 0.05, 0.1) for n in range(20))
    assert sentence(Attribution("1", SPEED, 10.0, 1.0, many)) == "Many small parts; none stands out."


def test_every_quantity_of_the_demo_has_words_and_a_group(demo: Spread) -> None:
    for name in uncertain(demo):
        assert words(name) != name
        assert group(name) != name
    assert words("line wire strumming") == "hum of wire"
    assert group("line thin wire strumming") == "drag of thin wire"
    assert words("tackle disc roll high") == "roll of disc at high"
    assert words("rod 5 counter") == "counter of rod 5"
    assert words("something new") == group("something new") == "something new"
