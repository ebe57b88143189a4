"""What the crew believe and know in a spread file: what is accepted, what is refused, and its words."""

from __future__ import annotations

import math
from typing import Any

import pytest
from pydantic import ValidationError

from sternwatch.gear.spread_file.going_out import going_out
from sternwatch.gear.spread_file.known import Known, PriorSpec
from sternwatch.gear.spread_file.known_rules import find_known_faults
from sternwatch.gear.spread_file.load import SpreadError, spread_from
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain_words import group, words

FT = 0.3048


def spread(**more: Any) -> Spread:
    """A diver with a leader, a ball, and a rod that is clipped to its cable."""
    tip = {"height": "2 m"}
    return spread_from(
        {
            "line": {"wire": {"material": "stainless steel", "diameter": "0.4 mm"},
                     "mono": {"material": "nylon", "diameter": "0.4 mm"}},
            "tackle": {
                "disc": {"kind": "diver", "diameter": "4 in", "settings": {"low": "20 deg", "high": "45 deg"}},
                "ball": {"kind": "ball", "mass": "10 lb"}, "fly": {"kind": "lure"},
            },
            "rod": [
                {"key": "1", "name": "DIVER", "side": "port", "tip": tip, "chain": [
                    {"line": "wire", "out": "40 m"}, {"tackle": "disc", "setting": "low"},
                    {"line": "mono", "length": "2 m"}, {"tackle": "fly"}]},
                {"key": "2", "name": "DOWN", "side": "port", "tip": tip, "chain": [
                    {"line": "wire", "out": "20 m"}, {"tackle": "ball"},
                    {"line": "mono", "length": "6 m", "adjust": True}, {"tackle": "fly"}]},
            ],
        } | more
    )  # fmt: skip


@pytest.mark.parametrize(
    ("given", "bound"),
    [(1, 1.0), (0.8, 0.8), ("-5 deg", math.radians(-5.0)), ("0.1 mph", 0.044704), (" 3 ft ", 3 * FT), ("-6 K", -6.0)],
)
def test_a_bound_is_a_factor_or_a_shift_with_its_unit(given: Any, bound: float) -> None:
    assert PriorSpec(low=given, high=1e3).low == pytest.approx(bound)


@pytest.mark.parametrize("given", [True, None, "x K", "3", "3 lbf", math.inf, math.nan])
def test_what_is_no_bound(given: Any) -> None:
    with pytest.raises(ValidationError):
        PriorSpec(low=given, high=1e3)


def test_low_is_not_above_high() -> None:
    assert PriorSpec(low=1.0, high=1.0).source == "yours"
    with pytest.raises(ValidationError, match="low must not be above high"):
        PriorSpec(low=1.01, high=1.0)


@pytest.mark.parametrize(
    ("given", "error"),
    [
        ({"depth": "60 ft", "error": "3 ft"}, 3 * FT), ({"depth": "60 ft"}, None),
        ({"entry_angle": "30 deg", "error": "5 deg"}, math.radians(5.0)),
        ({"cable_angle": "20 deg", "error": "2 deg"}, math.radians(2.0)), ({"pull": "30 N", "error": "4 N"}, 4.0),
    ],
)  # fmt: skip
def test_one_thing_is_known_with_an_error_of_its_kind(given: dict[str, Any], error: float | None) -> None:
    known = Known(rod="1", speed="2.3 mph", **given)
    assert known.error_si == (None if error is None else pytest.approx(error))


@pytest.mark.parametrize(
    ("given", "why"),
    [
        ({}, "exactly one of"), ({"depth": "60 ft", "pull": "30 N"}, "exactly one of"),
        ({"depth": "60 ft", "speed": "0 mph"}, "nothing is towed"), ({"pull": "30 N", "at": "lure"}, "leave it out"),
        ({"depth": "60 ft", "error": "5 deg"}, "error: "), ({"pull": "30 N", "error": "0 N"}, "more than 0"),
    ],
)  # fmt: skip
def test_what_cannot_be_known(given: dict[str, Any], why: str) -> None:
    with pytest.raises(ValidationError, match=why):
        Known(**{"rod": "1", "speed": "2.3 mph", **given})


