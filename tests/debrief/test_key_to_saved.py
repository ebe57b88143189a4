"""From a key press to "saved" while the watch steps, every entry makes a picture, and an outlook is computed."""

from __future__ import annotations

import threading
import time
from pathlib import Path

import pytest

from sternwatch.cli.session import Play, _playback
from sternwatch.config import Preferences
from sternwatch.gear.load import load_spread
from sternwatch.logbook.actions import load_actions
from sternwatch.logbook.store import Logbook
from sternwatch.places import set_numba_cache
from sternwatch.watch.picture import Picture, Session
from sternwatch.watch.runner import Saved

DEMO = Path(__file__).parents[2] / "demo_logs"
HITS = 5000
APART_S = 0.05  # faster than any crew


@pytest.mark.campaign
def test_five_thousand_hits_while_an_outlook_runs(tmp_path: Path) -> None:
    set_numba_cache()
    play = Play(
        DEMO / "evening.nmea", load_spread(DEMO / "evening.toml"), load_actions(DEMO / "evening.actions.jsonl"),
        begin_s=700.0, rate=1.0,
    )  # fmt: skip
    saved: dict[str, float] = {}
    shown = threading.Event()

    def on_picture(_: Picture) -> None:
        shown.set()

    def on_saved(told: Saved) -> None:
        assert told.action is not None
        saved[told.id] = time.perf_counter()

    runner = _playback(Session.DEMO, play, Logbook(tmp_path / "logbook.sqlite"), "t", Preferences())
    runner.start(on_picture, on_saved)
    assert shown.wait(300.0)
    pressed: dict[str, float] = {}
    looked = 0
    for number in range(HITS):
        begin = time.perf_counter()
        # Doubtful hits leave their rods in the water, so that there is something to look ahead from.
        pressed[runner.submit("hit", str(number % 8 + 1), doubtful=True)] = begin
        looked += runner.outlook() is not None
        time.sleep(APART_S)
    time.sleep(2.0)
    runner.stop()
    assert saved.keys() == pressed.keys()
    took = sorted(saved[one] - begin for one, begin in pressed.items())
    p50, p99, worst = (1000 * took[int(share * (HITS - 1))] for share in (0.5, 0.99, 1.0))
    print(f"\n{HITS} hits: p50 {p50:.1f} ms, p99 {p99:.1f} ms, worst {worst:.1f} ms; an outlook at {looked} of them")
    assert looked > 0
    assert p99 < 50.0
