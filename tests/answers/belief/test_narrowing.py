"""What is advised against a wide interval, and whether doing it leaves as much as was said."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sternwatch.answers.belief.attribution import advice, attribution
from sternwatch.answers.belief.fit import fit
from sternwatch.answers.belief.narrowing import TOUCHED_M
from sternwatch.answers.belief.observations import Observation, What, predicted
from sternwatch.answers.belief.predictive import depth_quantiles
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Rod, Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.places import shipped

SPEED = 1.03


@pytest.fixture(scope="module")
def demo() -> Spread:
    return parse_spread((shipped("demo_logs") / "evening.toml").read_text(encoding="utf-8"))


def rod(spread: Spread, key: str) -> Rod:
    found = spread.rod_by_key(key)
    assert found is not None
    return found


def taped(spread: Spread) -> Spread:
    rods = (one.model_copy(update={"counter": one.counter.model_copy(update={"taped": True})}) for one in spread.rods)
    return spread.model_copy(update={"rod": tuple(rods)})


def test_a_tape_beside_a_downriggers_counter_leaves_what_was_said(demo: Spread) -> None:
    """Two thirds of a ball's doubt is its counter; the same rod with ``taped = true`` is the check."""
    told = attribution(demo, rod(demo, "4"), SPEED, told=0.0)
    assert told.narrowed is not None
    assert told.narrowed.deed == "tape"
    done = attribution(taped(demo), rod(taped(demo), "4"), SPEED, told=0.0)
    assert done.off_m == pytest.approx(told.narrowed.after_m, rel=0.1)
    assert done.narrowed is None or done.narrowed.deed != "tape"
    assert advice(told, SYSTEMS["us"]).startswith("Check the counter against a tape: ±9 becomes ±4 ft")


@pytest.mark.parametrize("key", ["1", "3"])
def test_a_touch_of_the_bottom_leaves_a_diver_what_was_said(demo: Spread, key: str) -> None:
    """Against the whole fit of that one observation, on the very day."""
    own = rod(taped(demo), key)
    told = attribution(taped(demo), own, SPEED, told=0.0)
    assert told.narrowed is not None
    assert told.narrowed.deed == "touch"
    one = Observation("t", key, What.DEPTH, 0.0, TOUCHED_M, SPEED, "touched bottom", at="lure", told=0.0)
    seen = replace(one, value=predicted(demo, one, {}))
    found = depth_quantiles(taped(demo), own, SPEED, learned=fit(taped(demo), [seen]).calibration)
    assert found is not None
    assert 0.5 * (found[4] - found[0]) == pytest.approx(told.narrowed.after_m, rel=0.2)
    if key == "3":
        assert advice(told, SYSTEMS["us"]).startswith("Touch bottom once at 83 ft: ±")


def test_over_ground_the_turn_comes_before_the_touch_and_not_once_it_was_made(demo: Spread) -> None:
    spread = taped(demo)
    before = attribution(spread, rod(spread, "4"), SPEED, over_ground=True)
    after = attribution(spread, rod(spread, "4"), SPEED, over_ground=True, told=0.6)
    assert before.narrowed is not None
    assert before.narrowed.deed == "turn"
    assert after.off_m == pytest.approx(before.narrowed.after_m, rel=0.1)
    assert after.narrowed is None or after.narrowed.deed != "turn"
    assert "Turn back on your course once" in advice(before, SYSTEMS["metric"])
