"""What a live session's lookout raises goes to the logbook with everything the crew does to it."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

import made_outlooks

from sternwatch.feed.sources.hub import Hub
from sternwatch.feed.sources.specs import parse_specs
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import Trip
from sternwatch.watch.boat.manoeuvres import turn
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.forecast.snapshot import Snapshot
from sternwatch.watch.outlook import lookout
from sternwatch.watch.outlook.renewal import Wishes
from sternwatch.watch.picture.alert import AlertState
from sternwatch.watch.picture.model import Session
from sternwatch.watch.picture.outlook import Outlook
from sternwatch.watch.sessions import live as module
from sternwatch.watch.sessions.live import Live
from watch.sessions.test_live import Instruments, instruments, until

__all__ = ["instruments"]


class Maker:
    """Rods 4 and 5 will cross."""

    plans: list[object]

    def __init__(self) -> None:
        self.plans = []

    def renew(self, now: Snapshot, wishes: Wishes | None = None) -> Outlook:
        assert wishes is not None
        self.plans.append(wishes.plan)
        crossing = made_outlooks.forecast("hold", made_outlooks.pair(("4", "5"), 0.9, 30.0))
        return replace(made_outlooks.outlook(now.t_s, 0.9), forecasts=(crossing,))


def test_raised_and_acknowledged_it_stands_in_the_logbook(
    tmp_path: Path, spread: Spread, instruments: Instruments, monkeypatch: pytest.MonkeyPatch
) -> None:
    maker = Maker()
    quick = partial(lookout.Lookout, make=lambda: maker, every_s=0.2)
    monkeypatch.setattr(lookout, "Lookout", quick)
    monkeypatch.setattr(module.prepare, "prepare", lambda: None)
    feed = parse_specs([f"tcp:127.0.0.1:{instruments.port}"])
    book = Logbook(tmp_path / "logbook.sqlite")
    book.begin_trip(Trip("t", datetime.now(UTC)))
    runner = Live(Hub(feed.sources()), feed, lambda: Setup(spread, Session.LIVE, start="fishing"), book, "t")
    runner.plan(turn("port", 90, seconds=60))  # before the solver is ready, too
    assert runner.outlook() is None
    runner.start(lambda _picture: None, lambda _saved: None)

    def alert_state() -> AlertState | None:
        outlook = runner.outlook()
        return outlook.alerts[0].state if outlook is not None and outlook.alerts else None

    until(lambda: alert_state() is AlertState.ACTIVE)
    outlook = runner.outlook()
    assert outlook is not None
    assert maker.plans[0] == turn("port", 90, seconds=60)
    raised = outlook.alerts[0]
    runner.submit("acknowledge", alert=raised.id)
    until(lambda: alert_state() is AlertState.ACKNOWLEDGED)
    until(lambda: any(event.state == "acknowledged" for event in book.events("t")))
    runner.stop()
    with Logbook(tmp_path / "logbook.sqlite") as again:
        told = [(event.kind, event.state, event.keys) for event in again.events("t") if event.id == raised.id]
    assert told == [("crossing", "active", ("4", "5")), ("crossing", "acknowledged", ("4", "5"))]