@pytest.mark.parametrize(
    ("given", "field", "why"),
    [
        ({"rod": "9"}, "rod", "no rod has that key; accepted: 1, 2"), ({"setting": "mid"}, "setting", "low"),
        ({"lead": "6 ft"}, "lead", "no length that can be adjusted"), ({"at": "ball"}, "at", "has no ball"),
        ({"depth": None, "cable_angle": "20 deg"}, "cable_angle", "no ball on a cable"),
    ],
)  # fmt: skip
def test_what_does_not_fit_its_rod(given: dict[str, Any], field: str, why: str) -> None:
    (fault,) = find_known_faults(spread(), Known(**{"rod": "1", "speed": "2.3 mph", "depth": "60 ft", **given}))
    assert fault.field == field
    assert why in fault.sentence()
    down = {"rod": "2", "speed": "2.3 mph", "lead": "6 ft", "out": "60 ft"}
    for fits in ({"depth": "60 ft", "at": "ball"}, {"depth": "60 ft", "at": "device"}, {"cable_angle": "20 deg"}):
        assert list(find_known_faults(spread(), Known(**{**down, **fits}))) == []


@pytest.mark.parametrize(
    ("prior", "why"),
    [
        ({"line wire strumming": {"low": 0.0, "high": 1.5}}, "a factor is more than 0"),
        ({"line wire strumming": {"low": 1.1, "high": 1.5}}, "1 must lie between them"),
        ({"line wire strummin": {"low": 0.9, "high": 1.1}}, "nothing uncertain has that name"),
    ],
)
def test_a_prior_names_what_is_uncertain_and_holds_the_value_in_use(prior: dict[str, Any], why: str) -> None:
    with pytest.raises(SpreadError, match=why):
        spread(prior=prior)
    assert spread(prior={"line wire strumming": {"low": 0.9, "high": 1.1}}).prior["line wire strumming"].high == 1.1


def test_a_known_entry_that_does_not_fit_says_which() -> None:
    with pytest.raises(SpreadError, match="known, entry 2"):
        spread(known=[
            {"rod": "1", "speed": "2.3 mph", "depth": "60 ft"}, {"rod": "9", "speed": "2.3 mph", "depth": "60 ft"},
        ])  # fmt: skip


@pytest.mark.parametrize(
    ("name", "said", "together"),
    [
        ("line wire strumming", "hum of wire", "drag of wire"), ("line big wire weight", "weight of big wire", None),
        ("tackle disc plate", "pull as a flat plate of disc", "pull of disc"),
        ("tackle disc roll high", "roll of disc at high", "its diver's roll"),
        ("rod 3 counter", "counter of rod 3", "its counter"),
        ("rod 3 discrepancy speed", "how rod 3's drag grows with speed", "what the model leaves out"),
        ("current north", "current to the north", "speed is over ground"), ("line strumming", "line strumming", None),
        ("something new", "something new", None),
    ],
)  # fmt: skip
def test_what_is_uncertain_in_words(name: str, said: str, together: str | None) -> None:
    assert words(name) == said
    assert group(name) == (said if together is None else together)


def test_how_a_rod_goes_out() -> None:
    """The leader passes the tip first, then the counted wire; the tackle is held until it reaches the water."""
    boat = spread()
    out = going_out(boat, boat.rods[0])
    assert out is not None
    assert (out.per_read, out.beyond_m) == (1.0, (2.0, 0.0))
    assert out.start_m == pytest.approx(2.0 + 1.5)
    assert out.past_tip_m(40.0) - out.offset_m == pytest.approx(42.0)
    assert out.reading_m(out.past_tip_m(13.0)) == pytest.approx(13.0)
    assert [out.on_reel(past) for past in (42.0, 5.6, 5.4, 0.0)] == [0, 0, 1, 1]
    assert out.first_line_m(42.0, 0) == 40.0
    assert out.first_line_m(1.5, 1) == 1.5
    longer = going_out(boat, boat.rods[1], lead_m=9.0)
    assert longer is not None
    assert longer.beyond_m == (9.0, 0.0)
