"""One boat heard three ways, by ``n2k:``, through a bridge to sentences and from a Signal K server: one picture.

``pytest tests/watch/sessions/test_three_ways.py -m campaign -s`` prints rows, quantities and disagreements of every
recording.
"""

from __future__ import annotations

import json
from collections import Counter
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from feed.n2k import bridge
from feed.n2k.demo_bus import demo_bus
from recordings import file_of
from sternwatch.answers.belief.priors import MEMBERS
from sternwatch.feed.readings import Declared, Line, Quantity, SensorState, SensorValue, Speech, Tongue
from sternwatch.feed.recording import tag_block as tagblock
from sternwatch.feed.recording.reader import open_recording
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.crew.fold import start_state
from sternwatch.watch.core.player import Player
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Picture, Session
from sternwatch.watch.picture.rows import picture_row

BUS = Speech(Tongue.N2K)
SERVER = Speech(Tongue.SIGNALK)
# Half of what the bus itself can tell apart, with the last digit of a sentence.
WITHIN = {
    Quantity.STW: 1e-5, Quantity.SOG: 1e-5, Quantity.BOTTOM: 1e-4, Quantity.WATER_TEMPERATURE: 1e-4,
    Quantity.HEADING: 1e-4, Quantity.COG: 1e-4, Quantity.POSITION: 1e-8, Quantity.CLOCK: 1e-3,
}  # fmt: skip


def recorded(path: Path, sources: list[Declared], lines: list[Line]) -> Path:
    """A recording of ours."""
    with path.open("wb") as file:
        for source in sources:
            file.write(tagblock.declare(source, lines[0].t_s, lines[0].unix_ms))
        for line in lines:
            file.write(tagblock.write(line))
    return path


