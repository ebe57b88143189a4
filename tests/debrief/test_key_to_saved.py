"""From a key press to "saved" while the watch steps, every entry makes a picture, and an outlook is computed.

"Saved" is told when the entry is on the disk. What a bare commit takes on the same disk is printed beside it.
"""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from sternwatch.cli.common.session import Play, _playback
from sternwatch.config import Preferences
from sternwatch.console.app import SWITCH_S
from sternwatch.gear.spread_file.load import load_spread
from sternwatch.logbook.actions.kinds import load_actions
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.places import set_numba_cache
from sternwatch.watch.picture.model import Picture, Session
from sternwatch.watch.sessions.runner import Saved

DEMO = Path(__file__).parents[2] / "demo_logs"
HITS = 5000
APART_S = 0.05  # faster than any crew


BARE = """
import sys, time
from pathlib import Path
from sternwatch.logbook import schema
book = schema.connect(Path(sys.argv[1]))
book.execute("CREATE TABLE t (a)")
took = []
for _ in range(400):
    time.sleep(0.03)
    begin = time.perf_counter()
    book.execute("INSERT INTO t VALUES (1)")
    took.append(time.perf_counter() - begin)
took.sort()
print(1000 * took[200], 1000 * took[395])
"""


def bare_commits(path: Path) -> tuple[float, float]:
    """Median and 99 % [ms] of commits as durable as the logbook's."""
    said = subprocess.run([sys.executable, "-c", BARE, str(path)], capture_output=True, text=True, check=True).stdout
    p50, p99 = map(float, said.split())
    return p50, p99


@pytest.mark.campaign
def test_five_thousand_hits_while_an_outlook_runs(tmp_path: Path) -> None:
    set_numba_cache()
    switch_s = sys.getswitchinterval()
    sys.setswitchinterval(SWITCH_S)  # as the console has it
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
    sys.setswitchinterval(switch_s)
    assert saved.keys() == pressed.keys()
    took = sorted(saved[one] - begin for one, begin in pressed.items())
    p50, p99, worst = (1000 * took[int(share * (HITS - 1))] for share in (0.5, 0.99, 1.0))
    bare50, bare99 = bare_commits(tmp_path / "bare.sqlite")
    print(f"\na bare commit by a process that does nothing else: p50 {bare50:.1f} ms, p99 {bare99:.1f} ms")
    print(f"{HITS} hits: p50 {p50:.1f} ms, p99 {p99:.1f} ms, worst {worst:.1f} ms; an outlook at {looked} of them")
    assert looked > 0
    assert p99 < 50.0
