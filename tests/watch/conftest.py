"""The shipped demo as two streams, and pictures as text that can be compared to the last digit."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from sternwatch.feed.recording import open_recording
from sternwatch.gear.load import load_spread
from sternwatch.gear.spread import Spread
from sternwatch.logbook.actions import Action, load_actions
from sternwatch.watch.engine import Setup
from sternwatch.watch.picture import Picture, Session
from sternwatch.watch.player import Player
from sternwatch.watch.rows import picture_row

DEMO = Path(__file__).parents[2] / "demo_logs"


@pytest.fixture(scope="session")
def spread() -> Spread:
    return load_spread(DEMO / "evening.toml")


@pytest.fixture(scope="session")
def evening_actions() -> list[Action]:
    return load_actions(DEMO / "evening.actions.jsonl")


@pytest.fixture(scope="session")
def make_player(spread: Spread, evening_actions: list[Action]) -> Callable[[], Player]:
    """Makes a player at the beginning of the demo."""

    def make() -> Player:
        return Player(open_recording(DEMO / "evening.nmea"), Setup(spread, Session.DEMO), evening_actions)

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
