"""What the scripted helmsmen make of what the console shows."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from sternwatch.gear.spread_file.models import Spread
from sternwatch.practice.drills.files import DrillFile
from sternwatch.practice.helmsmen.advised import Advised
from sternwatch.practice.sessions.headless import Run

Make = Callable[..., DrillFile]


def at_the_start(make_drill: Make, spread: Spread) -> Advised:
    file = make_drill()
    session = Run(file, spread, 3, members=4)
    while session.world.drill_s < 0.0:
        picture = session.step()
    made = Advised(file.drill)
    made.view = session.view(picture)
    return made


def test_line_is_changed_by_what_brings_most_members_between_two_depths(make_drill: Make, spread: Spread) -> None:
    helmsman = at_the_start(make_drill, spread)
    rod = helmsman.rod("5")
    assert rod is not None
    assert rod.depth_m is not None
    here = rod.depth_m
    assert helmsman._share("5", (0.8 * here, 1.2 * here)) == pytest.approx(1.0, abs=0.11)
    assert helmsman._share("5", (1.15 * here, 1.35 * here)) == pytest.approx(1.25, abs=0.11)
    assert helmsman._share("5", (0.65 * here, 0.85 * here)) == pytest.approx(0.75, abs=0.11)


def test_of_a_rod_that_nothing_is_known_of_no_line_is_changed(make_drill: Make, spread: Spread) -> None:
    helmsman = at_the_start(make_drill, spread)
    assert helmsman._share("9", (10.0, 20.0)) == 1.0
