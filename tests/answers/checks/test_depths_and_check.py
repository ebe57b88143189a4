"""A spread worked out at its own speed: the same as the answers it is made of; what is vague is told as vague."""

from __future__ import annotations

import pytest

from sternwatch.answers.checks.check import check_spread
from sternwatch.answers.checks.depths_and_check import work_out
from sternwatch.answers.depths.depth import depth_answer
from sternwatch.gear.asking.boat_questions import DONE, script
from sternwatch.gear.asking.interview import stand_of
from sternwatch.gear.shelf.pieces import parse_shelf
from sternwatch.gear.spread_file.load import load_spread, parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import uncertain
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.places import shipped

US = SYSTEMS["us"]


def set_up(**said: str) -> Spread:
    """The spread of a copper line, set up from questions."""
    answers: dict[str, str] = {}
    known = {"beam": "9", "1.rig": "copper", "1.more": DONE, "speed": "2.0", **said}
    for _ in range(80):
        stand = stand_of(script(US, parse_shelf("")), answers)
        if stand.open is None:
            assert stand.made is not None
            return parse_spread(stand.made)
        answers[stand.open.id] = stand.open.checked(known.get(stand.open.id, ""))
    raise AssertionError("no end of questions")


def test_it_is_what_its_parts_say() -> None:
    spread = load_spread(shipped("demo_logs") / "evening.toml")
    worked = work_out(spread, US)
    assert worked.speed_m_s == pytest.approx(2.3 * 0.44704)
    alone = depth_answer(spread, worked.speed_m_s)
    for rod, other in zip(worked.depths.rods, alone.rods, strict=True):
        assert rod.depth_m == pytest.approx(other.depth_m, rel=0.06)  # the median, beside the nominal
        assert rod.tension_N == other.tension_N
        assert rod.depth_interval_m is not None
        assert rod.depth_m is not None
        assert rod.depth_interval_m[0] < rod.depth_m < rod.depth_interval_m[1]
    assert worked.check == check_spread(spread, worked.speed_m_s, units=US)


def test_the_boats_own_speed_is_used() -> None:
    assert work_out(set_up(), US).speed_m_s == pytest.approx(2.0 * 0.44704)


def test_a_label_alone_is_vaguer_than_a_scale() -> None:
    """Both lines are the same but for how well they are known: 20 ft of this copper weigh what the label's would."""
    label = set_up()
    # 0.944 mm stranded, 77 % copper of 8960 kg/m³: 29.4 g in 6.096 m.
    scale = set_up(**{"1.heavy.weighed": "29.4 g"})
    wide = uncertain(label)["line copper 45 lb diameter"]
    narrow = uncertain(scale)["line copper 45 lb diameter"]
    assert (wide.high - wide.low, wide.source) == (pytest.approx(0.16), "typical, from memory")
    assert (narrow.high - narrow.low, narrow.source) == (
        pytest.approx(0.044, abs=0.002),
        "weighed on a kitchen scale",
    )
    by_label, weighed = (work_out(spread, US).depths.rods[0] for spread in (label, scale))
    assert by_label.depth_m == pytest.approx(weighed.depth_m, rel=0.01)
    assert by_label.depth_interval_m != weighed.depth_interval_m  # it is drawn from
