"""What a trip costs a season of twelve rods: the update beside as many bare solves of the same rods."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import timedelta

import pytest

from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.observations import Observation, predicted
from sternwatch.answers.season.carrying import carried_on
from sternwatch.gear.spread_file.load import parse_spread

from ..answers.season.seasons import FIRST, SPREAD, World, own_law, spread_of, touches

TIMES = 4
TRIPS = 2  # what a season knows is as large after two as after forty
SOLVES = 100
MOST_S = 10.0


def twelve() -> str:
    """The season's three rods four times over, on keys of their own."""
    head, *rods = SPREAD.split("[[rod]]")
    keys = iter("1234567890-=")
    made = [
        "".join(
            f'key = "{next(keys)}"\n' if line.startswith("key") else line for line in rod.splitlines(keepends=True)
        )
        for _ in range(TIMES)
        for rod in rods
    ]
    return head + "".join(f"[[rod]]{rod}" for rod in made)


@pytest.mark.bench
def test_a_trip_of_twelve_rods() -> None:
    spread, keys = parse_spread(twelve()), "1234567890-="
    own, world = spread_of(), World(own_law, 5)
    season: Calibration | None = None
    spent = []
    for trip in range(1, TRIPS + 1):
        seen: list[Observation] = []
        for number in range(TIMES):
            for one in touches(own, world, TIMES * trip + number):
                key = keys[3 * number + int(one.rod) - 1]
                seen.append(replace(one, id=f"{trip} {key}", rod=key))
        begin = time.process_time()
        _, season = carried_on(season, spread, seen, name=f"{trip}", made=FIRST + timedelta(days=trip))
        spent.append(time.process_time() - begin)
    begin = time.process_time()
    for number in range(SOLVES):
        predicted(spread, seen[number % len(seen)], {})
    solve_s = (time.process_time() - begin) / SOLVES
    said = ", ".join(f"{one:.1f}" for one in spent)
    print(f"\nupdates {said} s; a solve {1e3 * solve_s:.2f} ms: {max(spent) / solve_s:.0f} of them")
    assert season is not None
    assert len(season.names) > 60  # all that a touch of these rods tells something of
    assert max(spent) < MOST_S
