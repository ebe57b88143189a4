"""Hours of the whole console, in alarm and in order: what it holds stays what it was.

``STERNWATCH_SOAK_HOURS`` sets how many simulated hours, 2 without it; an hour takes some minutes.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from console.frame.soaking import IN_ALARM_M, IN_ORDER_M, Soak
from sternwatch import __version__
from sternwatch.console import state
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.watch.sessions import live
from watch.conftest import TWO_RODS

EACH_MIN = 10.0
SETTLED_MIN = 30  # moments of the last quarter of an hour are kept, and every view has been shown by then
# What a trip adds for good: a sounding a second, a sample of every rod each ten seconds, what its notes hold.
GROWS_MB_PER_H = 10.0
SWAYS_MB = 15.0  # what the allocator keeps from one look ahead to the next

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="memory is read from /proc")


@pytest.mark.campaign
@pytest.mark.parametrize("bottom_m", [IN_ALARM_M, IN_ORDER_M], ids=["in alarm", "in order"])
async def test_the_console_stays_as_large_as_it_was(
    bottom_m: float, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("CONFIG", "DATA", "LOG"):
        monkeypatch.setenv(f"STERNWATCH_{name}_DIR", str(tmp_path))
    monkeypatch.setattr(live, "TICK_S", 0.005)
    state.save(state.State(theme="dusk", cautions_read=__version__))
    hours = float(os.environ.get("STERNWATCH_SOAK_HOURS", "2"))
    soak = Soak(parse_spread(TWO_RODS), tmp_path, bottom_m, look_every_s=120.0)
    samples = await soak.sail(hours * 60.0, EACH_MIN)
    for one in samples:
        assert ("bottom touch" in one.alerts) is (bottom_m == IN_ALARM_M)
    settled = [one for one in samples if one.minute >= SETTLED_MIN]
    assert len(settled) > 1
    assert max(one.widgets for one in settled) <= 2 * min(one.widgets for one in settled)
    first = settled[0]
    for one in settled:
        allowed = first.resident_mb + SWAYS_MB + GROWS_MB_PER_H * (one.minute - first.minute) / 60.0
        assert one.resident_mb < allowed, one
