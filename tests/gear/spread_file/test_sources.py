"""Where the ranges of what is uncertain come from: what was read of, and what is memory or common practice."""

from __future__ import annotations

import pytest

from sternwatch.gear.spread_file.load import load_spread, parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import uncertain
from sternwatch.places import shipped


@pytest.fixture(scope="module")
def demo() -> Spread:
    return load_spread(shipped("demo_logs") / "evening.toml")


def test_at_least_half_of_the_demos_uncertain_quantities_stand_on_something_published(demo: Spread) -> None:
    """``pytest tests/gear/spread_file/test_sources.py -s`` prints the count and every source."""
    quantities = uncertain(demo).values()
    sourced = [one for one in quantities if one.sourced]
    for one in quantities:
        print(f"{'read  ' if one.sourced else 'memory'} {one.name}: {one.low:.3g} to {one.high:.3g} ({one.source})")
    print(f"{len(sourced)} of {len(quantities)} sourced")
    assert 2 * len(sourced) >= len(quantities)
    assert all(one.source for one in quantities)


def test_strumming_is_two_sided_about_its_middle_and_fades_for_lines_along_the_stream(demo: Spread) -> None:
    quantities = uncertain(demo)
    wide = {}
    for name in ("wire", "cable", "mono", "leadcore"):
        one = quantities[f"line {name} strumming"]
        assert one.low < 0.95
        assert one.high > 1.05
        wide[name] = one.high / one.low
    assert wide["wire"] == wide["cable"] > wide["mono"] > wide["leadcore"]


def test_a_counter_is_doubted_until_a_tape_was_laid_beside_it() -> None:
    text = """
[line.wire]
material = "stainless steel"
diameter = "0.38 mm"
[tackle.ball]
kind = "ball"
mass = "10 lb"
[[rod]]
key = "1"
name = "ONE"
side = "port"
tip = {{ abeam = "1 m", height = "1 m" }}
counter = {{ {counter} }}
chain = [{{ line = "wire", out = "60 ft" }}, {{ tackle = "ball" }}]
"""
    wide = {
        counter: uncertain(parse_spread(text.format(counter=counter)))["rod 1 counter"]
        for counter in ("", "scale = 1.0", "taped = true", "scale = 0.93", "scale = 0.93, taped = true")
    }
    assert [(one.low, one.high, one.heavy) for one in wide.values()] == [
        (0.88, 1.12, True), (0.88, 1.12, True), (0.985, 1.015, False), (0.985, 1.015, False), (0.985, 1.015, False),
    ]  # fmt: skip
    own = parse_spread(text.format(counter="") + '[prior."rod 1 counter"]\nlow = 0.9\nhigh = 1.0\n')
    assert not uncertain(own)["rod 1 counter"].heavy
