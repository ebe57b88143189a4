"""*Shelf* in practice: lure time along the edge of made shelves, as the console plans it and by the sounder.

Both helmsmen do as the console advises with lines and throttle; one steers the planned pass, the other steers by the
sounder: to the shoal side where it is too deep for his lures, else off it. What counts is the simulated world's own
lures. The lines of both worlds are the same model with other numbers: planning is measured here, not the chains.
"""

from __future__ import annotations

import random
import re

import pytest

from sternwatch.practice.drills.files import DrillFile, find_drill, parse_drill
from sternwatch.practice.helmsmen.advised import MEMBERS, Advised
from sternwatch.practice.sessions.headless import Run, run

SHELVES = 10


def shelf(number: int) -> DrillFile:
    """The drill with a shelf of its own: how far its edge winds, how long its waves are and how steep it is."""
    rng, file = random.Random(f"shelf {number}"), find_drill("shelf")
    text = file.text
    for what, low, high in (("winding", 25.0, 60.0), ("wave", 380.0, 600.0), ("width", 110.0, 180.0)):
        text, times = re.subn(rf'{what} = "\d+ m"', f'{what} = "{rng.uniform(low, high):.0f} m"', text)
        assert times == 1
    return parse_drill(text, file.path)


def wanted(number: int, *, plans: bool) -> tuple[float, int]:
    """Lure-seconds where they are wanted, and crossings."""
    file = shelf(number)
    found = run(Run(file, file.spread(), number, members=MEMBERS), Advised(file.drill, plans=plans))
    return found["measures"]["wanted"], len(found["crossings"])


def test_shelves_differ() -> None:
    made = [shelf(number).drill.lake.shelf for number in (1, 2)]
    assert made[0] != made[1]


@pytest.mark.campaign
def test_ten_shelves_planned_against_by_the_sounder() -> None:
    planned = [wanted(number, plans=True) for number in range(1, SHELVES + 1)]
    by_eye = [wanted(number, plans=False) for number in range(1, SHELVES + 1)]
    for name, came in (("planned", planned), ("by the sounder", by_eye)):
        minutes, crossings = sum(one[0] for one in came) / 60.0, sum(one[1] for one in came)
        print(f"\n{name}: {minutes:.0f} lure-minutes, {crossings} crossings")
        print("  " + ", ".join(f"{one[0] / 60.0:.0f}" for one in came))
    assert sum(one[0] for one in planned) >= 1.3 * sum(one[0] for one in by_eye)
    assert sum(one[1] for one in planned) <= sum(one[1] for one in by_eye)
