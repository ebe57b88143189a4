"""Hours in practised waters: a sound log raises nothing, a false one is said in time."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta

import pytest

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Reading
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import parse
from sternwatch.practice.drills.files import DrillFile, all_drills, find_drill
from sternwatch.practice.world.world import World
from sternwatch.watch.boat.current import Prior
from watch.boat.faulty import faults, hear, table

BEGIN = datetime(2025, 7, 19, 11, 0, tzinfo=UTC)
TICK_S = 10.0


def _sailed(file: DrillFile, spread: Spread, minutes: float, seed: int = 1) -> list[Reading]:
    """What her instruments say while she turns every few minutes and her throttle is moved now and then."""
    start = file.drill.start.model_copy(update={"rods": "in", "line_out_m": {}})
    world = World(file.drill.model_copy(update={"start": start}), spread, seed, int(BEGIN.timestamp()))
    rng, decoder = random.Random(f"{file.id} {seed}"), Decoder()
    heading, lever, readings = 60.0, 0.0, list[Reading]()
    for tick in range(1, int(minutes * 60.0 / TICK_S)):
        t_s = tick * TICK_S
        orders = []
        if tick == 2:
            lever = world.orders.lever  # which keeps the speed that she started with
        if tick % 18 == 0:
            heading = (heading + rng.choice((-120.0, -60.0, 45.0, 90.0, 180.0))) % 360.0
            orders.append({"kind": "helm", "heading_deg": heading})
        if tick % 31 == 0:
            moved = round(lever * rng.choice((0.4, 0.6, 1.0, 1.5, 2.2)), 2)
            orders.append({"kind": "throttle", "engine": start.engine, "lever": moved})
        for i, one in enumerate(orders):
            given = {"id": f"a{tick:05d}{i}", "time": BEGIN + timedelta(seconds=t_s), "elapsed_s": t_s}
            world.act(parse(given | one, one["kind"]))
        for line in world.to(t_s):
            readings.extend(decoder.decode(line))
    return readings


def test_a_log_at_double_is_said_and_a_sound_one_is_not(spread):
    readings = _sailed(find_drill("shear"), spread, 13.0)
    assert hear(readings, Prior()).said_s == ()
    double = hear(readings, Prior(), faults()["double"](), 400.0)
    assert double.apart_s is not None
    assert double.said_s
    assert double.said_s[0] - double.apart_s <= 20.0


@pytest.mark.campaign
def test_the_table_of_faults_in_practice(spread):
    """Four hours of sound logs, and every fault begun four times in each water."""
    sailed = {file.id: _sailed(file, spread, 20.0) for file in all_drills()[0]}
    said = {name: heard.said_s for name, one in sailed.items() if (heard := hear(one, Prior())).said_s}
    cases = {
        name: [
            hear(one, Prior(), make(), begin, begin + 180.0, begin - 120.0)
            for one in sailed.values()
            for begin in range(180, 1000, 250)
        ]
        for name, make in faults().items()
    }
    rows = list(table(cases))
    print(f"sound: {20 * len(sailed) / 60:.1f} h, {len(said)} sayings")
    assert all(told >= 0.9 * apart for _, apart, told in rows)
    assert said == {}
