"""What was observed of a rod, as the fold keeps it and as it is said."""

from __future__ import annotations

from typing import Any

import pytest

from sternwatch.local_time import BoatTime
from sternwatch.logbook.actions.kinds import Action, parse
from sternwatch.logbook.crew.fold import fold
from sternwatch.logbook.crew.state import Crew, RodDefaults
from sternwatch.logbook.crew.words import describe

RODS = (RodDefaults("3", "P LOW", 50.0), RodDefaults("5", "S DOWN", 20.0))


def entry(number: int, kind: str = "observed", **fields: Any) -> Action:
    return parse({"id": f"a{number}", "time": f"2026-07-18T23:00:{number:02d}Z", "kind": kind, **fields})


def folded(*actions: Action) -> Crew:
    return fold(actions, RODS)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"rod": "3", "what": "touched bottom"}, "3 P LOW touched bottom 23:00"),
        (
            {"rod": "5", "what": "seen on sounder", "at": "ball", "depth_m": 15.24},
            "5 S DOWN ball seen on sounder 50 ft 23:00",
        ),
        ({"rod": "3", "what": "entry angle", "angle_deg": 22.4}, "3 P LOW entry angle 22° 23:00"),
        ({"rod": "3", "what": "pull", "pull_N": 17.8}, "3 P LOW pull 4.0 lb 23:00"),
        (
            {"rod": "5", "what": "known", "depth_m": 22.86, "speed_m_s": 1.0282},
            "5 S DOWN known 75 ft at 2.3 mph 23:00",
        ),
    ],
)
def test_it_is_said_as_a_crew_would(fields: dict[str, Any], words: str) -> None:
    action = entry(1, **fields)
    assert describe(action, folded(action), BoatTime(0)) == words


def test_it_moves_nothing_and_can_be_taken_back() -> None:
    one, two = entry(1, rod="3", what="touched bottom"), entry(2, rod="5", what="pull", pull_N=9.0)
    crew = folded(one, two)
    assert crew.observed == (one, two)
    assert crew.rods == folded().rods
    assert crew.newest == two
    without = folded(one, two, entry(3, "undo", of="a2"))
    assert without.observed == (one,)


def test_a_rod_that_is_not_there_is_said() -> None:
    crew = folded(entry(1, rod="8", what="touched bottom"))
    assert crew.problems == ("observed a1: no rod '8'; the spread has 3, 5",)


def test_a_current_is_said_in_the_crews_units() -> None:
    said = entry(1, "current", speed_m_s=0.3, towards_deg=45.0)
    crew = folded(said)
    assert describe(said, crew, BoatTime(0)).startswith("current 0.7 mph to 045°")
    assert describe(said, crew, BoatTime(0), unit="m").startswith("current 1.1 km/h to 045°")
