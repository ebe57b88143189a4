"""The shipped demo as two streams, and pictures as text that can be compared to the last digit."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path

import pytest

from sternwatch.feed.readings import Quantity, Reading
from sternwatch.feed.recording.reader import open_recording
from sternwatch.gear.spread_file.load import load_spread, parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import Action, load_actions
from sternwatch.watch.core.engine import Watch
from sternwatch.watch.core.player import Player
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Picture, Session
from sternwatch.watch.picture.rows import picture_row

TWO_RODS = """
[boat]
name = "hand boat"
[line.wire]
material = "stainless steel"
diameter = "0.38 mm"
[line.mono]
material = "nylon"
diameter = "0.45 mm"
[tackle.disc]
kind = "diver"
diameter = "120 mm"
settings = { low = "20 deg", high = "45 deg" }
[tackle.ball]
kind = "ball"
mass = "10 lb"
[tackle.fly]
kind = "lure"
[[rod]]
key = "1"
name = "DIVER"
side = "port"
tip = { astern = "1 ft", abeam = "7 ft", height = "5 ft" }
chain = [
  { line = "wire", out = "120 ft" }, { tackle = "disc", setting = "high" },
  { line = "mono", length = "8 ft" }, { tackle = "fly" } ]
[[rod]]
key = "2"
name = "DOWN"
side = "starboard"
tip = { astern = "2 ft", abeam = "3 ft", height = "3 ft" }
chain = [
  { line = "wire", out = "60 ft" }, { tackle = "ball" },
  { line = "mono", length = "20 ft", adjust = true }, { tackle = "fly" } ]
"""

STACKED = """
[line.cable]
material = "stainless steel"
diameter = "0.9 mm"
[line.mono]
material = "nylon"
diameter = "0.45 mm"
[tackle.ball]
kind = "ball"
mass = "12 lb"
[tackle.spoon]
kind = "lure"
[[rod]]
key = "4"
name = "DOWN"
side = "port"
tip = { abeam = "1 m", height = "1 m" }
chain = [{ line = "cable", out = "60 ft" }, { tackle = "ball" }, { line = "mono", length = "20 ft" },
  { tackle = "spoon" }]
[[rod]]
key = "5"
name = "STACK"
side = "port"
clipped_to = { rod = "4", above_ball = "15 ft" }
chain = [{ line = "mono", length = "10 ft" }, { tackle = "spoon" }]
"""

DEMO = Path(__file__).parents[2] / "demo_logs"


@pytest.fixture(scope="session")
def spread() -> Spread:
    return load_spread(DEMO / "evening.toml")


@pytest.fixture(scope="session")
def evening_actions() -> list[Action]:
    return load_actions(DEMO / "evening.actions.jsonl")


@pytest.fixture(scope="session")
def make_player(spread: Spread, evening_actions: list[Action]) -> Callable[[], Player]:
    """Makes a player at the beginning of the demo, with few members: it is the same code, and quicker."""

    def make() -> Player:
        setup = Setup(spread, Session.DEMO, members=2)
        return Player(open_recording(DEMO / "evening.nmea"), setup, evening_actions)

    return make


@pytest.fixture
def player(make_player: Callable[[], Player]) -> Player:
    return make_player()


@pytest.fixture(scope="session")
def exactly() -> Callable[[Picture], str]:
    """Everything a row says, shapes to the last bit included."""
    return _exactly


def _exactly(picture: Picture) -> str:
    row = picture_row(picture)
    row["shapes"] = [None if rod.shape_m is None else rod.shape_m.tobytes().hex() for rod in picture.rods]
    row["hits"] = [(hit.id, hit.state, hit.doubtful, hit.species) for hit in picture.hits]
    row["boat"] = [repr(picture.own.speed_m_s), repr(picture.own.rate_of_turn_deg_s)]
    return json.dumps(row)


BEGIN_UNIX_S = 1_784_000_000.0


class HandFeed:
    """Feeds a watch once a second. ``None`` for a quantity leaves it out."""

    def __init__(self, watch: Watch) -> None:
        self.watch = watch
        self.t_s = 0.0
        self.heading_deg = 0.0

    def say(self, quantity: Quantity, value: float | tuple[float, float] | None, sentence: str = "TST") -> None:
        self.watch.observe(Reading(self.t_s, "hand", quantity, value, sentence))

    def run(
        self,
        seconds: int,
        *,
        stw: float | None = 1.0,
        sog: float | None = 1.0,
        turn_deg_s: float = 0.0,
        clock: bool = True,
        bottom: float | None = None,
        each: Callable[[], None] = lambda: None,
    ) -> None:
        for _ in range(seconds):
            self.t_s += 1.0
            self.heading_deg = (self.heading_deg + turn_deg_s) % 360.0
            if clock:
                self.say(Quantity.CLOCK, BEGIN_UNIX_S + self.t_s, "RMC")
            if sog is not None:
                self.say(Quantity.SOG, sog, "RMC")
                self.say(Quantity.COG, self.heading_deg, "RMC")
                north = 47.0 + math.degrees(self.t_s * sog / 6_371_008.8)
                self.say(Quantity.POSITION, (north, -90.0), "RMC")
                self.say(Quantity.HEADING, self.heading_deg, "HDT")
            if stw is not None:
                self.say(Quantity.STW, stw, "VHW")
            if bottom is not None:
                self.say(Quantity.BOTTOM, bottom, "DPT")
            self.watch.advance(self.t_s)
            each()


@pytest.fixture
def hand_feed() -> type[HandFeed]:
    """Makes a hand-made feed for a watch."""
    return HandFeed


@pytest.fixture(scope="session")
def stacked() -> Spread:
    """A downrigger, and a rod that is clipped to its cable."""
    return parse_spread(STACKED)


@pytest.fixture(scope="session")
def two_rods() -> Spread:
    """A diver to port and a downrigger to starboard."""
    return parse_spread(TWO_RODS)
