"""After a new entry the pass that looks ahead goes on from a moment before it, and finds what a whole one finds."""

from __future__ import annotations

import json
from dataclasses import asdict, replace
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from sternwatch.answers.belief.priors import DECIDING
from sternwatch.feed.recording.reader import Recording, open_recording
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.logbook.actions.kinds import Action, Length
from sternwatch.logbook.store.trips import Event
from sternwatch.watch.core.player import Player
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.outlook import afterwards
from sternwatch.watch.picture.model import Session
from sternwatch.watch.picture.outlook import Outlook
from sternwatch.watch.sessions import foretelling
from sternwatch.watch.sessions.foretelling import Way, foretell

DEMO = Path(__file__).parents[3] / "demo_logs"
LINES = 225  # of the evening: 37 s


@pytest.fixture
def recording(tmp_path: Path) -> Recording:
    cut = tmp_path / "evening.nmea"
    with (DEMO / "evening.nmea").open("rb") as whole:
        cut.write_bytes(b"".join(islice(whole, LINES)))
    return open_recording(cut)


@pytest.fixture
def setup() -> Setup:
    """One low diver of the evening, on so much line that it touches the bottom."""
    head, *rods = (DEMO / "evening.toml").read_text(encoding="utf-8").split("[[rod]]")
    low = next(rod for rod in rods if 'key = "3"' in rod)
    return Setup(
        parse_spread("[[rod]]".join([head, low.replace("185 ft", "460 ft")])),
        Session.REPLAY,
        start="fishing",
        members=2,
    )


@pytest.fixture
def seen(monkeypatch: pytest.MonkeyPatch) -> list[Outlook]:
    """Every outlook that is made."""
    made: list[Outlook] = []
    renewed = afterwards.renewed

    def note(*about: Any) -> Outlook:
        made.append(replace(renewed(*about), took_s=0.0))
        return made[-1]

    monkeypatch.setattr(afterwards, "renewed", note)
    monkeypatch.setattr(foretelling, "LEFT_EVERY_S", 8.0)
    return made


def length(t_s: float, line_out_m: float) -> Length:
    return Length(
        id=f"entry {t_s}", time=datetime(2026, 7, 18, tzinfo=UTC), elapsed_s=t_s, rod="3", line_out_m=line_out_m
    )


def through(
    recording: Recording, setup: Setup, way: Way, acted: tuple[Action, ...], to_s: float = 1e9
) -> list[Event] | None:
    way.back(acted)
    player = Player(recording, setup, acted)
    return foretell(player, way, setup.units, lambda: player.t_s >= to_s, lambda _: None, lambda _: None)


def same(some: list[Outlook], others: list[Outlook]) -> bool:
    """To the last bit, the strips of depths too."""
    return [_written(one) for one in some] == [_written(one) for one in others]


def _written(made: Outlook) -> str:
    return json.dumps(asdict(made), default=lambda one: one.tolist() if isinstance(one, np.ndarray) else str(one))


def test_it_goes_on_before_the_first_new_entry_and_finds_what_a_whole_pass_finds(
    recording: Recording, setup: Setup, seen: list[Outlook]
) -> None:
    way, entry = Way(), length(32.0, 139.0)
    before = through(recording, setup, way, ())
    assert before is not None
    assert [event.state for event in before] == ["active"]
    seen.clear()
    after = through(recording, setup, way, (entry,))
    went_on = seen.copy()
    assert 24.0 < went_on[0].t_s < 32.0  # not from 32 s: the step there takes the entry
    seen.clear()
    assert through(recording, setup, Way(), (entry,)) == after
    assert same(seen[-len(went_on) :], went_on)
    assert len(seen) > len(went_on)


def test_a_pass_that_was_stopped_goes_on_too_and_an_entry_at_the_beginning_makes_all_anew(
    recording: Recording, setup: Setup, seen: list[Outlook]
) -> None:
    way, entry = Way(), length(22.0, 139.0)
    assert through(recording, setup, way, (), to_s=18.0) is None
    seen.clear()
    through(recording, setup, way, (entry,), to_s=28.0)
    assert seen[0].t_s > 16.0
    seen.clear()
    through(recording, setup, way, (entry, length(7.0, 138.0)), to_s=14.0)
    assert seen[0].t_s < 14.0


def test_members_that_only_sharpen_a_shown_depth_change_no_look(
    recording: Recording, setup: Setup, seen: list[Outlook]
) -> None:
    few = through(recording, replace(setup, members=DECIDING), Way(), ())
    looks = seen.copy()
    seen.clear()
    assert through(recording, replace(setup, members=DECIDING + 16), Way(), ()) == few
    assert len(looks) > 3
    assert same(seen, looks)