def three_ways(lines: list[Line], tmp_path: Path) -> dict[str, Path]:
    """Frames as they are, as sentences, and as deltas: with the same feed times."""
    speakers: dict[str, str] = {}
    letters = (f"{a}{b}" for a in "TUVW" for b in "ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    ports = {"main": 0}
    sentences, deltas = [], []
    for i, one in enumerate(bridge.bridged(lines)):
        if one.who not in speakers:
            speakers[one.who] = next(letters)
        port, ports[port] = bridge.port(one)
        stamp = (datetime(2026, 6, 1, tzinfo=UTC) + timedelta(milliseconds=i)).isoformat()
        sentences.append(Line(one.t_s, one.unix_ms, port, bridge.sentence(one, speakers[one.who])))
        deltas.append(Line(one.t_s, one.unix_ms, port, bridge.delta(one, one.who, stamp)))
    end = lines[-1]  # the bus goes on when nothing is wanted of it; so do the others' recordings, to the same end
    sentences.append(Line(end.t_s, end.unix_ms, "main", b"$TZXXX*51"))
    deltas.append(Line(end.t_s, end.unix_ms, "main", b"{}"))
    return {
        "n2k": recorded(tmp_path / "bus.nmea", [Declared("bus", speech=BUS)], lines),
        "sentences": recorded(tmp_path / "0183.nmea", [Declared(p, n) for p, n in ports.items()], sentences),
        "signalk": recorded(
            tmp_path / "k.nmea", [Declared(p, n, speech=SERVER) for p, n in ports.items()], deltas
        ),
    }  # fmt: skip


def played(path: Path, spread: Spread) -> list[tuple[Picture, dict[Quantity, Any], dict[str, Any]]]:
    """Every picture with the sensors and the row."""
    found = []
    with open_recording(path) as recording:
        player = Player(recording, Setup(spread, Session.REPLAY, start=start_state([]), members=MEMBERS))
        player.to(recording.span_s, lambda p: found.append((p, p.sensors, json.loads(json.dumps(picture_row(p))))))
    return found


def off(one: Any, other: Any) -> float:
    if one is None or other is None:
        return 0.0 if one is other else float("inf")
    if isinstance(one, tuple):
        return max(off(a, b) for a, b in zip(one, other, strict=True))
    return abs(one - other)


def fresh(given: SensorValue) -> Any:
    return given.value if given.state is SensorState.FRESH else None


def compared(ways: dict[str, list[Any]], rods: bool) -> tuple[Counter[str], list[str]]:
    """How many rows have each quantity, and every disagreement."""
    have: Counter[str] = Counter()
    bus = ways["n2k"]
    wrong = [f"{way}: {len(rows)} rows for {len(bus)}" for way, rows in ways.items() if len(rows) != len(bus)]
    for way in ("sentences", "signalk"):
        for (picture, sensors, row), (_, theirs, other) in zip(bus, ways[way], strict=False):
            for quantity, within in WITHIN.items():
                one, two = (
                    s[quantity].value if s[quantity].state is SensorState.FRESH else None for s in (sensors, theirs)
                )
                if off(one, two) > within:
                    wrong.append(f"{picture.t_s:.3f} {way} {quantity}: {one} {two}")
            left_out = () if rods else ("rods", "alerts")
            wrong += [
                f"{picture.t_s:.3f} {way} {what}"
                for key in row if key not in left_out for what in unlike(row[key], other[key], key)
            ]  # fmt: skip
    for _, sensors, row in bus:
        have["rows"] += 1
        have.update(str(quantity) for quantity in WITHIN if sensors[quantity].state is SensorState.FRESH)
        have["rods"] += sum(rod["depth_m"] is not None for rod in row["rods"]) if rods else 0
    return have, wrong


def unlike(one: Any, other: Any, where: str = "") -> list[str]:
    """Where two rows differ: numbers by more than a millimetre, or a tenth of one in a thousand."""
    if isinstance(one, dict) and isinstance(other, dict) and one.keys() == other.keys():
        return [x for key in one for x in unlike(one[key], other[key], f"{where}.{key}")]
    if isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        return [x for i, (a, b) in enumerate(zip(one, other, strict=True)) for x in unlike(a, b, f"{where}[{i}]")]
    if isinstance(one, float) and isinstance(other, float):
        return [] if abs(one - other) <= 1e-3 + 1e-4 * abs(one) else [f"{where}: {one} {other}"]
    return [] if one == other else [f"{where}: {one!r} {other!r}"]


# What each must have, and whether its rods are compared: where they are not the boat lies still, drifts and gives no
# depth, or goes 0.3 m/s by her log, and how slack lines lie is decided by the last digit of a heading or a speed.
RECORDINGS = {
    "bus of a motor boat, twice": ("stw sog bottom water_temperature heading cog position clock", True),
    "bus, speed, depth and rudder": ("stw sog bottom water_temperature heading cog position", False),
    "bus, frames with a time": ("stw sog bottom heading position clock", True),
    "bus, the same as plain lines": ("stw sog bottom heading position clock", True),
    "bus without a depth": ("stw sog water_temperature cog position clock", True),
    "bus with an autopilot": ("stw water_temperature heading position", True),
    "bus of a sailing boat": ("stw sog water_temperature heading cog position clock", False),
    "bus, simulated": ("sog water_temperature cog position clock", False),
}


def check(lines: list[Line], must: str, rods: bool, tmp_path: Path, spread: Spread) -> Counter[str]:
    ways = {way: played(path, spread) for way, path in three_ways(lines, tmp_path).items()}
    have, wrong = compared(ways, rods)
    assert wrong == []
    assert {what for what in have if have[what]} >= set(must.split())
    return have


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=() if name.startswith("bus, speed") else pytest.mark.campaign, id=name)
        for name in RECORDINGS
    ],
)
def test_a_real_bus(name: str, tmp_path: Path, spread: Spread, capsys: pytest.CaptureFixture[str]) -> None:
    with open_recording(file_of(name), "bus", BUS) as recording:
        lines = list(recording.lines())
    have = check(lines, *RECORDINGS[name], tmp_path, spread)
    with capsys.disabled():
        print(
            f"\n{name}: {len(lines)} lines, no disagreement in", ", ".join(f"{n} {what}" for what, n in have.items())
        )


@pytest.mark.parametrize("seconds", [40.0, pytest.param(2640.0, marks=pytest.mark.campaign)])
def test_the_demo_boat_under_way_on_a_bus(
    seconds: float, tmp_path: Path, spread: Spread, capsys: pytest.CaptureFixture[str]
) -> None:
    """The real recordings are of boats that lie still: here one turns and trolls, and her lines with her."""
    lines = demo_bus(600.0 if seconds < 600.0 else 0.0, seconds)
    have = check(lines, "stw sog bottom water_temperature cog position clock rods", True, tmp_path, spread)
    assert have["rods"] >= 0.8 * 8 * have["rows"]
    with capsys.disabled():
        print("\ndemo boat: no disagreement in", ", ".join(f"{n} {what}" for what, n in have.items()))
