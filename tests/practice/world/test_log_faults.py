"""Hours in practised waters: sound sensors raise nothing, a false one is said in time."""

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
from watch.boat.faulty import SAID_S, faults, hear, table
from watch.boat.pairs import PAIRS, doubled, faults_of, hear_pair

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
    assert double.wait_s is not None
    assert double.wait_s <= SAID_S


@pytest.fixture(scope="module", params=[1, 5], ids=["chosen on", "held out"])
def sailed(spread: Spread, request: pytest.FixtureRequest) -> dict[str, list[Reading]]:
    """Every drill's water for twenty minutes; no setting was chosen on the second seed."""
    return {file.id: _sailed(file, spread, 20.0, request.param) for file in all_drills()[0]}


@pytest.mark.campaign
def test_the_table_of_faults_in_practice(sailed):
    """Hours of sound logs, and every fault begun four times in each water."""
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
    assert all(told >= 0.9 * apart and worst_s <= SAID_S for name, apart, told, worst_s in rows)
    assert said == {}


@pytest.mark.campaign
@pytest.mark.parametrize("quantity", PAIRS)
def test_the_table_of_faults_in_one_of_two_in_practice(sailed, quantity):
    """As above, of a compass against the course, one of two sounders or thermometers, begun twice in each water."""
    both = {name: doubled(one, quantity) for name, one in sailed.items()}
    said = {name: heard.said_s for name, one in both.items() if (heard := hear_pair(one, quantity, Prior())).said_s}
    cases = {
        name: [
            hear_pair(one, quantity, Prior(), make(), begin, begin + 180.0, begin - 120.0)
            for one in both.values()
            for begin in (180, 680)
        ]
        for name, make in faults_of(quantity).items()
    }
    print(f"\n{quantity}")
    rows = list(table(cases))
    print(f"sound: {20 * len(both) / 60:.1f} h, {len(said)} sayings")
    assert all(told >= 0.9 * apart and worst_s <= SAID_S for name, apart, told, worst_s in rows)
    assert said == {}
